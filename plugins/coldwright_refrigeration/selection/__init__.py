"""The cheapest combination of machines on hand that meets a load, and why others fail."""

from msgspec import UNSET

from coldwright.contract import Ask, Load, Notes, calculator
from coldwright_refrigeration.selection.examples import EXAMPLES
from coldwright_refrigeration.selection.findings import (
    FINDINGS,
    cut_short,
    findings_of_best,
    no_combination,
    not_proved,
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
    version="1.2.6",
    title="Choice of machines from the fleet on hand",
    references=(
        references.HIGHS,
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

    Found exactly: capacity, capacity after the loss of a circuit or of units, least load, liquid flow in parallel,
    electric power, ground, hauls, units and mass. A small fleet's combinations are all written out; those of up to sixty
    types are built up type by type, and ended where the least that a part must still cost ranks behind what was found; a
    larger fleet's are bounded by linear programs, and everything under the bound is written out. So the best is proved, ties too.
    Equal objectives are settled by fewer units, then lower power, then the names of the types. Where too many combinations
    cost nearly the same for that, integer programs prove the best, one criterion after the other, and a list that may lack
    entries says what none of them is below. Where they are ended too, the best found comes with a bound that nothing can be below.

    With it come the next combinations, the cheaper ones that fail with every rule they break, what each rule costs,
    and, where nothing fits, a smallest set of rules that cannot be kept together.
    """
    notes.caution(*PLANNING)
    refuse_design(given)
    units = units_of(given, notes, ask)
    flow = flow_of(given, notes)
    case = case_of(given, units, flow)
    search = Search(case)
    found = search.first(1 + given.alternatives)
    proof = found if found.complete else search.best()
    units_by_rank = sorted({*found.units, *proof.units}, key=case.rank)
    best = units_by_rank[0] if units_by_rank else None
    writer = Writer(given, case, units)
    rejected = search.rejected(best)
    usual_notes(given, case, notes)
    if not rejected.complete:
        cut_short("rejected", rejected.bound, case, writer, notes)
    if not proof.complete:
        not_proved(best is not None, notes)
    if best is None:
        conflict = search.conflict() if proof.complete else ()
        if proof.complete:
            no_combination(given, case, conflict, notes)
        return SelectionResults(
            status="infeasible" if proof.complete else "not_proved",
            alternatives=(),
            rejected=writer.rejected(rejected.units),
            binding=(),
            infeasible_set=conflict,
        )
    binding = search.binding(best, rejected)
    if not found.complete:
        least = case.rank(best)[0] if proof.complete else proof.bound
        cut_short("alternatives", max(found.bound, least), case, writer, notes)
    findings_of_best(given, case, best, binding, notes)
    show(case, best, notes)
    return SelectionResults(
        status="optimal" if proof.complete else "not_proved",
        best=writer.combination(best),
        proven_bound=UNSET if proof.complete else writer.objective(max(proof.bound, found.bound, 0.0)),
        alternatives=tuple(writer.combination(n) for n in units_by_rank[1 : 1 + given.alternatives]),
        rejected=writer.rejected(rejected.units),
        binding=tuple(writer.binding(saving) for saving in binding),
        infeasible_set=(),
    )
