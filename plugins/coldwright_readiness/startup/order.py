"""Observations in one canonical order, whatever order they arrived in.

Duplicates fall together, contradictions under one id lose what speaks for a start, observations from the future are
dropped unless they protect a person, corrections are applied. Then each observation stands at one instant: the
favourable at its earliest, the adverse at its latest, so that where the order cannot be known the bad event counts
as the later one.
"""

from collections.abc import Callable, Iterable
from copy import copy
from typing import Any, Final

import msgspec
from msgspec import UNSET, UnsetType

from coldwright_readiness.shared.instants import instant, show, span
from coldwright_readiness.startup.limits import FUTURE_ALLOWED, Limits
from coldwright_readiness.startup.observation_data import PumpStateData
from coldwright_readiness.startup.observations import AnyObservation, kind_of

Key = tuple[int, int, str, str, int]
Subject = tuple[Any, ...]
FAVOURABLE, GAP_BEGINS, GAP_ENDS, ADVERSE = range(4)
"""Rank at one instant: favourable first, adverse last; a gap of no length begins and ends between them."""

_canonical = msgspec.json.Encoder(order="sorted")
_SUBJECT: Final[dict[str, Callable[[Any], Subject]]] = {
    "lock": lambda d: (d.lock_id,),
    "valve_position": lambda d: (d.valve,),
    "hose_connection": lambda d: (d.end,),
    "purge": lambda d: (d.point,),
    "alarm": lambda d: (d.code,),
    "pump_state": lambda d: (d.pump,),
    "compressor": lambda d: (d.id,),
    "line_connection": lambda d: (d.end, d.set),
    "oil_heater": lambda d: (d.compressor,),
    "machine_check": lambda d: (d.item,),
}


class Record:
    """An observation at its place: `at` and `uncertainty` in nanoseconds, `effective` the instant it counts from."""

    __slots__ = (
        "adverse", "any_pump_on", "at", "by", "cause", "compressor_on", "data", "effective", "id", "index", "json", "kind",
        "locked_by", "part", "pump_on", "rank", "role", "source_on", "subject", "supersedes", "uncertainty", "warm_since",
    )  # fmt: skip

    def __init__(self, observation: AnyObservation, kind: str, limits: Limits) -> None:
        self.id = observation.id
        self.kind = kind
        self.data: Any = observation.data
        self.by: str | UnsetType = observation.by
        self.role: str | UnsetType = observation.role
        self.supersedes: str | UnsetType = observation.supersedes
        self.at = instant(observation.at) - span(observation.clock_offset)
        self.uncertainty = span(observation.time_uncertainty)
        subject = _SUBJECT.get(kind)
        self.subject: tuple[str, Subject] = (kind, subject(self.data) if subject else ())
        self.adverse = is_adverse(kind, self.data, limits)
        self.json = ""
        self.part = 0
        self.index = 0
        self.cause: Record | None = None
        """What made an inserted record."""
        self.warm_since: int | None = None
        """This and the next ones are filled in by the walk: how things stood just before this record."""
        self.pump_on = self.any_pump_on = self.compressor_on = self.source_on = False
        self.locked_by: Record | None = None
        self.place()

    def place(self) -> None:
        """Put it at its latest instant if adverse, at its earliest if favourable."""
        self.effective = self.latest if self.adverse else self.earliest
        self.rank = ADVERSE if self.adverse else FAVOURABLE

    @property
    def earliest(self) -> int:
        """Earliest instant at which it can have been."""
        return self.at - self.uncertainty

    @property
    def latest(self) -> int:
        """Latest instant at which it can have been."""
        return self.at + self.uncertainty

    @property
    def key(self) -> Key:
        """Place in the canonical order."""
        return (self.effective, self.rank, self.id if self.cause is None else self.cause.id, self.json, self.part)

    def twin(self) -> "Record":
        """A copy, to be changed."""
        return copy(self)

    def pump_off(self, pump: str, effective: int) -> "Record":
        """The record, made here, that this one put a pump off."""
        off = self.twin()
        off.id, off.kind, off.cause = f"{self.id}#pump", "pump_state", self
        off.data = PumpStateData(pump="machine" if pump == "machine" else "site", state="off")
        off.subject = ("pump_state", (pump,))
        off.effective, off.rank, off.adverse, off.part = effective, ADVERSE, True, self.part + 1
        return off


