"""The flow at which pumps and loop agree."""

from msgspec import UNSET

from coldwright.contract import Allowed, refuse
from coldwright_basis.compare import negligible
from coldwright_basis.pump_curves import total_head
from coldwright_hydronic.loop import network
from coldwright_hydronic.loop.building import Loop


def duty_flow(loop: Loop) -> float:
    """The flow at which the pumps' rise is the loop's resistance; refuses where no curve reaches it."""
    if loop.given.fixed_flow is not UNSET:
        return loop.given.fixed_flow.si

    def surplus(flow: float) -> float:
        return loop.rise(flow) - loop.resistance(flow) - loop.lift

    at_rest = surplus(0.0)
    if at_rest <= 0.0:
        raise refuse(
            "/pumps",
            f"At no flow the pumps make {total_head(loop.pumps, 0.0):.4g} m and the loop asks for "
            f"{loop.lift / loop.weight:.4g} m: there is no flow.",
            why="The duty lies on the side of no flow: the lift of the open loop is more than the shut-off head.",
        )
    end = loop.end
    at_end = surplus(end)
    if at_end > 0.0 and not negligible(at_end, loop.rise(0.0)):
        first = min(loop.pumps, key=lambda p: p.end)
        raise refuse(
            "/pumps",
            f"At {end * 1e3:.4g} L/s, where the curve of pump {first.index} ends, the pumps still make "
            f"{loop.rise(end) / 1e3:.4g} kPa and the loop takes only {(loop.resistance(end) + loop.lift) / 1e3:.4g} kPa.",
            allowed=Allowed(maximum=end * 1e3, unit="L/s"),
            why="The duty lies beyond the last point of a curve, where nothing is known of the pump: give the curve "
            "further out, or throttle.",
        )
    return network.root(surplus, 0.0, end, (at_rest, at_end))
