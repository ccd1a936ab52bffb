"""What is answered: the verdict, what it stands on, and the one thing to do now."""

from typing import Annotated, Literal

import msgspec
from msgspec import UNSET, UnsetType

from coldwright.contract import JoinedPart, Results, Said, about
from coldwright.contract.quantities import Duration
from coldwright_basis.instants import stamp
from coldwright_readiness.startup.rules.fact import Status
from coldwright_readiness.startup.verdict import StartStatus

RuleId = Annotated[str, about("Rule, as in the table of rules; of a part of another plugin, `family.name/code`.")]
Ids = tuple[str, ...]
TemplateValue = bool | int | str | tuple[str, ...] | dict[str, float | str]


class Block(Results, frozen=True, kw_only=True):
    """Something that forbids the start."""

    rule: RuleId
    fact: Annotated[str, about("The fact; absent for something that must not have been.")] | UnsetType = UNSET
    status: Annotated[Status, about("How the fact stands.")] | UnsetType = UNSET
    because: Annotated[Ids, about("Observations behind it.")]
    statement: Annotated[str, about("In words: what of it is open, and how it stands.")]
    clear_by: Annotated[str, about("Step of the procedure that clears it.")]
    cleared_by: Annotated[str, about("Who may clear it.")]
    reason: Annotated[str, about("For valves and rotation: what is wrong, in a word.")] | UnsetType = UNSET


class Wait(Results, frozen=True, kw_only=True):
    """Something that time alone clears."""

    rule: Annotated[str, about("`R20` for the oil, `anti_recycle` for the rest of a compressor.")]
    until: Annotated[str, stamp("When it is over.")]


class FactState(Results, frozen=True, kw_only=True):
    """One fact."""

    status: Annotated[Status, about("How it stands.")]
    by: Annotated[Ids, about("Observations that decide it.")]
    at: Annotated[str, stamp("The latest of them.")] | UnsetType = UNSET
    expires_at: Annotated[str, stamp("When it gets too old.")] | UnsetType = UNSET
    reason: Annotated[str, about("For valves and rotation: what is wrong, in a word.")] | UnsetType = UNSET


class Invalidated(Results, frozen=True, kw_only=True):
    """Something that was so and was undone."""

    fact: Annotated[str, about("The fact.")]
    by: Annotated[str, about("The observation that undid it.")]
    rule: Annotated[str, about("The reset event, `V1` to `V10`.")]


class Suspect(Results, frozen=True, kw_only=True):
    """Something that cannot be, or contradicts itself."""

    rule: RuleId
    ids: Annotated[Ids, about("Observations behind it.")]
    statement: Annotated[str, about("What was seen.")]
    said: Said = UNSET


class OpenCheck(Results, frozen=True, kw_only=True):
    """Something that forbids a start until somebody qualified settles it by a record."""

    code: Annotated[str, about("Its code: `check` of the record that settles it.")]
    ids: Annotated[Ids, about("Observations that the record must name.")]
    role: Annotated[Ids, about("Roles of which one settles it.")]
    statement: Annotated[str, about("What was seen.")]
    said: Said = UNSET


class Meanwhile(Results, frozen=True, kw_only=True):
    """Work that can be done at the same time."""

    step_id: Annotated[str, about("Step of the procedure.")]
    why: Annotated[str, about("What it is for.")]


class RecordTemplate(Results, frozen=True, kw_only=True):
    """An observation that would settle it: what is known is filled in, a reading is left out."""

    kind: Annotated[str, about("Its kind.")]
    data: Annotated[dict[str, TemplateValue], about("Its data, as far as they are known.", max_length=20)]
    by: Annotated[str, about("Whose record it must be; absent where anybody's is good.")] | UnsetType = UNSET
    role: Annotated[str, about("In what role; absent where it does not matter.")] | UnsetType = UNSET
    otherwise: (
        Annotated[bool, about("True for one to make instead of the one before it, where that cannot be made.")]
        | UnsetType
    ) = UNSET


