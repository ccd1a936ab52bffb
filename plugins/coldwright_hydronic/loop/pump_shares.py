"""The running pumps of a loop, each at its share of the flow."""

from collections.abc import Iterator
from dataclasses import dataclass

from msgspec import UNSET

from coldwright.contract.quantities import Length, VolumeFlow
from coldwright_basis.pump_curves import RunningPumps
from coldwright_hydronic.loop.case import Case
from coldwright_hydronic.loop.given import PumpGiven
from coldwright_hydronic.loop.power import npsh_required
from coldwright_hydronic.loop.results import LoopPump


@dataclass(frozen=True, slots=True)
class PumpShare:
    """Equal pumps side by side at the duty of the loop. SI."""

    running: RunningPumps
    pump: PumpGiven
    each: float
    """Flow of one of them, m3/s."""
    head: float
    """What they make, m."""
    available: float | None
    """Suction head at them, m: that of the first, and what the pumps before them add."""


def pump_shares(case: Case) -> Iterator[PumpShare]:
    """In the order of the flow."""
    head_before = 0.0
    for running in case.loop.pumps:
        head = running.head(case.flow)
        available = None if case.npsh is None else case.npsh + head_before
        yield PumpShare(running, case.given.pumps[running.index], case.flow / running.count, head, available)
        head_before += head


def pumps_at_duty(case: Case) -> tuple[LoopPump, ...]:
    """They as results."""
    return tuple(_result(share) for share in pump_shares(case))


def _result(share: PumpShare) -> LoopPump:
    required = npsh_required(share.pump, share.each)
    return LoopPump(
        index=share.running.index,
        flow_each=VolumeFlow.from_si(share.each, "L/s"),
        head=Length.from_si(share.head, "m"),
        npsh_available=UNSET if share.available is None else Length.from_si(share.available, "m"),
        npsh_required=UNSET if required is None else Length.from_si(required, "m"),
    )
