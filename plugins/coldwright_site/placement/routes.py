"""Routes of hoses and cables: the shortest way along and across, round what stands in the way."""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from msgspec import UNSET

from coldwright.contract import Notes, lazy, refuse, say
from coldwright.contract.quantities import Length
from coldwright_basis.compare import above
from coldwright_site.placement.given import Face, PlacementGiven, RouteGiven
from coldwright_site.placement.plan import Obstacle, Plan, Standing
from coldwright_site.shared.given import Point

graph = lazy("scipy.sparse.csgraph")
np = lazy("numpy")
shapely = lazy("shapely")
sparse = lazy("scipy.sparse")

GAP = 0.3
"""m kept from what the route goes round."""
BEND = 1e-4
"""m that a bend counts, so that of equal ways the straighter is taken."""
MOST_SOLIDS = 60
SKIN = 1e-3
"""m of what an end stands at that the route may touch."""
HEADROOM = 2.5
"""m, under which a roof or pipe bridge is in the way."""
SHY = 1e-5
"""Share by which ways and doors lengthen a route, so that of equal ones the freer is taken."""


@dataclass(frozen=True)
class Crossing:
    """A place where a route crosses a way."""

    route: str
    obstacle: Obstacle
    x: float
    y: float


@dataclass(frozen=True)
class Route:
    """A route that was found."""

    name: str
    line: Any
    crossings: tuple[Crossing, ...]

    @property
    def length(self) -> float:
        """Its length in m."""
        return float(self.line.length)


def route_ends(given: PlacementGiven, plan: Plan) -> Iterator[tuple[str, RouteGiven]]:
    """Ends of the hoses and of the cables: as given, or from the machines to the points of load and supply."""
    machines = [s for s in plan.machines if not s.machine.engine]
    hose, cable = given.hose_route, given.cable_route
    if hose is UNSET and given.load_point is not UNSET and machines:
        far = shapely.Point(given.load_point.xy)
        nearest = min((_side(s, "hose") for s in machines), key=far.distance)
        hose = RouteGiven(start=_point(nearest), end=given.load_point)
    start = _supply(given, plan)
    if cable is UNSET and start is not None and machines:
        near = shapely.Point(start.xy)
        farthest = max((_side(s, "cable") for s in machines), key=near.distance)
        cable = RouteGiven(start=start, end=_point(farthest))
    for name, ends in (("hose", hose), ("cable", cable)):
        if ends is not UNSET:
            yield name, ends


def _side(standing: Standing, what: str) -> Any:
    """Where hose or cable meets a machine: the side that people work at, for hose a blank end if there is one."""
    machine = standing.machine
    service = machine.service_faces[0] if machine.service_faces else "front"
    blank = [f for f in ("rear", "front") if f not in (*machine.intake_faces, *machine.service_faces)]
    face: Face = service if what == "cable" or not blank else ("rear" if blank[0] == "rear" else "front")
    return standing.sides[face].interpolate(0.5, normalized=True)


def _supply(given: PlacementGiven, plan: Plan) -> Point | None:
    if given.supply_point is not UNSET:
        return given.supply_point
    engine = next((s for s in plan.machines if s.machine.engine), None)
    if engine is None or plan.area is None:  # on the least rectangle the machines stand nearer than they will
        return None
    return _point(_side(engine, "cable"))


def _point(at: Any) -> Point:
    return Point(x=Length.of(float(at.x), "m"), y=Length.of(float(at.y), "m"))


def find_route(name: str, ends: RouteGiven, plan: Plan, notes: Notes) -> Route | None:
    """The shortest orthogonal route; None when everything is shut off."""
    if math.dist(ends.start.xy, ends.end.xy) < SKIN:
        raise refuse(f"/{name}_route/to", "The route ends where it begins.", value=ends.end)
    line = _shortest(ends.start.xy, ends.end.xy, plan)
    if line is None:
        notes.check(
            "route_blocked",
            f"No way along and across was found for the {name}.",
            resolve="Move an end, or lead it over by a bridge.",
            field=f"/{name}_route",
            references=("site_practice",),
        )
        return None
    crossings = tuple(
        Crossing(name, way, *point) for way in plan.of_kind("walkway", "fire_lane") for point in _meet(line, way.shape)
    )
    start, end = ends.start.xy, ends.end.xy
    notes.show(
        f"L_{name}",
        f"Length of the {name} route",
        f"shortest way along and across from ({start[0]:.4g}, {start[1]:.4g}) to ({end[0]:.4g}, {end[1]:.4g}) m",
        float(line.length),
        "m",
    )
    return Route(name, line, crossings)


def _meet(line: Any, way: Any) -> list[tuple[float, float]]:
    """Middles of the pieces of the route that lie on a way."""
    met = line.intersection(way)
    if met.is_empty:
        return []
    parts = shapely.get_parts(shapely.line_merge(met) if "LineString" in met.geom_type else met)
    on_line = way.geom_type != "Polygon"
    long_enough = [p for p in parts if on_line or p.length > 1e-6]
    middles = [p if p.geom_type == "Point" else p.interpolate(0.5, normalized=True) for p in long_enough]
    return [(float(m.x), float(m.y)) for m in middles]


def _solids(start: tuple[float, float], end: tuple[float, float], plan: Plan) -> list[Any]:
    """What the route goes round: the nearest, when there are very many, less the skin of what an end stands at."""
    solids = [s.footprint for s in plan.machines]
    solids += [
        o.shape
        for o in plan.of_kind("wall", "combustible_wall", "engine", "tank", "hydrant", "edge")
        if not o.overhead_of(HEADROOM)
    ]
    direct = shapely.linestrings([start, end])
    ends = shapely.multipoints([start, end])
    cores = (s.buffer(-SKIN) if s.distance(ends) <= SKIN else s for s in solids)
    return sorted((c for c in cores if not c.is_empty and c.distance(ends) > 0), key=direct.distance)[:MOST_SOLIDS]


