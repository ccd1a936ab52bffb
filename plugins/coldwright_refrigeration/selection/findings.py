"""What a person should know of a choice."""

import math

from msgspec import UNSET

from coldwright.contract import Notes, finding, say
from coldwright.contract.quantities import Power
from coldwright_refrigeration.selection.case import Case, np
from coldwright_refrigeration.selection.given import SelectionGiven
from coldwright_refrigeration.selection.rounding import least_whole
from coldwright_refrigeration.selection.search import Saving, Units
from coldwright_refrigeration.selection.writer import Writer

FINDINGS = (
    finding("no_combination", "stop", "No combination on hand keeps every rule."),
    finding(
        "small_margin_after_loss",
        "check",
        "With the spare out of service less than 3 % of capacity is spare.",
    ),
    finding("mixed_sizes_in_parallel", "check", "Machines of different size share one flow."),
    finding("turndown_costs", "check", "The rule of the least load decides the choice or forbids one."),
    finding("power_counts_all_units", "check", "The power limit was tested with all units running."),
    finding("type_left_out", "check", "A type cannot work at the design conditions and was left out."),
    finding("standby_to_be_isolated", "note", "Units that stand by are valved off and need care against frost."),
    finding("hauls_are_a_lower_bound", "note", "Hauls are counted by shares, which real stowage may not reach."),
    finding("not_proved", ("check", "stop"), "The search was ended before the best was proved, or any was found."),
    finding("list_cut_short", "note", "A list may lack entries: the search for them was ended."),
)
THIN = 0.03


def usual_notes(given: SelectionGiven, case: Case, notes: Notes) -> None:
    """What is to be known whatever is chosen."""
    if given.standby_isolated:
        notes.note(
            "standby_to_be_isolated",
            "Valve off the units that stand by; without flow they freeze in frost unless they are emptied or kept warm.",
            field="/standby_isolated",
            references=("refrigeration_practice",),
        )
    if "power_available" in case.active:
        notes.check(
            "power_counts_all_units",
            say(
                "The {power_available} were tested with all units running; starting current is not part of this.",
                power_available=given.limits.power_available,
            ),
            resolve="Test starting and the supply with electrical.service.",
            field="/limits/power_available",
        )
    if all(row.haul_fraction is not UNSET for row in given.fleet):
        notes.note(
            "hauls_are_a_lower_bound",
            "Hauls are the sum of the shares, rounded up. Real stowage may need more; see site.transport.",
            references=("refrigeration_practice",),
        )


def cut_short(which: str, bound: float, case: Case, writer: Writer, notes: Notes) -> None:
    """A list may lack entries, none of which has an objective below a bound: so none below the next that there can be."""
    least = max(bound, 0.0) if math.isfinite(bound) else 0.0
    least = float(case.quantum * least_whole(least / case.quantum)) if case.quantum else least
    amount = writer.objective(least)
    value, unit = (amount, UNSET) if isinstance(amount, float) else (amount.value, amount.unit)
    notes.show(
        "B", f"No entry that `{which}` lacks has a lower objective", "as far as the search went", value, unit or "1"
    )
    notes.note(
        "list_cut_short",
        say(
            "The fleet allows too many combinations to go through all of them: `{which}` may lack entries; "
            "nothing that it lacks comes to less than {bound}.",
            which=which,
            bound=writer.amount(least),
        ),
    )


def not_proved(found: bool, notes: Notes) -> None:
    """The search was ended before it had proved what is best."""
    notes.finding(
        "check" if found else "stop",
        "not_proved",
        "The best combination found is not proved to be the best of all; `proven_bound` is what none can be below."
        if found
        else "No combination was found, and it is not proved that there is none.",
        resolve="Send fewer types, or only those that may be sent.",
        field="/fleet",
        references=("highs",),
    )


def no_combination(given: SelectionGiven, case: Case, conflict: tuple[str, ...], notes: Notes) -> None:
    """Nothing keeps every rule."""
    together = Power.from_si(float(case.stock @ case.capacity), "kW").as_unit(given.design.load.unit)
    notes.show("Q_all", "Capacity of all units on hand", "sum of count x capacity", together)
    notes.stop(
        "no_combination",
        say(
            "No combination of the fleet keeps {conflict} for {load:us=ton}; all units on hand together give {together:us=ton}.",
            conflict=" and ".join(conflict),
            load=given.design.load,
            together=together,
        ),
        why="These rules cannot be kept together; each of them can without the others.",
        resolve="Relax one of them, or find further machines.",
        field="/limits" if any(word.endswith(("_available", "_max")) for word in conflict) else "/fleet",
        references=("highs",),
    )
    if "turndown" in conflict:
        _turndown(notes)


def _turndown(notes: Notes) -> None:
    notes.check(
        "turndown_costs",
        "Without the rule of the least load a cheaper choice, or any choice at all, would be possible.",
        resolve="Hot-gas bypass or more loop volume may do instead: see refrigeration.pull_down.",
        field="/minimum_load",
        references=("refrigeration_practice",),
    )


def _lost(given: SelectionGiven) -> str:
    """What may be out of service, as the rule of redundancy says it."""
    rule, units = given.redundancy.rule, given.redundancy.units
    if rule == "several_units":
        return f"the {units} largest machines"
    return "one circuit" if rule == "one_circuit" else "one machine"


def findings_of_best(given: SelectionGiven, case: Case, best: Units, binding: list[Saving], notes: Notes) -> None:
    """What is to be known of the choice."""
    n = np.array([best], dtype=float)
    if "redundancy" in case.active:
        left = float((n @ case.capacity - case.loss(n))[0])
        spare = left / case.load - 1
        if spare < THIN:
            notes.check(
                "small_margin_after_loss",
                say(
                    "With {lost} out of service only {spare:.1%} spare: {left:us=ton} for {load:us=ton}.",
                    lost=_lost(given),
                    left=Power.from_si(left, "kW").as_unit(given.design.load.unit),
                    load=given.design.load,
                    spare=max(spare, 0.0),
                ),
                why="Ratings are not known more closely than that: too thin to promise.",
                resolve="Take the next combination, or settle which part of the load may be shed.",
                field="/redundancy",
                references=("refrigeration_practice",),
            )
    sizes = {round(float(q), 3) for q, count in zip(case.capacity, best, strict=True) if count}
    if len(sizes) > 1:
        notes.check(
            "mixed_sizes_in_parallel",
            f"Machines of {len(sizes)} sizes share one flow.",
            why="Without balancing, the one with the lower pressure drop takes the other's flow.",
            resolve="Fit balancing valves and set the flow of each machine; see hydronic.loop.",
            references=("refrigeration_practice",),
        )
    if any(saving.rule == "turndown" for saving in binding):
        _turndown(notes)
