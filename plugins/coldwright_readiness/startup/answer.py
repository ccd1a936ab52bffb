"""From the verdict to the results."""

import hashlib
from collections.abc import Iterator
from operator import itemgetter
from typing import Any, Final

import msgspec
from msgspec import UNSET, UnsetType

from coldwright.contract import spoken
from coldwright.contract.quantities import Duration
from coldwright_basis.instants import duration, show, whole
from coldwright_readiness.startup import results as r
from coldwright_readiness.startup.advice.action import Action
from coldwright_readiness.startup.advice.by_rule import action_for
from coldwright_readiness.startup.advice.choice import lines_of, meanwhile, next_action, unlocks
from coldwright_readiness.startup.advice.stop import how_to_stop
from coldwright_readiness.startup.evidence.evidence import Evidence
from coldwright_readiness.startup.evidence.known import Following
from coldwright_readiness.startup.evidence.record import ALWAYS, Record
from coldwright_readiness.startup.evidence.settling import WHO_SETTLES
from coldwright_readiness.startup.evidence.stance import may_speak_against
from coldwright_readiness.startup.own_facts import joined_facts, own_facts
from coldwright_readiness.startup.rules.connecting import (
    asks_for_connection,
    leads_to_swap,
    locks_on,
    may_energise,
    why_not_connect,
)
from coldwright_readiness.startup.rules.fact import Fact, event_of
from coldwright_readiness.startup.sharing import shared_records
from coldwright_readiness.startup.verdict import Blocking, Verdict

NOT_IMPOSSIBLE: Final = ("I11", "I18", "N1", "repeated_trips", "switch_not_seen_open", "rotation_after_outage")
MOST_CARRIED: Final = 5000
CARRIED: Final = ("lock", "alarm", "compressor", "unit_stop", "settled", "withdrawn")
_json = msgspec.json.Encoder(order="sorted")


def answer(e: Evidence, v: Verdict) -> r.StartupResults:
    """Everything that is sent back."""
    facts, added = list(v.facts.values()), joined_facts(v.joined)
    connecting = asks_for_connection(e) or leads_to_swap(e, v.facts) or bool(locks_on(e, surely=False))
    action = next_action(e, v)
    done = r.StartupResults(
        status=v.status,
        stop_now=_stop_now(e, v),
        next_action=_next_action(e, v, action),
        lines=lines_of(e, v, action),
        earliest_start=_shown(v.earliest_start),
        warm_up_since=_shown(e.power.warm_since),
        warm_up_until=_shown(v.warm_up_until),
        valid_until=_shown(_whole(_asked_again(e, v, action))),
        may_start_next=_may_start_next(e, v),
        look_again=_look_again(e, v),
        blocks=_blocks(e, v),
        waits=tuple(r.Wait(rule=rule, until=show(until)) for rule, until in sorted(v.waits.items())),
        open_checks=tuple(
            r.OpenCheck(code=c.rule, ids=c.ids, role=WHO_SETTLES[c.rule], **spoken(statement=c.said))
            for c in v.cases
            if c.forbids and c.rule in WHO_SETTLES
        ),
        facts={f.name: _fact_state(f) for f in facts} | added,
        own_facts=own_facts(e),
        invalidated=_invalidated(e, facts),
        missing=(
            *(f.name for f in facts if f.status == "missing"),
            *(n for n, f in added.items() if f.status == "missing"),
        ),
        stale=(*(f.name for f in facts if f.status == "stale"), *(n for n, f in added.items() if f.status == "stale")),
        contradictory=_suspects(v, contradictory=True),
        impossible=_suspects(v, contradictory=False),
        superseded=tuple(
            r.LeftOut(
                id=c.removed.id,
                by_record=c.by_record.id,
                kind=c.kind,
                first_by=c.removed.by or UNSET,
                then_by=c.by_record.by or UNSET,
            )
            for c in e.taken.removed
        ),
        corrections_refused=tuple(
            r.CorrectionRefused(id=f.record.id, wanted=f.wanted, why=f.why) for f in e.taken.refused
        ),
        carries=_carries(e, v),
        shares=tuple(
            r.Shares(field=name, ids=tuple(sorted(x.id for x in found))) for name, found in shared_records(e).items()
        ),
        officer_on_duty=e.limits.configuration.officer_on_duty,
        may_connect=not why_not_connect(e) if connecting else UNSET,
        may_energise=may_energise(e, v.facts) if connecting else UNSET,
        meaning="",
        timeline=_timeline(e),
    )
    return msgspec.structs.replace(done, meaning=meaning_of(done))


MEANT: Final = (
    "status", "stop_now", "blocks", "waits", "open_checks", "may_start_next", "may_connect", "may_energise", "missing", "stale",
    "contradictory", "impossible", "superseded", "corrections_refused",
)  # fmt: skip
MEANT_OF_ACTION: Final = ("step_id", "why", "do", "short", "subject", "record", "causes", "done_by")


