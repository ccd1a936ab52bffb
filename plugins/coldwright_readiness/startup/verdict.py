"""The verdict: from the facts and the suspicions to blocked, wait or ready, and to the best thing to do now."""

from dataclasses import dataclass, field
from typing import Final, Literal

from msgspec.structs import replace

from coldwright_readiness.shared.instants import in_words, show
from coldwright_readiness.shared.steps import procedure_steps
from coldwright_readiness.startup.checks import OpenChecks
from coldwright_readiness.startup.facts import Evidence, Fact, origin
from coldwright_readiness.startup.facts_connection import connection_facts
from coldwright_readiness.startup.facts_loop import (
    antifreeze_adequate,
    flow_proven,
    hoses_connected,
    leak_free,
    loop_pressurised,
    pump_running,
    purged,
    set_point_safe,
    strainer_clear,
    valves_set,
)
from coldwright_readiness.startup.facts_power import (
    energised,
    ground_connected,
    level,
    locks_clear,
    no_alarm,
    oil_warm,
    people_clear,
    phase_correct,
    supply_matches_plate,
    voltage_in_limits,
)
from coldwright_readiness.startup.limits import RULES
from coldwright_readiness.startup.locks import lock_words
from coldwright_readiness.startup.running import LAST, WHY, Danger, compressor_without_flow
from coldwright_readiness.startup.suspicions import Suspicion, suspicions
from coldwright_readiness.startup.words import TECHNICIAN

StartStatus = Literal["ready", "wait", "blocked"]
FORBID_WHILE_THEY_STAND: Final = ("I4", "I10", "I13")
ORDER_OF_ACTION: Final = (
    "I4", "I13", "R01", "R02", "R03", "R30", "R04", "R21", "R22", "R23", "R24", "R25", "R26", "R27", "R28", "R05", "R06",
    "R07", "R08", "R09", "R10", "R11", "R12", "R13", "R14", "R15", "R16", "R17", "R18", "R19", "I10", "R29", "R20",
)  # fmt: skip
_NO_TIMES: Final = dict.fromkeys(("warm_up_duration", "filling", "antifreeze_duration", "staging", "pull_down"), 0)
_STATUS_IN_WORDS: Final = {
    "missing": "not on record",
    "invalidated": "undone by a later event",
    "stale": "too old",
    "failed": "not so",
    "contradicted": "contradicted by another record",
    "waiting": "not yet",
}


@dataclass(frozen=True)
class Blocking:
    """Something that forbids the start: a fact that is not established, or a suspicion that stands."""

    rule: str
    fact: Fact | None
    because: tuple[str, ...]
    clear_by: str
    statement: str


@dataclass
class Verdict:
    """Everything that was concluded."""

    facts: dict[str, Fact]
    suspicions: list[Suspicion]
    blocks: list[Blocking] = field(default_factory=list)
    waits: dict[str, int] = field(default_factory=dict)
    """Rule -> instant, later than the question."""
    earliest_start: int | None = None
    warm_up_until: int | None = None
    status: StartStatus = "blocked"
    danger: Danger | None = None
    """A compressor runs and the flow is lost."""


def conclude(e: Evidence) -> Verdict:
    """Facts, suspicions, and what follows from them."""
    found = suspicions(e)
    facts = {fact.rule: fact for fact in _facts(e, found)}
    lock_words(e, facts)
    verdict = Verdict(dict(sorted(facts.items())), found)
    verdict.blocks = _blocks(verdict)
    verdict.danger = compressor_without_flow(e, facts)
    _look_ahead(e, verdict)
    if verdict.blocks or verdict.earliest_start is None:
        verdict.status = "blocked"
    else:
        verdict.status = "wait" if verdict.earliest_start > e.evaluated_at else "ready"
    return verdict


def _facts(e: Evidence, found: list[Suspicion]) -> list[Fact]:
    pump, valves = pump_running(e), valves_set(e)
    antifreeze = antifreeze_adequate(e) if e.limits.glycol else None
    impossible_flow = any(s.rule == "I2" and s.stands for s in found)
    facts = [
        locks_clear(e),
        supply_matches_plate(e),
        level(e),
        ground_connected(e),
        energised(e),
        voltage_in_limits(e),
        phase_correct(e),
        hoses_connected(e),
        valves,
        loop_pressurised(e),
        purged(e),
        leak_free(e),
        pump,
        flow_proven(e, pump, valves, impossible=impossible_flow),
        strainer_clear(e),
        set_point_safe(e, antifreeze),
        no_alarm(e),
        people_clear(e),
        oil_warm(e),
        *connection_facts(e),
    ]
    return facts if antifreeze is None else [*facts, antifreeze]


def statement_of(fact: Fact) -> str:
    """A fact in a sentence."""
    text = f"{RULES[fact.rule]['title']}: {_STATUS_IN_WORDS.get(fact.status, 'established')}"
    if fact.undone is not None:
        text += f" ({origin(fact.undone.record).id}, {fact.undone.rule})"
    return f"{text}; {fact.detail}." if fact.detail else f"{text}."


def _blocks(verdict: Verdict) -> list[Blocking]:
    blocks = []
    for fact in verdict.facts.values():
        if not fact.established and fact.status != "waiting":
            ids = {*fact.ids, *([origin(fact.undone.record).id] if fact.undone is not None else [])}
            blocks.append(Blocking(fact.rule, fact, tuple(sorted(ids)), fact.step, statement_of(fact)))
    for rule in FORBID_WHILE_THEY_STAND:
        standing = [s for s in verdict.suspicions if s.rule == rule and s.stands]
        if standing:
            ids = {i for s in standing for i in s.ids}
            clear_by = str(RULES[rule]["clear_by"])
            text = " ".join(s.statement for s in standing)
            blocks.append(Blocking(rule, None, tuple(sorted(ids)), clear_by, text))
    return sorted(blocks, key=lambda b: (b.rule, b.because))


