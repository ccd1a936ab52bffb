"""Pump curves: through given points, at another frequency, side by side and in series. Plain floats, SI."""

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from math import log
from typing import Literal, Protocol

from coldwright.contract import lazy

_interpolate = lazy("scipy.interpolate")

Points = tuple[tuple[float, float], ...]

Interpolation = Literal["power_law", "monotone_cubic", "linear"]

LEAST_SPACING = 1e-4
"""Least distance of two points of a curve, over its last flow."""

LEAST_POWER, GREATEST_POWER = 0.2, 20.0
"""Exponents C of H = A - B Q^C that a pump can have."""


class Curve(Protocol):
    """Head of one pump at its rated frequency."""

    @property
    def last(self) -> float:
        """Flow of the last point given."""

    @property
    def end(self) -> float:
        """Flow up to which the curve may be followed."""

    def head(self, flow: float) -> float:
        """Head (m) at a flow (m3/s)."""


@dataclass(frozen=True, slots=True)
class PowerLaw:
    """H = A - B Q^C, followed to H = 0."""

    a: float
    b: float
    c: float
    last: float
    end: float

    def head(self, flow: float) -> float:
        return float(self.a - self.b * flow**self.c)


@dataclass(frozen=True, slots=True)
class Pieces:
    """Cubics or straight lines between the points; never beyond the last."""

    flows: tuple[float, ...]
    coefficients: tuple[tuple[float, float, float, float], ...]
    last: float
    end: float

    def head(self, flow: float) -> float:
        i = min(max(bisect_right(self.flows, flow) - 1, 0), len(self.coefficients) - 1)
        x = flow - self.flows[i]
        c3, c2, c1, c0 = self.coefficients[i]
        return ((c3 * x + c2) * x + c1) * x + c0


def power_law_exponent(points: Points) -> float:
    """C of the law through three points; they fall, and the first is at no flow."""
    (_, a), (q1, h1), (q2, h2) = points
    return log((a - h2) / (a - h1)) / log(q2 / q1)


@lru_cache(maxsize=1024)
def curve_through(points: Points, interpolation: Interpolation) -> Curve:
    """The curve through points that are in order and fall: the caller has checked them."""
    last = points[-1][0]
    if interpolation == "power_law":
        c = power_law_exponent(points)
        a, (q1, h1) = points[0][1], points[1]
        b = (a - h1) / q1**c
        return PowerLaw(a, b, c, last, max(last, (a / b) ** (1.0 / c)))
    flows = tuple(q for q, _ in points)
    if interpolation == "linear":
        rows = [(0.0, 0.0, (h2 - h1) / (q2 - q1), h1) for (q1, h1), (q2, h2) in pairwise(points)]
    else:
        cubic = _interpolate.PchipInterpolator(flows, [h for _, h in points])
        rows = [(float(c3), float(c2), float(c1), float(c0)) for c3, c2, c1, c0 in cubic.c.T]
    return Pieces(flows, tuple(rows), last, last)


@dataclass(frozen=True, slots=True)
class RunningPumps:
    """Equal pumps side by side at one frequency: Q ~ N, H ~ N^2."""

    index: int
    """Place in the list of pumps."""
    curve: Curve
    ratio: float
    """Frequency over rated frequency."""
    count: int

    @property
    def end(self) -> float:
        """Flow of the whole set up to which its curve may be followed."""
        return self.ratio * self.count * self.curve.end

    def rated_flow(self, flow: float) -> float:
        """Flow of one pump at rated frequency that corresponds to `flow` of the set."""
        return flow / (self.ratio * self.count)

    def head(self, flow: float) -> float:
        """Head of the set."""
        return self.ratio * self.ratio * self.curve.head(self.rated_flow(flow))


def total_head(pumps: Sequence[RunningPumps], flow: float, speed: float = 1.0) -> float:
    """Head of pumps in series, all at `speed` times their frequency."""
    return sum(speed * speed * p.head(flow / speed) for p in pumps)


def straight_between(points: Points, x: float) -> float | None:
    """Straight interpolation; None outside the points."""
    if not points[0][0] <= x <= points[-1][0]:
        return None
    for (x1, y1), (x2, y2) in pairwise(points):
        if x <= x2:
            return y1 + (y2 - y1) * (x - x1) / (x2 - x1)
    return points[-1][1]
