"""Steady flow, pressures, power and choice of hose of a temporary loop."""

from typing import Any

from msgspec import UNSET

from coldwright.contract import Example, Load, Notes, calculator, finding, refuse, tidy
from coldwright.contract.quantities import (
    Frequency,
    GaugePressure,
    Length,
    Power,
    PressureDifference,
    TemperatureDifference,
    VolumeFlow,
)
from coldwright_basis.liquids import FluidState, Property, properties
from coldwright_hydronic import cautions, network, references
from coldwright_hydronic.devices import assume_rated_with_water, kv_for
from coldwright_hydronic.friction import GRAVITY
from coldwright_hydronic.loop_case import Case, required_flow, suction_head, vapor_at, work_out
from coldwright_hydronic.loop_checks import everything, refuse_contradictions
from coldwright_hydronic.loop_findings import FLOW_FINDINGS, find_flow, find_required
from coldwright_hydronic.loop_given import DeviceGiven, KnownPoint, LoopGiven, PumpGiven
from coldwright_hydronic.loop_hoses import best, hose_selection, limits
from coldwright_hydronic.loop_model import speed_ratio, suction_pressure
from coldwright_hydronic.loop_power import (
    air_pressure,
    efficiency_at,
    npsh_required,
    npsh_wanted,
    power_of,
    scaled_curve,
)
from coldwright_hydronic.loop_pressure_findings import (
    PRESSURE_FINDINGS,
    PUMP_FINDINGS,
    find_assumed_reference,
    find_off_frequency,
    find_pressures,
    find_pumps,
    find_suction,
)
from coldwright_hydronic.loop_report import branch_flows, extremes, report, show_duty, show_suction
from coldwright_hydronic.loop_results import LoopResults, PumpCurvePoint
from coldwright_hydronic.shared.second_opinion import second_opinion

LOWEST_FREQUENCY = 20.0
WATER_7 = {"kind": "water", "temperature": {"value": 7, "unit": "degC"}}


def _line(name: str, kind: str, length: float, height: float) -> dict[str, Any]:
    return {
        "name": name,
        "type": "line",
        "line_kind": kind,
        "inner_diameter": {"value": 101.6, "unit": "mm"},
        "length": {"value": length, "unit": "m"},
        "elevation_out": {"value": height, "unit": "m"},
        "working_pressure": {"value": 1000, "unit": "kPa"},
    }


def _device(name: str, kind: str, drop: float, minimum: float) -> dict[str, Any]:
    return {
        "name": name,
        "type": "device",
        "device_kind": kind,
        "rated_flow": {"value": 15, "unit": "L/s"},
        "rated_pressure_drop": {"value": drop, "unit": "kPa"},
        "flow_minimum": {"value": minimum, "unit": "L/s"},
    }


EXAMPLES = (
    Example(
        "rooftop_coil",
        "Invented loop: the machine's own pump, 60 m of hose up to a coil on the roof and back.",
        {
            "fluid": WATER_7,
            "elements": [
                _device("evaporator", "evaporator", 60, 8),
                _line("supply hose", "rubber_hose", 60, 10),
                _device("coil", "coil", 40, 6),
                _line("return hose", "rubber_hose", 60, 0),
            ],
            "pumps": [
                {
                    "curve": [
                        {"flow": {"value": 0, "unit": "L/s"}, "head": {"value": 35, "unit": "m"}},
                        {"flow": {"value": 15, "unit": "L/s"}, "head": {"value": 28, "unit": "m"}},
                        {"flow": {"value": 25, "unit": "L/s"}, "head": {"value": 16, "unit": "m"}},
                    ],
                    "interpolation": "power_law",
                    "efficiency": 0.7,
                    "motor_efficiency": 0.9,
                }
            ],
            "pump_owner": "machine",
            "pressure_reference": {"gauge_pressure": {"value": 200, "unit": "kPa"}},
            "required": {"flow": {"value": 15, "unit": "L/s"}},
        },
    ),
    Example(
        "choose_hose",
        "Invented order: which hose carries 100 tons at 10 degF over 60 m?",
        {
            "fluid": {"kind": "water", "temperature": {"value": 49, "unit": "degF"}},
            "required": {
                "load": {"value": 100, "unit": "ton"},
                "temperature_difference": {"value": 10, "unit": "delta_degF"},
            },
            "hose_options": [
                {"inner_diameter": {"value": 76.2, "unit": "mm"}},
                {"inner_diameter": {"value": 101.6, "unit": "mm"}},
                {"inner_diameter": {"value": 152.4, "unit": "mm"}},
            ],
            "run_length": {"value": 60, "unit": "m"},
        },
    ),
    Example(
        "site_pump_known_flow",
        "Invented check: the site says 12 L/s of glycol; what do two machines side by side drop?",
        {
            "fluid": {
                "kind": "propylene_glycol",
                "volume_fraction": 0.3,
                "temperature": {"value": 2, "unit": "degC"},
            },
            "elements": [
                _line("supply pipe", "steel", 40, 0),
                {
                    "name": "machines",
                    "type": "branches",
                    "branches": [
                        [_device("evaporator 1", "evaporator", 60, 5)],
                        [_device("evaporator 2", "evaporator", 45, 5)],
                    ],
                },
            ],
            "fixed_flow": {"value": 12, "unit": "L/s"},
            "pump_owner": "site",
        },
    ),
)


