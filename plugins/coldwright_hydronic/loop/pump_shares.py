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
    """All of them as results."""
    return tuple(pump_result(s.running.index, s.pump, s.each, s.head, s.available) for s in pump_shares(case))


def pump_result(index: int, pump: PumpGiven, each: float, head: float, available: float | None) -> LoopPump:
    """Equal pumps as a result: flow of one (m3/s), what they make (m), suction head at them where it is known (m)."""
    required = npsh_required(pump, each)
    return LoopPump(
        index=index,
        flow_each=VolumeFlow.from_si(each, "L/s"),
        head=Length.from_si(head, "m"),
        npsh_available=UNSET if available is None else Length.from_si(available, "m"),
        npsh_required=UNSET if required is None else Length.from_si(required, "m"),
    )
