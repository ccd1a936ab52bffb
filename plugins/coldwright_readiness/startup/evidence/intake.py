"""Observations taken in: one story for an id, corrections by those who may, everything else side by side.

Nothing depends on the order of arrival. Of two contents under one id neither proves anything and each counts against what
it is about. Who may take back what speaks against a start stands in `stance`.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from operator import attrgetter
from typing import Final, Literal

import msgspec
from msgspec import UNSET

from coldwright_basis.instants import instant, show
from coldwright_readiness.startup.evidence.kept import in_listed_words, is_kept
from coldwright_readiness.startup.evidence.record import (
    Boot,
    Record,
    Subject,
    after,
    distrust_stamps_against_their_order,
    record_of,
    widen_where_the_clock_was_set,
)
from coldwright_readiness.startup.evidence.stance import EVENTS, may_speak_against
from coldwright_readiness.startup.limits import MINUTE, Limits
from coldwright_readiness.startup.observations import AnyObservation

TAKEN_BACK_WITHIN: Final = 10 * MINUTE
"""So long an author may take back an event."""
AHEAD_ALLOWED: Final = 2 * MINUTE
TOO_LATE: Final = "an event older than 10 min is taken back by a supervisor only"
OTHER_HAND: Final = "only the same person, or a supervisor, may take this back"
_in_time = attrgetter("earliest", "latest", "id")
_canonical = msgspec.json.Encoder(order="sorted")
_RANK: Final = {"supervisor"}


CorrectionKind = Literal["supersedes", "withdrawn"]


@dataclass(frozen=True)
class Correction:
    """A record that is left out, and who did that."""

    removed: Record
    by_record: Record
    kind: CorrectionKind


@dataclass(frozen=True)
class Refusal:
    """A correction that has no effect."""

    record: Record
    wanted: str
    why: str


@dataclass
class Intake:
    """Everything that counts, by kind, and what became of the rest."""

    by_kind: dict[str, list[Record]] = field(default_factory=dict)
    doubts: dict[tuple[str, Subject], list[Record]] = field(default_factory=dict)
    """Kind and subject -> what makes earlier good records unsafe: two stories, or an adverse record taken back."""
    removed: list[Correction] = field(default_factory=list)
    refused: list[Refusal] = field(default_factory=list)
    conflicting: list[str] = field(default_factory=list)
    ahead: list[str] = field(default_factory=list)
    overtaken: list[str] = field(default_factory=list)
    """Ids of what is stamped later than something that its device made after it."""
    every: list[Record] = field(default_factory=list)
    reworded: list[str] = field(default_factory=list)
    """Ids of kept records that were read in other words than they were kept in."""
    kinds: frozenset[str] = frozenset()
    """Kinds that were observed at all, those of records that are left out too."""


def take_in(
    observations: Sequence[AnyObservation], limits: Limits, now: int, shared: Sequence[AnyObservation] = ()
) -> Intake:
    """All records of a start, sorted by id within each kind so that nothing depends on how they came.

    `shared` are those of other starts of the same source or loop: they are corrected there, and speak only against here.
    """
    taken = Intake()
    records = _one_story_each(_in_words(observations, limits, taken), now, taken)
    taken.ahead = sorted({r.id for r in records if r.ahead > AHEAD_ALLOWED})
    gone = _corrected(records, limits, taken)
    counted = [r for r in records if r not in gone]
    others = _foreign(_in_words(shared, limits, taken), now)
    taken.kinds = frozenset(r.kind for r in (*records, *others))
    counted += others
    for record in sorted(counted, key=_in_time):
        if record.kind == "line_voltage":
            record.volts = limits.volts(record.data)
        taken.every.append(record)
        taken.by_kind.setdefault(record.kind, []).append(record)
        if record.doubted:
            taken.doubts.setdefault(record.subject, []).append(record)
    taken.removed.sort(key=lambda c: (c.removed.id, c.by_record.id))
    taken.refused.sort(key=lambda r: (r.record.id, r.wanted))
    return taken


def _in_words(observations: Sequence[AnyObservation], limits: Limits, taken: Intake) -> Sequence[AnyObservation]:
    """In the words of today, where the service kept one in those of earlier versions."""
    if not any(map(is_kept, observations)):
        return observations
    listed = [in_listed_words(o, limits.compressors) if is_kept(o) else o for o in observations]
    taken.reworded += [now.id for was, now in zip(observations, listed, strict=True) if now is not was]
    return listed


def _foreign(shared: Iterable[AnyObservation], now: int) -> list[Record]:
    """Records of other starts, each id once: the same may come by several ways."""
    found: dict[str, Record] = {}
    for observation in shared:
        record = record_of(observation, now, _NONE_COMPARED)
        record.proves, record.foreign, record.boot, record.lone = False, True, None, False
        before = found.get(record.id)
        if before is None or record.latest > before.latest:
            found[record.id] = record
    return list(found.values())


_NONE_COMPARED: Final[frozenset[Boot]] = frozenset()


def _one_story_each(observations: Iterable[AnyObservation], now: int, taken: Intake) -> list[Record]:
    once: dict[str, AnyObservation] = {}
    repeated: dict[str, list[AnyObservation]] = {}
    for observation in observations:
        known = once.setdefault(observation.id, observation)
        if known is not observation:
            repeated.setdefault(observation.id, [known]).append(observation)
    compared = _compared(observations)
    records = [record_of(o, now, compared) for o in once.values() if o.id not in repeated]
    for id_, group in repeated.items():
        contents = [record_of(o, now, compared) for o in _contents(group)]
        if len(contents) > 1:
            taken.conflicting.append(id_)
            for record in contents:
                record.proves, record.doubted = False, True
        records += contents
    widen_where_the_clock_was_set(records, now)
    taken.overtaken = sorted(distrust_stamps_against_their_order(records))
    taken.conflicting.sort()
    return records


def _contents(group: list[AnyObservation]) -> list[AnyObservation]:
    """The different contents of one id; when it was received is no content, and the first time counts."""
    by_text: dict[bytes, AnyObservation] = {}
    for observation in group:
        bare = msgspec.structs.replace(observation, at=show(instant(observation.at)), received_at=UNSET, sent_at=UNSET)
        text = _canonical.encode(bare)
        known = by_text.get(text)
        if known is None or _received(observation) < _received(known):
            by_text[text] = observation
    return [observation for _, observation in sorted(by_text.items())]


def _received(observation: AnyObservation) -> tuple[int, str]:
    if observation.received_at is UNSET:
        return (1, "")
    sent = "" if observation.sent_at is UNSET else observation.sent_at
    return (0, f"{instant(observation.received_at):020d}{sent}")


def _compared(observations: Iterable[AnyObservation]) -> frozenset[Boot]:
    """Boots whose clock was compared with the service's."""
    return frozenset(
        (o.device, o.boot)
        for o in observations
        if o.sent_at is not UNSET and o.received_at is not UNSET and o.device is not UNSET and o.boot is not UNSET
    )


