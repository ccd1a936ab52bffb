"""Records that settle an open check: by whom, for which records, and only for those."""

from typing import Final

from coldwright_readiness.startup.evidence.evidence import Evidence
from coldwright_readiness.startup.evidence.record import Record, after

WHO_SETTLES: Final[dict[str, tuple[str, ...]]] = {
    "R01": ("supervisor",),
    "I3": ("electrician",),
    "I10": ("technician", "owner", "supervisor"),
    "I12": ("owner", "supervisor"),
    "I14": ("electrician",),
    "I15": ("electrician",),
    "I16": ("supervisor",),
    "repeated_trips": ("technician", "owner", "supervisor"),
}
"""Check -> roles of which one settles it. A check names a role, never a person."""


class Settlements:
    """What was settled, and what was not."""

    def __init__(self, e: Evidence) -> None:
        self._removed = [r for r in e.of("lock") if r.data.state == "removed"] if e.of("settled") else []
        self._by: dict[tuple[str, str], list[Record]] = {}
        for r in e.of("settled"):
            if r.proves and r.by and r.role in WHO_SETTLES.get(r.data.check, ()):
                for named in r.data.records:
                    self._by.setdefault((r.data.check, named), []).append(r)

    def settles(self, check: str, record: Record) -> bool:
        """Whether somebody qualified settled a check for this record, surely after it."""
        return any(after(r, record) for r in self._by.get((check, record.id), ()))

    def all_settled(self, check: str, records: tuple[Record, ...]) -> bool:
        """Whether a check is settled for every one of its records."""
        return all(self.settles(check, r) for r in records)

    def one_settled(self, check: str, records: tuple[Record, ...]) -> bool:
        """Whether a check is settled for one of its records, surely after all of them."""
        return any(all(after(s, r) for r in records) for named in records for s in self._by.get((check, named.id), ()))

    def frees_lock(self, applied: Record) -> bool:
        """Whether somebody responsible freed a lock whose owner is not there: it, or its removal, was settled."""
        removals = [r for r in self._removed if r.data.lock_id == applied.data.lock_id and after(r, applied)]
        return any(self.settles(check, r) for check in ("R01", "I16") for r in (applied, *removals))
