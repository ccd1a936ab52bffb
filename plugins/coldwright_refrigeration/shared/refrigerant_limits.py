"""Safety group, limits and warming potential of refrigerants, and the caution that goes with the flammable ones."""

from functools import cache
from typing import Literal

from msgspec import UNSET, Struct, UnsetType, convert
from msgspec.structs import replace

from coldwright.contract import Caution, Defect, load_table
from coldwright_refrigeration.shared.cautions import FLAMMABLE_REFRIGERANT


class RefrigerantLimits(Struct, frozen=True, kw_only=True):
    """One row of the table of limits."""

    name: str
    safety_group: Literal["A1", "A2L", "A3", "B1", "B2L"]
    limit_ppm: float | UnsetType = UNSET
    limit_g_m3: float | UnsetType = UNSET
    limit_lb_1000ft3: float | UnsetType = UNSET
    lower_flammability_limit_kg_m3: float | UnsetType = UNSET
    gwp: float | UnsetType = UNSET
    molar_mass_g_mol: float | UnsetType = UNSET
    mark: Literal["seen", "memory"] | UnsetType = UNSET
    chemistry: Literal["hfc", "hcfc", "hfo", "hydrocarbon"] | UnsetType = UNSET

    @property
    def is_flammable(self) -> bool:
        """Any class but 1 burns."""
        return not self.safety_group.endswith("1")

    @property
    def concentration_limit(self) -> float:
        """kg/m3 that a room may hold; `LimitedRefrigerant` names those of which it was seen."""
        return _known(self.limit_g_m3, self.name) / 1000

    @property
    def warming_potential(self) -> float:
        """GWP over 100 years, as the rules count it."""
        return _known(self.gwp, self.name)


def _known(value: float | UnsetType, name: str) -> float:
    if isinstance(value, UnsetType):
        raise Defect(f"the table of limits has no such value of {name}")
    return float(value)


LIMITS_TABLE = load_table("coldwright_refrigeration", "refrigerant_limits")
LIMITS: dict[str, RefrigerantLimits] = {r.name: r for r in convert(LIMITS_TABLE.rows, list[RefrigerantLimits])}


@cache
def flammable_cautions(refrigerant: str) -> tuple[Caution, ...]:
    """The caution of a flammable refrigerant, naming its safety group; nothing for one that does not burn."""
    limits = LIMITS[refrigerant]
    if not limits.is_flammable:
        return ()
    statement = (
        f"{refrigerant} is of safety group {limits.safety_group}: it burns. No flame, smoking or other source of "
        "ignition near it; tools and detector must be made for flammable refrigerants."
    )
    return (replace(FLAMMABLE_REFRIGERANT, statement=statement),)