def _look_ahead(e: Evidence, verdict: Verdict) -> None:
    """Earliest start and the waits before it, blocks not counted."""
    begun = e.timeline.warm_since
    rested = max((r.latest for r in e.all("compressor") if r.data.state == "off"), default=None)
    if rested is not None and rested + e.limits.anti_recycle > e.evaluated_at:
        verdict.waits["anti_recycle"] = rested + e.limits.anti_recycle
    if begun is None:
        return
    verdict.warm_up_until = begun + e.limits.warm_up
    if verdict.warm_up_until > e.evaluated_at:
        verdict.waits["R20"] = verdict.warm_up_until
    verdict.earliest_start = max(e.evaluated_at, *verdict.waits.values(), verdict.warm_up_until)


@dataclass(frozen=True)
class Action:
    """The best thing to do now."""

    step_id: str
    why: str
    do: str
    done_by: str
    unlocks: tuple[str, ...] = ()
    meanwhile: tuple[tuple[str, str], ...] = ()
    """Steps that can be done at the same time, and why."""


def next_action(e: Evidence, verdict: Verdict, checks: OpenChecks | None = None) -> Action:
    """Of everything that is not yet so, the first in the order of action; beside an open check nothing else is first."""
    before, after = _graph(e)
    if verdict.status == "ready":
        return _start(e, checks, after["start_first_compressor"])
    if not verdict.blocks:
        return _wait(e, verdict, checks, after["oil_warm_up"])
    ranked = sorted(verdict.blocks, key=lambda b: ORDER_OF_ACTION.index(b.rule))
    first = ranked[0]
    row = RULES[first.rule]
    unmet = {b.clear_by for b in ranked}
    beside: dict[str, str] = {}
    for block in ranked[1:]:
        if block.clear_by not in {first.clear_by, *beside} and not before.get(block.clear_by, set()) & unmet:
            beside[block.clear_by] = block.statement
    if first.fact is not None:
        why, do, done_by = f"{first.statement} {first.fact.matters}", first.fact.resolve, first.fact.hands
    else:
        why, do, done_by = f"{first.statement} {row['why']}", row["resolve"], row["cleared_by"]
    live = [s for s in verdict.suspicions if s.rule == "I15" and s.stands]
    if first.rule == "R01" and live:  # before anybody takes a lock off, or trusts it
        told = RULES["I15"]
        why, do = f"{live[0].statement} {told['why']} {why}", f"{told['resolve']} Only then: {do}"
        done_by = f"{told['cleared_by']}, then {done_by}"
    if verdict.danger is not None:  # before every other thing
        why, do = f"{verdict.danger.statement} {WHY} {why}", f"{verdict.danger.do} Only then: {do} {LAST}"
        done_by = done_by if done_by == TECHNICIAN else f"{TECHNICIAN}, then {done_by}"
    return Action(first.clear_by, why, do, done_by, after.get(first.clear_by, ()), tuple(beside.items()))


def _start(e: Evidence, checks: OpenChecks | None, unlocks: tuple[str, ...]) -> Action:
    running = ", ".join(sorted(e.timeline.running))
    why, who = "Nothing on record forbids the start", TECHNICIAN
    do = (
        "Look at the gauges and round the machine once more. This is no order to start: whoever stands at the machine "
        "decides."
    )
    if running:
        why = f"Compressor {running} is on record as running, and nothing on record forbids it"
        do = (
            f"See that compressor {running} runs smoothly (amps, oil, sound) and that the flow stays, and watch the water "
            "get cold. This is no order to start another: whoever stands at the machine decides."
        )
    if checks is None:
        return Action("start_first_compressor", f"{why}.", do, who, unlocks)
    first = "Before it runs on, or another starts" if running else "Before any start"
    return Action(
        "start_first_compressor",
        f"{why}, but first: {checks.found}",
        f"{first}: {checks.first} Only then: {do}",
        _one_after_the_other(*checks.hands, who),
        unlocks,
    )


def _wait(e: Evidence, verdict: Verdict, checks: OpenChecks | None, unlocks: tuple[str, ...]) -> Action:
    until = max(verdict.waits.values())
    time = f"{in_words(until - e.evaluated_at)}, until {show(until)}"
    do = "Do not open the supply or the control switch: a break starts the time of oil heat anew."
    if checks is None:
        return Action(
            "oil_warm_up", f"Only time is missing: {time}.", f"Finish the checks. {do}", "time alone", unlocks
        )
    why = f"Nothing on record forbids the start but time ({time}), but first: {checks.found}"
    do = (
        f"Before any start: {checks.first} Where this asks for an open source, safety comes before the oil heat, whose time "
        f"then begins anew. Otherwise: {do}"
    )
    return Action("oil_warm_up", why, do, _one_after_the_other(*checks.hands, "time"), unlocks)


def _one_after_the_other(*hands: str) -> str:
    return ", then ".join(dict.fromkeys(hands))


def _graph(e: Evidence) -> tuple[dict[str, set[str]], dict[str, tuple[str, ...]]]:
    """For each step of the whole procedure: everything before it, and what comes right after."""
    steps = procedure_steps(replace(e.limits.configuration, second_start=False), _NO_TIMES)
    before: dict[str, set[str]] = {}
    for step in steps:  # the table lists every step after those it depends on
        before[step.id] = set(step.depends_on).union(*(before[d] for d in step.depends_on))
    after = {step.id: tuple(s.id for s in steps if step.id in s.depends_on) for step in steps}
    return before, after
