"""Figures of the cycle: per kilogram, and by the size of the circuit."""

from msgspec import UNSET
from msgspec.structs import replace

from coldwright.contract import Notes, tidy
from coldwright.contract.quantities import (
    AbsolutePressure,
    Density,
    MassFlow,
    Power,
    SpecificEnthalpy,
    SpecificHeat,
    Temperature,
    VolumeFlow,
)
from coldwright_basis.constants import TON_OF_REFRIGERATION
from coldwright_refrigeration.cycle.given import CycleGiven
from coldwright_refrigeration.cycle.points import CyclePoints
from coldwright_refrigeration.cycle.results import CycleResults, CycleState
from coldwright_refrigeration.shared.refrigerant_states import State

BTU_PER_WATT_HOUR = 3.412142
"""12,000 International Table Btu in an hour."""


def answer_of(given: CycleGiven, points: CyclePoints) -> CycleResults:
    """The results in their units."""
    one, two, three, four = points.states
    cooling, work = one.enthalpy - four.enthalpy, two.enthalpy - one.enthalpy
    cop = cooling / work
    mass_flow = _mass_flow(given, cooling, one.density)
    results = CycleResults(
        states=tuple(_state(s) for s in points.states),
        isentropic_efficiency=tidy(points.isentropic_efficiency),
        discharge_temperature=Temperature.from_si(two.temperature, "degC"),
        pressure_ratio=tidy(two.pressure / one.pressure),
        condensing_temperature=Temperature.from_si(points.condensing_mean, "degC"),
        condensing_bubble_temperature=Temperature.from_si(points.condensing_bubble, "degC"),
        condensing_dew_temperature=Temperature.from_si(points.condensing_dew, "degC"),
        evaporating_temperature=Temperature.from_si(points.evaporating_dew, "degC"),
        specific_cooling=SpecificEnthalpy.from_si(cooling, "kJ/kg"),
        specific_work=SpecificEnthalpy.from_si(work, "kJ/kg"),
        specific_heat_rejected=SpecificEnthalpy.from_si(two.enthalpy - three.enthalpy, "kJ/kg"),
        cop=tidy(cop),
        eer=tidy(BTU_PER_WATT_HOUR * cop),
        kw_per_ton=tidy(TON_OF_REFRIGERATION / 1000 / cop),
        carnot_cop=tidy(points.evaporating_mean / (points.condensing_mean - points.evaporating_mean)),
    )
    return results if mass_flow is None else _sized(results, given, mass_flow, one.density)


def _state(s: State) -> CycleState:
    return CycleState(
        pressure=AbsolutePressure.from_si(s.pressure, "kPa"),
        temperature=Temperature.from_si(s.temperature, "degC"),
        enthalpy=SpecificEnthalpy.from_si(s.enthalpy, "kJ/kg"),
        entropy=SpecificHeat.from_si(s.entropy, "kJ/kg.K"),
        density=Density.from_si(s.density, "kg/m3"),
        quality=UNSET if s.quality is None else tidy(s.quality),
    )


def _mass_flow(given: CycleGiven, cooling: float, density: float) -> float | None:
    """Mass flow in kg/s from whichever size was given."""
    if given.mass_flow is not UNSET:
        return given.mass_flow.si
    if given.capacity is not UNSET:
        return given.capacity.si / cooling
    if given.swept_volume_flow is not UNSET:
        return given.swept_volume_flow.si * given.volumetric_efficiency * density
    return None


def _sized(results: CycleResults, given: CycleGiven, mass_flow: float, density: float) -> CycleResults:
    """The results with what depends on the size of the circuit."""
    cooling, work = results.specific_cooling.si, results.specific_work.si
    return replace(
        results,
        mass_flow=MassFlow.from_si(mass_flow, "kg/s"),
        capacity=Power.from_si(mass_flow * cooling, "kW"),
        compressor_power=Power.from_si(mass_flow * work, "kW"),
        electric_power=Power.from_si(mass_flow * work / given.motor_efficiency, "kW"),
        heat_rejected=Power.from_si(mass_flow * (cooling + work), "kW"),
        swept_volume_flow=VolumeFlow.from_si(mass_flow / density / given.volumetric_efficiency, "m3/h"),
    )


def show(points: CyclePoints, results: CycleResults, notes: Notes) -> None:
    """The working of the cycle."""
    h = [s.enthalpy / 1000 for s in points.states]
    h2s = points.isentropic.enthalpy / 1000
    eta = points.isentropic_efficiency
    notes.show("h1", "Compressor inlet", f"h({points.states[0].pressure / 1000:.2f} kPa, T1)", h[0], "kJ/kg")
    notes.show("h2s", "Ideal compressor outlet", f"h({points.states[1].pressure / 1000:.2f} kPa, s1)", h2s, "kJ/kg")
    if points.efficiency_is_found:
        notes.show("eta_s", "Isentropic efficiency", f"({h2s:.2f} - {h[0]:.2f}) / ({h[1]:.2f} - {h[0]:.2f})", eta)
    else:
        notes.show("h2", "Compressor outlet", f"{h[0]:.2f} + ({h2s:.2f} - {h[0]:.2f}) / {eta:g}", h[1], "kJ/kg")
    notes.show("h4", "Evaporator inlet", "h4 = h3, the valve does no work", h[3], "kJ/kg")
    notes.show("q_e", "Cooling", f"h1 - h4 = {h[0]:.2f} - {h[3]:.2f}", results.specific_cooling)
    notes.show("w", "Work", f"h2 - h1 = {h[1]:.2f} - {h[0]:.2f}", results.specific_work)
    notes.show("q_c", "Heat rejected", f"h2 - h3 = {h[1]:.2f} - {h[2]:.2f}", results.specific_heat_rejected)
    notes.show("COP", "Cooling over shaft power", "q_e / w", results.cop)
    notes.show("EER", "Btu for a watt-hour", f"{BTU_PER_WATT_HOUR} x {results.cop:.4g}", results.eer)
    if results.mass_flow is not UNSET and results.capacity is not UNSET:
        notes.show("m", "Refrigerant that goes round", f"Q_e / q_e = {results.capacity} / q_e", results.mass_flow)
