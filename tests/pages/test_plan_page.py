"""The plan that a dispatcher prints: short, in the words of people, with nothing lost that was asked for."""

import re
from typing import Any

import pytest
from read_pages import PROGRAMS_WORDS, pages_of, shown_in

from coldwright.contract.page import Drawing, Heading, Sheet, Table
from coldwright.sheets import LAST_WORD, render
from coldwright.sheets.pictures import on_paper
from coldwright.sheets.text import as_text

MOST_PAGES = 8


@pytest.mark.parametrize("order", ["process", "comfort", "indoor"])
def test_a_plan_is_at_most_eight_pages_and_in_the_words_of_people(order: str, sheet_for: Any) -> None:
    sheet = sheet_for(order)
    assert 2 <= pages_of(render(sheet, "application/pdf")) <= MOST_PAGES
    text = as_text(sheet, width=200, full=False)
    of_people = text.replace(sheet.foot[-1], "")
    assert not PROGRAMS_WORDS.search(of_people), PROGRAMS_WORDS.search(of_people)
    assert "VALUES TAKEN BY DEFAULT" not in text
    page = render(sheet, "text/html")
    assert len(page) < 90_000, "of the 100,000 that a page may have, so that there is room"
    assert b"<details>" in page
    assert "printed 2027-01-08" in shown_in(page)


def test_everything_is_there_for_whom_asks(sheet_for: Any, plans: dict[str, Any]) -> None:
    sheet = sheet_for("process", details=True)
    shown = re.sub(r"\s", "", shown_in(render(sheet, "text/html")))
    assert b"<details>" not in render(sheet, "text/html")
    assert pages_of(render(sheet, "application/pdf")) > MOST_PAGES
    assert "Valuestakenbydefault" in shown
    for caution in plans["process"]["cautions"]:
        assert re.sub(r"\s", "", caution["statement"].replace("degC", "°C").replace("degF", "°F")) in shown, caution[
            "code"
        ]


def test_what_is_folded_is_in_the_html_and_the_other_forms_say_where_it_is(sheet_for: Any) -> None:
    sheet = sheet_for("process")
    folded = [part for part in sheet.sections if part.folded]
    assert {"Machines", "Supply", "Cable", "Loop", "Liquid and fill"} <= {p.title for p in folded}
    assert all(part.fact for part in folded)
    text = as_text(sheet, full=False)
    assert "details=all" in text
    assert "Along the loop" not in text
    assert "Along the loop" in shown_in(render(sheet, "text/html"))


def test_a_check_says_what_to_do_before_why(sheet_for: Any, plans: dict[str, Any]) -> None:
    page = render(sheet_for("process"), "text/html").decode()
    checks = [f for f in plans["process"]["findings"] if f["severity"] == "check"]
    acted_on = [f for f in checks if f.get("do") or f.get("resolve")]
    assert page.count('<p class="action">') == len({f.get("do") or f["resolve"] for f in acted_on}) > 0


def test_cautions_are_those_of_this_order_each_once(sheet_for: Any, plans: dict[str, Any]) -> None:
    for order, given in plans.items():
        sheet = sheet_for(order)
        (cautions,) = (part for part in sheet.sections if part.title == "Cautions")
        lines = [line for block in cautions.blocks for line in block.items]
        assert len(lines) == len(set(lines)) < len(given["cautions"]) * 0.7
        text = as_text(sheet, width=200, full=False)
        assert text.count(LAST_WORD) == 1
        assert "licensed practice come before" not in text
        if given["results"]["fluid"]["kind"] != "ethylene_glycol":
            assert "Ethylene" not in " ".join(lines)
        if given["given"]["practice"] == "nec":
            assert "residual-current device" not in " ".join(lines)


