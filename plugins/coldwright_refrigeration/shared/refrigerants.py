"""Which refrigerants are served, and by which equation of state."""

from typing import Literal

from msgspec import UNSET, Struct, UnsetType, convert

from coldwright.contract import load_table


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
