"""The figures of a loop at its duty as results."""

from typing import Any

from msgspec import UNSET

from coldwright.contract import Notes, tidy
from coldwright.contract.quantities import Length, Power, PressureDifference, TemperatureDifference, VolumeFlow
from coldwright_basis.liquids import FluidState, Property
from coldwright_hydronic.loop.case import Case
from coldwright_hydronic.loop.flow_findings import find_flow, find_required
from coldwright_hydronic.loop.given import LoopGiven, PumpGiven
from coldwright_hydronic.loop.power import air_at, npsh_required, npsh_wanted, power_of, scaled_curve
from coldwright_hydronic.loop.pressure_findings import find_pressures
from coldwright_hydronic.loop.pump_findings import find_pumps
from coldwright_hydronic.loop.pump_shares import pumps_at_duty
from coldwright_hydronic.loop.report import branch_flows, extremes, report, show_duty, show_suction
from coldwright_hydronic.loop.results import PumpCurvePoint
from coldwright_hydronic.loop.throttled import throttled
from coldwright_hydronic.loop.throttling import throttling


def needs_of_loop(given: LoopGiven) -> tuple[Property, ...]:
    """What a custom liquid must bring was tested before; all it brings is taken."""
    if given.fluid.kind != "custom":
        return ("density", "dynamic_viscosity", "specific_heat")
    return ("density",)


def show_required(given: LoopGiven, state: FluidState, results: dict[str, Any], notes: Notes) -> None:
    """The required flow, where it follows from a load."""
    required = given.required
    if required is not UNSET and required.load is not UNSET and required.temperature_difference is not UNSET:
        notes.show(
            "Q_req",
            "Required flow",
            f"load / (rho cp dT) = {required.load.to('kW'):.6g} kW / ({state.volumetric_heat / 1e3:.6g} kJ/m3.K x "
            f"{required.temperature_difference.si:.5g} K)",
            results["required_flow"],
        )


def duty(case: Case, wanted: float | None, notes: Notes) -> dict[str, Any]:
    """Results and findings of a loop at its duty; `wanted` in m3/s."""
    show_duty(case, notes)
    results: dict[str, Any] = {
        "duty_flow": VolumeFlow.from_si(case.flow, "L/s"),
        "pump_head": Length.from_si(case.rise / case.loop.weight, "m"),
        "pump_pressure_rise": PressureDifference.from_si(case.rise, "kPa"),
        "hydraulic_power": Power.from_si(case.rise * case.flow, "kW"),
        "elements": report(case.press.readings, case.state),
        "branch_flows": branch_flows(case.readings),
        "loop_pressure_drop": PressureDifference.from_si(case.resistance, "kPa"),
    }
    results["lowest_pressure"], results["highest_pressure"] = extremes(case)
    if case.loop.pumps:
        power = power_of(case.loop, case.flow)
        results |= powers(power.brake, power.motor_input, notes)
        results["pumps"] = pumps_at_duty(case)
        results["scaled_pump_curve"] = tuple(curve_point(*row) for row in scaled_curve(case.loop))
    if case.npsh is not None and case.vapor is not None:
        show_suction(notes, case.press.suction, air_at(case.given), case.vapor, case.state.density, case.npsh)
        first = case.loop.pumps[0] if case.loop.pumps else None
        pump = case.given.pumps[first.index] if first else None
        each = case.flow / first.count if first else case.flow
        results |= suction_figures(case.npsh, pump, each)
    if wanted is not None:
        results |= throttling(case, wanted, notes)
        results |= _at_load(case)
        find_required(case, wanted, notes)
    results |= throttled(case, wanted, notes)
    find_flow(case, notes)
    find_pressures(case, notes)
    find_pumps(case, notes)
    return results


def curve_point(flow: float, head: float, power: float | None) -> PumpCurvePoint:
    """A point of a pump curve: m3/s, m, W."""
    return PumpCurvePoint(
        flow=VolumeFlow.from_si(flow, "L/s"),
        head=Length.from_si(head, "m"),
        brake_power=UNSET if power is None else Power.from_si(power, "kW"),
    )


def powers(brake: float | None, motor_input: float | None, notes: Notes) -> dict[str, Any]:
    """Power at the shafts and from the mains [W], those that are known."""
    results: dict[str, Any] = {}
    if brake is not None:
        results["brake_power"] = Power.from_si(brake, "kW")
        notes.show("P", "Power at the shafts", "hydraulic power / efficiency, summed", results["brake_power"])
    if motor_input is not None:
        results["motor_input_power"] = Power.from_si(motor_input, "kW")
        expression = "power at the shaft / (motor efficiency x drive efficiency), summed"
        notes.show("P_m", "Power from the mains", expression, results["motor_input_power"])
    return results


def suction_figures(available: float, pump: PumpGiven | None, each: float) -> dict[str, Any]:
    """Suction head available [m], and what one pump needs at its flow `each` [m3/s]."""
    results: dict[str, Any] = {"npsh_available": Length.from_si(available, "m")}
    required = None if pump is None else npsh_required(pump, each)
    if required is not None:
        results["npsh_required"] = Length.from_si(required, "m")
        results["npsh_wanted"] = Length.from_si(npsh_wanted(required), "m")
        if required > 1e-3:
            results["npsh_margin_ratio"] = tidy(available / required)
    return results


def _at_load(case: Case) -> dict[str, Any]:
    required = case.given.required
    if required is UNSET or required.load is UNSET:
        return {}
    difference = required.load.si / (case.state.volumetric_heat * case.flow)
    return {"temperature_difference_at_load": TemperatureDifference.from_si(difference, "delta_degC")}
