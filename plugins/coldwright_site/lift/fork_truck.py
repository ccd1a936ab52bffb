"""Lift by fork truck: capacity at the load's own centre, and stability against tipping forwards."""

import math
from typing import NamedTuple

from msgspec import UNSET, UnsetType

from coldwright.contract import Allowed, Notes, refuse, say, tidy
from coldwright.contract.quantities import Length, Mass
from coldwright_basis.compare import SLACK, at_most, below
from coldwright_site.lift.given import LiftGiven
from coldwright_site.lift.results import LiftResults
from coldwright_site.shared.fields import require


def by_fork_truck(given: LiftGiven, mass: float, notes: Notes) -> LiftResults:
    """Capacity, stability and fork cover of a lift by fork truck."""
    require(given, ("rated_capacity", "rated_load_centre", "load_centre"), "with a fork truck")
    judge_attachment(given, notes)
    stability = forward_stability(given, mass, notes)
    cover = fork_cover(given, notes)
    capacity = None if too_high(given, notes) else capacity_at_load_centre(given, notes)
    if capacity is None:
        return LiftResults(stability_ratio=stability, fork_cover=cover)
    use = tidy(mass / capacity.governing)
    notes.show("u", "Use of the truck", f"{mass:.6g} / {capacity.governing:.6g} kg", use)
    if use > 1:
        notes.stop(
            "truck_overloaded",
            say(
                "The load of {mass:.0f} is {use:.3f} of the {governing:.0f} that the truck lifts at this load centre.",
                mass=Mass.of(mass, "kg"),
                use=use,
                governing=Mass.of(capacity.governing, "kg"),
            ),
            resolve=say(
                "A truck of at least {mass:.0f} at this load centre, or the load from its other side.",
                mass=Mass.of(mass, "kg"),
            ),
            field="/rated_capacity",
            references=("osha_1910_178_app_a",),
        )
    return LiftResults(
        capacity_at_load_centre=Mass.from_si(capacity.plain, "kg"),
        capacity_with_axle=UNSET if capacity.with_axle is UNSET else Mass.from_si(capacity.with_axle, "kg"),
        utilisation=use,
        stability_ratio=stability,
        fork_cover=cover,
    )


class Capacity(NamedTuple):
    """Capacity (kg) at the load centre, with and without the distance to the axle, and the one that governs."""

    plain: float
    with_axle: float | UnsetType
    governing: float


def too_high(given: LiftGiven, notes: Notes) -> bool:
    """Whether the lift goes above the height that the rating is for."""
    if given.lift_height is UNSET or given.rated_lift_height is UNSET:
        missing = [name for name in ("lift_height", "rated_lift_height") if getattr(given, name) is UNSET]
        notes.check(
            "lift_height_not_given",
            "The height of the lift was not compared with the height that the truck is rated for.",
            resolve=f"Give {' and '.join(f'`{name}`' for name in missing)}.",
            field=f"/{missing[0]}",
        )
        return False
    if at_most(given.lift_height.si, given.rated_lift_height.si):
        return False
    notes.stop(
        "lift_too_high",
        say(
            "The lift to {lift_height} is above the {rated_lift_height} that the rating is for.",
            lift_height=given.lift_height,
            rated_lift_height=given.rated_lift_height,
        ),
        why="A raised mast carries less, and how much less only the truck's plate knows.",
        resolve="The truck's rating at this height, from its plate or its maker.",
        field="/lift_height",
    )
    return True


def capacity_at_load_centre(given: LiftGiven, notes: Notes) -> Capacity | None:
    """Capacity at the load centre; None when the truck's own data are missing, which `lift` has refused before."""
    if given.rated_capacity is UNSET or given.rated_load_centre is UNSET or given.load_centre is UNSET:
        return None
    rated, rated_centre, centre = given.rated_capacity.si, given.rated_load_centre.si, given.load_centre.si
    plain = rated * rated_centre / centre if centre > rated_centre else rated
    notes.show(
        "C",
        "Capacity at the load centre",
        f"{rated:.6g} kg x {rated_centre:.4g} / max({centre:.4g}, {rated_centre:.4g})",
        plain,
        "kg",
    )
    with_axle = _capacity_with_axle(given, rated, rated_centre, max(centre, rated_centre), notes)
    if given.attachment_plate_capacity is not UNSET:
        governing = given.attachment_plate_capacity.si
    else:
        governing = plain if with_axle is UNSET else min(plain, with_axle)
    return Capacity(plain, with_axle, governing)


