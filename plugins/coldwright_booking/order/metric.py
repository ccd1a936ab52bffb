"""One system of units inside: the plan must not depend on the units in which an order was written."""

from functools import cache
from operator import is_not
from typing import Any, TypeVar

from msgspec import UNSET, Struct
from msgspec.structs import replace

from coldwright.contract import Quantity
from coldwright.contract.walk import fields_of

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
        for name, kind in _to_look_at(type(value)):
            old = getattr(value, name)
            if old is UNSET:
                continue
            new = _changed(old) if kind is None else old.as_unit(kind.metric_unit)
            if new is not old:
                moved[name] = new
        return replace(value, **moved) if moved else value
    if isinstance(value, tuple) and value and isinstance(value[0], Struct):
        items = tuple([_changed(item) for item in value])
        return items if any(map(is_not, items, value)) else value
    return value


@cache
def _to_look_at(struct: type[Struct]) -> tuple[tuple[str, type[Quantity] | None], ...]:
    """Fields that are a quantity, with its kind, and those that may hold one inside, with none."""
    return tuple((facts.name, facts.quantity) for facts in fields_of(struct) if facts.quantity or facts.holds_structs)
