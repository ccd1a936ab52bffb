"""Saturation temperatures and pressures, read from tabulated bubble and dew lines.

1/T is almost a straight line in ln p, so a cubic through value and slope at equal steps of ln p is within 0.001 K of
the equation of state itself. Nothing heavy is imported: a reading costs about a microsecond.
"""

from bisect import bisect_right
from functools import cache
from math import exp, log

from msgspec import Struct, convert

from coldwright.contract import load_table

TEMPERATURE_ERROR = 0.001
"""Greatest difference from a direct CoolProp call, in kelvin, over the whole range of every refrigerant: tested."""
SATURATION_TABLE = load_table("coldwright_refrigeration", "saturation_lines")


class _Row(Struct, frozen=True):
    refrigerant: str
    line: str
    first_ln_pressure: float
    step: float
    inverse_temperature: tuple[float, ...]
    slope: tuple[float, ...]


class Line:
    """One saturation line: pressure in Pa (absolute), temperature in K."""

    __slots__ = ("_first", "_inverse", "_last", "_rise", "_step", "_temperatures")

    def __init__(self, row: _Row) -> None:
        self._first, self._step = row.first_ln_pressure, row.step
        self._last = len(row.inverse_temperature) - 2
        self._inverse = row.inverse_temperature
        self._rise = tuple(slope * row.step for slope in row.slope)
        self._temperatures = tuple(1 / y for y in row.inverse_temperature)

    @property
    def lowest_temperature(self) -> float:
        """Lower end of the range, K."""
        return self._temperatures[0]

    @property
    def highest_temperature(self) -> float:
        """Upper end of the range, K."""
        return self._temperatures[-1]

    def _at(self, i: int, t: float) -> float:
        """1/T at the fraction `t` of interval `i`: cubic Hermite."""
        y0, y1, m0, m1 = self._inverse[i], self._inverse[i + 1], self._rise[i], self._rise[i + 1]
        d = y1 - y0
        return y0 + t * (m0 + t * (3 * d - 2 * m0 - m1 + t * (m0 + m1 - 2 * d)))

    def temperature(self, pressure: float) -> float:
        """Temperature at `pressure`; the caller keeps to the range."""
        u = (log(pressure) - self._first) / self._step
        i = min(max(int(u), 0), self._last)
        return 1 / self._at(i, u - i)

    def pressure(self, temperature: float) -> float:
        """Pressure at `temperature`: the same cubic turned round by Newton's method; the caller keeps to the range."""
        i = min(max(bisect_right(self._temperatures, temperature) - 1, 0), self._last)
        y0, y1, m0, m1 = self._inverse[i], self._inverse[i + 1], self._rise[i], self._rise[i + 1]
        target = 1 / temperature
        d = y1 - y0
        square, cube = 3 * d - 2 * m0 - m1, m0 + m1 - 2 * d
        t = (target - y0) / d
        for _ in range(4):  # quadratic convergence from an error below 1e-3 of an interval
            slope = m0 + t * (2 * square + 3 * t * cube)
            t -= (y0 + t * (m0 + t * (square + t * cube)) - target) / slope
        return exp(self._first + (i + t) * self._step)


class Saturation(Struct, frozen=True):
    """Both lines of a refrigerant, which are one for a pure fluid, and the pressures (Pa) at which both are known."""

    refrigerant: str
    bubble: Line
    dew: Line
    lowest_pressure: float
    highest_pressure: float

    def mean_temperature(self, pressure: float) -> float:
        """Mean of bubble and dew temperature, K."""
        if self.bubble is self.dew:
            return self.bubble.temperature(pressure)
        return (self.bubble.temperature(pressure) + self.dew.temperature(pressure)) / 2

    def pressure_at_mean(self, temperature: float) -> float:
        """Pressure at which the mean of bubble and dew temperature is `temperature`, by the secant method."""
        if self.bubble is self.dew:
            return self.bubble.pressure(temperature)
        ln_p = (log(self.bubble.pressure(temperature)) + log(self.dew.pressure(temperature))) / 2
        for _ in range(6):
            here = self.mean_temperature(exp(ln_p))
            if abs(here - temperature) < 1e-10:
                break
            slope = (self.mean_temperature(exp(ln_p + 1e-4)) - here) / 1e-4
            ln_p -= (here - temperature) / slope
        return exp(ln_p)


@cache
def _saturations() -> dict[str, Saturation]:
    lines: dict[str, dict[str, Line]] = {}
    for row in convert(SATURATION_TABLE.rows, list[_Row]):
        lines.setdefault(row.refrigerant, {})[row.line] = Line(row)
    return {name: _both(name, of["bubble"], of.get("dew", of["bubble"])) for name, of in lines.items()}


def _both(name: str, bubble: Line, dew: Line) -> Saturation:
    """Both lines are tabulated over the same pressures."""
    return Saturation(
        name, bubble, dew, dew.pressure(dew.lowest_temperature), bubble.pressure(bubble.highest_temperature)
    )


def saturation_of(refrigerant: str) -> Saturation:
    """The saturation lines of a refrigerant by its ASHRAE 34 name."""
    return _saturations()[refrigerant]
