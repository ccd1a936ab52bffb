"""A free area as machines see it: which places keep every distance to its sides, to what stands in it and to each other."""

from collections.abc import Callable, Iterator, Sequence
from typing import Any, NamedTuple

from msgspec import UNSET

from coldwright.contract import lazy
from coldwright_site.placement.clearances import BEFORE_INTAKE, BEFORE_SERVICE, required, working_space
from coldwright_site.placement.given import Face, PlacedMachine, PlacementGiven
from coldwright_site.placement.keep_out import kept_from
from coldwright_site.placement.plan import Obstacle
from coldwright_site.shared.given import metres

np = lazy("numpy")
shapely = lazy("shapely")

PASSAGE = 0.6
"""m between blank sides: to walk through, and to lead a hose (common practice)."""
TOUCH = 1e-7
"""m by which places that touch are taken for free."""
GRID = 0.5
"""m between places that are tried besides, where the area has slanting sides."""
AT_A_TIME = 64
AT_FIRST = 24
"""Among so many there is mostly one."""
MOST_ALONG = 90
"""Places tried along x, and along y."""
WAYS: tuple[Face, ...] = ("front", "left", "rear", "right")
"""Counter-clockwise from +x, before a machine is turned."""


RANKS: dict[str, Callable[[Any, Any], tuple[Any, ...]]] = {
    "across": lambda x, y: (np.round(y, 6), np.round(x, 6)),
    "along": lambda x, y: (np.round(x, 6), np.round(y, 6)),
    "diagonal": lambda x, y: (np.round(x + y, 6), np.round(x, 6), np.round(y, 6)),
}
"""Orders in which places are tried, from the corner of least x and y; to the micrometre, whatever the units."""


class Side(NamedTuple):
    """What a side of a machine asks for before it."""

    intake: bool
    service: float
    """m of working space; 0 where nobody works."""


class Turned(NamedTuple):
    """A machine turned by quarters: half its sizes, and its sides towards +x, +y, -x, -y."""

    machine: PlacedMachine
    quarters: int
    half: tuple[float, float]
    sides: tuple[Side, Side, Side, Side]


class Place(NamedTuple):
    """A turned machine with its middle."""

    turned: Turned
    x: float
    y: float


class Distances:
    """The distances of one question."""

    def __init__(self, given: PlacementGiven, walled: bool) -> None:
        self._given, self.walled = given, walled
        self._to_wall = required("intake_to_wall", given)
        self._intakes = required("intake_to_intake", given)
        self._to_blank = required("intake_to_machine", given)
        self._service = required("service_access", given)

    def turned(self, machine: PlacedMachine) -> list[Turned]:
        """The four ways in which it can stand, by the quarters that it is turned."""
        service = 0.0
        if machine.service_faces:
            service = self._service
            if machine.voltage_to_ground is not UNSET:
                live = working_space(machine.voltage_to_ground.si, machine.working_space_condition)
                service = max(service, live)
        sides = [Side(f in machine.intake_faces, service if f in machine.service_faces else 0.0) for f in WAYS]
        a, b = metres(machine.length) / 2, metres(machine.width) / 2
        ways = []
        for quarters in range(4):
            first, second, third, fourth = (sides[(way - quarters) % 4] for way in range(4))
            ways.append(Turned(machine, quarters, (b, a) if quarters % 2 else (a, b), (first, second, third, fourth)))
        return ways

    def wall(self, side: Side) -> float:
        """Before something solid, m."""
        return max(PASSAGE, self._to_wall if side.intake else 0.0, side.service)

    def between(self, one: Side, other: Side) -> float:
        """Between two sides that face each other, m."""
        needs = [PASSAGE, one.service, other.service]
        if one.intake and other.intake:
            needs.append(self._intakes)
        elif one.intake or other.intake:
            needs.append(self._to_blank)
        return max(needs)

    def kept_from(self, obstacle: Obstacle, machine: PlacedMachine) -> float:
        """Between a body and what stands in the area, m."""
        return kept_from(obstacle, machine, self._given)


class Budget:
    """Places that may still be looked at: so a search ends whatever is asked, by the same place on every computer."""

    def __init__(self, places: int) -> None:
        self.left = places


