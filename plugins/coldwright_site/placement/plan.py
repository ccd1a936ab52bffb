"""The plan: footprints of machines, their faces, and the shapes of obstacles, by shapely."""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

from msgspec import UNSET

from coldwright.contract import FieldError, Refused, field_error, lazy
from coldwright.contract.quantities import Length
from coldwright_basis.compare import at_least
from coldwright_basis.repeats import repeated
from coldwright_site.placement.given import (
    FACES,
    Face,
    MachinePosition,
    ObstacleGiven,
    ObstacleKind,
    PlacedMachine,
    PlacementGiven,
)
from coldwright_site.shared.given import Point, metres

shapely = lazy("shapely")

SOLID: frozenset[ObstacleKind] = frozenset({"wall", "combustible_wall", "engine", "tank", "hydrant", "air_intake"})
REACH = 30.0
"""m, as far as a face looks out for what stands before it."""
TOUCHING = 1e-6
EDGE_OF_AREA = "edge of the area"
ZERO = Length(0.0, "m")


@dataclass(frozen=True)
class Standing:
    """A machine where it stands."""

    machine: PlacedMachine
    position: MachinePosition

    @cached_property
    def _frame(self) -> tuple[float, float, float, float]:
        """Cosine and sine of its turn, and its middle."""
        angle = self.position.rotation.si
        cos, sin = round(math.cos(angle), 15), round(math.sin(angle), 15)
        return cos, sin, metres(self.position.x), metres(self.position.y)

    def _placed(self, *points: tuple[float, float]) -> list[tuple[float, float]]:
        """Points of the machine's own frame where they come to lie."""
        cos, sin, left, low = self._frame
        return [(cos * x - sin * y + left, sin * x + cos * y + low) for x, y in points]

    def _ring(self, left: float, low: float, right: float, high: float) -> list[tuple[float, float]]:
        return self._placed((right, low), (right, high), (left, high), (left, low), (right, low))

    @property
    def half(self) -> tuple[float, float]:
        """Half its length and width."""
        return self.machine.length.si / 2, self.machine.width.si / 2

    @cached_property
    def footprint(self) -> Any:
        """Its area."""
        a, b = self.half
        return shapely.polygons(self._ring(-a, -b, a, b))  # a fraction of the time of shapely.Polygon

    @cached_property
    def sides(self) -> dict[Face, Any]:
        """Its sides as lines."""
        a, b = self.half
        ends = (((a, -b), (a, b)), ((-a, b), (-a, -b)), ((a, b), (-a, b)), ((-a, -b), (a, -b)))
        return dict(zip(FACES, shapely.linestrings([self._placed(*e) for e in ends]), strict=True))

    @cached_property
    def ahead(self) -> dict[Face, Any]:
        """The area before each side, as far as it looks out, less `TOUCHING` at each end."""
        rings = [self._before(face, REACH, TOUCHING) for face in FACES]
        return dict(zip(FACES, shapely.polygons(rings), strict=True))

    def strip(self, face: Face, depth: float) -> Any:
        """The area before a side, as wide as the side."""
        return shapely.polygons(self._before(face, depth, 0.0))

    def _before(self, face: Face, depth: float, inset: float) -> list[tuple[float, float]]:
        """Corners of the area before a side, as wide as the side less `inset` at each end."""
        a, b = self.half
        boxes = {
            "front": (a, inset - b, a + depth, b - inset),
            "rear": (-a - depth, inset - b, -a, b - inset),
            "left": (inset - a, b, a - inset, b + depth),
            "right": (inset - a, -b - depth, a - inset, -b),
        }
        return self._ring(*boxes[face])


@dataclass(frozen=True)
class Obstacle:
    """An obstacle with its shape."""

    given: ObstacleGiven
    shape: Any

    @property
    def id(self) -> str:
        """Its name."""
        return self.given.id

    def overhead_of(self, height: float) -> bool:
        """Whether it hangs free above something so high."""
        return self.given.underside is not UNSET and at_least(self.given.underside.si, height)