def _corrected(records: list[Record], limits: Limits, taken: Intake) -> set[Record]:
    """The records that others rightly take back or replace; each with the doubt that it leaves behind."""
    aims = _aims(records, limits, taken)
    for record in _in_rings(aims):
        taken.refused.append(Refusal(record, str(record.supersedes), "they replace each other in a ring"))
        aims[record] = []
    undone = _undone_withdrawals(aims)
    _restore(aims)
    gone: set[Record] = set()
    for record, named in sorted(aims.items(), key=lambda pair: pair[0].id):
        for removed in () if record in undone else named:
            if removed not in gone:
                gone.add(removed)
                kind: CorrectionKind = "withdrawn" if record.kind == "withdrawn" else "supersedes"
                taken.removed.append(Correction(removed, record, kind))
            if record.kind == "withdrawn" and removed.kind not in EVENTS and removed.kind != "withdrawn":
                shadow = _shadow(removed, record)
                taken.doubts.setdefault(shadow.subject, []).append(shadow)
    return gone


def _aims(records: list[Record], limits: Limits, taken: Intake) -> dict[Record, list[Record]]:
    """What each record may take the place of; what it may not is disputed where another hand wanted it."""
    wanted = {record.supersedes for record in records if record.supersedes is not UNSET}
    by_id: dict[str, list[Record]] = {}
    for record in records:
        if record.id in wanted:
            by_id.setdefault(record.id, []).append(record)
    aims: dict[Record, list[Record]] = {}
    disputed: list[Record] = []
    for record in records:
        if record.supersedes is UNSET:
            continue
        named = by_id.get(record.supersedes, [])
        reasons = sorted({why for n in named if (why := _why_not(record, n, limits))})
        if not named:
            reasons = ["there is no record of that id"]
        if reasons:
            taken.refused.append(Refusal(record, record.supersedes, "; ".join(reasons)))
            disputed += [n for n in named if record.proves and _why_not(record, n, limits) in (OTHER_HAND, TOO_LATE)]
        aims[record] = [] if reasons else named
    for record in disputed:  # it goes on speaking against a start, and proves nothing any more
        record.proves, record.doubted = False, True
    return aims