class Field:
    """The area and what stands in it, seen along its sides."""

    def __init__(self, distances: Distances, area: Any, obstacles: list[Obstacle]) -> None:
        self._distances, self._area, self._obstacles = distances, area, obstacles
        shapely.prepare(area)
        corners = np.array(area.exterior.coords)
        self._bounds = bounds = [o.shape.bounds for o in obstacles]
        self._xs = sorted({round(float(x), 9) for x in corners[:, 0]} | {b for o in bounds for b in (o[0], o[2])})
        self._ys = sorted({round(float(y), 9) for y in corners[:, 1]} | {b for o in bounds for b in (o[1], o[3])})
        steps = np.abs(np.diff(corners, axis=0))
        self._far: dict[str, list[float]] = {}
        self._bodies: dict[str, list[tuple[float, Any]]] = {}
        self._strips_keep: dict[tuple[str, bool, bool], Any] = {}
        self._together: dict[tuple[int, ...], Any] = {}
        self._slanting = bool(((steps > 1e-6).all(axis=1)).any())

    def free(self, turned: Turned, placed: Sequence[Place], order: str, budget: Budget) -> Iterator[Place]:
        """Places that are free, in this order, as far as the budget reaches."""
        xs, ys = self._along(turned, placed, 0), self._along(turned, placed, 1)
        x, y = np.repeat(xs, len(ys)), np.tile(ys, len(xs))
        for other in placed:
            apart = self._apart(other, turned, x, y)
            x, y = x[apart], y[apart]
        in_order = np.lexsort(RANKS[order](x, y)[::-1])
        x, y = x[in_order], y[in_order]
        room = self._has_room(turned, x, y)
        # the first free places are wanted: look at a few at a time
        for start in range(0, len(x), AT_A_TIME):
            if budget.left <= 0:
                return
            budget.left -= AT_A_TIME
            part = start + np.flatnonzero(room[start : start + AT_A_TIME])
            for some in (part,) if start else (part[:AT_FIRST], part[AT_FIRST:]):
                for index in some[self._stands_free(turned, x[some], y[some])] if len(some) else ():
                    yield Place(turned, float(x[index]), float(y[index]))

    def _along(self, turned: Turned, placed: Sequence[Place], axis: int) -> list[float]:
        """Middles worth trying along one axis."""
        half, apart = turned.half[axis], self._distances
        ahead, behind = turned.sides[axis], turned.sides[axis + 2]
        edges = self._xs if axis == 0 else self._ys
        found: set[float] = set()
        for edge in edges:
            found |= {edge + half, edge - half, edge + half + apart.wall(behind), edge - half - apart.wall(ahead)}
        for bounds, far in zip(self._bounds, self._kept_from(turned.machine), strict=True):
            low, high = bounds[axis], bounds[axis + 2]
            found |= {high + half + far, low - half - far}
        for other in placed:
            middle = (other.x, other.y)[axis]
            both = half + other.turned.half[axis]
            after = apart.between(other.turned.sides[axis], behind)
            before = apart.between(other.turned.sides[axis + 2], ahead)
            edge_low, edge_high = middle - other.turned.half[axis], middle + other.turned.half[axis]
            found |= {middle, middle + both, middle - both, middle + both + PASSAGE, middle - both - PASSAGE}
            found |= {middle + both + after, middle - both - before, edge_low + half, edge_high - half}
        if self._slanting:
            low, high = edges[0], edges[-1]
            found |= {low + GRID * i for i in range(int((high - low) / GRID) + 1)}
        inside = sorted({round(v, 9) for v in found if edges[0] <= v <= edges[-1]})
        step = -(-len(inside) // MOST_ALONG)
        return inside[:: max(1, step)]

    def _apart(self, other: Place, turned: Turned, x: Any, y: Any) -> Any:
        """Which places are far enough from a machine that stands."""
        dx, dy = x - other.x, y - other.y
        sx, sy = turned.half[0] + other.turned.half[0], turned.half[1] + other.turned.half[1]
        mine, its, between = turned.sides, other.turned.sides, self._distances.between
        beside = np.abs(dy) < sy - TOUCH
        above = np.abs(dx) < sx - TOUCH
        corner = (np.abs(dx) < sx + PASSAGE - TOUCH) & (np.abs(dy) < sy + PASSAGE - TOUCH)
        near_x = (dx < sx + between(its[0], mine[2]) - TOUCH) & (dx > -sx - between(its[2], mine[0]) + TOUCH)
        near_y = (dy < sy + between(its[1], mine[3]) - TOUCH) & (dy > -sy - between(its[3], mine[1]) + TOUCH)
        return ~(corner | (beside & near_x) | (above & near_y))

    def _has_room(self, turned: Turned, x: Any, y: Any) -> Any:
        """Which places do not reach beyond the area on the whole: geometry need not look at the others."""
        left, low, right, high = self._area.bounds
        a, b = (half - 2 * TOUCH for half in turned.half)
        return (x >= left + a) & (x <= right - a) & (y >= low + b) & (y <= high - b)

    def _stands_free(self, turned: Turned, x: Any, y: Any) -> Any:
        """Which places lie in the area and keep the distances to its sides and to what stands in it."""
        a, b = turned.half
        body = shapely.box(x - a + TOUCH, y - b + TOUCH, x + a - TOUCH, y + b - TOUCH)
        free = shapely.covers(self._area, body)
        for far, shape in self._keeps_off(turned.machine):
            free &= ~shapely.dwithin(shape, body, max(far - TOUCH, TOUCH / 2))
        left = np.flatnonzero(free)  # the strips before its sides are looked at where the body itself stands free
        if not len(left):
            return free
        for strip, side in self._strips(turned, x[left], y[left]):
            if self._distances.walled:
                free[left] &= shapely.covers(self._area, strip)
            if (before := self._stands_before(turned.machine, side)) is not None:
                free[left] &= ~shapely.intersects(before, strip)
        return free

    def _kept_from(self, machine: PlacedMachine) -> list[float]:
        """How far the body keeps off each obstacle, m."""
        if machine.id not in self._far:
            self._far[machine.id] = [self._distances.kept_from(obstacle, machine) for obstacle in self._obstacles]
        return self._far[machine.id]

    def _keeps_off(self, machine: PlacedMachine) -> list[tuple[float, Any]]:
        """What the body keeps off, by how far; things of one distance as one shape."""
        if machine.id not in self._bodies:
            groups: dict[float, list[int]] = {}
            for number, far in enumerate(self._kept_from(machine)):
                groups.setdefault(far, []).append(number)
            self._bodies[machine.id] = [(far, self._as_one(*numbers)) for far, numbers in groups.items()]
        return self._bodies[machine.id]

    def _stands_before(self, machine: PlacedMachine, side: Side) -> Any | None:
        """What may not stand before a side, as one shape; None where nothing that could is there."""
        key = (machine.id, side.intake, side.service > 0)
        if key not in self._strips_keep:
            kinds = (BEFORE_INTAKE if side.intake else frozenset()) | (BEFORE_SERVICE if side.service else frozenset())
            high = machine.height.si
            found = [n for n, o in enumerate(self._obstacles) if o.given.kind in kinds and not o.overhead_of(high)]
            self._strips_keep[key] = self._as_one(*found) if found else None
        return self._strips_keep[key]

    def _as_one(self, *numbers: int) -> Any:
        """The shapes of these obstacles as one, prepared for questions."""
        if numbers not in self._together:
            shapes = [self._obstacles[number].shape for number in numbers]
            self._together[numbers] = shapes[0] if len(shapes) == 1 else shapely.union_all(shapes)
            shapely.prepare(self._together[numbers])
        return self._together[numbers]

    def _strips(self, turned: Turned, x: Any, y: Any) -> Iterator[tuple[Any, Side]]:
        """The clear strip before every side."""
        a, b = turned.half
        t = 2 * TOUCH
        right, up, left, down = (self._distances.wall(side) - t for side in turned.sides)
        yield shapely.box(x + a, y - b + t, x + a + right, y + b - t), turned.sides[0]
        yield shapely.box(x - a + t, y + b, x + a - t, y + b + up), turned.sides[1]
        yield shapely.box(x - a - left, y - b + t, x - a, y + b - t), turned.sides[2]
        yield shapely.box(x - a + t, y - b - down, x + a - t, y - b), turned.sides[3]
