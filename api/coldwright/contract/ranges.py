"""The one check of ranges: every quantity inside a value against the range that its field states."""

from functools import cache
from typing import Any
from urllib.parse import quote

from msgspec import UNSET, Struct

from coldwright.contract.quantities import Quantity
from coldwright.contract.refusal import Allowed, FieldError
from coldwright.contract.walk import all_structs, children, fields_of, pointer_to

SLACK = 1e-9
"""Part of a number by which it may differ from another and still be the same: converting moves the last bits."""
NOTHING = 1e-12
"""Where a quantity must be above 0, in the unit of its range: what is nearer to zero counts as zero."""
NEAR_ZERO = f"what is nearer to zero than {NOTHING:g} counts as zero"


def range_errors(value: Any, pointer: str = "") -> list[FieldError]:
    """Quantities outside the range of their field, everywhere inside `value`."""
    errors: list[FieldError] = []
    for at, struct in children(value, pointer):
        for name, within, wire_name, deeper, default in _ranged(type(struct)):
            item = getattr(struct, name)
            if item is UNSET or item is default:
                continue
            if deeper:
                errors += range_errors(item, f"{at}/{wire_name}")
            elif not _inside(item, within) and (error := outside(item, within, pointer_to(at, wire_name))):
                errors.append(error)
    return errors


def _inside(item: Any, within: Any) -> bool:
    """Whether it is one quantity and surely in its range: most are, and need no pointer."""
    return isinstance(item, Quantity) and holds(within, item.to(within.unit))


@cache
def _ranged(struct: type[Struct]) -> tuple[tuple[str, Any, str, bool, Any], ...]:
    """Fields to look at: name, range, name on the wire, whether ranges may be inside it, and a default in its range."""
    rows = []
    for facts in fields_of(struct):
        within = facts.about.within
        deeper = within is None and any(_has_range(inside) for inside in all_structs(facts.annotation))
        if within is not None or deeper:
            default = facts.default
            known = within is not None and isinstance(default, Quantity) and outside(default, within, "") is None
            rows.append((facts.name, within, facts.wire_name, deeper, default if known else UNSET))
    return tuple(rows)


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
