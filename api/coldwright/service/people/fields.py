"""From a JSON Schema and a value to the fields of a form: units, ranges, words, defaults, help. Knows no calculator."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

import msgspec

from coldwright.contract.language import Say
from coldwright.contract.language import marked as _
from coldwright.contract.people import UNIT_SIGNS, label, number, prose, quantity, value_text, words

Schema = Mapping[str, Any]
Kind = Literal["quantity", "choice", "yes_no", "number", "text", "day", "group", "list", "data"]
MOST_FIELDS = 70
"""A part with more fields than this is put in as JSON: a form of thousands of fields helps nobody."""
MOST_DEEP = 6
MOST_WRITTEN = 1e300
"""Number that is written in twelve digits; a whole one may be longer than any that counts."""
NAMES = {"id": "Name"}
"""What a person calls a field whose name is a program's."""
MISSING: Any = msgspec.UNSET


@dataclass
class Field:
    """One field, or a group of them."""

    pointer: str
    label: str
    kind: Kind
    required: bool = False
    help: str = ""
    range: str = ""
    default: str = ""
    value: str = ""
    unit: str = ""
    choices: tuple[tuple[str, str], ...] = ()
    units: tuple[tuple[str, str], ...] = ()
    children: list["Field"] = field(default_factory=list)
    given: bool = False
    """Whether there is a value, of a group: anywhere in it."""
    wrong: list[str] = field(default_factory=list)


def resolved(schema: Schema, root: Schema) -> dict[str, Any]:
    """The schema with what its `$ref` names; its own words go before."""
    found = dict(schema)
    while "$ref" in found:
        name = found.pop("$ref").rpartition("/")[2]
        found = dict(root["$defs"][name]) | found
    if "anyOf" in found and len(real := [s for s in found["anyOf"] if s.get("type") != "null"]) == 1:
        found = resolved(real[0], root) | {k: v for k, v in found.items() if k != "anyOf"}
    return found


def schema_at(root: Schema, value: Any, pointer: str) -> dict[str, Any] | None:
    """The schema of a place in a value; nothing where there is no such place."""
    schema, here = resolved(root, root), value
    for step in pointer.split("/")[1:]:
        shown = variant(schema, here, root)
        if step.isdecimal() and isinstance(shown.get("items"), Mapping):
            schema = resolved(shown["items"], root)
            here = here[int(step)] if isinstance(here, list) and int(step) < len(here) else MISSING
        elif step in shown.get("properties", {}):
            schema = resolved(shown["properties"][step], root)
            here = here.get(step, MISSING) if isinstance(here, Mapping) else MISSING
        else:
            return None
    return schema


def kind_of(schema: Schema) -> Kind:
    """How it is put in."""
    if set(schema.get("properties", ())) == {"value", "unit"}:
        return "quantity"
    if "enum" in schema or "const" in schema:
        return "choice"
    if "anyOf" in schema:
        return "group" if "discriminator" in schema else "data"
    match schema.get("type"):
        case "object":
            return "group" if "properties" in schema else "data"
        case "array":
            return "list" if isinstance(schema.get("items"), Mapping) else "data"
        case "boolean":
            return "yes_no"
        case "number" | "integer":
            return "number"
        case "string":
            return "day" if schema.get("format") == "date" else "text"
    return "data"


def variant(schema: Schema, value: Any, root: Schema) -> dict[str, Any]:
    """Of several kinds of an object the one that the value names; the first where it names none."""
    if "discriminator" not in schema:
        return dict(schema)
    tag, mapping = schema["discriminator"]["propertyName"], schema["discriminator"]["mapping"]
    named = value.get(tag) if isinstance(value, Mapping) else None
    known = isinstance(named, str) and named in mapping
    chosen = resolved({"$ref": mapping[named if known else next(iter(mapping))]}, root)
    return chosen | {"x-tag": tag, "x-tags": tuple(mapping)}


def form_of(root: Schema, value: Any, wrong: Mapping[str, list[str]]) -> list[Field]:
    """The fields of an input, the needed ones first."""
    top = field_of("", resolved(root, root), value, root, required=True, wrong=wrong, deep=0)
    return sorted(top.children, key=lambda f: not (f.required or f.given))


def field_of(
    pointer: str, schema: Schema, value: Any, root: Schema, *, required: bool, wrong: Mapping[str, list[str]], deep: int
) -> Field:
    """One field with all that is below it."""
    shown = variant(schema, value, root)
    kind = kind_of(shown)
    made = Field(
        pointer,
        NAMES.get(name := pointer.rpartition("/")[2], label(name)) or "Input",
        kind,
        required=required,
        help=prose(schema.get("description", "")),
        range=range_text(shown),
        default=default_text(shown),
        given=value is not MISSING,
        wrong=wrong.get(pointer, []),
    )
    if kind in ("group", "list") and pointer and (deep >= MOST_DEEP or fields_in(shown, value, root) > MOST_FIELDS):
        made.kind = kind = "data"
    match kind:
        case "quantity":
            _fill_quantity(made, shown, value, root, wrong)
        case "choice":
            made.choices = tuple((str(w), words(w)) for w in shown.get("enum", (shown.get("const"),)))
        case "yes_no":
            made.choices = (("true", "Yes"), ("false", "No"))
        case "group":
            made.children = list(_members(pointer, shown, value, root, wrong, deep))
            made.given = isinstance(value, Mapping)
            made.wrong = [] if not pointer else made.wrong
            if pointer and not made.required and not made.given:
                need_nothing(made)
        case "list":
            items = value if isinstance(value, list) else []
            made.children = [
                field_of(
                    f"{pointer}/{n}",
                    resolved(shown["items"], root),
                    item,
                    root,
                    required=True,
                    wrong=wrong,
                    deep=deep + 1,
                )
                for n, item in enumerate(items)
            ]
            for place, child in enumerate(made.children, 1):
                child.label = f"{made.label} {place}"
            made.given = bool(items)
        case "data":
            made.value = "" if value is MISSING else pretty(value)
            made.wrong = [
                w
                for where, texts in wrong.items()
                if where == pointer or where.startswith(pointer + "/")
                for w in texts
            ]
    if kind in ("choice", "yes_no", "number", "text", "day") and value is not MISSING:
        made.value = value if isinstance(value, str) else msgspec.json.encode(value).decode()
    return made


