"""Plots, bars and levels as drawings, by Matplotlib, which is loaded when something is drawn for the first time.

Ink on paper, so that grey print loses nothing: lines differ by dash and carry their names. The same block gives the same bytes.
"""

import io
import math
import threading
from collections.abc import Callable, Iterator, Sequence
from functools import lru_cache
from typing import Any, Literal

from coldwright.contract.lazy import lazy
from coldwright.contract.page import Bars, Column, Drawing, Levels, Plot, Span, Table
from coldwright.contract.people import number, plain_text
from coldwright.sheets.shrink import shrunk

Letters = Literal["text", "paths"]
"""Text is smaller, and can be searched; paths look alike on every paper."""
INK, PAPER, GREY, LINE = "#14130f", "#fffefa", "#4a4841", "#b9b5a9"
DASHES: tuple[Any, ...] = ("-", (0, (6, 2)), (0, (1.5, 1.5)), (0, (6, 2, 1.5, 2)), (0, (10, 3)))
WIDE = 6.4
"""Inches."""
MOST_LEVELS = 12
BARS_WIDE, MARGINS = 7.2, 30.0
"""Inches of a drawing of bars; points of its margins and ticks, beside the names of the lanes."""
FULL = 1.25
"""The share of a limit at which a bar of levels ends: more is written, and no longer drawn."""

matplotlib = lazy("matplotlib")
letters_of = lazy("matplotlib.textpath")
figures = lazy("matplotlib.figure")
_drawing = threading.Lock()
"""The library keeps its settings for the whole process: one drawing is made at a time."""


def drawn(block: Plot | Bars | Levels, letters: Letters = "text") -> Drawing | None:
    """The drawing; nothing where there is nothing to draw."""
    match block:
        case Plot():
            if not any(all(map(math.isfinite, p)) for s in block.series for p in s.points):
                return None
            return Drawing(plain_text(block.title), _svg(_plot, block, letters), block.says)
        case Bars():
            if not any(lane.spans for lane in block.lanes):
                return None
            return Drawing(plain_text(block.title), _svg(_bars, block, letters), block.says)
        case Levels():
            says = "; ".join(f"{level.name}: {level.text}" for level in block.items)
            return Drawing(plain_text(block.title), _svg(_levels, block, letters), plain_text(says)) if says else None


def tabled(plot: Plot) -> Table:
    """The numbers: a row for each place along the bottom, a column for each line."""
    known = [dict(s.points) for s in plot.series]
    places = sorted({x for line in known for x in line})
    rows = tuple((number(x, 4), *(number(line[x], 4) if x in line else "" for line in known)) for x in places)
    heads = (plain_text(plot.across), *(plain_text(s.name) or plain_text(plot.up) for s in plot.series))
    return Table(tuple(Column(head, 12, number=True) for head in heads), rows)


@lru_cache(maxsize=256)
def _svg(draw: Callable[[Any], Any], block: Plot | Bars | Levels, letters: Letters) -> str:
    return saved(lambda: draw(block), block.title, letters)


def saved(draw: Callable[[], Any], title: str, letters: Letters = "text", *, whole: bool = False) -> str:
    """What `draw` draws, as SVG that is the same each time. Figures of the library are made inside of it alone.

    `whole`: every point stays, also those on a straight line between others.
    """
    settings = {
        "svg.fonttype": "none" if letters == "text" else "path",
        "svg.hashsalt": "coldwright",
        "font.family": "sans-serif",
        "font.sans-serif": ["DejaVu Sans"],
        "font.size": 9,
        "text.color": INK,
        "axes.edgecolor": INK,
        "axes.labelcolor": INK,
        "xtick.color": INK,
        "ytick.color": INK,
        "text.parse_math": False,
        "ytick.major.size": 0,  # a line of the grid is there already
        "path.simplify": not whole,
    }
    target = io.StringIO()
    with _drawing, matplotlib.rc_context(settings):
        figure = draw()
        nothing = dict.fromkeys(("Creator", "Date", "Format", "Type"))
        figure.savefig(target, format="svg", facecolor=PAPER, metadata=nothing | {"Title": plain_text(title)[:200]})
    text = target.getvalue()
    text = text[text.index("<svg") :]
    return shrunk(text, rounded=True) if letters == "text" else text


def figure_of(high: float, wide: float = WIDE) -> tuple[Any, Any]:
    """A figure with one pair of axes, in the house's style."""
    figure = figures.Figure(figsize=(wide, high), layout="constrained")
    axes = figure.subplots()
    axes.spines[["top", "right"]].set_visible(False)
    axes.patch.set_visible(False)
    return figure, axes


def name_at_end(axes: Any, x: float, y: float, name: str, below: float = 0.0) -> None:
    """The name of a line at its end, where it needs no legend; a little `below` it where something else stands there."""
    axes.annotate(plain_text(name), (x, y), xytext=(5, -below), textcoords="offset points", va="center", fontsize=8)


