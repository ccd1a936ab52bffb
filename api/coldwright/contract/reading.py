"""From bytes to a checked input: one decoding, one look for repeated members, one check of ranges."""

import codecs
import json
import typing
from typing import Any, TypeVar

import msgspec

from coldwright.contract.decoders import decoder_of, prepared
from coldwright.contract.explaining import EXPLAINED, MOST_ERRORS, MOST_REPEATED, explain, parsed
from coldwright.contract.ranges import range_errors
from coldwright.contract.refusal import Malformed, Refused

S = TypeVar("S")


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
        if len(body) <= EXPLAINED:
            _refuse_duplicates(body)
        raise Refused(explain(expected, parsed(body), error)) from None
    except (msgspec.DecodeError, UnicodeDecodeError) as error:
        raise Malformed("not_json", f"The body is not JSON: {_encoding_of(body) or error}.") from None
    if not _each_once(body):
        _refuse_duplicates(body)
    _refuse_range(value)
    return value


def _encoding_of(body: bytes) -> str:
    """What a body that is no JSON is written in, where its first bytes show that; JSON is UTF-8 without a mark (RFC 8259, 8.1)."""
    if body.startswith(codecs.BOM_UTF8):
        return "it begins with a byte order mark; send it as UTF-8 without one"
    if body.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)) or b"\0" in body[:4]:
        return "it is not UTF-8, but looks like UTF-16 or UTF-32"
    return ""


def convert(expected: type[S], value: Any) -> S:
    """The same for a value that is already decoded (an item of a worksheet) or a struct built by another calculator."""
    try:
        result = msgspec.convert(value, prepared(expected))
    except msgspec.ValidationError as error:
        raise Refused(explain(expected, value, error)) from None
    _refuse_range(result)
    return result


def checked(given: S) -> S:
    """Hold a struct that was built in code to everything that is asked of one that was sent."""
    return convert(type(given), msgspec.to_builtins(given))


def read_again(given: S, text: bytes) -> S:
    """The same for one whose JSON is at hand: what a reader of that makes of it."""
    try:
        again: S = decoder_of(type(given)).decode(text)
    except msgspec.ValidationError:
        return checked(given)
    _refuse_range(again)
    return again


def decode_any(body: bytes) -> Any:
    """Decode JSON of any shape, with the same refusals as `read`."""
    return read(typing.cast(type[Any], Any), body)


_encode = msgspec.json.Encoder().encode
_plainly = msgspec.json.Decoder().decode


def _each_once(body: bytes) -> bool:
    """Whether no member stands twice in one object: decoding drops the first of the two, and with it a colon."""
    colons = body.count(b":")
    if b"\\u003" in body:
        escapes = body.replace(b"\\\\", b"")  # a backslash that is one itself escapes nothing
        colons += escapes.count(b"\\u003a") + escapes.count(b"\\u003A")
    return _encode(_plainly(body)).count(b":") == colons


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


def _no_json(constant: str) -> None:
    raise ValueError(f"{constant} is no number of JSON")


_STRICT = json.JSONDecoder(
    object_pairs_hook=_once, parse_int=len, parse_float=len, parse_constant=_no_json
)  # only names matter here


def _refuse_duplicates(body: bytes) -> None:
    """I-JSON (RFC 7493, 2.3): a repeated member would be dropped without a word."""
    try:
        _STRICT.decode(body.decode())
    except _Repeated as error:
        raise Malformed(
            "duplicate_member", f"The member {str(error)[:MOST_REPEATED]!r} stands twice in one object."
        ) from None
    except ValueError as error:
        raise Malformed("not_json", f"The body is not JSON: {error}.") from None
