"""A sweep as a drawing: one panel for each kept number, one line for each value of the outer input. Plain SVG."""

import json
import math
import re
from collections.abc import Sequence
from html import escape
from typing import Any, NamedTuple

import msgspec

from coldwright.contract.series import Column, Series
from coldwright.service.exploration.pointers import number_of, unit_of
from coldwright.service.exploration.sweep import SweepTable

WIDTH, LEFT, RIGHT = 760, 84, 190
HEADING, PANEL, TOP, BOTTOM, LEGEND = 40, 280, 36, 58, 30
COLOURS = ("#0072b2", "#d55e00", "#009e73", "#cc79a7", "#e69f00", "#56b4e9", "#333333")
"""Okabe and Ito's palette, which people of any colour vision can distinguish; the dashes repeat it in grey print."""
DASHES = ("", "7 3", "2 3")
MOST_NAMES = 12
MOST_WORDS = 12
FEW_POINTS = 80
GREY = "#767676"
_NOT_XML = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]")
Point = tuple[float, float]


class Axis(NamedTuple):
    """The inner input: where each row stands along it, and what is written there."""

    label: str
    places: dict[int, float]
    """By number of the row."""
    ticks: list[tuple[float, str]]
    low: float
    high: float


class Line(NamedTuple):
    """A line of a panel: its pieces, broken where a point has no answer."""

    name: str
    style: str
    pieces: list[list[tuple[Point, str]]]
    """Points with their outcomes."""


def plot(table: SweepTable) -> bytes:
    """The drawing. Kept outputs that are no numbers have no panel, and are named below."""
    axis = _axis(table)
    panels = [
        (pointer, _labelled(table, pointer), lines, axis)
        for pointer in table.keep
        if (lines := _lines(table, pointer, axis))
    ]
    panels += [panel for pointer in table.keep for panel in _series_panels(table, pointer)]
    height = HEADING + PANEL * len(panels) + LEGEND
    size = f'width="{WIDTH}" height="{height}" viewBox="0 0 {WIDTH} {height}"'
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" {size} font-family="sans-serif" font-size="12" fill="#222222" role="img">',
        f"<title>{_text(f'{table.calculator} over {axis.label}')}</title>",
        f'<rect width="{WIDTH}" height="{height}" fill="#ffffff"/>',
        f'<text x="20" y="26" font-size="15" font-weight="bold">{_text(table.calculator)}</text>',
    ]
    for number, (_, title, lines, along) in enumerate(panels):
        parts += _panel(table, title, lines, along, HEADING + number * PANEL)
    parts += _legend(table, [panel[0] for panel in panels], height - 12)
    return "".join([*parts, "</svg>"]).encode()


def _axis(table: SweepTable) -> Axis:
    """Numbers of one unit stand to scale; anything else stands side by side as words."""
    inner = [row.inputs[-1] for row in table.rows]
    numbers = [number_of(value) for value in inner]
    units = {unit_of(value) or table.vary_units[-1] for value in inner}
    label = table.vary[-1].removesuffix("/value")
    if len(units) == 1 and (known := [n for n in numbers if n is not None]) and len(known) == len(numbers):
        label += f" [{unit}]" if (unit := next(iter(units))) else ""
        rounds = _ticks(known)
        return Axis(label, dict(enumerate(known)), [(t, f"{t:.10g}") for t in rounds], rounds[0], rounds[-1])
    words = list(dict.fromkeys(_name(value) for value in inner))
    places = {number: float(words.index(_name(value))) for number, value in enumerate(inner)}
    step = math.ceil(len(words) / MOST_WORDS)
    ticks = [(float(i), w[:14] if i % step == 0 else "") for i, w in enumerate(words)]
    return Axis(label, places, ticks, -0.5, len(words) - 0.5)


def _lines(table: SweepTable, pointer: str, axis: Axis) -> list[Line]:
    """The lines of a kept output; none where it is never a number."""
    lines: dict[str, Line] = {}
    broken = True
    for number, row in enumerate(table.rows):
        name = _name(row.inputs[0], table.vary_units[0]) if len(row.inputs) > 1 else ""
        if name not in lines:
            lines[name] = Line(name, _style(len(lines)), [])
            broken = True
        y = number_of(row.kept.get(pointer))
        if y is not None:
            if broken:
                lines[name].pieces.append([])
            lines[name].pieces[-1].append(((axis.places[number], y), str(row.outcome)))
        broken = y is None
    return list(lines.values()) if any(line.pieces for line in lines.values()) else []


