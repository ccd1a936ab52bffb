"""State points and figures of a one-stage vapour-compression cycle."""

from typing import Annotated, Literal

from msgspec import UNSET, UnsetType
from msgspec.structs import replace

from coldwright.contract import Example, Given, Load, Notes, Results, about, calculator, finding, tidy
from coldwright.contract.quantities import (
    AbsolutePressure,
    Density,
    MassFlow,
    Power,
    SpecificEnthalpy,
    SpecificHeat,
    Temperature,
    TemperatureDifference,
    VolumeFlow,
)
from coldwright_refrigeration.cautions import LOCAL_RULES
from coldwright_refrigeration.cycle_findings import DISCHARGE_CHECK, DISCHARGE_STOP, judge
from coldwright_refrigeration.cycle_points import CyclePoints, points_of
from coldwright_refrigeration.references import COOLPROP, FIRST_PRINCIPLES, PRACTICE
from coldwright_refrigeration.refrigerant_states import State
from coldwright_refrigeration.refrigerants import ABOUT_REFRIGERANT, REFRIGERANTS_TABLE, RefrigerantName
from coldwright_refrigeration.saturation import SATURATION_TABLE

BTU_PER_WATT_HOUR = 3.412142
KILOWATT_PER_TON = 3.516853
"""12,000 International Table Btu in an hour."""
_WIDE = "the tabulated saturation lines begin near -45 degC and end between 65 and 90 degC"


class PhaseChangeGiven(Given, frozen=True, kw_only=True):
    """Where the refrigerant evaporates or condenses: a temperature or an absolute pressure, exactly one."""

    temperature: (
        Annotated[Temperature, about("Saturation temperature.", low=-45, high=90, unit="degC", why=_WIDE)] | UnsetType
    ) = UNSET
    pressure: (
        Annotated[AbsolutePressure, about("Absolute pressure.", low=1, high=6000, unit="kPa", why=_WIDE)] | UnsetType
    ) = UNSET


class CycleGiven(Given, frozen=True, kw_only=True):
    """A cycle: two saturation states, what happens at their ends, and how large the circuit is."""

    refrigerant: Annotated[RefrigerantName, about(ABOUT_REFRIGERANT)]
    evaporating: Annotated[PhaseChangeGiven, about("Evaporation.")]
    condensing: Annotated[PhaseChangeGiven, about("Condensation, at the compressor's outlet pressure.")]
    evaporating_reference: Annotated[
        Literal["dew"], about("Which temperature of a blend `evaporating.temperature` is.")
    ] = "dew"
    condensing_reference: Annotated[
        Literal["mean", "bubble", "dew"],
        about("Which temperature of a blend `condensing.temperature` is.", basis="common_practice"),
    ] = "mean"
    superheat: (
        Annotated[
            TemperatureDifference,
            about("Compressor inlet above the dew point; 0 when nothing is given.", low=0, high=80, unit="delta_degC"),
        ]
        | UnsetType
    ) = UNSET
    compressor_inlet_temperature: (
        Annotated[Temperature, about("Compressor inlet, in place of `superheat`.", low=-45, high=120, unit="degC")]
        | UnsetType
    ) = UNSET
    subcooling: (
        Annotated[
            TemperatureDifference,
            about(
                "Condenser outlet below the bubble point; 0 when nothing is given.", low=0, high=80, unit="delta_degC"
            ),
        ]
        | UnsetType
    ) = UNSET
    condenser_outlet_temperature: (
        Annotated[Temperature, about("Condenser outlet, in place of `subcooling`.", low=-45, high=90, unit="degC")]
        | UnsetType
    ) = UNSET
    condenser_outlet_pressure: (
        Annotated[
            AbsolutePressure,
            about("Pressure at the condenser outlet, where it is below the inlet's.", low=1, high=6000, unit="kPa"),
        ]
        | UnsetType
    ) = UNSET
    isentropic_efficiency: (
        Annotated[float, about("Isentropic efficiency; 1, the ideal, when nothing is given.", low=0.3, high=1)]
        | UnsetType
    ) = UNSET
    compressor_outlet_temperature: (
        Annotated[
            Temperature,
            about(
                "Measured at the compressor outlet, in place of `isentropic_efficiency`, which is then an output.",
                low=-45,
                high=250,
                unit="degC",
            ),
        ]
        | UnsetType
    ) = UNSET
    motor_efficiency: Annotated[float, about("Shaft power over electric power.", low=0.3, high=1)] = 1.0
    mass_flow: (
        Annotated[MassFlow, about("Refrigerant that goes round.", above=0, high=1000, unit="kg/s")] | UnsetType
    ) = UNSET
    capacity: Annotated[Power, about("Cooling.", above=0, high=100_000, unit="kW")] | UnsetType = UNSET
    swept_volume_flow: (
        Annotated[VolumeFlow, about("Volume that the compressor sweeps.", above=0, high=1000, unit="m3/s")] | UnsetType
    ) = UNSET
    volumetric_efficiency: Annotated[
        float, about("Volume drawn in over volume swept.", low=0.3, high=1, basis="common_practice")
    ] = 0.95


