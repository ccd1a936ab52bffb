"""What a person should know of a lift."""

import math

from msgspec import UNSET, UnsetType

from coldwright.contract import Notes, finding, say, tidy
from coldwright.contract.quantities import Length, Mass, Speed
from coldwright_basis.compare import above, below
from coldwright_site.lift.given import LiftGiven
from coldwright_site.shared import tabulated, wind

FINDINGS = (
    finding("field_of_another_method", "note", "Fields of the other method were given and not used."),
    finding("hook_block_not_given", "check", "The mass of the hook block is not known."),
    finding("no_chart", "check", "No chart capacity of the crane was given."),
    finding("crane_overloaded", "stop", "The hook load is above the crane's chart."),
    finding("critical_lift", "check", "The hook load is above 0.9 of the chart."),
    finding("written_plan", "check", "The hook load is above 0.75 of the chart."),
    finding("leg_angle", ("stop", "check", "note"), "A leg is flatter than 30, 45 or 60 deg."),
    finding("no_equilibrium", "stop", "No pulls in the legs hold the load."),
    finding("leg_use", ("stop", "check"), "A leg is used above 1 or 0.9 of its rating."),
    finding("shackle_use", ("stop", "check"), "A shackle is used above 1 or 0.9 of its rating."),
    finding("turns_over", "stop", "The centre of gravity is above the point the load hangs from."),
    finding("centre_of_gravity_above_picks", ("stop", "check"), "The centre of gravity is above the picks."),
    finding("centre_of_gravity_outside_legs", "stop", "The centre of gravity is outside the legs at its height."),
    finding("lug_not_plumb", "note", "A single lug is not plumb over the centre of gravity."),
    finding("tilt", ("stop", "check"), "The load hangs more than 10 or 5 deg out of level."),
    finding("power_line", "stop", "A power line is nearer than allowed."),
    finding("wind_above_limit", "check", "A gust is expected in which this load may not be lifted."),
    finding("wind_not_compared", "note", "Wind is expected, and what chart and load allow is not known."),
    finding("lift_height_not_given", "check", "The height of the lift was not compared with the rated one."),
    finding("lift_too_high", "stop", "The lift is above the height that the truck is rated for."),
    finding("truck_overloaded", "stop", "The load is above the truck's capacity."),
    finding("truck_stability", ("stop", "check"), "The truck holds less than 1.15 or 1.4 times the tipping moment."),
    finding("attachment_without_plate", "stop", "An attachment is fitted without a rating for it."),
    finding("fork_cover", "check", "Less than two thirds of the load's depth lies on the forks."),
)
"""What `site.lift` may have to say."""


def judge_angle(degrees: float, what: str, field: str, notes: Notes) -> None:
    """A leg that stands flat."""
    text = f"{what} stands at {degrees:.1f} deg from the horizontal."
    why = "The flatter a leg, the greater its pull: 1.15 times at 60 deg, 1.41 at 45, 2.00 at 30."
    resolve = "Longer legs, a higher hook or a spreader."
    degrees = tidy(degrees)  # 45 deg must not fall below 45 by its last bit
    if degrees < 30:
        notes.stop("leg_angle", text, why=why, resolve=resolve, field=field, references=("asme_b30_9",))
    elif degrees < 45:
        notes.check("leg_angle", text, why=why, resolve=resolve, field=field, references=("site_practice",))
    elif degrees < 60:
        notes.note("leg_angle", text, why=why, resolve=resolve, field=field, references=("site_practice",))


def judge_use(share: float, what: str, code: str, field: str, notes: Notes) -> None:
    """A share of a rating: over 1 forbids, over 0.9 asks."""
    share = tidy(share)
    if share > 0.9:
        more = share / 0.9
        notes.show("n_r", f"{what}: rating that leaves 0.9 in use, over its own", f"{share:.6g} / 0.9", more)
        notes.finding(
            "stop" if share > 1 else "check",
            code,
            say("{what} is used to {share:.3f} of its rating.", what=what, share=share),
            resolve=say("Gear rated at least {more:.2f} times as high, steeper legs or more picks.", more=more),
            field=field,
            references=("site_practice",),
        )


def judge_power_line(given: LiftGiven, notes: Notes) -> None:
    """The distance to an energised line."""
    if given.power_line is UNSET:
        return
    needed = tabulated.power_line_distance(given.power_line.voltage.si)
    if below(given.power_line.distance.si, needed):
        notes.stop(
            "power_line",
            say(
                "The power line of {voltage} is {distance:.2f} away; at least {needed:.2f} is needed.",
                voltage=given.power_line.voltage,
                distance=given.power_line.distance.as_unit("m"),
                needed=Length.of(needed, "m"),
            ),
            why="A boom, rope or load that comes near a live line kills whoever touches crane or load.",
            resolve="Have the line switched off and grounded (earthed) by its owner, or move the lift.",
            field="/power_line/distance",
            references=("osha_1926_1408",),
        )