class PossibleCause(Results, frozen=True, kw_only=True):
    """Something to look at, the most likely first."""

    look_at: Annotated[str, about("What may be wrong.")]
    decides: Annotated[str, about("The observation that decides it.")]


class NextAction(Results, frozen=True, kw_only=True):
    """The best thing to do now. It never replaces a look at the machine. Figures are in the unit of the gauge that is read."""

    step_id: Annotated[str, about("Step of the procedure.")]
    why: Annotated[str, about("What is not yet so, and why it matters.")]
    do: Annotated[str, about("What to do.")]
    short: Annotated[str, about("The same in at most 60 characters.", max_length=60)]
    subject: Annotated[str, about("What it is about: which valve, whose lock.")]
    record: Annotated[tuple[RecordTemplate, ...], about("The observations that would settle it.")]
    causes: Annotated[tuple[PossibleCause, ...], about("Where something failed: what to look at first.")]
    done_by: Annotated[str, about("Who may do it.")]
    unlocks: Annotated[Ids, about("Steps that come next once it is done.")]
    meanwhile: Annotated[tuple[Meanwhile, ...], about("Other open steps that need not wait for it.")]
    not_before: Annotated[str, stamp("Instant before which it proves nothing.")] | UnsetType = UNSET
    time_to_earliest_start: (
        Annotated[Duration, about("Until the earliest start; absent while the oil does not warm.")] | UnsetType
    ) = UNSET


class StopCause(Results, frozen=True, kw_only=True):
    """Why a machine is to be stopped."""

    code: Annotated[str, about("Rule behind it, or `running_presumed`.")]
    ids: Annotated[Ids, about("Observations behind it.")]
    statement: Annotated[str, about("What was seen.")]
    latched: Annotated[bool, about("Whether it stands until every compressor is off and the unit stopped.")]
    clear_by: Annotated[str, about("What clears it.")]


class StopNow(Results, frozen=True, kw_only=True):
    """Stop: which compressors, how, and why."""

    compressors: Annotated[Ids, about("Which.")]
    how: Annotated[str, about("How they are stopped.")]
    causes: Annotated[tuple[StopCause, ...], about("Why.")]


class MayStartNext(Results, frozen=True, kw_only=True):
    """Whether the next compressor may be staged in."""

    allowed: Annotated[bool, about("Whether nothing on record forbids it.")]
    reason: Annotated[str, about("Why, or why not.")]
    at: Annotated[str, stamp("When, if time is what is missing.")] | UnsetType = UNSET


class LookAgain(Results, frozen=True, kw_only=True):
    """Something to be looked at again while it runs."""

    fact: Annotated[str, about("The fact or reading.")]
    due: Annotated[str, stamp("By when.")]


class LeftOut(Results, frozen=True, kw_only=True):
    """A record that the verdict leaves out, and who did that."""

    id: Annotated[str, about("The record left out.")]
    by_record: Annotated[str, about("The record that did it.")]
    kind: Annotated[str, about("`supersedes` or `withdrawn`.")]
    first_by: Annotated[str, about("Whose record it was; absent where nobody was named.")] | UnsetType = UNSET
    then_by: Annotated[str, about("Who took it back; absent where nobody was named.")] | UnsetType = UNSET


class CorrectionRefused(Results, frozen=True, kw_only=True):
    """A correction that has no effect."""

    id: Annotated[str, about("The record that wanted it.")]
    wanted: Annotated[str, about("The record that it named.")]
    why: Annotated[str, about("Why not.")]


class TimelineEntry(Results, frozen=True, kw_only=True, gc=False):
    """One observation in its place."""

    id: Annotated[str, about("Its id.")]
    kind: Annotated[str, about("Its kind.")]
    at: Annotated[str, stamp("When it was, clock corrected.")]
    uncertainty: Annotated[Duration, about("Either way.")]
    earliest: Annotated[str, stamp("Earliest instant at which it can have been.")]
    effective: Annotated[str, stamp("From when it counts: latest if it may speak against a start, else earliest.")]
    adverse: Annotated[bool, about("Whether it may speak against a start.")]


