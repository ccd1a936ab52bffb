"""Where machines can stand: places inside a free area that keep every distance, or the least rectangle that holds them.

Machines stand along the sides of the area, turned by quarters. For two of them the places that are too near are three
rectangles about the first, so that every place worth trying lies on their sides or on those of what is round them: these
are tried from a corner of the area, machine by machine, the longest first, in several orders.
"""

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any, NamedTuple

from msgspec import UNSET

from coldwright.contract import lazy
from coldwright.contract.quantities import Angle, Length
from coldwright_site.placement.clearances import BEFORE_INTAKE, BEFORE_SERVICE, required, working_space
from coldwright_site.placement.given import Face, MachinePosition, PlacedMachine, PlacementGiven
from coldwright_site.placement.keep_out import kept_from
from coldwright_site.placement.plan import Obstacle, Plan
from coldwright_site.shared.given import metres

np = lazy("numpy")
shapely = lazy("shapely")
affinity = lazy("shapely.affinity")

PASSAGE = 0.6
"""m between blank sides: to walk through, and to lead a hose (common practice)."""
TOUCH = 1e-7
"""m by which places that touch are taken for free."""
GRID = 0.5
"""m between places that are tried besides, where the area has slanting sides."""
MOST_FRAMES = 3
AT_A_TIME = 64
MOST_PLACES = 60_000
"""Places looked at for the area, and again for what it lacks along each side: so the search ends whatever is asked, and an
area that is crowded to the brim may be missed."""
MOST_ALONG = 90
"""Places tried along x, and along y."""
NEXT_CENTIMETRE = 0.01
FARTHEST = 60.0
"""m that an area is lengthened at most in looking for what it lacks."""
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


@dataclass(frozen=True)
class Arrangement:
    """Where they stand; none where the area is too small, with the metres that it lacks along x and along y."""

    positions: tuple[MachinePosition, ...]
    least: tuple[float, float]
    """Length and width of the least rectangle with its distances to walls all round."""
    lacks: tuple[float | None, float | None] = (None, None)
    """None where more of it alone would not do."""


def arrange(given: PlacementGiven, plan: Plan) -> Arrangement:
    """Places in the free area; on the least rectangle, its corner at 0, where no area is given."""
    work = _Work(given, plan)
    least = work.least_rectangle()
    if plan.area is None:
        return Arrangement(tuple(_position(p, 0.0) for p in least.places), (least.length, least.width))
    found = work.in_area(plan.area)
    if found is not None or not given.work_out_missing:
        return Arrangement(found or (), (least.length, least.width))
    lacks = (work.lacking(plan.area, (1.0, 0.0)), work.lacking(plan.area, (0.0, 1.0)))
    return Arrangement((), (least.length, least.width), lacks)


class Rectangle(NamedTuple):
    """The least rectangle and the places in it."""

    length: float
    width: float
    places: tuple[Place, ...]


