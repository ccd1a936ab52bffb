"""Distances to keep: every pair on the plan that a rule speaks of, and what lacks."""

from collections.abc import Iterator
from typing import Any, Literal, NamedTuple

from msgspec import UNSET

from coldwright.contract import Notes, lazy
from coldwright_site import tabulated
from coldwright_site.placement_given import FACES, Face, MakerClearances, ObstacleKind, PlacementGiven
from coldwright_site.placement_plan import HAIR, REACH, SOLID, Obstacle, Plan, Standing, faces_that

shapely = lazy("shapely")
Severity = Literal["stop", "check"]
ROWS = tabulated.PLACEMENT_CLEARANCES.rows
EDGE_FACTOR = 1.5
STANDS: tuple[ObstacleKind, ...] = ("engine", "tank")
BEFORE_INTAKE: frozenset[ObstacleKind] = frozenset({"wall", "combustible_wall", "engine", "tank", "opening"})
BEFORE_SERVICE: frozenset[ObstacleKind] = SOLID | {"opening", "edge"}


class Gap(NamedTuple):
    """A distance held against its rule; `line` joins the two nearest points."""

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
        """What is there beyond what is asked for."""
        return self.distance - self.required

    @property
    def lacks(self) -> bool:
        """Whether the rule is broken."""
        return self.margin < -1e-9


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
    if middle.length <= line.length + HAIR:  # opposite a side, the middle shows better
        line = middle
    row = ROWS[rule]
    return Gap(pair, float(line.length), required(rule, given), rule, row["severity"], row["reference"], line, **more)


def _parts_before(
    standing: Standing, face: Face, plan: Plan, kinds: frozenset[ObstacleKind]
) -> Iterator[tuple[Obstacle | Standing, Any]]:
    """What stands before a side: the obstacle or machine, and that part of it."""
    strip = standing.strip(face, REACH, HAIR)
    height = standing.machine.height.si
    for obstacle in plan.obstacles:
        if obstacle.given.kind in kinds and not obstacle.overhead_of(height):
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
        side = standing.face(face)
        for thing, part in _parts_before(standing, face, plan, BEFORE_INTAKE):
            if isinstance(thing, Obstacle):
                yield _gap((standing.machine.id, thing.id), "intake_to_wall", side, part, given, face=face)
            else:
                rule = "intake_to_intake" if _draws_towards(thing, part, side) else "intake_to_machine"
                yield _gap((standing.machine.id, thing.machine.id), rule, side, part, given, face=face)


def _draws_towards(other: Standing, part: Any, side: Any) -> bool:
    """Whether the side of the other machine that is nearest, by its middle, is an intake."""
    near = part.buffer(HAIR)
    seen = {f: other.face(f).intersection(near) for f in FACES}
    distances = {f: side.distance(line.centroid) for f, line in seen.items() if not line.is_empty}
    nearest = min(distances.values(), default=0.0)
    return any(distances.get(f, REACH) <= nearest + HAIR for f in faces_that(other, "intake"))


def _before_service(standing: Standing, plan: Plan, given: PlacementGiven) -> Iterator[Gap]:
    machine = standing.machine
    for face in faces_that(standing, "service"):
        side = standing.face(face)
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
    machines = [(s.machine.id, s.footprint) for s in plan.machines]
    stands = machines + [(o.id, o.shape) for o in plan.of_kind(*STANDS)]
    engines = [(o.id, o.shape) for o in plan.of_kind("engine")]
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


MEANING = {rule: row["meaning"] for rule, row in ROWS.items()} | {
    "working_space": "of working space in front of live parts",
    "edge": "from an edge, 1.5 times its depth",
    "power_line": "from a power line",
}


def judge_gaps(found: list[Gap], notes: Notes) -> None:
    """A finding for every distance that lacks."""
    for gap in found:
        if gap.lacks:
            where = f", {gap.face} side" if gap.face else ""
            notes.finding(
                gap.severity,
                "too_near",
                f"{gap.pair[0]} to {gap.pair[1]}{where}: {gap.distance:.2f} m; {gap.required:.2f} m are asked for "
                f"{MEANING[gap.rule]}.",
                resolve=f"Move them {-gap.margin:.2f} m farther apart.",
                field="/positions",
                rule=gap.rule,
                references=(gap.reference,),
            )