def need_nothing(group: Field) -> None:
    """What is needed in a group that may be left out is needed only once something of it is given."""
    for child in group.children:
        child.required = False
        need_nothing(child)


def _fill_quantity(made: Field, schema: Schema, value: Any, root: Schema, wrong: Mapping[str, list[str]]) -> None:
    units = resolved(schema["properties"]["unit"], root)
    made.units = tuple((u, UNIT_SIGNS.get(u, u) or "-") for u in units.get("enum", (units.get("const"),)))
    made.wrong = made.wrong + wrong.get(f"{made.pointer}/value", []) + wrong.get(f"{made.pointer}/unit", [])
    known = value if isinstance(value, Mapping) else {}
    amount = known.get("value", MISSING)
    made.value = "" if amount is MISSING else _amount(amount)
    default = schema.get("default")
    in_default = default.get("unit") if isinstance(default, Mapping) else None
    made.unit = str(known.get("unit") or in_default or schema.get("x-range", {}).get("unit") or made.units[0][0])
    made.given = amount is not MISSING


def _amount(value: Any) -> str:
    """A number as it is put in; of what is none, as a link may hold it, its JSON."""
    if isinstance(value, str):
        return value
    if isinstance(value, int | float) and not isinstance(value, bool) and abs(value) <= MOST_WRITTEN:
        return f"{value:.12g}"
    return msgspec.json.encode(value).decode()


def _members(
    pointer: str, schema: Schema, value: Any, root: Schema, wrong: Mapping[str, list[str]], deep: int
) -> Iterator[Field]:
    needed, known = schema.get("required", ()), value if isinstance(value, Mapping) else {}
    tag = schema.get("x-tag")
    if tag:
        chosen = known.get(tag, schema["x-tags"][0])
        yield Field(
            f"{pointer}/{tag}",
            label(tag),
            "choice",
            required=True,
            value=str(chosen),
            choices=tuple((t, words(t)) for t in schema["x-tags"]),
            given=True,
        )
    for name, member in schema.get("properties", {}).items():
        if name != tag:
            at = f"{pointer}/{name.replace('~', '~0').replace('/', '~1')}"
            found = resolved(member, root)
            yield field_of(
                at, found, known.get(name, MISSING), root, required=name in needed, wrong=wrong, deep=deep + 1
            )


def fields_in(schema: Schema, value: Any, root: Schema, deep: int = 0) -> int:
    """How many fields a form of it would have, with this value."""
    if deep > MOST_DEEP:
        return MOST_FIELDS
    shown = variant(schema, value, root)
    kind = kind_of(shown)
    if kind == "group":
        known = value if isinstance(value, Mapping) else {}
        return sum(
            fields_in(resolved(m, root), known.get(n, MISSING), root, deep + 1) for n, m in shown["properties"].items()
        )
    if kind == "list":
        items = value if isinstance(value, list) else []
        return 1 + sum(fields_in(resolved(shown["items"], root), item, root, deep + 1) for item in items)
    return 1


def range_text(schema: Schema, say: Say = str) -> str:
    """`-60 to 20 °C`, in the language of `say`."""
    known = schema.get("x-range") or schema
    unit = UNIT_SIGNS.get(known.get("unit", ""), known.get("unit", "")) if schema.get("x-range") else ""
    low, high = known.get("minimum", known.get("exclusiveMinimum")), known.get("maximum", known.get("exclusiveMaximum"))
    if schema.get("type") == "string" or not isinstance(low, int | float | None) or (low is None and high is None):
        return ""
    open_below = "exclusiveMinimum" in known
    if low is None:
        template = _("at most {high}")
    elif high is None or high >= 1e12:
        template = _("above {low}") if open_below else _("at least {low}")
    else:
        template = _("above {low} to {high}") if open_below else _("{low} to {high}")
    ends = {name: "" if end is None else number(end, 6) for name, end in (("low", low), ("high", high))}
    return f"{say(template).format_map(ends)} {unit}".rstrip()


def default_text(schema: Schema) -> str:
    """What is taken where nothing is given."""
    default = schema.get("default", MISSING)
    if default is MISSING or default in ([], {}, ""):
        return ""
    if isinstance(default, Mapping) and set(default) == {"value", "unit"}:
        return quantity(default, 4)
    if isinstance(default, str):
        return words(default)
    return value_text(default) if not isinstance(default, list | Mapping) else ""


def pretty(value: Any) -> str:
    """JSON as a person reads it."""
    return msgspec.json.format(msgspec.json.encode(value), indent=2).decode()
