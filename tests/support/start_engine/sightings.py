"""What was seen, each thing somewhere between two instants: [t - u, t + u], and never after it was received.

A sighting that `proves` may speak for a start. One that does not (wholly after its bound, one of two contents under one id,
replaced by somebody who may not take it back) still speaks against it.
"""

import json
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from typing import Any

from .units import microseconds

EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
TEN_MINUTES = 600_000_000

SUBJECTS = {
    "lock": ("lock_id",),  # and who
    "valve_position": ("valve", "label"),
    "hose_connection": ("end",),
    "purge": ("point", "label"),
    "alarm": ("code",),
    "pump_state": ("pump",),
    "compressor": ("id",),
    "oil_heater": ("compressor",),
    "machine_check": ("item", "label"),
    "line_connection": ("end", "set"),
}
MISTAKABLE_EVENTS = {"loop_opened", "drain", "fill", "antifreeze_charge", "moved", "leads_swapped", "line_connection"}


def instant(stamp: str) -> int:
    """Microseconds since 1970 in UTC."""
    return (datetime.fromisoformat(stamp.upper().replace("Z", "+00:00")) - EPOCH) // timedelta(microseconds=1)


@dataclass(frozen=True)
class Sighting:
    """One record, with the instants between which it lies, both included."""

    id: str
    kind: str
    data: Mapping[str, Any] = field(hash=False)
    lo: int
    hi: int
    proves: bool = True
    by: str = ""
    role: str = ""
    boot: tuple[str, str] | None = None
    sequence: int | None = None
    uptime: int | None = None
    received: int | None = None
    taken_back: "Sighting | None" = None
    clock_unproven: bool = False
    twofold: bool = False
    contradicted: bool = False

    @property
    def stands(self) -> bool:
        """Whether it may speak for a start now: it proves what was so then, and no twofold record may have come since."""
        return self.proves and not self.contradicted

    @property
    def subject(self) -> tuple[str, ...]:
        """What it is about, beside its kind."""
        usual = {"set": 1}
        return tuple(str(self.data.get(name, usual.get(name, ""))) for name in SUBJECTS.get(self.kind, ()))


def after(later: Sighting, earlier: Sighting) -> bool:
    """Whether it surely came after; equal instants are not after. One device in one boot counts its records itself."""
    if earlier.taken_back is not None:
        return _received_after(later, earlier.taken_back)
    if (
        later.boot is not None
        and later.boot == earlier.boot
        and later.sequence is not None
        and earlier.sequence is not None
    ):
        return later.sequence > earlier.sequence
    return later.lo > earlier.hi and not later.clock_unproven


def _received_after(later: Sighting, earlier: Sighting) -> bool:
    if later.received is not None and earlier.received is not None:
        return later.received > earlier.received
    return later.lo > earlier.hi


def least_between(earlier: Sighting, later: Sighting) -> int:
    """Shortest time that can lie between the two, below 0 where their order is open."""
    if (
        later.boot is not None
        and later.boot == earlier.boot
        and later.uptime is not None
        and earlier.uptime is not None
    ):
        return later.uptime - earlier.uptime
    return later.lo - earlier.hi


def most_between(earlier: Sighting, later: Sighting) -> int:
    """Longest time that can lie between the two."""
    if (
        later.boot is not None
        and later.boot == earlier.boot
        and later.uptime is not None
        and earlier.uptime is not None
    ):
        return later.uptime - earlier.uptime
    return later.hi - earlier.lo


def _content(record: Mapping[str, Any]) -> str:
    said = {k: v for k, v in record.items() if k not in ("received_at", "sent_at")}
    return json.dumps(said, sort_keys=True)


def _boot(record: Mapping[str, Any]) -> tuple[str, str] | None:
    return (str(record["device"]), str(record["boot"])) if "device" in record and "boot" in record else None


def _compared(records: Iterable[Mapping[str, Any]]) -> set[tuple[str, str]]:
    """Devices and boots whose clock was held against the service's at least once."""
    both = (_boot(r) for r in records if "sent_at" in r and "received_at" in r)
    return {boot for boot in both if boot is not None}


def _span(record: Mapping[str, Any], received: int | None) -> tuple[int, int]:
    """[t - u, t + u]; without either declared, wide enough for what the batch shows of the device's clock."""
    offset = microseconds(record["clock_offset"]) if "clock_offset" in record else 0
    uncertain = microseconds(record["time_uncertainty"]) if "time_uncertainty" in record else 0
    true = instant(record["at"]) - offset
    if not offset and not uncertain and received is not None and "sent_at" in record:
        shifted = true - (instant(record["sent_at"]) - received)
        return min(true, shifted), max(true, shifted)
    return true - uncertain, true + uncertain


def _declares(record: Mapping[str, Any]) -> bool:
    return any(name in record and microseconds(record[name]) for name in ("clock_offset", "time_uncertainty"))


