"""Pumps of the input as running pumps."""

from coldwright_basis.pump_curves import RunningPumps, curve_through
from coldwright_hydronic.loop.given import PumpGiven


def running(index: int, pump: PumpGiven) -> RunningPumps:
    """A running pump with its curve."""
    return RunningPumps(index, curve_through(pump.points, pump.interpolation), pump.speed_ratio, pump.parallel_count)