def _restore(aims: dict[Record, list[Record]]) -> None:
    """A record whose withdrawal another hand took back speaks against a start again, and proves nothing."""
    for record, named in aims.items():
        for n in named:
            if n.kind == "withdrawn" and not (after(record, n) and _may_act_for(record, n)):
                for restored in aims.get(n, ()):
                    restored.proves, restored.doubted = False, True


def _shadow(removed: Record, record: Record) -> Record:
    """The doubt that a withdrawal leaves: about what was taken back, from when it was until that had arrived.

    Who saw it before, and did not know of it, did not look again; the phone that took it back did where it counts so.
    """
    shadow = removed.moved_to(record.earliest, max(record.latest, record.arrived))
    shadow.boot, shadow.sequence, shadow.lone = record.boot, record.sequence, record.lone
    shadow.proves, shadow.doubted = False, True
    return shadow


def _undone_withdrawals(aims: dict[Record, list[Record]]) -> set[Record]:
    """Withdrawals that were themselves taken back, by one that stands; what they had taken back is there again."""
    back: dict[Record, list[Record]] = {}
    for record, named in aims.items():
        for n in named:
            if record.kind == n.kind == "withdrawn":
                back.setdefault(n, []).append(record)
    undone: set[Record] = set()
    settled: set[Record] = set()
    stack = sorted(back, key=lambda r: r.id)
    while stack:
        record = stack[-1]
        unsettled = [r for r in back.get(record, ()) if r not in settled]
        if unsettled:
            stack += unsettled
            continue
        stack.pop()
        if record not in settled:
            settled.add(record)
            if any(r not in undone for r in back.get(record, ())):
                undone.add(record)
    return undone


def _why_not(record: Record, named: Record, limits: Limits) -> str:
    """Why a record may not take another's place; empty where it may."""
    if not record.proves:
        return "its own time or content is in doubt"
    if record is named:
        return "it names itself"
    if record.kind == named.kind == "lock" and record.data.lock_id == named.data.lock_id and record.by != named.by:
        return OTHER_HAND
    if record.kind != "withdrawn" and record.subject != named.subject:
        return "it is about something else"
    if not may_speak_against(named.kind, named.data, limits):
        return ""
    if not _may_act_for(record, named):
        return OTHER_HAND
    if record.by and record.role in _RANK:
        return ""
    if named.kind in EVENTS and record.latest - named.earliest > TAKEN_BACK_WITHIN:
        return TOO_LATE
    return ""


def _may_act_for(record: Record, named: Record) -> bool:
    """The same person, or a supervisor with a name."""
    return bool(record.by) and (record.by == named.by or record.role in _RANK)


def _in_rings(aims: dict[Record, list[Record]]) -> set[Record]:
    """Records that correct each other in a ring (or lie between two rings).

    What nobody names cannot be on a ring, nor can what names nobody: both are peeled off until nothing peels.
    """
    forward = {r: {n for n in named if n in aims} for r, named in aims.items()}
    core = _without_loose_ends(forward)
    return set(_without_loose_ends(_reversed(core)))


def _reversed(edges: dict[Record, set[Record]]) -> dict[Record, set[Record]]:
    back: dict[Record, set[Record]] = {r: set() for r in edges}
    for record, named in edges.items():
        for n in named:
            back[n].add(record)
    return back


def _without_loose_ends(edges: dict[Record, set[Record]]) -> dict[Record, set[Record]]:
    """The graph without every node that nothing leads to, again and again."""
    arriving = {r: len(sources) for r, sources in _reversed(edges).items()}
    loose = [r for r, count in arriving.items() if count == 0]
    while loose:
        for n in edges[loose.pop()]:
            arriving[n] -= 1
            if arriving[n] == 0:
                loose.append(n)
    kept = {r for r, count in arriving.items() if count > 0}
    return {r: edges[r] & kept for r in kept}
