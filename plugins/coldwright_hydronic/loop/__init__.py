"""Steady flow, pressures, power and choice of hose of a temporary loop."""

from typing import Any

from msgspec import UNSET

from coldwright.contract import Load, Notes, calculator, finding
from coldwright.contract.quantities import VolumeFlow
from coldwright_basis.liquids import properties
from coldwright_hydronic.loop.answer import duty, needs_of_loop, show_required
from coldwright_hydronic.loop.assumptions import assume
from coldwright_hydronic.loop.case import required_flow, work_out
from coldwright_hydronic.loop.contradictions import refuse_contradictions
from coldwright_hydronic.loop.examples import EXAMPLES
from coldwright_hydronic.loop.flow_findings import FLOW_FINDINGS
from coldwright_hydronic.loop.given import LoopGiven
from coldwright_hydronic.loop.hoses import hose_figures
from coldwright_hydronic.loop.known_point import known_point
from coldwright_hydronic.loop.pressure_findings import PRESSURE_FINDINGS
from coldwright_hydronic.loop.pump_findings import PUMP_FINDINGS
from coldwright_hydronic.loop.results import LoopResults
from coldwright_hydronic.loop.throttled import THROTTLED_FINDINGS
from coldwright_hydronic.shared import cautions, references
from coldwright_hydronic.shared.second_opinion import second_opinion


@calculator(
    "hydronic.loop",
    version="1.4.0",
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
        *THROTTLED_FINDINGS,
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
    state = properties(given.fluid, needs=needs_of_loop(given))
    wanted = required_flow(given, state)
    assume(given, notes)
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
    notes.show("rho", "Density of the liquid", "library, or given", state.density, "kg/m3")
    results: dict[str, Any] = {}
    if wanted is not None:
        results["required_flow"] = VolumeFlow.from_si(wanted, "L/s")
        show_required(given, state, results, notes)
    results["second_opinion"] = second_opinion(
        given.fluid, None if given.fluid.temperature is UNSET else given.fluid.temperature.si
    )
    case = None
    if given.pumps and given.pumps[0].point is not UNSET:
        results |= known_point(given, state, given.pumps[0], given.pumps[0].point, notes)
    elif given.elements:
        case = work_out(given, state)
        results |= duty(case, wanted, notes)
    elif given.fixed_flow is not UNSET:  # hose is chosen, and nothing else is there to work
        results["duty_flow"] = given.fixed_flow
    if wanted is not None and given.hose_options:
        results |= hose_figures(given, state, case, wanted, notes)
    return LoopResults(**results)