class CycleState(Results, frozen=True, kw_only=True):
    """One point of the cycle."""

    pressure: Annotated[AbsolutePressure, about("Absolute pressure.")]
    temperature: Annotated[Temperature, about("Temperature.")]
    enthalpy: Annotated[
        SpecificEnthalpy, about("Specific enthalpy, on CoolProp's zero for the fluid: only differences mean anything.")
    ]
    entropy: Annotated[SpecificHeat, about("Specific entropy, on CoolProp's zero for the fluid.")]
    density: Annotated[Density, about("Density.")]
    quality: Annotated[float, about("Vapour by mass, in or on the dome; else left out.")] | UnsetType = UNSET


class CycleResults(Results, frozen=True, kw_only=True):
    """State points and figures. What needs the size of the circuit is left out where none was given."""

    states: Annotated[
        tuple[CycleState, ...],
        about("Compressor inlet, compressor outlet, condenser outlet, evaporator inlet.", max_length=4),
    ]
    isentropic_efficiency: Annotated[float, about("Isentropic efficiency, given or found from the outlet temperature.")]
    discharge_temperature: Annotated[Temperature, about("Compressor outlet.")]
    pressure_ratio: Annotated[float, about("Absolute pressure at the compressor's outlet over its inlet.")]
    condensing_temperature: Annotated[Temperature, about("Mean of bubble and dew point at the compressor's outlet.")]
    condensing_bubble_temperature: Annotated[Temperature, about("Bubble point at the compressor's outlet pressure.")]
    condensing_dew_temperature: Annotated[Temperature, about("Dew point at the compressor's outlet pressure.")]
    evaporating_temperature: Annotated[Temperature, about("Dew point at the evaporating pressure.")]
    specific_cooling: Annotated[SpecificEnthalpy, about("Cooling for each mass that goes round: h1 - h4.")]
    specific_work: Annotated[SpecificEnthalpy, about("Work for each mass that goes round: h2 - h1.")]
    specific_heat_rejected: Annotated[SpecificEnthalpy, about("Heat rejected for each mass that goes round: h2 - h3.")]
    cop: Annotated[float, about("Cooling over shaft power.")]
    eer: Annotated[float, about("Cooling in Btu for a watt-hour at the shaft.")]
    kw_per_ton: Annotated[float, about("Shaft power in kW for a ton of cooling.")]
    carnot_cop: Annotated[
        float,
        about(
            "Te/(Tc - Te), kelvin, of the mean evaporating and condensing temperatures: a yardstick. Much superheat "
            "counted as cooling can pass it."
        ),
    ]
    mass_flow: Annotated[MassFlow, about("Refrigerant that goes round.")] | UnsetType = UNSET
    capacity: Annotated[Power, about("Cooling.", us="ton")] | UnsetType = UNSET
    compressor_power: Annotated[Power, about("Power at the shaft.", us="kW")] | UnsetType = UNSET
    electric_power: Annotated[Power, about("Power that the motor draws.", us="kW")] | UnsetType = UNSET
    heat_rejected: Annotated[Power, about("Heat given off by the condenser.", us="Btu/h")] | UnsetType = UNSET
    swept_volume_flow: Annotated[VolumeFlow, about("Volume that the compressor must sweep.")] | UnsetType = UNSET