def _capacity_with_axle(
    given: LiftGiven, rated: float, rated_centre: float, centre: float, notes: Notes
) -> float | UnsetType:
    if given.front_axle_to_fork_face is UNSET:
        return UNSET
    axle, attachment, lost = given.front_axle_to_fork_face.si, given.attachment_mass.si, given.attachment_lost_load.si
    moment = rated * (axle + rated_centre) - attachment * (axle + given.attachment_centre.si)
    if moment <= 0:
        raise refuse(
            "/attachment_mass",
            "The attachment alone uses up the truck's rated moment.",
            value=given.attachment_mass,
            allowed=Allowed(below=rated * (axle + rated_centre) / (axle + given.attachment_centre.si), unit="kg"),
            why="Nothing is left to lift with.",
        )
    value = min(rated, moment / (axle + centre + lost))
    notes.show(
        "C_f",
        "Capacity with the distance from axle to fork face",
        f"[{rated:.6g} ({axle:.4g} + {rated_centre:.4g}) - {attachment:.5g} ({axle:.4g} + "
        f"{given.attachment_centre.si:.4g})] / ({axle:.4g} + {centre:.4g} + {lost:.4g}), at most {rated:.6g}",
        value,
        "kg",
    )
    return value


def forward_stability(given: LiftGiven, mass: float, notes: Notes) -> float | UnsetType:
    """Moment that holds the truck down over the moment that tips it about the front axle."""
    needed = (given.truck_mass, given.truck_cg_behind_front_axle, given.truck_cg_height, given.load_cg_height)
    if UNSET in needed or given.front_axle_to_fork_face is UNSET or given.load_centre is UNSET:
        return UNSET
    truck, back, truck_height, load_height = (q.si for q in needed if q is not UNSET)
    axle, attachment = given.front_axle_to_fork_face.si, given.attachment_mass.si
    reach = axle + given.load_centre.si + given.attachment_lost_load.si
    angle = math.atan(given.grade)
    forward = math.sin(angle) + given.deceleration
    tipping = mass * (reach * math.cos(angle) + load_height * forward)
    if attachment > 0:  # it is carried as high as the load
        tipping += attachment * ((axle + given.attachment_centre.si) * math.cos(angle) + load_height * forward)
    holding = truck * (back * math.cos(angle) - truck_height * forward)
    if tipping <= SLACK:
        return UNSET
    ratio = tidy(holding / tipping)
    besides = ""
    if attachment > 0:
        besides = f" + {attachment:.6g} ({axle + given.attachment_centre.si:.4g} cos t + {load_height:.4g} "
        besides += f"(sin t + {given.deceleration:g}))"
    notes.show(
        "s",
        "Stability against tipping forwards",
        f"{truck:.6g} ({back:.4g} cos t - {truck_height:.4g} (sin t + {given.deceleration:g})) / [{mass:.6g} "
        f"({reach:.4g} cos t + {load_height:.4g} (sin t + {given.deceleration:g})){besides}], t = atan {given.grade:g}",
        ratio,
    )
    if ratio < 1.4:
        notes.finding(
            "stop" if ratio < 1.15 else "check",
            "truck_stability",
            f"The truck holds {ratio:.2f} times the moment that tips it forwards.",
            why="Below 1.15 a bump or braking tips it; 1.4 is usual in the trade.",
            resolve="A heavier truck, a shorter load centre, a level way, gentler braking.",
            field="/load_mass",
            references=("site_practice",),
        )
    return ratio


def judge_attachment(given: LiftGiven, notes: Notes) -> None:
    """An attachment changes the truck's rating."""
    fitted = given.attachment_mass.si > 0 or given.attachment_lost_load.si > 0
    if fitted and given.attachment_plate_capacity is UNSET:
        notes.stop(
            "attachment_without_plate",
            "An attachment is fitted, and no plate gives the truck's capacity with it.",
            why="Its weight and its length take capacity away.",
            resolve="The capacity with the attachment from the truck's maker: `attachment_plate_capacity`.",
            field="/attachment_plate_capacity",
            references=("site_practice",),
        )


def fork_cover(given: LiftGiven, notes: Notes) -> float | UnsetType:
    """Share of the load's depth that lies on the forks."""
    if given.fork_length is UNSET or given.load_depth is UNSET:
        return UNSET
    share = given.fork_length.si / given.load_depth.si
    notes.show(
        "k", "Share of the depth on the forks", f"{given.fork_length.si:.4g} / {given.load_depth.si:.4g} m", share
    )
    if below(share, 2 / 3):
        least = Length.of(given.load_depth.si * 2 / 3, "m")
        notes.show(
            "l_2", "Length of forks below two thirds of the depth", f"{given.load_depth.si:.6g} m x 2 / 3", least
        )
        notes.check(
            "fork_cover",
            say("The forks reach under {share:.2f} of the load's depth.", share=share),
            why="Less than two thirds lets the load tip off the fork ends.",
            resolve=say(
                "Forks of {least:.2f} or longer, or fork sleeves of the truck's maker.",
                least=least,
            ),
            field="/fork_length",
            references=("site_practice",),
        )
    return share
