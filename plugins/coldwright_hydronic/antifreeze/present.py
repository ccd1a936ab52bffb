"""Strength of what the loop holds now."""

from msgspec import UNSET

from coldwright.contract import Allowed, refuse
from coldwright.contract.quantities import Temperature
from coldwright_basis.compare import above, below
from coldwright_basis.constants import ZERO_CELSIUS
from coldwright_basis.freezing import (
    GREATEST_MASS_FRACTION,
    LEAST_SOLVED,
    glycol_freezing_temperature,
    strength_freezing_at,
)
from coldwright_basis.liquids import mass_to_volume_fraction, volume_to_mass_fraction
from coldwright_hydronic.antifreeze.given import AntifreezeGiven
from coldwright_hydronic.shared.strength import Strength


def present_strength(given: AntifreezeGiven) -> Strength | None:
    """Strength by the one measure that was given; None where none was."""
    present = given.present
    if present is UNSET:
        return None
    kind = given.kind if present.kind is UNSET else present.kind
    names = ("volume_fraction", "mass_fraction", "measured_freezing_temperature")
    given_here = [n for n in names if getattr(present, n) is not UNSET]
    if len(given_here) != 1:
        text = "Give exactly one of volume_fraction, mass_fraction and measured_freezing_temperature."
        raise refuse("/present", text, code="refused" if given_here else "missing")
    if present.volume_fraction is not UNSET:
        by_mass = volume_to_mass_fraction(kind, present.volume_fraction)
        if above(by_mass, GREATEST_MASS_FRACTION):
            limit = Allowed(minimum=0, maximum=round(mass_to_volume_fraction(kind, GREATEST_MASS_FRACTION), 4))
            text = f"This is {by_mass:.3f} by mass; the data end at 0.60."
            raise refuse("/present/volume_fraction", text, value=present.volume_fraction, allowed=limit)
        return Strength(kind, by_mass)
    if present.mass_fraction is not UNSET:
        return Strength(kind, present.mass_fraction)
    assert present.measured_freezing_temperature is not UNSET  # noqa: S101 - one of three was counted above
    return Strength(kind, _mass_from_reading(kind, present.measured_freezing_temperature))


def _mass_from_reading(kind: str, reading: Temperature) -> float:
    """Strength from a freezing point; near 0 degC, under the range of the solver, in proportion."""
    thin = glycol_freezing_temperature(kind, LEAST_SOLVED) - ZERO_CELSIUS
    celsius = reading.si - ZERO_CELSIUS
    if celsius >= thin:
        return LEAST_SOLVED * max(0.0, celsius / thin)
    coldest = glycol_freezing_temperature(kind, GREATEST_MASS_FRACTION)
    if below(reading.si, coldest):
        raise refuse(
            "/present/measured_freezing_temperature",
            f"A mixture of 0.60 by mass freezes at {coldest - ZERO_CELSIUS:.1f} degC; the data end there.",
            value=reading,
            allowed=Allowed(minimum=round(coldest - ZERO_CELSIUS, 2), unit="degC"),
        )
    return strength_freezing_at(kind, reading.si)
