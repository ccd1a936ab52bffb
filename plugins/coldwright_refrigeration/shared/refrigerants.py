"""Which refrigerants are served, and by which equation of state."""

from typing import Literal

from msgspec import UNSET, Struct, UnsetType, convert

from coldwright.contract import load_table

RefrigerantName = Literal[
    "R-22",
    "R-32",
    "R-123",
    "R-134a",
    "R-245fa",
    "R-290",
    "R-404A",
    "R-407C",
    "R-410A",
    "R-448A",
    "R-449A",
    "R-450A",
    "R-452B",
    "R-454B",
    "R-454C",
    "R-507A",
    "R-513A",
    "R-717",
    "R-1233zd(E)",
    "R-1234yf",
    "R-1234ze(E)",
]
"""The rows of the table; a test holds the two together."""
ABOUT_REFRIGERANT = (
    "Refrigerant by its ASHRAE 34 name, hyphen and capitals as listed. Properties come from CoolProp 8.0.0: pure "
    "fluids by their own Helmholtz equation, R-404A, R-407C, R-410A and R-507A by the equation of the blend as one "
    "fluid, the other blends by the mixture model. See the table `refrigeration.refrigerants` for the range of each."
)


class Refrigerant(Struct, frozen=True, kw_only=True):
    """One row of the table of refrigerants."""

    name: str
    fluid: str
    """Name in CoolProp."""
    kind: Literal["pure", "pseudo_pure", "mixture"]
    equation: str
    minimum_temperature_degC: float  # noqa: N815 - unit symbols keep their case
    maximum_temperature_degC: float  # noqa: N815
    condensing_stop_degF: float  # noqa: N815
    critical_pressure_kPa: float | UnsetType = UNSET  # noqa: N815


REFRIGERANTS_TABLE = load_table("coldwright_refrigeration", "refrigerants")
REFRIGERANTS: dict[str, Refrigerant] = {r.name: r for r in convert(REFRIGERANTS_TABLE.rows, list[Refrigerant])}
