"""Locks, alarms and people (R01, R18, R19), and what a qualified person has settled."""

from collections.abc import Iterator

from .log import Log, Objection, each_last_good, having, stands, surely_after_all
from .plan import MINUTE, Plan
from .power import supply_losses
from .sightings import Sighting, after

SETTLERS = {
    "I3": {"electrician"},
    "I14": {"electrician"},
    "I15": {"electrician"},
    "I12": {"owner", "supervisor"},
    "I16": {"supervisor"},
    "R01": {"supervisor"},
    "I10": {"technician", "owner", "supervisor"},
    "repeated_trips": {"technician", "owner", "supervisor"},
}


def settled(log: Log, check: str, *records: Sighting) -> bool:
    """Whether a qualified person has settled this check for each of these records, surely after them."""
    marks = log.good("settled", where=lambda s: s.data["check"] == check and s.role in SETTLERS[check])
    return all(any(r.id in m.data["records"] and after(m, r) for m in marks) for r in records)


def lock_held(log: Log, applied: Sighting) -> bool:
    """Whether this lock may still be on: only its owner takes it off, or somebody responsible settles it. One whose record its
    own author took back asks for a new look for locks, no more."""
    if applied.taken_back is not None:
        return False
    own = [
        s
        for s in log.good("lock", where=having(state="removed"))
        if s.subject == applied.subject and s.by == applied.by
    ]
    return not (stands(own, [applied]) or settled(log, "R01", applied) or settled(log, "I16", applied))


def locks(log: Log, plan: Plan) -> Iterator[Objection]:
    """R01: somebody looked for locks since the last loss of supply and saw none; none on record may be on."""
    seen = log.all("lock_check", where=lambda s: not s.data["none_seen"])
    none = log.good("lock_check", where=lambda s: s.data["none_seen"])
    on = log.all("lock", where=having(state="applied"))
    if not stands(none, seen + on + supply_losses(log, plan) + log.edits("R01")):
        yield Objection("R01", "nobody surely looked for locks since the last one and the last loss of supply")
    for applied in on:
        if lock_held(log, applied):
            yield Objection("R01", f"lock {applied.data['lock_id']} may still be on")


def alarms(log: Log, plan: Plan) -> Iterator[Objection]:
    """R18: somebody looked within 15 min and saw none; none on record may be active."""
    shown = log.all("alarm_check", where=lambda s: not s.data["none_shown"])
    none = log.good("alarm_check", where=lambda s: s.data["none_shown"])
    active = log.all("alarm", where=having(state="active"))
    if not log.not_older(surely_after_all(none, shown + active), 15 * MINUTE):
        yield Objection("R18", "nobody surely saw the panel without alarms in the last 15 min")
    if not each_last_good(log.all("alarm"), lambda s: s.data["state"] == "cleared"):
        yield Objection("R18", "an alarm may be active")


def people(log: Log, plan: Plan) -> Iterator[Objection]:
    """R19."""
    there = log.all("area_clear", where=lambda s: not s.data["clear"])
    clear = log.good("area_clear", where=lambda s: s.data["clear"])
    if not log.not_older(surely_after_all(clear, there), 10 * MINUTE):
        yield Objection("R19", "people not surely clear in the last 10 min")
