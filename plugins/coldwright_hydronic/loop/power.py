"""Power and suction head of the pumps of a loop. SI."""

from dataclasses import dataclass

from msgspec import UNSET

from coldwright_basis.atmosphere import air_pressure
from coldwright_basis.constants import STANDARD_ATMOSPHERE, STANDARD_GRAVITY
from coldwright_basis.pump_curves import straight_between, total_head
from coldwright_hydronic.loop.building import Loop
from coldwright_hydronic.loop.given import LoopGiven, PumpGiven

LEAST_EFFICIENCY = 0.05

WANTED_RATIO, WANTED_MARGIN = 1.3, 1.0
"""Suction head over what the pump needs, and metres above it."""


@dataclass(frozen=True, slots=True)
class Power:
    """Of all running pumps; None where an efficiency is not known."""

    brake: float | None
    motor_input: float | None


def efficiency_at(pump: PumpGiven, rated_flow: float) -> float | None:
    """Efficiency of a pump at a flow of its own at rated frequency: affinity keeps it."""
    if pump.efficiency is not UNSET:
        return pump.efficiency
    if not pump.efficiency_curve:
        return None
    found = straight_between(tuple((p.flow.si, p.efficiency) for p in pump.efficiency_curve), rated_flow)
    return None if found is None or found < LEAST_EFFICIENCY else found


def power_of(loop: Loop, flow: float) -> Power:
    """Brake power rho g Q H over efficiency, and the motors' input."""
    brake, motor_input = 0.0, 0.0
    motors_known = True
    for running in loop.pumps:
        pump = loop.given.pumps[running.index]
        efficiency = efficiency_at(pump, running.rated_flow(flow))
        if efficiency is None:
            return Power(None, None)
        power = loop.weight * flow * running.head(flow) / efficiency
        brake += power
        if pump.motor_efficiency is UNSET:
            motors_known = False
        else:
            motor_input += power / (pump.motor_efficiency * pump.drive_efficiency)
    return Power(brake, motor_input if motors_known else None)


def scaled_curve(loop: Loop) -> list[tuple[float, float, float | None]]:
    """Flow, head and brake power of the whole set at the given points, each scaled by its frequency."""
    flows = {
        point.flow.si * pump.ratio * pump.count for pump in loop.pumps for point in loop.given.pumps[pump.index].curve
    }
    end = loop.end * (1.0 + 1e-12)
    rows = []
    for flow in sorted(q for q in flows if q <= end):
        flow_in = min(flow, loop.end)
        power = power_of(loop, flow_in).brake if flow_in > 0.0 else None
        rows.append((flow_in, total_head(loop.pumps, flow_in), power))
    return rows


def air_at(given: LoopGiven) -> float:
    """Pressure of the air, Pa: given, or by the standard atmosphere, or that of sea level."""
    if given.atmospheric_pressure is not UNSET:
        return given.atmospheric_pressure.si
    if given.site_elevation is not UNSET:
        return air_pressure(given.site_elevation.si)
    return STANDARD_ATMOSPHERE


def npsh_available(suction: float, air: float, vapor: float, density: float) -> float:
    """(p_suction + p_air - p_vapour) / (rho g); the velocity head is left out, on the safe side."""
    return (suction + air - vapor) / (density * STANDARD_GRAVITY)


def npsh_required(pump: PumpGiven, flow_of_one: float) -> float | None:
    """At the flow of one pump; None beyond the curve.

    Flow goes with speed and head with its square, but what a slower pump needs is not taken as less: the safe side.
    """
    points = tuple((p.flow.si, p.required) for p in pump.npsh_required_curve)
    if not points:
        return None
    ratio = pump.speed_ratio
    factor = max(1.0, ratio * ratio)
    if len(points) == 1:
        return factor * points[0][1]
    needed = straight_between(points, max(flow_of_one / ratio, points[0][0]))
    return None if needed is None else factor * needed


def npsh_wanted(required: float) -> float:
    """With its margin."""
    return max(WANTED_RATIO * required, required + WANTED_MARGIN)