def test_a_caution_that_nobody_merged_is_printed_as_it_was_written(
    sheet_for: Any, plans: dict[str, Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    new = {"code": "something_new", "hazard": "general", "statement": "Mind the planted caution of 3 degC."}
    monkeypatch.setitem(plans["indoor"], "cautions", [*plans["indoor"]["cautions"], new])
    theirs = new | {"code": "theirs", "statement": "Mind the stranger's tank.", "calculator": "acme.tank"}
    monkeypatch.setitem(plans["indoor"], "cautions", [*plans["indoor"]["cautions"], theirs])
    assert "Mind the stranger's tank." in as_text(sheet_for("indoor"), width=200, full=False), (
        "theirs is not folded away"
    )
    planted = "Mind the planted caution of 3 °C."
    assert planted in as_text(sheet_for("indoor", details=True), width=200, full=True)
    assert planted in shown_in(render(sheet_for("indoor"), "text/html")), "the page folds it away and does not lose it"


def test_ten_cautions_are_printed_and_the_most_important_first(sheet_for: Any, plans: dict[str, Any]) -> None:
    for order, given in plans.items():
        first, more = (
            [line for part in sheet_for(order).sections if part.title == title for b in part.blocks for line in b.items]
            for title in ("Cautions", "More cautions")
        )
        assert len(first) == 10
        assert more
        assert not set(first) & set(more)
        assert first[0].startswith("Only a qualified electrical person"), "what kills stands first"
        exhaust = any(line.startswith("Engine exhaust kills") for line in first)
        assert exhaust == (given["given"]["supply"]["source"] == "generator")


def test_sources_are_cited_by_number_and_common_practice_by_one_sign(sheet_for: Any) -> None:
    sheet = sheet_for("process")
    (assumed,) = (part for part in sheet.sections if part.title == "What was assumed")
    (sources,) = (part for part in sheet.sections if part.title == "Sources")
    known = {row[0] for row in sources.blocks[0].rows}
    cited = {n for _, source in assumed.blocks[0].rows for n in re.findall(r"\[(\d+)\]", source)}
    assert cited
    assert cited <= known
    assert sum("common practice, no source" in str(block) for block in assumed.blocks) == 1
    assert sum("\u2020" in source for _, source in assumed.blocks[0].rows) > 1


@pytest.mark.parametrize("order", ["process", "comfort", "indoor"])
def test_the_place_is_drawn_in_html_and_pdf(order: str, sheet_for: Any) -> None:
    sheet = sheet_for(order)
    (part,) = (part for part in sheet.sections if part.title == "Where they stand")
    (drawing,) = (block for block in part.blocks if isinstance(block, Drawing))
    assert not part.folded, "a PDF leaves out what is folded"
    assert on_paper(drawing, 400, 300) is not None
    page = render(sheet, "text/html")
    assert f'alt="{drawing.title}'.encode() in page


@pytest.mark.parametrize("order", ["process", "comfort", "indoor"])
def test_everything_to_load_stands_under_the_vehicle_it_travels_on(
    order: str, sheet_for: Any, plans: dict[str, Any]
) -> None:
    """Hoses, cables, set, pumps and tools too; fuel is ordered, and on no vehicle."""
    results = plans[order]["results"]
    (part,) = (part for part in sheet_for(order).sections if part.title == "What to load")
    headings = [block.text for block in part.blocks if isinstance(block, Heading)]
    assert len(headings) == results["site"]["transport"]["number_of_loads"]
    assert all(text.startswith(f"Load {n}: ") for n, text in enumerate(headings, 1))
    tables = [block for block in part.blocks if isinstance(block, Table)]
    loaded = sum(int(row[1].removesuffix(" x").replace(",", "")) for table in tables for row in table.rows)
    lines = [line for line in results["pick_list"] if not line["item"].startswith("fuel")]
    assert loaded == sum(line["count"] for line in lines)
    short = [line for line in lines if line["stock_short"] or not line["from_stock"]]
    marked = [row for table in tables for row in table.rows if len(row) > 3 and row[3]]
    assert len(marked) == sum(len(line["carried_on"]) for line in short)


def test_a_plan_in_us_units_is_in_no_other(us_sheet: Sheet, us_plan: dict[str, Any]) -> None:
    """The drawing of the place in feet, cooling in tons in its sentences too; kW are those of motors and sets."""
    (drawing,) = (b for part in us_sheet.sections for b in part.blocks if isinstance(b, Drawing))
    written = re.findall(r">([^<>]+)</text>", drawing.svg)
    assert any(" 1 in is " in text for text in written)
    assert not [text for text in written if re.search(r"\d m\b", text)]
    text = as_text(us_sheet, width=400, full=False)
    named = {n["item"] for n in us_plan["results"]["pick_list"]}
    for item in sorted(named, key=len, reverse=True):
        text = text.replace(item, "")
    text = re.sub(
        r"\d+ °C class", "", text
    )  # of insulation and terminations: NEC 2023, Table 310.16, heads its columns so
    assert not re.search(r"\d (m|m/min|kPa|L/s|kg|°C|m²|kN)(?![\w/²])", text), text
    cooling = {us_plan["results"]["design_load"]["value"], us_plan["results"]["load"]["gross"]["value"]}
    for tons in cooling:
        kilowatts = tons * 3.5168528421
        assert f"{kilowatts:.5g} kW" not in text
    assert us_plan["results"]["load"]["pump_heat"]["unit"] == "ton"
