"""Time for a vessel to empty through an orifice: Torricelli's law over the vessel's own cross-section.

-A(h) dh = Cd a sqrt(2 g (h + h0)) dt. With s = sqrt(h + h0) as the variable the integrand is smooth, and finite at an
empty vessel: dt = 2 A(s^2 - h0) / (Cd a sqrt(2 g)) ds. All SI.
"""

from collections.abc import Callable, Sequence
from itertools import pairwise
from math import acos, pi, sqrt

from coldwright.contract import lazy
from coldwright_basis.constants import STANDARD_GRAVITY

_integrate = lazy("scipy.integrate")


def outflow(level: float, head_below: float, opening: float) -> float:
    """Flow through an opening Cd*a, m2, under a level."""
    return opening * sqrt(2 * STANDARD_GRAVITY * (level + head_below))


def time_to_fall(area: Callable[[float], float], start: float, end: float, head_below: float, opening: float) -> float:
    """Time from level `start` to `end` for a vessel whose free surface is `area(level)`."""
    if start <= end:
        return 0.0
    integral, _ = _integrate.quad(
        lambda s: 2 * area(max(s * s - head_below, 0.0)),
        sqrt(end + head_below),
        sqrt(start + head_below),
        epsrel=1e-8,
        limit=200,
    )
    return float(integral) / (opening * sqrt(2 * STANDARD_GRAVITY))


def time_through_table(
    table: Sequence[tuple[float, float]], start: float, end: float, head_below: float, opening: float
) -> float:
    """The same for a table of (level, volume): between two rows the free surface is constant, so the sum is exact."""
    total = 0.0
    for (low, volume_low), (high, volume_high) in pairwise(table):
        bottom, top = max(low, end), min(high, start)
        if top > bottom:
            area = (volume_high - volume_low) / (high - low)
            total += 2 * area * (sqrt(top + head_below) - sqrt(bottom + head_below))
    return total / (opening * sqrt(2 * STANDARD_GRAVITY))


def volume_in_table(table: Sequence[tuple[float, float]], level: float) -> float:
    """Volume below a level, linear between rows; the level lies within the table."""
    for (low, volume_low), (high, volume_high) in pairwise(table):
        if level <= high:
            return volume_low + (volume_high - volume_low) * (level - low) / (high - low)
    return table[-1][1]


def surface_in_cylinder(diameter: float, length: float, level: float) -> float:
    """Free surface in a lying cylinder."""
    return 2 * length * sqrt(max(level * (diameter - level), 0.0))


def volume_in_cylinder(diameter: float, length: float, level: float) -> float:
    """Volume below a level in a lying cylinder."""
    radius = diameter / 2
    rise = min(max((radius - level) / radius, -1.0), 1.0)
    segment = radius * radius * acos(rise) - (radius - level) * sqrt(max(level * (diameter - level), 0.0))
    return length * max(segment, 0.0)


def surface_in_sphere(diameter: float, level: float) -> float:
    """Free surface in a sphere."""
    return pi * max(level * (diameter - level), 0.0)


def volume_in_sphere(diameter: float, level: float) -> float:
    """Volume below a level in a sphere."""
    return pi * level * level * (diameter / 2 - level / 3)