@dataclass(frozen=True)
class Plan:
    """Everything with a place."""

    machines: tuple[Standing, ...]
    obstacles: tuple[Obstacle, ...]
    placed: bool
    area: Any = None
    """Free for the machines; None where it is not given."""
    walled: bool = False
    """Whether what lies beyond it counts as walls."""

    @cached_property
    def bounds(self) -> tuple[Obstacle, ...]:
        """The sides of the area where they count as walls."""
        if self.area is None or not self.walled:
            return ()
        edge = ObstacleGiven(id=EDGE_OF_AREA, kind="wall", polygon=(Point(x=ZERO, y=ZERO),))
        return (Obstacle(edge, self.area.exterior),)

    def of_kind(self, *kinds: ObstacleKind) -> Iterator[Obstacle]:
        """Obstacles of some kinds."""
        return (o for o in self.obstacles if o.given.kind in kinds)


def lay_out(given: PlacementGiven) -> Plan:
    """Shapes of everything; refuses names that stand twice, machines that don't exist and corners that cross."""
    errors = _wrong_names(given)
    obstacles = []
    for index, obstacle in enumerate(given.obstacles):
        shape = _shape(obstacle)
        if not shape.is_valid or (len(obstacle.polygon) > 2 and shape.area <= 0):
            text = "The corners don't make an area: its sides cross, or it has none."
            errors.append(field_error(f"/obstacles/{index}/polygon", text))
        obstacles.append(Obstacle(obstacle, shape))
    area, wrong = _free_area(given)
    errors += wrong
    if errors:
        raise Refused(errors)
    walled = given.area is not UNSET and given.area.edges == "walls"
    return with_machines(Plan((), tuple(obstacles), False, area, walled), given)


def with_machines(plan: Plan, given: PlacementGiven) -> Plan:
    """The plan with the machines at their positions, if these are known."""
    if given.positions is UNSET:
        return plan
    machines = {m.id: m for m in given.machines}
    return replace(plan, machines=tuple(Standing(machines[p.id], p) for p in given.positions), placed=True)


def _free_area(given: PlacementGiven) -> tuple[Any, list[FieldError]]:
    """Its shape, None without one; and what contradicts itself about it."""
    errors, area = [], given.area
    if given.arrange and given.positions is not UNSET:
        errors.append(field_error("/arrange", "Positions are given, and are to be looked for: one or the other."))
    if given.arrange and not given.machines:
        errors.append(field_error("/machines", "There is nothing to arrange.", code="missing"))
    if area is UNSET:
        if given.arrange and given.obstacles:
            text = "Among obstacles a place is looked for in a free area only."
            errors.append(field_error("/area", text, code="missing"))
        return None, errors
    sizes = [q for q in (area.length, area.width) if q is not UNSET]
    if area.polygon and sizes:
        errors.append(field_error("/area/polygon", "Give corners, or length and width, not both."))
    elif not area.polygon and len(sizes) < 2:
        lacking = "length" if area.length is UNSET else "width"
        errors.append(field_error(f"/area/{lacking}", "Give corners, or length and width.", code="missing"))
    elif not area.polygon:
        return shapely.box(0, 0, *(metres(q) for q in sizes)), errors
    elif len(area.polygon) < 3:
        errors.append(field_error("/area/polygon", "An area has three corners at least."))
    else:
        shape = shapely.Polygon([p.xy for p in area.polygon])
        if shape.is_valid and shape.area > 0:
            return shape, errors
        text = "The corners don't make an area: its sides cross, or it has none."
        errors.append(field_error("/area/polygon", text))
    return None, errors


def _shape(obstacle: ObstacleGiven) -> Any:
    corners = [p.xy for p in obstacle.polygon]
    if len(corners) == 1:
        return shapely.Point(corners[0])
    return shapely.LineString(corners) if len(corners) == 2 else shapely.Polygon(corners)


def _wrong_names(given: PlacementGiven) -> list[FieldError]:
    named = [(f"/machines/{i}/id", m.id) for i, m in enumerate(given.machines)]
    named += [(f"/obstacles/{i}/id", o.id) for i, o in enumerate(given.obstacles)]
    errors = repeated(named)
    known = {m.id for m in given.machines}
    placed: set[str] = set()
    for index, position in enumerate(() if given.positions is UNSET else given.positions):
        if position.id not in known or position.id in placed:
            text = "This machine has two positions." if position.id in placed else "There is no such machine."
            errors.append(field_error(f"/positions/{index}/id", text, value=position.id))
        placed.add(position.id)
    return errors


def faces_that(standing: Standing, role: str) -> Iterator[Face]:
    """Faces that draw air or are worked at, each once."""
    named = standing.machine.intake_faces if role == "intake" else standing.machine.service_faces
    return (f for f in FACES if f in named)
