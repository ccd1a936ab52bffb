"""The records that count, by kind, and the instant at which it is asked."""

from coldwright_readiness.startup.evidence.intake import Intake
from coldwright_readiness.startup.evidence.record import ALWAYS, Record
from coldwright_readiness.startup.limits import Limits


class Records:
    """What every part of the evidence is made from. It knows none of them, so that nothing refers in a circle."""

    def __init__(
        self, taken: Intake, limits: Limits, now: int, *, warm_from: int = -ALWAYS, rest_from: int = -ALWAYS
    ) -> None:
        self.taken, self.limits, self.now = taken, limits, now
        self.warm_from, self.rest_from = warm_from, rest_from
        """The oil's heat and a compressor's rest count from here at the earliest: their durations were loosened."""

    def of(self, kind: str, *others: str) -> list[Record]:
        """Records of some kinds."""
        by_kind = self.taken.by_kind
        if not others:
            return by_kind.get(kind, [])
        return [r for each in (kind, *others) for r in by_kind.get(each, [])]
