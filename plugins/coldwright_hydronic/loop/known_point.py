"""One known point of a pump alone."""

from typing import Any

from msgspec import UNSET

from coldwright.contract import Notes, refuse
from coldwright.contract.quantities import Length, Power, PressureDifference, VolumeFlow
from coldwright_basis.constants import STANDARD_GRAVITY
from coldwright_basis.liquids import FluidState
from coldwright_hydronic.loop.answer import curve_point, powers, suction_figures
from coldwright_hydronic.loop.case import suction_head, vapor_at
from coldwright_hydronic.loop.given import KnownPoint, LoopGiven, PumpGiven
from coldwright_hydronic.loop.power import air_at, efficiency_at
from coldwright_hydronic.loop.pressure_findings import find_assumed_reference
from coldwright_hydronic.loop.pressures import suction_pressure
from coldwright_hydronic.loop.pump_findings import find_off_frequency, find_suction
from coldwright_hydronic.loop.pump_shares import pump_result
from coldwright_hydronic.loop.report import show_suction


def known_point(
    given: LoopGiven, state: FluidState, pump: PumpGiven, point: KnownPoint, notes: Notes
) -> dict[str, Any]:
    """Flow, head, power and suction head of one known point at its frequency."""
    r, n = pump.speed_ratio, pump.parallel_count
    each, head = r * point.flow.si, r * r * point.head.si
    flow = n * each
    hydraulic = state.density * STANDARD_GRAVITY * flow * head
    efficiency = efficiency_at(pump, point.flow.si)
    scaled = None if point.brake_power is UNSET else r**3 * n * point.brake_power.si
    brake = hydraulic / efficiency if efficiency is not None else scaled
    motor = None
    if brake is not None and pump.motor_efficiency is not UNSET:
        motor = brake / (pump.motor_efficiency * pump.drive_efficiency)
    notes.show("r", "Frequency over rated frequency", "f / f_r", r)
    notes.show("Q", "flow", f"r n Q_r = {r:.6g} x {n} x {point.flow}", VolumeFlow.from_si(flow, "L/s"))
    notes.show("H", "head", f"r^2 H_r = {r:.6g}^2 x {point.head}", Length.from_si(head, "m"))
    results: dict[str, Any] = {
        "duty_flow": VolumeFlow.from_si(flow, "L/s"),
        "pump_head": Length.from_si(head, "m"),
        "pump_pressure_rise": PressureDifference.from_si(state.density * STANDARD_GRAVITY * head, "kPa"),
        "hydraulic_power": Power.from_si(hydraulic, "kW"),
        "scaled_point": curve_point(flow, head, scaled if scaled is not None else brake),
        **powers(brake, motor, notes),
    }
    find_off_frequency(pump, "/pumps/0", notes)
    if given.open_source is UNSET and given.pressure_reference is UNSET and not pump.npsh_required_curve:
        results["pumps"] = (pump_result(0, pump, each, head, None),)
        return results
    if given.pressure_reference is not UNSET and given.pressure_reference.location != "pump_suction":
        raise refuse("/pressure_reference/location", "Without elements only `pump_suction` can be the reference.")
    suction = suction_pressure(given, state.density * STANDARD_GRAVITY)
    available, vapor = suction_head(given, state, suction), vapor_at(given)
    if available is not None and vapor is not None:
        find_assumed_reference(given, notes)
        show_suction(notes, suction, air_at(given), vapor, state.density, available)
        results |= suction_figures(available, pump, each)
        find_suction(pump, "/pumps/0", each, available, notes)
    results["pumps"] = (pump_result(0, pump, each, head, available),)
    return results