def _shortest(start: tuple[float, float], end: tuple[float, float], plan: Plan) -> Any | None:
    solids = _solids(start, end, plan)
    xs, ys = [start[0], end[0]], [start[1], end[1]]
    for solid in solids:
        left, low, right, high = solid.bounds
        xs += [left - GAP, right + GAP]
        ys += [low - GAP, high + GAP]
    xs, ys = sorted(set(xs)), sorted(set(ys))
    nodes = _search(xs, ys, start, end, solids, [o.shape for o in plan.of_kind("walkway", "fire_lane", "opening")])
    if nodes is None:
        return None
    return shapely.LineString([(xs[i], ys[j]) for i, j in nodes]).simplify(0)


def _search(
    xs: list[float], ys: list[float], start: Any, end: Any, solids: list[Any], ways: list[Any]
) -> list[tuple[int, int]] | None:
    """Dijkstra over the lines through all corners; two layers, one for each direction, joined by the cost of a bend."""
    columns, rows = len(xs), len(ys)
    count = columns * rows
    number = np.arange(count).reshape(columns, rows)
    place = np.column_stack([np.repeat(xs, rows), np.tile(ys, columns)]).reshape(columns, rows, 2)
    along = np.stack([place[:-1], place[1:]], axis=2).reshape(-1, 2, 2)
    across = np.stack([place[:, :-1], place[:, 1:]], axis=2).reshape(-1, 2, 2)
    tails = np.concatenate([number[:-1].ravel(), number[:, :-1].ravel() + count])
    heads = np.concatenate([number[1:].ravel(), number[:, 1:].ravel() + count])
    segments = np.concatenate([along, across])
    lengths = np.abs(segments[:, 1] - segments[:, 0]).sum(axis=1)  # each runs along an axis
    free = np.ones(len(segments), dtype=bool)
    for solid in solids:
        free[_meeting(solid, segments)] = False
    for way in ways:
        lengths[_meeting(way, segments)] *= 1 + SHY
    bends = np.arange(count)
    tails = np.concatenate([tails[free], bends])
    heads = np.concatenate([heads[free], bends + count])
    costs = np.concatenate([lengths[free], np.full(count, BEND)])
    order = np.argsort(tails, kind="stable")  # by rows, as the search wants them: scipy sorts them in twice the time
    starts = np.searchsorted(tails[order], np.arange(2 * count + 1))
    matrix = sparse.csr_matrix((costs[order], heads[order], starts), shape=(2 * count, 2 * count))
    source = xs.index(start[0]) * rows + ys.index(start[1])
    target = xs.index(end[0]) * rows + ys.index(end[1])
    costs, before = graph.dijkstra(matrix, directed=False, indices=source, return_predecessors=True)
    if not np.isfinite(costs[target]):
        return None
    path = [target]
    while path[-1] != source:
        path.append(int(before[path[-1]]))
    steps = [divmod(node % count, rows) for node in reversed(path)]
    return [s for k, s in enumerate(steps) if k == 0 or s != steps[k - 1]]


def _meeting(shape: Any, segments: Any) -> Any:
    """Numbers of the segments, each from its lesser to its greater end, that meet a shape: lines are made of those near it."""
    left, low, right, high = shape.bounds
    x, y = segments[..., 0], segments[..., 1]
    near = np.flatnonzero((x[:, 1] >= left) & (x[:, 0] <= right) & (y[:, 1] >= low) & (y[:, 0] <= high))
    shapely.prepare(shape)
    return near[shapely.intersects(shape, shapely.linestrings(segments[near]))]


def judge_routes(routes: list[Route], hands: dict[str, float], notes: Notes) -> None:
    """Ramps, what is too short, and hoses and cables in one channel."""
    for route in routes:
        for crossing in route.crossings:
            notes.note(
                "ramp_needed",
                say(
                    "The {name} crosses {id} at ({x:.1f}, {y:.1f}) m.",
                    name=route.name,
                    id=crossing.obstacle.id,
                    x=crossing.x,
                    y=crossing.y,
                ),
                resolve="A set of ramps, or a bridge where vehicles are high and heavy.",
                field=f"/{route.name}_route",
                references=("site_practice",),
            )
        at_hand = hands.get(route.name)
        if at_hand is not None and above(route.length, at_hand):
            notes.check(
                "too_short",
                say(
                    "The {name} route is {length:.1f} long; {at_hand:.1f} are at hand.",
                    name=route.name,
                    length=Length.of(route.length, "m"),
                    at_hand=Length.of(at_hand, "m"),
                ),
                resolve=say(
                    "{shortfall:.1f} more, or a nearer place.", shortfall=Length.of(route.length - at_hand, "m")
                ),
                field=f"/{route.name}_run",
            )
    if len(routes) == 2:
        shared = routes[0].line.intersection(routes[1].line)
        for way in {c.obstacle.id: c.obstacle for r in routes for c in r.crossings}.values():
            if shared.intersection(way.shape).length > 1e-6:
                notes.check(
                    "one_ramp_channel",
                    f"Hose and cable cross {way.id} in one place.",
                    why="A leaking coupling wets the cable, and both chafe.",
                    resolve="A channel of its own for each.",
                    field="/cable_route",
                    references=("site_practice",),
                )
