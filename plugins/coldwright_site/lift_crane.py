"""Crane lift: what hangs on the hook, the pull in each leg, and what a safe lift asks for."""

import math
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from msgspec import UNSET, UnsetType

from coldwright.contract import Allowed, Notes, refuse, tidy
from coldwright.contract.quantities import Angle, Force, Mass, Speed
from coldwright_site import tabulated, wind
from coldwright_site.lift_bridle import Bridle, hang
from coldwright_site.shapes import STANDARD_GRAVITY, metres

if TYPE_CHECKING:
    from coldwright_site.lift import LiftGiven

G = STANDARD_GRAVITY


def lifted_mass(given: "LiftGiven", notes: Notes) -> float:
    """Mass (kg) with what is added for the way it is known."""
    contingency = tabulated.LOAD_MASS_CONTINGENCY.rows[given.load_mass_basis]
    mass: float = given.load_mass.si * contingency
    notes.show(
        "m",
        "load with what is added for the way its mass is known",
        f"{given.load_mass.si:.6g} kg x {contingency:g} ({given.load_mass_basis})",
        mass,
        "kg",
    )
    return mass


def shackle_factor(degrees: float) -> float:
    """Share of a shackle's rated load at a pull of `degrees` off its line."""
    rows = tabulated.SHACKLE_SIDE_LOAD.rows
    for (low, share_low), (high, share_high) in pairwise(rows):
        if degrees <= high:
            return float(share_low + (share_high - share_low) * (degrees - low) / (high - low))
    return float(rows[-1][1])


def hook_mass(given: "LiftGiven", mass: float, notes: Notes) -> float:
    """All that hangs on the hook (kg): load with its dynamic factor, rigging, block and spreader."""
    spreader = 0.0 if given.spreader is UNSET else given.spreader.mass.si
    total = mass * given.dynamic_factor + given.rigging_mass.si + given.hook_block_mass.si + spreader
    notes.show(
        "m_hook",
        "hook load",
        f"{mass:.6g} kg x {given.dynamic_factor:g} + {given.rigging_mass.si:g} + {given.hook_block_mass.si:g} "
        f"+ {spreader:g} kg",
        total,
        "kg",
    )
    if given.hook_block_mass.si == 0:
        notes.check(
            "hook_block_not_given",
            "The hook block counts as 0 kg.",
            why="Block, ball and rope below the boom tip are part of what the crane's chart must carry.",
            resolve="Give `hook_block_mass`, or see that the chart already allows for the block.",
            field="/hook_block_mass",
        )
    return total


def judge_capacity(given: "LiftGiven", hook: float, notes: Notes) -> float | UnsetType:
    """Share of the crane's chart that is used."""
    if given.crane_chart_capacity is UNSET:
        notes.check(
            "no_chart",
            f"No chart capacity was given to hold the hook load of {hook:.0f} kg against.",
            resolve="Give `crane_chart_capacity` at the largest radius of the lift.",
            field="/crane_chart_capacity",
        )
        return UNSET
    chart = given.crane_chart_capacity.si
    fraction = tidy(hook / chart)
    notes.show("c", "share of the crane's chart", f"{hook:.6g} / {chart:.6g} kg", fraction)
    text = f"The hook load of {hook:.0f} kg is {fraction:.3f} of the chart's {chart:.0f} kg."
    field = "/crane_chart_capacity"
    if fraction > 1:
        notes.stop(
            "crane_overloaded",
            text,
            resolve=f"A set-up that carries at least {hook:.0f} kg at this radius, or a shorter radius.",
            field=field,
        )
    elif fraction > 0.9:
        notes.check(
            "critical_lift",
            text,
            why="Above 0.9 of the chart the trade treats the lift as critical.",
            resolve=f"A chart of {hook / 0.9:.0f} kg or more, or a critical lift plan signed by a competent person.",
            field=field,
            references=("site_practice",),
        )
    elif fraction > 0.75:
        notes.check(
            "written_plan",
            text,
            why="Above 0.75 of the chart the trade asks for a written plan.",
            resolve=f"A chart of {hook / 0.75:.0f} kg or more, or a written lift plan.",
            field=field,
            references=("site_practice",),
        )
    return fraction


def judge_power_line(given: "LiftGiven", notes: Notes) -> None:
    """The distance to an energised line."""
    if given.power_line is UNSET:
        return
    needed = tabulated.power_line_distance(given.power_line.voltage.si)
    if given.power_line.distance.si < needed:
        notes.stop(
            "power_line",
            f"The power line of {given.power_line.voltage} is {given.power_line.distance.si:.2f} m away; at least "
            f"{needed:.2f} m is asked for.",
            why="A boom, rope or load that comes near a live line kills whoever touches crane or load.",
            resolve="Have the line switched off and earthed by its owner, or move the lift.",
            field="/power_line/distance",
            references=("osha_1926_1408",),
        )


