"""What runs out, what stays, and how long it takes."""

from dataclasses import dataclass
from math import pi

from msgspec import UNSET

from coldwright.contract import Notes
from coldwright.contract.quantities import Duration, Volume, VolumeFlow
from coldwright_basis.constants import STANDARD_GRAVITY
from coldwright_hydronic.drain_down import draining
from coldwright_hydronic.drain_down.given import DrainDownGiven, DrainLine
from coldwright_hydronic.drain_down.vessels import initial_level, time_between, volume_below

SLOPED_RESIDUAL, FLAT_RESIDUAL = 0.02, 0.10


@dataclass(frozen=True)
class Drained:
    """Volumes, m3; first flow, m3/s; times of the vessels, s."""

    total: float
    drained: float
    residual: float
    first_flow: float | None
    times: tuple[float, ...]


def drain(given: DrainDownGiven, notes: Notes) -> Drained:
    """Volumes [m3], first flow [m3/s] and the time of each vessel [s]."""
    held = below = 0.0
    times: list[float] = []
    first_flow: float | None = None
    if given.vessels and given.drain_orifice_diameter is not UNSET:
        bore = given.drain_orifice_diameter.si
        opening = given.discharge_coefficient * pi / 4 * bore * bore
        fall = given.head_below_vessel.si
        for vessel in given.vessels:
            start, end = initial_level(vessel) or 0.0, vessel.final_level.si
            held += volume_below(vessel, start)
            below += volume_below(vessel, end)
            times.append(time_between(vessel, start, end, fall, opening))
            notes.show(
                "t",
                f"Time to drain {vessel.name}",
                f"integral of A(h)/(Cd a sqrt(2 g (h + h0))) from {end:.4g} to {start:.4g} m, Cd a = {opening:.4g} m2, "
                f"h0 = {fall:.4g} m",
                Duration.from_si(times[-1], "s"),
            )
        first = initial_level(given.vessels[0]) or 0.0
        first_flow = draining.outflow(first, fall, opening)
        notes.show(
            "Q_0",
            "Flow at the start",
            f"Cd a sqrt(2 g (h + h0)) = {opening:.4g} m2 x sqrt(2 x {STANDARD_GRAVITY} m/s2 x {first + fall:.4g} m)",
            VolumeFlow.from_si(first_flow, "L/s"),
        )
    in_lines = stays_in_lines = 0.0
    for line in given.lines:
        volume = pi / 4 * line.inner_diameter.si**2 * line.length.si * line.parallel_runs
        in_lines += volume
        stays_in_lines += volume * _residual_fraction(line, notes)
    held_back = sum(r.volume.si for r in given.residual_volumes)
    total, residual = held + in_lines + held_back, stays_in_lines + held_back
    notes.show(
        "V_res",
        "Stays behind",
        f"lines {1e3 * stays_in_lines:.4g} L + places that do not drain {1e3 * held_back:.4g} L",
        Volume.from_si(residual, "L"),
    )
    drained = max(0.0, total - residual - below)  # the sum of parts is exact but for the last bit
    return Drained(total=total, drained=drained, residual=residual, first_flow=first_flow, times=tuple(times))


def _residual_fraction(line: DrainLine, notes: Notes) -> float:
    if line.residual_fraction is not UNSET:
        return line.residual_fraction
    fraction = SLOPED_RESIDUAL if line.drains_by_gravity else FLAT_RESIDUAL
    code = "residual_sloped" if line.drains_by_gravity else "residual_flat"
    if code not in {a.code for a in notes.assumptions}:
        how = "laid to a fall" if line.drains_by_gravity else "lying flat with sags"
        notes.assume(
            code,
            f"{fraction:g} of the volume of a line {how} stays behind.",
            value=fraction,
            basis="common_practice",
            references=("hydronic_practice",),
        )
    return fraction
