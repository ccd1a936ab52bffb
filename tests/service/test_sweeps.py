"""Sweeps: a calculator over one or two inputs, as a table and as a drawing. All data are invented."""

import itertools
import re
from typing import Any
from xml.etree import ElementTree

import msgspec
import pytest
from litestar import Litestar
from litestar.testing import TestClient

from coldwright.service.exploration import sweep as sweeping
from coldwright.service.exploration.plot import plot
from coldwright.service.exploration.sweep import Range, SweepRow, SweepTable
from coldwright_electrical.explorations import SWEEP_EXAMPLE

Client = TestClient[Litestar]
FEEDER: dict[str, Any] = dict(SWEEP_EXAMPLE.given["given"])
DROP = "/results/drop_running_fraction"
SVG = "{http://www.w3.org/2000/svg}"


def body(*vary: dict[str, Any], keep: tuple[str, ...] = (DROP,), **more: Any) -> dict[str, Any]:
    return {"calculator": "electrical.feeder", "given": FEEDER, "vary": list(vary), "keep": list(keep)} | more


def wave(*vary: dict[str, Any], keep: tuple[str, ...] = ("/results/y",), **given: Any) -> dict[str, Any]:
    return body(*vary, keep=keep, calculator="invented.wave", given={"x": 1} | given)


def over(pointer: str, *values: Any) -> dict[str, Any]:
    return {"pointer": pointer, "values": list(values)}


def between(pointer: str, first: float, last: float, count: int) -> dict[str, Any]:
    return {"pointer": pointer, "range": {"from": first, "to": last, "count": count}}


def table(client: Client, sweep: dict[str, Any], query: str = "") -> dict[str, Any]:
    reply = client.post(f"/v1/sweeps{query}", json=sweep)
    assert reply.status_code == 200, reply.text
    told: dict[str, Any] = reply.json()
    return told


def refusal(client: Client, sweep: dict[str, Any]) -> list[dict[str, Any]]:
    reply = client.post("/v1/sweeps", json=sweep)
    assert reply.status_code == 422, reply.text
    errors: list[dict[str, Any]] = reply.json()["errors"]
    return errors


def drawing(client: Client, sweep: dict[str, Any]) -> ElementTree.Element:
    reply = client.post("/v1/sweeps", json=sweep, headers={"accept": "image/svg+xml"})
    assert reply.status_code == 200, reply.text
    assert reply.headers["content-type"].startswith("image/svg+xml")
    return parsed(reply.content)


def parsed(svg: bytes) -> ElementTree.Element:
    assert b"NaN" not in svg
    assert b"inf" not in svg
    return ElementTree.fromstring(svg)


def texts(root: ElementTree.Element) -> list[str]:
    return [t.text or "" for t in root.iter(f"{SVG}text")]


def lines_of(root: ElementTree.Element) -> list[list[list[tuple[float, float]]]]:
    """The lines of every panel, each in pieces, broken where there is no answer: their points as they are drawn."""
    found = []
    for group in root.iter(f"{SVG}g"):
        if "-line-" in group.attrib.get("id", ""):
            path = " ".join(p.attrib["d"] for p in group.iter(f"{SVG}path"))
            pieces = [re.findall(r"(-?[\d.]+) (-?[\d.]+)", piece) for piece in path.split("M")[1:]]
            found.append([[(float(x), float(y)) for x, y in piece] for piece in pieces])
    return found