_ALWAYS: Final = frozenset(
    {"leads_swapped", "loop_opened", "drain", "fill", "antifreeze_charge", "line_connection", "moved"}
)
_ADVERSE: Final[dict[str, Callable[[Any, Limits], bool]]] = {
    "supply": lambda d, _: d.state != "on",
    "control_switch": lambda d, _: d.state == "off",
    "isolator": lambda d, _: d.state == "open",
    "lock": lambda d, _: d.state == "applied",
    "pump_state": lambda d, _: d.state != "on",
    "flow_switch": lambda d, _: d.state == "not_made",
    "alarm": lambda d, _: d.state == "active",
    "ground": lambda d, _: not d.connected,
    "hose_connection": lambda d, _: not hose_good(d),
    "area_clear": lambda d, _: not d.clear,
    "phase_indicator": lambda d, _: d.rotation != "correct",
    "purge": lambda d, _: d.result != "steady_water",
    "leak_check": lambda d, _: d.result != "dry",
    "line_voltage": lambda d, limits: not limits.not_low(d),
    "valve_position": lambda d, limits: limits.valves.get(d.valve, d.position) != d.position,
    "loop_pressure": lambda d, limits: d.pump == "off" and not limits.fill_pressure_good(d.value.si),
    "evaporator_pressure_drop": lambda d, limits: not limits.drop_good(d.value.si),
    "strainer": lambda d, _: not d.blown_down,
    "unit_level": lambda d, _: not d.ok,
    "proved_dead": lambda d, _: not proof_good(d),
    "earth_continuity": lambda d, limits: not limits.ground_path_good(d),
    "insulation_test": lambda d, limits: not limits.insulation_good(d),
    "cable_route": lambda d, _: not route_good(d),
    "transfer_interlock": lambda d, _: not d.ok,
    "oil_heater": lambda d, _: not d.working,
    "machine_check": lambda d, _: not d.ok,
}


def hose_good(d: Any) -> bool:
    """All five points of a coupling."""
    return bool(d.connected and d.lever_locked and d.gasket_seen and d.direction_ok and d.strain_free)


def proof_good(d: Any) -> bool:
    """Dead, with the tester tried before and after, and a try-start if one was made."""
    return bool(d.dead and d.tester_proved_before and d.tester_proved_after and d.tried is not False)


def route_good(d: Any) -> bool:
    """All four points of a cable's route."""
    return bool(d.ramps_fitted and d.off_water and d.strain_relieved and d.surplus_uncoiled)


def is_adverse(kind: str, data: Any, limits: Limits) -> bool:
    """Whether an observation speaks against a start, or undoes what was done."""
    judge = _ADVERSE.get(kind)
    return kind in _ALWAYS or (judge is not None and judge(data, limits))


class Ordered:
    """The usable records in canonical order, and what was dropped on the way."""

    def __init__(self) -> None:
        self.records: list[Record] = []
        self.kinds: frozenset[str] = frozenset()
        """Kinds that were observed at all, dropped ones too."""
        self.doubtful: dict[tuple[str, Subject], Key] = {}
        """Kind and subject -> place before which a record cannot be trusted, since its successors contradict."""
        self.conflicting: list[str] = []
        self.future: list[str] = []
        self.wrong_corrections: list[tuple[str, str]] = []