class _Work:
    """The distances of one question, and the search for places."""

    def __init__(self, given: PlacementGiven, plan: Plan) -> None:
        self.given, self._plan = given, plan
        self.walled = plan.walled
        self.places_left = MOST_PLACES
        self._to_wall = required("intake_to_wall", given)
        self._intakes = required("intake_to_intake", given)
        self._to_blank = required("intake_to_machine", given)
        self._machines = sorted(given.machines, key=lambda m: (-metres(m.length), -metres(m.width)))
        self._turned = {m.id: [self._turn(m, k) for k in range(4)] for m in self._machines}

    # --- distances

    def _turn(self, machine: PlacedMachine, quarters: int) -> Turned:
        service = 0.0
        if machine.service_faces:
            service = required("service_access", self.given)
            if machine.voltage_to_ground is not UNSET:
                live = working_space(machine.voltage_to_ground.si, machine.working_space_condition)
                service = max(service, live)
        sides = [Side(f in machine.intake_faces, service if f in machine.service_faces else 0.0) for f in WAYS]
        a, b = metres(machine.length) / 2, metres(machine.width) / 2
        first, second, third, fourth = (sides[(way - quarters) % 4] for way in range(4))
        return Turned(machine, quarters, (b, a) if quarters % 2 else (a, b), (first, second, third, fourth))

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

    # --- the least rectangle

    def least_rectangle(self) -> Rectangle:
        """Rows of machines that all stand one way; the least area of these, then the one nearest to a square."""
        best: Rectangle | None = None
        for quarters in (0, 1):
            turned = [self._turned[m.id][quarters] for m in self._machines]
            for columns in range(1, len(turned) + 1):
                tried = self._in_rows([turned[i : i + columns] for i in range(0, len(turned), columns)])
                if best is None or _size(tried) < _size(best):
                    best = tried
        assert best is not None  # noqa: S101 - there is a machine at least
        return best

    def _in_rows(self, rows: list[list[Turned]]) -> Rectangle:
        left = max(self.wall(row[0].sides[2]) for row in rows)
        length, y = 0.0, max(self.wall(t.sides[3]) for t in rows[0])
        places: list[Place] = []
        for number, row in enumerate(rows):
            if number:
                y += max(self.between(low.sides[1], high.sides[3]) for low in rows[number - 1] for high in row)
            x = left
            for index, turned in enumerate(row):
                if index:
                    x += self.between(row[index - 1].sides[0], turned.sides[2])
                places.append(Place(turned, x + turned.half[0], y + turned.half[1]))
                x += 2 * turned.half[0]
            length = max(length, x + self.wall(row[-1].sides[0]))
            y += 2 * max(t.half[1] for t in row)
        return Rectangle(length, y + max(self.wall(t.sides[1]) for t in rows[-1]), tuple(places))

    # --- the area

    def in_area(self, area: Any) -> tuple[MachinePosition, ...] | None:
        """The first way that holds them all; none where it is not found among `MOST_PLACES`."""
        if sum(4 * t[0].half[0] * t[0].half[1] for t in self._turned.values()) > area.area:
            return None
        for angle in _frames(area):
            turned_area = affinity.rotate(area, -angle, origin=(0, 0), use_radians=True)
            field = _Field(self, turned_area, self._obstacles(angle))
            if field.filled([self._turned[self._machines[0].id]], "across") is None:
                continue  # the largest has no place even alone
            for turns in ((0, 2), (1, 3), (0, 1, 2, 3)):
                for order in RANKS:
                    places = field.filled([[self._turned[m.id][k] for k in turns] for m in self._machines], order)
                    if places is not None:
                        by_id = {p.turned.machine.id: _position(p, angle) for p in places}
                        return tuple(by_id[m.id] for m in self.given.machines)
        return None

    def _obstacles(self, angle: float) -> list[Obstacle]:
        return [
            Obstacle(o.given, affinity.rotate(o.shape, -angle, origin=(0, 0), use_radians=True))
            for o in self._plan.obstacles
        ]

    def lacking(self, area: Any, way: tuple[float, float]) -> float | None:
        """Metres by which the area must reach farther one way, to the next centimetre; None beyond `FARTHEST`."""
        self.places_left = MOST_PLACES
        low, high = 0.0, 1.0
        while self.in_area(_swept(area, way, high)) is None:
            low, high = high, 2 * high
            if low >= FARTHEST:
                return None
        while high - low > NEXT_CENTIMETRE / 2:
            middle = (low + high) / 2
            low, high = (low, middle) if self.in_area(_swept(area, way, middle)) else (middle, high)
        least = round(high, 2)
        return least if self.in_area(_swept(area, way, least)) else round(least + NEXT_CENTIMETRE, 2)


def _size(rectangle: Rectangle) -> tuple[float, float]:
    return round(rectangle.length * rectangle.width, 6), round(abs(rectangle.length - rectangle.width), 6)


def _position(place: Place, angle: float) -> MachinePosition:
    cos, sin = math.cos(angle), math.sin(angle)
    turn = math.degrees(angle) + 90 * place.turned.quarters
    return MachinePosition(
        id=place.turned.machine.id,
        x=Length.of(cos * place.x - sin * place.y, "m"),
        y=Length.of(sin * place.x + cos * place.y, "m"),
        rotation=Angle.of(round((turn + 180) % 360 - 180, 9), "deg"),
    )


