"""The frequency at which the pumps of a loop give a flow without a valve."""

from coldwright.contract.quantities import Frequency
from coldwright_hydronic.loop import network
from coldwright_hydronic.loop.building import Loop

LOWEST_FREQUENCY = 20.0


def slowed(loop: Loop, flow: float, needed: float) -> Frequency | None:
    """Frequency of the first pump at which all, slowed alike, make `needed` (Pa) at `flow` (m3/s), less than they make now.

    None below `LOWEST_FREQUENCY`, and where they make more even at the least speed whose curve still reaches the flow.
    """
    slowest = flow / loop.end
    if loop.rise(flow, slowest) >= needed:
        return None
    speed = network.root(lambda s: loop.rise(flow, s) - needed, slowest, 1.0)
    first = loop.pumps[0]
    frequency = speed * first.ratio * loop.given.pumps[first.index].curve_frequency.si
    return Frequency.from_si(frequency, "Hz") if frequency >= LOWEST_FREQUENCY else None