@calculator(
    "hydronic.loop",
    version="1.1.0",
    title="Flow, pressures, power and hose of a temporary loop",
    references=(
        references.FIRST_PRINCIPLES,
        references.PRACTICE,
        references.FLUIDS,
        *references.PROPERTY_REFERENCES,
        references.WHITE,
        references.CRANE_ROUGHNESS,
        references.MOODY_DRAWN_TUBE,
        references.CRANE_NPSH,
        references.CRANE_PUMPS,
        references.VALVE_SIZING,
        references.HI_NPSH,
        references.HI_REGION,
        references.HI_VISCOSITY,
        references.VA_HVAC_MANUAL,
        references.MIL_HDBK_1003_8A,
        references.ICAO_ATMOSPHERE,
        *references.CAUTION_REFERENCES,
    ),
    hazards=("pressure", "general"),
    findings=(
        *FLOW_FINDINGS,
        *PRESSURE_FINDINGS,
        *PUMP_FINDINGS,
        finding("no_hose_fits", "check", "None of the hoses is acceptable in the runs allowed."),
    ),
    examples=EXAMPLES,
    load=Load.HEAVY,
)
def loop(given: LoopGiven, notes: Notes) -> LoopResults:
    """Duty flow of a loop of hose, pipe, fittings, devices and valves with its pumps, or the drops at a known flow.

    Friction by Darcy with 64/Re or Colebrook, devices by their rating, pumps by affinity; unequal branches share one
    drop. From that: pressure at every element, power, suction head, throttling to a required flow, and choice of hose.
    Steady, liquid-full, one temperature. Hazen-Williams is not used: it holds for water near 15 degC only. Also works
    one known point of a pump alone, and the choice of hose alone.
    """
    refuse_contradictions(given)
    state = properties(given.fluid, needs=_needs(given))
    wanted = required_flow(given, state)
    _assume(given, notes)
    notes.caution(
        cautions.HOSE_UNDER_PRESSURE,
        cautions.NEVER_LOOSEN_UNDER_PRESSURE,
        cautions.GASKET_AND_LEVERS,
        cautions.NO_STRAIN,
        cautions.FLOW_DIRECTION,
        cautions.TRIP_AND_TRAFFIC,
        cautions.EVAPORATOR_FREEZE,
        cautions.LOCAL_CODE,
    )
    notes.show("rho", "density of the liquid", "library, or given", state.density, "kg/m3")
    results: dict[str, Any] = {}
    if wanted is not None:
        results["required_flow"] = VolumeFlow.from_si(wanted, "L/s")
        _show_required(given, state, results, notes)
    results["second_opinion"] = second_opinion(
        given.fluid, None if given.fluid.temperature is UNSET else given.fluid.temperature.si
    )
    case = None
    if given.pumps and given.pumps[0].point is not UNSET:
        results |= _known_point(given, state, given.pumps[0], given.pumps[0].point, notes)
    elif given.elements:
        case = work_out(given, state)
        results |= _duty(case, wanted, notes)
    elif given.fixed_flow is not UNSET:  # hose is chosen, and nothing else is there to work
        results["duty_flow"] = given.fixed_flow
    if wanted is not None and given.hose_options:
        results |= _hoses(given, state, case, wanted, notes)
    return LoopResults(**results)


