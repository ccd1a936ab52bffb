"""One observation as the rules see it: an interval of time in which it was made, and who stands behind it.

The interval is [t - u, t + u], t the stamp less the device's offset, and it ends when the observation was received: what
was received has been seen. Instants are whole nanoseconds.
"""

from typing import Any, Final

from msgspec import UNSET, UnsetType

from coldwright_basis.instants import instant, span
from coldwright_readiness.startup.observations import AnyObservation

ALWAYS: Final = 1 << 62
"""Later than every instant."""
Subject = tuple[str, ...]


class Record:
    """`earliest` and `latest` bound the instant. `proves`: what it says in favour of a start may be believed."""

    __slots__ = (
        "ahead", "at", "boot", "by", "data", "doubted", "earliest", "id", "kind", "latest", "lone", "outdated", "proves", "role",
        "sequence", "subject", "supersedes", "uptime",
    )  # fmt: skip

    def __init__(self, observation: AnyObservation, kind: str, subject: Subject, now: int) -> None:
        self.id = observation.id
        self.kind = kind
        self.data: Any = observation.data
        self.by: str = "" if observation.by is UNSET else observation.by
        self.role: str = "" if observation.role is UNSET else observation.role
        self.supersedes: str | UnsetType = observation.supersedes
        self.subject: tuple[str, Subject] = (kind, subject)
        self.boot: tuple[str, str] | None = None
        self.sequence = 0
        self.uptime = -1
        self.lone = False
        """Of a device whose clock nobody compared, and which says nothing of its clock itself."""
        self.outdated = False
        """It proves nothing any more because the set-up that it rests on was changed."""
        self.doubted = False
        """One of several contents under one id: it speaks against what it is about, and for nothing."""
        offset, spread = span(observation.clock_offset), span(observation.time_uncertainty)
        self.at = instant(observation.at) - offset
        bound = now
        if observation.received_at is not UNSET:
            received = instant(observation.received_at)
            bound = min(bound, received)
            if observation.sent_at is not UNSET and not offset and not spread:
                apart = instant(observation.sent_at) - received
                low, high = min(self.at, self.at - apart), max(self.at, self.at - apart)
                self._place(low, high, bound)
                self._of_device(observation)
                return
        self._place(self.at - spread, self.at + spread, bound)
        self._of_device(observation)

    def _place(self, low: int, high: int, bound: int) -> None:
        self.ahead = low - bound
        """How far its stamp lies after the instant at which it had been seen at the latest."""
        self.proves = low <= bound
        self.earliest = low if low < bound else bound
        self.latest = high if high < bound else bound

    def _of_device(self, observation: AnyObservation) -> None:
        if observation.device is UNSET or observation.boot is UNSET or observation.sequence is UNSET:
            return
        self.boot = (observation.device, observation.boot)
        self.sequence = observation.sequence
        if observation.uptime is not UNSET:
            self.uptime = span(observation.uptime)

    def unproved(self, *, outdated: bool = False) -> "Record":
        """The same record, which proves nothing."""
        other = self.moved_to(self.earliest, self.latest)
        other.boot, other.lone, other.proves = self.boot, self.lone, False
        other.outdated = outdated or self.outdated
        return other

    def moved_to(self, earliest: int, latest: int) -> "Record":
        """The same record in another place of time, as one that stands alone."""
        other = object.__new__(Record)
        for name in Record.__slots__:
            setattr(other, name, getattr(self, name))
        other.earliest, other.latest, other.boot, other.lone = earliest, latest, None, False
        return other


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
