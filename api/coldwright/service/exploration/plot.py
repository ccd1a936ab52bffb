"""A sweep as a drawing: one panel for each kept number, one line for each value of the outer input. By Matplotlib."""

import json
import re
from typing import Any, NamedTuple

import msgspec

from coldwright.contract.series import Column, Series
from coldwright.service.exploration.pointers import number_of, unit_of
from coldwright.service.exploration.sweep import SweepTable
from coldwright.sheets.draw import DASHES, GREY, INK, LINE, PAPER, figures, saved

MOST_NAMES = 12
MOST_WORDS = 12
LONGEST = 60
MARKS = {"acceptable": ("o", INK), "conditional": ("o", PAPER), "unacceptable": ("x", INK), "no answer": ("s", PAPER)}
"""How a point says its outcome: by its shape, so that grey print loses nothing."""
_NOT_XML = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]")
Points = dict[str, list[tuple[float, float, str]]]


class Axis(NamedTuple):
    """The inner input: where each row stands along it, and what is written there, where that is no number."""

    label: str
    places: list[float]
    words: list[str]


class Panel(NamedTuple):
    """One pair of axes: a kept number over the inner input, or a column of a kept series over its own axis."""

    pointer: str
    title: str
    axis: Axis
    lines: Points
    named: bool = False
    """Whether its lines have names though one input was varied."""


def plot(table: SweepTable) -> bytes:
    """The drawing. Kept outputs that are no numbers have no panel, and are named below."""
    return saved(lambda: _figure(table), _plain(table.calculator), whole=True).encode()


def _figure(table: SweepTable) -> Any:
    axis = _axis(table)
    panels = [
        Panel(pointer, _labelled(table, pointer), axis, lines)
        for pointer in table.keep
        if (lines := _lines(table, pointer, axis))
    ]
    panels += [panel for pointer in table.keep for panel in _series_panels(table, pointer)]
    figure = figures.Figure(figsize=(7.9, 1.1 + 2.7 * max(1, len(panels))), layout="constrained")
    figure.suptitle(_plain(table.calculator), x=0.02, ha="left", fontweight="bold")
    for number, panel in enumerate(panels):
        axes = figure.add_subplot(len(panels), 1, number + 1)
        _panel(axes, table, panel, f"panel-{number}")
        axes.set_title(panel.title, loc="left", fontsize=9, fontweight="bold")
    drawn = {panel.pointer for panel in panels}
    figure.supxlabel(_below(table, [p for p in table.keep if p not in drawn]), fontsize=8, color=GREY)
    return figure


def _axis(table: SweepTable) -> Axis:
    """Numbers of one unit stand to scale; anything else stands side by side as words."""
    inner = [row.inputs[-1] for row in table.rows]
    numbers = [number_of(value) for value in inner]
    units = {unit_of(value) or table.vary_units[-1] for value in inner}
    label = table.vary[-1].removesuffix("/value")
    if len(units) == 1 and (known := [n for n in numbers if n is not None]) and len(known) == len(numbers):
        unit = next(iter(units))
        return Axis(_plain(f"{label} [{unit}]" if unit else label), known, [])
    words = list(dict.fromkeys(_name(value) for value in inner))
    return Axis(_plain(label), [float(words.index(_name(value))) for value in inner], words)


def _lines(table: SweepTable, pointer: str, axis: Axis) -> Points:
    """The points of each line, with their outcomes; not a number where a point has no answer. Empty without any number."""
    found: Points = {}
    for place, row in zip(axis.places, table.rows, strict=True):
        name = _name(row.inputs[0], table.vary_units[0]) if len(row.inputs) > 1 else ""
        y = number_of(row.kept.get(pointer))
        found.setdefault(name, []).append((place, float("nan") if y is None else y, str(row.outcome)))
    return found if any(y == y for points in found.values() for _, y, _ in points) else {}


def _series_panels(table: SweepTable, pointer: str) -> list[Panel]:
    """A panel for each column of a kept series, over the series' own axis: a line for each point of the sweep."""
    kept = [(row, shown) for row in table.rows if (shown := _series(row.kept.get(pointer))) is not None]
    if not any(shown.along.values for _, shown in kept):
        return []
    first = kept[0][1]
    panels = []
    for column in first.columns:
        lines: Points = {}
        for place, (row, shown) in enumerate(kept):
            name = ", ".join(_name(v, u) for v, u in zip(row.inputs, table.vary_units, strict=False))
            for own in shown.columns:
                if own.name == column.name:
                    points = zip(shown.along.values, own.values, strict=True)
                    lines.setdefault(name or str(place), []).extend((x, y, str(row.outcome)) for x, y in points)
        axis = Axis(_plain(_headed(first.along)), [], [])
        panels.append(Panel(pointer, _plain(f"{pointer}: {_headed(column)}"), axis, lines, named=True))
    return panels


