"""Placing machines: distances, air, stand and routes, with a plan drawing."""

from msgspec import UNSET, UnsetType
from msgspec.structs import replace

from coldwright.contract import Load, Notes, calculator
from coldwright.contract.quantities import Length
from coldwright_site.placement import air, clearances
from coldwright_site.placement.arrange import Arrangement, arrange
from coldwright_site.placement.drawing import draw
from coldwright_site.placement.examples import CORNER, PIT, YARD
from coldwright_site.placement.findings import FINDINGS, MEANING, judge_area, judge_gaps, judge_lanes, judge_overlaps
from coldwright_site.placement.given import PlacementGiven
from coldwright_site.placement.plan import lay_out, with_machines
from coldwright_site.placement.results import (
    ArrangedMachine,
    Clearance,
    LeastArea,
    Missing,
    MissingTogether,
    PlacementResults,
    RouteCrossing,
)
from coldwright_site.placement.routes import Route, find_route, judge_routes, route_ends
from coldwright_site.shared import cautions, tabulated
from coldwright_site.shared.references import ASHRAE_15, IFC, NFPA_37, PRACTICE, STATICS

STAND_ABOVE = 0.3
"""m of stand above snow or flood."""


@calculator(
    "site.placement",
    version="1.3.0",
    title="Placing machines: distances, air, stand and routes, with a plan drawing",
    references=(NFPA_37, IFC, ASHRAE_15, STATICS, PRACTICE),
    tables=(tabulated.PLACEMENT_CLEARANCES, tabulated.WORKING_SPACE, tabulated.POWER_LINE_CLEARANCE),
    hazards=("electrical", "general"),
    findings=FINDINGS,
    examples=(YARD, PIT, CORNER),
    load=Load.HEAVY,
)
def placement(given: PlacementGiven, notes: Notes) -> PlacementResults:
    """Distances between machines and what is round them, the air they draw, their stand, and routes of hose and cable.

    Least distances in plan; for intake and service sides the clear strip as wide as the side. The maker's distances go
    before the usual ones, never before those of fire and electrical rules. In a pit, or with walls taller than the
    discharge on two sides of a machine or more, the air comes down through the area between, less the discharges.
    Hot air that turns back warms the inlet by r dT / (1 - r). Routes run along and across, 0.3 m clear of what they go
    round; each crossing of a walkway or fire lane asks for ramps.

    With `arrange` positions are looked for: places on the sides of what is too near, in several orders from a corner of
    the free area, turned by quarters; every distance above is kept, and 0.6 m before blank sides. Where the first free
    place for each holds them not, other places and orders are tried, up to a fixed number. An area that then holds none
    is a `stop` with the metres by which it would have to be longer, and whether that is proved.
    """
    engines = any(m.engine for m in given.machines) or any(o.kind == "engine" for o in given.obstacles)
    notes.caution(*((cautions.ENGINE_EXHAUST,) if engines else ()), *cautions.PLACEMENT)
    notes.assume(
        "still_air",
        "The air is still; the share of hot air that turns back is the caller's; a maker's distances go before the "
        "usual ones.",
        basis="common_practice",
        references=("site_practice",),
    )
    plan = lay_out(given)
    arranged = arrange(given, plan) if given.arrange else None
    if arranged is not None and arranged.positions:
        given = replace(given, positions=arranged.positions, arrange=False)
        plan = with_machines(plan, given)
    judge_area(arranged, given, plan, notes)
    found = clearances.gaps(given, plan)
    judge_gaps(found, notes)
    judge_overlaps(plan, notes)
    judge_lanes(plan, notes)
    velocity = air.inlet_velocity(given, plan, notes)
    warm = air.recirculated(given, notes)
    routes = {
        name: route
        for name, ends in route_ends(given, plan)
        if (route := find_route(name, ends, plan, notes)) is not None
    }
    hands = {n: q.si for n, q in (("hose", given.hose_run), ("cable", given.cable_run)) if q is not UNSET}
    judge_routes(list(routes.values()), hands, notes)
    drawing = draw(given, plan, found, list(routes.values())) if given.drawing else None
    if given.drawing and drawing is None:
        notes.note("nothing_to_draw", "Neither machines, obstacles nor routes have a place.", field="/drawing")
    for gap in found:
        symbol = f"m_{gap.rule}"
        expression = f"{gap.distance:.5g} - {gap.required:.5g} m, {MEANING[gap.rule]}"
        notes.show(symbol, f"Margin {gap.pair[0]} to {gap.pair[1]}", expression, gap.margin, "m")
    return PlacementResults(
        positions=_positions(arranged),
        least_area=UNSET if arranged is None else _least_area(arranged),
        missing=_missing(arranged),
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


def _positions(arranged: Arrangement | None) -> tuple[ArrangedMachine, ...]:
    places = () if arranged is None else arranged.positions
    return tuple(ArrangedMachine(id=p.id, x=p.x, y=p.y, rotation=p.rotation) for p in places)


def _least_area(arranged: Arrangement) -> LeastArea:
    length, width = arranged.least
    return LeastArea(length=Length.of(length, "m"), width=Length.of(width, "m"))


def _missing(arranged: Arrangement | None) -> Missing | UnsetType:
    if arranged is None or arranged.positions:
        return UNSET
    along_x, along_y = (UNSET if lack is None else Length.of(lack, "m") for lack in arranged.lacks)
    both = arranged.together
    return Missing(
        along_x=along_x,
        along_y=along_y,
        together=UNSET
        if both is None
        else MissingTogether(along_x=Length.of(both[0], "m"), along_y=Length.of(both[1], "m")),
        proved=arranged.proved,
    )


def _clearance(gap: clearances.Gap) -> Clearance:
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
        "Height of the stand",
        f"max({given.snow_depth.si:.4g}, {given.flood_level.si:.4g}) + {STAND_ABOVE} m",
        height,
        "m",
    )
    return Length.from_si(height, "m")
