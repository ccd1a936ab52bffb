"""May the first compressor start? From what was seen at the machine."""

from typing import Annotated

from msgspec import UNSET, UnsetType

from coldwright.contract import Example, Given, Load, Notes, Refused, Results, about, calculator, field_error
from coldwright.contract.quantities import Duration
from coldwright_basis.ratings import OVERCURRENT_RATINGS
from coldwright_readiness.shared import cautions
from coldwright_readiness.shared.configuration import Configuration, configuration_errors, tell_usual_values
from coldwright_readiness.shared.instants import duration, instant, show, stamp, stamp_error
from coldwright_readiness.shared.references import (
    COMMON_PRACTICE,
    DEENERGISE,
    ELECTRICAL_SAFETY,
    FLUID_DATA,
    HIGH_POINT,
    HYDROSTATICS,
    INSULATION,
    LOCKOUT,
    MACHINE_CIRCUIT,
    MOTOR_SUPPLY,
    QUALIFIED,
    TRANSFER,
)
from coldwright_readiness.startup.checks import OpenChecks, open_checks
from coldwright_readiness.startup.example import EXAMPLE, EXAMPLE_REVERSED
from coldwright_readiness.startup.facts import Evidence, Fact, Status, origin
from coldwright_readiness.startup.facts_connection import may_connect, may_energise
from coldwright_readiness.startup.facts_power import asks_for_connection
from coldwright_readiness.startup.limits import RULES, STARTUP_RULES, VALVE_POSITIONS, Limits
from coldwright_readiness.startup.notes import FINDINGS, tell
from coldwright_readiness.startup.observations import MOST_OBSERVATIONS, AnyObservation, observation_errors
from coldwright_readiness.startup.order import canonical_order
from coldwright_readiness.startup.page import start_page
from coldwright_readiness.startup.timeline import Timeline
from coldwright_readiness.startup.verdict import StartStatus, Verdict, conclude, next_action

MOST_ERRORS = 50
RuleId = Annotated[str, about("Rule, as in the table of rules.")]
Ids = tuple[str, ...]


class StartupGiven(Given, frozen=True, kw_only=True):
    """A set-up, what was seen of it, and the time of the question."""

    configuration: Annotated[
        Configuration, about("What is set up; both `evaporator_pressure_drop_` fields are needed here.")
    ]
    evaluated_at: Annotated[str, stamp("The time for which the question is asked.")]
    observations: Annotated[
        tuple[AnyObservation, ...],
        about("Everything that was seen, in any order; the same one may come twice.", max_length=MOST_OBSERVATIONS),
    ] = ()


class Block(Results, frozen=True, kw_only=True):
    """Something that forbids the start."""

    rule: RuleId
    fact: Annotated[str, about("The fact; absent for an event that must not have been.")] | UnsetType = UNSET
    status: Annotated[Status, about("How the fact stands.")] | UnsetType = UNSET
    because: Annotated[Ids, about("Observations behind it.")]
    clear_by: Annotated[str, about("Step of the procedure that clears it.")]
    cleared_by: Annotated[str, about("Who may clear it.")]
    reason: Annotated[str, about("For valves: what is wrong, in a word.")] | UnsetType = UNSET


class Wait(Results, frozen=True, kw_only=True):
    """Something that time alone clears."""

    rule: Annotated[str, about("`R20` for the oil, `anti_recycle` for the rest of a compressor.")]
    until: Annotated[str, stamp("When it is over.")]


class FactState(Results, frozen=True, kw_only=True):
    """One fact."""

    status: Annotated[Status, about("How it stands.")]
    by: Annotated[Ids, about("Observations that decide it.")]
    at: Annotated[str, stamp("The latest of them.")] | UnsetType = UNSET
    reason: Annotated[str, about("For valves: what is wrong, in a word.")] | UnsetType = UNSET


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


class Meanwhile(Results, frozen=True, kw_only=True):
    """Work that can be done at the same time."""

    step_id: Annotated[str, about("Step of the procedure.")]
    why: Annotated[str, about("What it is for.")]


class NextAction(Results, frozen=True, kw_only=True):
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