@pytest.mark.parametrize("query", ["", "?units=us"])
def test_every_row_is_what_the_calculator_answers_alone(client: Client, query: str) -> None:
    lengths, sizes = (20, 60, 190.5), ("3/0 AWG", "4/0 AWG")
    keep = (DROP, "/results/loss", "/findings/0/code")
    told = table(client, body(over("/conductor_size", *sizes), over("/length", *lengths), keep=keep), query)
    assert told["vary"] == ["/conductor_size", "/length"]
    assert told["vary_units"] == ["", "m"]
    assert [tuple(r["inputs"]) for r in told["rows"]] == list(itertools.product(sizes, lengths))
    for row in told["rows"]:
        size, length = row["inputs"]
        given = FEEDER | {"conductor_size": size, "length": {"value": length, "unit": "m"}}
        alone = client.post(f"/v1/calculators/electrical/feeder{query}", json=given).json()
        assert row["status"] == 200
        assert row["outcome"] == alone["outcome"]
        assert row["kept"] == {
            DROP: alone["results"]["drop_running_fraction"],
            "/results/loss": alone["results"]["loss"],
            "/findings/0/code": alone["findings"][0]["code"],
        }


@pytest.mark.parametrize("pointer", ["/length", "/length/value"])
def test_a_range_has_exact_ends_and_even_steps(client: Client, pointer: str) -> None:
    rows = table(client, body(between(pointer, 20, 21, 11)))["rows"]
    assert [r["inputs"][0] for r in rows] == [20, 20.1, 20.2, 20.3, 20.4, 20.5, 20.6, 20.7, 20.8, 20.9, 21]
    down = table(client, body(between(pointer, 21, 20, 3)))["rows"]
    assert [r["inputs"][0] for r in down] == [21, 20.5, 20]
    assert down[0]["kept"] == rows[-1]["kept"]


def test_the_ends_of_a_range_are_not_rounded() -> None:
    numbers = Range(from_=0.1234567890123456, to=1e15 - 0.125, count=7).numbers()
    assert (numbers[0], numbers[-1], len(numbers)) == (0.1234567890123456, 1e15 - 0.125, 7)


def test_whole_quantities_words_and_members_that_are_not_there_yet_can_be_put(client: Client) -> None:
    feet = {"value": 100, "unit": "ft"}
    rows = table(client, body(over("/length", feet, 30.48), over("/crossings", 0, 2), keep=(DROP,)))["rows"]
    assert len({r["kept"][DROP] for r in rows}) == 1
    assert [r["status"] for r in rows] == [200] * 4


def test_a_refused_point_is_a_row_that_says_why(client: Client) -> None:
    sweep = body(over("/conductor_size", "3/0 AWG", "Bogus"), over("/length", 60, -1))
    rows = table(client, sweep)["rows"]
    assert [r["status"] for r in rows] == [200, 422, 422, 422]
    assert all(("problem" in r) == (r["status"] != 200) for r in rows)
    assert all(r["kept"] == {} and "outcome" not in r for r in rows[1:])
    assert [{e["pointer"] for e in r["problem"]["errors"]} for r in rows[1:3]] == [{"#/vary/1"}, {"#/vary/0"}]
    assert rows[1]["problem"]["errors"][0]["value"] == {"value": -1.0, "unit": "m"}
    elsewhere = table(client, sweep | {"given": FEEDER | {"practice": "none"}})["rows"]
    assert "#/given/practice" in {e["pointer"] for e in elsewhere[0]["problem"]["errors"]}


def test_what_is_kept_and_not_there_is_left_out(client: Client) -> None:
    row = table(client, body(over("/length", 60), keep=("/results/nothing", "/outcome")))["rows"][0]
    assert row["kept"] == {"/outcome": "acceptable"}


def test_one_that_breaks_spoils_no_other(invented: Client) -> None:
    rows = table(invented, wave(over("/mode", "wave", "defect", "surprise")))["rows"]
    assert [r["status"] for r in rows] == [200, 500, 500]


