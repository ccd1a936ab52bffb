"""Placing machines: distances, air, stand and routes, with a plan drawing."""

from typing import Annotated, Literal

from msgspec import UNSET, UnsetType

from coldwright.contract import Example, Load, Notes, Results, about, calculator, finding
from coldwright.contract.quantities import Length, Temperature, Velocity
from coldwright_site import cautions, placement_air, placement_rules, tabulated
from coldwright_site.placement_drawing import draw
from coldwright_site.placement_given import Face, PlacementGiven
from coldwright_site.placement_plan import lay_out
from coldwright_site.placement_routes import Route, find_route, judge_routes
from coldwright_site.references import ASHRAE_15, IFC, NFPA_37, PRACTICE, STATICS

STAND_ABOVE = 0.3
"""m of stand above snow or flood."""


class Clearance(Results, frozen=True, kw_only=True):
    """A distance between two things and what is asked for."""

    pair: Annotated[tuple[str, ...], about("The two names.")]
    distance: Annotated[Length, about("Least distance.")]
    required: Annotated[Length, about("Distance asked for.")]
    margin: Annotated[Length, about("Distance less what is asked for.")]
    rule: Annotated[str, about("Which rule asks.")]
    face: Annotated[Face, about("Side of the first, where the rule is of a side.")] | UnsetType = UNSET


class RouteCrossing(Results, frozen=True, kw_only=True):
    """A place where hoses or cables cross a way; a set of ramps each."""

    route: Annotated[Literal["hose", "cable"], about("What crosses.")]
    obstacle: Annotated[str, about("The way.")]
    x: Annotated[Length, about("Along x.")]
    y: Annotated[Length, about("Along y.")]


class PlacementResults(Results, frozen=True, kw_only=True):
    """Distances, air, stand and routes."""

    clearances: Annotated[tuple[Clearance, ...], about("Every distance that a rule speaks of.")] = ()
    smallest_margin: Annotated[Length, about("The least of the margins.")] | UnsetType = UNSET
    inlet_velocity: Annotated[Velocity, about("Of the air down into a pit or between walls.")] | UnsetType = UNSET
    recirculated_air_temperature: Annotated[Temperature, about("Air that the group draws.")] | UnsetType = UNSET
    stand_height: Annotated[Length, about("Of the stand, above grade.")]
    crossings: Annotated[tuple[RouteCrossing, ...], about("Of hoses, then of cables.")] = ()
    hose_length_needed: Annotated[Length, about("Of the hose route, one way.")] | UnsetType = UNSET
    cable_length_needed: Annotated[Length, about("Of the cable route.")] | UnsetType = UNSET
    plan_svg: Annotated[str, about("Plan drawing to scale, SVG, A4 across; with `drawing`.")] | UnsetType = UNSET


def _m(value: float) -> dict[str, object]:
    return {"value": value, "unit": "m"}


def _corners(*points: tuple[float, float]) -> list[dict[str, object]]:
    return [{"x": _m(x), "y": _m(y)} for x, y in points]


def _machine(name: str) -> dict[str, object]:
    return {
        "id": name,
        "length": _m(5.8),
        "width": _m(2.2),
        "height": _m(2.5),
        "intake_faces": ["left", "right"],
        "service_faces": ["front"],
        "air_flow": {"value": 24, "unit": "m3/s"},
        "heat_rejected": {"value": 420, "unit": "kW"},
        "voltage_to_ground": {"value": 277, "unit": "V"},
        "ambient_limit": {"value": 43, "unit": "degC"},
    }


YARD = Example(
    "yard",
    "Two machines in a yard beside a hall, with hoses and cables. Invented.",
    {
        "machines": [_machine("Machine 1"), _machine("Machine 2")],
        "positions": [
            {"id": "Machine 1", "x": _m(6), "y": _m(5)},
            {"id": "Machine 2", "x": _m(6), "y": _m(10)},
        ],
        "obstacles": [
            {
                "id": "Hall",
                "kind": "wall",
                "height": _m(7),
                "polygon": _corners((-8, -6), (14, -6), (14, -1), (-8, -1)),
            },
            {"id": "Door", "kind": "opening", "polygon": _corners((-4, -1), (-2, -1))},
            {"id": "Path", "kind": "walkway", "polygon": _corners((-3.5, -1), (-2, -1), (-2, 16), (-3.5, 16))},
            {
                "id": "Generator",
                "kind": "engine",
                "height": _m(2.2),
                "polygon": _corners((13, 9), (16, 9), (16, 11), (13, 11)),
            },
        ],
        "ambient": {"value": 35, "unit": "degC"},
        "recirculation_fraction": 0.1,
        "hose_route": {"from": {"x": _m(3.1), "y": _m(5)}, "to": {"x": _m(-6), "y": _m(-1)}},
        "cable_route": {"from": {"x": _m(13), "y": _m(10)}, "to": {"x": _m(8.9), "y": _m(5.5)}},
        "hose_run": _m(30),
        "drawing": True,
    },
)
PIT = Example(
    "pit",
    "A machine in a well, no positions given. Invented.",
    {
        "machines": [_machine("Machine")],
        "pit": {"area": {"value": 30, "unit": "m2"}, "depth": _m(3)},
        "discharge_area": {"value": 7, "unit": "m2"},
        "ambient": {"value": 33, "unit": "degC"},
        "recirculation_fraction": 0.3,
        "snow_depth": _m(0.2),
    },
)


