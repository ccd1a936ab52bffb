"""Sums of sound levels."""

import math
from collections.abc import Iterable


def energy_sum(levels: Iterable[float]) -> float:
    """Level of sounds together; minus infinity for none."""
    known = list(levels)
    loudest = max(known, default=-math.inf)
    if loudest == -math.inf:
        return loudest
    return loudest + 10 * math.log10(math.fsum(10 ** ((level - loudest) / 10) for level in known))


def shared(level: float, share: float) -> float:
    """Level of a sound that is there for a share of the time, or comes back in part."""
    return level + 10 * math.log10(share) if share > 0 else -math.inf
