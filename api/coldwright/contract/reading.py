"""From bytes to a checked input: one C call when all is well, and every error by its pointer when it is not."""

import json
import re
import typing
from collections.abc import Iterable
from functools import cache
from itertools import islice
from typing import Any, TypeVar, get_args, get_origin
from urllib.parse import quote

import msgspec
from msgspec import UNSET, Struct

from coldwright.contract.bounded import NOTHING
from coldwright.contract.decoders import bounded_decoder_of, decoder_of, prepared
from coldwright.contract.quantities import Quantity
from coldwright.contract.refusal import Allowed, FieldError, Malformed, Refused
from coldwright.contract.walk import children, fields_of, metas, plain, pointer_to

S = TypeVar("S")
MOST_ERRORS = 50
_encode = msgspec.json.Encoder().encode
NEAR_ZERO = f"what is nearer to zero than {NOTHING:g} counts as zero"
EXPLAINED = 1_000_000
"""Bytes of a body up to which every error is sought; of a larger one the decoder's own, its first, is named."""
MOST_LOOKED_AT = 50_000
"""Values looked at while errors are sought, so that explaining a wrong body never takes longer than a moment."""


def read(expected: type[S], body: bytes) -> S:
    """Decode and check `body` as `expected`.

    Raises `Malformed` (not JSON, duplicate members, nested too deep, bad UTF-8) or `Refused` with every wrong field.
    """
    try:
        return _read(expected, body)
    except RecursionError:  # the decoders bound nesting by themselves, long before memory is at risk
        raise Malformed("nested_too_deep", "The body is nested too deeply.") from None


def _read(expected: type[S], body: bytes) -> S:
    try:
        value: S = decoder_of(expected).decode(body)
    except msgspec.ValidationError as error:
        _refuse_duplicates(body)
        raise Refused(_explain(expected, _parsed(body), error)) from None
    except (msgspec.DecodeError, UnicodeDecodeError) as error:
        raise Malformed("not_json", f"The body is not JSON: {error}.") from None
    if not _surely_fine(expected, body):
        _refuse_duplicates(body)
        _refuse_range(value)
    return value


def convert(expected: type[S], value: Any) -> S:
    """The same for a value that is already decoded (an item of a worksheet) or a struct built by another calculator."""
    try:
        result = msgspec.convert(value, prepared(expected))
    except msgspec.ValidationError as error:
        raise Refused(_explain(expected, value, error)) from None
    if not surely_in_range(expected, value):
        _refuse_range(result)
    return result


def checked(given: S) -> S:
    """Hold a struct that was built in code to everything that is asked of one that was sent."""
    return convert(type(given), msgspec.to_builtins(given))


def decode_any(body: bytes) -> Any:
    """Decode JSON of any shape, with the same refusals as `read`."""
    return read(typing.cast(type[Any], Any), body)


def _surely_fine(expected: Any, body: bytes) -> bool:
    """Whether all is in range and no member stands twice: decoding drops the first of the two, and with it a colon.

    An escape could hide a colon or make one, so a body with escapes by number is always looked at.
    """
    if b"\\" in body and b"\\u" in body:  # one byte is sought much quicker than two
        return False
    try:
        return body.count(b":") == _encode(bounded_decoder_of(expected).decode(body)).count(b":")
    except msgspec.ValidationError:
        return False


def surely_in_range(expected: Any, value: Any) -> bool:
    """Whether every quantity inside a decoded value is in its range. `range_errors` says what is wrong, and decides."""
    try:
        msgspec.convert(value, bounded_decoder_of(expected).type)
    except msgspec.ValidationError:
        return False
    return True


def _refuse_range(value: Any) -> None:
    if errors := range_errors(value):
        raise Refused(errors[:MOST_ERRORS])


class _Repeated(Exception):  # noqa: N818
    pass


def _once(pairs: list[tuple[str, Any]]) -> None:
    seen: set[str] = set()
    for name, _ in pairs:
        if name in seen:
            raise _Repeated(name)
        seen.add(name)


_STRICT = json.JSONDecoder(object_pairs_hook=_once, parse_int=len, parse_float=len)  # only names matter here


def _refuse_duplicates(body: bytes) -> None:
    """I-JSON (RFC 7493, 2.3): a repeated member would be dropped without a word."""
    try:
        _STRICT.decode(body.decode())
    except _Repeated as error:
        raise Malformed("duplicate_member", f"The member {str(error)!r} stands twice in one object.") from None
    except ValueError as error:
        raise Malformed("not_json", f"The body is not JSON: {error}.") from None


def _parsed(body: bytes) -> Any:
    """For explaining only: numbers too large for a float come as infinite, and the collector says so."""
    if len(body) > EXPLAINED:
        return UNSET
    try:
        value = json.loads(body)
        json.dumps(value, ensure_ascii=False).encode()
    except UnicodeEncodeError:
        raise Malformed("not_json", "The body holds half a surrogate pair, which no text can hold.") from None
    except ValueError:  # an integer of thousands of digits
        return UNSET
    return value