class Shares(Results, frozen=True, kw_only=True):
    """What this start says against the others of one source or loop."""

    field: Annotated[Literal["source", "loop"], about("Field of the configuration that names it.")]
    ids: Annotated[tuple[str, ...], about("The records.", max_length=1000)]


class StartupResults(Results, frozen=True, kw_only=True):
    """The verdict. Facts and lists are in the order of rules and ids."""

    status: Annotated[
        StartStatus,
        about("`ready` (nothing on record forbids the start), `wait`, `blocked`, `running`, `stop_now`, or `ended`."),
    ]
    stop_now: Annotated[StopNow, about("Only with that status: it comes before everything else.")] | UnsetType = UNSET
    next_action: Annotated[NextAction, about("The best thing to do now.")]
    lines: Annotated[Ids, about("Three short lines for a small screen.")]
    earliest_start: (
        Annotated[str, stamp("Earliest start, blocks not counted; absent while the oil does not warm.")] | UnsetType
    ) = UNSET
    warm_up_since: Annotated[str, stamp("Since when the oil surely warms without a break.")] | UnsetType = UNSET
    warm_up_until: Annotated[str, stamp("When the oil is warm.")] | UnsetType = UNSET
    valid_until: (
        Annotated[str, stamp("When the answer can change though nothing is recorded; absent for never.")] | UnsetType
    ) = UNSET
    may_start_next: Annotated[MayStartNext, about("Only while it runs.")] | UnsetType = UNSET
    look_again: Annotated[tuple[LookAgain, ...], about("While it runs: what is looked at again, the soonest first.")]
    blocks: Annotated[tuple[Block, ...], about("What forbids the start.")]
    waits: Annotated[tuple[Wait, ...], about("What time clears.")]
    open_checks: Annotated[tuple[OpenCheck, ...], about("What somebody qualified must settle by a record.")]
    facts: Annotated[
        dict[str, FactState],
        about("Every fact by its name; those of parts of other plugins as `family.name/fact`.", max_length=2600),
    ]
    own_facts: Annotated[
        dict[str, FactState], about("Facts recorded for parts of other plugins, by name.", max_length=6000)
    ] = msgspec.field(default_factory=dict)
    invalidated: Annotated[tuple[Invalidated, ...], about("What was undone, and by what.")]
    missing: Annotated[Ids, about("Facts without a usable record.")]
    stale: Annotated[Ids, about("Facts whose records are too old.")]
    contradictory: Annotated[tuple[Suspect, ...], about("Records with two versions under one id.")]
    impossible: Annotated[tuple[Suspect, ...], about("What cannot be as recorded.")]
    superseded: Annotated[tuple[LeftOut, ...], about("Records that the verdict leaves out.")]
    corrections_refused: Annotated[tuple[CorrectionRefused, ...], about("Corrections without effect.")]
    carries: Annotated[
        tuple[str, ...], about("Records that must go along into the next start of the machine.", max_length=5000)
    ]
    shares: Annotated[
        tuple[Shares, ...],
        about("Records that speak against every other start of the same source or loop.", max_length=2),
    ]
    officer_on_duty: (
        Annotated[str, about("Who can be reached day and night, as the configuration names it.")] | UnsetType
    ) = UNSET
    may_connect: (
        Annotated[bool, about("Whether work on the lines may begin; only where connecting is on record.")] | UnsetType
    ) = UNSET
    may_energise: (
        Annotated[bool, about("Whether the source may be closed; only where connecting is on record.")] | UnsetType
    ) = UNSET
    meaning: Annotated[str, about("Digest of what is said, without anything that moves with the clock alone.")]
    timeline: Annotated[tuple[TimelineEntry, ...], about("The observations by when they can have been.")]
    parts: Annotated[tuple[JoinedPart, ...], about("What parts of other plugins say; none where none does.")] = ()