def meaning_of(done: r.StartupResults) -> str:
    """Two answers with the same meaning say the same, whatever the clock shows."""
    said: dict[str, Any] = {name: getattr(done, name) for name in MEANT if getattr(done, name) is not UNSET}
    said["facts"] = {name: f.status for name, f in done.facts.items()}
    if done.own_facts:
        said["own_facts"] = {name: f.status for name, f in done.own_facts.items()}
    said["next_action"] = {name: getattr(done.next_action, name) for name in MEANT_OF_ACTION}
    return hashlib.sha256(_json.encode(said)).hexdigest()[:32]


def _shown(moment: int | None) -> str | UnsetType:
    return UNSET if moment is None or moment >= ALWAYS else show(moment)


def _asked_again(e: Evidence, v: Verdict, action: Action) -> int | None:
    """The next instant at which time alone can change what is said, of what is to be done as well."""
    waits = [action.not_before] if action.not_before is not None and action.not_before > e.now else []
    return min([*waits, *([] if v.valid_until is None else [v.valid_until])], default=None)


def _whole(moment: int | None) -> int | None:
    """The next whole second."""
    return None if moment is None else whole(moment)


def _stop_now(e: Evidence, v: Verdict) -> r.StopNow | UnsetType:
    if v.status != "stop_now":
        return UNSET
    names = (
        v.runs.compressors or tuple(sorted({c.data.id for c in e.of("compressor")}, key=int)) or e.limits.compressors
    )
    causes = tuple(
        r.StopCause(code=c.code, ids=c.ids, statement=c.statement, latched=c.latched, clear_by=c.clear_by)
        for c in v.runs.causes
    )
    return r.StopNow(compressors=names, how=how_to_stop(e), causes=causes)


def _next_action(e: Evidence, v: Verdict, action: Action) -> r.NextAction:
    start = v.earliest_start
    return r.NextAction(
        step_id=action.step_id,
        why=action.why,
        do=action.do,
        short=action.short,
        subject=action.subject,
        record=tuple(
            r.RecordTemplate(
                kind=t.kind, data=t.data, by=t.by or UNSET, role=t.role or UNSET, otherwise=t.otherwise or UNSET
            )
            for t in action.record
        ),
        causes=tuple(r.PossibleCause(look_at=c.look_at, decides=c.decides) for c in action.causes),
        done_by=action.done_by,
        unlocks=unlocks(e, action),
        meanwhile=tuple(r.Meanwhile(step_id=step, why=why) for step, why in meanwhile(e, v, action)),
        not_before=_shown(_whole(action.not_before)) if (action.not_before or 0) > e.now else UNSET,
        time_to_earliest_start=UNSET if start is None else duration(start - e.now),
    )


def _blocks(e: Evidence, v: Verdict) -> tuple[r.Block, ...]:
    if v.status in ("running", "ended"):
        return ()
    if v.status == "stop_now":
        return tuple(
            r.Block(
                rule=c.code,
                because=c.ids,
                statement=c.statement,
                clear_by="start_verdict",
                cleared_by="the technician at the machine",
            )
            for c in v.runs.causes
        )
    return tuple(_block(e, b) for b in v.blocks)


def _block(e: Evidence, b: Blocking) -> r.Block:
    fact = b.fact
    return r.Block(
        rule=b.rule,
        fact=fact.name if fact is not None else (b.joined.fact if b.joined is not None else "") or UNSET,
        status=UNSET if fact is None else fact.status,
        because=b.because,
        statement=b.statement,
        clear_by=b.clear_by,
        cleared_by=_who_clears(e, b),
        reason=(fact.reason if fact is not None and b.rule in ("R07", "R09") else "") or UNSET,
    )


def _who_clears(e: Evidence, b: Blocking) -> str:
    if b.joined is not None:
        return b.joined.cleared_by
    return str(e.limits.rules[b.rule]["cleared_by"]) if b.fact is None else action_for(e, b.fact).done_by


def _fact_state(fact: Fact) -> r.FactState:
    by = fact.by
    at = max((record.at for record in by), default=None)
    reason = fact.reason if fact.rule in ("R07", "R09") else ""
    return r.FactState(
        status=fact.status,
        by=tuple(sorted({record.id for record in by})),
        at=_shown(at),
        expires_at=_shown(fact.expires),
        reason=reason or UNSET,
    )


