"""What a stop and a second reading consist of."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Final

from msgspec import Struct

from coldwright_readiness.startup.evidence.record import Record


class Cause(Struct, frozen=True):
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


UNSEEN: Final = "A compressor that runs without a record is watched by nobody."
PHASE_LOST: Final = "On two lines a motor does not turn, or burns, and the third may be live all the same."


def why_of(cause: Cause, rules: Mapping[str, Any]) -> str:
    """Why it matters: as the rule says, where it is one of the table, and of a lost phase in words of its own."""
    if cause.code == "running_presumed":
        return UNSEEN
    if any(r.kind == "phase_indicator" and r.data.rotation == "missing_phase" for r in cause.records):
        return PHASE_LOST
    return str(rules[cause.code]["why"])


class Ask(Struct, frozen=True):
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