def test_what_cannot_run_is_refused_with_every_reason(client: Client) -> None:
    nowhere = refusal(client, body(over("/cable/length", 1), {"pointer": "length"}))
    assert [(e["pointer"], e["code"]) for e in nowhere] == [
        ("#/vary/0/pointer", "no_such_place"),
        ("#/vary/1", "either_or"),
        ("#/vary/1/pointer", "no_such_place"),
    ]
    both = over("/length", 1) | {"range": {"from": 1, "to": 2, "count": 2}}
    assert refusal(client, body(both))[0]["code"] == "either_or"
    (many,) = refusal(client, body(between("/length", 1, 2, 201), between("/load_current", 1, 2, 10)))
    assert (many["pointer"], many["value"], many["allowed"]) == ("#/vary", 2010, {"maximum": 2000})
    for first, second in (
        ("/length", "/length"),
        ("/length", "/length/value"),
        ("/length/value", "/length"),
        ("", "/length"),
    ):
        assert [e["pointer"] for e in refusal(client, body(over(first, 1), over(second, 1)))] == ["#/vary/1/pointer"]
    assert refusal(client, body(keep=()))
    assert client.post("/v1/sweeps", json=body(over("/length", 1), calculator="no.such")).status_code == 404


def test_the_most_points_are_answered(invented: Client) -> None:
    assert len(table(invented, wave(between("/x", 0, 1, 2000)))["rows"]) == 2000


