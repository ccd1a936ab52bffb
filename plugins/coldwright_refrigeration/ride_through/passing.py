"""How long liquid goes on arriving cold at the load when the machines stop. SI.

The liquid moves on as it stands in the loop (plug flow): what is cold on its way arrives first; then, for one turnover,
what has passed the load once; then twice, and so on. Each pass warms it by the part of the load that is not cooled.
"""

from dataclasses import dataclass

from coldwright_basis.compare import whole_at_least, whole_at_most
from coldwright_refrigeration.ride_through.given import Interruption


@dataclass(frozen=True)
class Loop:
    """m3, m3/s, K."""

    volume: float
    cold: float
    """Of it that arrives cold, the usable part of a buffer counted in."""
    flow: float
    difference: float
    usable: float

    def passes(self, rise: float, share: float) -> int:
        """Passes of the load, not cooled to `share` of it, that stay within a rise."""
        return whole_at_most(rise / (self.difference * share))

    def holds(self, rise: float, share: float) -> float:
        """s: the cold that is on its way, and a turnover for each pass that the rise allows."""
        return (self.cold + self.passes(rise, share) * self.volume) / self.flow

    def rise_after(self, time: float, share: float) -> float:
        """K by which the supply is warmer after so long."""
        passes = max(0, whole_at_least((time * self.flow - self.cold) / self.volume))
        return passes * self.difference * share

    def to_add(self, time: float, rise: float, share: float) -> float:
        """m3 of buffer in the supply with which it holds so long."""
        passes = self.passes(rise, share)
        return max(0.0, (time * self.flow - self.cold - passes * self.volume) / (self.usable + passes))


@dataclass(frozen=True)
class Gap:
    """s."""

    no_flow: float
    no_cooling: float
    ramp: float
    """What the stages after the first lack, as time without any cooling."""

    @property
    def carried(self) -> float:
        """To be bridged with the liquid moving."""
        return self.no_cooling - self.no_flow + self.ramp


def oil_cools(stop: Interruption) -> bool:
    """Whether the oil must be warmed again."""
    return stop.outage.si > stop.oil_stays_warm.si and stop.oil_warm_up.si > 0.0


def gap_of(stop: Interruption, uncooled: float, capacity: float, *, oil_warm: bool) -> Gap:
    """The time without flow, to the first stage, and to be bridged with liquid moving; `uncooled` and `capacity` in W.

    The timer against short cycles runs from the stop; the oil warms from the return of the supply, unless it stays warm.
    """
    outage = stop.outage.si
    warm_up = 0.0 if oil_warm else stop.oil_warm_up.si
    first = max(outage + max(stop.control_restart.si, warm_up), stop.anti_recycle_time.si)
    no_flow = outage if stop.circulation == "stops" else 0.0
    each = capacity / stop.stages
    # while n stages run, the part that they do not cool goes on warming the liquid
    ramp = sum(stop.stage_delay.si * max(0.0, 1.0 - running * each / uncooled) for running in range(1, stop.stages))
    return Gap(no_flow, first, ramp)
