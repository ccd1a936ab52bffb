"""The set in question: the one given, else the smallest candidate that holds, and how large it must be."""

from msgspec import UNSET, UnsetType

from coldwright.contract import Notes, say
from coldwright.contract.quantities import ApparentPower
from coldwright_electrical.generator.derating import Derating
from coldwright_electrical.generator.given import GeneratorGiven
from coldwright_electrical.generator.sets import Judgement, assume_reactances, judge, machine_of, reactances_of
from coldwright_electrical.generator.starting import Step, kva_for_dip


def smallest_that_holds(candidates: list[Judgement]) -> int | None:
    """Place of the smallest candidate that carries and starts the load; None where none does."""
    fit = [i for i, c in enumerate(candidates) if not c.reasons]
    return min(fit, key=lambda i: (candidates[i].machine.kva, candidates[i].machine.kw), default=None)


def set_in_question(
    given: GeneratorGiven,
    notes: Notes,
    derating: Derating,
    steps: list[Step],
    running: complex,
    candidates: list[Judgement],
    smallest: int | None,
) -> Judgement | None:
    """The set that the results are about: the one given, else the smallest candidate that holds."""
    if candidates and smallest is None:
        notes.finding(
            "stop" if isinstance(given.generator, UnsetType) else "check",
            "no_candidate_holds",
            f"None of the {len(candidates)} sets offered carries and starts the load: the largest fails because "
            f"{'; '.join(max(candidates, key=lambda c: c.machine.kva).reasons)}.",
            resolve="A larger set, or gentler starts: `required_apparent_power_for_dip` says how large.",
            field="/candidate_sets",
        )
    if not isinstance(given.generator, UnsetType):
        return judge(given, machine_of(given.generator, derating), steps, running)
    if smallest is not None:
        machine = candidates[smallest].machine
        notes.assume(
            "set_chosen",
            say(
                "The results are about the smallest set that holds, entry {smallest} of candidate_sets, {kva:g}.",
                smallest=smallest,
                kva=ApparentPower.of(machine.kva, "kVA"),
            ),
            value=smallest,
            basis="derived",
        )
        return candidates[smallest]
    if not candidates:
        notes.note("no_set_given", "No set was given: `required_apparent_power_for_dip` says what the starts need.")
    return None


def required_for_dip(given: GeneratorGiven, notes: Notes, steps: list[Step], chosen: Judgement | None) -> float:
    """Rating [kVA] at which the worst step dips just as far as is allowed."""
    reactances = reactances_of(UNSET) if chosen is None else chosen.machine.reactances
    assume_reactances(notes, reactances)
    if chosen is not None and reactances.assumed:
        notes.check(
            "reactance_assumed",
            f"{' and '.join(reactances.assumed)} of the set are usual figures, not its own: dips may differ by half.",
            resolve="Ask for the alternator's data sheet.",
            field="/generator",
        )
    limit, x = given.dip_limit_fraction, reactances.transient
    worst = max(steps, key=lambda s: kva_for_dip(x, s.power, limit))
    required = kva_for_dip(x, worst.power, limit)
    short = worst.kva * x * (1 - limit) / limit
    notes.show(
        "S_d",
        f"Rating whose dip is just {limit:g}; short form S X (1 - d)/d = {short:.4g} kVA",
        f"step {worst.order}: X = {x:g}, S = {worst.kva:.5g} kVA",
        required,
        "kVA",
    )
    return required
