"""What a kind of contact comes to, and what all kinds share."""

import math
from typing import Any, NamedTuple

from msgspec import UNSET

from coldwright.contract import Notes, refuse
from coldwright.contract.quantities import Area, Force, Length, PressureDifference
from coldwright_site.ground.given import GroundGiven


class Contact(NamedTuple):
    """What a kind of contact comes to; SI units. `patch` is load, length and width of the hardest pressed area."""

    results: dict[str, Any]
    greatest: float | None = None
    patch: tuple[float, float, float] | None = None


def kilopascal(value: float) -> PressureDifference:
    """A pressure (Pa) as kPa."""
    return PressureDifference.from_si(value, "kPa")


def kilonewtons(values: list[float]) -> tuple[Force, ...]:
    """Forces (N) as kN."""
    return tuple(Force.from_si(v, "kN") for v in values)


def required(force: float, allowable: float, notes: Notes) -> dict[str, Any]:
    """The area that a force (N) asks of ground that bears `allowable` (Pa), and the side of a square of it."""
    area = force / allowable
    notes.show("A", "Area that the ground asks for", f"{force / 1000:.6g} kN / {allowable / 1000:.5g} kPa", area, "m2")
    return {
        "required_area": Area.from_si(area, "m2"),
        "required_square_side": Length.from_si(math.sqrt(area), "m"),
    }


def refuse_half_wind(given: GroundGiven) -> None:
    """Wind needs both its force and its height."""
    if (given.wind_force is UNSET) != (given.wind_force_height is UNSET):
        missing = "wind_force" if given.wind_force is UNSET else "wind_force_height"
        raise refuse(f"/{missing}", "Wind needs both its force and the height at which it acts.", code="missing")


def with_wind(given: GroundGiven, weight: float, at: tuple[float, float], notes: Notes) -> tuple[float, float]:
    """Where the weight acts once the wind leans on it, along y towards the side that is heavier already."""
    if given.wind_force is UNSET or given.wind_force_height is UNSET:
        return at
    shift = given.wind_force.si * given.wind_force_height.si / weight
    moved = at[1] + math.copysign(shift, at[1] or 1.0)
    notes.show(
        "e_y",
        "Place of the weight along y, wind counted",
        f"{at[1]:.5g} m {'-' if moved < at[1] else '+'} {given.wind_force.si:.6g} N x "
        f"{given.wind_force_height.si:.4g} m / {weight:.6g} N",
        moved,
        "m",
    )
    return at[0], moved
