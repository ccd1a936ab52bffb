"""Level, width, content and draining time of each shape of vessel."""

from functools import partial
from math import pi, sqrt

from msgspec import UNSET

from coldwright_hydronic.drain_down import draining
from coldwright_hydronic.drain_down.given import (
    HorizontalCylinderVessel,
    SphereVessel,
    TableVessel,
    UprightVessel,
    VesselGiven,
)


def height_of(vessel: UprightVessel | HorizontalCylinderVessel | SphereVessel) -> float:
    """Height [m]; infinite for an upright tank whose height was not given."""
    if isinstance(vessel, UprightVessel):
        return float("inf") if vessel.height is UNSET else vessel.height.si
    return vessel.diameter.si


def width_of(vessel: VesselGiven) -> float:
    """Diameter, or that of a circle as wide as a table's vessel is on average."""
    if not isinstance(vessel, TableVessel):
        return vessel.diameter.si
    first, last = vessel.volume_by_level[0], vessel.volume_by_level[-1]
    return sqrt(4 / pi * (last.volume.si - first.volume.si) / (last.level.si - first.level.si))


def initial_level(vessel: VesselGiven) -> float | None:
    """Given, else full; None for an upright tank of unknown height."""
    if vessel.initial_level is not UNSET:
        return vessel.initial_level.si
    if isinstance(vessel, TableVessel):
        return vessel.volume_by_level[-1].level.si
    if isinstance(vessel, UprightVessel) and vessel.height is UNSET:
        return None
    return height_of(vessel)


def _table(vessel: TableVessel) -> tuple[tuple[float, float], ...]:
    return tuple((row.level.si, row.volume.si) for row in vessel.volume_by_level)


def volume_below(vessel: VesselGiven, level: float) -> float:
    """Content up to a level: m3, m."""
    if isinstance(vessel, UprightVessel):
        return pi / 4 * vessel.diameter.si**2 * level
    if isinstance(vessel, HorizontalCylinderVessel):
        return draining.volume_in_cylinder(vessel.diameter.si, vessel.length.si, level)
    if isinstance(vessel, SphereVessel):
        return draining.volume_in_sphere(vessel.diameter.si, level)
    return draining.volume_in_table(_table(vessel), level)


def time_between(vessel: VesselGiven, start: float, end: float, fall: float, opening: float) -> float:
    """Time [s] in which the level falls from `start` to `end` [m] through an opening [m2], Cd included."""
    if isinstance(vessel, TableVessel):
        return draining.time_through_table(_table(vessel), start, end, fall, opening)
    if isinstance(vessel, UprightVessel):
        section = pi / 4 * vessel.diameter.si**2
        return draining.time_to_fall(lambda _: section, start, end, fall, opening)
    if isinstance(vessel, HorizontalCylinderVessel):
        surface = partial(draining.surface_in_cylinder, vessel.diameter.si, vessel.length.si)
    else:
        surface = partial(draining.surface_in_sphere, vessel.diameter.si)
    return draining.time_to_fall(surface, start, end, fall, opening)