def range_errors(value: Any, pointer: str = "") -> list[FieldError]:
    """Quantities outside the range of their field, everywhere inside `value`."""
    errors: list[FieldError] = []
    for at, struct in children(value, pointer):
        for name, within, wire_name, deeper in _ranged(type(struct)):
            item = getattr(struct, name)
            if item is UNSET:
                continue
            here = pointer_to(at, wire_name)
            if deeper:
                errors += range_errors(item, here)
            elif within is not None and (error := _outside(item, within, here)):
                errors.append(error)
    return errors


@cache
def _ranged(struct: type[Struct]) -> tuple[tuple[str, Any, str, bool], ...]:
    return tuple(
        (f.name, f.about.within, f.wire_name, f.holds_structs and f.about.within is None)
        for f in fields_of(struct)
        if f.about.within is not None or f.holds_structs
    )


def _outside(item: Any, within: Any, pointer: str) -> FieldError | None:
    if isinstance(item, (list, tuple)):  # a list of quantities under one range
        return next((e for i, q in enumerate(item) if (e := _outside(q, within, f"{pointer}/{i}"))), None)
    if not isinstance(item, Quantity):
        return None
    number = item.to(within.unit)
    slack = 1e-9 * abs(number)  # 44 degF is not below 6.67 degC by a rounding of the last bit
    if (
        (within.low is None or number >= within.low - slack)
        and (within.high is None or number <= within.high + slack)
        and (within.above is None or number > (within.above or NOTHING))
        and (within.below is None or number < within.below)
    ):
        return None
    allowed = Allowed(
        minimum=UNSET if within.low is None else within.low,
        maximum=UNSET if within.high is None else within.high,
        above=UNSET if within.above is None else within.above,
        below=UNSET if within.below is None else within.below,
        unit=within.unit,
    )
    return FieldError(
        pointer=f"#{_fragment(pointer)}",
        code="out_of_range",
        detail=f"{item} is outside the range of this field: {_range_text(allowed)}.",
        value=item,
        allowed=allowed,
        why=NEAR_ZERO if within.above == 0 and 0 < number <= NOTHING else within.why or UNSET,
    )


def _range_text(allowed: Allowed) -> str:
    words = (
        ("at least", allowed.minimum),
        ("above", allowed.above),
        ("at most", allowed.maximum),
        ("below", allowed.below),
    )
    text = " and ".join(f"{word} {number:g}" for word, number in words if number is not UNSET)
    return f"{text} {allowed.unit}".rstrip() if allowed.unit is not UNSET else text


def _fragment(pointer: str) -> str:
    return quote(pointer, safe="/~!$&'()*+,;=:@?-._")


def _explain(expected: Any, value: Any, first: msgspec.ValidationError) -> list[FieldError]:
    errors = _Found()
    if value is not UNSET:
        _collect(expected, value, "", errors)
    if not errors:
        message, _, path = str(first).partition(" - at `$")
        names = re.findall(r"\.([^.\[\]`]+)|\[(\d+)\]", path)
        errors.append(_error("".join(f"/{a or b}" for a, b in names), message, None, UNSET))
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
        _collect(annotation, item, pointer_to(pointer, str(key)), errors)


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
    here, allowed = f"#{_fragment(pointer_to(pointer, field))}", Allowed(one_of=tuple(words))
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
                if error := _outside(item, facts.about.within, here):
                    errors.append(error)
        elif facts.required:
            text = f"This field is required: {facts.description}" if facts.description else "This field is required."
            errors.append(FieldError(f"#{_fragment(pointer_to(pointer, name))}", "missing", text))
    for group in getattr(struct, "one_needed", ()):
        if not any(name in value for name in group):
            text = f"One of these is required: {', '.join(group)}."
            errors.append(FieldError(f"#{_fragment(pointer_to(pointer, group[0]))}", "missing", text))
    if config.forbid_unknown_fields:
        unknown = (name for name in value if name not in known and name != config.tag_field)
        allowed = Allowed(one_of=tuple(n for n in known if n not in value))
        errors += [
            FieldError(
                f"#{_fragment(pointer_to(pointer, name))}",
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
        detail = f"This is not one of the words taken here: {', '.join(allowed.one_of)}."
    elif "matching regex" in message:
        detail = f"This text has not the form that is taken here. {_description(annotation)}".strip()
    elif allowed is not UNSET and code == "out_of_range":
        detail = f"The value is outside the range of this field: {_range_text(allowed)}."
    shown = value if _repeatable(value) else UNSET
    return FieldError(f"#{_fragment(pointer)}", code, detail, value=shown, allowed=allowed, why=why)


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
    if get_origin(core) is typing.Literal:
        return Allowed(one_of=tuple(str(a) for a in get_args(core))), UNSET
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