def _needs(given: LoopGiven) -> tuple[Property, ...]:
    """What a custom liquid must bring was tested before; all it brings is taken."""
    if given.fluid.kind != "custom":
        return ("density", "dynamic_viscosity", "specific_heat")
    return ("density",)


def _assume(given: LoopGiven, notes: Notes) -> None:
    notes.assume("steady", "Steady flow, the loop full of one liquid of one temperature.", basis="derived")
    if given.atmospheric_pressure is UNSET and given.site_elevation is UNSET:
        notes.assume(
            "air_at_sea_level",
            "The pressure of the air is taken as that of sea level.",
            value=GaugePressure(0.0, "kPa"),
            basis="standard",
            references=("icao_standard_atmosphere",),
        )
    if any(isinstance(e, DeviceGiven) and e.rated_fluid is UNSET for _, e, _ in everything(given.elements)):
        assume_rated_with_water(notes)
    if given.open_source is not UNSET:
        notes.assume(
            "open_return",
            "The loop returns to the tank that it draws from: below the surface without lift, above it by falling free.",
            basis="derived",
            references=("hydronic_first_principles",),
        )
    if given.hose_options and given.elements:
        notes.assume(
            "hose_replaced",
            "The hose that is chosen takes the place of the hose lines among the elements, branches apart.",
            basis="derived",
        )


def _show_required(given: LoopGiven, state: FluidState, results: dict[str, Any], notes: Notes) -> None:
    required = given.required
    if required is not UNSET and required.load is not UNSET and required.temperature_difference is not UNSET:
        notes.show(
            "Q_req",
            "required flow",
            f"load / (rho cp dT) = {required.load.to('kW'):.6g} / ({state.volumetric_heat / 1e3:.6g} x "
            f"{required.temperature_difference.si:.5g})",
            results["required_flow"],
        )


# --- the loop --------------------------------------------------------------------------------------------------------


def _duty(case: Case, wanted: float | None, notes: Notes) -> dict[str, Any]:
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
        results |= _powers(power.brake, power.motor_input, notes)
        results["scaled_pump_curve"] = tuple(_point(*row) for row in scaled_curve(case.loop))
    if case.npsh is not None and case.vapor is not None:
        show_suction(notes, case.press.suction, air_pressure(case.given), case.vapor, case.state.density, case.npsh)
        first = case.loop.pumps[0] if case.loop.pumps else None
        pump = case.given.pumps[first.index] if first else None
        each = case.flow / first.count if first else case.flow
        results |= _suction(case.npsh, pump, each)
    if wanted is not None:
        results |= _throttling(case, wanted, notes)
        results |= _at_load(case)
        find_required(case, wanted, notes)
    find_flow(case, notes)
    find_pressures(case, notes)
    find_pumps(case, notes)
    return results


def _point(flow: float, head: float, power: float | None) -> PumpCurvePoint:
    return PumpCurvePoint(
        flow=VolumeFlow.from_si(flow, "L/s"),
        head=Length.from_si(head, "m"),
        brake_power=UNSET if power is None else Power.from_si(power, "kW"),
    )


def _powers(brake: float | None, motor_input: float | None, notes: Notes) -> dict[str, Any]:
    results: dict[str, Any] = {}
    if brake is not None:
        results["brake_power"] = Power.from_si(brake, "kW")
        notes.show("P", "power at the shafts", "hydraulic power / efficiency, summed", results["brake_power"])
    if motor_input is not None:
        results["motor_input_power"] = Power.from_si(motor_input, "kW")
        expression = "power at the shaft / (motor efficiency x drive efficiency), summed"
        notes.show("P_m", "power from the mains", expression, results["motor_input_power"])
    return results


def _suction(available: float, pump: PumpGiven | None, each: float) -> dict[str, Any]:
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


