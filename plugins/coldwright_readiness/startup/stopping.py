"""What a stop and a second reading consist of."""

from dataclasses import dataclass, field

from coldwright_readiness.startup.evidence.record import Record


@dataclass(frozen=True)
class Cause:
    """Why a machine is to be stopped."""

    code: str
    records: tuple[Record, ...]
    statement: str
    latched: bool
    clear_by: str
    unread: bool = False
    """Whether nothing was seen wrong: it was not read, or so long ago that it does not count."""

    @property
    def ids(self) -> tuple[str, ...]:
        """Ids of its records, sorted."""
        return tuple(sorted({r.id for r in self.records}))


@dataclass(frozen=True)
class Ask:
    """A soft breach: to be read again by an instant."""

    rule: str
    subject: str
    records: tuple[Record, ...]
    due: int


@dataclass
class Running:
    """What the records say of a machine that can be running."""

    compressors: tuple[str, ...] = ()
    """Those that can be on now."""
    causes: list[Cause] = field(default_factory=list)
    asks: list[Ask] = field(default_factory=list)
    since: Record | None = None
    presumed: bool = False
    may_start_by_itself: bool = False

    @property
    def unread(self) -> bool:
        """Whether it is to be stopped for want of readings alone."""
        return bool(self.causes) and all(c.unread for c in self.causes)

    @property
    def stop(self) -> bool:
        """Whether it is to be stopped now."""
        return bool(self.causes)
