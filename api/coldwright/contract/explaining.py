"""Every error of a body that was refused, each by its pointer. Runs only after a failure, bounded in time and number."""

import json
import re
import typing
from collections.abc import Iterable
from enum import StrEnum
from itertools import islice
from typing import Any, get_args, get_origin

import msgspec
from msgspec import UNSET, Struct

from coldwright.contract.ranges import fragment, outside, range_errors, range_text
from coldwright.contract.refusal import Allowed, FieldError, Malformed
from coldwright.contract.walk import fields_of, metas, plain, pointer_to

MOST_ERRORS = 50
EXPLAINED = 1_000_000
"""Bytes of a body up to which every error is sought; of a larger one the decoder's own, its first, is named."""
MOST_REPEATED = 200
"""Characters of a name or a text of the body that an error says back: it may be nearly all of the body."""
MOST_NAMED, MOST_LISTED = 200, 40
"""Words of a table that are listed beside an error, and in its sentence."""
MOST_LOOKED_AT = 50_000
"""Values looked at while errors are sought, so that explaining a wrong body never takes longer than a moment."""


def parsed(body: bytes) -> Any:
    """For explaining only: numbers too large for a float come as infinite, and the collector says so."""
    if len(body) > EXPLAINED:
        return UNSET
    try:
        value = json.loads(body)
        if b"\\ud" in body or b"\\uD" in body:  # no other way leads to half a surrogate pair
            json.dumps(value, ensure_ascii=False).encode()
    except UnicodeEncodeError:
        raise Malformed("not_json", "The body holds half a surrogate pair, which no text can hold.") from None
    except ValueError:  # an integer of thousands of digits
        return UNSET
    return value


def explain(expected: Any, value: Any, first: msgspec.ValidationError) -> list[FieldError]:
    """The errors of `value`, or the decoder's `first` where it names none or is not there to be looked at."""
    errors = _Found()
    if value is not UNSET:
        _collect(expected, value, "", errors)
    if not errors:
        message, _, path = str(first).partition(" - at `$")
        names = re.findall(r"\.([^.\[\]`]+)|\[(\d+)\]", path[:MOST_REPEATED])
        errors.append(_error("".join(f"/{a or b}" for a, b in names), message[:MOST_REPEATED], None, UNSET))
    return errors[:MOST_ERRORS]


class _Found(list[FieldError]):
    """Errors found so far, with what may still be looked at."""

    left = MOST_LOOKED_AT

    @property
    def enough(self) -> bool:
        return len(self) >= MOST_ERRORS or self.left <= 0


def _collect(annotation: Any, value: Any, pointer: str, errors: _Found) -> None:
    """Every error below `pointer`. Runs only after a failure; ends early where there is too much to look at."""
    if errors.enough:
        return
    errors.left -= 1
    core, before = plain(annotation), len(errors)
    origin, arguments = get_origin(core), get_args(core)
    if isinstance(core, type) and issubclass(core, Struct):
        if isinstance(value, dict):
            _collect_struct(core, value, pointer, errors)
    elif arguments and (tagged := _by_tag(arguments, value)) is not None:
        _collect(tagged, value, pointer, errors)
    elif (tags := _tags(arguments)) and isinstance(value, dict):
        errors.append(_unknown_tag(tags, value, pointer))
    elif origin in (list, tuple) and isinstance(value, (list, tuple)):
        _collect_each(arguments[0], enumerate(value), pointer, errors)
    elif origin is dict and isinstance(value, dict):
        _collect_each(arguments[1], value.items(), pointer, errors)
    if len(errors) == before:
        try:
            converted = msgspec.convert(value, annotation)
            errors += range_errors(converted, pointer)
        except msgspec.ValidationError as error:
            message = str(error).partition(" - at `")[0]
            errors.append(_error(pointer, message, annotation, value))
        except TypeError:  # an annotation that stands only inside a struct, such as `T | UnsetType`
            if core is not annotation:
                _collect(core, value, pointer, errors)


def _collect_each(annotation: Any, items: Iterable[tuple[Any, Any]], pointer: str, errors: _Found) -> None:
    for key, item in items:
        if errors.enough:
            return
        _collect(annotation, item, pointer_to(pointer, str(key)[:MOST_REPEATED]), errors)


def _by_tag(union: tuple[Any, ...], value: Any) -> Any:
    """The member of a tagged union that the value names."""
    for member in union:
        if isinstance(member, type) and issubclass(member, Struct) and isinstance(value, dict):
            config = member.__struct_config__
            if config.tag_field and value.get(config.tag_field) == config.tag:
                return member
    return None


def _tags(union: tuple[Any, ...]) -> dict[str, list[str]]:
    """The tag field of a union of structs with the words that it takes; empty for any other union."""
    tags: dict[str, list[str]] = {}
    for member in union:
        if isinstance(member, type) and issubclass(member, Struct) and member.__struct_config__.tag_field:
            config = member.__struct_config__
            tags.setdefault(str(config.tag_field), []).append(str(config.tag))
    return tags