def _invalidated(e: Evidence, facts: list[Fact]) -> tuple[r.Invalidated, ...]:
    """Every loss of a begun warm-up, and whatever else is undone now."""
    entries = {(event_of(f.undone), f.undone.id, f.name) for f in facts if f.undone is not None}
    ends = {span.end for span in e.power.heated if span.end < ALWAYS}
    if ends:
        losses = (x for state in e.power.conditions.values() for x in state.against.records if x.earliest in ends)
        entries.update((event_of(x), x.id, "oil_warm") for x in losses)
    return tuple(r.Invalidated(fact=fact, by=by, rule=rule) for rule, by, fact in sorted(entries))


def _suspects(v: Verdict, *, contradictory: bool) -> tuple[r.Suspect, ...]:
    return tuple(
        r.Suspect(rule=c.rule, ids=c.ids, **spoken(statement=c.said))
        for c in v.cases
        if (c.rule == "I11") is contradictory and (contradictory or c.rule not in NOT_IMPOSSIBLE)
    )


def _may_start_next(e: Evidence, v: Verdict) -> r.MayStartNext | UnsetType:
    if v.status != "running":
        return UNSET
    rest = [c for c in e.limits.compressors if c not in v.runs.compressors]
    if not rest:
        return r.MayStartNext(allowed=False, reason="Every compressor is on.")
    if v.blocks:
        return r.MayStartNext(allowed=False, reason=v.blocks[0].statement)
    if v.runs.asks:
        return r.MayStartNext(allowed=False, reason=f"To be read again first: {v.runs.asks[0].subject}.")
    starts = [c.latest for c in e.of("compressor") if c.data.state == "on"]
    rested = max([*v.waits.values(), *(s + e.limits.anti_recycle for s in starts)], default=e.now)
    if rested > e.now:
        return r.MayStartNext(allowed=False, reason="The starts are spaced out.", at=show(rested))
    return r.MayStartNext(allowed=True, reason=f"Nothing on record forbids compressor {rest[0]}.")


def _look_again(e: Evidence, v: Verdict) -> tuple[r.LookAgain, ...]:
    """What ages on a machine that runs, and can be looked at while it does: a filling pressure is read with the pump off."""
    if v.status != "running":
        return ()
    aging = [f for f in v.facts.values() if f.rule != "R10" or not e.limits.pump_stops]
    due = [(ask.due, ask.subject) for ask in v.runs.asks]
    due += [(f.expires, f.name) for f in aging if f.expires is not None]
    due += [(f.expired, f.name) for f in aging if f.status == "stale" and f.expired is not None]
    return tuple(r.LookAgain(fact=name, due=show(moment)) for moment, name in sorted(due))


def _carries(e: Evidence, v: Verdict) -> tuple[str, ...]:
    """What stands, and the history behind it; where that is too much, what stands and the newest of the rest."""
    standing = [x for c in v.cases if c.rule in WHO_SETTLES for x in c.records]
    standing += [x for c in v.runs.causes for x in c.records]
    own = {x.id: x for x in (*standing, *(x for kind in CARRIED for x in e.of(kind))) if not x.foreign}
    if len(own) > MOST_CARRIED:
        standing += [*locks_on(e, surely=False), *_not_over(e, "alarm"), *_not_over(e, "compressor")]
        first = {x.id for x in standing}
        kept = sorted(own.values(), key=lambda x: (x.id not in first, -x.latest, x.id))[:MOST_CARRIED]
        return tuple(sorted(x.id for x in kept))
    return tuple(sorted(own))


def _not_over(e: Evidence, kind: str) -> Iterator[Record]:
    """Alarms that can still be active, compressors that can still be on."""
    over = {"alarm": "cleared", "compressor": "off"}[kind]
    for records in e.by_subject(kind).values():
        ended = Following(x for x in records if x.data.state == over)
        yield from (x for x in records if x.data.state != over and ended.end_of(x) == ALWAYS)


def _timeline(e: Evidence) -> tuple[r.TimelineEntry, ...]:
    entries = []
    for x in e.taken.every:
        against = may_speak_against(x.kind, x.data, e.limits)
        entries.append((x.latest if against else x.earliest, x.id, x.kind, x.at, x, against))
    entries.sort(key=itemgetter(0, 1, 2, 3))
    stamped, spread = _Stamps(), _Spreads()
    return tuple(
        r.TimelineEntry(
            id=id_,
            kind=kind,
            at=stamped[at],
            uncertainty=spread[max(0, x.latest - x.earliest) // 2],
            earliest=stamped[x.earliest],
            effective=stamped[effective],
            adverse=against,
        )
        for effective, id_, kind, at, x, against in entries
    )


class _Stamps(dict[int, str]):
    """Stamps of instants, each made once: thousands of records share few."""

    def __missing__(self, moment: int) -> str:
        text = self[moment] = show(moment)
        return text


class _Spreads(dict[int, Duration]):
    """The same of spans."""

    def __missing__(self, half: int) -> Duration:
        shown = self[half] = duration(half, "s")
        return shown
