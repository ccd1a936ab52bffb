"""The pumps aboard of unlike machines: what each gives at its machine's share of the flow, and what valves take of it."""

from dataclasses import dataclass
from typing import Final

from msgspec import UNSET

from coldwright.contract import say
from coldwright.contract.quantities import Frequency, Length, VolumeFlow
from coldwright.contract.sentences import Sentence, Words
from coldwright_basis.compare import at_least, at_most, below
from coldwright_basis.pump_curves import RunningPumps, curve_through, total_head
from coldwright_booking.plan.machines import Picked
from coldwright_hydronic.loop.given import PumpGiven

MUCH: Final = 0.4
"""Share of a pump's head that is not throttled away without being asked about, as `hydronic.loop` has it (common practice)."""
LOWEST_FREQUENCY: Final = 20.0
"""Hz below which pumps are not slowed (common practice)."""
HALVINGS: Final = 50


@dataclass(frozen=True)
class OwnPump:
    """The pump aboard of one of unlike machines, at the machine's share of the flow."""

    type: str
    share: VolumeFlow
    wanted: Length
    gives: Length
    """0 beyond the end of its curve."""
    count: int
    efficiency: float | None
    slower: Frequency | None
    """At which it gives the head wanted and no more; None where little is throttled, or where that is too slow."""

    @property
    def too_weak(self) -> bool:
        """Whether it does not give the head wanted."""
        return below(self.gives.si, self.wanted.si)

    @property
    def throttled(self) -> bool:
        """Whether valves take much of what it gives."""
        return _much(self.gives.si, self.wanted.si)

    @property
    def taken(self) -> Length:
        """Head that valves take."""
        return Length.of(self.gives.to("m") - self.wanted.to("m"), "m")


def own_pump(picked: Picked, pump: PumpGiven, share: VolumeFlow, wanted: Length) -> OwnPump:
    """The pump of one machine on its supply, at the flow of that machine; `wanted` is the head of the loop."""
    curve = RunningPumps(0, curve_through(pump.points, pump.interpolation), pump.speed_ratio, pump.parallel_count)
    gives = max(0.0, curve.head(share.si)) if at_most(share.si, curve.end) else 0.0
    slower = None
    if _much(gives, wanted.si):
        speed = _speed(curve, share.si, wanted.si)
        hertz = speed * curve.ratio * pump.curve_frequency.si
        slower = Frequency.from_si(hertz, "Hz") if hertz >= LOWEST_FREQUENCY else None
    return OwnPump(picked.machine.type, share, wanted, Length.of(gives, "m"), picked.count, efficiency_of(pump), slower)


def efficiency_of(pump: PumpGiven) -> float | None:
    """As it is given."""
    return None if pump.efficiency is UNSET else pump.efficiency


def weakness(pump: OwnPump) -> Sentence:
    """What it would have to give, and gives."""
    gives: Words = "its curve ends before that flow"
    if pump.gives.si > 0:
        gives = say("gives {head}", head=pump.gives)
    return say(
        "the pump of {type} must give {wanted} at its share of {share} and {gives}",
        type=pump.type,
        wanted=pump.wanted,
        share=pump.share,
        gives=gives,
    )


def _much(gives: float, wanted: float) -> bool:
    return gives > 0 and at_least(1 - wanted / gives, MUCH)


def _speed(curve: RunningPumps, flow: float, head: float) -> float:
    """Part of its speed at which the pump gives the head at the flow: both fall with it, the head with its square.

    0 where it gives more than that at the least speed at which its curve reaches the flow.
    """
    low, high = flow / curve.end, 1.0
    if total_head((curve,), flow, low) >= head:
        return 0.0
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        low, high = (middle, high) if total_head((curve,), flow, middle) < head else (low, middle)
    return high
