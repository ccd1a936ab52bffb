"""Temperature of a cold surface in air, the water that settles on it, and the insulation that keeps it dry. SI."""

import math
from dataclasses import dataclass

from coldwright.contract import lazy
from coldwright_basis.compare import SLACK
from coldwright_basis.constants import ZERO_CELSIUS
from coldwright_refrigeration.condensation.given import HoseSurface, VesselSurface
from coldwright_refrigeration.load.loop import AIR_HEAT
from coldwright_refrigeration.shared.moist_air import psychrometrics

optimize = lazy("scipy.optimize")

THICKEST = 0.5
"""m of insulation; more is no insulation for a hire."""


@dataclass(frozen=True)
class Air:
    """The air around: temperature and dew point, K, pressure, Pa, and heat to a surface, W/m2.K."""

    temperature: float
    dew_point: float
    pressure: float
    coefficient: float

    def water(self, temperature: float) -> float:
        """Humidity ratio of saturated air at a temperature, kg/kg."""
        return float(psychrometrics().GetSatHumRatio(temperature - ZERO_CELSIUS, self.pressure))


def area_of(surface: HoseSurface | VesselSurface) -> float:
    """m2."""
    if isinstance(surface, VesselSurface):
        return surface.area.si
    return math.pi * surface.outside_diameter.si * surface.length.si


def bare(surface: HoseSurface | VesselSurface, air: Air) -> float:
    """Temperature of the bare surface, K: the wall and the film of air share the difference."""
    return _covered(surface, air, 0.0, math.inf)


def settling(surface: HoseSurface | VesselSurface, air: Air) -> float:
    """Water that settles, kg/s, at most: h A (W - Ws) / cp, by the analogy of Lewis.

    The heat that it sets free, which warms the surface, is left out, and all of the film counts as moving air.
    """
    at = bare(surface, air)
    if at >= air.dew_point:
        return 0.0
    return air.coefficient * area_of(surface) * (air.water(air.dew_point) - air.water(at)) / AIR_HEAT


def insulation(surface: HoseSurface | VesselSurface, air: Air, conductivity: float, margin: float) -> float | None:
    """Thickness, m, that keeps its own surface `margin` above the dew point; None where `THICKEST` does not."""
    wanted = air.dew_point + margin
    if _covered(surface, air, THICKEST, conductivity) < wanted:
        return None
    found = optimize.brentq(lambda t: _covered(surface, air, t, conductivity) - wanted, 0.0, THICKEST, xtol=SLACK)
    return float(found)


def _covered(surface: HoseSurface | VesselSurface, air: Air, thickness: float, conductivity: float) -> float:
    """Outer temperature, K, of the surface under insulation."""
    difference = air.temperature - surface.liquid_temperature.si
    if isinstance(surface, VesselSurface):
        if thickness == 0.0:
            return surface.liquid_temperature.si
        film, behind = 1.0 / air.coefficient, thickness / conductivity
    else:
        inner, outer = surface.inside_diameter.si, surface.outside_diameter.si
        covered = outer + 2.0 * thickness
        film = 1.0 / (air.coefficient * math.pi * covered)
        behind = math.log(outer / inner) / (2.0 * math.pi * surface.wall_conductivity.si)
        behind += math.log(covered / outer) / (2.0 * math.pi * conductivity)
    return air.temperature - difference * film / (film + behind)
