"""Distances between machines and what is round them, and what rules ask for."""

from collections.abc import Iterator
from typing import Any, Literal, NamedTuple

from msgspec import UNSET

from coldwright.contract import lazy
from coldwright_site.placement.given import Face, MakerClearances, ObstacleKind, PlacementGiven
from coldwright_site.placement.plan import REACH, SOLID, TOUCHING, Obstacle, Plan, Standing, faces_that
from coldwright_site.shared import tabulated

shapely = lazy("shapely")

Severity = Literal["stop", "check"]
ROWS = tabulated.PLACEMENT_CLEARANCES.rows
EDGE_FACTOR = 1.5
STANDS: tuple[ObstacleKind, ...] = ("engine", "tank")
BEFORE_INTAKE: frozenset[ObstacleKind] = frozenset({"wall", "combustible_wall", "engine", "tank", "opening"})
BEFORE_SERVICE: frozenset[ObstacleKind] = SOLID | {"opening", "edge"}


class Gap(NamedTuple):
    """A distance beside what its rule asks for; `line` joins the two nearest points."""

    pair: tuple[str, str]
    distance: float
    required: float
    rule: str
    severity: Severity
    reference: str
    line: Any
    face: Face | None = None

    @property
    def margin(self) -> float:
        """What is there beyond what is asked for, to the micrometre: nothing is placed finer."""
        return round(self.distance - self.required, 6) + 0.0  # never -0

    @property
    def lacks(self) -> bool:
        """Whether the rule is broken."""
        return self.margin < 0


def gaps(given: PlacementGiven, plan: Plan) -> list[Gap]:
    """Every distance that a rule speaks of, in the order of machines and obstacles."""
    if not plan.placed:
        return []
    found: list[Gap] = []
    seen: set[tuple[frozenset[str], float]] = set()
    for standing in plan.machines:
        for gap in (*_before_intakes(standing, plan, given), *_before_service(standing, plan, given)):
            key = (frozenset(gap.pair), round(gap.distance, 9))
            if gap.rule == "intake_to_intake" and key in seen:
                continue
            if gap.rule == "intake_to_intake":
                seen.add(key)
            found.append(gap)
    return found + list(_round(given, plan))


def required(rule: str, given: PlacementGiven) -> float:
    """Distance (m) that a rule asks for: the maker's, else the usual one."""
    own: MakerClearances | Any = given.clearances
    value = UNSET if own is UNSET else getattr(own, rule, UNSET)
    return tabulated.feet(ROWS[rule]["feet"]) if value is UNSET else float(value.si)


def _gap(pair: tuple[str, str], rule: str, first: Any, second: Any, given: PlacementGiven, **more: Any) -> Gap:
    line = shapely.shortest_line(first, second)
    middle = shapely.shortest_line(first.centroid, second)
    if middle.length <= line.length + TOUCHING:  # opposite a side, the middle shows better
        line = middle
    row = ROWS[rule]
    return Gap(pair, float(line.length), required(rule, given), rule, row["severity"], row["reference"], line, **more)


def _parts_before(
    standing: Standing, face: Face, plan: Plan, kinds: frozenset[ObstacleKind]
) -> Iterator[tuple[Obstacle | Standing, Any]]:
    """What stands before a side: the obstacle or machine, and that part of it."""
    height = standing.machine.height.si
    solid = [o for o in (*plan.obstacles, *plan.bounds) if o.given.kind in kinds and not o.overhead_of(height)]
    if not solid and len(plan.machines) == 1:
        return
    strip = standing.ahead[face]
    for obstacle in solid:
        part = obstacle.shape.intersection(strip)
        if not part.is_empty:
            yield obstacle, part
    for other in plan.machines:
        if other is not standing:
            part = other.footprint.intersection(strip)
            if not part.is_empty:
                yield other, part


