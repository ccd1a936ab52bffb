"""Plots and steps of a calculator's page, in every form."""

import html
import math
from typing import Any
from xml.etree import ElementTree

import pytest
from msgspec.structs import replace

from coldwright.contract import page
from coldwright.sheets import Sources, draw, lay_out, render
from coldwright.sheets.draw import drawn
from coldwright.sheets.pictures import SMALLEST, on_paper, shrinking
from coldwright.sheets.shrink import shrunk
from coldwright.sheets.text import as_text

PULL_DOWN = page.Plot(
    "Pull-down <of> the loop",
    "Time, min",
    "Leaving, degC",
    (page.Series("2 machines", ((0, 30), (10, 18), (20, 7))), page.Series("1 machine", ((0, 30), (20, 19), (40, 7)))),
)
STEPS = page.Steps(
    (
        page.Step("Open the valves", when="0:10", who="mechanic", good_when="the lever stands along the pipe"),
        page.Step("Vent"),
    )
)


def sheet(answer: dict[str, Any], sources: Sources, *blocks: page.Block) -> page.Sheet:
    made = page.Page("Test", "T", "plain", "V", sections=page.present((page.section("Blocks", *blocks),)))
    return lay_out(made, answer, sources)


def test_every_form_has_the_numbers_and_the_steps(example_answers: dict[str, Any], sources: Sources) -> None:
    made = sheet(example_answers["hydronic.loop"], sources, PULL_DOWN, STEPS)
    text = " ".join(as_text(made).split())
    assert "Time, min 2 machines 1 machine" in text
    assert "20 7 19" in text
    assert "1 0:10 Open the valves mechanic the lever stands along the pipe" in text
    shown = html.unescape(render(made, "text/html").decode())
    assert 'alt="Pull-down <of> the loop" src="data:image/svg+xml,' in shown
    assert "Open the valves" in shown
    assert render(made, "application/pdf").startswith(b"%PDF-1.")


SVG = "{http://www.w3.org/2000/svg}"


def words_of(svg: str) -> list[str]:
    """Every text of a drawing."""
    return [t.text or "" for t in ElementTree.fromstring(svg).iter(f"{SVG}text")]


def test_the_drawing_is_well_formed_and_names_every_line_and_limit() -> None:
    whole = replace(
        PULL_DOWN,
        spots=(page.Spot(10, 18, "here"),),
        bounds=(page.Bound(5, "least <5>"), page.Bound(30, "upright", True)),
    )
    drawing = drawn(whole)
    assert drawing is not None
    assert ElementTree.fromstring(drawing.svg).findtext(f"{SVG}title") == "Pull-down <of> the loop"
    assert {"2 machines", "1 machine", "here", "least <5>", "upright", "Time, min", "Leaving, degC"} <= set(
        words_of(drawing.svg)
    )
    assert drawn(whole) == drawing, "the same block gives the same bytes"
    assert "<text" not in drawn(whole, "paths").svg  # type: ignore[union-attr]


@pytest.mark.parametrize(("room", "share"), [(900, 1.0), (300, 280 / 330), (100, SMALLEST)])
def test_a_drawing_shrinks_to_the_room_of_its_page_as_far_as_one_can_read_it(room: float, share: float) -> None:
    svg = '<svg xmlns="http://www.w3.org/2000/svg" width="100" height="66"><rect width="99" height="65"/></svg>'
    made = on_paper(page.Drawing("A box", svg), 500, 330)
    assert made.height == pytest.approx(330)
    shrinking(made, 20).wrap(500, room)
    assert made.wrap(500, room) == pytest.approx((500 * share, 330 * share))


def test_bars_and_levels_say_in_words_what_they_draw(example_answers: dict[str, Any], sources: Sources) -> None:
    bars = page.Bars(
        "Who does what",
        "hours",
        (page.Lane("mechanic", (page.Span(0, 1, "Hoses"), page.Span(0.5, 2, "Fill", strong=True))),),
    )
    levels = page.Levels(
        "Room left", (page.Level("Night sound", "5.6 dB over", 1.2), page.Level("Hose", "half left", 0.5))
    )
    assert {"mechanic", "Hoses", "Fill", "hours"} <= set(words_of(drawn(bars).svg))  # type: ignore[union-attr]
    assert {"Night sound", "5.6 dB over", "half left"} <= set(words_of(drawn(levels).svg))  # type: ignore[union-attr]
    made = sheet(example_answers["hydronic.loop"], sources, bars, levels)
    text = " ".join(as_text(made).split())
    assert "Night sound 5.6 dB over" in text
    assert "Who does what: a drawing" in text
    assert render(made, "application/pdf").startswith(b"%PDF-1.")


