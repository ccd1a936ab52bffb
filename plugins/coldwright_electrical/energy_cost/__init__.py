"""Energy, fuel, cost and carbon dioxide of running the plant for a time."""

from coldwright.contract import Notes, calculator
from coldwright_electrical.energy_cost.amounts import EMISSION
from coldwright_electrical.energy_cost.contradictions import refuse_contradictions
from coldwright_electrical.energy_cost.examples import EXAMPLES
from coldwright_electrical.energy_cost.findings import FINDINGS
from coldwright_electrical.energy_cost.generating_set import from_generating_set
from coldwright_electrical.energy_cost.given import EnergyCostGiven
from coldwright_electrical.energy_cost.results import EnergyCostResults
from coldwright_electrical.energy_cost.utility import from_utility
from coldwright_electrical.shared.cautions import family, with_generator
from coldwright_electrical.shared.fuel import FUEL_CHART
from coldwright_electrical.shared.references import OSHA_FUEL_AND_EXHAUST, SAFE_WORK


@calculator(
    "electrical.energy_cost",
    version="1.1.2",
    title="Energy, fuel, cost and carbon dioxide of running the plant",
    references=(*SAFE_WORK, OSHA_FUEL_AND_EXHAUST),
    tables=(FUEL_CHART, EMISSION),
    hazards=("electrical",),
    findings=FINDINGS,
    examples=EXAMPLES,
)
def energy_cost(given: EnergyCostGiven, notes: Notes) -> EnergyCostResults:
    """Energy, money, fuel and carbon dioxide of running a load for a time.

    Energy is power x load factor x time. From a utility it costs its price for each kWh, and the demand its price for
    each kW in every billing month touched. From a generating set the fuel is read from the set's own curve, or from a
    chart of typical sets (20 to 2,000 kW, about 15 % either way). A curve that is not straight makes the average load
    a poor guide: give `bins` for machines that cycle.
    """
    refuse_contradictions(given)
    notes.caution(*(family if given.source == "utility" else with_generator)(given.practice))
    if given.source == "utility":
        return from_utility(given, notes)
    return from_generating_set(given, notes)
