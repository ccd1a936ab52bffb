"""A refusal that names a limit means it: the limit itself is taken, and what lies beyond it is refused there again."""

import copy
import math
import re
from collections import Counter
from collections.abc import Callable, Iterator
from typing import Any

import msgspec

from coldwright.contract import FieldError, Refused
from coldwright.contract.quantities import kind_of_unit

Json = dict[str, Any]
ENOUGH = 2
"""Times that one limit of one field is tried in a run of the tests."""
NEAR = 1e-6
"""Part of a limit by which it is kept, since it is printed to twelve digits and given back in another unit."""
WELL_WITHIN = 0.01
"""Part of a limit by which a number keeps it whatever the limit was rounded to."""
BEYOND = 0.02
"""How far towards what was sent a number lies beyond the limit."""
SIDES = ("minimum", "maximum", "above", "below")
DIGITS = re.compile(r"[\d.,-]+")
OF_A_MEAN = {("hydronic.heat_balance", "#/entering_temperature")}
"""Fields named for a limit that holds for the mean of them and another: what lies beyond may be taken."""
_tried: Counter[tuple[str, str, str]] = Counter()


def not_meant(ask: Callable[[Json], object], calculator: str, given: Json, refused: Refused) -> Iterator[str]:
    """Limits of a refusal that do not hold."""
    for error in refused.errors:
        if error.allowed is msgspec.UNSET:
            continue
        sent = _number_sent(given, error)
        if sent is None:
            continue
        for side in SIDES:
            bound = getattr(error.allowed, side)
            if not isinstance(bound, int | float) or not _broken(sent, side, bound):
                continue
            key = (calculator, re.sub(r"\d+", "n", error.pointer), side)
            if _tried[key] >= ENOUGH:
                continue
            _tried[key] += 1
            into = (1 if side in ("minimum", "above") else -1) * abs(bound)
            inside = bound + into * NEAR if side in ("minimum", "maximum") else bound - (sent - bound or -into) * BEYOND
            outside = bound + (sent - bound) * BEYOND
            if _refuses(ask, given, error, inside, side):
                yield f"{error.pointer}: {inside:g} is refused, though {error.allowed} is said to be taken: {error.detail}"
            if (calculator, error.pointer) in OF_A_MEAN:
                continue
            within = bound + into * WELL_WITHIN
            if bound and _refuses(ask, given, error, within, side, named=False):
                yield f"{error.pointer}: {within:g} is refused, though {error.allowed} is said to be taken: {error.detail}"
            if _refuses(ask, given, error, outside, None) is False:
                yield f"{error.pointer}: {outside:g} is taken, though only {error.allowed} is said to be: {error.detail}"


def contradicting(refused: Refused) -> Iterator[str]:
    """Limits that leave nothing between them, and values that lie within the limits for which they are refused."""
    for error in refused.errors:
        allowed = error.allowed
        if allowed is msgspec.UNSET:
            continue
        bounds = {s: b for s in SIDES if isinstance(b := getattr(allowed, s), int | float)}
        lowest = max((b for s, b in bounds.items() if s in ("minimum", "above")), default=-math.inf)
        highest = min((b for s, b in bounds.items() if s in ("maximum", "below")), default=math.inf)
        if lowest > highest:
            yield f"{error.pointer}: nothing lies between {allowed}: {error.detail}"
        sent = _plain(error.value, allowed.unit)
        if sent is not None and bounds and not any(_broken(sent, side, bound) for side, bound in bounds.items()):
            yield f"{error.pointer}: {sent:g} is within {allowed}: {error.detail}"


def _plain(value: Any, unit: Any) -> float | None:
    """A value that is refused, in the unit of its limits; a plain number is one already."""
    if isinstance(value, int | float) and not isinstance(value, bool):
        return float(value)
    number, spelt = (value.get(m) if isinstance(value, dict) else getattr(value, m, None) for m in ("value", "unit"))
    kind = kind_of_unit(unit) if isinstance(unit, str) else None
    if kind is None or not isinstance(spelt, str) or spelt not in kind.units or not isinstance(number, int | float):
        return None
    return float(kind(number, spelt).to(unit))


def _number_sent(given: Json, error: FieldError) -> float | None:
    """What was sent, in the unit of the limits."""
    sent = _sent(given, error)
    if isinstance(sent, dict) and error.allowed is not msgspec.UNSET and isinstance(error.allowed.unit, str):
        kind = kind_of_unit(error.allowed.unit)
        if kind is None or sent.get("unit") not in kind.units or "value" not in sent:  # many values, as of a table
            return None
        return float(kind(sent["value"], sent["unit"]).to(error.allowed.unit))
    return float(sent) if isinstance(sent, float) else None


def _broken(sent: float, side: str, bound: float) -> bool:
    """Whether what was sent is beyond this limit."""
    return {"minimum": sent < bound, "above": sent <= bound, "maximum": sent > bound, "below": sent >= bound}[side]


def _refuses(
    ask: Callable[[Json], object],
    given: Json,
    error: FieldError,
    number: float,
    side: str | None,
    *,
    named: bool = True,
) -> bool | None:
    """Whether the field is refused with this number: for the same limit, where one is named. None where it cannot be asked.

    `named` asks only whether it lies beyond the limit that is named then, which may be another one with this number; else it
    counts where it lies beyond none of those that are named then.
    """
    changed = _with(given, error, number)
    if changed is None:
        return None
    try:
        ask(changed)
    except Refused as again:
        for other in again.errors:
            same = other.pointer == error.pointer and (
                side is None or DIGITS.sub("", other.detail) == DIGITS.sub("", error.detail)
            )
            if same and (side is None or (_beyond(other, side, number) if named else _beyond_none(other, number))):
                return True
        return False if side is not None else None
    return False


def _beyond(error: FieldError, side: str, number: float) -> bool:
    if error.allowed is msgspec.UNSET:
        return False
    bound = getattr(error.allowed, side)
    return isinstance(bound, int | float) and (number < bound if side in ("minimum", "above") else number > bound)


def _beyond_none(error: FieldError, number: float) -> bool:
    """Whether limits are named, and the number keeps them all."""
    if error.allowed is msgspec.UNSET:
        return False
    bounds = {side: bound for side in SIDES if isinstance(bound := getattr(error.allowed, side), int | float)}
    return bool(bounds) and not any(_broken(number, side, bound) for side, bound in bounds.items())


def _place(given: Json, error: FieldError) -> tuple[Any, Any]:
    """What holds the field, and its place in it."""
    inside: Any = given
    steps = [step.replace("~1", "/").replace("~0", "~") for step in error.pointer.removeprefix("#/").split("/")]
    for step in steps[:-1]:
        inside = inside[int(step)] if isinstance(inside, list | tuple) else inside[step]
    return inside, int(steps[-1]) if isinstance(inside, list | tuple) else steps[-1]


def _sent(given: Json, error: FieldError) -> Any:
    try:
        inside, place = _place(given, error)
        return inside[place]
    except (KeyError, IndexError, TypeError, ValueError):
        return None


def _with(given: Json, error: FieldError, number: float) -> Json | None:
    changed = copy.deepcopy(given)
    old = _sent(changed, error)
    unit = error.allowed.unit if error.allowed is not msgspec.UNSET else msgspec.UNSET
    if old is None or isinstance(old, int | str):
        return None  # a count, a word, or nothing that was sent
    inside, place = _place(changed, error)
    if isinstance(inside, tuple):
        return None
    inside[place] = {"value": number, "unit": unit} if isinstance(unit, str) else number
    return changed