def test_what_cannot_be_drawn_is_left_out() -> None:
    assert drawn(page.Plot("Empty", "x", "y", ())) is None
    assert drawn(page.Plot("Odd", "x", "y", (page.Series("", ((math.nan, 1.0), (1.0, math.inf))),))) is None
    assert drawn(page.Bars("None", "h", (page.Lane("nobody", ()),))) is None
    assert drawn(page.Levels("None", ())) is None


@pytest.mark.parametrize(
    "reach",
    [
        '<image href="file:///etc/hostname" width="9" height="9"/>',
        '<image xlink:href="http://127.0.0.1:9/x.png" width="9" height="9"/>',
        '<use href="other.svg#a"/>',
        '<rect width="9" height="9" fill="url(http://127.0.0.1:9/x)"/>',
        "<style>@import 'http://127.0.0.1:9/x.css';</style>",
    ],
)
def test_a_drawing_that_reaches_outside_is_not_printed(reach: str) -> None:
    ours = '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" width="9" height="9">{}</svg>'
    assert on_paper(page.Drawing("Good", ours.format('<rect width="9" height="9"/>')), 100, 100) is not None
    assert on_paper(page.Drawing("Bad", ours.format(reach)), 100, 100) is None
    assert (
        on_paper(page.Drawing("Entity", '<!DOCTYPE svg [<!ENTITY e SYSTEM "file:///etc/hostname">]>' + ours), 9, 9)
        is None
    )
    assert on_paper(page.Drawing("Broken", "<svg"), 9, 9) is None


def test_no_name_of_a_bar_is_drawn_over_another_or_outside() -> None:
    """What Matplotlib itself says of the extents of its texts: none meets another, all are inside."""
    names = [f"{'Bring the pressure back and ' * (n % 3)}do thing number {n}" for n in range(12)]
    spans = tuple(page.Span(n * 0.3, n * 0.3 + 0.2, name, strong=n % 2 == 0) for n, name in enumerate(names))
    lanes = (page.Lane("technician", spans), page.Lane("by itself", (page.Span(0, 9, "Oil warms up", strong=True),)))
    figure = draw._bars(page.Bars("Who", "Hours", lanes))
    figure.draw_without_rendering()
    boxes = [t.get_window_extent() for t in figure.axes[0].texts]
    assert len(boxes) == 13
    for place, box in enumerate(boxes):
        assert box.x1 <= figure.bbox.x1
        assert not any(box.overlaps(other) for other in boxes[:place])


def test_a_drawing_says_the_same_in_fewer_bytes() -> None:
    """Lines along and across by where they end, an edge under a text as part of it, short names; a curve stays as it is."""
    text = '<text x="5" y="6" fill="#111111" stroke="{}" stroke-width="0.9">Pump &amp; set</text>'
    svg = (
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 400 300"><defs><clipPath id="a-long-name"><path d="M 0 0 L 9 0"/>'
        f"</clipPath></defs>{text.format('#ffffff')}{text.format('none')}"
        '<path clip-path="url(#a-long-name)" d="M 1 1 L 5 1 L 5 4 L 7 9 Z"/><path d="M 1 1 C 1 2 3 4 5 6 L 5 9"/></svg>'
    )
    made = ElementTree.fromstring(shrunk(svg))
    (said,) = made.iter(f"{SVG}text")
    assert said.text == "Pump & set"
    looks = "".join(e.text or "" for e in made.iter(f"{SVG}style")) + ElementTree.tostring(said, encoding="unicode")
    assert "paint-order" in looks
    assert "#ffffff" in looks
    assert [path.get("d") for path in made.iter(f"{SVG}path")] == ["M0 0H9", "M1 1H5V4L7 9Z", "M1 1C1 2 3 4 5 6L5 9"]
    assert [e.get("id") for e in made.iter(f"{SVG}clipPath")] == ["i0"]
    assert "url(#i0)" in ElementTree.tostring(made, encoding="unicode")
