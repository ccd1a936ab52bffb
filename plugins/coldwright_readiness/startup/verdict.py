"""The verdict: from facts, suspicions and what runs to one of six words, and to what forbids or waits."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final, Literal

from msgspec import Struct

from coldwright.contract import JoinedToStart, StartBlock
from coldwright_readiness.startup.checks.case import Case
from coldwright_readiness.startup.checks.suspicions import standing_instruments, suspicions
from coldwright_readiness.startup.evidence.changes import Change, after_changes
from coldwright_readiness.startup.evidence.evidence import Evidence
from coldwright_readiness.startup.evidence.known import Against
from coldwright_readiness.startup.evidence.record import Record
from coldwright_readiness.startup.evidence.settling import Settlements
from coldwright_readiness.startup.evidence.stance import compressor_off
from coldwright_readiness.startup.joined import expiries
from coldwright_readiness.startup.limits import RULES, Limits
from coldwright_readiness.startup.rules.fact import Fact
from coldwright_readiness.startup.rules.facts import facts_of
from coldwright_readiness.startup.running import COLD_START, running
from coldwright_readiness.startup.statements import fact_statement
from coldwright_readiness.startup.stopping import Running

StartStatus = Literal["ready", "wait", "blocked", "running", "stop_now", "ended"]
THROUGH_A_FACT: Final = ("I2",)
"""Cases that forbid by undoing a fact, and are no block of their own."""


class Blocking(Struct, frozen=True):
    """Something that forbids the start: a fact that is not established, or a case that stands."""

    rule: str
    fact: Fact | None
    because: tuple[str, ...]
    clear_by: str
    statement: str
    case: Case | None = None
    joined: StartBlock | None = None
    """What the part of another plugin says of it, where it is one of theirs."""
    title: str = ""
    """What that part is about."""


@dataclass
class Verdict:
    """Everything that was concluded."""

    facts: dict[str, Fact]
    cases: list[Case]
    runs: Running
    blocks: list[Blocking] = field(default_factory=list)
    waits: dict[str, int] = field(default_factory=dict)
    """Rule -> instant, later than the question."""
    earliest_start: int | None = None
    warm_up_until: int | None = None
    status: StartStatus = "blocked"
    closed: Record | None = None
    valid_until: int | None = None
    joined: Sequence[JoinedToStart] = ()
    """What parts of other plugins add."""


def conclude(
    e: Evidence, changes: Sequence[Change] = (), joined: Sequence[JoinedToStart] = ()
) -> tuple[Evidence, Verdict]:
    """Facts, suspicions, what runs, and what follows from them; with the evidence that a start may rest on.

    What runs is judged by what was seen, whatever was changed since: a change on paper is no reason to stop a machine.
    """
    settled = Settlements(e)
    cases = suspicions(e, settled)
    instruments = standing_instruments(cases)
    asked = after_changes(e, changes)
    facts = facts_of(asked, settled, instruments)
    seen = facts if asked is e else facts_of(e, settled, instruments)
    verdict = Verdict(dict(sorted(facts.items())), cases, running(e, seen, cases, settled, changes))
    closed = [r for r in e.of("closed") if r.proves]
    verdict.closed = max(closed, key=lambda r: (r.earliest, r.id), default=None)
    verdict.joined = joined
    verdict.blocks = _blocks(verdict, e.limits)
    _look_ahead(asked, verdict)
    verdict.status = _status(e, verdict)
    verdict.valid_until = _valid_until(e, verdict)
    return asked, verdict


def _status(e: Evidence, v: Verdict) -> StartStatus:
    if v.runs.stop:
        return "stop_now"
    if v.runs.compressors:
        return "running"
    if v.closed is not None and _all_off(e):
        return "ended"
    if v.blocks or v.earliest_start is None:
        return "blocked"
    return "wait" if v.earliest_start > e.now else "ready"


def _all_off(e: Evidence) -> bool:
    lives = Against([*e.power.on, *e.power.signs, *e.power.gaps])
    return any(r.proves and lives.all_before(r) for r in e.power.off)


def _blocks(v: Verdict, limits: Limits) -> list[Blocking]:
    blocks = []
    for fact in v.facts.values():
        if not fact.established and fact.status != "waiting":
            row = RULES[fact.rule]
            blocks.append(Blocking(fact.rule, fact, fact.ids, str(row["clear_by"]), fact_statement(fact, limits)))
    for case in v.cases:
        if case.forbids and case.rule not in THROUGH_A_FACT:
            clear_by = str(RULES[case.rule].get("clear_by", "start_verdict"))
            blocks.append(Blocking(case.rule, None, case.ids, clear_by, case.statement, case))
    if v.closed is not None:
        text = "This start was closed; the next one is a start of its own."
        blocks.append(Blocking("closed", None, (v.closed.id,), "start_verdict", text))
    for part in v.joined:
        for block in part.blocks:
            rule = f"{part.calculator}/{block.code}"
            blocks.append(
                Blocking(rule, None, block.because, "start_verdict", block.statement, joined=block, title=part.title)
            )
    return sorted(blocks, key=lambda b: (b.rule, b.because))


def _look_ahead(e: Evidence, v: Verdict) -> None:
    rested = max((r.latest for r in e.of("compressor") if compressor_off(r.data)), default=None)
    rested = None if rested is None else max(rested, e.rest_from)
    if rested is not None and rested + e.limits.anti_recycle > e.now:
        v.waits["anti_recycle"] = rested + e.limits.anti_recycle
    begun = e.power.warm_since
    if begun is None:
        return
    v.warm_up_until = begun + e.limits.warm_up
    if v.warm_up_until > e.now:
        v.waits["R20"] = v.warm_up_until
    v.earliest_start = max(e.now, *v.waits.values(), v.warm_up_until)


def _valid_until(e: Evidence, v: Verdict) -> int | None:
    """The next instant at which time alone can change what is said."""
    moments = [*v.waits.values(), *(at + 1 for f in v.facts.values() if (at := f.expires) is not None)]
    moments += [ask.due + 1 for ask in v.runs.asks]
    moments += [c.records[0].latest + COLD_START + 1 for c in v.runs.causes if c.code == "I12"]
    moments += [gap.latest for gap in e.power.gaps]
    moments += expiries(v.joined)
    later = [m for m in moments if m > e.now]
    return min(later) if later else None
