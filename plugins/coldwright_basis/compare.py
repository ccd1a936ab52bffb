"""Comparison that forgives the last bits: a limit met exactly in one unit is met in every other.

44 degF is 6.666... degC: converting moves the last bits of a number, and a strict comparison would then answer
differently to the same question. Numbers nearer than one part in 1e9 count as equal; no instrument on site reads that
fine. For temperatures use kelvin, whose zero is far away.
"""

import math
from typing import Final

SLACK: Final = 1e-9
"""Part of the greater number by which two may differ and still count as equal."""


def same(a: float, b: float) -> bool:
    """a = b, but for the last bits."""
    return abs(a - b) <= SLACK * max(abs(a), abs(b))


def at_most(a: float, b: float) -> bool:
    """a <= b, or equal but for the last bits."""
    return a <= b or a <= b + SLACK * max(abs(a), abs(b))


def at_least(a: float, b: float) -> bool:
    """a >= b, or equal but for the last bits."""
    return at_most(b, a)


def above(a: float, b: float) -> bool:
    """a > b, and not merely by the last bits."""
    return not at_most(a, b)


def below(a: float, b: float) -> bool:
    """a < b, and not merely by the last bits."""
    return not at_most(b, a)


def between(low: float, a: float, high: float) -> bool:
    """low <= a <= high, both ends counted in."""
    return at_most(low, a) and at_most(a, high)


def negligible(part: float, whole: float) -> bool:
    """Whether a part is nothing beside the whole: a rest of a subtraction, not an amount."""
    return abs(part) <= SLACK * abs(whole)


def whole_at_most(number: float) -> int:
    """Most whole pieces that go into `number`: 2.9999999999 holds three."""
    return math.floor(number + SLACK * max(abs(number), 1.0))


def whole_at_least(number: float) -> int:
    """Fewest whole pieces that make up `number`: 3.0000000001 is three pieces, not four."""
    return math.ceil(number - SLACK * max(abs(number), 1.0))