def judge_capacity(given: LiftGiven, hook: float, notes: Notes) -> float | UnsetType:
    """Share of the crane's chart that is used."""
    if given.crane_chart_capacity is UNSET:
        notes.check(
            "no_chart",
            say("No chart capacity was given to compare with the hook load of {hook:.0f}.", hook=Mass.of(hook, "kg")),
            resolve="Give `crane_chart_capacity` at the largest radius of the lift.",
            field="/crane_chart_capacity",
        )
        return UNSET
    chart = given.crane_chart_capacity.si
    fraction = tidy(hook / chart)
    notes.show("c", "Share of the crane's chart", f"{hook:.6g} / {chart:.6g} kg", fraction)
    text = say(
        "The hook load of {hook:.0f} is {fraction:.3f} of the chart's {chart:.0f}.",
        hook=Mass.of(hook, "kg"),
        fraction=fraction,
        chart=Mass.of(chart, "kg"),
    )
    field = "/crane_chart_capacity"
    if fraction > 1:
        notes.stop(
            "crane_overloaded",
            text,
            resolve=say(
                "A set-up that carries at least {hook:.0f} at this radius, or a shorter radius.",
                hook=Mass.of(hook, "kg"),
            ),
            field=field,
        )
    elif fraction > 0.9:
        notes.check(
            "critical_lift",
            text,
            why="Above 0.9 of the chart the trade treats the lift as critical.",
            resolve=say(
                "A chart of {hook:.0f} or more, or a critical lift plan signed by a competent person.",
                hook=Mass.of(hook / 0.9, "kg"),
            ),
            field=field,
            references=("site_practice",),
        )
    elif fraction > 0.75:
        notes.check(
            "written_plan",
            text,
            why="Above 0.75 of the chart the trade asks for a written plan.",
            resolve=say("A chart of {hook:.0f} or more, or a written lift plan.", hook=Mass.of(hook / 0.75, "kg")),
            field=field,
            references=("site_practice",),
        )
    return fraction


def judge_wind(given: LiftGiven, limit: Speed | UnsetType, notes: Notes) -> Speed | UnsetType:
    """The gust that is expected beside the one in which the load may be lifted; the stronger of what is given."""
    gusts = [] if isinstance(given.expected_gust, UnsetType) else [given.expected_gust.si]
    if not isinstance(given.expected_wind, UnsetType):
        mean = given.expected_wind.si
        gusts.append(wind.gust_of(mean))
        notes.show("v_g", "Gust of the mean wind", f"{wind.GUST_OVER_MEAN:g} x {mean:.5g} m/s", gusts[-1], "m/s")
    if not gusts:
        return UNSET
    gust = Speed.from_si(max(gusts), "m/s")
    if isinstance(limit, UnsetType):
        notes.note(
            "wind_not_compared",
            say("Gusts to {gust:.3g us=mph} are expected; the wind that chart and load allow is not known.", gust=gust),
            resolve="Give `chart_wind_speed` of the crane's chart and `load_face_area`.",
            field="/chart_wind_speed",
        )
    elif above(gust.si, limit.si):
        notes.check(
            "wind_above_limit",
            say(
                "Gusts to {gust:.3g us=mph} are expected, {excess:.3g us=mph} above the {limit:.3g us=mph} in which a load of "
                "{mass:.4g} may be lifted.",
                gust=gust,
                excess=Speed.from_si(gust.si - limit.si, "m/s"),
                limit=limit,
                mass=given.load_mass,
            ),
            why="Wind swings the load and overloads the boom from the side; higher up it is stronger than where it is "
            "forecast, 10 m above ground.",
            do="Lift at an hour of less wind, measured at the tip of the boom, or on another day.",
            cleared_by="the lift supervisor",
            field="/expected_gust" if given.expected_gust is not UNSET else "/expected_wind",
            references=("en_13000_wind",),
        )
    return gust


def judge_single_lug(given: LiftGiven, notes: Notes) -> None:
    """One lug that is not plumb over the centre of gravity."""
    if len(given.pick_points) != 1 or given.centre_of_gravity is UNSET:
        return
    pick, centre = given.pick_points[0], given.centre_of_gravity
    off = math.hypot(pick.x.si - centre.x.si, pick.y.si - centre.y.si)
    if off > 1e-6:
        notes.show(
            "d_lug",
            "Lug off the plumb line of the centre of gravity",
            f"sqrt(({pick.x.si:.6g} - {centre.x.si:.6g})^2 + ({pick.y.si:.6g} - {centre.y.si:.6g})^2)",
            off,
            "m",
        )
        notes.note(
            "lug_not_plumb",
            say(
                "The lug is {off:.3g} off the plumb line of the centre of gravity: the load swings until "
                "it hangs plumb.",
                off=Length.of(off, "m"),
            ),
            field="/pick_points/0",
        )
