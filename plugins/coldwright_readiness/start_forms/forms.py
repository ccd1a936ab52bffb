"""From the types of the observations to their forms: nothing of a kind is written twice."""

from collections.abc import Callable, Iterator, Mapping
from functools import cache
from typing import Annotated, Any, Final, Literal, get_args, get_origin

from msgspec import UNSET, Meta, Struct, UnsetType
from msgspec.structs import replace

from coldwright.contract import Results, about, load_table
from coldwright.contract.language import Language, Say
from coldwright.contract.language import marked as _
from coldwright.contract.quantities import Duration, Quantity
from coldwright.contract.walk import FieldFacts, fields_of, metas, parts, plain
from coldwright_basis.ratings import Practice
from coldwright_basis.speech import Speech
from coldwright_basis.trade_words import words_of
from coldwright_readiness.shared.configuration import practice_of
from coldwright_readiness.shared.given import Configuration
from coldwright_readiness.shared.words import filled
from coldwright_readiness.start_change.directions import asks_for_water
from coldwright_readiness.startup.observation_data import ITEMS, POINTS, VALVES
from coldwright_readiness.startup.observations import ROLES, AnyObservation

FORMS: Final = load_table("coldwright_readiness", "observation_forms")
FieldType = Literal["yes_no", "choice", "number", "count", "text", "stamp", "quantity", "list"]
WORDS: Final = {"valve": VALVES, "point": POINTS, "item": ITEMS, "role": ROLES}
"""Texts that take words of a list, in old spellings too."""
FREE_POINT: Final = "proved_dead"
"""Its `point` is any text."""
STAMPED: Final = ("received_at", "sent_at")
"""Written by the service, never by a person."""
NEEDED: Final[dict[str, Callable[[Configuration], bool]]] = {
    "always": lambda _: True,
    "event": lambda _: False,
    "seen": lambda _: False,
    "evidence": lambda c: c.require_connection_evidence,
    "generator_evidence": lambda c: c.require_connection_evidence and c.supply_source == "generator",
    "heaters": lambda c: c.oil_heaters,
    "mixture": lambda c: c.fluid_kind != "water",
    "mixture_event": lambda _: False,
    "water": lambda c: c.fluid_kind == "water" and asks_for_water(c) > 0,
}


_EACH_PRACTICE: Final = tuple(
    Configuration(supply_source="generator", pump_mode="own_pump", fluid_kind="water", practice=practice)
    for practice in get_args(Practice)
)

NO_WORDS: Final[Mapping[str, str]] = {}
TURNING: Final = {"on": _("Running"), "off": _("Standing still")}
"""`On` and `off` of what turns, for languages whose word for `on` says of a supply that it is connected."""
LARGEST = 2.0**53
"""Beyond it a reader of JSON loses digits of a whole number."""


class FormRange(Results, frozen=True, kw_only=True):
    """The unit to show, and the range in it."""

    unit: Annotated[str, about("Unit.")]
    low: Annotated[float, about("Least that is taken.")] | UnsetType = UNSET
    above: Annotated[float, about("Only more than this is taken.")] | UnsetType = UNSET
    high: Annotated[float, about("Most that is taken.")] | UnsetType = UNSET


class FormChoice(Results, frozen=True, kw_only=True):
    """A word of a list."""

    value: Annotated[str, about("What is sent.")]
    label: Annotated[str, about("What is shown.")]


class FormField(Results, frozen=True, kw_only=True):
    """A field of a form."""

    name: Annotated[str, about("Its name in the record.")]
    label: Annotated[str, about("What is shown.")]
    help: Annotated[str, about("What it means.")]
    type: Annotated[FieldType, about("How it is put in. `list`: several of the choices, in order.")]
    required: Annotated[bool, about("Whether it must be there.")]
    choices: Annotated[tuple[FormChoice, ...], about("Words that are taken.")] = ()
    metric: Annotated[FormRange, about("Of a quantity, metric.")] | UnsetType = UNSET
    us: Annotated[FormRange, about("Of a quantity, US.")] | UnsetType = UNSET
    least: Annotated[float, about("Least of a plain number.", low=-LARGEST, high=LARGEST)] | UnsetType = UNSET
    most: Annotated[float, about("Most of a plain number.", low=-LARGEST, high=LARGEST)] | UnsetType = UNSET
    longest: Annotated[int, about("Most characters of a text.", low=1, high=100_000)] | UnsetType = UNSET


