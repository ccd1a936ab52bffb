"""Lift by crane: what hangs on the hook, the crane's chart, its sling and the wind."""

from msgspec import UNSET, UnsetType

from coldwright.contract import Notes, Refused, field_error
from coldwright.contract.quantities import Angle, Force, Mass, Speed
from coldwright_basis.constants import STANDARD_GRAVITY
from coldwright_site.lift.balance import judge_balance
from coldwright_site.lift.findings import judge_capacity, judge_power_line, judge_single_lug, judge_wind
from coldwright_site.lift.given import LiftGiven
from coldwright_site.lift.legs import bridle_of, rated_load, shackle_use, sling_legs
from coldwright_site.lift.results import HookLoad, LiftResults, SlingLeg, SpreaderForces
from coldwright_site.lift.spreader import spreader_forces
from coldwright_site.shared import wind
from coldwright_site.shared.fields import missing_fields, repeated_ids


def by_crane(given: LiftGiven, mass: float, notes: Notes) -> LiftResults:
    """Hook load, sling, gear, chart and wind limit of a lift by crane."""
    _refuse_half_given(given)
    weight = mass * given.dynamic_factor * STANDARD_GRAVITY
    notes.show("W", "Weight in the legs", f"{mass:.6g} kg x {given.dynamic_factor:g} x g", weight / 1000, "kN")
    hook = hook_mass(given, mass, notes)
    spreader = spreader_forces(given, weight, notes)
    bridle = bridle_of(given, weight, notes)
    judge_power_line(given, notes)
    fraction = judge_capacity(given, hook, notes)
    legs: tuple[SlingLeg, ...] = ()
    governing: Force | UnsetType = UNSET
    needed: Mass | UnsetType = UNSET
    shackle: float | UnsetType = UNSET
    tilt: Angle | UnsetType = UNSET
    if bridle is not None:
        judge_single_lug(given, notes)
        tilt = judge_balance(given, bridle, notes)
        legs = sling_legs(given, bridle, notes)
        if bridle.greatest:
            worst = max(bridle.greatest)
            governing, needed = Force.from_si(worst, "kN"), rated_load(worst, given.hitch_factor)
            notes.show(
                "WLL",
                "Vertical rating that each leg needs",
                f"{worst / 1000:.6g} kN / (g x {given.hitch_factor:g})",
                needed,
            )
            shackle = shackle_use(given, worst, notes)
    limit = wind_limit(given, notes)
    return LiftResults(
        hook_load=HookLoad(mass=Mass.from_si(hook, "kg"), force=Force.from_si(hook * STANDARD_GRAVITY, "kN")),
        legs=legs,
        governing_tension=governing,
        required_leg_rated_load=needed,
        shackle_utilisation=shackle,
        spreader=UNSET if spreader is None else SpreaderForces(**spreader),
        tilt_angle=tilt,
        capacity_fraction=fraction,
        wind_speed_limit=limit,
        expected_gust=judge_wind(given, limit, notes),
    )


def _refuse_half_given(given: LiftGiven) -> None:
    """Picks, centre of gravity and hook come together or not at all."""
    together = ("pick_points", "centre_of_gravity", "hook_z")
    errors = missing_fields(given, together, "with picks, centre of gravity or hook height")
    if len(errors) == len(together):
        errors = []
        if any(given.hook_offset.xy):
            errors = [field_error("/hook_offset", "A hook offset needs picks, centre of gravity and hook height.")]
    errors += repeated_ids(given.pick_points, "/pick_points")
    if errors:
        raise Refused(errors)


def hook_mass(given: LiftGiven, mass: float, notes: Notes) -> float:
    """All that hangs on the hook (kg): load with its dynamic factor, rigging, block and spreader."""
    spreader = 0.0 if given.spreader is UNSET else given.spreader.mass.si
    total = mass * given.dynamic_factor + given.rigging_mass.si + given.hook_block_mass.si + spreader
    notes.show(
        "m_hook",
        "Hook load",
        f"{mass:.6g} kg x {given.dynamic_factor:g} + {given.rigging_mass.si:g} + {given.hook_block_mass.si:g} "
        f"+ {spreader:g} kg",
        total,
        "kg",
    )
    if given.hook_block_mass.si == 0:
        notes.check(
            "hook_block_not_given",
            "Hook block weight not known: none is counted.",
            why="Block, ball and rope below the boom tip are part of what the crane's chart must carry.",
            resolve="Give `hook_block_mass`, or see that the chart already allows for the block.",
            field="/hook_block_mass",
        )
    return total


def wind_limit(given: LiftGiven, notes: Notes) -> Speed | UnsetType:
    """Gust in which this load may be lifted."""
    if given.chart_wind_speed is UNSET or given.load_face_area is UNSET:
        return UNSET
    chart, mass, area = given.chart_wind_speed.si, given.load_mass.si, given.load_face_area.si
    limit = wind.lift_wind_limit(chart, mass, area, given.drag_coefficient)
    notes.show(
        "v",
        "Wind limit of the lift",
        f"min({chart:.4g}, {chart:.4g} sqrt(1.2 x {mass / 1000:.5g} t / ({given.drag_coefficient:g} x {area:.5g} m2)))",
        limit,
        "m/s",
    )
    return Speed.from_si(limit, "m/s")