def _unknown_tag(tags: dict[str, list[str]], value: dict[str, Any], pointer: str) -> FieldError:
    field, words = next(iter(tags.items()))
    here, allowed = f"#{fragment(pointer_to(pointer, field))}", Allowed(one_of=tuple(words))
    if field not in value:
        return FieldError(
            here, "missing", f"This field is required: it says which of these this is: {', '.join(words)}."
        )
    text = f"This is not one of the words taken here: {', '.join(words)}."
    shown = value[field] if _repeatable(value[field]) else UNSET
    return FieldError(here, "not_allowed", text, value=shown, allowed=allowed)


def _collect_struct(struct: type[Struct], value: dict[str, Any], pointer: str, errors: _Found) -> None:
    known = {f.wire_name: f for f in fields_of(struct)}
    config = struct.__struct_config__
    for name, facts in known.items():
        if errors.enough:
            return
        if name in value:
            here, before = pointer_to(pointer, name), len(errors)
            _collect(facts.annotation, value[name], here, errors)
            if before == len(errors) < MOST_ERRORS and facts.about.within is not None:
                item = msgspec.convert(value[name], plain(facts.annotation))
                if error := outside(item, facts.about.within, here):
                    errors.append(error)
        elif facts.required:
            text = f"This field is required: {facts.description}" if facts.description else "This field is required."
            errors.append(FieldError(f"#{fragment(pointer_to(pointer, name))}", "missing", text))
    for group in getattr(struct, "one_needed", ()):
        if not any(name in value for name in group):
            text = f"One of these is required: {', '.join(group)}."
            errors.append(FieldError(f"#{fragment(pointer_to(pointer, group[0]))}", "missing", text))
    if config.forbid_unknown_fields:
        unknown = (name for name in value if name not in known and name != config.tag_field)
        allowed = Allowed(one_of=tuple(n for n in known if n not in value))
        errors += [
            FieldError(
                f"#{fragment(pointer_to(pointer, name[:MOST_REPEATED]))}",
                "unknown_field",
                "There is no such field here.",
                allowed=allowed,
            )
            for name in islice(unknown, MOST_ERRORS)
        ]


_CODES = (
    ("missing required", "missing"),
    ("unknown field", "unknown_field"),
    ("enum value", "not_allowed"),
    ("matching regex", "not_allowed"),
    ("out of range", "out_of_range"),
    (" >", "out_of_range"),
    (" <", "out_of_range"),
    ("length", "out_of_range"),
    ("Expected", "wrong_type"),
)


def _error(pointer: str, message: str, annotation: Any, value: Any) -> FieldError:
    code = next((code for text, code in _CODES if text in message), "invalid")
    allowed, why = _allowed(annotation)
    detail = message.replace("`", "") + "."
    if allowed is not UNSET and allowed.one_of is not UNSET and code in ("not_allowed", "wrong_type"):
        detail = f"This is not one of the words taken here: {_named(allowed.one_of)}."
    elif "matching regex" in message:
        detail = f"This text has not the form that is taken here. {_description(annotation)}".strip()
    elif allowed is not UNSET and code == "out_of_range":
        detail = f"The value is outside the range of this field: {range_text(allowed)}."
    shown = value if _repeatable(value) else UNSET
    return FieldError(f"#{fragment(pointer)}", code, detail, value=shown, allowed=allowed, why=why)


def _named(words: tuple[str, ...]) -> str:
    """Words with commas; where there are many, the first of them."""
    few = ", ".join(words[:MOST_LISTED])
    return f"{few} and {len(words) - MOST_LISTED} more" if len(words) > MOST_LISTED else few


def _description(annotation: Any) -> str:
    """What the field says of itself; for plain text, that control characters are not taken."""
    texts = [m.description for m in metas(annotation) if m.description]
    return texts[-1] if texts else "Control characters are not taken."


def _repeatable(value: Any) -> bool:
    """Short enough to say back, and possible in JSON."""
    if isinstance(value, str):
        return len(value) <= 100
    return isinstance(value, (bool, int, float)) and abs(value) < 1e300


def _allowed(annotation: Any) -> tuple[Any, Any]:
    """Bounds and reason, from the same `Meta` that made the schema."""
    bounds: dict[str, Any] = {}
    why: Any = UNSET
    core = plain(annotation)
    for meta in metas(annotation):
        if (listed := (meta.extra or {}).get("words")) is not None:
            return Allowed(one_of=listed.words[:MOST_NAMED]), f"These are the words of the table {listed.title!r}."
    if get_origin(core) is typing.Literal:
        return Allowed(one_of=tuple(str(a) for a in get_args(core))), UNSET
    if isinstance(core, type) and issubclass(core, StrEnum):
        return Allowed(one_of=tuple(word.value for word in core)), UNSET
    for meta in metas(annotation):
        pairs = (("minimum", meta.ge), ("maximum", meta.le), ("above", meta.gt), ("below", meta.lt))
        if core in (str,) or get_origin(core) in (list, tuple):
            pairs = (("minimum", meta.min_length), ("maximum", meta.max_length), ("above", None), ("below", None))
            bounds["unit"] = "characters" if core is str else "entries"
        bounds |= {name: bound for name, bound in pairs if bound is not None}
        why = getattr((meta.extra or {}).get("about"), "why", "") or why
    if set(bounds) <= {"unit"}:
        return UNSET, why
    return Allowed(**bounds), why
