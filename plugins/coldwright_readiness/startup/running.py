"""A machine that runs: what stops it at once, what is read again, and what a stop stands on until it is cleared.

A stop never lapses by age. Flow, temperature, voltage and people clear it by two newer readings inside the full limit, a
minute apart; whatever can start the machine by itself latches until every compressor is recorded off and the unit stopped.
"""

from collections.abc import Iterable, Mapping, Sequence
from typing import Final

from msgspec import UNSET

from coldwright_basis.compare import above
from coldwright_basis.instants import show
from coldwright_readiness.startup.checks.case import Case
from coldwright_readiness.startup.checks.suspicions import running_spans
from coldwright_readiness.startup.evidence.changes import Change, after_changes
from coldwright_readiness.startup.evidence.evidence import Evidence
from coldwright_readiness.startup.evidence.happened import what_happened
from coldwright_readiness.startup.evidence.intake import Intake
from coldwright_readiness.startup.evidence.known import Against, Following, Known, Span, covers, merged, touches
from coldwright_readiness.startup.evidence.record import ALWAYS, Record, after, at_least_between, parted
from coldwright_readiness.startup.evidence.settling import Settlements
from coldwright_readiness.startup.evidence.stance import compressor_off, compressor_on
from coldwright_readiness.startup.limits import MINUTE, Limits
from coldwright_readiness.startup.rules.fact import Fact
from coldwright_readiness.startup.rules.facts import facts_of
from coldwright_readiness.startup.stopping import Cause, Running
from coldwright_readiness.startup.watching import APART, full_voltage, watched, watches

NEEDED: Final = ("R01", "R04", "R05", "R06", "R07", "R08", "R09", "R13", "R14", "R15", "R18")
"""What must have been established when a compressor went on."""
COLD_START: Final = 10 * MINUTE
PRESUMED: Final = 1.0
"""K by which the leaving water is colder than the entering one only where something cools."""


def running(
    e: Evidence, facts: Mapping[str, Fact], cases: list[Case], settled: Settlements, changes: Sequence[Change] = ()
) -> Running:
    """Everything about a machine that can be running, or that a stop still stands on."""
    found = Running()
    ons = _current(e)
    found.compressors = tuple(sorted(ons, key=int))
    spans = merged(s for records in e.by_subject("compressor").values() for s in running_spans(records))
    found.causes += _presumed(e, found)
    found.causes += _latched(e, spans, bool(found.compressors), found)
    if not ons:
        return found
    begun = [min(records, key=lambda r: (r.earliest, r.id)) for records in ons.values()]
    found.since = min(begun, key=lambda r: (r.earliest, r.id))
    found.causes += _not_established(e, found.since, facts, settled, changes)
    found.causes += _cold(e, cases, ons)
    for watch in watches(e):
        watched(e, watch, found.since, found)
    found.causes.sort(key=lambda c: (not c.latched, c.code, c.ids))
    found.asks.sort(key=lambda a: (a.due, a.rule, a.subject))
    return found


def _current(e: Evidence) -> dict[str, list[Record]]:
    """For each compressor that can be on: the records that it went on which no off surely followed."""
    found = {}
    for (name,), records in e.by_subject("compressor").items():
        ends = Following(r for r in records if compressor_off(r.data))
        on = [r for r in records if compressor_on(r.data) and ends.end_of(r) == ALWAYS]
        if on:
            found[name] = on
    return found


# --- at once, and until the unit is stopped ------------------------------------------------------------------------


def _latching(e: Evidence) -> list[tuple[str, Record]]:
    """Records that stop a machine until it is surely stopped, each with its code."""
    p, power = e.pumping, e.power
    pump = e.limits.pump_in_use
    rotations = e.of("phase_indicator")
    codes: list[tuple[str, Iterable[Record]]] = [
        ("R05", [*power.off, *power.gaps, *power.dead, *power.isolator.against.records]),
        ("R05", power.switched_off),
        ("R05", [*e.line_work, *e.moves]),
        ("R14", p.off[pump]),
        ("R14", p.at_rest),
        ("R07", [r for r in rotations if r.data.rotation in ("reversed", "missing_phase")]),
        ("R01", e.such("lock", lambda d: d.state == "applied")),
        ("R01", e.such("lock_check", lambda d: not d.none_seen)),
        ("R18", e.such("alarm", lambda d: d.state == "active" and not d.warning)),
        ("R18", e.such("alarm_check", lambda d: not d.none_shown)),
        ("R12", e.of("loop_opened", "drain")),
        ("R12", e.such("leak_check", lambda d: d.result != "dry")),
        ("R08", e.such("hose_connection", lambda d: not d.connected)),
        ("R04", e.such("ground", lambda d: not d.connected)),
    ]
    return [(code, r) for code, records in codes for r in records]


