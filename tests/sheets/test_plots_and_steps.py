"""Plots and steps of a calculator's page, in every form."""

import html
import math
from typing import Any
from xml.etree import ElementTree

import pytest

from coldwright.contract import page
from coldwright.sheets import Sources, lay_out, render
from coldwright.sheets.plot import drawn, rounds
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
    assert 'alt="Pull-down <of> the loop" src="data:image/svg+xml;base64,' in shown
    assert "Open the valves" in shown
    assert render(made, "application/pdf").startswith(b"%PDF-1.")


def test_the_drawing_is_well_formed_and_has_a_line_for_each_series() -> None:
    drawing = drawn(PULL_DOWN)
    assert drawing is not None
    root = ElementTree.fromstring(drawing.svg)
    lines = root.findall("{http://www.w3.org/2000/svg}polyline")
    assert [len(line.get("points", "").split()) for line in lines] == [3, 3]
    assert root.findtext("{http://www.w3.org/2000/svg}title") == "Pull-down <of> the loop"


def test_what_cannot_be_drawn_is_left_out() -> None:
    assert drawn(page.Plot("Empty", "x", "y", ())) is None
    assert drawn(page.Plot("Odd", "x", "y", (page.Series("", ((math.nan, 1.0), (1.0, math.inf))),))) is None


@pytest.mark.parametrize(("low", "high"), [(0, 40), (7, 30), (-3.2, 0.1), (5, 5), (0, 0), (1e-6, 3e-6), (-1e9, 2e9)])
def test_round_numbers_hold_both_ends(low: float, high: float) -> None:
    found = rounds(low, high)
    assert found[0] <= low + 1e-9 * abs(low)
    assert found[-1] >= high - 1e-9 * abs(high)
    assert 2 <= len(found) <= 8
