"""A fleet as a spreadsheet: out and in again without a loss, and errors that a person finds. All fleets are invented."""

import csv
import io
from typing import Any

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from litestar import Litestar
from litestar.testing import TestClient
from orders import fleets

from coldwright.contract import Malformed, Refused
from coldwright.contract.reading import convert
from coldwright.registry import Registry
from coldwright.service.fleets.resource import fleet_type
from coldwright.service.fleets.table import FleetTable, fleet_to_csv

Client = TestClient[Litestar]
Fleet = dict[str, Any]
CSV = {"content-type": "text/csv"}
ODD = st.text(st.characters(codec="utf-8", exclude_categories=["Cc"]), max_size=12) | st.sampled_from(
    ["", "=1+1", "+1", "-1", "@x", '"', '""', "1", "1e5", "NaN", "null", "true", "[1]", "{}", " x ", "a,b", 'say "so"',
     "two\nlines", "\ttab", "ramp;ramp", "é", "1e999", "Infinity", "machine", "0x10"]
)  # fmt: skip


@pytest.fixture
def demo(client: Client) -> Fleet:
    """The fleet of the published examples."""
    given: Fleet = client.get("/v1/calculators/booking/fleet_check").json()["examples"][0]["given"]["fleet"]
    return given


def as_kept(registry: Registry, fleet: Fleet) -> Fleet:
    """With its defaults, as the store has it."""
    kept: Fleet = msgspec.json.decode(msgspec.json.encode(convert(fleet_type(registry), fleet)))
    return kept


def cells(fleet: Fleet) -> list[list[str]]:
    return list(csv.reader(io.StringIO(fleet_to_csv(fleet).decode(), newline="")))


def written(rows: list[list[str]]) -> bytes:
    out = io.StringIO(newline="")
    csv.writer(out).writerows(rows)
    return out.getvalue().encode()


@given(fleets(), st.lists(ODD, min_size=6, max_size=6))
@settings(max_examples=40)
def test_out_and_in_again_is_the_same(registry: Registry, fleet: Fleet, words: list[str]) -> None:
    fleet["name"], fleet["machines"][0]["type"], fleet["machines"][-1]["connection"]["coupling"] = words[:3]
    for row, word in zip(fleet["accessories"], words[3:], strict=False):
        row["item"] = word
    struct = fleet_type(registry)
    kept = msgspec.json.decode(msgspec.json.encode(msgspec.convert(msgspec.to_builtins(fleet), Any)))
    assert FleetTable(fleet_to_csv(kept)).document == kept
    try:
        kept = as_kept(registry, fleet)
    except Refused:  # an empty name, say
        return
    assert convert(struct, FleetTable(fleet_to_csv(kept)).document) == convert(struct, kept)


@given(fleets())
@settings(max_examples=15)
def test_no_cell_is_a_formula(fleet: Fleet) -> None:
    for number, word in enumerate(("=cmd()", "+1", "-2", "@x")):
        fleet["accessories"][number]["item"] = word
    for row in cells(fleet)[1:]:
        for cell in row:
            assert not cell.startswith(("=", "+", "@"))
            assert not cell.startswith("-") or float(cell) < 0


def test_rows_and_columns_are_those_of_the_document(demo: Fleet) -> None:
    heading, *rows = cells(demo)
    assert heading[0] == "row"
    assert {"type", "count", "rating.capacity.value", "rating.capacity.unit"} <= set(heading)
    kinds = [row[0] for row in rows]
    assert kinds.count("machine") == len(demo["machines"])
    assert kinds.count("accessory") == len(demo.get("accessories", []))
    first = dict(zip(heading, rows[kinds.index("machine")], strict=True))
    assert first["type"] == demo["machines"][0]["type"]
    assert float(first["rating.capacity.value"]) == demo["machines"][0]["rating"]["capacity"]["value"]


def test_what_a_spreadsheet_does_to_a_file_is_taken(registry: Registry, demo: Fleet) -> None:
    """A mark at the start, empty rows, empty cells beyond the table, short rows, columns in another order."""
    heading, *rows = cells(demo)
    turned = [[*row[::-1], "", ""] for row in (heading, *rows)]
    turned[2:2] = [[""] * 5, []]
    body = "﻿".encode() + written(turned)
    assert FleetTable(body).document == FleetTable(written([heading, *rows])).document
    while rows[-1][-1] == "":
        rows[-1].pop()
    assert FleetTable(written([heading, *rows])).document == FleetTable(fleet_to_csv(demo)).document


def refused(client: Client, body: bytes) -> list[dict[str, Any]]:
    reply = client.put("/v1/fleets/never-kept", content=body, headers=CSV)
    assert reply.status_code == 422, reply.text
    assert client.get("/v1/fleets/never-kept").status_code == 404
    errors: list[dict[str, Any]] = reply.json()["errors"]
    return errors


def with_cell(fleet: Fleet, kind: str, column: str, cell: str) -> tuple[int, bytes]:
    """The first row of that kind with another cell: the number of the row in a spreadsheet, and the body."""
    rows = cells(fleet)
    if column not in rows[0]:
        rows = [[*row, column if number == 0 else ""] for number, row in enumerate(rows)]
    number = next(n for n, row in enumerate(rows) if row[0] == kind)
    rows[number][rows[0].index(column)] = cell
    return number + 1, written(rows)


