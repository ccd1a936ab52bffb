"""The loop as resistances and heights. SI."""

from collections.abc import Sequence
from dataclasses import dataclass, field

from msgspec import UNSET

from coldwright.contract import Allowed, FieldError, Refused, field_error, tidy
from coldwright_basis.constants import STANDARD_GRAVITY
from coldwright_basis.liquids import FluidState
from coldwright_basis.pump_curves import RunningPumps, total_head
from coldwright_hydronic.loop import network
from coldwright_hydronic.loop.given import (
    BranchesGiven,
    DeviceGiven,
    ElementGiven,
    FittingsGiven,
    LineGiven,
    LoopGiven,
    OpenSourceGiven,
    ValveGiven,
)
from coldwright_hydronic.loop.network import Parallel, Path, Resistance
from coldwright_hydronic.loop.pumps import running
from coldwright_hydronic.shared.devices import CV_TO_KV, fluid_correction, rated_state
from coldwright_hydronic.shared.friction import LINE_ROUGHNESS
from coldwright_hydronic.shared.given import SQUARE_LAW

SAME_HEIGHT = 1e-3
"""m: heights that differ by less are one."""

LEAST_BRANCH_DROP = 1e-3
"""Pa at 1 L/s: a path with less is no resistance, and takes all the flow."""


@dataclass(slots=True)
class Node:
    """An element with its resistance and heights."""

    element: ElementGiven
    pointer: str
    part: Resistance | Parallel
    bottom: float
    """Height of the inlet, m."""
    top: float
    """Height of the outlet, m."""
    branches: list[list["Node"]] = field(default_factory=list)


@dataclass(slots=True)
class Loop:
    """Everything about the loop that does not depend on its flow."""

    given: LoopGiven
    state: FluidState
    nodes: list[Node]
    path: Path
    stopped: Path
    """Pumps that stand in the line."""
    pumps: tuple[RunningPumps, ...]
    lift: float
    """Pa that an open loop lifts against, whatever its flow."""

    @property
    def weight(self) -> float:
        """Pa for each metre of the liquid."""
        return self.state.density * STANDARD_GRAVITY

    def resistance(self, flow: float) -> float:
        """Friction of all elements and stopped pumps, Pa."""
        return self.path.drop(flow) + self.stopped.drop(flow)

    def rise(self, flow: float, speed: float = 1.0) -> float:
        """Pressure rise of the pumps, Pa."""
        return self.weight * total_head(self.pumps, flow, speed)

    @property
    def end(self) -> float:
        """Flow up to which all pump curves may be followed."""
        return min(p.end for p in self.pumps)


def build(given: LoopGiven, state: FluidState) -> Loop:
    """The loop, from an input that `loop_checks` has passed; refuses heights that do not close."""
    errors: list[FieldError] = []
    base = given.pump_elevation.si
    nodes, end = _nodes(given.elements, "/elements", base, state, errors)
    if nodes and given.open_source is UNSET and abs(end - base) > SAME_HEIGHT:
        errors.append(
            field_error(
                f"/elements/{len(nodes) - 1}/elevation_out",
                f"A closed loop ends where it began: the last outlet is at {end:.4g} m, the pump at {base:.4g} m.",
                value=end,
                allowed=Allowed(minimum=tidy(base - SAME_HEIGHT), maximum=tidy(base + SAME_HEIGHT), unit="m"),
                why="In a closed loop the heights cancel; set the last elevation_out, or give open_source.",
            )
        )
    if errors:
        raise Refused(errors)
    stopped = [
        p.parallel_count * p.stopped_kv
        for p in given.pumps
        if p.state == "stopped_in_line" and p.stopped_kv is not UNSET
    ]
    return Loop(
        given=given,
        state=state,
        nodes=nodes,
        path=Path([node.part for node in nodes]),
        stopped=Path([network.valve(kv, state.density) for kv in stopped]),
        pumps=tuple(running(i, p) for i, p in enumerate(given.pumps) if p.state == "running" and p.curve),
        lift=_lift(given.open_source, end, state.density) if isinstance(given.open_source, OpenSourceGiven) else 0.0,
    )


def _lift(source: OpenSourceGiven, end: float, density: float) -> float:
    """Return below the surface: none. Return above it: that height, fallen free."""
    return max(0.0, end - source.surface_elevation.si) * density * STANDARD_GRAVITY + source.suction_pressure_drop.si


