"""The plan drawing: positions, clear strips, routes and missing clearances, as plain SVG."""

import math
from typing import Any

from msgspec import UNSET

from coldwright.contract import lazy
from coldwright_site.placement.clearances import Gap, required, working_space
from coldwright_site.placement.given import Face, ObstacleKind, PlacementGiven
from coldwright_site.placement.plan import Plan, Standing, faces_that
from coldwright_site.placement.routes import Route
from coldwright_site.placement.sheet import (
    AIR,
    CABLE,
    FOOT,
    GREY,
    HOSE,
    INK,
    LACK,
    PAPER,
    Sheet,
    feet_and_inches,
    words,
)

shapely = lazy("shapely")

LETTER, LETTERS = 1.8, 26
"""mm of a bold letter of a name, about; letters of the alphabet."""
AROUND = 3.0
"""m shown round what the drawing is about."""
STYLES: dict[ObstacleKind, tuple[str, dict[str, str]]] = {
    "fire_lane": ("fire lane", {"fill": "#f4dedb", "stroke": LACK, "stroke_width": "0.3", "stroke_dasharray": "3 1.2"}),
    "walkway": ("walkway", {"fill": "url(#level)", "stroke": GREY, "stroke_width": "0.3"}),
    "edge": ("edge, trench", {"fill": "url(#wide-hatch)", "stroke": INK, "stroke_width": "0.6", "stroke_dasharray": "4 1 1 1"}),
    "wall": ("wall, building", {"fill": "#9a9a9a", "stroke": INK, "stroke_width": "0.5"}),
    "combustible_wall": ("wall that burns", {"fill": "url(#hatch)", "stroke": INK, "stroke_width": "0.5"}),
    "opening": ("door, window", {"fill": PAPER, "stroke": INK, "stroke_width": "1.1"}),
    "air_intake": ("air intake", {"fill": "url(#upright)", "stroke": AIR, "stroke_width": "0.9"}),
    "engine": ("engine", {"fill": "#dcdcdc", "stroke": INK, "stroke_width": "0.7"}),
    "tank": ("tank", {"fill": "#eeeeee", "stroke": INK, "stroke_width": "0.7", "stroke_dasharray": "2 0.8"}),
    "hydrant": ("hydrant", {"fill": LACK, "stroke": INK, "stroke_width": "0.4"}),
    "power_line": ("power line", {"fill": "none", "stroke": INK, "stroke_width": "0.5", "stroke_dasharray": "6 1.5 1 1.5"}),
    "cable": ("cable laid", {"fill": "none", "stroke": CABLE, "stroke_width": "0.6"}),
}  # fmt: skip
STRIP = {"fill": "#e8f0f5", "stroke": AIR, "stroke_width": "0.25", "stroke_dasharray": "1.5 1"}
LACKING = {"fill": "url(#lack-hatch)", "stroke": LACK, "stroke_width": "0.5"}
HOSE_STYLES = (
    {"fill": "none", "stroke": HOSE, "stroke_width": "1.5", "stroke_linejoin": "round"},
    {"fill": "none", "stroke": PAPER, "stroke_width": "0.6", "stroke_linejoin": "round"},
)
CABLE_STYLE = {"fill": "none", "stroke": CABLE, "stroke_width": "0.7", "stroke_dasharray": "3 1 0.6 1"}
AIR_SIDE = {"stroke": AIR, "stroke_width": "1.6"}
WORK_SIDE = {"stroke": INK, "stroke_width": "1.8", "stroke_dasharray": "0.9 0.9"}
FREE = {"fill": "#f7f7f2", "stroke": INK, "stroke_width": "0.4", "stroke_dasharray": "5 1.5"}
MACHINE = {"fill": PAPER, "stroke": INK, "stroke_width": "0.8"}


def draw(given: PlacementGiven, plan: Plan, found: list[Gap], routes: list[Route]) -> str | None:
    """The drawing as SVG; None when nothing has a place. Its figures are in feet where the machines' sizes are."""
    strips = _strips(given, plan, found)
    about = [s.footprint for s in plan.machines] + [r.line for r in routes] + [s for s, _ in strips]
    about += [g.line for g in found if g.lacks]
    if plan.area is not None:
        about.append(plan.area)
    shown = about or [o.shape for o in plan.obstacles]
    if not shown:
        return None
    left, low, right, high = (float(b) for b in shapely.total_bounds(shown))
    focus = (left - AROUND, low - AROUND, right + AROUND, high + AROUND)
    lists = any(g.lacks for g in found)
    sheet = Sheet(focus, "Plan of the placement", feet=_in_feet(given), whole=lists)
    if plan.area is not None:
        sheet.shape(plan.area, **FREE)
    _obstacles(sheet, plan, ("fire_lane", "walkway", "edge"))
    for strip, _ in strips:
        sheet.shape(strip, **STRIP)
    for strip, lacks in strips:
        if lacks:
            sheet.shape(strip, **LACKING)
    _obstacles(sheet, plan, tuple(k for k in STYLES if k not in ("fire_lane", "walkway", "edge")))
    for standing in plan.machines:
        _machine(sheet, standing)
    _overlaps(sheet, plan)
    for route in routes:
        _route(sheet, route)
    _labels(sheet, plan)
    for route in routes:
        _ramps(sheet, route)
    lacking = _number([g for g in found if g.lacks])
    for index, group in enumerate(lacking, 1):
        _lack(sheet, group, str(index))
    sheet.frame()
    _column(sheet, given, plan, routes, lacking)
    return sheet.text()