class FormKind(Results, frozen=True, kw_only=True):
    """The form of one kind of observation."""

    kind: Annotated[str, about("The kind.")]
    label: Annotated[str, about("What is shown.")]
    group: Annotated[str, about("Where it belongs: placing, supply, loop, flow, machine, people or records.")]
    help: Annotated[str, about("What is recorded by it.")]
    needed_when: Annotated[str, about("Which set-up needs it.")]
    needed: Annotated[bool, about("Whether this set-up needs it; only where one was given.")] | UnsetType = UNSET
    lasts: (
        Annotated[Duration, about("Age at which it is too old for a start; absent: it does not age.")] | UnsetType
    ) = UNSET
    lasts_until: Annotated[str, about("What undoes it before that.")]
    fields: Annotated[tuple[FormField, ...], about("Its `data`, in order.")]


class StartFormsResults(Results, frozen=True, kw_only=True):
    """Every kind of observation of a start."""

    common: Annotated[tuple[FormField, ...], about("What every observation carries beside `kind` and `data`.")]
    kinds: Annotated[tuple[FormKind, ...], about("Every kind, group by group.")]


def forms_of(configuration: Configuration | None, language: Language = "en") -> StartFormsResults:
    """The forms; with a configuration each says whether it is needed. What no catalogue has stays English."""
    made = _forms_of(configuration)
    if language == "en":
        return made
    say = Speech(language).known
    turn = NO_WORDS if language.startswith("en") else {state: say(word) for state, word in TURNING.items()}
    kinds = (
        replace(
            kind,
            label=say(kind.label),
            group=say(kind.group),
            help=say(kind.help),
            needed_when=say(kind.needed_when),
            lasts_until=say(kind.lasts_until),
            fields=tuple(_said(field, say, turn if _turns(kind, field) else NO_WORDS) for field in kind.fields),
        )
        for kind in made.kinds
    )
    return StartFormsResults(common=tuple(_said(field, say) for field in made.common), kinds=tuple(kinds))


def _turns(kind: FormKind, field: FormField) -> bool:
    """Whether it is asked of a pump or compressor whether it runs."""
    return kind.kind in ("compressor", "pump_state") or field.name == "pump"


def _said(field: FormField, say: Say, called: Mapping[str, str] = NO_WORDS) -> FormField:
    choices = tuple(FormChoice(value=c.value, label=called.get(c.value) or say(c.label)) for c in field.choices)
    return replace(field, label=say(field.label), help=say(field.help), choices=choices)


def texts_of_forms() -> Iterator[str]:
    """What the forms say, in the English words of either practice: for the catalogue."""
    for made in map(_forms_of, (None, *_EACH_PRACTICE)):
        for kind in made.kinds:
            yield from (kind.label, kind.group, kind.help, kind.needed_when, kind.lasts_until)
        for field in (*made.common, *(f for kind in made.kinds for f in kind.fields)):
            yield from (field.label, field.help, *(c.label for c in field.choices))


def _forms_of(configuration: Configuration | None) -> StartFormsResults:
    practice: Practice = "nec" if configuration is None else practice_of(configuration)
    structs = {str(s.__struct_config__.tag): s for s in get_args(AnyObservation)}
    rows: dict[str, dict[str, Any]] = FORMS.rows["kinds"]
    first = next(iter(structs.values()))
    return StartFormsResults(
        common=tuple(_field(f, "", practice) for f in fields_of(first) if f.name != "data" and f.name not in STAMPED),
        kinds=tuple(_kind(kind, rows[kind], structs[kind], configuration) for kind in rows),
    )