def wind_limit(given: "LiftGiven", notes: Notes) -> Speed | UnsetType:
    """Wind in which this load may be lifted."""
    if given.chart_wind_speed is UNSET or given.load_face_area is UNSET:
        return UNSET
    chart, mass, area = given.chart_wind_speed.si, given.load_mass.si, given.load_face_area.si
    limit = wind.lift_wind_limit(chart, mass, area, given.drag_coefficient)
    notes.show(
        "v",
        "wind limit of the lift",
        f"min({chart:.4g}, {chart:.4g} sqrt(1.2 x {mass / 1000:.5g} t / ({given.drag_coefficient:g} x {area:.5g} m2)))",
        limit,
        "m/s",
    )
    return Speed.from_si(limit, "m/s")


def bridle_of(given: "LiftGiven", weight: float, notes: Notes) -> Bridle | None:
    """Legs and tensions, when the picks are given; shows the working and judges angles and balance."""
    if not given.pick_points or given.centre_of_gravity is UNSET or given.hook_z is UNSET:
        return None
    bridle = hang(given.pick_points, given.centre_of_gravity, given.hook_z.si, weight)
    for index, pick in enumerate(given.pick_points):
        u = bridle.directions[index]
        notes.show(
            f"S_{pick.id}",
            f"length of leg {pick.id}; unit vector to the hook ({u[0]:.4f}, {u[1]:.4f}, {u[2]:.4f})",
            f"|hook ({', '.join(f'{c:.4g}' for c in bridle.hook)}) - pick ({', '.join(f'{c:.4g}' for c in pick.xyz)})|",
            bridle.lengths[index],
            "m",
        )
        _judge_angle(math.degrees(bridle.angles[index]), f"Leg {pick.id}", f"/pick_points/{index}", notes)
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
            f"greatest pull in leg {pick.id}; least {bridle.least[index] / 1000:.5g} kN, elastic "
            f"{bridle.elastic[index] / 1000:.5g} kN",
            f"greatest T with sum T u = (0, 0, {weight / 1000:.5g} kN), no T below 0",
            bridle.greatest[index] / 1000,
            "kN",
        )
    return bridle


def _judge_angle(degrees: float, what: str, field: str, notes: Notes) -> None:
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


def judge_balance(given: "LiftGiven", bridle: Bridle, notes: Notes) -> Angle | UnsetType:
    """Stability of the hanging load; answers the angle at which it hangs, unless it turns over."""
    centre = given.centre_of_gravity
    if centre is UNSET or given.hook_z is UNSET:
        return UNSET
    picks = given.pick_points
    offset = math.hypot(*given.hook_offset.xy)
    if len(picks) == 1:
        pivot = picks[0].z.si
        offset = max(offset, math.hypot(picks[0].x.si - centre.x.si, picks[0].y.si - centre.y.si))
    else:
        pivot = given.hook_z.si
    below = pivot - centre.z.si
    if below <= 0:
        notes.stop(
            "turns_over",
            f"The centre of gravity is {-below:.3g} m above the point that the load hangs from: it will turn over.",
            resolve="Pick from above the centre of gravity.",
            field="/centre_of_gravity/z",
            references=("site_statics",),
        )
        return UNSET
    if len(picks) > 1:
        _judge_low_picks(given, bridle, notes)
    tilt = math.atan(offset / below)
    degrees = tidy(math.degrees(tilt))
    notes.show("tilt", "angle at which the load hangs", f"atan({offset:.4g} m / {below:.4g} m)", degrees, "deg")
    if degrees > 5:
        notes.finding(
            "stop" if degrees > 10 else "check",
            "tilt",
            f"The load will hang {degrees:.1f} deg out of level.",
            why="A tilted load slides in its slings, swings when it leaves the ground and lands on one edge.",
            resolve=f"Bring the hook within {below * math.tan(math.radians(5)):.2f} m of the plumb line.",
            field="/hook_offset",
            references=("site_practice",),
        )
    return Angle.from_si(tilt, "deg")


def _judge_low_picks(given: "LiftGiven", bridle: Bridle, notes: Notes) -> None:
    centre = given.centre_of_gravity
    if centre is UNSET:
        return
    picks = given.pick_points
    above = centre.z.si - _height_at(given) if len(picks) == 2 else centre.z.si - min(p.z.si for p in picks)
    if above <= 1e-9:
        return
    more: dict[str, Any] = {"field": "/centre_of_gravity/z", "references": ("site_statics",)}
    if len(picks) == 2:
        notes.stop(
            "centre_of_gravity_above_picks",
            f"The centre of gravity is {above:.3g} m above the line of the two picks: the load turns over about it.",
            resolve="Pick above the centre of gravity, or with four legs and a spreader.",
            **more,
        )
        return
    if not _inside_legs(given, bridle):
        notes.stop(
            "centre_of_gravity_outside_legs",
            "At its own height the centre of gravity lies outside the legs: the load turns over.",
            resolve="A higher hook, wider picks, or the hook nearer to the plumb line.",
            **more,
        )
        return
    notes.check(
        "centre_of_gravity_above_picks",
        f"The centre of gravity is {above:.3g} m above the lowest pick.",
        why="The load hangs stable only as long as the legs cannot slide and stay taut.",
        resolve="Pick above the centre of gravity, or tie the legs to the load at its height.",
        **more,
    )


