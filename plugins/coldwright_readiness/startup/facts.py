"""Facts of a start: what must be established, and how a fact is judged from its records."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from typing import Final, Literal

from coldwright_readiness.shared.instants import in_words
from coldwright_readiness.startup.limits import RULES, Limits, fresh_for
from coldwright_readiness.startup.order import Record
from coldwright_readiness.startup.timeline import Loss, Timeline

Status = Literal["established", "missing", "invalidated", "stale", "failed", "contradicted", "waiting"]
CONNECTION_KINDS: Final = frozenset(
    {
        "proved_dead", "line_connection", "earth_continuity", "insulation_test", "cable_route", "transfer_interlock",
        "oil_heater", "machine_check", "moved",
    }
)  # fmt: skip
"""Kinds that ask for more than a plain start does, once one of them was observed."""


@dataclass
class Fact:
    """One fact as it stands."""

    rule: str
    status: Status
    records: list[Record] = field(default_factory=list)
    """What decides it."""
    undone: Loss | None = None
    """What undid it, with the reset event; only while `invalidated`."""
    detail: str = ""
    """The numbers, in words."""
    reason: str = ""
    clear_by: str = ""
    """Step that puts it right, where it is another than the table's."""
    do: str = ""
    """What to do, where it is other than the table's."""
    why: str = ""
    """Why it matters, where it is other than the table's."""
    cleared_by: str = ""
    """Who may clear it, where it is another than the table's."""

    @property
    def name(self) -> str:
        """The word of the fact."""
        return str(RULES[self.rule]["fact"])

    @property
    def established(self) -> bool:
        """Whether it holds."""
        return self.status == "established"

    @property
    def step(self) -> str:
        """Step of the procedure that puts it right."""
        return self.clear_by or str(RULES[self.rule]["clear_by"])

    @property
    def resolve(self) -> str:
        """What to do about it."""
        return self.do or str(RULES[self.rule]["resolve"])

    @property
    def matters(self) -> str:
        """Why it matters."""
        return self.why or str(RULES[self.rule]["why"])

    @property
    def hands(self) -> str:
        """Who may clear it."""
        return self.cleared_by or str(RULES[self.rule]["cleared_by"])

    @property
    def ids(self) -> tuple[str, ...]:
        """Ids of the deciding records, sorted."""
        return tuple(sorted({origin(r).id for r in self.records}))


def origin(record: Record) -> Record:
    """The observation behind a record that was inserted."""
    return record if record.cause is None else origin(record.cause)


class Evidence:
    """The timeline as the facts ask it."""

    def __init__(self, timeline: Timeline) -> None:
        self.timeline = timeline
        self.limits: Limits = timeline.limits
        self.evaluated_at = timeline.evaluated_at
        self.kinds = timeline.ordered.kinds
        self.moved = timeline.moved
        self.required = timeline.limits.configuration.require_connection_evidence

    def all(self, *kinds: str) -> list[Record]:
        """Records of some kinds, in canonical order."""
        if len(kinds) == 1:
            return self.timeline.by_kind.get(kinds[0], [])
        found = [r for kind in kinds for r in self.timeline.by_kind.get(kind, [])]
        return sorted(found, key=lambda r: r.index)

    def last(self, kind: str, such: Callable[[Record], bool] = lambda _: True) -> Record | None:
        """The last record of a kind (of those that are `such`)."""
        return next((r for r in reversed(self.all(kind)) if such(r)), None)

    def last_each(self, kind: str) -> list[Record]:
        """The last record of each subject of a kind, in canonical order."""
        return sorted({r.subject: r for r in self.all(kind)}.values(), key=lambda r: r.index)

    def last_of(self, kind: str, *subject: object) -> Record | None:
        """The last record of one subject."""
        return self.timeline.latest.get((kind, subject))

    def last_work(self) -> Record | None:
        """The last work on the lines."""
        return max(self.all("line_connection", "leads_swapped"), key=lambda r: r.index, default=None)

    def doubtful(self, record: Record) -> bool:
        """Whether a later id with two stories makes this record unsafe to stand on."""
        place = self.timeline.ordered.doubtful.get(record.subject)
        return place is not None and place > record.key

    def doubtful_unseen(self, kind: str) -> bool:
        """Whether some subject of a kind is known only from an id with two stories, or from before one."""
        latest = self.timeline.latest
        return any(
            subject[0] == kind and (subject not in latest or place > latest[subject].key)
            for subject, place in self.timeline.ordered.doubtful.items()
        )

    def age(self, record: Record) -> int:
        """As old as it can be; never below zero."""
        return max(0, self.evaluated_at - record.earliest)

    def move(self) -> list[Loss]:
        """The machine's last move, as an event that undoes."""
        return [] if self.moved is None else [Loss(self.moved, "V10")]

    def judge(
        self,
        rule: str,
        needed: Sequence[Record | None],
        *,
        good: bool,
        undoing: Iterable[Loss] = (),
        doubtful: bool = False,
        detail: str = "",
    ) -> Fact:
        """Status of a fact that stands on all of `needed`.

        In this order: missing, undone by an event after any of them, too old, failed, doubtful, established.
        """
        found = [r for r in needed if r is not None]
        if not found or len(found) < len(needed):
            return Fact(rule, "missing", found)
        first = min(r.index for r in found)
        undone = max((e for e in undoing if e.record.index > first), key=lambda e: e.record.index, default=None)
        if undone is not None:
            return Fact(rule, "invalidated", found, undone)
        if "fresh_for_minutes" in RULES[rule] and any(self.age(r) > fresh_for(rule) for r in found):
            oldest = max(self.age(r) for r in found)
            return Fact(rule, "stale", found, detail=f"{in_words(oldest)} old, at most {in_words(fresh_for(rule))}")
        if not good:
            return Fact(rule, "failed", found, detail=detail)
        if doubtful or any(self.doubtful(r) for r in found):
            return Fact(rule, "contradicted", found)
        return Fact(rule, "established", found)


def events(rule: str, records: Iterable[Record]) -> list[Loss]:
    """Records as events of one reset rule."""
    return [Loss(r, rule) for r in records]
