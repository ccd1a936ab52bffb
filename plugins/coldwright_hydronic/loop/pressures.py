"""Gauge pressures along the loop, running and standing. SI."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from msgspec import UNSET

from coldwright_basis.liquids import FluidState
from coldwright_hydronic.loop.building import Loop, Node
from coldwright_hydronic.loop.elements import SUCTION
from coldwright_hydronic.loop.given import (
    DeviceGiven,
    ElementGiven,
    FittingsGiven,
    LineGiven,
    LoopGiven,
    OpenSourceGiven,
)
from coldwright_hydronic.loop.network import Parallel, Path
from coldwright_hydronic.shared.friction import reynolds, velocity

ASSUMED_REFERENCE = 150e3
BORED = (LineGiven, FittingsGiven)
"""Elements with a bore, in which the liquid has a speed."""


@dataclass(slots=True)
class Reading:
    """An element with the loop running."""

    node: Node
    flow: float
    drop: float
    pressure_in: float
    pressure_out: float
    each: float
    """Flow of one run of a line or fittings, of one unit of a device, else the whole flow."""
    speed: float | None
    """Velocity in a line or fittings."""
    branches: list[list["Reading"]] = field(default_factory=list)

    def reynolds(self, state: FluidState) -> float | None:
        """Reynolds number; None without a bore, or of a custom liquid without a viscosity."""
        element = self.node.element
        if self.speed is None or not isinstance(element, BORED):
            return None
        viscosity = getattr(state, "dynamic_viscosity", None)
        return None if viscosity is None else reynolds(self.speed, element.inner_diameter.si, state.density, viscosity)


@dataclass(slots=True)
class Pressures:
    """Gauge pressures, Pa."""

    suction: float
    discharge: float
    readings: list[Reading]
    standing_at_pump: float
    """At the height of the pump with all pumps stopped."""
    shut_off_rise: float | None
    """Over the standing pressure, of the pumps against a shut valve in a loop at its greatest standing pressure; None
    with a fixed flow of unknown pumps."""

    def __iter__(self) -> Iterator[Reading]:
        """All readings, those inside branches too."""
        return all_readings(self.readings)


def all_readings(readings: Sequence[Reading]) -> Iterator[Reading]:
    """In order, those inside branches after theirs."""
    for reading in readings:
        yield reading
        for path in reading.branches:
            yield from all_readings(path)


def pressures(loop: Loop, flow: float) -> Pressures:
    """Walk the loop from the pump, then shift it to where the reference says."""
    given, weight = loop.given, loop.weight
    stopped = loop.stopped.drop(flow)
    rise = loop.resistance(flow) + loop.lift
    readings = _read(loop.path, loop.nodes, flow, rise - stopped, weight)
    suction, standing = _levels(given, weight, readings)
    for reading in all_readings(readings):
        reading.pressure_in += suction
        reading.pressure_out += suction
    shut_off = loop.rise(0.0) if loop.pumps else None
    if given.shut_off_head is not UNSET:
        shut_off = weight * given.shut_off_head.si
    if shut_off is not None and given.pressure_reference is not UNSET and given.open_source is UNSET:
        shut_off += given.pressure_reference.growth
    return Pressures(suction, suction + rise - stopped, readings, standing, shut_off)


def _read(path: Path, nodes: Sequence[Node], flow: float, pressure: float, weight: float) -> list[Reading]:
    readings = []
    for node, drop in zip(nodes, [part.drop(flow) for part in path.parts], strict=True):
        after = pressure - drop - weight * (node.top - node.bottom)
        reading = Reading(node, flow, drop, pressure, after, *_each(node.element, flow))
        if isinstance(node.part, Parallel):
            reading.branches = [
                _read(inner, inside, share, pressure, weight)
                for inner, inside, share in zip(node.part.paths, node.branches, node.part.flows, strict=True)
            ]
        readings.append(reading)
        pressure = after
    return readings


def _each(element: ElementGiven, flow: float) -> tuple[float, float | None]:
    if isinstance(element, BORED):
        each = flow / element.parallel_runs
        return each, velocity(each, element.inner_diameter.si)
    if isinstance(element, DeviceGiven):
        return flow / element.parallel_count, None
    return flow, None


def _levels(given: LoopGiven, weight: float, readings: Sequence[Reading]) -> tuple[float, float]:
    """Pressure at the pump's suction running, and at the pump's height standing."""
    height = given.pump_elevation.si
    if given.open_source is not UNSET:
        return _open_levels(given.open_source, height, weight)
    if given.pressure_reference is UNSET:
        return ASSUMED_REFERENCE, ASSUMED_REFERENCE
    known = given.pressure_reference.gauge_pressure.si
    if given.pressure_reference.location == SUCTION:
        return known, known
    at = next(r for r in all_readings(readings) if r.node.element.name == given.pressure_reference.location)
    return known - at.pressure_out, known + weight * (at.node.top - height)


def _open_levels(source: OpenSourceGiven, height: float, weight: float) -> tuple[float, float]:
    standing = source.surface_gauge_pressure.si + weight * (source.surface_elevation.si - height)
    return standing - source.suction_pressure_drop.si, standing


def suction_pressure(given: LoopGiven, weight: float) -> float:
    """At the pump's suction where there are no elements."""
    return _levels(given, weight, ())[0]
