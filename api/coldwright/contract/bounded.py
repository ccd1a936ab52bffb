"""A second type beside every input: what it decodes is surely in range, and shows each member that was sent.

msgspec holds plain numbers to their bounds, but not a number whose unit stands beside it. So in the second type each
quantity with a range is one struct a unit, tagged by it, with the bounds in that unit. Nothing there has a default, so
that what was decoded, encoded again, has just the members that were sent.
"""

import math
from collections.abc import Iterable
from functools import cache
from types import UnionType
from typing import Annotated, Any, Union, get_args, get_origin

import msgspec
from msgspec import UNSET, Meta, Struct, UnsetType

from coldwright.contract.fields import Within
from coldwright.contract.quantities import Quantity
from coldwright.contract.walk import all_structs, fields_of, plain, structs_in

NOTHING = 1e-12
"""Where a quantity must be above 0, in the unit of its range: what is nearer to zero counts as zero."""
MOST_LEVELS = 4
"""Levels of a struct inside itself (branches in branches); deeper ones are looked at the long way."""


def bounded(annotation: Any) -> Any:
    """The second type of `annotation`.

    Where it can't be told beforehand what is in range (a kind of list not known here), it is `None`, which no input is.
    """
    return _second(annotation, None, ())


def _second(annotation: Any, within: Within | None, above: tuple[type[Struct], ...]) -> Any:
    core = plain(annotation)
    origin, inside = get_origin(core), get_args(core)
    if isinstance(core, type) and issubclass(core, Quantity):
        return core if within is None else _by_unit(core, within)
    if isinstance(core, type) and issubclass(core, Struct):
        return _second_struct(core, above)
    if origin in (tuple, list, dict):
        return origin[tuple(a if a is Ellipsis else _second(a, within, above) for a in inside)]
    if origin in (Union, UnionType):
        return _one_of(_second(a, within, above) for a in inside)
    return core if next(structs_in(core), None) is None else None


def _one_of(kinds: Iterable[Any]) -> Any:
    return Union[tuple(kinds)]  # noqa: UP007  of types that only the running program knows


@cache
def _second_struct(struct: type[Struct], above: tuple[type[Struct], ...]) -> type[Struct] | None:
    """Fields that hold no quantity are taken as they come: the first type has looked at them.

    `above` are the structs it stands in that hold themselves. Too deep in them it is `None` too.
    """
    if above.count(struct) >= MOST_LEVELS:
        return None
    if struct in all_structs(*(facts.annotation for facts in fields_of(struct))):
        above = (*above, struct)
    fields: list[tuple[str, Any, Any]] = []
    for facts in fields_of(struct):
        ranged = facts.quantity is not None and facts.about.within is not None
        inside = ranged or facts.holds_structs
        kind = _one_of((_second(facts.annotation, facts.about.within, above), UnsetType)) if inside else Any
        fields.append((facts.name, kind, UNSET))
    config = struct.__struct_config__
    return msgspec.defstruct(
        struct.__name__,
        fields,
        kw_only=True,
        frozen=True,
        gc=False,
        tag_field=config.tag_field,
        tag=config.tag,
        rename={facts.name: facts.wire_name for facts in fields_of(struct)},
    )


@cache
def _by_unit(kind: type[Quantity], within: Within) -> Any:
    if within.unit not in kind.units:
        return None
    return _one_of(_in_one_unit(kind, within, unit) for unit in kind.units)


def _in_one_unit(kind: type[Quantity], within: Within, unit: str) -> type[Struct]:
    fields = [("value", _number(kind, within, unit))]
    return msgspec.defstruct(kind.__name__, fields, frozen=True, gc=False, tag_field="unit", tag=unit)


def _number(kind: type[Quantity], within: Within, unit: str) -> Any:
    low, high = bounds_in(kind, within, unit)
    return Annotated[float, Meta(gt=low if math.isfinite(low) else None, lt=high if math.isfinite(high) else None)]


def bounds_in(kind: type[Quantity], within: Within, unit: str) -> tuple[float, float]:
    """The numbers in `unit` between which a quantity surely lies in its range.

    A hair is taken off each end for what conversion may round, except in the unit of the range itself.
    """
    low = within.low if within.above is None else within.above or NOTHING
    high = within.high if within.high is not None else within.below
    ends = []
    for end, outwards, strict in ((low, -math.inf, within.above), (high, math.inf, within.below)):
        if end is None:
            ends.append(outwards)
        elif unit == within.unit:
            ends.append(end if strict is not None else math.nextafter(end, outwards))
        else:
            converted = kind(float(end), within.unit).to(unit)  # type: ignore[call-arg]
            ends.append(converted - math.copysign(1e-9 * max(1.0, abs(converted)), outwards))
    return ends[0], ends[1]