@calculator(
    "site.placement",
    version="1.0.0",
    title="Placing machines: distances, air, stand and routes, with a plan drawing",
    references=(NFPA_37, IFC, ASHRAE_15, STATICS, PRACTICE),
    tables=(tabulated.PLACEMENT_CLEARANCES, tabulated.WORKING_SPACE, tabulated.POWER_LINE_CLEARANCE),
    hazards=("electrical", "environment", "general"),
    findings=(
        finding("too_near", ("stop", "check"), "a distance is less than what a rule asks for"),
        finding("overlap", "stop", "two things stand in each other"),
        finding("exit_blocked", "stop", "a door, window or walkway is blocked"),
        finding("fire_lane_blocked", "stop", "something stands in a fire lane"),
        finding("fire_lane_narrow", "check", "a fire lane is narrower than usual"),
        finding("fire_lane_low", "stop", "something hangs low over a fire lane"),
        finding("edge_depth_not_given", "check", "an edge without depth was not tested"),
        finding("discharge_under_overhang", "check", "hot air blows up against something"),
        finding("air_flow_not_given", "note", "the speed of the air into a well was left out"),
        finding("inlet_velocity", ("stop", "check"), "the air comes down faster than 3 or 2 m/s"),
        finding("too_warm", "stop", "a machine would draw warmer air than it takes"),
        finding("ramp_needed", "note", "a route crosses a way"),
        finding("route_blocked", "check", "no route was found"),
        finding("too_short", "check", "hose or cable at hand is too short"),
        finding("one_ramp_channel", "check", "hose and cable cross a way in one place"),
        finding("nothing_to_draw", "note", "there is nothing with a place to draw"),
    ),
    examples=(YARD, PIT),
    load=Load.HEAVY,
)
def placement(given: PlacementGiven, notes: Notes) -> PlacementResults:
    """Distances between machines and what is round them, the air they draw, their stand, and routes of hose and cable.

    Least distances in plan; for intake and service sides the clear strip as wide as the side. The maker's distances go
    before the usual ones, never before those of fire and electrical rules. In a pit, or with walls taller than the
    discharge on two sides of a machine or more, the air comes down through the area between, less the discharges.
    Hot air that turns back warms the inlet by r dT / (1 - r). Routes run along and across, 0.3 m clear of what they go
    round; each crossing of a walkway or fire lane asks for ramps.
    """
    notes.caution(*cautions.PLACEMENT)
    notes.assume(
        "still_air",
        "The air is still; the share of hot air that turns back is the caller's; a maker's distances go before the "
        "usual ones.",
        basis="common_practice",
        references=("site_practice",),
    )
    plan = lay_out(given)
    found = placement_rules.gaps(given, plan)
    placement_rules.judge_gaps(found, notes)
    placement_rules.judge_overlaps(plan, notes)
    placement_rules.judge_lanes(plan, notes)
    velocity = placement_air.inlet_velocity(given, plan, notes)
    warm = placement_air.recirculated(given, notes)
    routes = {
        name: route
        for name, ends in (("hose", given.hose_route), ("cable", given.cable_route))
        if ends is not UNSET and (route := find_route(name, ends, plan, notes)) is not None
    }
    hands = {n: q.si for n, q in (("hose", given.hose_run), ("cable", given.cable_run)) if q is not UNSET}
    judge_routes(list(routes.values()), hands, notes)
    drawing = draw(given, plan, found, list(routes.values())) if given.drawing else None
    if given.drawing and drawing is None:
        notes.note("nothing_to_draw", "Neither machines, obstacles nor routes have a place.", field="/drawing")
    for gap in found:
        symbol = f"m_{gap.rule}"
        expression = f"{gap.distance:.5g} - {gap.required:.5g} m, {placement_rules.MEANING[gap.rule]}"
        notes.show(symbol, f"margin {gap.pair[0]} to {gap.pair[1]}", expression, gap.margin, "m")
    return PlacementResults(
        clearances=tuple(_clearance(g) for g in found),
        smallest_margin=Length.from_si(min(g.margin for g in found), "m") if found else UNSET,
        inlet_velocity=velocity,
        recirculated_air_temperature=warm,
        stand_height=_stand(given, notes),
        crossings=tuple(_crossings(routes)),
        hose_length_needed=_length(routes.get("hose")),
        cable_length_needed=_length(routes.get("cable")),
        plan_svg=UNSET if drawing is None else drawing,
    )


def _clearance(gap: placement_rules.Gap) -> Clearance:
    return Clearance(
        pair=gap.pair,
        distance=Length.from_si(gap.distance, "m"),
        required=Length.from_si(gap.required, "m"),
        margin=Length.from_si(gap.margin, "m"),
        rule=gap.rule,
        face=gap.face or UNSET,
    )


def _crossings(routes: dict[str, Route]) -> list[RouteCrossing]:
    return [
        RouteCrossing(
            route="hose" if name == "hose" else "cable",
            obstacle=c.obstacle.id,
            x=Length.from_si(c.x, "m"),
            y=Length.from_si(c.y, "m"),
        )
        for name, route in routes.items()
        for c in route.crossings
    ]


def _length(route: Route | None) -> Length | UnsetType:
    return UNSET if route is None else Length.from_si(route.length, "m")


def _stand(given: PlacementGiven, notes: Notes) -> Length:
    height = max(given.snow_depth.si, given.flood_level.si) + STAND_ABOVE
    notes.show(
        "h",
        "height of the stand",
        f"max({given.snow_depth.si:.4g}, {given.flood_level.si:.4g}) + {STAND_ABOVE} m",
        height,
        "m",
    )
    return Length.from_si(height, "m")
