"""The one check of ranges: every quantity inside a value against the range that its field states."""

from functools import cache
from math import inf
from typing import Any, NamedTuple
from urllib.parse import quote

from msgspec import UNSET, Struct

from coldwright.contract.quantities import Quantity
from coldwright.contract.refusal import Allowed, FieldError
from coldwright.contract.walk import all_structs, children, fields_of, pointer_to, quantity_in, structs_inside

SLACK = 1e-9
"""Part of a number by which it may differ from another and still be the same: converting moves the last bits."""
NOTHING = 1e-12
"""Where a quantity must be above 0, in the unit of its range: what is nearer to zero counts as zero."""
WELL = 1e-6
"""By how much, beside its size, a number is away from a bound that it is surely inside of."""
NEAR_ZERO = f"what is nearer to zero than {NOTHING:g} counts as zero"


def range_errors(value: Any, pointer: str = "") -> list[FieldError]:
    """Quantities outside the range of their field, everywhere inside `value`."""
    errors: list[FieldError] = []
    for at, struct in ((pointer, value),) if isinstance(value, Struct) else children(value, pointer):
        if _surely_inside(struct):
            continue
        for name, within, wire_name, default, _ in _ranged(type(struct)):
            item = getattr(struct, name)
            if item is UNSET or item is default:
                continue
            if within is None:
                errors += range_errors(item, f"{at}/{wire_name}")
            elif error := outside(item, within, pointer_to(at, wire_name)):
                errors.append(error)
    return errors


def _surely_inside(struct: Struct) -> bool:
    """Whether all lies well inside its range: most does, and needs neither converting nor a pointer."""
    quantities, deeper = _looked_at(type(struct))
    for name, default, kind, well_inside in quantities:
        item = getattr(struct, name)
        if type(item) is kind:
            low, high = well_inside[item.unit]
            if low <= item.value <= high:
                continue
        if item is not UNSET and item is not default:
            return False
    for name in deeper:
        item = getattr(struct, name)
        if isinstance(item, Struct):
            if not _surely_inside(item):
                return False
        elif item is not UNSET and not all(map(_surely_inside, structs_inside(item))):
            return False
    return True


class _Ranged(NamedTuple):
    """A field to look at."""

    name: str
    within: Any
    """None: ranges are inside it."""
    wire_name: str
    default: Any
    """One that lies in its range; `UNSET` for none."""
    kind: Any


@cache
def _ranged(struct: type[Struct]) -> tuple[_Ranged, ...]:
    """Fields to look at."""
    rows = []
    for facts in fields_of(struct):
        within = facts.about.within
        if within is not None:
            default, kind = facts.default, quantity_in(facts.annotation)
            known = isinstance(default, Quantity) and outside(default, within, "") is None
            rows.append(_Ranged(facts.name, within, facts.wire_name, default if known else UNSET, kind))
        elif any(_has_range(inside) for inside in all_structs(facts.annotation)):
            rows.append(_Ranged(facts.name, None, facts.wire_name, UNSET, None))
    return tuple(rows)


@cache
def _looked_at(
    struct: type[Struct],
) -> tuple[tuple[tuple[str, Any, Any, dict[str, tuple[float, float]]], ...], tuple[str, ...]]:
    """The same as `_surely_inside` needs it: each quantity with its default, its kind and, by unit, from and to which number
    it surely lies in its range; and the names of what has ranges inside.
    """
    rows = _ranged(struct)
    quantities = [
        (row.name, row.default, row.kind, {} if row.kind is None else _well_inside(row.kind, row.within))
        for row in rows
        if row.within is not None
    ]
    return tuple(quantities), tuple(row.name for row in rows if row.within is None)


def _well_inside(kind: type[Quantity], within: Any) -> dict[str, tuple[float, float]]:
    """Nearer to the bounds it has to be converted."""
    lows = [bound for bound in (within.low, within.above) if bound is not None]
    highs = [bound for bound in (within.high, within.below) if bound is not None]
    found = {}
    for unit in kind.units:
        low = kind(max(lows), within.unit).to(unit) if lows else -inf
        high = kind(min(highs), within.unit).to(unit) if highs else inf
        if within.above is not None or unit != within.unit:
            low += WELL * (1 + abs(low)) if lows else 0
        if within.below is not None or unit != within.unit:
            high -= WELL * (1 + abs(high)) if highs else 0
        found[unit] = low, high
    return found


@cache
def _has_range(struct: type[Struct]) -> bool:
    return any(facts.about.within is not None for facts in fields_of(struct))


def holds(within: Any, number: float) -> bool:
    """Whether a number in the unit of a range lies in it: 44 degF is not below 6.67 degC by a rounding of the last bit."""
    slack = SLACK * abs(number)
    return (
        (within.low is None or number >= within.low - slack)
        and (within.high is None or number <= within.high + slack)
        and (within.above is None or number > (within.above or NOTHING))
        and (within.below is None or number < within.below)
    )


def outside(item: Any, within: Any, pointer: str) -> FieldError | None:
    """The error of a quantity, or of the first in a list of them, that lies outside `within`."""
    if isinstance(item, (list, tuple)):  # a list of quantities under one range
        return next((e for i, q in enumerate(item) if (e := outside(q, within, f"{pointer}/{i}"))), None)
    if not isinstance(item, Quantity):
        return None
    number = item.to(within.unit)
    if holds(within, number):
        return None
    allowed = Allowed(
        minimum=UNSET if within.low is None else within.low,
        maximum=UNSET if within.high is None else within.high,
        above=UNSET if within.above is None else within.above,
        below=UNSET if within.below is None else within.below,
        unit=within.unit,
    )
    return FieldError(
        pointer=f"#{fragment(pointer)}",
        code="out_of_range",
        detail=f"{item} is outside the range of this field: {range_text(allowed)}.",
        value=item,
        allowed=allowed,
        why=NEAR_ZERO if within.above == 0 and 0 < number <= NOTHING else within.why or UNSET,
    )


def range_text(allowed: Allowed) -> str:
    """Bounds in words."""
    words = (
        ("at least", allowed.minimum),
        ("above", allowed.above),
        ("at most", allowed.maximum),
        ("below", allowed.below),
    )
    text = " and ".join(f"{word} {number:g}" for word, number in words if number is not UNSET)
    return f"{text} {allowed.unit}".rstrip() if allowed.unit is not UNSET else text


def fragment(pointer: str) -> str:
    """A JSON pointer as a URI fragment writes it."""
    return quote(pointer, safe="/~!$&'()*+,;=:@?-._")
