"""Cross-sections of conductors by the names of their sizes."""

from functools import lru_cache
from typing import Final

_CIRCULAR_MIL: Final = 5.067074790975e-4
"""mm2: the circle of a thousandth of an inch."""


@lru_cache(maxsize=256)
def cross_section(size: str) -> float:
    """Cross-section [mm2] of copper. An AWG wire n has the diameter 0.005 in x 92^((36 - n)/39), 1/0 being 0."""
    number, unit = size.split(" ")
    if unit == "mm2":
        return float(number)
    if unit == "kcmil":
        return float(number) * 1000 * _CIRCULAR_MIL
    gauge = 1 - int(number[0]) if number.endswith("/0") else int(number)
    mils = 5 * 92 ** ((36 - gauge) / 39)
    return float(mils**2 * _CIRCULAR_MIL)