def _latched(e: Evidence, spans: list[Span], runs: bool, found: Running) -> list[Cause]:
    released = _released(e)
    standing = [(code, r) for code, r in _latching(e) if r.latest >= released and touches(spans, r)]
    found.may_start_by_itself = bool(standing) and not runs
    causes = []
    for code, r in _newest_of_each(standing):
        words = what_happened(r, e.limits)
        statement = f"{words[0].upper()}{words[1:]}, while a compressor ran."
        causes.append(Cause(code, (r,), statement, latched=True, clear_by=_STOPPED))
    return causes


_STOPPED: Final = (
    "Record every compressor off and the unit stopped (or its control switch or supply off). The way back is a start of its "
    "own."
)


def _newest_of_each(standing: list[tuple[str, Record]]) -> list[tuple[str, Record]]:
    """Of each code the latest few, so that a long history stays readable."""
    by_code: dict[str, list[tuple[str, Record]]] = {}
    for code, r in sorted(standing, key=lambda pair: (-pair[1].latest, pair[1].id)):
        by_code.setdefault(code, []).append((code, r))
    return [pair for group in by_code.values() for pair in group[:5]]


def _released(e: Evidence) -> int:
    """Every cause surely before this instant was answered: all compressors off after it, and the unit stopped."""
    best = -ALWAYS
    stops = [*e.such("unit_stop", lambda d: d.state == "stopped"), *e.power.switched_off, *e.power.off]
    groups = [
        (
            [r for r in records if compressor_on(r.data)],
            sorted((r for r in records if compressor_off(r.data) and r.proves), key=lambda r: (r.earliest, r.id)),
        )
        for records in e.by_subject("compressor").values()
    ]
    groups = [(on, off) for on, off in groups if on]
    enabled = Against(e.such("unit_stop", lambda d: d.state == "enabled"))
    for stop in sorted((r for r in stops if r.proves), key=lambda r: (-r.earliest, r.id))[:200]:
        covered = _covered_by(stop, groups, enabled)
        best = max(best, covered)
    return best


def _covered_by(stop: Record, groups: list[tuple[list[Record], list[Record]]], enabled: Against) -> int:
    """Causes surely before this instant are answered by one stop of the unit; none where it answers nothing."""
    covered = ALWAYS
    for on, off in groups:
        later = [r for r in on if after(r, stop)]
        earlier = Against(r for r in on if not after(r, stop))
        first_later = min((r.earliest for r in later), default=ALWAYS)
        usable = [
            r for r in off if earlier.all_before(r) and (r.latest < first_later or all(after(x, r) for x in later))
        ]
        if not usable or not earlier.all_before(stop):
            return -ALWAYS
        last = usable[-1]
        between = enabled.first_not_before(stop)
        if stop.kind == "unit_stop" and between <= min(last.latest, usable[0].latest):
            return -ALWAYS
        covered = min(covered, last.earliest)
    return covered


def _presumed(e: Evidence, found: Running) -> list[Cause]:
    """Water colder behind the evaporator than before it, or current at a compressor, and none on record."""
    raised: list[tuple[Record, str]] = []
    known = [
        Known((r for r in rs if compressor_on(r.data)), Against(r for r in rs if compressor_off(r.data)))
        for rs in e.by_subject("compressor").values()
    ]
    sure = merged(span for k in known for span in k.spans)
    readings = [r for r in e.of("water_temperature") if r.data.leaving is not UNSET and r.data.entering is not UNSET]
    suspects, newer = parted(readings, lambda r: _cools(r) and not covers(sure, r.earliest, r.latest))
    raised += _with_current(e)
    raised += _taken_back(e)
    against = Against(suspects)
    newer = newer + e.of("compressor")
    if suspects and not any(r.proves and against.all_before(r) for r in newer):
        raised.append((max(suspects, key=lambda r: (r.latest, r.id)), "the water was being cooled"))
    if not raised:
        return []
    found.presumed = True
    if not found.compressors:
        found.compressors = e.limits.compressors
    return [
        Cause(
            "running_presumed",
            (r,),
            f"At {show(r.at)} {words}, and no compressor is recorded as on.",
            latched=False,
            clear_by="See what runs and record each compressor on or off.",
        )
        for r, words in raised
    ]


def _cools(r: Record) -> bool:
    return above(r.data.entering.si - r.data.leaving.si, PRESUMED)


def _with_current(e: Evidence) -> list[tuple[Record, str]]:
    """Compressors recorded as off with current at them, and not recorded anew since."""
    raised = []
    for records in e.by_subject("compressor").values():
        amps, others = parted(records, lambda r: r.data.state == "off" and not compressor_off(r.data))
        against = Against(amps)
        if amps and not any(r.proves and against.all_before(r) for r in others):
            raised.append((max(amps, key=lambda r: (r.latest, r.id)), "current was read at a compressor"))
    return raised