def _frames(area: Any) -> list[float]:
    """Directions of the sides of the area, the longest first, each quarter turn once."""
    corners = list(area.exterior.coords)
    sides: dict[float, tuple[float, float]] = {}
    for (x1, y1), (x2, y2) in pairwise(corners):
        angle = math.atan2(y2 - y1, x2 - x1) % (math.pi / 2)
        key = round(angle, 6) % round(math.pi / 2, 6)
        known, length = sides.get(key, (angle if key else 0.0, 0.0))
        sides[key] = known, length + math.dist((x1, y1), (x2, y2))
    return [angle for angle, _ in sorted(sides.values(), key=lambda s: -s[1])][:MOST_FRAMES]


def _swept(area: Any, way: tuple[float, float], far: float) -> Any:
    """The area and all that it passes over when it moves one way."""
    moved = affinity.translate(area, way[0] * far, way[1] * far)
    corners = list(area.exterior.coords)
    strips = [
        shapely.MultiPoint(
            [a, b, (a[0] + way[0] * far, a[1] + way[1] * far), (b[0] + way[0] * far, b[1] + way[1] * far)]
        ).convex_hull
        for a, b in pairwise(corners)
    ]
    return shapely.union_all([area, moved, *(s for s in strips if s.geom_type == "Polygon")])


def _as_one(shapes: list[Any]) -> Any:
    together = shapely.union_all(shapes)
    shapely.prepare(together)
    return together