def _sighting(record: Mapping[str, Any], evaluated: int, compared: set[tuple[str, str]], *, proves: bool) -> Sighting:
    received = instant(record["received_at"]) if "received_at" in record else None
    bound = evaluated if received is None else min(received, evaluated)
    lo, hi = _span(record, received)
    boot = _boot(record)
    unproven = boot is not None and boot not in compared
    return Sighting(
        id=record["id"],
        kind=record["kind"],
        data=record["data"],
        lo=min(lo, bound),
        hi=bound if unproven else min(hi, bound),
        proves=proves and lo <= bound,
        twofold=not proves,
        by=record.get("by", ""),
        role=record.get("role", ""),
        boot=boot,
        sequence=record.get("sequence"),
        uptime=microseconds(record["uptime"]) if "uptime" in record else None,
        received=received,
        clock_unproven=unproven and not _declares(record),
    )


def _once_each(records: Iterable[Mapping[str, Any]]) -> Iterator[tuple[Mapping[str, Any], bool]]:
    """Each content once, with the first time of its arrival; whether its id has one content only."""
    kept: dict[str, dict[str, Mapping[str, Any]]] = {}
    for record in records:
        contents = kept.setdefault(record["id"], {})
        said = _content(record)
        if said not in contents or record.get("received_at", "") < contents[said].get("received_at", ""):
            contents[said] = record
    for contents in kept.values():
        for record in contents.values():
            yield record, len(contents) == 1


def _may(remover: Sighting, named: Sighting) -> bool:
    """Nobody erases what another saw; a lock is its owner's alone."""
    same = bool(named.by) and named.by == remover.by
    if named.kind == "lock" and named.data["state"] == "applied":
        return same
    return same or remover.role == "supervisor"


def _mistake_in_time(remover: Sighting, named: Sighting) -> bool:
    return remover.role == "supervisor" or most_between(named, remover) <= TEN_MINUTES


def _corrections(seen: list[tuple[Sighting, str]]) -> dict[str, list[Sighting]]:
    """Who names whom: by the same kind and subject, or a withdrawal; one that does not prove corrects nothing; no rings."""
    by_id: dict[str, list[Sighting]] = {}
    for sighting, _ in seen:
        by_id.setdefault(sighting.id, []).append(sighting)
    names: dict[str, str] = {}
    removers: dict[str, list[Sighting]] = {}
    for sighting, target in seen:
        if not target or not sighting.proves or target not in by_id or target == sighting.id:
            continue
        fits = all((sighting.kind, sighting.subject) == (n.kind, n.subject) for n in by_id[target])
        if fits or sighting.kind == "withdrawn":
            names[sighting.id] = target
            removers.setdefault(target, []).append(sighting)
    ringed = {start for start in names if _leads_back(start, names)}
    return {target: kept for target, found in removers.items() if (kept := [r for r in found if r.id not in ringed])}


def _leads_back(start: str, names: Mapping[str, str]) -> bool:
    here = names.get(start)
    passed: set[str] = set()
    while here is not None and here not in passed:
        if here == start:
            return True
        passed.add(here)
        here = names.get(here)
    return False


def _corrected(named: Sighting, remover: Sighting) -> Sighting | None:
    """What is left of a record that another takes back or replaces; None where nothing is."""
    if not _may(remover, named):
        return replace(named, proves=False)
    if remover.kind != "withdrawn":
        return None
    if named.kind in MISTAKABLE_EVENTS:
        return None if _mistake_in_time(remover, named) else replace(named, proves=False)
    return replace(named, proves=False, taken_back=remover)


def sightings(records: Iterable[Mapping[str, Any]], evaluated_at: str) -> list[Sighting]:
    """The records of a request, those taken back treated as such. Their order is of no account."""
    records = list(records)
    evaluated, compared = instant(evaluated_at), _compared(records)
    seen = [
        (_sighting(record, evaluated, compared, proves=alone), str(record.get("supersedes", "")))
        for record, alone in _once_each(records)
    ]
    seen = [(_by_its_own_count(s, [o for o, _ in seen], evaluated), target) for s, target in seen]
    removers = _corrections(seen)
    left: list[Sighting] = []
    for sighting, _ in seen:
        results = [_corrected(sighting, remover) for remover in removers.get(sighting.id, [])]
        if not results:
            left.append(sighting)
        elif None not in results:
            left.append(next((r for r in results if r and r.taken_back), results[0] or sighting))
    twice = [s for s, _ in seen if s.twofold]
    return [replace(s, contradicted=True) if _contradicted(s, twice) else s for s in left]


def _by_its_own_count(s: Sighting, others: list[Sighting], evaluated: int) -> Sighting:
    """A clock that was set back shows where stamps go against the count of their device: how fresh the one before is nobody
    knows, nor how late the one after. What tells its uptime is spaced by that.
    """
    mine = [o for o in others if s.boot is not None and o.boot == s.boot and (o.uptime is None or s.uptime is None)]
    counted = [(o, (o.sequence or 0) - (s.sequence or 0)) for o in mine]
    if any(more > 0 and o.hi < s.lo for o, more in counted):
        s = replace(s, proves=False)
    if any(more < 0 and s.hi < o.lo for o, more in counted):
        s = replace(s, hi=evaluated if s.received is None else min(s.received, evaluated), clock_unproven=True)
    return s


def _contradicted(s: Sighting, twice: list[Sighting]) -> bool:
    """Whether one of two contents under one id, of the same kind and subject, may be later: each counts against."""
    return any((c.kind, c.subject) == (s.kind, s.subject) and not after(s, c) for c in twice)
