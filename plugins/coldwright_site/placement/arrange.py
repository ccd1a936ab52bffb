"""Where machines can stand: places inside a free area that keep every distance, or the least rectangle that holds them.

Machines stand along the sides of the area, turned by quarters. For two of them the places that are too near are three
rectangles about the first, so that every place worth trying lies on their sides or on those of what is round them: these
are tried from a corner of the area, machine by machine, the longest first, in several orders; then, where that finds none,
more thoroughly. That nothing is found proves nothing, but where the area is less than the machines or than one's width.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise, product
from typing import Any, NamedTuple

from coldwright.contract import lazy
from coldwright.contract.quantities import Angle, Length
from coldwright_site.placement.field import PASSAGE, RANKS, Budget, Distances, Field, Place, Turned
from coldwright_site.placement.given import MachinePosition, PlacementGiven
from coldwright_site.placement.plan import TOUCHING, Obstacle, Plan
from coldwright_site.placement.thorough import PLACES, Thorough
from coldwright_site.shared.given import metres

shapely = lazy("shapely")
affinity = lazy("shapely.affinity")

MOST_FRAMES = 3
TURNS = ((0, 2), (1, 3), (0, 1, 2, 3))
"""Ways to turn machines, by quarters, that are tried one after the other."""
MOST_PLACES = 60_000
"""Places looked at for the area, and again for what it lacks along each side: so the search ends whatever is asked."""
AT_EACH_LENGTH = 10_000
"""Places looked at besides for each length that is tried."""
NEXT_CENTIMETRE = 0.01
FARTHEST = 60.0
"""m that an area is lengthened at most in looking for what it lacks."""


@dataclass(frozen=True)
class Arrangement:
    """Where they stand; none where the area is too small, with the metres that it lacks along x and along y."""

    positions: tuple[MachinePosition, ...]
    least: tuple[float, float]
    """Length and width of the least rectangle with its distances to walls all round."""
    lacks: tuple[float | None, float | None] = (None, None)
    """None where more of it alone would not do."""
    together: tuple[float, float] | None = None
    """What it lacks along x and along y at once, where neither alone would do; None where that was not found."""
    proved: bool = False
    """Whether no arrangement at all can hold them."""


def arrange(given: PlacementGiven, plan: Plan) -> Arrangement:
    """Places in the free area; on the least rectangle, its corner at 0, where no area is given."""
    work = _Work(given, plan)
    least = work.least_rectangle()
    if plan.area is None:
        return Arrangement(tuple(_position(p, 0.0) for p in least.places), (least.length, least.width))
    found = work.in_area(plan.area)
    proved = found is None and work.proved_too_small(plan.area)
    if found is not None or not given.work_out_missing:
        return Arrangement(found or (), (least.length, least.width), proved=proved)
    lacks = (work.lacking(plan.area, (1.0, 0.0)), work.lacking(plan.area, (0.0, 1.0)))
    together = work.lacking_both(plan.area, least) if lacks == (None, None) else None
    return Arrangement((), (least.length, least.width), lacks, together, proved)


class Rectangle(NamedTuple):
    """The least rectangle and the places in it."""

    length: float
    width: float
    places: tuple[Place, ...]


class _Work:
    """The search for places of one question."""

    def __init__(self, given: PlacementGiven, plan: Plan) -> None:
        self.given, self._plan = given, plan
        self._distances = Distances(given, plan.walled)
        self._budget = Budget(MOST_PLACES)
        self._machines = sorted(given.machines, key=lambda m: (-metres(m.length), -metres(m.width)))
        self._turned = {m.id: self._distances.turned(m) for m in self._machines}

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
        left = max(self._distances.wall(row[0].sides[2]) for row in rows)
        length, y = 0.0, max(self._distances.wall(t.sides[3]) for t in rows[0])
        places: list[Place] = []
        for number, row in enumerate(rows):
            if number:
                y += max(
                    self._distances.between(low.sides[1], high.sides[3]) for low in rows[number - 1] for high in row
                )
            x = left
            for index, turned in enumerate(row):
                if index:
                    x += self._distances.between(row[index - 1].sides[0], turned.sides[2])
                places.append(Place(turned, x + turned.half[0], y + turned.half[1]))
                x += 2 * turned.half[0]
            length = max(length, x + self._distances.wall(row[-1].sides[0]))
            y += 2 * max(t.half[1] for t in row)
        return Rectangle(length, y + max(self._distances.wall(t.sides[1]) for t in rows[-1]), tuple(places))

    # --- the area

    def in_area(self, area: Any, *, besides: int = PLACES) -> tuple[MachinePosition, ...] | None:
        """The first way that holds them all; none where it is not found among the places that are looked at.

        First each machine at its first free place; then, where that holds them not, places beside it.
        """
        if self.proved_too_small(area):
            return None
        fields = []
        for angle in _frames(area):
            field = Field(self._distances, _along_axes(area, angle), self._obstacles(angle))
            for number, (turns, order) in enumerate(product(TURNS, RANKS)):
                choices = [[self._turned[m.id][k] for k in turns] for m in self._machines]
                places = _filled(field, choices, order, self._budget)
                if places is not None:
                    return self._positions(places, angle)
                if not number and _filled(field, [self._turned[self._machines[0].id]], order, self._budget) is None:
                    break  # the largest has no place even alone
            else:
                fields.append((angle, field))
        if len(self._machines) == 1:
            return None  # every place was looked at
        budget = Budget(besides)
        for angle, field in fields:
            places = Thorough(field, [self._turned[m.id] for m in self._machines], budget).places()
            if places is not None:
                return self._positions(places, angle)
        return None

    def proved_too_small(self, area: Any) -> bool:
        """Whether no arrangement at all can hold them: too little area, or one of them too wide for it."""
        halves = [t[0].half for t in self._turned.values()]
        if sum(4 * a * b for a, b in halves) > area.area:
            return True
        room = 2 * PASSAGE if self._distances.walled else 0.0
        widest = max(max(min(b + room, a), min(a + room, b)) for a, b in ((2 * x, 2 * y) for x, y in halves))
        return widest > _least_width(area) + TOUCHING

    def _positions(self, places: list[Place], angle: float) -> tuple[MachinePosition, ...]:
        by_id = {p.turned.machine.id: _position(p, angle) for p in places}
        return tuple(by_id[m.id] for m in self.given.machines)

    def _obstacles(self, angle: float) -> list[Obstacle]:
        return [Obstacle(o.given, _along_axes(o.shape, angle)) for o in self._plan.obstacles]

    def lacking(self, area: Any, way: tuple[float, float]) -> float | None:
        """Metres by which the area must reach farther one way, to the next centimetre; None beyond `FARTHEST`."""
        self._budget = Budget(MOST_PLACES)
        low, high = 0.0, 1.0
        while not self._holds(_swept(area, way, high)):
            low, high = high, 2 * high
            if low >= FARTHEST:
                return None
        while high - low > NEXT_CENTIMETRE / 2:
            middle = (low + high) / 2
            low, high = (low, middle) if self._holds(_swept(area, way, middle)) else (middle, high)
        least = round(high, 2)
        return least if self._holds(_swept(area, way, least)) else round(least + NEXT_CENTIMETRE, 2)

    def lacking_both(self, area: Any, least: "Rectangle") -> tuple[float, float] | None:
        """Metres by which it must reach farther along x and along y at once, so that it holds the least rectangle or one
        that is found on the way: up to the next centimetre, the fewest metres together of the two ways to lay that.
        """
        west, south, east, north = area.bounds
        ways = [
            (max(0.0, along_x - (east - west)), max(0.0, along_y - (north - south)))
            for along_x, along_y in ((least.length, least.width), (least.width, least.length))
        ]
        for x, y in sorted(ways, key=sum):
            self._budget = Budget(MOST_PLACES)
            farther = _next_centimetre(x), _next_centimetre(y)
            if self._holds(_swept(_swept(area, (1.0, 0.0), farther[0]), (0.0, 1.0), farther[1])):
                return farther
        return None

    def _holds(self, area: Any) -> bool:
        return self.in_area(area, besides=AT_EACH_LENGTH) is not None


def _along_axes(shape: Any, angle: float) -> Any:
    """Turned back by an angle, so that a side at this angle lies along x."""
    return affinity.rotate(shape, -angle, origin=(0, 0), use_radians=True) if angle else shape


def _filled(field: Field, choices: Sequence[Sequence[Turned]], order: str, budget: Budget) -> list[Place] | None:
    """Places for all, each at the first that is free in this order; None where one finds none."""
    placed: list[Place] = []
    for turns in choices:
        options = [p for turned in turns if (p := next(field.free(turned, placed, order, budget), None)) is not None]
        if not options:
            return None
        placed.append(min(options, key=lambda p: RANKS[order](p.x, p.y)))
    return placed


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


def _next_centimetre(length: float) -> float:
    return math.ceil(100 * length - 1e-6) / 100


def _least_width(area: Any) -> float:
    """Between the two nearest parallel lines that hold it, m: one of them lies on a side of its hull."""
    corners = list(area.convex_hull.exterior.coords)
    found: list[float] = []
    for (x1, y1), (x2, y2) in pairwise(corners):
        side = math.dist((x1, y1), (x2, y2))
        if side > 0:
            found.append(max(abs((x2 - x1) * (y - y1) - (y2 - y1) * (x - x1)) / side for x, y in corners))
    return min(found)