def judge_overlaps(plan: Plan, notes: Notes) -> None:
    """Things that stand in each other, and ways that are blocked."""
    stands = [(s.machine.id, s.footprint, s.machine.height.si) for s in plan.machines]
    for index, (name, shape, _) in enumerate(stands):
        for other, other_shape, _ in stands[index + 1 :]:
            if shape.intersection(other_shape).area > 1e-6:
                _overlap(name, other, notes)
    for name, shape, height in stands:
        for obstacle in plan.of_kind("wall", "combustible_wall", "engine", "tank", "hydrant", "air_intake", "cable"):
            if not obstacle.overhead_of(height) and shape.buffer(-1e-6).intersects(obstacle.shape):
                _overlap(name, obstacle.id, notes)
    for standing in plan.machines:
        _judge_overhead(standing, plan, notes)
    everything = [(n, s) for n, s, _ in stands] + [(o.id, o.shape) for o in plan.of_kind(*STANDS)]
    for name, shape in everything if plan.placed else ():
        for obstacle in plan.of_kind("walkway", "opening", "fire_lane"):
            _judge_blocked(name, shape, obstacle, notes)


def _overlap(first: str, second: str, notes: Notes) -> None:
    notes.stop(
        "overlap",
        f"{first} and {second} stand in each other.",
        resolve="Move one of them.",
        field="/positions",
        references=("site_practice",),
    )


def _judge_blocked(name: str, shape: Any, obstacle: Obstacle, notes: Notes) -> None:
    kind = obstacle.given.kind
    against = shape.distance(obstacle.shape) <= HAIR  # a door is blocked by what only touches it
    if not (against if kind == "opening" else shape.buffer(-HAIR).intersects(obstacle.shape)):
        return
    code, what = ("fire_lane_blocked", "the fire lane") if kind == "fire_lane" else ("exit_blocked", f"the {kind}")
    notes.stop(
        code,
        f"{name} blocks {what} {obstacle.id}.",
        why="People must get out and the fire brigade in.",
        resolve="Move it out of the way.",
        field="/positions",
        references=("ifc_503_507",),
    )


def _judge_overhead(standing: Standing, plan: Plan, notes: Notes) -> None:
    machine = standing.machine
    for obstacle in plan.obstacles:
        above = obstacle.overhead_of(machine.height.si) and machine.discharge == "up"
        if above and obstacle.shape.intersects(standing.footprint):
            notes.check(
                "discharge_under_overhang",
                f"{machine.id} blows up against {obstacle.id}.",
                why="The hot air is turned back into the coils.",
                resolve="Move the machine from under it, or duct the discharge as its maker allows.",
                field="/positions",
                references=("site_practice",),
            )


def judge_lanes(plan: Plan, notes: Notes) -> None:
    """Width of fire lanes and free height over them, and edges without a depth."""
    least_width = tabulated.feet(ROWS["fire_lane_width"]["feet"])
    least_height = tabulated.feet(ROWS["fire_lane_height"]["feet"])
    for lane in plan.of_kind("fire_lane"):
        if lane.shape.geom_type == "Polygon":
            corners = list(shapely.minimum_rotated_rectangle(lane.shape).exterior.coords)
            width = min(shapely.Point(corners[0]).distance(shapely.Point(c)) for c in (corners[1], corners[3]))
            if width < least_width - 1e-9:
                notes.check(
                    "fire_lane_narrow",
                    f"The fire lane {lane.id} is {width:.2f} m wide; {least_width:.2f} m are usual.",
                    resolve="Ask the fire brigade.",
                    field="/obstacles",
                    references=("ifc_503_507",),
                )
        for above in plan.obstacles:
            under = above.given.underside
            if under is not UNSET and under.si < least_height - 1e-9 and above.shape.intersects(lane.shape):
                notes.stop(
                    "fire_lane_low",
                    f"{above.id} leaves {under.si:.2f} m over the fire lane {lane.id}; {least_height:.2f} m are usual.",
                    resolve="Ask the fire brigade.",
                    field="/obstacles",
                    references=("ifc_503_507",),
                )
    for index, obstacle in enumerate(plan.obstacles):
        if obstacle.given.kind == "edge" and obstacle.given.height is UNSET:
            notes.check(
                "edge_depth_not_given",
                f"The depth of the edge {obstacle.id} was not given, and no distance was held against it.",
                resolve="Give its depth as `height`.",
                field=f"/obstacles/{index}/height",
            )
