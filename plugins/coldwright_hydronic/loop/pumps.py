"""Pumps of the input as running pumps."""

from msgspec import UNSET

from coldwright_hydronic.loop.given import PumpGiven
from coldwright_hydronic.loop.pump_curves import RunningPumps, curve_through


def running(index: int, pump: PumpGiven) -> RunningPumps:
    """A running pump with its curve."""
    points = tuple((p.flow.si, p.head.si) for p in pump.curve)
    return RunningPumps(index, curve_through(points, pump.interpolation), speed_ratio(pump), pump.parallel_count)


def speed_ratio(pump: PumpGiven) -> float:
    """Frequency over rated frequency."""
    return 1.0 if pump.frequency is UNSET else pump.frequency.si / pump.rated_frequency.si


def stopped_kv(pump: PumpGiven) -> float:
    return pump.parallel_count * (0.1 if pump.stopped_kv is UNSET else pump.stopped_kv)
