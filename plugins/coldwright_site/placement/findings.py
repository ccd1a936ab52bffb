"""What a person should know of a place."""

from typing import Any

from msgspec import UNSET

from coldwright.contract import Notes, finding, lazy, say
from coldwright.contract.people import count_of
from coldwright.contract.quantities import Length
from coldwright.contract.sentences import Sentence, Words, joined
from coldwright_basis.compare import below
from coldwright_site.placement.arrange import Arrangement
from coldwright_site.placement.clearances import ROWS, STANDS, Gap
from coldwright_site.placement.given import PlacementGiven
from coldwright_site.placement.plan import TOUCHING, Obstacle, Plan, Standing
from coldwright_site.shared import tabulated

shapely = lazy("shapely")

FINDINGS = (
    finding("area_too_small", "stop", "The machines find no place in the free area."),
    finding("outside_area", "stop", "A machine stands beyond the free area."),
    finding("too_near", ("stop", "check"), "A distance is less than what a rule asks for."),
    finding("overlap", "stop", "Two things stand in each other."),
    finding("exit_blocked", "stop", "A door, window or walkway is blocked."),
    finding("fire_lane_blocked", "stop", "Something stands in a fire lane."),
    finding("fire_lane_narrow", "check", "A fire lane is narrower than usual."),
    finding("fire_lane_low", "stop", "Something hangs low over a fire lane."),
    finding("edge_depth_not_given", "check", "An edge without depth was not tested."),
    finding("discharge_under_overhang", "check", "Hot air blows up against something."),
    finding("air_flow_not_given", "note", "The speed of the air into a well was left out."),
    finding("inlet_velocity", ("stop", "check"), "The air comes down faster than 3 or 2 m/s."),
    finding("too_warm", "stop", "A machine would draw warmer air than it takes."),
    finding("ramp_needed", "note", "A route crosses a way."),
    finding("route_blocked", "check", "No route was found."),
    finding("too_short", "check", "Hose or cable at hand is too short."),
    finding("one_ramp_channel", "check", "Hose and cable cross a way in one place."),
    finding("nothing_to_draw", "note", "There is nothing with a place to draw."),
)
"""What `site.placement` may have to say."""
MEANING = {rule: row["meaning"] for rule, row in ROWS.items()} | {
    "working_space": "of working space in front of live parts",
    "edge": "from an edge, 1.5 times its depth",
    "power_line": "from a power line",
}


def judge_area(found: Arrangement | None, given: PlacementGiven, plan: Plan, notes: Notes) -> None:
    """Whether everything stands in the free area, and what that lacks."""
    if plan.area is None:
        return
    if found is not None and not found.positions:
        _too_small(found, len(given.machines), notes)
    for standing in plan.machines:
        stands = standing.footprint
        if not (plan.area.covers(stands) or plan.area.buffer(TOUCHING).covers(stands)):
            notes.stop(
                "outside_area",
                f"{standing.machine.id} stands beyond the free area.",
                resolve="Move it inside.",
                field="/positions",
                references=("site_practice",),
            )


def _too_small(found: Arrangement, machines: int, notes: Notes) -> None:
    """What the area lacks, and whether that is proved."""
    along: list[Sentence] = [
        say("{lack:.2f} along {axis}", lack=Length.of(lack, "m"), axis=axis)
        for lack, axis in zip(found.lacks, ("x", "y"), strict=True)
        if lack is not None
    ]
    if found.together is not None:
        x, y = (Length.of(lack, "m") for lack in found.together)
        along = [say("{x:.2f} along x and {y:.2f} along y", x=x, y=y)]
    lacking: Words = say(": it lacks {along}", along=joined(along, " or ")) if along else ""
    tried = "" if found.proved else " Only so many arrangements were tried: that none exists is not proved."
    notes.stop(
        "area_too_small",
        say(
            "{machines} {find} no place in the free area with {their} distances{lacking}.{tried}",
            machines=count_of(machines, "machine"),
            find="find" if machines > 1 else "finds",
            their="their" if machines > 1 else "its",
            lacking=lacking,
            tried=tried,
        ),
        why="Machines that stand too near draw each other's hot air, and nobody can work at them.",
        resolve=say(
            "A larger area, fewer machines, or a clear rectangle of {length:.2f} by {width:.2f}.",
            length=Length.of(found.least[0], "m"),
            width=Length.of(found.least[1], "m"),
        ),
        field="/area",
        references=("site_practice",),
    )


def judge_gaps(found: list[Gap], notes: Notes) -> None:
    """A finding for every distance that lacks."""
    for gap in found:
        if gap.lacks:
            where = f", {gap.face} side" if gap.face else ""
            notes.finding(
                gap.severity,
                "too_near",
                say(
                    "{one} to {other}{where}: {distance:.2f}; {required:.2f} are needed {meaning}.",
                    one=gap.pair[0],
                    other=gap.pair[1],
                    where=where,
                    distance=Length.of(gap.distance, "m"),
                    required=Length.of(gap.required, "m"),
                    meaning=MEANING[gap.rule],
                ),
                resolve=say("Move them {margin:.2f} farther apart.", margin=Length.of(-gap.margin, "m")),
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
            if not obstacle.overhead_of(height) and _stands_in(shape, obstacle.shape):
                _overlap(name, obstacle.id, notes)
    for standing in plan.machines:
        _judge_overhead(standing, plan, notes)
    everything = [(n, s) for n, s, _ in stands] + [(o.id, o.shape) for o in plan.of_kind(*STANDS)]
    for name, shape in everything if plan.placed else ():
        for obstacle in plan.of_kind("walkway", "opening", "fire_lane"):
            _judge_blocked(name, shape, obstacle, notes)


def _stands_in(shape: Any, other: Any) -> bool:
    """Whether they share more than their rims."""
    return bool(shape.intersects(other) and shape.buffer(-TOUCHING).intersects(other))


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
    against = shape.distance(obstacle.shape) <= TOUCHING  # a door is blocked by what only touches it
    if not (against if kind == "opening" else _stands_in(shape, obstacle.shape)):
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
            if below(width, least_width):
                notes.check(
                    "fire_lane_narrow",
                    say(
                        "The fire lane {id} is {width:.2f} wide; {least_width:.2f} are usual.",
                        id=lane.id,
                        width=Length.of(width, "m"),
                        least_width=Length.of(least_width, "m"),
                    ),
                    resolve="Ask the fire brigade.",
                    field="/obstacles",
                    references=("ifc_503_507",),
                )
        for above in plan.obstacles:
            under = above.given.underside
            if under is not UNSET and below(under.si, least_height) and above.shape.intersects(lane.shape):
                notes.stop(
                    "fire_lane_low",
                    say(
                        "{id} leaves {under:.2f} over the fire lane {lane_id}; {least_height:.2f} are usual.",
                        id=above.id,
                        under=under.as_unit("m"),
                        lane_id=lane.id,
                        least_height=Length.of(least_height, "m"),
                    ),
                    resolve="Ask the fire brigade.",
                    field="/obstacles",
                    references=("ifc_503_507",),
                )
    for index, obstacle in enumerate(plan.obstacles):
        if obstacle.given.kind == "edge" and obstacle.given.height is UNSET:
            notes.check(
                "edge_depth_not_given",
                f"The depth of the edge {obstacle.id} was not given: no distance to it was checked.",
                resolve="Give its depth as `height`.",
                field=f"/obstacles/{index}/height",
            )