def _in_feet(given: PlacementGiven) -> bool:
    return bool(given.machines) and given.machines[0].length.unit in ("ft", "in")


def _strips(given: PlacementGiven, plan: Plan, found: list[Gap]) -> list[tuple[Any, bool]]:
    """The clear strip before every face that has a use, and whether something stands in it."""
    lacking = {(g.pair[0], g.face) for g in found if g.lacks and g.face}
    strips = []
    for standing in plan.machines:
        machine = standing.machine
        depths: dict[Face, float] = {}
        for face in faces_that(standing, "intake"):
            depths[face] = required("intake_to_wall", given)
        for face in faces_that(standing, "service"):
            depth = required("service_access", given)
            if machine.voltage_to_ground is not UNSET:
                depth = max(depth, working_space(machine.voltage_to_ground.si, machine.working_space_condition))
            depths[face] = max(depth, depths.get(face, 0.0))
        strips += [(standing.strip(f, d), (machine.id, f) in lacking) for f, d in depths.items() if d > 0]
    return strips


def _obstacles(sheet: Sheet, plan: Plan, kinds: tuple[ObstacleKind, ...]) -> None:
    for kind in kinds:
        for obstacle in plan.of_kind(kind):
            style = dict(STYLES[kind][1])
            if obstacle.given.underside is not UNSET:
                style |= {"fill": "none", "stroke_dasharray": "2 2"}
            sheet.shape(obstacle.shape, **style)


def _machine(sheet: Sheet, standing: Standing) -> None:
    sheet.shape(standing.footprint, **MACHINE)
    for face in faces_that(standing, "intake"):
        sheet.shape(standing.sides[face], **AIR_SIDE)
    for face in faces_that(standing, "service"):
        sheet.shape(standing.sides[face], **WORK_SIDE)


def _overlaps(sheet: Sheet, plan: Plan) -> None:
    """Where machines stand in each other or in something."""
    inside = ("wall", "combustible_wall", "engine", "tank", "walkway", "fire_lane")
    shapes = [(s.footprint, s.machine.height.si) for s in plan.machines]
    for index, (shape, height) in enumerate(shapes):
        others = [s for s, _ in shapes[index + 1 :]]
        others += [o.shape for o in plan.obstacles if o.given.kind in inside and not o.overhead_of(height)]
        for other in others:
            common = shape.intersection(other)
            if common.area > 1e-6:
                sheet.shape(common, **LACKING)


def _route(sheet: Sheet, route: Route) -> None:
    if route.name == "hose":
        for style in HOSE_STYLES:
            sheet.shape(route.line, **style)
    else:
        sheet.shape(route.line, **CABLE_STYLE)


def _ramps(sheet: Sheet, route: Route) -> None:
    for crossing in route.crossings:
        x, y = sheet.at(crossing.x, crossing.y)
        sheet.put(
            "rect",
            x=f"{x - 1.8:.2f}",
            y=f"{y - 1.8:.2f}",
            width="3.6",
            height="3.6",
            fill=PAPER,
            stroke=HOSE if route.name == "hose" else CABLE,
            stroke_width="0.5",
        )
        sheet.label(x, y + 0.9, "R", 2.6)


def _number(lacking: list[Gap]) -> list[list[Gap]]:
    """Lacks of one pair at one place share a number."""
    groups: dict[tuple[frozenset[str], float], list[Gap]] = {}
    for gap in lacking:
        groups.setdefault((frozenset(gap.pair), round(gap.distance, 3)), []).append(gap)
    return list(groups.values())


def _lack(sheet: Sheet, group: list[Gap], text: str) -> None:
    line = group[0].line
    sheet.shape(line, stroke=LACK, stroke_width="0.7")
    middle = line.interpolate(0.5, normalized=True)
    if middle.within(sheet.window):
        sheet.badge(*sheet.at(middle.x, middle.y), text)