def _nodes(
    elements: Sequence[ElementGiven],
    pointer: str,
    start: float,
    state: FluidState,
    errors: list[FieldError],
    join: float | None = None,
) -> tuple[list[Node], float]:
    """Nodes of a path and the height at its end: `join` if it must end there and its last element says nothing."""
    nodes, height = [], start
    for i, element in enumerate(elements):
        here = f"{pointer}/{i}"
        top = None if element.elevation_out is UNSET else element.elevation_out.si
        if top is None and i == len(elements) - 1:
            top = join
        if isinstance(element, BranchesGiven):
            node = _branches(element, here, height, top, state, errors)
        else:
            node = Node(element, here, _resistance(element, here, state), height, height if top is None else top)
        nodes.append(node)
        height = node.top
    return nodes, height


def _branches(
    element: BranchesGiven, pointer: str, start: float, join: float | None, state: FluidState, errors: list[FieldError]
) -> Node:
    """All paths join at one height: `join` if that is known, else where the first path ends that gives a height."""
    paths: list[list[Node]] = []
    if join is None:
        join = next((found for path in element.branches if (found := _given_height(path)) is not None), start)
    for j, elements in enumerate(element.branches):
        nodes, end = _nodes(elements, f"{pointer}/branches/{j}", start, state, errors, join)
        if abs(end - join) > SAME_HEIGHT:
            text = f"This path ends at {end:.4g} m, where the others join at {join:.4g} m."
            why = "Paths that join do so at one height"
            errors.append(field_error(f"{pointer}/branches/{j}", text, value=end, why=why))
        if not _resists(nodes):
            text = "This path has no resistance at all and would take all the flow."
            why = "How a flow splits follows from the resistances; give the length or the fittings of this path"
            errors.append(field_error(f"{pointer}/branches/{j}", text, why=why))
        paths.append(nodes)
    part = Parallel([Path([n.part for n in nodes]) for nodes in paths])
    return Node(element, pointer, part, start, join, paths)


def _resists(nodes: Sequence[Node]) -> bool:
    """Whether a path has a noticeable resistance; branches inside it were asked themselves."""
    single = sum(n.part.drop(1e-3) for n in nodes if isinstance(n.part, Resistance))
    return single >= LEAST_BRANCH_DROP or any(n.branches for n in nodes)


def _given_height(path: Sequence[ElementGiven]) -> float | None:
    """The last height that the elements of a path give; None if they give none."""
    found = None
    for element in path:
        if element.elevation_out is not UNSET:
            found = element.elevation_out.si
        elif isinstance(element, BranchesGiven):
            found = next((h for inner in element.branches if (h := _given_height(inner)) is not None), found)
    return found


def _resistance(element: ElementGiven, pointer: str, state: FluidState) -> Resistance:
    density = state.density
    if isinstance(element, LineGiven):
        return network.line(
            element.inner_diameter.si,
            element.length.si,
            roughness_of(element),
            element.parallel_runs,
            density,
            state.dynamic_viscosity,
        )
    if isinstance(element, FittingsGiven):
        diameter, runs = element.inner_diameter.si, element.parallel_runs
        if element.equivalent_length is UNSET or element.roughness is UNSET:
            return network.fittings(diameter, element.k_factor or 0.0, runs, density)
        length, roughness = element.equivalent_length.si, element.roughness.si
        return network.line(diameter, length, roughness, runs, density, state.dynamic_viscosity)
    if isinstance(element, DeviceGiven):
        n = element.exponent
        rated = rated_state(element.rated_fluid, n, f"{pointer}/rated_fluid")
        correction = density / rated.density if n == SQUARE_LAW else fluid_correction(n, state, rated)
        drop = element.rated_pressure_drop.si
        return network.device(element.rated_flow.si, drop, n, correction, element.parallel_count)
    if isinstance(element, ValveGiven):
        return network.valve(kv_of(element), density)
    return Resistance()


def roughness_of(line: LineGiven) -> float:
    """Roughness given, else that of the kind of line, m."""
    return LINE_ROUGHNESS[line.line_kind] if line.roughness is UNSET else line.roughness.si


def kv_of(valve: ValveGiven) -> float:
    """Kv of a valve that has one of Kv and Cv."""
    if valve.flow_coefficient_kv is not UNSET:
        return valve.flow_coefficient_kv
    assert valve.flow_coefficient_cv is not UNSET  # noqa: S101 - one of the two, refused before
    return CV_TO_KV * valve.flow_coefficient_cv
