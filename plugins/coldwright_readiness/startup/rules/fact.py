"""What a rule needs, and how it stands: good records against what speaks against them.

Order of judging: failed, missing, undone, contradicted, stale, established. What is failed never becomes stale: age takes
away good news only.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from typing import Final, Literal

from msgspec import Struct

from coldwright_basis.once import once
from coldwright_readiness.startup.evidence.known import Against
from coldwright_readiness.startup.evidence.record import Record
from coldwright_readiness.startup.limits import RULES

Status = Literal["established", "missing", "invalidated", "stale", "failed", "contradicted", "waiting"]
WORST_FIRST: Final = ("failed", "missing", "invalidated", "contradicted", "stale", "waiting", "established")
_PLACE: Final = {status: place for place, status in enumerate(WORST_FIRST)}
EVENT_OF_KIND: Final = {
    "control_switch": "V2", "leads_swapped": "V3", "line_connection": "V3", "ground": "V3", "loop_opened": "V4",
    "drain": "V4", "fill": "V5", "antifreeze_charge": "V7", "valve_position": "V6", "pump_state": "V8",
    "loop_pressure": "V8", "purge": "V8", "moved": "V10", "lock": "V1",
}  # fmt: skip


def event_of(record: Record) -> str:
    """The reset event, `V1` to `V10`, that a record is when it undoes something."""
    return EVENT_OF_KIND.get(record.kind, "V1")


class Need(Struct, eq=False):
    """One thing that a fact stands on."""

    subject: str
    """In words: which valve, which end, whose lock."""
    goods: Sequence[Record]
    failing: Sequence[Record] = ()
    undoing: Sequence[Record] = ()
    doubts: Sequence[Record] = ()
    admit: Callable[[Record], bool] | None = None
    """A further condition on good records; one that fails it was undone."""
    undone_by: Record | None = None
    """What undid those that `admit` leaves out."""
    fresh: int = 0
    detail: str = ""
    """What is wrong with it, for a bracket."""
    fault: str = ""
    """The same as a sentence of its own, where its subject and `detail` do not make one."""
    due: str = ""
    """What is to be done where `admit` leaves everything out and nothing undid it; `{}` stands for the subject."""


class Standing(Struct, eq=False):
    """How one need stands."""

    need: Need
    status: Status
    by: tuple[Record, ...] = ()
    undone: Record | None = None
    expires: int | None = None

    @property
    def established(self) -> bool:
        """Whether it is met."""
        return self.status == "established"


def standing(need: Need, now: int) -> Standing:
    """How a need stands at an instant."""
    goods = unfailed = [r for r in need.goods if r.proves]
    if need.failing:
        failing = Against(need.failing)
        unfailed = [r for r in goods if failing.all_before(r)]
        if not unfailed:
            last = failing.last
            return Standing(need, "failed", () if last is None else (last,))
    if not goods:
        outdated = [r for r in need.goods if r.outdated]
        return Standing(need, "invalidated", (_latest(outdated),)) if outdated else Standing(need, "missing")
    kept = unfailed
    if need.undoing:
        undoing = Against(need.undoing)
        kept = [r for r in unfailed if undoing.all_before(r)]
        if not kept:
            return Standing(need, "invalidated", (_latest(unfailed),), undoing.last)
    if need.admit is not None:
        admitted = [r for r in kept if need.admit(r)]
        if not admitted:
            return Standing(need, "invalidated", (_latest(kept),), need.undone_by)
        kept = admitted
    sure = kept
    if need.doubts:
        doubts = Against(need.doubts)
        sure = [r for r in kept if doubts.all_before(r)]
        if not sure:
            return Standing(need, "contradicted", (_latest(kept),), doubts.last)
    freshest = _latest(sure)
    if need.fresh and now - freshest.earliest > need.fresh:
        return Standing(need, "stale", (freshest,), expires=freshest.earliest + need.fresh)
    return Standing(need, "established", (freshest,), expires=freshest.earliest + need.fresh if need.fresh else None)


def _latest(records: list[Record]) -> Record:
    """The one that is surely as late as any; of equals the one with the smallest id."""
    return records[0] if len(records) == 1 else min(records, key=lambda r: (-r.earliest, r.id))


@dataclass
class Fact:
    """One fact as it stands."""

    rule: str
    standings: Sequence[Standing] = ()
    forced: Status | None = None
    """Where the status does not come from needs."""
    records: tuple[Record, ...] = ()
    reason: str = ""
    until: int | None = None
    """When time alone will have established it."""

    status: Status = field(init=False)
    """The worst of what it stands on."""

    def __post_init__(self) -> None:
        if self.forced is not None:
            self.status = self.forced
        else:
            self.status = min([s.status for s in self.standings], key=_PLACE.__getitem__, default="established")

    @property
    def name(self) -> str:
        """The word of the fact."""
        return str(RULES[self.rule]["fact"])

    @property
    def established(self) -> bool:
        """Whether it holds."""
        return self.status == "established"

    @once
    def open(self) -> list[Standing]:
        """What is not met, the worst first."""
        return sorted((s for s in self.standings if not s.established), key=lambda s: _PLACE[s.status])

    @property
    def worst(self) -> Standing | None:
        """The first of what is not met."""
        return next(iter(self.open), None)

    @once
    def by(self) -> tuple[Record, ...]:
        """The records that decide it."""
        if self.records or self.forced is not None:
            return self.records
        status = self.status
        if status == "established":
            return tuple(r for s in self.standings for r in s.by)
        return tuple(r for s in self.open if s.status == status for r in s.by)

    @once
    def ids(self) -> tuple[str, ...]:
        """Ids of the deciding records, sorted."""
        return tuple(sorted({r.id for r in self.by}))

    @property
    def undone(self) -> Record | None:
        """What undid it, while it is undone."""
        if self.status != "invalidated":
            return None
        found = [s.undone for s in self.standings if s.undone is not None and s.status == "invalidated"]
        return max(found, key=lambda r: (r.latest, r.id), default=None)

    @once
    def expires(self) -> int | None:
        """When it gets too old; none where it does not age or is not established."""
        found = [s.expires for s in self.standings if s.expires is not None]
        return min(found) if found and self.established else None

    @property
    def expired(self) -> int | None:
        """When the first of it got too old; none where nothing did."""
        return min((s.expires for s in self.standings if s.status == "stale" and s.expires is not None), default=None)


def judged(rule: str, needs: Iterable[Need], now: int) -> Fact:
    """A fact that stands on all of these needs."""
    return Fact(rule, [standing(need, now) for need in needs])