def _plot(plot: Plot) -> Any:
    figure, axes = figure_of(2.9)
    for place, line in enumerate(plot.series):
        points = [(x, y) for x, y in line.points if math.isfinite(x) and math.isfinite(y)]
        if points:
            axes.plot(*zip(*points, strict=True), color=INK, linewidth=1.8, linestyle=DASHES[place % len(DASHES)])
            if line.name:
                taken = any(math.dist(points[-1], (s.x, s.y)) < abs(s.x) / 20 + abs(s.y) / 20 for s in plot.spots)
                name_at_end(axes, *points[-1], line.name, below=9.0 if taken else 0.0)
    for bound in plot.bounds:
        shown = {"color": GREY, "linewidth": 1.2, "linestyle": (0, (4, 3))}
        if bound.upright:
            axes.axvline(bound.at, **shown)
            where: dict[str, Any] = {"xy": (bound.at, 0.98), "xycoords": axes.get_xaxis_transform(), "rotation": 90}
            axes.annotate(
                plain_text(bound.text), xytext=(2, 0), textcoords="offset points", va="top", fontsize=8, **where
            )
        else:
            axes.axhline(bound.at, **shown)
            where = {"xy": (0.99, bound.at), "xycoords": axes.get_yaxis_transform(), "ha": "right"}
            axes.annotate(plain_text(bound.text), xytext=(0, 3), textcoords="offset points", fontsize=8, **where)
    for spot in plot.spots:
        axes.plot([spot.x], [spot.y], "o", color=INK, markersize=6)
        axes.annotate(
            plain_text(spot.text),
            (spot.x, spot.y),
            xytext=(7, 7),
            textcoords="offset points",
            fontsize=8,
            fontweight="bold",
            bbox={"facecolor": PAPER, "edgecolor": "none", "pad": 0.8},
        )
    axes.set_xlabel(plain_text(plot.across))
    axes.set_ylabel(plain_text(plot.up))
    axes.grid(visible=True, axis="y", color=LINE, linewidth=0.6)
    axes.margins(x=0.02, y=0.12)
    return figure


def _bars(bars: Bars) -> Any:
    longest = max((span.end for lane in bars.lanes for span in lane.spans), default=1.0) or 1.0
    names = max(_points_wide(plain_text(lane.name), 9) for lane in bars.lanes)
    wide = BARS_WIDE * 72 - names - MARGINS
    # the time along the bottom at which the text beside the last bar still ends inside of the drawing
    shown = max(span.end / max(0.2, 1 - _room(span) / wide) for lane in bars.lanes for span in lane.spans)
    points = wide / max(shown, longest * 1.02)
    rows = [
        (lane.name if not place else "", spans)
        for lane in bars.lanes
        for place, spans in enumerate(_rows(lane.spans, points))
    ]
    figure, axes = figure_of(0.7 + 0.27 * len(rows), BARS_WIDE)
    for place, (_, spans) in enumerate(rows):
        for span in spans:
            long = max(span.end - span.start, longest / 200)
            axes.barh(
                place,
                long,
                left=span.start,
                height=0.72,
                edgecolor=INK,
                linewidth=1,
                color=INK if span.strong else PAPER,
                clip_on=False,
            )
            inside = _room(span) / points < long
            axes.text(
                span.start + (0 if inside else long) + 2 / points,
                place,
                plain_text(span.text),
                va="center",
                fontsize=7,
                color=PAPER if span.strong and inside else INK,
                clip_on=False,
                in_layout=False,
            )
    named = {place: plain_text(name) for place, (name, _) in enumerate(rows) if name}
    axes.set_yticks(list(named), list(named.values()))
    axes.set_ylim(len(rows) - 0.3, -0.7)
    axes.set_xlim(0, wide / points)
    axes.locator_params(axis="x", integer=True)
    axes.set_xlabel(plain_text(bars.across))
    axes.grid(visible=True, axis="x", color=LINE, linewidth=0.6)
    axes.set_axisbelow(True)
    axes.tick_params(length=0)
    return figure


@lru_cache(maxsize=1000)
def _points_wide(text: str, size: float) -> float:
    """How wide letters of this size are in the font that the drawing is made with."""
    return float(letters_of.TextPath((0, 0), text, size=size).get_extents().width) if text.strip() else 0.0


def _room(span: Span) -> float:
    """Points that the text of a bar takes, with a little air."""
    return _points_wide(plain_text(span.text), 7) + 7


def _rows(spans: Sequence[Span], points: float) -> Iterator[list[Span]]:
    """Spans of one lane in as many rows as keep their texts apart, at so many points for each unit of time."""
    rows: list[list[Span]] = []
    for span in sorted(spans, key=lambda s: (s.start, s.end)):
        for row in rows:
            last, room = row[-1], _room(row[-1]) / points
            if last.end + (0.0 if room < last.end - last.start else room) <= span.start:
                row.append(span)
                break
        else:
            rows.append([span])
    yield from rows


def _levels(levels: Levels) -> Any:
    items = levels.items[:MOST_LEVELS]
    figure, axes = figure_of(0.5 + 0.25 * len(items), 7.2)
    for place, item in enumerate(items):
        over = item.used > 1
        axes.barh(
            place,
            max(0.0, min(item.used, FULL)),
            height=0.6,
            color=INK if over else LINE,
            edgecolor=INK,
            linewidth=1,
            hatch="//" if over else None,
        )
        axes.text(
            FULL + 0.02, place, plain_text(item.text), va="center", fontsize=8, fontweight="bold" if over else "normal"
        )
    axes.axvline(1.0, color=INK, linewidth=2)
    axes.set_yticks(range(len(items)), [plain_text(item.name) for item in items])
    axes.set_xticks([0, 0.5, 1], ["0", "half", "limit"])
    axes.set_xlim(0, FULL + 0.55)
    axes.spines[["bottom", "left"]].set_visible(False)
    axes.tick_params(length=0)
    axes.set_ylim(len(items) - 0.4, -0.6)
    return figure