class _Field:
    """The area and what stands in it, seen along its sides."""

    def __init__(self, work: _Work, area: Any, obstacles: list[Obstacle]) -> None:
        self._work, self._area, self._obstacles = work, area, obstacles
        shapely.prepare(area)
        corners = np.array(area.exterior.coords)
        bounds = [o.shape.bounds for o in obstacles]
        self._xs = sorted({round(float(x), 9) for x in corners[:, 0]} | {b for o in bounds for b in (o[0], o[2])})
        self._ys = sorted({round(float(y), 9) for y in corners[:, 1]} | {b for o in bounds for b in (o[1], o[3])})
        steps = np.abs(np.diff(corners, axis=0))
        self._bodies: dict[str, list[tuple[float, Any]]] = {}
        self._strips_keep: dict[tuple[str, bool, bool], Any] = {}
        self._slanting = bool(((steps > 1e-6).all(axis=1)).any())

    def filled(self, choices: Sequence[Sequence[Turned]], order: str) -> list[Place] | None:
        """Places for all, each at the first that is free in this order; None where one finds none."""
        placed: list[Place] = []
        for turns in choices:
            options = [p for turned in turns if (p := self._first(turned, placed, order)) is not None]
            if not options:
                return None
            placed.append(min(options, key=lambda p: RANKS[order](p.x, p.y)))
        return placed

    def _first(self, turned: Turned, placed: list[Place], order: str) -> Place | None:
        xs = np.array(list(self._along(turned, placed, 0)))
        ys = np.array(list(self._along(turned, placed, 1)))
        x, y = (grid.ravel() for grid in np.meshgrid(xs, ys, indexing="ij"))
        for other in placed:
            apart = self._apart(other, turned, x, y)
            x, y = x[apart], y[apart]
        in_order = np.lexsort(RANKS[order](x, y)[::-1])
        x, y = x[in_order], y[in_order]
        # the first free place is wanted: look at a few at a time
        for start in range(0, len(x), AT_A_TIME):
            if self._work.places_left <= 0:
                return None
            self._work.places_left -= AT_A_TIME
            part = slice(start, start + AT_A_TIME)
            free = self._stands_free(turned, x[part], y[part])
            if free.any():
                index = start + int(np.argmax(free))
                return Place(turned, float(x[index]), float(y[index]))
        return None

    def _along(self, turned: Turned, placed: list[Place], axis: int) -> list[float]:
        """Middles worth trying along one axis."""
        half, work = turned.half[axis], self._work
        ahead, behind = turned.sides[axis], turned.sides[axis + 2]
        edges = self._xs if axis == 0 else self._ys
        found: set[float] = set()
        for edge in edges:
            found |= {edge + half, edge - half, edge + half + work.wall(behind), edge - half - work.wall(ahead)}
        for obstacle in self._obstacles:
            low, high = obstacle.shape.bounds[axis], obstacle.shape.bounds[axis + 2]
            far = kept_from(obstacle, turned.machine, work.given)
            found |= {high + half + far, low - half - far}
        for other in placed:
            middle = (other.x, other.y)[axis]
            both = half + other.turned.half[axis]
            after = work.between(other.turned.sides[axis], behind)
            before = work.between(other.turned.sides[axis + 2], ahead)
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
        mine, its, between = turned.sides, other.turned.sides, self._work.between
        beside = np.abs(dy) < sy - TOUCH
        above = np.abs(dx) < sx - TOUCH
        corner = (np.abs(dx) < sx + PASSAGE - TOUCH) & (np.abs(dy) < sy + PASSAGE - TOUCH)
        near_x = (dx < sx + between(its[0], mine[2]) - TOUCH) & (dx > -sx - between(its[2], mine[0]) + TOUCH)
        near_y = (dy < sy + between(its[1], mine[3]) - TOUCH) & (dy > -sy - between(its[3], mine[1]) + TOUCH)
        return ~(corner | (beside & near_x) | (above & near_y))

    def _stands_free(self, turned: Turned, x: Any, y: Any) -> Any:
        """Which places lie in the area and keep the distances to its sides and to what stands in it."""
        a, b = turned.half
        body = shapely.box(x - a + TOUCH, y - b + TOUCH, x + a - TOUCH, y + b - TOUCH)
        free = shapely.covers(self._area, body)
        for far, shape in self._keeps_off(turned.machine):
            free &= ~shapely.dwithin(shape, body, max(far - TOUCH, TOUCH / 2))
        if not free.any():
            return free
        for strip, side in self._strips(turned, x, y):
            if self._work.walled:
                free &= shapely.covers(self._area, strip)
            if (before := self._stands_before(turned.machine, side)) is not None:
                free &= ~shapely.intersects(before, strip)
        return free

    def _keeps_off(self, machine: PlacedMachine) -> list[tuple[float, Any]]:
        """What the body keeps off, by how far; things of one distance as one shape."""
        if machine.id not in self._bodies:
            groups: dict[float, list[Any]] = {}
            for obstacle in self._obstacles:
                groups.setdefault(kept_from(obstacle, machine, self._work.given), []).append(obstacle.shape)
            self._bodies[machine.id] = [(far, _as_one(shapes)) for far, shapes in groups.items()]
        return self._bodies[machine.id]

    def _stands_before(self, machine: PlacedMachine, side: Side) -> Any | None:
        """What may not stand before a side, as one shape; None where nothing that could is there."""
        key = (machine.id, side.intake, side.service > 0)
        if key not in self._strips_keep:
            kinds = (BEFORE_INTAKE if side.intake else frozenset()) | (BEFORE_SERVICE if side.service else frozenset())
            high = machine.height.si
            shapes = [o.shape for o in self._obstacles if o.given.kind in kinds and not o.overhead_of(high)]
            self._strips_keep[key] = _as_one(shapes) if shapes else None
        return self._strips_keep[key]

    def _strips(self, turned: Turned, x: Any, y: Any) -> Iterator[tuple[Any, Side]]:
        """The clear strip before every side."""
        a, b = turned.half
        t = 2 * TOUCH
        right, up, left, down = (self._work.wall(side) - t for side in turned.sides)
        yield shapely.box(x + a, y - b + t, x + a + right, y + b - t), turned.sides[0]
        yield shapely.box(x - a + t, y + b, x + a - t, y + b + up), turned.sides[1]
        yield shapely.box(x - a - left, y - b + t, x - a, y + b - t), turned.sides[2]
        yield shapely.box(x - a + t, y - b - down, x + a - t, y - b), turned.sides[3]