class TimelineEntry(Results, frozen=True, kw_only=True):
    """One observation in its place."""

    id: Annotated[str, about("Its id; with `#pump` for a pump that it put off.")]
    kind: Annotated[str, about("Its kind.")]
    at: Annotated[str, stamp("When it was, clock corrected.")]
    uncertainty: Annotated[Duration, about("Either way.")]
    effective: Annotated[str, stamp("From when it counts: latest if adverse, earliest if favourable.")]
    adverse: Annotated[bool, about("Whether it speaks against a start.")]


class StartupResults(Results, frozen=True, kw_only=True):
    """The verdict. Facts and lists are in the order of rules and ids."""

    status: Annotated[
        StartStatus, about("`blocked`, `wait`, or `ready`: nothing on record forbids the start, which is no order to.")
    ]
    earliest_start: (
        Annotated[str, stamp("Earliest start, blocks not counted; absent while the oil does not warm.")] | UnsetType
    ) = UNSET
    warm_up_since: Annotated[str, stamp("Since when the oil warms without a break.")] | UnsetType = UNSET
    warm_up_until: Annotated[str, stamp("When the oil is warm.")] | UnsetType = UNSET
    next_action: Annotated[NextAction, about("The best thing to do now.")]
    blocks: Annotated[tuple[Block, ...], about("What forbids the start.")]
    waits: Annotated[tuple[Wait, ...], about("What time clears.")]
    facts: Annotated[dict[str, FactState], about("Every fact by its name.", max_length=30)]
    invalidated: Annotated[tuple[Invalidated, ...], about("What was undone, and by what.")]
    missing: Annotated[Ids, about("Facts without a usable record.")]
    stale: Annotated[Ids, about("Facts whose records are too old.")]
    contradictory: Annotated[tuple[Suspect, ...], about("Ids with two stories.")]
    impossible: Annotated[tuple[Suspect, ...], about("What cannot be as recorded.")]
    may_connect: (
        Annotated[bool, about("Whether work on the lines may begin; only where connecting is on record.")] | UnsetType
    ) = UNSET
    may_energise: (
        Annotated[bool, about("Whether the source may be closed; only where connecting is on record.")] | UnsetType
    ) = UNSET
    timeline: Annotated[tuple[TimelineEntry, ...], about("The observations in canonical order.")]


@calculator(
    "readiness.startup",
    version="1.1.0",
    title="May it start: the verdict from what was observed",
    references=(
        COMMON_PRACTICE, LOCKOUT, DEENERGISE, ELECTRICAL_SAFETY, QUALIFIED, MACHINE_CIRCUIT, MOTOR_SUPPLY, TRANSFER,
        INSULATION, HYDROSTATICS, HIGH_POINT, FLUID_DATA,
    ),
    tables=(STARTUP_RULES, VALVE_POSITIONS, OVERCURRENT_RATINGS),
    hazards=("electrical", "rotating", "pressure", "thermal", "chemical", "general"),
    findings=FINDINGS,
    load=Load.HEAVY,
    page=start_page,
    examples=(
        Example("Ready", "Invented: a machine set up by the book on site power, asked a minute after the hour.", EXAMPLE),
        Example("Leads swapped live", "Invented: the rotation was turned round with the supply on.", EXAMPLE_REVERSED),
    ),
)  # fmt: skip
def startup(given: StartupGiven, notes: Notes) -> StartupResults:
    """Decide `ready`, `wait` or `blocked` from observations.

    The verdict depends only on the configuration, the time of the question and the set of observations: not on the
    order in which they arrived, nor on duplicates. Each observation stands at one instant, the adverse ones at the
    latest at which they can have been. The oil's time runs only while supply, isolator, control switch, voltage and
    heaters are good, and starts anew after every break. Rules R01 to R30 must be established; rules I1 to I19 tell what
    cannot be as recorded. `ready` says that nothing on record forbids the start. It is no order to start.
    """
    _refuse(given)
    limits = Limits(given.configuration)
    now = instant(given.evaluated_at)
    timeline = Timeline(limits, now, canonical_order(given.observations, limits, now))
    evidence = Evidence(timeline)
    verdict = conclude(evidence)
    notes.caution(*cautions.STARTUP)
    tell_usual_values(given.configuration, notes, voltage=True)
    tell(evidence, verdict, notes)
    notes.assumptions.sort(key=lambda a: a.code)  # their order must not betray that of the observations
    return _results(evidence, verdict, open_checks(notes.findings))