def canonical_order(observations: Iterable[AnyObservation], limits: Limits, evaluated_at: int) -> Ordered:
    """Apply the rules in their order: one story for an id, nothing from the future, corrections, sorting."""
    ordered = Ordered()
    groups = _by_id(observations, limits)
    ordered.kinds = frozenset(r.kind for group in groups.values() for r in group)
    records = [group[0] for group in groups.values() if len(group) == 1]
    for id_, group in groups.items():
        if len(group) > 1:
            ordered.conflicting.append(id_)
            records += [r for r in group if r.adverse]
            for dropped in (r for r in group if not r.adverse):
                _doubt(dropped, ordered, evaluated_at)
    records = [r for r in records if _known_by(r, evaluated_at, ordered)]
    records = _corrected(records, ordered)
    ordered.records = sorted((half for r in records for half in _halves(r)), key=lambda r: r.key)
    ordered.future = sorted(set(ordered.future))
    ordered.conflicting.sort()
    ordered.wrong_corrections.sort()
    return ordered


def _by_id(observations: Iterable[AnyObservation], limits: Limits) -> dict[str, list[Record]]:
    """Records by id; what is the same in every field, and at the same instant, is one record."""
    by_id: dict[str, dict[AnyObservation, None]] = {}
    for observation in observations:
        by_id.setdefault(observation.id, {})[observation] = None
    return {id_: _contents(list(known), limits) for id_, known in by_id.items()}


def _contents(known: list[AnyObservation], limits: Limits) -> list[Record]:
    """Records of one id; only where there are several does their text matter, to tell and to order them."""
    records = [Record(observation, kind_of(observation), limits) for observation in known]
    if len(records) == 1:
        return records
    by_text: dict[str, Record] = {}
    for observation, record in zip(known, records, strict=True):
        same_clock = msgspec.structs.replace(observation, at=show(instant(observation.at)))
        record.json = _canonical.encode(same_clock).decode()
        by_text[record.json] = record
    return [record for _, record in sorted(by_text.items())] if len(by_text) > 1 else [records[0]]


def _doubt(dropped: Record, ordered: Ordered, evaluated_at: int) -> None:
    if dropped.earliest > evaluated_at + FUTURE_ALLOWED:
        return
    place = (dropped.latest, ADVERSE, dropped.id, dropped.json, 0)
    ordered.doubtful[dropped.subject] = max(place, ordered.doubtful.get(dropped.subject, place))


def _known_by(record: Record, evaluated_at: int, ordered: Ordered) -> bool:
    """Whether it can have been known; what protects a person counts as of now, since a clock may be fast."""
    if record.earliest <= evaluated_at + FUTURE_ALLOWED:
        return True
    ordered.future.append(record.id)
    if record.adverse and record.kind in ("lock", "area_clear"):
        record.at, record.uncertainty = evaluated_at, 0
        record.place()
        return True
    return False


def _corrected(records: list[Record], ordered: Ordered) -> list[Record]:
    """Without the records that others rightly correct."""
    by_id: dict[str, list[Record]] = {}
    for record in records:
        by_id.setdefault(record.id, []).append(record)
    aims: dict[Record, list[Record]] = {}
    for record in records:
        if record.supersedes is not UNSET:
            named = by_id.get(record.supersedes, [])
            aims[record] = [n for n in named if _may_correct(record, n)]
            if len(aims[record]) < len(named):
                ordered.wrong_corrections.append((record.id, record.supersedes))
    gone: set[Record] = set()
    for record in _in_rings(aims):
        ordered.wrong_corrections.append((record.id, str(record.supersedes)))
        aims[record] = []
    for named in aims.values():
        gone.update(named)
    ordered.wrong_corrections = list(set(ordered.wrong_corrections))
    return [r for r in records if r not in gone]


def _may_correct(record: Record, named: Record) -> bool:
    if record.subject != named.subject:
        return False
    if named.kind == "lock" and named.adverse:
        return record.by is not UNSET and record.by == named.by
    return True


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


def _halves(record: Record) -> list[Record]:
    """An interruption is two records: off, and on again when its time is over."""
    if record.kind != "supply" or record.data.state != "interrupted":
        return [record]
    gap = span(record.data.duration)
    back = record.twin()
    back.at, back.effective, back.part, back.adverse = record.at + gap, record.latest + gap, 1, False
    back.rank = FAVOURABLE if gap else GAP_ENDS
    record.rank = ADVERSE if gap else GAP_BEGINS
    return [record, back]
