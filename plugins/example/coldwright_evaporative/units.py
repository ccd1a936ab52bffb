"""A quantity of its own."""

from typing import Annotated, ClassVar, Literal

from coldwright.contract import Kind, Quantity
from msgspec import Meta


class WaterForHeat(Quantity, frozen=True):
    """Water that is used for a unit of heat that is carried away; `gal` is the US gallon."""

    unit: Annotated[Literal["L/kWh", "gal/kWh", "L/MJ"], Meta(description="Unit of the number.")]
    declared: ClassVar[Kind | None] = Kind(
        {"L/kWh": 1.0, "gal/kWh": 3.785411784, "L/MJ": 3.6}, us="gal/kWh", low=0, high=20
    )
