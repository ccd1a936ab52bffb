"""Standard ratings of devices: the next one up, the next one down."""

from bisect import bisect_left, bisect_right
from typing import Final, Literal

from coldwright.contract import load_table

_PACKAGE: Final = "coldwright_electrical"
OVERCURRENT_RATINGS = load_table(_PACKAGE, "overcurrent_ratings")
SAFETY_SWITCH_FRAMES = load_table(_PACKAGE, "safety_switch_frames")
IEC_RATED_CURRENTS = load_table(_PACKAGE, "iec_rated_currents")

Practice = Literal["nec", "iec"]

_SLACK: Final = 1e-9
"""An exact hit stays a hit after a change of units."""

_nec: Final = tuple(float(a) for a in OVERCURRENT_RATINGS.rows["breaker_and_fuse"])
_iec: Final = tuple(float(a) for a in IEC_RATED_CURRENTS.rows)
_frames: Final = tuple(float(a) for a in SAFETY_SWITCH_FRAMES.rows)

LEAST_NEC: Final = _nec[0]
GREATEST_NEC: Final = _nec[-1]
GREATEST_IEC: Final = _iec[-1]
GREATEST_FRAME: Final = _frames[-1]


def _at_least(series: tuple[float, ...], current: float) -> float | None:
    index = bisect_left(series, current * (1 - _SLACK))
    return series[index] if index < len(series) else None


def _at_most(series: tuple[float, ...], current: float) -> float | None:
    index = bisect_right(series, current * (1 + _SLACK))
    return series[index - 1] if index else None


def rating_at_least(practice: Practice, current: float) -> float | None:
    """Smallest standard rating not below `current` [A]; `None` above the last."""
    return _at_least(_nec if practice == "nec" else _iec, current)


def rating_at_most(practice: Practice, current: float) -> float | None:
    """Largest standard rating not above `current` [A]; `None` below the first."""
    return _at_most(_nec if practice == "nec" else _iec, current)


def frame_at_least(current: float) -> float | None:
    """Smallest safety-switch frame not below `current` [A]; `None` above the last."""
    return _at_least(_frames, current)