def _kind(kind: str, row: dict[str, Any], struct: type[Struct], configuration: Configuration | None) -> FormKind:
    practice: Practice = "nec" if configuration is None else practice_of(configuration)
    words = words_of(practice)
    data: Any = plain(next(f.annotation for f in fields_of(struct) if f.name == "data"))
    return FormKind(
        kind=kind,
        label=filled(row["label"], words),
        group=row["group"],
        help=data.__doc__ or "",
        needed_when=FORMS.rows["conditions"][row["needed"]],
        needed=UNSET if configuration is None else NEEDED[row["needed"]](configuration),
        lasts=Duration.of(row["minutes"], "min") if "minutes" in row else UNSET,
        lasts_until=filled(row["until"], words),
        fields=_fields(data, kind, practice),
    )


@cache
def _fields(data: type[Struct], kind: str, practice: Practice) -> tuple[FormField, ...]:
    return tuple(_field(f, kind, practice) for f in fields_of(data))


def _field(facts: FieldFacts, kind: str, practice: Practice) -> FormField:
    core = plain(facts.annotation)
    words = _words(facts.name, core, kind)
    return FormField(
        name=facts.wire_name,
        label=FORMS.rows["names"].get(facts.name) or _shown(facts.name),
        help=facts.description,
        type=_type(facts, core, words),
        required=facts.required,
        choices=tuple(
            FormChoice(value=w, label=_shown(_CALLED.get(w, w).format_map(words_of(practice)))) for w in words
        ),
        metric=_range(facts, facts.quantity.metric_unit) if facts.quantity else UNSET,
        us=_range(facts, facts.quantity.us_unit) if facts.quantity else UNSET,
        **(_bounds(facts) if core in (int, float) else {}),
        longest=_longest(facts) if core is str and not words else UNSET,
    )


def _words(name: str, core: Any, kind: str) -> tuple[str, ...]:
    if get_origin(core) is Literal:
        return get_args(core)
    if get_origin(core) is tuple:
        return _words(name, plain(next(parts(core))), kind)
    return WORDS.get(name, ()) if core is str and kind != FREE_POINT else ()


def _type(facts: FieldFacts, core: Any, words: tuple[str, ...]) -> FieldType:
    if facts.quantity:
        return "quantity"
    if get_origin(core) is tuple:
        return "list"
    if words:
        return "choice"
    if core is str:
        stamp = any((m.extra_json_schema or {}).get("format") == "date-time" for m in metas(facts.annotation))
        return "stamp" if stamp else "text"
    kinds: dict[Any, FieldType] = {bool: "yes_no", int: "count", float: "number"}
    return kinds[core]


def _range(facts: FieldFacts, unit: str) -> FormRange:
    within = facts.about.within
    if within is None or facts.quantity is None:
        return FormRange(unit=unit)
    kind: type[Quantity] = facts.quantity

    def shown(value: float | None) -> float | UnsetType:
        return UNSET if value is None else kind.of(kind.of(value, within.unit).to(unit), unit).value

    return FormRange(unit=unit, low=shown(within.low), above=shown(within.above), high=shown(within.high))


def _bounds(facts: FieldFacts) -> dict[str, float]:
    found: dict[str, float] = {}
    for meta in metas(facts.annotation):
        for name, value in _limits(meta):
            found[name] = float(value)
    return found


def _limits(meta: Meta) -> Iterator[tuple[str, float]]:
    if meta.ge is not None:
        yield "least", meta.ge
    if meta.le is not None:
        yield "most", meta.le


def _longest(facts: FieldFacts) -> int | UnsetType:
    lengths = [m.max_length for m in metas(facts.annotation) if m.max_length is not None]
    return min(lengths) if lengths else UNSET


_CALLED: Final = {"ground": "{earth}"}
"""Words of a record that the trade says otherwise elsewhere."""


def _shown(name: str) -> str:
    if name == "none":
        return "Nothing"
    text = name.replace("_", " ")
    return text[:1].upper() + text[1:]
