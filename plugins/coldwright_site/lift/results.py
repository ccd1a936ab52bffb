"""What `site.lift` answers."""

from typing import Annotated

from msgspec import UNSET, UnsetType

from coldwright.contract import Results, about
from coldwright.contract.quantities import Angle, Force, Length, Mass, Speed


class HookLoad(Results, frozen=True, kw_only=True):
    """All that hangs on the hook."""

    mass: Annotated[Mass, about("Mass of the load, its allowances, rigging, block and spreader.")]
    force: Annotated[Force, about("Its weight.")]


class SlingLeg(Results, frozen=True, kw_only=True):
    """One leg of the sling."""

    id: Annotated[str, about("Name of the pick.")]
    length: Annotated[Length, about("From pick to hook.")]
    angle_from_horizontal: Annotated[Angle, about("Of the leg.")]
    tension_minimum: Annotated[Force, about("Least pull that equilibrium allows.")] | UnsetType = UNSET
    tension_maximum: Annotated[Force, about("Greatest pull that equilibrium allows.")] | UnsetType = UNSET
    tension_elastic: (
        Annotated[Force, about("Pull when all legs stretch alike and are cut exactly: for information only.")]
        | UnsetType
    ) = UNSET
    utilisation: Annotated[float, about("Greatest pull over the leg's rating with its hitch.")] | UnsetType = UNSET


class SpreaderForces(Results, frozen=True, kw_only=True):
    """Forces in the spreader from the load."""

    drop_a: Annotated[Force, about("In the drop at end a.")]
    drop_b: Annotated[Force, about("In the drop at end b.")]
    top_leg_a: Annotated[Force, about("In the top leg at end a.")]
    top_leg_b: Annotated[Force, about("In the top leg at end b.")]
    compression: Annotated[Force, about("Along the spreader.")]


class LiftResults(Results, frozen=True, kw_only=True):
    """What the lift asks of hook, legs, gear and truck."""

    hook_load: Annotated[HookLoad, about("What hangs on the hook.")] | UnsetType = UNSET
    legs: Annotated[tuple[SlingLeg, ...], about("In the order of the picks.")] = ()
    governing_tension: Annotated[Force, about("Greatest pull of any leg.")] | UnsetType = UNSET
    required_leg_rated_load: Annotated[Mass, about("Vertical rating that each leg needs.")] | UnsetType = UNSET
    shackle_utilisation: (
        Annotated[float, about("Greatest pull over the shackle's rating at its side angle.")] | UnsetType
    ) = UNSET
    spreader: Annotated[SpreaderForces, about("Forces in the spreader.")] | UnsetType = UNSET
    tilt_angle: Annotated[Angle, about("Angle at which the load hangs.")] | UnsetType = UNSET
    capacity_fraction: Annotated[float, about("Hook load over the crane's chart.")] | UnsetType = UNSET
    wind_speed_limit: Annotated[Speed, about("Gust in which this load may be lifted.")] | UnsetType = UNSET
    expected_gust: Annotated[Speed, about("Gust that it was compared with.")] | UnsetType = UNSET
    capacity_at_load_centre: Annotated[Mass, about("Truck's capacity by its load centre alone.")] | UnsetType = UNSET
    capacity_with_axle: Annotated[Mass, about("Truck's capacity by moments about its front axle.")] | UnsetType = UNSET
    utilisation: Annotated[float, about("Load over the truck's governing capacity.")] | UnsetType = UNSET
    stability_ratio: (
        Annotated[float, about("Moment that holds the truck over the moment that tips it.")] | UnsetType
    ) = UNSET
    fork_cover: Annotated[float, about("Share of the load's depth on the forks.")] | UnsetType = UNSET