def _labels(sheet: Sheet, plan: Plan) -> None:
    for obstacle in plan.obstacles:
        seen = obstacle.shape.intersection(sheet.window)
        if not seen.is_empty:
            point = seen.representative_point()
            x, y = sheet.at(point.x, point.y)
            sheet.label(x, y + (1 if obstacle.shape.geom_type == "Polygon" else -1.8), words(obstacle.id), 2.6)
    keys = _keys(sheet, plan)
    for standing in plan.machines:
        machine, (x, y) = standing.machine, sheet.at(standing.position.x.si, standing.position.y.si)
        if machine.id in keys:
            sheet.label(x, y + 1.1, keys[machine.id], 3.2, weight="bold")
        else:
            sheet.label(x, y, words(machine.id), 3.2, weight="bold")
            sheet.label(x, y + 3.6, _size(standing, sheet), 2.4, GREY)


def _size(standing: Standing, sheet: Sheet) -> str:
    return _by(standing.machine.length.si, standing.machine.width.si, feet=sheet.feet)


def _keys(sheet: Sheet, plan: Plan) -> dict[str, str]:
    """A letter for each machine whose name would be wider than it is drawn: the column says who it is."""
    found: dict[str, str] = {}
    for standing in plan.machines:
        left, _, right, _ = standing.footprint.bounds
        if LETTER * len(words(standing.machine.id)) > (right - left) * sheet.per_metre:
            found[standing.machine.id] = chr(ord("A") + len(found)) if len(found) < LETTERS else f"A{len(found)}"
    return found


def _by(length: float, width: float, *, feet: bool) -> str:
    return f"{feet_and_inches(length)} x {feet_and_inches(width)}" if feet else f"{length:.2f} x {width:.2f} m"


def _legend(
    plan: Plan, routes: list[Route], *, lacks: bool, feet: bool
) -> list[tuple[str, str, tuple[dict[str, str], ...]]]:
    """What the drawing shows, and nothing else."""
    entries: list[tuple[str, str, tuple[dict[str, str], ...]]] = []
    machines = [s.machine for s in plan.machines]
    if plan.area is not None:
        entries.append(("area", "free area", (FREE,)))
    if machines:
        entries.append(("area", "machine", (MACHINE,)))
    if any(m.intake_faces for m in machines):
        entries.append(("line", "air side", (AIR_SIDE,)))
    if any(m.service_faces for m in machines):
        entries.append(("line", "work side", (WORK_SIDE,)))
    if any(m.intake_faces or m.service_faces for m in machines):
        entries.append(("area", "keep clear", (STRIP,)))
    entries += [("area", name, (style,)) for kind, (name, style) in STYLES.items() if any(plan.of_kind(kind))]
    entries += [
        ("line", f"{r.name}, {_long(r.length, feet=feet)}", HOSE_STYLES if r.name == "hose" else (CABLE_STYLE,))
        for r in routes
    ]
    return [*entries, ("area", "too near, in the way", (LACKING,))] if lacks else entries


def _long(length: float, *, feet: bool) -> str:
    return f"{math.ceil(length / FOOT)} ft" if feet else f"{length:.1f} m"


def _lacks(gap: Gap, *, feet: bool) -> str:
    """What is there and what is asked for; in inches never rounded so that the two look alike."""
    if feet:
        return f"{feet_and_inches(gap.distance, math.floor)} / {feet_and_inches(gap.required, math.ceil)}"
    return f"{gap.distance:.2f} / {gap.required:.2f}"


def _column(sheet: Sheet, given: PlacementGiven, plan: Plan, routes: list[Route], lacking: list[list[Gap]]) -> None:
    sheet.heading("Plan of the placement", 4.4)
    sheet.paragraph("Least distances in plan. R: set of ramps.", GREY)
    sheet.heading("Legend")
    sheet.legend(_legend(plan, routes, lacks=bool(lacking), feet=sheet.feet))
    if keys := _keys(sheet, plan):
        sheet.heading("Machines")
        for standing in plan.machines:
            if standing.machine.id in keys:
                name = words(standing.machine.id, 40)
                sheet.paragraph(f"{keys[standing.machine.id]}  {name}, {_size(standing, sheet)}")
    if lacking:
        sheet.heading("Too near: there / asked for" if sheet.feet else "Too near: m there / m asked for")
    for index, group in enumerate(lacking, 1):
        if sheet.room() < 26:
            sheet.paragraph(f"and {len(lacking) - index + 1} more: see the findings.", LACK)
            break
        most = max(group, key=lambda g: g.required)
        pair = f"{words(most.pair[0], 15)} – {words(most.pair[1], 15)}"
        sheet.numbered(str(index), f"{pair}: {_lacks(most, feet=sheet.feet)}")
    if plan.placed and not lacking and given.machines:
        sheet.heading("No distance is too small.")
    sheet.heading("A planning aid.", 2.8)
    sheet.paragraph("The competent person on site, the makers' data, permits and local rules prevail.", GREY)
