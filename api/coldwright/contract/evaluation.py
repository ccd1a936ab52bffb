"""The way of one calculation: given, calculator, results, answer."""

import hashlib
from collections.abc import Callable, Mapping
from functools import cache
from typing import Any, Literal, TypeVar, cast, get_origin
from urllib.parse import unquote

import msgspec
from msgspec import NODEFAULT, UNSET, Struct

from coldwright.contract.answer import Answer, CalculatorStamp
from coldwright.contract.calculator import Calculator
from coldwright.contract.decoders import decoder_of
from coldwright.contract.files import wrong_file
from coldwright.contract.notes import Assumption, Hazard, Notes, led_to
from coldwright.contract.quantities import Quantity
from coldwright.contract.ranges import fragment
from coldwright.contract.reading import read_again
from coldwright.contract.refusal import Defect, FieldError, Refused
from coldwright.contract.walk import FieldFacts, all_structs, fields_of, plain

G = TypeVar("G", bound=Struct)
R = TypeVar("R", bound=Struct)
Lookup = Callable[[str], "Calculator[Any, Any]"]
Origin = Callable[[str], str]
"""Of a calculator by `family.name@major`: its distribution with the version of that."""
_canonical = msgspec.json.Encoder(order="deterministic")


def evaluate(
    calculator: Calculator[Any, Any],
    given: Struct,
    *,
    plugin: str = "",
    plugin_version: str = "",
    lookup: Lookup | None = None,
    origin: Origin | None = None,
) -> Answer:
    """Answer one question. `given` was read by `reading`; raises `Refused` or `Defect`.

    `lookup` finds the calculators that this one asks, `origin` the distributions that these came from; whoever has a
    registry hands over its own.
    """
    results, notes, asked = _run(calculator, given, lookup, origin)
    text = canonical(given)
    return Answer(
        calculator=CalculatorStamp(calculator.id, calculator.version, plugin, plugin_version),
        digest=digest_of_text(calculator, text, asked, origin_of(plugin, plugin_version)),
        outcome=notes.outcome,
        given=msgspec.Raw(text),
        results=results,
        findings=tuple(notes.findings),
        assumptions=tuple(notes.assumptions),
        cautions=tuple(notes.cautions),
        working=tuple(notes.working),
    )


def run(calculator: Calculator[G, R], given: G, lookup: Lookup | None = None) -> tuple[R, Notes]:
    """Results and notes of one calculator, without the envelope."""
    results, notes, _ = _run(calculator, given, lookup, None)
    return results, notes


def origin_of(plugin: str, plugin_version: str) -> str:
    """A distribution with its version, as a digest names it."""
    return f"{plugin} {plugin_version}".strip()


def _run(
    calculator: Calculator[G, R], given: G, lookup: Lookup | None, origin: Origin | None
) -> tuple[R, Notes, frozenset[str]]:
    """The same, with the digests of all that it asked."""
    notes, asking = Notes(calculator.findings), None
    list_defaults(given, notes)
    try:
        if calculator.uses:
            asking = Asking(calculator, notes, lookup or _nobody, origin)
            results = calculator.function(given, notes, asking)
        else:
            results = calculator.function(given, notes)
    except (ArithmeticError, ValueError, LookupError, TypeError, AttributeError) as error:
        raise Defect(f"{calculator.id}: {type(error).__name__}: {error}") from error
    return results, notes, frozenset(asking.asked) if asking else frozenset()


def _nobody(asked: str) -> Calculator[Any, Any]:
    raise Defect(f"no registry to find {asked} in")


class Asking:
    """`ask`, as handed to a calculator."""

    __slots__ = ("_asker", "_lookup", "_notes", "_origin", "asked")

    def __init__(self, asker: Calculator[Any, Any], notes: Notes, lookup: Lookup, origin: Origin | None = None) -> None:
        self._asker, self._notes, self._lookup, self._origin = asker, notes, lookup, origin
        self.asked: set[str] = set()
        """Digests of every question that was asked, a refused one too."""

    def __call__(
        self,
        calculator: Calculator[G, R],
        given: G,
        *,
        origin: Mapping[str, str] | None = None,
        hazards: tuple[Hazard, ...] | None = None,
    ) -> R:
        results, notes = self.apart(calculator, given, origin=origin)
        self._notes.adopt(notes, calculator.id, origin=origin, hazards=hazards)
        return results

    def apart(
        self, calculator: Calculator[G, R], given: G, *, origin: Mapping[str, str] | None = None
    ) -> tuple[R, Notes]:
        try:
            return self._apart(calculator, given)
        except Refused as refused:
            if origin is None:  # as a plugin of 1.0 expects it
                raise
            raise Refused(_led_back(e, calculator.id, origin) for e in refused.errors) from None

    def _apart(self, calculator: Calculator[G, R], given: G) -> tuple[R, Notes]:
        if calculator.id not in self._asker.uses:
            raise Defect(f"{self._asker.id} asks {calculator.id} but does not declare it in `uses`")
        served = cast(Calculator[G, R], self._lookup(calculator.id))
        if served.major != calculator.major:  # the asker gets the major version that it was written for
            served = cast(Calculator[G, R], self._lookup(calculator.pinned))
        given, text = _as_sent(given)
        deeper: frozenset[str] = frozenset()
        try:
            results, notes, deeper = _run(served, given, self._lookup, self._origin)
        finally:
            came_from = self._origin(served.pinned) if self._origin else ""
            self.asked.add(digest_of_text(served, text, deeper, came_from))
        return results, notes