def _taken_back(e: Evidence) -> list[tuple[Record, str]]:
    """Compressors recorded as on, which was taken back, and not recorded anew since: nobody knows what runs."""
    raised = []
    for name in e.limits.compressors:
        records = e.about("compressor", name)
        doubts = [r for r in e.doubts("compressor", name) if compressor_on(r.data) and r not in records]
        against = Against(doubts)
        if doubts and not any(r.proves and against.all_before(r) for r in records):
            last = max(doubts, key=lambda r: (r.latest, r.id))
            raised.append((last, f"compressor {name} was recorded as on, which was taken back"))
    return raised


# --- when it went on -----------------------------------------------------------------------------------------------


def _as_it_was(e: Evidence, on: Record) -> Evidence:
    """The records as they stood when a compressor went on: nothing later, and nothing proves that can be later."""
    then = Intake()
    for r in e.taken.every:
        if not after(r, on) and r.kind != "compressor":
            seen = r
            if r.proves and not after(on, r):
                seen = r.unproved()
            then.every.append(seen)
            then.by_kind.setdefault(r.kind, []).append(seen)
    then.kinds = frozenset(r.kind for r in then.every)
    for subject, doubts in e.taken.doubts.items():
        kept = [r for r in doubts if not after(r, on)]
        if kept:
            then.doubts[subject] = kept
    return Evidence(then, e.limits, on.latest)


def _not_established(
    e: Evidence, on: Record, now: Mapping[str, Fact], settled: Settlements, changes: Sequence[Change]
) -> list[Cause]:
    then = facts_of(after_changes(_as_it_was(e, on), changes, on.latest), settled, [], NEEDED)
    causes = []
    for rule in NEEDED:
        fact = then.get(rule)
        if fact is None or fact.established or _made_good(fact, now[rule], e, on):
            continue
        causes.append(
            Cause(
                rule,
                fact.by or (on,),
                _how_it_went_on(fact, on, e.limits),
                latched=False,
                clear_by="Stop, or record that it is so now; a reading twice, a minute apart.",
                unread=all(s.status in ("stale", "missing") for s in fact.open),
            )
        )
    return causes


def _how_it_went_on(fact: Fact, on: Record, limits: Limits) -> str:
    """What was wrong with a fact when a compressor went on; what was read too long ago is not called wrong."""
    if fact.status == "stale":
        last = min(fact.by, key=lambda r: (r.at, r.id))
        age = max(0, on.at - last.at) // MINUTE
        return (
            f"{limits.rules[fact.rule]['label']}: the last record, of {show(last.at)}, was {age} min old when compressor "
            f"{on.data.id} went on."
        )
    return f"Compressor {on.data.id} went on at {show(on.at)} while this was not yet so: {_title(fact.rule, limits)}."


def _title(rule: str, limits: Limits) -> str:
    title = str(limits.rules[rule]["title"])
    return f"{title[0].lower()}{title[1:]}"


def _made_good(then: Fact, now: Fact, e: Evidence, on: Record) -> bool:
    """Whether what lacked when it went on is established by newer records, age aside; a reading twice."""
    if now.status not in ("established", "stale"):
        return False
    if now.rule == "R15":
        return all(_twice(k.records_for, [on]) for k in (e.pumping.switch, e.pumping.drop))
    if now.rule == "R06":
        return _twice([r for r in e.of("line_voltage") if full_voltage(e, r)], [on])
    lacked = {s.need.subject for s in then.open}
    return all(after(r, on) for s in now.standings if s.need.subject in lacked for r in s.by)


def _twice(goods: Iterable[Record], after_all: list[Record]) -> bool:
    """Whether two good readings, a minute apart, surely follow everything against them."""
    against = Against(after_all)
    late = [r for r in goods if r.proves and against.all_before(r)]
    if len(late) < 2:
        return False
    first = min(late, key=lambda r: (r.latest, r.id))
    return any(at_least_between(first, r) >= APART for r in late)


def _cold(e: Evidence, cases: list[Case], ons: dict[str, list[Record]]) -> list[Cause]:
    """Started with cold oil: for ten minutes a stop, then a question to the owner."""
    causes = []
    running_now = {r.id for records in ons.values() for r in records}
    for case in cases:
        if case.rule == "I12" and not case.settled and {r.id for r in case.records} & running_now:
            on = case.records[0]
            if e.now <= on.latest + COLD_START:
                words = "Stop it; the owner of the machine settles it"
                causes.append(Cause("I12", case.records, case.statement, latched=False, clear_by=words))
    return causes
