"""How strong a glycol mixture must be for a cold, and how much ice it then holds. SI; fractions by mass."""

from coldwright.contract import Allowed, FieldError, field_error, refuse
from coldwright.contract.quantities import Temperature, TemperatureDifference
from coldwright_basis.compare import above, below
from coldwright_basis.constants import ZERO_CELSIUS
from coldwright_basis.freezing import GREATEST_MASS_FRACTION, glycol_freezing_temperature, strength_freezing_at
from coldwright_basis.liquids import mass_to_volume_fraction
from coldwright_hydronic.shared.given import Protection

WARMEST_TARGET = ZERO_CELSIUS - 1.0

ICE_ALLOWED = 0.25
"""Mass of ice in a kilogram at which slush still yields instead of bursting what holds it: derived, on the safe side of
recalled burst tables (0.25 to 0.35) down to about -30 degC."""

BURST_FLOOR = 0.20

BURST_CAP_TEMPERATURE = ZERO_CELSIUS - 45.0


class Strength:
    """A strength in both measures, with its freezing point."""

    __slots__ = ("by_mass", "by_volume", "freezing")

    def __init__(self, kind: str, by_mass: float) -> None:
        self.by_mass = by_mass
        self.by_volume = mass_to_volume_fraction(kind, by_mass) if by_mass > 0 else 0.0
        self.freezing = glycol_freezing_temperature(kind, by_mass) if by_mass > 0 else ZERO_CELSIUS


def ice_fraction(kind: str, mass_fraction: float, temperature: float) -> float:
    """Lever rule on the freezing line: mass of ice in a kilogram of mixture at a temperature; 0 above its freezing."""
    if temperature >= glycol_freezing_temperature(kind, mass_fraction):
        return 0.0
    return max(0.0, 1.0 - mass_fraction / strength_freezing_at(kind, temperature))


def target_temperature(kind: str, lowest: Temperature, margin: TemperatureDifference, base: str = "") -> float:
    """Lowest temperature less the margin, K; refused where the method does not reach or nothing is needed."""
    target = lowest.si - margin.si
    coldest = glycol_freezing_temperature(kind, GREATEST_MASS_FRACTION)
    celsius = target - ZERO_CELSIUS
    if below(target, coldest):
        raise refuse(
            f"{base}/lowest_temperature",
            f"With its margin this asks for {celsius:.1f} degC; the strongest mixture of the data, 0.60 by mass, "
            f"freezes at {coldest - ZERO_CELSIUS:.1f} degC.",
            code="out_of_range",
            value=lowest,
            allowed=Allowed(minimum=round(coldest - ZERO_CELSIUS + margin.si, 2), unit="degC"),
            why="Beyond a mass fraction of 0.60 there are no data, and stronger mixtures freeze earlier again.",
        )
    if above(target, WARMEST_TARGET):
        raise refuse(
            f"{base}/lowest_temperature",
            f"With its margin this asks for {celsius:.2f} degC: antifreeze is not needed.",
            code="not_needed",
            value=lowest,
            allowed=Allowed(maximum=round(margin.si - 1.0, 2), unit="degC"),
            why="A mixture that thin protects from nothing and feeds growth.",
        )
    return target


def burst_limits(kind: str, target: float) -> tuple[float, float, float]:
    """Mass fraction by the ice rule, the floor and the cap."""
    by_ice = (1 - ICE_ALLOWED) * strength_freezing_at(kind, target)
    cap = (1 - ICE_ALLOWED) * strength_freezing_at(kind, BURST_CAP_TEMPERATURE)
    return by_ice, BURST_FLOOR, cap


def required_strength(kind: str, target: float, protection: Protection) -> float:
    """Mass fraction that a target temperature (K) asks for."""
    if protection == "freeze":
        return strength_freezing_at(kind, target)
    by_ice, floor, cap = burst_limits(kind, target)
    return min(max(by_ice, floor), cap)


def strength_error(pointer: str, given: float, strength: float, concentrate: float) -> FieldError | None:
    """A concentrate must be stronger than the mixture it is to make; both as pure glycol by volume."""
    if concentrate > strength:
        return None
    return field_error(
        pointer,
        f"The concentrate holds {concentrate:.3f} of glycol by volume; the mixture is to hold {strength:.3f}.",
        value=given,
        why="A mixture cannot be made as strong as, or stronger than, what is poured in.",
    )
