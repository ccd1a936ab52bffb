"""A refusal that names a limit means it: the limit itself is taken, and what lies beyond it is refused there again."""

import copy
import re
from collections import Counter
from collections.abc import Callable, Iterator
from typing import Any

import msgspec

from coldwright.contract import FieldError, Refused

Json = dict[str, Any]
ENOUGH = 2
"""Times that one limit of one field is tried in a run of the tests."""
NEAR = 1e-6
"""Part of a limit by which it is kept, since it is printed to twelve digits and given back in another unit."""
BEYOND = 0.02
_tried: Counter[tuple[str, str, str]] = Counter()


def not_meant(ask: Callable[[Json], object], calculator: str, given: Json, refused: Refused) -> Iterator[str]:
    """Limits of a refusal that do not hold."""
    for error in refused.errors:
        if error.allowed is msgspec.UNSET:
            continue
        for side in ("minimum", "maximum", "above", "below"):
            bound = getattr(error.allowed, side)
            key = (calculator, re.sub(r"\d+", "n", error.pointer), side)
            if not isinstance(bound, int | float) or _tried[key] >= ENOUGH:
                continue
            _tried[key] += 1
            up = side in ("minimum", "above")
            size = max(abs(bound), 1e-3)
            inside = bound + (1 if up else -1) * size * (NEAR if side in ("minimum", "maximum") else BEYOND)
            outside = bound - (1 if up else -1) * size * BEYOND
            if _refuses(ask, given, error, inside, side):
                yield f"{error.pointer}: {inside:g} is refused, though {error.allowed} is said to be taken: {error.detail}"
            if _refuses(ask, given, error, outside, None) is False:
                yield f"{error.pointer}: {outside:g} is taken, though only {error.allowed} is said to be: {error.detail}"


def _refuses(
    ask: Callable[[Json], object], given: Json, error: FieldError, number: float, side: str | None
) -> bool | None:
    """Whether the field is refused with this number: for the same limit, where one is named. None where it cannot be asked."""
    changed = _with(given, error, number)
    if changed is None:
        return None
    try:
        ask(changed)
    except Refused as again:
        for other in again.errors:
            if other.pointer == error.pointer and (side is None or _beyond(other, side, number)):
                return True
        return False if side is not None else None
    return False


def _beyond(error: FieldError, side: str, number: float) -> bool:
    if error.allowed is msgspec.UNSET:
        return False
    bound = getattr(error.allowed, side)
    return isinstance(bound, int | float) and (number < bound if side in ("minimum", "above") else number > bound)


def _with(given: Json, error: FieldError, number: float) -> Json | None:
    changed = copy.deepcopy(given)
    inside: Any = changed
    steps = [step.replace("~1", "/").replace("~0", "~") for step in error.pointer.removeprefix("#/").split("/")]
    try:
        for step in steps[:-1]:
            inside = inside[int(step)] if isinstance(inside, list | tuple) else inside[step]
        place: Any = int(steps[-1]) if isinstance(inside, list | tuple) else steps[-1]
        old = inside[place]
        unit = error.allowed.unit if error.allowed is not msgspec.UNSET else msgspec.UNSET
        if isinstance(old, dict) and isinstance(unit, str):
            inside[place] = {"value": number, "unit": unit}
        elif isinstance(old, float) and unit is msgspec.UNSET:
            inside[place] = number
        else:
            return None  # a count, a word, or nothing that was sent
    except (KeyError, IndexError, TypeError, ValueError):
        return None
    return changed
