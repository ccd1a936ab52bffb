"""Major 1 of the start's verdict: its old shape, judged by the rules of major 2.

`running`, `stop_now` and `ended` appear as `blocked` there: an unsafe verdict is not kept for compatibility.
"""

from typing import Annotated, Literal, TypeVar

import msgspec
from msgspec import UNSET, UnsetType

from coldwright.contract import Deprecated, Example, Load, Notes, Results, about, calculator
from coldwright.contract.quantities import Duration
from coldwright_basis.instants import stamp
from coldwright_readiness.startup import HAZARDS, REFERENCES, TABLES, verdict_on
from coldwright_readiness.startup.examples import EXAMPLE, EXAMPLE_REVERSED
from coldwright_readiness.startup.given import StartupGiven
from coldwright_readiness.startup.notes import FINDINGS
from coldwright_readiness.startup.results import (
    Block,
    FactState,
    Ids,
    Invalidated,
    Meanwhile,
    NextAction,
    StartupResults,
    Suspect,
    TimelineEntry,
    Wait,
)
from coldwright_readiness.startup.rules.fact import Status

Old = TypeVar("Old", bound=Results)
OldStatus = Literal["ready", "wait", "blocked"]


class FirstBlock(Results, frozen=True, kw_only=True):
    """Something that forbids the start."""

    rule: Annotated[str, about("Rule, as in the table of rules.")]
    fact: Annotated[str, about("The fact; absent for an event that must not have been.")] | UnsetType = UNSET
    status: Annotated[Status, about("How the fact stands.")] | UnsetType = UNSET
    because: Annotated[Ids, about("Observations behind it.")]
    clear_by: Annotated[str, about("Step of the procedure that clears it.")]
    cleared_by: Annotated[str, about("Who may clear it.")]
    reason: Annotated[str, about("For valves: what is wrong, in a word.")] | UnsetType = UNSET


class FirstFactState(Results, frozen=True, kw_only=True):
    """One fact."""

    status: Annotated[Status, about("How it stands.")]
    by: Annotated[Ids, about("Observations that decide it.")]
    at: Annotated[str, stamp("The latest of them.")] | UnsetType = UNSET
    reason: Annotated[str, about("For valves: what is wrong, in a word.")] | UnsetType = UNSET


class FirstNextAction(Results, frozen=True, kw_only=True):
    """The best thing to do now. It never replaces a look at the machine."""

    step_id: Annotated[str, about("Step of the procedure.")]
    why: Annotated[str, about("What is not yet so, and why it matters.")]
    do: Annotated[str, about("What to do.")]
    done_by: Annotated[str, about("Who may do it.")]
    unlocks: Annotated[Ids, about("Steps that come next once it is done.")]
    meanwhile: Annotated[tuple[Meanwhile, ...], about("Other open steps that need not wait for it.")]
    time_to_earliest_start: (
        Annotated[Duration, about("Until the earliest start; absent while the oil does not warm.")] | UnsetType
    ) = UNSET


class FirstTimelineEntry(Results, frozen=True, kw_only=True):
    """One observation in its place."""

    id: Annotated[str, about("Its id.")]
    kind: Annotated[str, about("Its kind.")]
    at: Annotated[str, stamp("When it was, clock corrected.")]
    uncertainty: Annotated[Duration, about("Either way.")]
    effective: Annotated[str, stamp("From when it counts: latest if adverse, earliest if favourable.")]
    adverse: Annotated[bool, about("Whether it may speak against a start.")]


class FirstStartupResults(Results, frozen=True, kw_only=True):
    """The verdict. Facts and lists are in the order of rules and ids."""

    status: Annotated[OldStatus, about("`blocked`, `wait`, or `ready`; a machine that runs is `blocked` here.")]
    earliest_start: (
        Annotated[str, stamp("Earliest start, blocks not counted; absent while the oil does not warm.")] | UnsetType
    ) = UNSET
    warm_up_since: Annotated[str, stamp("Since when the oil warms without a break.")] | UnsetType = UNSET
    warm_up_until: Annotated[str, stamp("When the oil is warm.")] | UnsetType = UNSET
    next_action: Annotated[FirstNextAction, about("The best thing to do now.")]
    blocks: Annotated[tuple[FirstBlock, ...], about("What forbids the start.")]
    waits: Annotated[tuple[Wait, ...], about("What time clears.")]
    facts: Annotated[dict[str, FirstFactState], about("Every fact by its name.", max_length=2600)]
    invalidated: Annotated[tuple[Invalidated, ...], about("What was undone, and by what.")]
    missing: Annotated[Ids, about("Facts without a usable record.")]
    stale: Annotated[Ids, about("Facts whose records are too old.")]
    contradictory: Annotated[tuple[Suspect, ...], about("Records with two versions under one id.")]
    impossible: Annotated[tuple[Suspect, ...], about("What cannot be as recorded.")]
    may_connect: (
        Annotated[bool, about("Whether work on the lines may begin; only where connecting is on record.")] | UnsetType
    ) = UNSET
    may_energise: (
        Annotated[bool, about("Whether the source may be closed; only where connecting is on record.")] | UnsetType
    ) = UNSET
    timeline: Annotated[tuple[FirstTimelineEntry, ...], about("The observations by when they can have been.")]


@calculator(
    "readiness.startup",
    version="1.16.0",
    title="May it start: the verdict from what was observed, first shape",
    references=REFERENCES,
    tables=TABLES,
    hazards=HAZARDS,
    findings=FINDINGS,
    load=Load.HEAVY,
    deprecated=Deprecated("2026-11-28", "2027-06-01", "Use major 2, which says `running`, `stop_now` and `ended` too."),
    examples=(
        Example(
            "Ready", "Invented: a machine set up by the book on site power, asked a minute after the hour.", EXAMPLE
        ),
        Example("Leads swapped live", "Invented: the rotation was turned round with the supply on.", EXAMPLE_REVERSED),
    ),
)
def startup_1(given: StartupGiven, notes: Notes) -> FirstStartupResults:
    """Decide `ready`, `wait` or `blocked` from observations, by the rules of major 2.

    What is asked is the same as in major 2. A machine that runs, that must be stopped or whose start was closed is `blocked`
    here; `next_action` says which.
    """
    return in_first_shape(verdict_on(given, notes))


def in_first_shape(now: StartupResults) -> FirstStartupResults:
    """The same verdict, without what major 1 did not know."""
    status: OldStatus = now.status if now.status in ("ready", "wait", "blocked") else "blocked"
    return FirstStartupResults(
        status=status,
        earliest_start=now.earliest_start,
        warm_up_since=now.warm_up_since,
        warm_up_until=now.warm_up_until,
        next_action=_fewer(now.next_action, FirstNextAction),
        blocks=tuple(_fewer(block, FirstBlock) for block in now.blocks),
        waits=now.waits,
        facts={name: _fewer(fact, FirstFactState) for name, fact in now.facts.items()},
        invalidated=now.invalidated,
        missing=now.missing,
        stale=now.stale,
        contradictory=now.contradictory,
        impossible=now.impossible,
        may_connect=now.may_connect,
        may_energise=now.may_energise,
        timeline=tuple(_fewer(entry, FirstTimelineEntry) for entry in now.timeline),
    )


def _fewer(now: Block | FactState | NextAction | TimelineEntry, shape: type[Old]) -> Old:
    """The fields that the old shape has."""
    return shape(**{f.name: getattr(now, f.name) for f in msgspec.structs.fields(shape)})
