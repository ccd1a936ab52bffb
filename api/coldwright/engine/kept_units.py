"""A kept answer in the wanted system of units: converted, never computed again."""

from typing import Any, TypeVar

import msgspec
from msgspec import Struct

from coldwright.contract.answer import Units, in_units, to_json
from coldwright.contract.calculator import Calculator
from coldwright.contract.decoders import decoder_of, prepared
from coldwright.contract.parts import JoinedPart
from coldwright.contract.quantities import kind_of_unit
from coldwright.contract.sentences import Sentence
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
        assumed = tuple(_spoken(msgspec.structs.replace(a, value=_with_quantities(a.value))) for a in kept.assumptions)
        found = tuple(_spoken(f) for f in kept.findings)
        results = _respoken(_with_blocks(kept.results))
        whole = msgspec.structs.replace(kept, assumptions=assumed, findings=found, results=results)
        return to_json(in_units(whole, units))
    except msgspec.ValidationError:
        return body


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
    said = {
        name: msgspec.structs.replace(s, values={k: _with_quantities(v) for k, v in s.values.items()})
        for name, s in kept.items()
    }
    return msgspec.structs.replace(note, said=said)


def _with_quantities(value: Any) -> Any:
    """Values of assumptions are of any type, so their quantities were read as plain objects.

    The unit says which kind it is. Two kinds share m/s and ohm: the number is right either way, in ft/s where it might be mph.
    """
    if isinstance(value, dict):
        if (
            value.keys() == {"value", "unit"}
            and isinstance(value["unit"], str)
            and (kind := kind_of_unit(value["unit"]))
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