def _before_intakes(standing: Standing, plan: Plan, given: PlacementGiven) -> Iterator[Gap]:
    for face in faces_that(standing, "intake"):
        side = standing.sides[face]
        for thing, part in _parts_before(standing, face, plan, BEFORE_INTAKE):
            if isinstance(thing, Obstacle):
                yield _gap((standing.machine.id, thing.id), "intake_to_wall", side, part, given, face=face)
            else:
                towards = _draws_towards(thing, standing.ahead[face], side)
                rule = "intake_to_intake" if towards else "intake_to_machine"
                yield _gap((standing.machine.id, thing.machine.id), rule, side, part, given, face=face)


def _draws_towards(other: Standing, strip: Any, side: Any) -> bool:
    """Whether the side of the other machine that is nearest, by its middle as far as it is seen, is an intake."""
    seen = {face: line.intersection(strip) for face, line in other.sides.items()}
    distances = {face: side.distance(line.centroid) for face, line in seen.items() if not line.is_empty}
    nearest = min(distances.values(), default=0.0)
    return any(distances.get(f, REACH) <= nearest + TOUCHING for f in faces_that(other, "intake"))


def _before_service(standing: Standing, plan: Plan, given: PlacementGiven) -> Iterator[Gap]:
    machine = standing.machine
    for face in faces_that(standing, "service"):
        side = standing.sides[face]
        for thing, part in _parts_before(standing, face, plan, BEFORE_SERVICE):
            name = thing.id if isinstance(thing, Obstacle) else thing.machine.id
            gap = _gap((machine.id, name), "service_access", side, part, given, face=face)
            yield gap
            if machine.voltage_to_ground is not UNSET:
                depth = working_space(machine.voltage_to_ground.si, machine.working_space_condition)
                yield gap._replace(required=depth, rule="working_space", severity="stop", reference="nec_110_26")


def working_space(volts: float, condition: int) -> float:
    """Depth (m) in front of live parts; the field's range ends where the table does."""
    rows = tabulated.WORKING_SPACE.rows
    return tabulated.feet(next((row for row in rows if volts <= row[0]), rows[-1])[condition])


def _round(given: PlacementGiven, plan: Plan) -> Iterator[Gap]:
    """Rules between whole things."""
    machines = [(s.machine.id, s.footprint) for s in plan.machines if not s.machine.engine]
    sets = [(s.machine.id, s.footprint) for s in plan.machines if s.machine.engine]
    stands = machines + sets + [(o.id, o.shape) for o in plan.of_kind(*STANDS)]
    engines = sets + [(o.id, o.shape) for o in plan.of_kind("engine")]
    rules: tuple[tuple[str, list[tuple[str, Any]], tuple[ObstacleKind, ...]], ...] = (
        ("discharge_to_intake", machines, ("air_intake",)),
        ("relief_to_opening", machines, ("opening", "air_intake")),
        ("engine_to_opening", engines, ("opening",)),
        ("engine_to_combustible_wall", engines, ("combustible_wall",)),
        ("exhaust_to_intake", engines, ("air_intake",)),
        ("hydrant", stands, ("hydrant",)),
        ("fire_lane", stands, ("fire_lane",)),
    )
    for rule, things, kinds in rules:
        for name, shape in things:
            for obstacle in plan.of_kind(*kinds):
                yield _gap((name, obstacle.id), rule, shape, obstacle.shape, given)
    for name, shape in stands:
        for obstacle in plan.of_kind("edge", "power_line"):
            line = shapely.shortest_line(shape, obstacle.shape)
            if obstacle.given.kind == "power_line":
                volts = 0.0 if obstacle.given.voltage is UNSET else obstacle.given.voltage.si
                least, reference = tabulated.power_line_distance(volts), "osha_1926_1408"
            elif obstacle.given.height is UNSET:
                continue
            else:
                least, reference = EDGE_FACTOR * obstacle.given.height.si, "site_practice"
            kind = str(obstacle.given.kind)
            yield Gap((name, obstacle.id), float(line.length), least, kind, "stop", reference, line)