def test_rows_that_have_no_room_say_so_and_the_rest_are_answered(
    client: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    few = body(between("/length", 10, 100, 20), keep=("/results",))
    one = len(msgspec.json.encode(table(client, few)["rows"][0]))
    monkeypatch.setattr(sweeping, "MOST_KEPT", 6 * one)
    told = table(client, few)
    assert [row["status"] for row in told["rows"][:5]] == [200] * 5
    assert {row["status"] for row in told["rows"][7:]} == {413}
    assert told["rows"][-1]["kept"] == {}
    assert "keep less" in told["rows"][-1]["problem"]["detail"]


def test_varied_inputs_that_would_fill_the_table_by_themselves_are_refused(client: Client) -> None:
    """A long text in one of two lists would stand in a thousand rows."""
    long = over("/anything", "x" * 400_000, "y")
    (error,) = refusal(client, body(long, between("/length", 10, 100, 1000)))
    assert (error["pointer"], error["code"]) == ("#/vary", "out_of_range")
    assert "by the varied inputs alone" in error["detail"]


def test_a_long_input_is_swept_as_a_short_one_is(invented: Client) -> None:
    swept = wave(over("/x", 1, 2), note="n" * 120_000)
    reply = invented.post("/v1/sweeps", json=swept)
    assert reply.status_code == 200, reply.text
    (first, second) = reply.json()["rows"]
    assert (first["status"], second["status"]) == (422, 422)
    assert first["problem"]["errors"][0]["pointer"] == "#/given/note"


def test_a_drawing_has_a_panel_with_labels_and_units_for_each_number(client: Client) -> None:
    keep = (DROP, "/results/voltage_at_machine", "/outcome", "/nothing")
    sweep = body(over("/load_current", 60, 144), between("/length", 20, 300, 8), keep=keep)
    root = drawing(client, sweep)
    told = texts(root)
    assert "electrical.feeder" in told
    assert {DROP, "/results/voltage_at_machine [V]"} <= set(told)
    assert told.count("/length [m]") == 2
    assert told.count("60 A") == told.count("144 A") == 2
    assert "acceptable: filled; conditional: hollow; not drawn, for want of numbers: /outcome, /nothing" in told
    assert [[len(piece) for piece in line] for line in lines_of(root)] == [[8]] * 4


def test_points_stand_where_their_numbers_are(client: Client) -> None:
    """The drop is proportional to the length, so the points of the drawing are on one straight line.

    They are written to a tenth of a point: a difference is right to 0.1, and its triple to 0.3."""
    root = drawing(client, body(over("/length", 50, 100, 200)))
    (((x0, y0), (x1, y1), (x2, y2)),) = lines_of(root)[0]
    assert (x2 - x0) == pytest.approx(3 * (x1 - x0), abs=0.41)
    assert (y2 - y0) == pytest.approx(3 * (y1 - y0), abs=0.41)
    assert x2 > x1 > x0
    assert y2 < y1 < y0


def test_a_line_is_broken_where_there_is_no_answer(client: Client) -> None:
    root = drawing(client, body(over("/length", 10, 20, -1, 40, 50)))
    assert [len(piece) for piece in lines_of(root)[0]] == [2, 2]
    assert any("no answer" in text for text in texts(root))


def test_words_stand_side_by_side(client: Client) -> None:
    sizes = ("3/0 AWG", "4/0 AWG", "250 kcmil")
    told = texts(drawing(client, body(over("/conductor_size", *sizes))))
    assert [t for t in told if t in sizes] == list(sizes)
    assert "/conductor_size" in told
    mixed = texts(drawing(client, body(over("/length", {"value": 50, "unit": "ft"}, 50))))
    assert {"50 ft", "50"} <= set(mixed)  # feet and metres are never put on one scale


@pytest.mark.parametrize(
    "sweep",
    [
        wave(over("/x", 3)),
        wave(over("/x", 1, 2, 3), mode="flat"),
        wave(over("/x", 0)),
        wave(over("/x", -1000, 1000), mode="huge"),
        wave(over("/x", 1, 1 + 1e-15)),
        wave(over("/x", 5e-324, 0), mode="huge"),
        wave(over("/x", 1), keep=("/results/text",)),
        wave(over("/x", "no number")),
        wave(over("/mode", "defect"), over("/x", 1, 2)),
        wave(over("/mode", *(str(n) for n in range(40))), over("/x", 1, 2)),
    ],
    ids=["one", "level", "zero", "huge", "close", "least", "no number kept", "none taken", "all broken", "many lines"],
)
def test_odd_sweeps_are_drawn_all_the_same(invented: Client, sweep: dict[str, Any]) -> None:
    root = drawing(invented, sweep)
    _, _, width, height = map(float, root.attrib["viewBox"].split())
    for mark in root.iter(f"{SVG}use"):
        assert 0 <= float(mark.attrib["x"]) <= width
        assert 0 <= float(mark.attrib["y"]) <= height


def test_more_lines_than_have_a_name_are_counted(invented: Client) -> None:
    assert "and 28 more" in texts(drawing(invented, wave(over("/mode", *map(str, range(40))), over("/x", 1, 2))))


PLANTED = "<script>alert('&\"')</script>\x00\x1f\ufffe"


def test_planted_markup_stays_text(invented: Client) -> None:
    sweep = wave(over("/mode", PLANTED, "wave"), over("/x", 1, 2), keep=("/results/y", f"/{PLANTED}"))
    root = drawing(invented, sweep)
    assert not list(root.iter(f"{SVG}script"))
    assert any("<script>" in t for t in texts(root))


def test_every_text_of_a_table_is_escaped() -> None:
    row = SweepRow(inputs=(PLANTED, 1), status=200, outcome="acceptable", kept={PLANTED: {"value": 1, "unit": PLANTED}})
    made = SweepTable(
        calculator=PLANTED, vary=(PLANTED, PLANTED), vary_units=(PLANTED, PLANTED), keep=(PLANTED, "x"), rows=(row,)
    )
    root = parsed(plot(made))
    harmless = ("svg", "title", "defs", "style", "g", "path", "text", "use", "clipPath", "rect")
    assert {e.tag for e in root.iter()} <= {f"{SVG}{t}" for t in harmless}
    assert sum("<script>" in t for t in texts(root)) >= 4


def test_the_form_is_that_which_is_liked_best(client: Client) -> None:
    sweep = body(over("/length", 60))
    for accept, expected in (
        ("application/json, image/svg+xml;q=0.5", "application/json"),
        ("image/*", "image/svg+xml"),
        ("*/*", "application/json"),
    ):
        reply = client.post("/v1/sweeps", json=sweep, headers={"accept": accept})
        assert reply.headers["content-type"].partition(";")[0] == expected
        assert "Accept" in reply.headers["vary"].split(", ")
    assert client.post("/v1/sweeps", json=sweep, headers={"accept": "text/csv"}).status_code == 406