@calculator(
    "refrigeration.cycle",
    version="1.0.0",
    title="Vapour-compression cycle",
    references=(COOLPROP, FIRST_PRINCIPLES, PRACTICE),
    tables=(REFRIGERANTS_TABLE, SATURATION_TABLE),
    hazards=("general",),
    findings=(
        finding(
            "discharge_too_hot",
            ("check", "stop"),
            f"The compressor outlet is above {DISCHARGE_CHECK:g} degC (check) or {DISCHARGE_STOP:g} degC (stop).",
        ),
        finding("pressure_ratio_high", "check", "The compressor works over more than six times its inlet pressure."),
        finding("near_critical", "stop", "The condensing pressure is within 5 % of the critical pressure."),
        finding("efficiency_unusual", "check", "The efficiency found from the outlet temperature is below 0.3."),
        finding("glide_reference", "note", "The blend's bubble and dew points lie more than 2 K apart."),
    ),
    examples=(
        Example(
            "air-cooled circuit",
            "An invented 350 kW circuit with R-410A on a hot day.",
            {
                "refrigerant": "R-410A",
                "evaporating": {"temperature": {"value": 2, "unit": "degC"}},
                "condensing": {"temperature": {"value": 50, "unit": "degC"}},
                "superheat": {"value": 6, "unit": "delta_degC"},
                "subcooling": {"value": 6, "unit": "delta_degC"},
                "isentropic_efficiency": 0.7,
                "capacity": {"value": 350, "unit": "kW"},
            },
        ),
        Example(
            "efficiency from readings",
            "Invented readings at an R-134a compressor: how good is it?",
            {
                "refrigerant": "R-134a",
                "evaporating": {"pressure": {"value": 3.0, "unit": "bar"}},
                "condensing": {"pressure": {"value": 12.0, "unit": "bar"}},
                "compressor_inlet_temperature": {"value": 7, "unit": "degC"},
                "compressor_outlet_temperature": {"value": 68, "unit": "degC"},
                "condenser_outlet_temperature": {"value": 41, "unit": "degC"},
            },
        ),
    ),
    load=Load.HEAVY,
)
def cycle(given: CycleGiven, notes: Notes) -> CycleResults:
    """State points, efficiency and size of a one-stage vapour-compression cycle.

    Four points: 1 compressor inlet, 2 compressor outlet, 3 condenser outlet, 4 evaporator inlet, with h4 = h3 and
    h2 = h1 + (h2s - h1)/efficiency; cooling h1 - h4, work h2 - h1, heat rejected h2 - h3. Properties come from
    CoolProp 8.0.0 with the phase imposed, saturation from lines tabulated with it (within 0.001 K). For a blend,
    superheat counts from the dew point and subcooling from the bubble point. No pressure is lost in the evaporator
    and the suction line, and only as given in the condenser.

    Valid from -45 degC to 65 degC, for low-pressure refrigerants to 90 degC, below the critical point. The limits of
    discharge temperature and pressure ratio are common practice, no source.
    """
    points = points_of(given, notes)
    notes.caution(LOCAL_RULES)
    results = _results(given, points)
    _show(points, results, notes)
    judge(given, points, notes)
    return results


def _results(given: CycleGiven, points: CyclePoints) -> CycleResults:
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
        kw_per_ton=tidy(KILOWATT_PER_TON / cop),
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


def _show(points: CyclePoints, results: CycleResults, notes: Notes) -> None:
    h = [s.enthalpy / 1000 for s in points.states]
    h2s = points.isentropic.enthalpy / 1000
    eta = points.isentropic_efficiency
    notes.show("h1", "compressor inlet", f"h({points.states[0].pressure / 1000:.2f} kPa, T1)", h[0], "kJ/kg")
    notes.show("h2s", "ideal compressor outlet", f"h({points.states[1].pressure / 1000:.2f} kPa, s1)", h2s, "kJ/kg")
    if points.efficiency_is_found:
        notes.show("eta_s", "isentropic efficiency", f"({h2s:.2f} - {h[0]:.2f}) / ({h[1]:.2f} - {h[0]:.2f})", eta)
    else:
        notes.show("h2", "compressor outlet", f"{h[0]:.2f} + ({h2s:.2f} - {h[0]:.2f}) / {eta:g}", h[1], "kJ/kg")
    notes.show("h4", "evaporator inlet", "h4 = h3, the valve does no work", h[3], "kJ/kg")
    notes.show("q_e", "cooling", f"h1 - h4 = {h[0]:.2f} - {h[3]:.2f}", results.specific_cooling)
    notes.show("w", "work", f"h2 - h1 = {h[1]:.2f} - {h[0]:.2f}", results.specific_work)
    notes.show("q_c", "heat rejected", f"h2 - h3 = {h[1]:.2f} - {h[2]:.2f}", results.specific_heat_rejected)
    notes.show("COP", "cooling over shaft power", "q_e / w", results.cop)
    notes.show("EER", "Btu for a watt-hour", f"{BTU_PER_WATT_HOUR} x {results.cop:.4g}", results.eer)
    if results.mass_flow is not UNSET and results.capacity is not UNSET:
        notes.show("m", "refrigerant that goes round", f"Q_e / q_e = {results.capacity} / q_e", results.mass_flow)