def _height_at(given: "LiftGiven") -> float:
    """Height of the line of two picks at the centre of gravity."""
    first, second = (p.xyz for p in given.pick_points)
    centre = given.centre_of_gravity
    if centre is UNSET:
        return 0.0
    along = (second[0] - first[0], second[1] - first[1])
    share = ((centre.x.si - first[0]) * along[0] + (centre.y.si - first[1]) * along[1]) / (
        along[0] ** 2 + along[1] ** 2
    )
    return first[2] + share * (second[2] - first[2])


def _inside_legs(given: "LiftGiven", bridle: Bridle) -> bool:
    """Whether the centre of gravity is inside the legs where they pass its height, hook offset counted."""
    from shapely import MultiPoint
    from shapely import Point as PlanPoint

    centre = given.centre_of_gravity
    if centre is UNSET:
        return True
    hook = (bridle.hook[0] + given.hook_offset.x.si, bridle.hook[1] + given.hook_offset.y.si, bridle.hook[2])
    crossing = []
    for pick in given.pick_points:
        x, y, z = pick.xyz
        share = max(0.0, (centre.z.si - z) / (hook[2] - z))
        crossing.append((round(x + share * (hook[0] - x), 9), round(y + share * (hook[1] - y), 9)))
    envelope = MultiPoint(crossing).convex_hull.buffer(1e-8)
    return bool(envelope.covers(PlanPoint(metres(centre.x), metres(centre.y))))


def judge_single_lug(given: "LiftGiven", notes: Notes) -> None:
    """One lug that is not plumb over the centre of gravity."""
    if len(given.pick_points) != 1 or given.centre_of_gravity is UNSET:
        return
    pick, centre = given.pick_points[0], given.centre_of_gravity
    off = math.hypot(pick.x.si - centre.x.si, pick.y.si - centre.y.si)
    if off > 1e-6:
        notes.note(
            "lug_not_plumb",
            f"The lug is {off:.3g} m off the plumb line of the centre of gravity: the load swings until it hangs "
            f"plumb.",
            field="/pick_points/0",
        )


def judge_use(share: float, what: str, code: str, field: str, notes: Notes) -> None:
    """A share of a rating: over 1 forbids, over 0.9 asks."""
    share = tidy(share)
    if share > 0.9:
        notes.finding(
            "stop" if share > 1 else "check",
            code,
            f"{what} is used to {share:.3f} of its rating.",
            resolve=f"Gear rated at least {share:.2f} times as high, steeper legs or more picks.",
            field=field,
            references=("site_practice",),
        )


def spreader_forces(given: "LiftGiven", weight: float, notes: Notes) -> dict[str, Force] | None:
    """Forces in a spreader with one drop at each end and a bridle of two legs above."""
    spreader = given.spreader
    if spreader is UNSET:
        return None
    span, height, offset = spreader.span.si, spreader.bridle_height.si, spreader.hook_offset.si
    a, b = span / 2 + offset, span / 2 - offset
    if min(a, b) <= 0:
        raise refuse(
            "/spreader/hook_offset",
            "The hook would be beyond the end of the spreader.",
            value=spreader.hook_offset,
            allowed=Allowed(above=-span / 2, below=span / 2, unit="m"),
        )
    drop_a, drop_b = weight * b / span, weight * a / span
    top_a, top_b = drop_a * math.hypot(a, height) / height, drop_b * math.hypot(b, height) / height
    push = drop_a * a / height
    for symbol, meaning, expression, value in (
        ("R_A", "drop at end a", f"W b / span = {weight / 1000:.5g} x {b:.4g} / {span:.4g}", drop_a),
        ("R_B", "drop at end b", f"W a / span = {weight / 1000:.5g} x {a:.4g} / {span:.4g}", drop_b),
        ("T_A", "top leg at end a", f"R_A sqrt(a^2 + h^2) / h, h = {height:.4g} m", top_a),
        ("T_B", "top leg at end b", f"R_B sqrt(b^2 + h^2) / h, h = {height:.4g} m", top_b),
        ("C", "compression of the spreader", f"R_A a / h = {drop_a / 1000:.5g} x {a:.4g} / {height:.4g}", push),
    ):
        notes.show(symbol, meaning, expression, value / 1000, "kN")
    for arm, end in ((a, "a"), (b, "b")):
        _judge_angle(
            math.degrees(math.atan2(height, arm)), f"The top leg at end {end} of the spreader", "/spreader", notes
        )
    if spreader.mass.si > 0:
        notes.assume(
            "spreader_mass_above",
            "Drops, top legs and compression are those of the load; the spreader's own mass counts in the hook load, "
            f"and adds about {spreader.mass.si * G / 2000:.3g} kN upright to each top leg.",
            basis="derived",
        )
    forces = {"drop_a": drop_a, "drop_b": drop_b, "top_leg_a": top_a, "top_leg_b": top_b, "compression": push}
    return {name: Force.from_si(value, "kN") for name, value in forces.items()}


def rated_load(tension: float, hitch_factor: float) -> Mass:
    """Vertical rating that a leg needs for a pull in N."""
    return Mass.from_si(tension / (G * hitch_factor), "kg")
