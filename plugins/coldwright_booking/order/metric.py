"""One system of units inside: the plan must not depend on the units in which an order was written."""

from functools import cache
from operator import is_not
from typing import Any, TypeVar

from msgspec import UNSET, Struct
from msgspec.structs import replace

from coldwright.contract import Quantity
from coldwright.contract.walk import all_structs, fields_of

T = TypeVar("T")


def in_metric(value: T) -> T:
    """The same with every quantity in the usual metric unit of its kind; untouched where it is so already."""
    changed: Any = _changed(value)
    return changed  # type: ignore[no-any-return]


def _changed(value: Any) -> Any:
    if isinstance(value, Quantity):
        return value.as_unit(value.metric_unit)
    if isinstance(value, Struct):
        moved = {}
        for name, unit in _to_look_at(type(value)):
            old = getattr(value, name)
            if old is UNSET:
                continue
            if unit is None:
                if (new := _changed(old)) is not old:
                    moved[name] = new
            elif old.unit != unit:
                moved[name] = old.as_unit(unit)
        return replace(value, **moved) if moved else value
    if isinstance(value, tuple) and value and isinstance(value[0], Struct):
        items = tuple([_changed(item) for item in value])
        return items if any(map(is_not, items, value)) else value
    return value


@cache
def _to_look_at(struct: type[Struct]) -> tuple[tuple[str, str | None], ...]:
    """Fields that are a quantity, with the unit wanted, and those that hold one somewhere inside, without."""
    return tuple(
        (facts.name, facts.quantity.metric_unit if facts.quantity else None)
        for facts in fields_of(struct)
        if facts.quantity or any(issubclass(inside, Quantity) for inside in all_structs(facts.annotation))
    )
