"""A kept answer in the wanted system of units: converted, never computed again."""

from collections.abc import Iterator
from typing import Any, TypeVar

import msgspec
from msgspec import Struct

from coldwright.contract.answer import Units, in_units, to_json
from coldwright.contract.calculator import Calculator
from coldwright.contract.decoders import decoder_of, prepared
from coldwright.contract.evaluation import list_defaults
from coldwright.contract.fields import Given
from coldwright.contract.notes import Notes
from coldwright.contract.parts import JoinedPart
from coldwright.contract.quantities import Quantity, kind_of_unit
from coldwright.contract.sentences import Sentence, us_units_of
from coldwright.contract.series import Series
from coldwright.registry.answers import answer_type

N = TypeVar("N", bound=Struct)


def kept_in_units(calculator: Calculator[Any, Any], body: bytes, units: Units) -> bytes:
    """The metric answer as it was kept, or the same in US units.

    An answer of an earlier version, which no longer fits the calculator's types, stays as it was kept.
    """
    if units == "metric":
        return body
    try:
        kept: Any = decoder_of(answer_type(calculator)).decode(body)
        defaults = _defaults(kept.given, *_questions(kept.results))
        assumed = tuple(
            _spoken(msgspec.structs.replace(a, value=_assumed(a.value, defaults.get(a.code)))) for a in kept.assumptions
        )
        found = tuple(_spoken(f) for f in kept.findings)
        results = _respoken(_with_blocks(kept.results))
        whole = msgspec.structs.replace(kept, assumptions=assumed, findings=found, results=results)
        return to_json(in_units(whole, units))
    except msgspec.ValidationError:
        return body


def _defaults(*questions: Struct) -> dict[str, Any]:
    """What was assumed of fields that were not given, by code: quantities of the kind that the field is of."""
    notes = Notes({})
    for question in questions:
        list_defaults(question, notes)
    return {a.code: a.value for a in notes.assumptions}


def _questions(value: Any) -> Iterator[Given]:
    """What other calculators were asked, where results hold it: their defaults are among the assumptions too."""
    if isinstance(value, Given):
        yield value
    elif isinstance(value, tuple):
        for item in value:
            yield from _questions(item)
    elif isinstance(value, Struct):
        for name in value.__struct_fields__:
            yield from _questions(getattr(value, name))


def _assumed(kept: Any, default: Any) -> Any:
    """The default where that is what was kept: it knows its kind. Another calculator's may have the same code."""
    return default if isinstance(default, Quantity) and msgspec.to_builtins(default) == kept else _with_quantities(kept)


def _with_blocks(results: Any) -> Any:
    """The results with the quantities of the blocks that strangers' parts added, which are of any type."""
    parts = tuple(
        msgspec.structs.replace(p, block=_with_quantities(p.block))
        for p in getattr(results, "parts", ())
        if isinstance(p, JoinedPart)
    )
    return msgspec.structs.replace(results, parts=parts) if parts else results


def _respoken(value: Any) -> Any:
    """Results with the quantities of their sentences; what has none stays the object that it is."""
    if isinstance(value, tuple):
        items = tuple(map(_respoken, value))
        return items if any(new is not old for new, old in zip(items, value, strict=True)) else value
    if not isinstance(value, Struct):
        return value
    spoken = _spoken(value) if isinstance(getattr(value, "said", None), dict) else value
    changed = {
        name: new
        for name in value.__struct_fields__
        if isinstance(old := getattr(value, name), Struct | tuple) and (new := _respoken(old)) is not old
    }
    return msgspec.structs.replace(spoken, **changed) if changed else spoken


def _spoken(note: N) -> N:
    """A note with the quantities of its sentences; the note itself where it has none."""
    kept: dict[str, Sentence] = getattr(note, "said", {})
    if not kept:
        return note
    return msgspec.structs.replace(note, said={name: _with_kinds(sentence) for name, sentence in kept.items()})


def _with_kinds(sentence: Sentence) -> Sentence:
    """The sentence with quantities of the kinds that its US units are of, where it names any."""
    own = us_units_of(sentence.template)
    values = {name: _with_quantities(value, own.get(name, "")) for name, value in sentence.values.items()}
    return msgspec.structs.replace(sentence, values=values)


def _with_quantities(value: Any, us: str = "") -> Any:
    """Values of assumptions are of any type, so their quantities were read as plain objects.

    The unit says which kind it is. Two kinds share m/s and ohm: the US unit that a sentence names tells them apart.
    """
    if isinstance(value, dict):
        if (
            value.keys() == {"value", "unit"}
            and isinstance(value["unit"], str)
            and (kind := kind_of_unit(value["unit"], us))
        ):
            return msgspec.convert(value, prepared(kind))
        if value.keys() == {"along", "columns"}:
            return _series(value)
        return {k: _with_quantities(v) for k, v in value.items()}
    return [_with_quantities(v) for v in value] if isinstance(value, list) else value


def _series(value: dict[str, Any]) -> Any:
    """A series where it is one; else what stands there."""
    try:
        return msgspec.convert(value, prepared(Series))
    except msgspec.ValidationError:
        return value
