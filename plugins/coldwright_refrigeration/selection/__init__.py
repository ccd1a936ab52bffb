"""The cheapest combination of machines on hand that meets a load, and why others fail."""

from coldwright.contract import Ask, Load, Notes, calculator
from coldwright_refrigeration.selection.examples import EXAMPLES
from coldwright_refrigeration.selection.findings import (
    FINDINGS,
    cut_short,
    findings_of_best,
    no_combination,
    usual_notes,
)
from coldwright_refrigeration.selection.fleet import case_of, flow_of, refuse_design, units_of
from coldwright_refrigeration.selection.given import SelectionGiven
from coldwright_refrigeration.selection.results import SelectionResults
from coldwright_refrigeration.selection.search import Search
from coldwright_refrigeration.selection.writer import Writer, show
from coldwright_refrigeration.shared import references
from coldwright_refrigeration.shared.cautions import PLANNING


@calculator(
    "refrigeration.selection",
    version="1.0.0",
    title="Choice of machines from the fleet on hand",
    references=(
        references.SCIPY_MILP,
        references.PRACTICE,
        references.FIRST_PRINCIPLES,
        references.AHRI_550_590_2015,
        references.AHRI_FOULING,
    ),
    hazards=("general", "pressure"),
    findings=FINDINGS,
    examples=EXAMPLES,
    uses=("refrigeration.capacity",),
    load=Load.HEAVY,
)
def selection(given: SelectionGiven, notes: Notes, ask: Ask) -> SelectionResults:
    """The combination with the lowest hire cost, units, power or hauls that meets the load and keeps every rule.

    An integer program, solved exactly: capacity, capacity after the loss of a circuit or of units, least load, liquid
    flow in parallel, electric power, ground, hauls, units and mass. The optimum is checked again by plain arithmetic.
    Equal objectives are settled by fewer units, then lower power, then the names of the types.

    With it come the next combinations, the cheaper ones that fail with every rule they break, what each rule costs,
    and, where nothing fits, a smallest set of rules that cannot be kept together.
    """
    notes.caution(*PLANNING)
    refuse_design(given)
    units = units_of(given, notes, ask)
    flow = flow_of(given, notes)
    case = case_of(given, units, flow)
    search = Search(case)
    best = search.best()
    writer = Writer(given, case, units)
    rejected = search.rejected(best)
    usual_notes(given, case, notes)
    if best is None:
        conflict = search.conflict()
        no_combination(given, case, conflict, notes)
        cut_short(rejected.complete, "rejected", notes)
        return SelectionResults(
            status="infeasible",
            alternatives=(),
            rejected=tuple(writer.rejected(n) for n in rejected.units),
            binding=(),
            infeasible_set=conflict,
        )
    following = search.alternatives(best, given.alternatives)
    binding = search.binding(best)
    cut_short(rejected.complete, "rejected", notes)
    cut_short(following.complete, "alternatives", notes)
    findings_of_best(given, case, best, binding, notes)
    show(case, best, notes)
    return SelectionResults(
        status="optimal",
        best=writer.combination(best),
        alternatives=tuple(writer.combination(n) for n in following.units),
        rejected=tuple(writer.rejected(n) for n in rejected.units),
        binding=tuple(writer.binding(saving) for saving in binding),
        infeasible_set=(),
    )
