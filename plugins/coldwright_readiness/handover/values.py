"""How the values of an acceptance record compare, round and hash."""

import hashlib
import json
import math
from typing import Any, Final

import msgspec

from coldwright.contract import Defect
from coldwright.contract.quantities import type_of_kind
from coldwright_basis.compare import SLACK, at_least, at_most
from coldwright_readiness.handover.given import KINDS_OF_UNIT, ReadingValue, Value

WHOLE_NUMBERS: Final = 2.0**53


def comparable(a: Value, b: Value) -> bool:
    """Whether both are of one kind: quantities of one dimension, or both numbers, words, or yes and no."""
    if isinstance(a, ReadingValue) and isinstance(b, ReadingValue):
        return common_kind(a, b) is not None
    return _sort(a) == _sort(b)


def _sort(value: Value) -> str:
    if isinstance(value, bool):
        return "bool"
    if isinstance(value, ReadingValue):
        return "quantity"
    return "text" if isinstance(value, str) else "number"


def common_kind(a: ReadingValue, b: ReadingValue) -> str | None:
    """The kind of quantity that has both units; all kinds that share two units convert them alike."""
    shared = [kind for kind in KINDS_OF_UNIT.get(a.unit, ()) if kind in KINDS_OF_UNIT.get(b.unit, ())]
    return shared[0] if shared else None


def as_pair(measured: Value, required: Value) -> tuple[float, float]:
    """Two comparable numbers or quantities, in SI."""
    if isinstance(measured, ReadingValue) and isinstance(required, ReadingValue):
        units = type_of_kind[common_kind(measured, required) or ""].units
        return _si(measured, units), _si(required, units)
    return _number(measured), _number(required)


def _number(value: Value) -> float:
    if isinstance(value, str | ReadingValue):  # comparable() was asked before
        raise Defect(f"{value!r} is not a plain number")
    return float(value)


def _si(value: ReadingValue, units: dict[str, tuple[float, float]]) -> float:
    scale, offset = units[value.unit]
    return value.value * scale + offset


def reaches(measured: Value, required: Value) -> bool:
    """measured >= required, with a slack of a billionth."""
    a, b = as_pair(measured, required)
    return at_least(a, b)


def keeps_to(measured: Value, required: Value) -> bool:
    """measured <= required, with a slack of a billionth."""
    a, b = as_pair(measured, required)
    return at_most(a, b)


def equal(measured: Value, required: Value) -> bool:
    """The same word or answer, or the same number within a billionth."""
    if isinstance(measured, bool | str):
        return measured == required
    return reaches(measured, required) and keeps_to(measured, required)


def rounded(measured: Value, resolution: Value) -> Value:
    """The multiple of the instrument's resolution that is nearest, halves up, in the resolution's unit."""
    if isinstance(measured, ReadingValue) and isinstance(resolution, ReadingValue):
        units = type_of_kind[common_kind(measured, resolution) or ""].units
        scale, offset = units[resolution.unit]
        number = measured.value if measured.unit == resolution.unit else (_si(measured, units) - offset) / scale
        return ReadingValue(value=_multiple(number, resolution.value), unit=resolution.unit)
    return _multiple(_number(measured), _number(resolution))


def _multiple(number: float, step: float) -> float:
    count = number / step
    return math.floor(count + 0.5 + SLACK * max(1.0, abs(count))) * step if abs(count) < WHOLE_NUMBERS else number


def record_hash(parts: dict[str, Any]) -> str:
    """SHA-256 over JSON with sorted keys, no spaces, UTF-8, numbers in their shortest form; absent fields stay absent."""
    plain = _shortest(msgspec.to_builtins(parts))
    text = json.dumps(plain, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    return hashlib.sha256(text.encode()).hexdigest()


def _shortest(value: Any) -> Any:
    if isinstance(value, dict):
        return {k: _shortest(v) for k, v in value.items()}
    if isinstance(value, list | tuple):
        return [_shortest(v) for v in value]
    if isinstance(value, float) and value.is_integer() and abs(value) < WHOLE_NUMBERS:
        return int(value)
    return value