def _headed(column: Column) -> str:
    return column.name if column.unit == "1" else f"{column.name} [{column.unit}]"


def _series(value: Any) -> Series | None:
    """A series where it is one."""
    if not isinstance(value, dict) or value.keys() != {"along", "columns"}:
        return None
    try:
        return msgspec.convert(value, Series)
    except msgspec.ValidationError:
        return None


def _panel(axes: Any, table: SweepTable, panel: Panel, gid: str) -> None:
    axis, lines, named = panel.axis, panel.lines, panel.named or len(table.vary) > 1
    for number, (name, points) in enumerate(lines.items()):
        xs, ys = [x for x, _, _ in points], [y for _, y, _ in points]
        (line,) = axes.plot(xs, ys, color=INK, linewidth=1.3, linestyle=DASHES[number % len(DASHES)])
        line.set_gid(f"{gid}-line-{number}")
        if number < MOST_NAMES and named:
            line.set_label(_plain(name, 24))
        for outcome, (marker, fill) in () if panel.named else MARKS.items():
            at = [(x, y) for x, y, o in points if o == outcome and y == y]
            if at:
                axes.plot(*zip(*at, strict=True), marker, color=INK, markerfacecolor=fill, markersize=4)
    refused = [place for place, row in zip(axis.places, table.rows, strict=False) if row.status != 200]
    if refused:
        marker, fill = MARKS["no answer"]
        floor = {"transform": axes.get_xaxis_transform(), "color": GREY, "markerfacecolor": fill, "clip_on": False}
        axes.plot(refused, [0.0] * len(refused), marker, markersize=5, **floor)
    if named:
        more = f"and {len(lines) - MOST_NAMES} more" if len(lines) > MOST_NAMES else ""
        title = _plain(table.vary[0].removesuffix("/value"), 26)
        axes.legend(title=title, loc="upper left", bbox_to_anchor=(1, 1), frameon=False, fontsize=8)
        if more:
            axes.annotate(more, (1.02, 0), xycoords="axes fraction", fontsize=8, color=GREY)
    if axis.words:
        step = -(-len(axis.words) // MOST_WORDS)
        axes.set_xticks(range(0, len(axis.words), step), [_plain(w, 14) for w in axis.words[::step]])
        axes.set_xlim(-0.5, len(axis.words) - 0.5)
    axes.set_xlabel(axis.label)
    axes.grid(visible=True, axis="y", color=LINE, linewidth=0.6)
    axes.spines[["top", "right"]].set_visible(False)


def _below(table: SweepTable, others: list[str]) -> str:
    """What the marks mean, as far as they are there, and what could not be drawn."""
    signs = {
        "acceptable": "filled",
        "conditional": "hollow",
        "unacceptable": "cross",
        "no answer": "square on the floor",
    }
    there = {str(row.outcome) for row in table.rows} | {"no answer" for row in table.rows if row.status != 200}
    texts = [f"{outcome}: {sign}" for outcome, sign in signs.items() if outcome in there]
    if others:
        texts.append(f"not drawn, for want of numbers: {', '.join(others)}")
    return _plain("; ".join(texts), 110)


def _labelled(table: SweepTable, pointer: str) -> str:
    units: dict[str, None] = dict.fromkeys(unit for row in table.rows if (unit := unit_of(row.kept.get(pointer))))
    return _plain(f"{pointer} [{', '.join(units)}]" if units else pointer)


def _name(value: Any, unit: str = "") -> str:
    """A value as a person writes it; one that is a number already known to be in a unit gets it."""
    number = number_of(value)
    if number is not None:
        return f"{number:.10g} {unit_of(value) or unit}".rstrip()
    return value if isinstance(value, str) else json.dumps(value)


def _plain(text: str, longest: int = LONGEST) -> str:
    """Text that may stand in a drawing: short enough, and nothing that XML forbids."""
    return _NOT_XML.sub("\ufffd", text if len(text) <= longest else f"{text[: longest - 1]}…")
