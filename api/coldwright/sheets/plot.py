"""A plot as a drawing and as a table, so that no form of the page is without its numbers."""

import math
from collections.abc import Iterator
from html import escape

from coldwright.contract.page import Column, Drawing, Plot, Table
from coldwright.contract.people import number, plain_text

WIDTH, HEIGHT = 720, 320
LEFT, RIGHT, TOP, BOTTOM = 80, 160, 20, 56
COLOURS = ("#0072b2", "#d55e00", "#009e73", "#cc79a7", "#e69f00", "#56b4e9", "#333333")
"""Okabe and Ito's palette, which people of any colour vision can distinguish."""
DASHES = ("", "7 3", "2 3")
TICKS = 5


def drawn(plot: Plot) -> Drawing | None:
    """The drawing; None where there is no finite point to draw."""
    points = [p for s in plot.series for p in s.points if all(map(math.isfinite, p))]
    if not points:
        return None
    return Drawing(plain_text(plot.title), "".join(_svg(plot, points)))


def tabled(plot: Plot) -> Table:
    """The numbers: a row for each place along the bottom, a column for each line."""
    known = [dict(s.points) for s in plot.series]
    places = sorted({x for line in known for x in line})
    rows = tuple((number(x, 4), *(number(line[x], 4) if x in line else "" for line in known)) for x in places)
    heads = (plain_text(plot.across), *(plain_text(s.name) or plain_text(plot.up) for s in plot.series))
    return Table(tuple(Column(head, 12, number=True) for head in heads), rows)


def rounds(low: float, high: float) -> list[float]:
    """Round numbers, 1, 2 or 5 of a power of ten apart, that hold both ends between them."""
    if high <= low:
        low, high = low - (abs(low) or 1) / 2, high + (abs(high) or 1) / 2
    rough = (high - low) / TICKS
    power = 10.0 ** math.floor(math.log10(rough))
    step = next(m * power for m in (1, 2, 5, 10) if m * power >= rough * (1 - 1e-9))
    first, last = math.floor(low / step + 1e-9), math.ceil(high / step - 1e-9)
    return [n * step for n in range(first, last + 1)]


def _svg(plot: Plot, points: list[tuple[float, float]]) -> Iterator[str]:
    across = rounds(min(x for x, _ in points), max(x for x, _ in points))
    up = rounds(min(y for _, y in points), max(y for _, y in points))
    wide, high = WIDTH - LEFT - RIGHT, HEIGHT - TOP - BOTTOM

    def x_at(x: float) -> float:
        return round(LEFT + (x - across[0]) / (across[-1] - across[0]) * wide, 1)

    def y_at(y: float) -> float:
        return round(TOP + high - (y - up[0]) / (up[-1] - up[0]) * high, 1)

    yield f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}" font-family="sans-serif" font-size="12">'
    yield f"<title>{_text(plot.title)}</title>"
    for y in up:
        yield f'<path d="M{LEFT} {y_at(y)}h{wide}" stroke="#dddddd"/>'
        yield f'<text x="{LEFT - 8}" y="{y_at(y) + 4}" text-anchor="end">{y:.6g}</text>'
    for x in across:
        yield f'<path d="M{x_at(x)} {TOP + high}v5" stroke="#767676"/>'
        yield f'<text x="{x_at(x)}" y="{TOP + high + 19}" text-anchor="middle">{x:.6g}</text>'
    yield f'<text x="{LEFT + wide / 2}" y="{HEIGHT - 10}" text-anchor="middle">{_text(plot.across)}</text>'
    yield f'<text x="{LEFT}" y="{TOP - 7}">{_text(plot.up)}</text>'
    for place, line in enumerate(plot.series):
        style = (
            f'stroke="{COLOURS[place % len(COLOURS)]}" stroke-dasharray="{DASHES[place // len(COLOURS) % len(DASHES)]}"'
        )
        shown = " ".join(f"{x_at(x)},{y_at(y)}" for x, y in line.points if math.isfinite(x) and math.isfinite(y))
        yield f'<polyline points="{shown}" fill="none" stroke-width="2" {style}/>'
        if line.name:
            at = TOP + 12 + 18 * place
            yield f'<path d="M{WIDTH - RIGHT + 10} {at - 4}h22" stroke-width="2" {style}/>'
            yield f'<text x="{WIDTH - RIGHT + 38}" y="{at}">{_text(line.name)}</text>'
    yield "</svg>"


def _text(text: str) -> str:
    return escape(plain_text(text), quote=True)