def _series_panels(table: SweepTable, pointer: str) -> list[tuple[str, str, list[Line], Axis]]:
    """A panel for each column of a kept series, over the series' own axis: a line for each point of the sweep."""
    kept = [(row, shown) for row in table.rows if (shown := _series(row.kept.get(pointer))) is not None]
    alongs = [value for _, shown in kept for value in shown.along.values]
    if not alongs:
        return []
    first, rounds = kept[0][1], _ticks(alongs)
    axis = Axis(_headed(first.along), {}, [(t, f"{t:.10g}") for t in rounds], rounds[0], rounds[-1])
    panels = []
    for column in first.columns:
        lines = [
            Line(
                ", ".join(_name(v, u) for v, u in zip(row.inputs, table.vary_units, strict=False)),
                _style(place),
                [[((x, y), str(row.outcome)) for x, y in zip(shown.along.values, own.values, strict=True)]],
            )
            for place, (row, shown) in enumerate(kept)
            for own in shown.columns
            if own.name == column.name
        ]
        panels.append((pointer, f"{pointer}: {_headed(column)}", lines, axis))
    return panels


def _headed(column: Column) -> str:
    return column.name if column.unit == "1" else f"{column.name} [{column.unit}]"


def _style(place: int) -> str:
    """Of the line in this place: a colour, and a dash once all colours are taken."""
    colour, dash = COLOURS[place % len(COLOURS)], DASHES[place // len(COLOURS) % len(DASHES)]
    return f'stroke="{colour}" stroke-dasharray="{dash}"' if dash else f'stroke="{colour}"'


def _series(value: Any) -> Series | None:
    """A series where it is one."""
    if not isinstance(value, dict) or value.keys() != {"along", "columns"}:
        return None
    try:
        return msgspec.convert(value, Series)
    except msgspec.ValidationError:
        return None


def _panel(table: SweepTable, title: str, lines: list[Line], axis: Axis, top: int) -> list[str]:
    ys = _ticks([y for line in lines for piece in line.pieces for (_, y), _ in piece])
    floor, width = top + PANEL - BOTTOM, WIDTH - LEFT - RIGHT

    def x_at(x: float) -> float:
        return round(LEFT + (x - axis.low) / (axis.high - axis.low) * width, 2)

    def y_at(y: float) -> float:
        return round(floor - (y - ys[0]) / (ys[-1] - ys[0]) * (PANEL - TOP - BOTTOM), 2)

    parts = [f'<text x="{LEFT}" y="{top + 20}" font-weight="bold">{_text(title)}</text>']
    for y in ys:
        parts.append(f'<path d="M{LEFT} {y_at(y)}h{width}" stroke="#dddddd"/>')
        parts.append(f'<text x="{LEFT - 8}" y="{y_at(y) + 4}" text-anchor="end">{y:.10g}</text>')
    parts.append(f'<path d="M{LEFT} {floor}h{width}" stroke="{GREY}"/>')
    for x, word in axis.ticks:
        parts.append(f'<path d="M{x_at(x)} {floor}v5" stroke="{GREY}"/>')
        parts.append(f'<text x="{x_at(x)}" y="{floor + 19}" text-anchor="middle">{_text(word)}</text>')
    parts.append(f'<text x="{LEFT + width / 2}" y="{floor + 40}" text-anchor="middle">{_text(axis.label)}</text>')
    for number, row in enumerate(table.rows):
        if row.status != 200 and number in axis.places:
            parts.append(_square(x_at(axis.places[number]), floor - 6))
    for line in lines:
        parts += _drawn(line, [[(x_at(x), y_at(y), o) for (x, y), o in piece] for piece in line.pieces])
    return parts + _names(table, lines, top)


def _drawn(line: Line, pieces: list[list[tuple[float, float, str]]]) -> list[str]:
    colour = line.style.split('"')[1]
    parts = [
        f'<polyline points="{" ".join(f"{x},{y}" for x, y, _ in piece)}" fill="none" stroke-width="1.8" {line.style}/>'
        for piece in pieces
        if len(piece) > 1
    ]
    radius = 3 if sum(map(len, pieces)) <= FEW_POINTS else 1.5
    return parts + [_mark(x, y, outcome, colour, radius) for piece in pieces for x, y, outcome in piece]


def _mark(x: float, y: float, outcome: str, colour: str, radius: float = 3) -> str:
    if outcome == "unacceptable":
        return _cross(x, y, colour)
    fill = colour if outcome == "acceptable" else "#ffffff"
    return f'<circle cx="{x}" cy="{y}" r="{radius}" fill="{fill}" stroke="{colour}"/>'


def _cross(x: float, y: float, colour: str) -> str:
    return f'<path d="M{round(x - 3, 2)} {round(y - 3, 2)}l6 6m0-6l-6 6" stroke="{colour}" stroke-width="1.5"/>'


def _square(x: float, y: float) -> str:
    return f'<rect x="{round(x - 2.5, 2)}" y="{round(y - 2.5, 2)}" width="5" height="5" fill="none" stroke="{GREY}"/>'


def _names(table: SweepTable, lines: list[Line], top: int) -> list[str]:
    """Names of the lines, at the right."""
    if not any(line.name for line in lines):
        return []
    x, y = WIDTH - RIGHT + 20, top + TOP
    parts = [f'<text x="{x}" y="{y}" fill="{GREY}">{_text(table.vary[0].removesuffix("/value"), 26)}</text>']
    for number, line in enumerate(lines[:MOST_NAMES], start=1):
        here = y + 16 * number
        parts.append(f'<path d="M{x} {here - 4}h24" stroke-width="1.8" {line.style}/>')
        parts.append(f'<text x="{x + 32}" y="{here}">{_text(line.name, 20)}</text>')
    if len(lines) > MOST_NAMES:
        here = y + 16 * (MOST_NAMES + 1)
        parts.append(f'<text x="{x}" y="{here}" fill="{GREY}">and {len(lines) - MOST_NAMES} more</text>')
    return parts


def _legend(table: SweepTable, drawn: Sequence[str], y: int) -> list[str]:
    """What the marks mean, as far as they are there, and what could not be drawn."""
    x, parts = 20, []
    outcomes = [o for o in ("acceptable", "conditional", "unacceptable") if any(r.outcome == o for r in table.rows)]
    if any(row.status != 200 for row in table.rows):
        outcomes.append("no answer")
    for outcome in outcomes:
        mark = _square(x, y - 4) if outcome == "no answer" else _mark(x, y - 4, outcome, "#333333")
        parts += [mark, f'<text x="{x + 10}" y="{y}">{outcome}</text>']
        x += 100
    if others := [pointer for pointer in table.keep if pointer not in drawn]:
        text = f"not drawn, for want of numbers: {', '.join(others)}"
        parts.append(f'<text x="{x + 10}" y="{y}" fill="{GREY}">{_text(text, (WIDTH - x - 20) // 6)}</text>')
    return parts


def _labelled(table: SweepTable, pointer: str) -> str:
    units: dict[str, None] = dict.fromkeys(unit for row in table.rows if (unit := unit_of(row.kept.get(pointer))))
    return f"{pointer} [{', '.join(units)}]" if units else pointer


def _name(value: Any, unit: str = "") -> str:
    """A value as a person writes it; one that is a number already known to be in a unit gets it."""
    number = number_of(value)
    if number is not None:
        return f"{number:.10g} {unit_of(value) or unit}".rstrip()
    return value if isinstance(value, str) else json.dumps(value)


def _text(text: str, longest: int = 90) -> str:
    return escape(_NOT_XML.sub("\ufffd", text if len(text) <= longest else f"{text[: longest - 1]}…"))


def _ticks(values: Sequence[float]) -> list[float]:
    """Round numbers that span the values."""
    low, high = min(values), max(values)
    if high - low <= 1e-12 * max(abs(high), abs(low), 1e-300):
        spread = abs(low) / 2 or 1.0
        low, high = low - spread, high + spread
    raw = high / 5 - low / 5
    power = 10 ** math.floor(math.log10(raw))
    step = next(m * power for m in (1, 2, 5, 10) if m * power >= raw * 0.999999)
    first, last = math.floor(low / step + 1e-9), math.ceil(high / step - 1e-9)
    return [float(f"{i * step:.12g}") for i in range(first, max(last, first + 1) + 1)]
