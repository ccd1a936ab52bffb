"""How much a machine cools and how well, as read, and how sure that is."""

from msgspec import UNSET, UnsetType

from coldwright.contract import Load, Notes, calculator, tidy
from coldwright.contract.quantities import Power
from coldwright_basis.constants import TON_OF_REFRIGERATION
from coldwright_refrigeration.performance.examples import EXAMPLES
from coldwright_refrigeration.performance.findings import FINDINGS, usual_notes
from coldwright_refrigeration.performance.given import PerformanceGiven
from coldwright_refrigeration.performance.measured import (
    BTU_PER_WH,
    closure,
    efficiency,
    measure,
    refuse_contradictions,
)
from coldwright_refrigeration.performance.results import PerformanceResults
from coldwright_refrigeration.performance.verdict import part_load_value, tolerance_of, verdict_of
from coldwright_refrigeration.shared import references
from coldwright_refrigeration.shared.cautions import AT_THE_MACHINE


@calculator(
    "refrigeration.performance",
    version="1.0.4",
    title="Capacity and efficiency from readings, with their uncertainty",
    references=(
        references.GUM,
        references.AHRI_550_590_2023,
        references.AHRI_550_590_2011,
        references.AHRI_PART_LOAD,
        references.PRACTICE,
        references.FIRST_PRINCIPLES,
        references.COOLPROP,
        *references.SAFETY,
    ),
    hazards=("general", "pressure", "refrigerant", "rotating", "thermal", "electrical"),
    findings=FINDINGS,
    examples=EXAMPLES,
    load=Load.HEAVY,
)
def performance(given: PerformanceGiven, notes: Notes) -> PerformanceResults:
    """Capacity and efficiency of a running machine from its readings, and how sure they are.

    Q = V rho c dT. The uncertainties of flow, both temperatures with their correlation, properties and power are
    carried
    through by the law of propagation (JCGM 100:2008). Against an expected capacity the verdict is `short` or `above`
    only
    where the difference is larger than the expanded uncertainty of both. With it come the heat balance, the
    tolerance of
    the rating standard at this load, and the weighted part-load value.
    """
    notes.caution(*AT_THE_MACHINE)
    refuse_contradictions(given)
    measured = measure(given, notes)
    capacity = Power.from_si(measured.capacity, "kW")
    expanded = Power.from_si(given.coverage_factor * measured.uncertainty * measured.capacity, "kW")
    expression = f"k x {measured.uncertainty:.5g} x {capacity}, k = {given.coverage_factor:g}"
    notes.show("U_Q", "Expanded uncertainty of the capacity", expression, expanded)
    cop, doubt = efficiency(given, measured, notes)
    usual_notes(measured, notes)
    expected = given.expected
    power_ratio: float | UnsetType = UNSET
    if expected is not UNSET and expected.power is not UNSET and given.readings.power is not UNSET:
        power_ratio = tidy(given.readings.power.si / expected.power.si)
    ratio, verdict = verdict_of(given, measured, notes)
    return PerformanceResults(
        capacity=capacity,
        cop=cop,
        eer=UNSET if cop is UNSET else tidy(BTU_PER_WH * cop),
        kw_per_ton=UNSET if cop is UNSET else tidy(TON_OF_REFRIGERATION / 1000 / cop),
        relative_standard_uncertainty=tidy(measured.uncertainty),
        capacity_uncertainty=expanded,
        efficiency_uncertainty=doubt,
        heat_balance_closure=closure(given, measured, notes),
        capacity_ratio=ratio,
        power_ratio=power_ratio,
        verdict=verdict,
        tolerance=tolerance_of(given, measured, notes),
        part_load_value=UNSET if given.part_load is UNSET else part_load_value(given.part_load, notes),
    )