def _led_back(error: FieldError, asked: str, origin: Mapping[str, str]) -> FieldError:
    """A refusal of what was asked, led to where the value came from; else it says whose field it is."""
    place = unquote(error.pointer.removeprefix("#"))
    own = led_to(place, origin)
    if own is not None:
        return msgspec.structs.replace(error, pointer=f"#{fragment(own)}", detail=f"{error.detail} ({asked} asks it.)")
    detail = f"{asked} refuses what it is asked here, at `{place or '/'}`: {error.detail}"
    return msgspec.structs.replace(error, pointer="#", detail=detail)


def canonical(given: Struct) -> bytes:
    """The one spelling of an input: members sorted, and each number as the reader makes it.

    Read once more where a default stands in code as a whole number: that is not yet what a caller's 0.0 is.
    """
    encoded = _canonical.encode(given)
    return encoded if _as_read(type(given)) else _canonical.encode(decoder_of(type(given)).decode(encoded))


def _as_sent(given: G) -> tuple[G, bytes]:
    """A question that was built in code, held to everything that is asked of one that was sent; and its one spelling.

    The first spelling is not that one yet: numbers may stand whole in the code.
    """
    sent = read_again(given, _canonical.encode(given))
    return sent, _canonical.encode(sent)


@cache
def _as_read(struct: type[Struct]) -> bool:
    """Whether every default inside surely stands in code as the reader would make it."""
    return all(_default_as_read(facts) for inside in all_structs(struct) for facts in fields_of(inside))


def _default_as_read(facts: FieldFacts) -> bool:
    default = facts.default
    if default is NODEFAULT or default is UNSET or default in ((), {}) or isinstance(default, str | bool | float):
        return True
    if isinstance(default, int):
        kind = plain(facts.annotation)
        return kind is int or get_origin(kind) is Literal
    if not isinstance(default, Struct):
        return False
    encoded = _canonical.encode(default)
    return _canonical.encode(decoder_of(type(default)).decode(encoded)) == encoded


def digest(calculator: Calculator[Any, Any], given: Struct) -> str:
    """SHA-256 of calculator id, version, canonical given and the data tables used: the identity of a question.

    That of an answer covers the distribution that answered, with its version, and the digests of all that was asked.
    """
    return digest_of_text(calculator, canonical(given))


def digest_of_text(
    calculator: Calculator[Any, Any], text: bytes, asked: frozenset[str] = frozenset(), origin: str = ""
) -> str:
    """The same for an input that is in its one spelling already, with where the calculator came from and the digests of
    what was asked.
    """
    before, after = _around(calculator, origin)
    return hashlib.sha256(before + text + after + "".join(sorted(asked)).encode()).hexdigest()


@cache
def _around(calculator: Calculator[Any, Any], origin: str) -> tuple[bytes, bytes]:
    """What stands before and after the input in a digest."""
    before = "\n".join(filter(None, (calculator.id, calculator.version, origin)))
    return f"{before}\n".encode(), "".join(t.digest for t in calculator.tables).encode()


def list_defaults(given: Struct, notes: Notes) -> None:
    """Write every default that was used among the assumptions, once for all entries of a list."""
    seen: dict[str, Assumption] = {}
    _defaults_in(given, "", seen)
    notes.assumptions.extend(seen.values())


def _defaults_in(struct: Struct, pointer: str, seen: dict[str, Assumption]) -> None:
    for name, default, assumed, inside, entries in _defaulted(type(struct), pointer):
        value = getattr(struct, name)
        if value is UNSET:
            continue
        if assumed is not None and value == default:
            seen[assumed.code] = assumed
        elif inside and isinstance(value, Struct):
            _defaults_in(value, inside, seen)
        elif entries and isinstance(value, (tuple, list)):
            for item in value:
                if isinstance(item, Struct):
                    _defaults_in(item, entries, seen)


@cache
def _defaulted(struct: type[Struct], pointer: str) -> tuple[tuple[str, Any, Assumption | None, str, str], ...]:
    """Fields with a default to report, or with structs inside.

    Each with its name, its default, what is assumed, the pointer of the struct inside, and of the structs in its list.
    There are no more pointers than places in the schema: all entries of a list share one.
    """
    rows = []
    for facts in fields_of(struct):
        assumed = None
        if _reports(facts):
            default = facts.default
            shown = str(default) if isinstance(default, str | Quantity) else msgspec.json.encode(default).decode()
            assumed = Assumption(
                code=f"default:{pointer}/{facts.name}",
                statement=f"`{facts.wire_name}` is {shown}, the default. {facts.description}",
                value=default,
                basis=facts.about.basis,
                references=facts.about.references,
            )
        below = facts.holds_structs and any(map(_has_defaults, all_structs(facts.annotation)))
        if assumed is not None or below:
            inside = f"{pointer}/{facts.name}" if below else ""
            rows.append((facts.name, facts.default, assumed, inside, inside and f"{inside}/*"))
    return tuple(rows)


@cache
def _has_defaults(struct: type[Struct]) -> bool:
    """Whether a field of a struct has a default to report: a thousand records without any are not walked through."""
    return any(_reports(facts) for facts in fields_of(struct))


def _reports(facts: FieldFacts) -> bool:
    return not (facts.default is NODEFAULT or facts.default is UNSET or facts.default in ((), [], {}, None))


def hold_to_schema(expected: type[Struct], results: Struct) -> None:
    """Constructing a struct checks nothing: hold results built by a stranger to their own types.

    Raises `Defect` or `msgspec.ValidationError`. A union of untagged structs can be written but not read back; it is
    left alone.
    """
    if not isinstance(results, expected):
        raise Defect(f"it promised {expected.__name__} and returned {type(results).__name__}")
    if wrong := wrong_file(results):
        raise Defect(wrong)
    try:
        decoder = decoder_of(expected)
    except TypeError:
        return
    decoder.decode(_canonical.encode(results))
