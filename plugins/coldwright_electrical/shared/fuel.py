"""How much diesel fuel a generating set burns at a load: from its own curve, or from a chart of typical sets."""

from itertools import pairwise

from msgspec import UnsetType

from coldwright.contract import FieldError, field_error, load_table
from coldwright_basis.compare import above, below
from coldwright_electrical.shared.given import LEAST_LOAD, FuelPointGiven

FUEL_CHART = load_table("coldwright_electrical", "diesel_fuel")


_SHARES = (0.25, 0.50, 0.75, 1.00)


def curve_errors(curve: tuple[FuelPointGiven, ...] | UnsetType, pointer: str) -> list[FieldError]:
    """A fuel curve must rise from point to point, in load and in fuel."""
    if isinstance(curve, UnsetType):
        return []
    return [
        field_error(
            f"{pointer}/{i + 1}",
            "The fuel curve does not rise from the point before to this one.",
            value={"load_fraction": b.load_fraction, "fuel_rate": str(b.fuel_rate)},
            why="Points are listed by rising load, and more load burns more fuel.",
        )
        for i, (a, b) in enumerate(pairwise(curve))
        if b.load_fraction <= a.load_fraction or b.fuel_rate.si <= a.fuel_rate.si
    ]


def fuel_rate(rated_kw: float, load: float, curve: tuple[FuelPointGiven, ...] | UnsetType) -> float | None:
    """L/h at `load`, a share of the rating. None where neither the curve nor the chart reaches."""
    if below(load, LEAST_LOAD):
        return None
    if not isinstance(curve, UnsetType):
        return _along([(p.load_fraction, p.fuel_rate.to("L/h")) for p in curve], load)
    rates = _chart_row(rated_kw)
    return None if rates is None else _along(list(zip(_SHARES, rates, strict=True)), load)


def old_set_fuel_rate(rated_kw: float, load: float) -> float:
    """L/h by the line of Skarstein and Uhlen (1989, from memory): small old sets, shown for comparison only."""
    return 0.08415 * rated_kw + 0.246 * load * rated_kw


def _chart_row(rated_kw: float) -> list[float] | None:
    rows: list[list[float]] = FUEL_CHART.rows
    for (size_a, *rates_a), (size_b, *rates_b) in pairwise(rows):
        if size_a <= rated_kw <= size_b:
            part = (rated_kw - size_a) / (size_b - size_a)
            return [a + part * (b - a) for a, b in zip(rates_a, rates_b, strict=True)]
    return None


def _along(points: list[tuple[float, float]], load: float) -> float | None:
    """On straight lines between the points; the first line is carried on downwards, the last one is not upwards."""
    if above(load, points[-1][0]):
        return None
    for (x1, y1), (x2, y2) in pairwise(points):
        if load <= x2 or x2 == points[-1][0]:
            rate = y1 + (y2 - y1) * (load - x1) / (x2 - x1)
            return rate if rate > 0 else None
    return None
