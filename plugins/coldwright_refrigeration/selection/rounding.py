"""What rounding may move in the sums of a selection, in one place; sums stand for arrays as well as for single numbers.

A sum of floats comes out some parts in 1e14 higher or lower when its terms are added in another order. So the rules of a
case, and what one combination costs beside another, are judged with `SLACK`: numbers nearer than that part of a limit count
as equal. Limits and sums are never below 0 there.

A search must cut off nothing that the rules keep, while what it lets through too much is judged by the rules afterwards. So
its rows and limits have that room once more, also where the limit is nothing, and its bounds round up to a whole number
only what is above the one before beyond doubt.
"""

from typing import Any

from coldwright.contract import lazy
from coldwright_basis.compare import SLACK

np: Any = lazy("numpy")
Array = Any
"""A numpy array."""
Sums = Any
"""A number, or an array of them."""
NEARLY = 1e-6
"""Of a unit, a haul or a step: by so much a bound may be above a whole number without meaning the next one."""


def just_below(value: Sums) -> Sums:
    """What is less than this is less than the value, and not merely by the last bits."""
    return value * (1 - SLACK)


def below(sums: Sums, value: Sums) -> Sums:
    """Which sums are less than a value, and not merely by the last bits."""
    return sums < just_below(value)


def above(sums: Sums, value: Sums) -> Sums:
    """Which sums are more than a value, and not merely by the last bits."""
    return just_below(sums) > value


def roomy(limit: Sums) -> Sums:
    """A limit with the room that rounding needs: in parts of it, or of 1 where it is less."""
    return limit + SLACK * np.maximum(1, np.abs(limit))


def least_whole(bound: Sums) -> Sums:
    """The least whole number that may lie above a bound."""
    return np.ceil(bound - NEARLY)


def most_whole(bound: Sums) -> Sums:
    """The most of whole numbers that may lie below a bound."""
    return -least_whole(-bound)


def tidied(values: Array) -> Array:
    """To twelve digits each, as every number of an answer: sums of the same amounts in another order tie."""
    size = 10.0 ** np.ceil(np.log10(np.abs(values) + (values == 0)))
    return np.round(values / size, 12) * size
