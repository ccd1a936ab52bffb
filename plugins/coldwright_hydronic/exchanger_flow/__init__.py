"""Liquid flow through an exchanger from its pressure drop."""

from msgspec import UNSET

from coldwright.contract import Notes, calculator, tidy
from coldwright.contract.quantities import PressureDifference, VolumeFlow
from coldwright_hydronic.exchanger_flow.contradictions import refuse_contradictions
from coldwright_hydronic.exchanger_flow.examples import EXAMPLES
from coldwright_hydronic.exchanger_flow.findings import FINDINGS, find_doubts, find_flow, find_proof
from coldwright_hydronic.exchanger_flow.flow import flow_from_heat, flow_of
from coldwright_hydronic.exchanger_flow.given import ExchangerFlowGiven
from coldwright_hydronic.exchanger_flow.proof import trip_flow_of
from coldwright_hydronic.exchanger_flow.results import ExchangerFlowResults
from coldwright_hydronic.exchanger_flow.strainer import strainer_drop, strainer_state
from coldwright_hydronic.shared.cautions import (
    EVAPORATOR_FREEZE,
    FLOW_DIRECTION,
    LOCAL_CODE,
    NEVER_LOOSEN_UNDER_PRESSURE,
)
from coldwright_hydronic.shared.references import (
    FIRST_PRINCIPLES,
    GAUGE_RANGES,
    OSHA_STORED_ENERGY,
    PRACTICE,
    PROPERTY_REFERENCES,
)
from coldwright_hydronic.shared.second_opinion import second_opinion


@calculator(
    "hydronic.exchanger_flow",
    version="1.1.3",
    title="Liquid flow through an exchanger from its pressure drop",
    references=(FIRST_PRINCIPLES, PRACTICE, GAUGE_RANGES, OSHA_STORED_ENERGY, *PROPERTY_REFERENCES),
    hazards=("pressure", "general"),
    findings=FINDINGS,
    examples=EXAMPLES,
)
def exchanger_flow(given: ExchangerFlowGiven, notes: Notes) -> ExchangerFlowResults:
    """Flow through an evaporator, coil or plate exchanger from its measured pressure drop and its rating.

    Q = Q_r (dp / dp_r / [(rho/rho_r)^(n-1) (mu/mu_r)^(2-n)])^(1/n), gauges at different heights corrected, with the
    uncertainty that the gauges leave. Good for 0.3 to 1.5 times the rated flow, refused above twice. Compares with the
    flow that follows from the heat, judges the strainer, and tests whether the proof of flow proves anything.
    """
    refuse_contradictions(given)
    flow = flow_of(given, notes)
    from_heat = flow_from_heat(given, notes)
    strainer = strainer_drop(given, flow.flow, notes)
    trip = trip_flow_of(given, flow, notes)
    results = ExchangerFlowResults(
        second_opinion=second_opinion(given.fluid),
        corrected_pressure_drop=PressureDifference.from_si(flow.drop, "kPa"),
        flow=VolumeFlow.from_si(flow.flow, "L/s"),
        flow_fraction_of_rated=tidy(flow.ratio),
        flow_uncertainty_fraction=tidy(flow.uncertainty),
        flow_from_heat=UNSET if from_heat is None else VolumeFlow.from_si(from_heat, "L/s"),
        disagreement_fraction=UNSET if from_heat is None else tidy(flow.flow / from_heat - 1.0),
        strainer_clean_pressure_drop=UNSET if strainer is None else PressureDifference.from_si(strainer[0], "kPa"),
        strainer_ratio=UNSET if strainer is None else tidy(strainer[1]),
        strainer_state=UNSET if strainer is None else strainer_state(strainer[1]),
        trip_flow=UNSET if trip is None else VolumeFlow.from_si(trip, "L/s"),
        trip_margin_fraction=UNSET if trip is None else tidy(flow.flow / trip - 1.0),
    )
    find_flow(given, notes, flow)
    find_doubts(given, notes, results)
    find_proof(given, notes, flow.flow, trip)
    notes.caution(EVAPORATOR_FREEZE, FLOW_DIRECTION, NEVER_LOOSEN_UNDER_PRESSURE, LOCAL_CODE)
    return results
