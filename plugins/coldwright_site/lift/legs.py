"""The legs of a crane's sling: geometry, pull, and the gear that they ask for."""

import math
from itertools import pairwise

from msgspec import UNSET, UnsetType

from coldwright.contract import Notes
from coldwright.contract.quantities import Angle, Force, Length, Mass
from coldwright_basis.constants import STANDARD_GRAVITY
from coldwright_site.lift.findings import judge_angle, judge_use
from coldwright_site.lift.given import LiftGiven
from coldwright_site.lift.results import SlingLeg
from coldwright_site.lift.sling import Bridle, hang
from coldwright_site.shared import tabulated


def bridle_of(given: LiftGiven, weight: float, notes: Notes) -> Bridle | None:
    """Legs and tensions, when the picks are given; shows the working and judges angles and balance."""
    if not given.pick_points or given.centre_of_gravity is UNSET or given.hook_z is UNSET:
        return None
    bridle = hang(given.pick_points, given.centre_of_gravity, given.hook_z.si, weight)
    for index, pick in enumerate(given.pick_points):
        u = bridle.directions[index]
        notes.show(
            f"S_{pick.id}",
            f"Length of leg {pick.id}; unit vector to the hook ({u[0]:.4f}, {u[1]:.4f}, {u[2]:.4f})",
            f"|hook ({', '.join(f'{c:.4g}' for c in bridle.hook)}) - pick ({', '.join(f'{c:.4g}' for c in pick.xyz)})|",
            bridle.lengths[index],
            "m",
        )
        judge_angle(math.degrees(bridle.angles[index]), f"Leg {pick.id}", f"/pick_points/{index}", notes)
    if not bridle.greatest:
        notes.stop(
            "no_equilibrium",
            "No set of pulls in the legs holds the load: the centre of gravity lies outside the picks.",
            why="The load turns over until it is plumb below the hook.",
            resolve="Pick the load so that its centre of gravity lies between the picks.",
            field="/centre_of_gravity",
            references=("site_statics",),
        )
    for index, pick in enumerate(given.pick_points if bridle.greatest else ()):
        notes.show(
            f"T_{pick.id}",
            f"Greatest pull in leg {pick.id}; least {bridle.least[index] / 1000:.5g} kN, elastic "
            f"{bridle.elastic[index] / 1000:.5g} kN",
            f"greatest T with sum T u = (0, 0, {weight / 1000:.5g} kN), no T below 0",
            bridle.greatest[index] / 1000,
            "kN",
        )
    return bridle


def rated_load(tension: float, hitch_factor: float) -> Mass:
    """Vertical rating that a leg needs for a pull in N."""
    return Mass.from_si(tension / (STANDARD_GRAVITY * hitch_factor), "kg")


def shackle_factor(degrees: float) -> float:
    """Share of a shackle's rated load at a pull of `degrees` off its line."""
    rows = tabulated.SHACKLE_SIDE_LOAD.rows
    for (low, share_low), (high, share_high) in pairwise(rows):
        if degrees <= high:
            return float(share_low + (share_high - share_low) * (degrees - low) / (high - low))
    return float(rows[-1][1])


def sling_legs(given: LiftGiven, bridle: Bridle, notes: Notes) -> tuple[SlingLeg, ...]:
    """Each leg with its pulls and the use of its rating."""
    legs = []
    for index, pick in enumerate(given.pick_points):
        length = Length.from_si(bridle.lengths[index], "m")
        angle = Angle.from_si(bridle.angles[index], "deg")
        if not bridle.greatest:
            legs.append(SlingLeg(id=pick.id, length=length, angle_from_horizontal=angle))
            continue
        use: float | UnsetType = UNSET
        if given.leg_rated_load is not UNSET:
            use = share = bridle.greatest[index] / (STANDARD_GRAVITY * given.leg_rated_load.si * given.hitch_factor)
            judge_use(share, f"Leg {pick.id}", "leg_use", "/leg_rated_load", notes)
        legs.append(
            SlingLeg(
                id=pick.id,
                length=length,
                angle_from_horizontal=angle,
                tension_minimum=Force.from_si(bridle.least[index], "kN"),
                tension_maximum=Force.from_si(bridle.greatest[index], "kN"),
                tension_elastic=Force.from_si(bridle.elastic[index], "kN"),
                utilisation=use,
            )
        )
    return tuple(legs)


def shackle_use(given: LiftGiven, worst: float, notes: Notes) -> float | UnsetType:
    """Greatest pull over the shackle's rating at its side angle."""
    if given.shackle_rated_load is UNSET:
        return UNSET
    degrees = given.shackle_side_angle.to("deg")
    factor = shackle_factor(degrees)
    share = worst / (STANDARD_GRAVITY * given.shackle_rated_load.si * factor)
    notes.show(
        "u_sh",
        "Use of the shackle",
        f"{worst / 1000:.5g} kN / (g x {given.shackle_rated_load.si:g} kg x {factor:.4g}), at {degrees:g} deg",
        share,
    )
    judge_use(share, "The shackle", "shackle_use", "/shackle_rated_load", notes)
    return share