def _refuse(given: StartupGiven) -> None:
    c = given.configuration
    errors = configuration_errors(c)
    for name in ("evaporator_pressure_drop_minimum", "evaporator_pressure_drop_maximum"):
        if getattr(c, name) is UNSET:
            text = "The start needs the maker's drop at least and at greatest flow: it proves the flow."
            errors.append(field_error(f"/configuration/{name}", text, code="missing"))
    if error := stamp_error("/evaluated_at", given.evaluated_at):
        errors.append(error)
    for index, observation in enumerate(given.observations):
        errors += observation_errors(observation, f"/observations/{index}")
    if errors:
        raise Refused(errors[:MOST_ERRORS])


def _results(e: Evidence, verdict: Verdict, checks: OpenChecks | None) -> StartupResults:
    t = e.timeline
    facts = list(verdict.facts.values())
    by_rule = {f.rule: f for f in facts}
    connecting = asks_for_connection(e)
    return StartupResults(
        status=verdict.status,
        earliest_start=_shown(verdict.earliest_start),
        warm_up_since=_shown(t.warm_since),
        warm_up_until=_shown(verdict.warm_up_until),
        next_action=_next_action(e, verdict, checks),
        blocks=tuple(
            Block(
                rule=b.rule,
                fact=UNSET if b.fact is None else b.fact.name,
                status=UNSET if b.fact is None else b.fact.status,
                because=b.because,
                clear_by=b.clear_by,
                cleared_by=RULES[b.rule]["cleared_by"] if b.fact is None else b.fact.hands,
                reason=(b.fact.reason if b.fact is not None else "") or UNSET,
            )
            for b in verdict.blocks
        ),
        waits=tuple(Wait(rule=rule, until=show(until)) for rule, until in sorted(verdict.waits.items())),
        facts={f.name: _fact_state(f) for f in facts},
        invalidated=_invalidated(e, facts),
        missing=tuple(f.name for f in facts if f.status == "missing"),
        stale=tuple(f.name for f in facts if f.status == "stale"),
        contradictory=_suspects(verdict, contradictory=True),
        impossible=_suspects(verdict, contradictory=False),
        may_connect=may_connect(e) if connecting else UNSET,
        may_energise=may_energise(e, by_rule) if connecting else UNSET,
        timeline=tuple(
            TimelineEntry(
                id=r.id,
                kind=r.kind,
                at=show(r.at),
                uncertainty=duration(r.uncertainty, "s"),
                effective=show(r.effective),
                adverse=r.adverse,
            )
            for r in t.records
        ),
    )


def _shown(moment: int | None) -> str | UnsetType:
    return UNSET if moment is None else show(moment)


def _next_action(e: Evidence, verdict: Verdict, checks: OpenChecks | None) -> NextAction:
    action = next_action(e, verdict, checks)
    start = verdict.earliest_start
    return NextAction(
        step_id=action.step_id,
        why=action.why,
        do=action.do,
        done_by=action.done_by,
        unlocks=action.unlocks,
        meanwhile=tuple(Meanwhile(step_id=step, why=why) for step, why in action.meanwhile),
        time_to_earliest_start=UNSET if start is None else duration(start - e.evaluated_at),
    )


def _fact_state(fact: Fact) -> FactState:
    at = max((origin(r).at for r in fact.records), default=None)
    return FactState(status=fact.status, by=fact.ids, at=_shown(at), reason=fact.reason or UNSET)


def _invalidated(e: Evidence, facts: list[Fact]) -> tuple[Invalidated, ...]:
    """Every loss of a begun warm-up, and whatever else is undone now."""
    undone = [("oil_warm", w.end) for w in e.timeline.warm_ups]
    undone += [(f.name, f.undone) for f in facts if f.rule != "R20"]
    entries = {(loss.rule, origin(loss.record).id, fact) for fact, loss in undone if loss is not None}
    return tuple(Invalidated(fact=fact, by=by, rule=rule) for rule, by, fact in sorted(entries))


def _suspects(verdict: Verdict, *, contradictory: bool) -> tuple[Suspect, ...]:
    return tuple(
        Suspect(rule=s.rule, ids=s.ids, statement=s.statement)
        for s in verdict.suspicions
        if (s.rule == "I11") is contradictory and s.rule not in ("I18", "N1")
    )
