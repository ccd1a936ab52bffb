"""Frost: how long still water takes to its first ice, and how much antifreeze keeps the rest from freezing."""

from math import log
from typing import Final, NamedTuple

from msgspec import UNSET, UnsetType

from coldwright.contract import Allowed, refuse
from coldwright.contract.quantities import Temperature, TemperatureDifference
from coldwright_basis.constants import ZERO_CELSIUS
from coldwright_basis.freezing import GREATEST_MASS_FRACTION, glycol_freezing_temperature, strength_freezing_at
from coldwright_basis.liquids import glycol, water

WATER_HEAT: Final = 4.2e6
"""J/m3.K of water."""
WATER_DENSITY: Final = 998.0
MIXED_AT: Final = ZERO_CELSIUS + 15.0


class Slug(NamedTuple):
    """Antifreeze to pour in."""

    mass_fraction: float
    """Of the final mixture."""
    mass: float | None
    """kg of what is poured; None without the volume that draining leaves."""
    volume: float | None
    """m3 of the mixture, to recover later."""


def time_to_first_ice(diameter: float, start: float, air: float, coefficient: float) -> float:
    """Seconds for still water in a hose to cool to 0 degC, lumped; temperatures in degC, `air` below 0."""
    return WATER_HEAT * diameter / (4 * coefficient) * log((start - air) / -air)


def required_mass_fraction(kind: str, coldest: Temperature, margin: TemperatureDifference) -> float:
    """Strength that freezes at the coldest air less the margin; 0 where that is not below 0 degC."""
    target = coldest.si - margin.si
    if target >= ZERO_CELSIUS:
        return 0.0
    limit = glycol_freezing_temperature(kind, GREATEST_MASS_FRACTION)
    if target < limit:
        raise refuse(
            "/ambient_minimum",
            f"With its margin this asks for {target - ZERO_CELSIUS:.1f} degC; the strongest mixture of the data freezes at "
            f"{limit - ZERO_CELSIUS:.1f} degC.",
            code="out_of_range",
            value=coldest,
            allowed=Allowed(minimum=round(limit - ZERO_CELSIUS + margin.si, 2), unit="degC"),
            why="Stronger mixtures freeze earlier again, and there are no data for them.",
        )
    return strength_freezing_at(kind, target)


def slug(kind: str, fraction: float, residual: float | None, premix: float | UnsetType) -> Slug:
    """How much to pour in so that the water that draining left becomes a mixture of `fraction`."""
    if premix is not UNSET and premix <= fraction:
        raise refuse(
            "/slug_mass_fraction",
            f"The premix holds {premix:g} by mass, the mixture must hold {fraction:.3f}.",
            value=premix,
            allowed=Allowed(above=round(fraction, 4), maximum=1),
            why="A mixture cannot become stronger than what is poured in.",
        )
    if residual is None:
        return Slug(fraction, None, None)
    left = WATER_DENSITY * residual
    poured = left * fraction / (1 - fraction) if premix is UNSET else left * fraction / (premix - fraction)
    density = water(MIXED_AT).density if fraction == 0 else glycol(kind, fraction, MIXED_AT).density
    return Slug(fraction, poured, (left + poured) / density)
