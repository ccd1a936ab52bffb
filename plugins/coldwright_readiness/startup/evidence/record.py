"""One observation as the rules see it: an interval of time in which it was made, and who stands behind it.

The interval is [t - u, t + u], t the stamp less the device's offset, and it ends when the observation was received: what
was received has been seen. Instants are whole nanoseconds.
"""

from collections.abc import Callable, Iterable
from functools import lru_cache
from itertools import accumulate
from typing import Any, Final

from msgspec import UNSET, Struct, UnsetType
from msgspec.structs import replace

from coldwright_basis.instants import instant, span
from coldwright_readiness.startup.evidence.stance import SUBJECTS
from coldwright_readiness.startup.observations import AnyObservation, kind_of
from coldwright_readiness.startup.words import word

ALWAYS: Final = 1 << 62
"""Later than every instant."""
Subject = tuple[str, ...]
Boot = tuple[str, str]
"""A device, and its run since it was last started."""


class Record(Struct, eq=False, gc=False):
    """`earliest` and `latest` bound the instant. `proves`: what it says in favour of a start may be believed.

    Two records are the same only if they are one object. Thousands of them hold no cycle, so none is looked for.
    """

    id: str
    kind: str
    subject: tuple[str, Subject]
    data: Any
    by: str
    role: str
    supersedes: str | UnsetType
    at: int
    earliest: int
    latest: int
    ahead: int
    """How far its stamp lies after the instant at which it had been seen at the latest."""
    proves: bool
    boot: Boot | None = None
    sequence: int = 0
    uptime: int = -1
    lone: bool = False
    """Of a device whose clock nobody compared, and which says nothing of its clock itself."""
    outdated: bool = False
    """It proves nothing any more because the set-up that it rests on was changed."""
    foreign: bool = False
    """Of another start of the same source or loop: it proves nothing here."""
    volts: Any = None
    """Of a line voltage: its `Volts`."""
    doubted: bool = False
    """One of several contents under one id: it speaks against what it is about, and for nothing."""
    bound: int = ALWAYS
    """It had been seen at this instant at the latest: when it was received, or when it is asked."""
    arrived: int = -ALWAYS
    """When it was received; before everything where nobody says so."""

    def unproved(self, *, outdated: bool = False) -> "Record":
        """The same record, which proves nothing."""
        return replace(self, proves=False, outdated=outdated or self.outdated)

    def moved_to(self, earliest: int, latest: int) -> "Record":
        """The same record in another place of time, as one that stands alone."""
        return replace(self, earliest=earliest, latest=latest, boot=None, lone=False)


def subject_of(kind: str, data: Any, by: str) -> tuple[str, Subject]:
    """Kind and subject; thousands of records have few, and share them."""
    named = SUBJECTS.get(kind)
    return _shared_subject(kind, named(data, by) if named else ())


@lru_cache(maxsize=1024)
def _shared_subject(kind: str, named: Subject) -> tuple[str, Subject]:
    return kind, named


def record_of(observation: AnyObservation, now: int, compared: frozenset[Boot]) -> Record:
    """The record of an observation, as it is known at `now`; `compared` are boots whose clock the service knows."""
    kind, data = kind_of(observation), observation.data
    by = "" if observation.by is UNSET else observation.by
    role = "" if observation.role is UNSET else word(observation.role)
    declared, unsure = observation.clock_offset, observation.time_uncertainty
    offset = span(declared) if declared.value else 0
    spread = span(unsure) if unsure.value else 0
    at = instant(observation.at) - offset
    low, high, bound, received = at - spread, at + spread, now, -ALWAYS
    if observation.received_at is not UNSET:
        received = instant(observation.received_at)
        bound = min(now, received)
        if observation.sent_at is not UNSET and not offset and not spread:
            sent = at + received - instant(observation.sent_at)
            low, high = min(at, sent), max(at, sent)
    record = Record(
        observation.id,
        kind,
        subject_of(kind, data, by),
        data,
        by,
        role,
        observation.supersedes,
        at,
        low if low < bound else bound,
        high if high < bound else bound,
        low - bound,
        low <= bound,
        bound=bound,
        arrived=received,
    )
    if observation.device is not UNSET and observation.boot is not UNSET and observation.sequence is not UNSET:
        record.boot, record.sequence = (observation.device, observation.boot), observation.sequence
        if observation.uptime is not UNSET:
            record.uptime = span(observation.uptime)
        if record.boot not in compared:
            record.latest = max(record.latest, bound)
            record.lone = not offset and not spread
    return record


def widen_where_the_clock_was_set(records: Iterable[Record], now: int) -> None:
    """Stamps of one boot that its uptime cannot explain by one error hold both, the stamp and what uptime makes of it."""
    groups: dict[Boot, list[Record]] = {}
    for r in records:
        if r.boot is not None and r.uptime >= 0:
            groups.setdefault(r.boot, []).append(r)
    for group in groups.values():
        starts = [(r.earliest - r.uptime, r.latest - r.uptime) for r in group]
        if max(s[0] for s in starts) <= min(s[1] for s in starts):
            continue
        first, last = min(s[0] for s in starts), max(s[1] for s in starts)
        for r in group:
            r.earliest, r.latest = min(r.earliest, first + r.uptime), max(r.latest, min(now, last + r.uptime))


def distrust_stamps_against_their_order(records: Iterable[Record]) -> set[str]:
    """Where stamps of one boot go against the order in which the device counts, its clock was set, nobody knows when and by how
    much. What is stamped later than something made after it proves nothing; what is stamped sooner than something made before
    it may have been as late as when it was received. Ids of the former.
    """
    groups: dict[Boot, list[Record]] = {}
    for r in records:
        if r.boot is not None:
            groups.setdefault(r.boot, []).append(r)
    distrusted: set[str] = set()
    for group in groups.values():
        group.sort(key=lambda r: r.sequence)
        begun = list(accumulate((r.earliest for r in group), max))
        over = list(accumulate((r.latest for r in reversed(group)), min))[::-1]
        overtaken = [r for r, soonest in zip(group, over[1:], strict=False) if r.earliest > soonest]
        behind = [r for r, latest in zip(group[1:], begun, strict=False) if r.latest < latest]
        for r in overtaken:
            r.proves = False
            distrusted.add(r.id)
        for r in behind:
            r.latest, r.lone = r.bound, True
    return distrusted


def parted(records: Iterable[Record], good: Callable[[Record], bool]) -> tuple[list[Record], list[Record]]:
    """Those that are good, and the others: each is judged once."""
    those: list[Record] = []
    others: list[Record] = []
    for r in records:
        (those if good(r) else others).append(r)
    return those, others


def after(later: Record, earlier: Record) -> bool:
    """Whether `later` is surely after `earlier`; equal instants are not."""
    if later.boot is not None and later.boot == earlier.boot:
        return later.sequence > earlier.sequence
    return not later.lone and later.earliest > earlier.latest


def at_least_between(earlier: Record, later: Record) -> int:
    """Shortest time from one to the other; below zero where the order is not sure."""
    if later.boot is not None and later.boot == earlier.boot and earlier.uptime >= 0 and later.uptime >= 0:
        return later.uptime - earlier.uptime
    return later.earliest - earlier.latest


def at_most_between(earlier: Record, later: Record) -> int:
    """Longest time from one to the other."""
    if later.boot is not None and later.boot == earlier.boot and earlier.uptime >= 0 and later.uptime >= 0:
        return later.uptime - earlier.uptime
    return later.latest - earlier.earliest