@pytest.mark.parametrize(
    ("kind", "column", "cell", "detail"),
    [
        ("machine", "rating.capacity.value", "many", "Expected float, got str"),
        ("machine", "rating.capacity.value", "NaN", "Expected float, got str"),
        ("machine", "rating.capacity.value", "12,5", "Expected float, got str"),
        ("machine", "rating.capacity.value", "1e9", "outside the range"),
        ("machine", "count", "900", "outside the range"),
        ("machine", "rating.capacity.unit", "horses", "not one of the words"),
        ("machine", "type", "7", "Expected str, got int"),
        ("machine", "count", "", "required"),
        ("machine", "count", "2.5", "Expected int"),
        ("machine", "colour", "red", "There is no such field"),
        ("machine", "what/is~this", "1", "There is no such field"),
        ("accessory", "count", "-1", "outside the range"),
        ("fleet", "name", "[1]", "Expected str, got array"),
        ("lorry", "row", "lorry", "not `machine`, `accessory` or `fleet`"),
    ],
)
def test_an_error_names_row_and_column(
    client: Client, demo: Fleet, kind: str, column: str, cell: str, detail: str
) -> None:
    demo = demo | {"name": "yard"}
    number, body = with_cell(demo, "machine" if kind == "lorry" else kind, column, cell)
    errors = refused(client, body)
    mine = [e for e in errors if detail in e["detail"]]
    assert mine, errors
    column_token = column.replace("~", "~0").replace("/", "~1")
    assert mine[0]["pointer"].startswith(f"#/rows/{number}")
    assert mine[0]["detail"].startswith(f"Row {number}, column {column}") or "accessory" in kind
    if kind != "accessory":
        assert mine[0]["pointer"] == f"#/rows/{number}/{column_token}"


def test_an_error_inside_a_list_names_the_cell_and_the_place_in_it(client: Client, demo: Fleet) -> None:
    number, body = with_cell(demo, "machine", "electrical.motors", '[{"role": "compressor"}, {"role": "pilot"}]')
    errors = refused(client, body)
    assert {e["pointer"] for e in errors} == {f"#/rows/{number}/electrical.motors"}
    assert any(f"Row {number}, column electrical.motors, at /1/role in the cell" in e["detail"] for e in errors)


def test_contradictions_name_row_and_column(client: Client, demo: Fleet) -> None:
    number, body = with_cell(demo, "machine", "evaporator.flow_minimum.value", "1900")
    errors = refused(client, body)
    assert all(e["pointer"].startswith(f"#/rows/{number}/evaporator.flow") for e in errors), errors
    assert all(e["detail"].startswith(f"Row {number}, column evaporator.flow") for e in errors)


def test_every_wrong_row_is_named_at_once(client: Client, demo: Fleet) -> None:
    heading, *rows = cells(demo)
    rows[0][heading.index("row")] = "lorry"
    rows[1].append("beyond")
    rows.append(["fleet"] + [""] * (len(heading) - 1))
    rows.append(["fleet"] + [""] * (len(heading) - 1))
    errors = refused(client, written([heading, *rows]))
    assert [e["pointer"] for e in errors] == ["#/rows/2/row", "#/rows/3", f"#/rows/{len(rows) + 1}/row"]


@pytest.mark.parametrize(
    ("body", "pointer"),
    [
        (b"", "#/rows/1"),
        (b"type;count\r\nsmall;1\r\n", "#/rows/1"),
        (b"row,type,type\r\nmachine,a,b\r\n", "#/rows/1/type"),
        (b"row,a,a.b\r\nmachine,1,2\r\n", "#/rows/2/a.b"),
        (b"row,a.b,a\r\nmachine,1,2\r\n", "#/rows/2/a"),
        (b"row,type\r\n", "#/rows"),
    ],
)
def test_a_table_that_is_none_is_refused(client: Client, body: bytes, pointer: str) -> None:
    assert refused(client, body)[0]["pointer"] == pointer


@pytest.mark.parametrize(
    "body", [b'row,type\r\nmachine,"open\r\n', b"row,type\r\nmachine,\xff\r\n", b'row\r\n"a"b\r\n']
)
def test_what_is_no_csv_is_malformed(client: Client, body: bytes) -> None:
    with pytest.raises(Malformed):
        FleetTable(body)
    reply = client.put("/v1/fleets/never-kept", content=body, headers=CSV)
    assert (reply.status_code, reply.json()["type"]) == (400, "/problems/not-json")


HEADING = b"row,type,count\r\n"


@pytest.mark.parametrize(
    ("body", "pointer"),
    [
        (",".join(["row", *(f"c{n}" for n in range(50_000))]).encode(), "#/rows/1"),
        (",".join(["row", *("c" for _ in range(1_900))]).encode(), "#/rows/1/c"),
        (b"row," + b"a." * 50_000 + b"\r\n" + b"machine,1\r\n" * 10, "#/rows/1/" + "a." * 50),
        (HEADING + b"machine\r\n" * 250_000, "#/rows"),
        (HEADING + b"machine,a,1\r\n" * 100_000, "#/rows"),
        (HEADING + b"boat\r\n" * 50_000, "#/rows/2/row"),
    ],
    ids=["columns", "repeated", "steps", "rows", "cells", "errors"],
)
def test_tables_made_to_be_slow_are_refused_at_once(body: bytes, pointer: str) -> None:
    """The first took 44 s while each heading was looked up among those before it."""
    with pytest.raises(Refused) as refused:
        FleetTable(body)
    assert refused.value.errors[0].pointer == pointer
    assert len(refused.value.errors) <= 50
