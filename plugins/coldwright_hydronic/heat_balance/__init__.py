"""Heat, flow and temperature difference: any two give the third."""

from coldwright.contract import Notes, calculator
from coldwright_basis.liquids import check_fluid
from coldwright_hydronic.heat_balance.answer import results_of
from coldwright_hydronic.heat_balance.contradictions import refuse_wrong_count
from coldwright_hydronic.heat_balance.examples import EXAMPLES
from coldwright_hydronic.heat_balance.findings import FINDINGS, judge
from coldwright_hydronic.heat_balance.given import HeatBalanceGiven
from coldwright_hydronic.heat_balance.results import HeatBalanceResults
from coldwright_hydronic.heat_balance.solving import density_at_meter, ends_of, solve, state_at
from coldwright_hydronic.heat_balance.working import assume, show_working
from coldwright_hydronic.shared.cautions import EVAPORATOR_FREEZE, FLOW_DIRECTION, LOCAL_CODE
from coldwright_hydronic.shared.references import FIRST_PRINCIPLES, PRACTICE, PROPERTY_REFERENCES, VA_GLYCOL_TABLES


@calculator(
    "hydronic.heat_balance",
    version="1.0.2",
    title="Heat, flow and temperature difference of a liquid",
    references=(FIRST_PRINCIPLES, PRACTICE, *PROPERTY_REFERENCES, VA_GLYCOL_TABLES),
    hazards=("general",),
    findings=FINDINGS,
    examples=EXAMPLES,
)
def heat_balance(given: HeatBalanceGiven, notes: Notes) -> HeatBalanceResults:
    """Heat carried by a liquid: Q = rho V cp (T_in - T_out); any two of heat, flow and difference give the third.

    Properties are taken at the mean temperature, the density at the meter. Steady flow, no phase change, differences
    of 0.2 to 30 K. Also compares with the rule of 500 Btu/h for each gpm and degF, which glycol makes wrong, and says
    how much the readings can be trusted.
    """
    check_fluid(given.fluid, temperature="derived", needs=("density", "specific_heat"))
    refuse_wrong_count(given)
    solved_for, difference, flow = solve(given)
    entering, leaving = ends_of(given, difference)
    mean = 0.5 * (entering + leaving)
    state = state_at(given, mean)
    volumetric_heat = density_at_meter(given, entering, leaving) * state.specific_heat
    heat = volumetric_heat * flow * difference
    results = results_of(given, solved_for, flow, heat, difference, entering, leaving, state, volumetric_heat)
    show_working(given, notes, results, volumetric_heat)
    judge(given, notes, results, min(entering, leaving), difference)
    assume(notes)
    notes.caution(EVAPORATOR_FREEZE, FLOW_DIRECTION, LOCAL_CODE)
    return results
