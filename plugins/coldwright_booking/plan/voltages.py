"""Nominal voltage of the system that a machine's plate belongs to."""

from functools import cache

from coldwright_basis.compare import at_most
from coldwright_basis.voltages import VOLTAGE_PAIRS

HIGHEST, HIGHEST_OVER_PLATE = 1.1, 1.1
"""Limits of `electrical.service`: plate over system, and system over plate."""


@cache
def nominal_of(plate: float) -> float:
    """480 V for a plate of 460 V; any other plate is its own nominal voltage."""
    system = {float(p): float(s) for s, p in VOLTAGE_PAIRS.rows}
    return system.get(plate, plate)


def suits(plate: float, system: float) -> bool:
    """Whether a machine of this plate may run on the system without a transformer."""
    return at_most(plate / system, HIGHEST) and at_most(system / plate, HIGHEST_OVER_PLATE)
