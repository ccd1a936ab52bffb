"""Frames of safety switches: the next one up."""

from bisect import bisect_left
from typing import Final

from coldwright.contract import load_table
from coldwright_basis.compare import SLACK

SAFETY_SWITCH_FRAMES = load_table("coldwright_electrical", "safety_switch_frames")

_frames: Final = tuple(float(a) for a in SAFETY_SWITCH_FRAMES.rows)

GREATEST_FRAME: Final = _frames[-1]


def frame_at_least(current: float) -> float | None:
    """Smallest safety-switch frame not below `current` [A]; `None` above the last."""
    index = bisect_left(_frames, current * (1 - SLACK))
    return _frames[index] if index < len(_frames) else None
