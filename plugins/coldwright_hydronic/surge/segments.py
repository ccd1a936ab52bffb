"""Velocity, wave speed and wall of each segment."""

from math import pi

from msgspec import UNSET, UnsetType

from coldwright.contract import Allowed, refuse, tidy
from coldwright.contract.quantities import Velocity, VolumeFlow
from coldwright_hydronic.surge.given import FASTEST, SurgeGiven, SurgeSegmentGiven
from coldwright_hydronic.surge.law import Event, Wall, celerity


def velocities_of(given: SurgeGiven) -> tuple[float, ...]:
    """In each segment before the event, by continuity."""
    bores = [None if s.inner_diameter is UNSET else s.inner_diameter.si for s in given.segments]
    if given.velocity is not UNSET:
        first, d1 = given.velocity.si, bores[0]
        speeds = [first if d is None or d1 is None else first * (d1 / d) ** 2 for d in bores]
    else:
        assert given.flow is not UNSET  # noqa: S101 - one of the two, refused above
        speeds = [given.flow.si / (0.25 * pi * d * d) for d in bores if d is not None]
    fastest = max(speeds)
    if fastest > FASTEST:
        share = FASTEST / fastest
        stated: Velocity | VolumeFlow | UnsetType = given.velocity if given.flow is UNSET else given.flow
        at, unit = ("/velocity", "m/s") if given.flow is UNSET else ("/flow", "L/s")
        most = UNSET if stated is UNSET else tidy(stated.to(unit) * share)
        raise refuse(
            at,
            f"Segment {speeds.index(fastest) + 1} would run at {fastest:.1f} m/s; the method ends at {FASTEST:g} m/s.",
            value=stated,
            allowed=Allowed(maximum=most, unit=unit),
            why="The method holds for velocities far below the wave speed.",
        )
    return tuple(speeds)


def event_of(
    given: SurgeGiven, density: float, modulus: float | None, gas: float | None, velocities: tuple[float, ...]
) -> Event:
    """The event on the line: lengths, wave speeds and velocities of its segments."""
    speeds = []
    for s in given.segments:
        if s.wave_speed is not UNSET or modulus is None:
            assert s.wave_speed is not UNSET  # noqa: S101 - no modulus only where every wave speed is given
            speeds.append(s.wave_speed.si)
        else:
            gas_term = given.free_gas_fraction / gas if gas is not None else 0.0
            speeds.append(celerity(density, modulus, wall_of(s, given.restraint_factor), gas_term))
    return Event(
        density=density,
        lengths=tuple(s.length.si for s in given.segments),
        wave_speeds=tuple(speeds),
        velocities=velocities,
        stopped=given.velocity_change_fraction,
        closure_time=given.closure_time.si,
    )


def wall_of(segment: SurgeSegmentGiven, restraint: float) -> Wall:
    """The wall of a segment, by its elasticity or by the tested expansion of a hose."""
    if (
        segment.wall_thickness is not UNSET
        and segment.elastic_modulus is not UNSET
        and segment.inner_diameter is not UNSET
    ):
        return Wall.elastic(segment.inner_diameter.si, segment.wall_thickness.si, segment.elastic_modulus.si, restraint)
    assert segment.volumetric_expansion_fraction is not UNSET  # noqa: S101 - the pairs are complete, refused above
    assert segment.volumetric_expansion_pressure is not UNSET  # noqa: S101
    return Wall.tested(segment.volumetric_expansion_fraction, segment.volumetric_expansion_pressure.si)
