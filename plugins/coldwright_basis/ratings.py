"""Standard ratings of overcurrent devices: the next one up, the next one down."""

from bisect import bisect_left, bisect_right
from typing import Final, Literal

from coldwright.contract import load_table
from coldwright_basis.compare import SLACK

Practice = Literal["nec", "iec"]
"""Whose rules hold: of the United States and Canada, or of IEC and EN."""

OVERCURRENT_RATINGS = load_table("coldwright_basis", "overcurrent_ratings")
IEC_RATED_CURRENTS = load_table("coldwright_basis", "iec_rated_currents")

_nec: Final = tuple(float(a) for a in OVERCURRENT_RATINGS.rows["breaker_and_fuse"])
_iec: Final = tuple(float(a) for a in IEC_RATED_CURRENTS.rows)

LEAST_NEC: Final = _nec[0]


def rating_at_least(practice: Practice, current: float) -> float | None:
    """Smallest standard rating not below `current` [A]; `None` above the last. An exact hit stays one in any unit."""
    series = _nec if practice == "nec" else _iec
    index = bisect_left(series, current * (1 - SLACK))
    return series[index] if index < len(series) else None


def rating_at_most(practice: Practice, current: float) -> float | None:
    """Largest standard rating not above `current` [A]; `None` below the first."""
    series = _nec if practice == "nec" else _iec
    index = bisect_right(series, current * (1 + SLACK))
    return series[index - 1] if index else None
