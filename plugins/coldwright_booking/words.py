"""Words that every room uses."""

from coldwright.contract import Quantity, tidy
from coldwright.contract.quantities import Power, kind_of_unit


def both(quantity: Quantity) -> str:
    """A quantity in its own unit and in the US one beside it, for names, which are the same in every answer."""
    us = quantity.in_us()
    if us.unit == quantity.unit:
        return str(quantity)
    return f"{quantity} ({type(us)(float(f'{us.value:.3g}'), us.unit)})"


def quantity_of(value: float, unit: str) -> Quantity | float:
    """A number that has its unit beside it; a plain number where the unit is none of a quantity."""
    kind = kind_of_unit(unit)
    return value if kind is None else kind.of(value, unit)


def in_us_of(value: float, unit: str) -> tuple[float, str]:
    """A number that has its unit beside it, in US units; power is that of machines here, in tons."""
    quantity = quantity_of(value, unit)
    if not isinstance(quantity, Quantity):
        return value, unit
    us = quantity.as_unit("ton") if isinstance(quantity, Power) else quantity.in_us()
    return tidy(us.value), us.unit
