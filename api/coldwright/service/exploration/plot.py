"""A sweep as a drawing: one panel for each kept number, one line for each value of the second input. Plain SVG."""

import math
from collections.abc import Sequence
from html import escape
from typing import Any

from coldwright.service.exploration.pointers import number_of
from coldwright.service.exploration.sweep import SweepTable

WIDTH, PANEL, LEFT, RIGHT, TOP, BOTTOM = 720, 260, 80, 150, 34, 46
_DASHES = ("", "6 3", "2 3", "8 3 2 3", "12 4", "1 2")
Point = tuple[float, float]


def plot(table: SweepTable) -> bytes:
    """The drawing; kept outputs that are no numbers have no panel."""
    panels = [(pointer, lines) for pointer in table.keep if (lines := _lines(table, pointer))]
    height = PANEL * max(1, len(panels)) + 10
    size = f'width="{WIDTH}" height="{height}" viewBox="0 0 {WIDTH} {height}"'
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" {size} font-family="sans-serif" font-size="12" role="img">',
        f"<title>{escape(table.calculator)}</title>",
        f'<rect width="{WIDTH}" height="{height}" fill="#ffffff"/>',
    ]
    if not panels:
        parts.append('<text x="20" y="40">No kept output is a number at any point of this sweep.</text>')
    for number, (pointer, lines) in enumerate(panels):
        parts += _panel(table, pointer, lines, number * PANEL)
    return "".join([*parts, "</svg>"]).encode()


def _lines(table: SweepTable, pointer: str) -> dict[str, list[Point]]:
    """Points by the value of the other input. The inner input runs along the axis."""
    lines: dict[str, list[Point]] = {}
    for row in table.rows:
        x, y = number_of(row.inputs[-1]), number_of(row.kept.get(pointer))
        if x is not None and y is not None:
            name = str(row.inputs[0]) if len(row.inputs) > 1 else ""
            lines.setdefault(name, []).append((x, y))
    return lines


def _panel(table: SweepTable, pointer: str, lines: dict[str, list[Point]], top: int) -> list[str]:
    points = [p for line in lines.values() for p in line]
    xs, ys = _ticks([p[0] for p in points]), _ticks([p[1] for p in points])

    def at(point: Point) -> Point:
        x = LEFT + (point[0] - xs[0]) / (xs[-1] - xs[0]) * (WIDTH - LEFT - RIGHT)
        y = top + PANEL - BOTTOM - (point[1] - ys[0]) / (ys[-1] - ys[0]) * (PANEL - TOP - BOTTOM)
        return round(x, 2), round(y, 2)

    unit = _unit(table, pointer)
    heading = escape(f"{pointer} [{unit}]" if unit else pointer)
    parts = [f'<text x="{LEFT}" y="{top + 20}" font-weight="bold">{heading}</text>']
    for y in ys:
        px, py = at((xs[0], y))
        parts.append(f'<line x1="{px}" y1="{py}" x2="{WIDTH - RIGHT}" y2="{py}" stroke="#dddddd"/>')
        parts.append(f'<text x="{px - 6}" y="{py + 4}" text-anchor="end">{y:g}</text>')
    for x in xs:
        px, py = at((x, ys[0]))
        parts.append(f'<line x1="{px}" y1="{py}" x2="{px}" y2="{py + 5}" stroke="#333333"/>')
        parts.append(f'<text x="{px}" y="{py + 18}" text-anchor="middle">{x:g}</text>')
    parts.append(
        f'<text x="{(LEFT + WIDTH - RIGHT) / 2}" y="{top + PANEL - 8}" text-anchor="middle">{escape(table.vary[-1])}</text>'
    )
    for number, (name, line) in enumerate(lines.items()):
        path = " ".join(f"{x},{y}" for x, y in map(at, line))
        dash = _DASHES[number % len(_DASHES)]
        parts.append(
            f'<polyline points="{path}" fill="none" stroke="#1b1b1b" stroke-width="1.5" stroke-dasharray="{dash}"/>'
        )
        parts += [f'<circle cx="{x}" cy="{y}" r="2" fill="#1b1b1b"/>' for x, y in map(at, line)]
        if name:
            x, y = at(line[-1])
            parts.append(f'<text x="{x + 6}" y="{y + 4}">{escape(name[:24])}</text>')
    return parts


def _ticks(values: Sequence[float]) -> list[float]:
    """Round numbers that span the values."""
    low, high = min(values), max(values)
    if high - low <= 1e-12 * max(abs(high), abs(low), 1e-300):
        spread = abs(low) / 2 or 1.0
        low, high = low - spread, high + spread
    raw = (high - low) / 5
    power = 10 ** math.floor(math.log10(raw))
    step = next(m * power for m in (1, 2, 5, 10) if m * power >= raw * 0.999999)
    first, last = math.floor(low / step + 1e-9), math.ceil(high / step - 1e-9)
    return [float(f"{i * step:.12g}") for i in range(first, max(last, first + 1) + 1)]


def _unit(table: SweepTable, pointer: str) -> str:
    for row in table.rows:
        value: Any = row.kept.get(pointer)
        if isinstance(value, dict) and "unit" in value:
            return str(value["unit"])
    return ""