def _throttling(case: Case, wanted: float, notes: Notes) -> dict[str, Any]:
    """What a valve, or a lower frequency, must do to bring the loop to the required flow."""
    loop_ = case.loop
    if not loop_.pumps or wanted > loop_.end:
        return {}
    needed = loop_.resistance(wanted) + loop_.lift
    spare = loop_.rise(wanted) - needed
    if spare <= 1e-9 * needed:
        return {}
    drop = PressureDifference.from_si(spare, "kPa")
    results: dict[str, Any] = {"throttling_pressure_drop": drop}
    notes.show("dp_thr", "drop to throttle", f"rho g H - S at {VolumeFlow.from_si(wanted, 'L/s')}", drop)
    kv = kv_for(wanted, spare, case.state.density)
    results["throttling_kv"] = tidy(kv)
    notes.show("Kv_thr", "valve that does it", "Q[m3/h] / sqrt(dp_thr[bar] 1000 / rho)", kv, "m3/h")
    slowest = wanted / loop_.end
    if loop_.rise(wanted, slowest) < needed:
        speed = network.root(lambda s: loop_.rise(wanted, s) - needed, slowest, 1.0)
        first = case.given.pumps[loop_.pumps[0].index]
        frequency = speed * loop_.pumps[0].ratio * first.rated_frequency.si
        if frequency >= LOWEST_FREQUENCY:
            results["equivalent_frequency"] = Frequency.from_si(frequency, "Hz")
            notes.show("f", "frequency that does it", "r^2 H_r(Q/r) rho g = S(Q), solved for r", frequency, "Hz")
    return results


# --- one known point -------------------------------------------------------------------------------------------------


def _known_point(
    given: LoopGiven, state: FluidState, pump: PumpGiven, point: KnownPoint, notes: Notes
) -> dict[str, Any]:
    r, n = speed_ratio(pump), pump.parallel_count
    flow, head = r * n * point.flow.si, r * r * point.head.si
    hydraulic = state.density * GRAVITY * flow * head
    efficiency = efficiency_at(pump, point.flow.si)
    scaled = None if point.brake_power is UNSET else r**3 * n * point.brake_power.si
    brake = hydraulic / efficiency if efficiency is not None else scaled
    motor = None
    if brake is not None and pump.motor_efficiency is not UNSET:
        motor = brake / (pump.motor_efficiency * pump.drive_efficiency)
    notes.show("r", "frequency over rated frequency", "f / f_r", r)
    notes.show("Q", "flow", f"r n Q_r = {r:.6g} x {n} x {point.flow}", VolumeFlow.from_si(flow, "L/s"))
    notes.show("H", "head", f"r^2 H_r = {r:.6g}^2 x {point.head}", Length.from_si(head, "m"))
    results: dict[str, Any] = {
        "duty_flow": VolumeFlow.from_si(flow, "L/s"),
        "pump_head": Length.from_si(head, "m"),
        "pump_pressure_rise": PressureDifference.from_si(state.density * GRAVITY * head, "kPa"),
        "hydraulic_power": Power.from_si(hydraulic, "kW"),
        "scaled_point": _point(flow, head, scaled if scaled is not None else brake),
        **_powers(brake, motor, notes),
    }
    find_off_frequency(pump, "/pumps/0", notes)
    if given.open_source is UNSET and given.pressure_reference is UNSET and not pump.npsh_required_curve:
        return results
    if given.pressure_reference is not UNSET and given.pressure_reference.location != "pump_suction":
        raise refuse("/pressure_reference/location", "Without elements only `pump_suction` can be the reference.")
    suction = suction_pressure(given, state.density * GRAVITY)
    available, vapor = suction_head(given, state, suction), vapor_at(given)
    if available is not None and vapor is not None:
        find_assumed_reference(given, notes)
        show_suction(notes, suction, air_pressure(given), vapor, state.density, available)
        results |= _suction(available, pump, flow / n)
        find_suction(pump, "/pumps/0", flow / n, available, notes)
    return results


# --- the choice of hose ----------------------------------------------------------------------------------------------


def _hoses(given: LoopGiven, state: FluidState, case: Case | None, wanted: float, notes: Notes) -> dict[str, Any]:
    limit = limits(given, case.loop if case else None, wanted, case.highest_unlike if case else None)
    choices = hose_selection(given, state, wanted, limit)
    chosen = best(choices)
    if chosen is None:
        failed = sorted({word for choice in choices for word in choice.fails})
        notes.check(
            "no_hose_fits",
            f"None of {len(choices)} hoses and runs is acceptable; they fail by {', '.join(failed)}.",
            why="the flow, the pump or the pressure asks for more than these hoses give",
            resolve="offer a larger bore, more runs, a shorter way or a higher rating",
            field="/hose_options",
        )
        return {"hose_selection": choices}
    notes.show(
        "D n",
        "hose chosen",
        f"least bore times runs that is acceptable: {chosen.inner_diameter} x {chosen.runs}",
        chosen.inner_diameter.value * chosen.runs,
        chosen.inner_diameter.unit,
    )
    return {"hose_selection": choices, "hose_choice": chosen}
