"""What joins hose, machines and load on the pick list. Invented data."""

from typing import Any

import pytest
from orders import changed, fleet, machine, order, stock
from quantity import q

ONE_TYPE = machine("middle", 150, 3)
GROOVED = [row | {"coupling": "Grooved"} if row["kind"] == "hose" else row for row in stock()]
FLANGED = {"load_side__connection": {"inner_diameter": q(76.2, "mm"), "coupling": "flanged"}}
ADAPTOR: dict[str, Any] = {"kind": "other", "item": "adaptor, flanged to grooved", "count": 20}
MANIFOLD: dict[str, Any] = {"kind": "other", "item": "manifold 4 x 102 mm", "count": 8}


def told(answer_of: Any, document: dict[str, Any]) -> tuple[dict[str, Any], dict[str, int], set[str]]:
    """Results, counts of the pick list by item, and codes of findings."""
    answer = answer_of("booking.assessment", document)
    lines: dict[str, int] = {}
    for line in answer["results"]["pick_list"]:
        lines[line["item"]] = lines.get(line["item"], 0) + line["count"]
    return answer["results"], lines, {f["code"] for f in answer["findings"]}


@pytest.mark.parametrize(
    ("bore", "reducers"), [(76.2, 0), (75.0, 0), (77.5, 0), (77.6, 4), (74.5, 0), (74.4, 4), (74.0, 4), (102, 0)]
)
def test_one_nominal_size_needs_no_reducer(answer_of: Any, bore: float, reducers: int) -> None:
    """Hose from header to machine is of the machine's bore where the stock has such hose: 102 mm, and not 74 mm."""
    row = changed(ONE_TYPE, connection={"inner_diameter": q(bore, "mm"), "coupling": "grooved"})
    results, lines, _ = told(answer_of, order(fleet=fleet(row)))
    assert results["loop"]["hose_inner_diameter"]["value"] == 76
    assert results["machines"][0]["count"] == 2
    assert lines.get("reducer", 0) == reducers


def test_unlike_couplings_take_the_adaptor_of_the_stock(answer_of: Any) -> None:
    _, lines, _ = told(answer_of, order(fleet=fleet(ONE_TYPE, accessories=[*GROOVED, ADAPTOR]), **FLANGED))
    assert lines[ADAPTOR["item"]] == 2
    assert not [item for item in lines if item.startswith("adaptor, Grooved")]


def test_an_adaptor_that_the_fleet_does_not_list_is_a_line_and_at_most_a_check(answer_of: Any) -> None:
    document = order(fleet=fleet(ONE_TYPE, accessories=GROOVED), **FLANGED)
    answer = answer_of("booking.assessment", document)
    (line,) = [row for row in answer["results"]["pick_list"] if row["item"].startswith("adaptor")]
    assert (line["item"], line["count"], line["from_stock"]) == ("adaptor, Grooved to flanged", 2, False)
    assert "load side" in line["reason"]
    assert "middle" not in line["reason"]  # a difference of capitals is none
    assert {f["severity"] for f in answer["findings"] if "adaptor" in f["statement"]} <= {"check", "note"}


def test_couplings_that_nobody_tells_are_not_unlike(answer_of: Any) -> None:
    assert not [item for item in told(answer_of, order(fleet=fleet(ONE_TYPE), **FLANGED))[1] if "adaptor" in item]


def test_each_run_has_its_ends_and_headers_join_them(answer_of: Any) -> None:
    narrow = [row for row in stock() if row["kind"] != "hose" or row["item"] == "hose 51"]
    document = order(
        fleet=fleet(ONE_TYPE, accessories=[*narrow, MANIFOLD]),
        routes__hose_length=q(30, "m"),
        load_side__rated_flow=q(14, "L/s"),
        duty__load=q(230, "kW"),
    )
    results, lines, codes = told(answer_of, document)
    runs, units = results["loop"]["hose_runs"], sum(m["count"] for m in results["machines"])
    assert runs > 1
    assert lines["coupling"] == 4 * units + 4 * runs
    assert lines[MANIFOLD["item"]] == 4
    assert "not_in_fleet" not in codes


@pytest.mark.parametrize("load", [100, 230])
def test_the_load_has_one_connection_a_way_whatever_the_runs(answer_of: Any, load: float) -> None:
    """Its own supply and return: of one run each, or of the headers that join several."""
    narrow = [row for row in GROOVED if row["kind"] != "hose" or row["item"] == "hose 51"]
    end = {"inner_diameter": q(102, "mm"), "coupling": "flanged"}
    document = order(
        fleet=fleet(changed(ONE_TYPE, connection=None), accessories=narrow), duty__load=q(load, "kW"),
        routes__hose_length=q(30, "m"), load_side__rated_flow=q(load / 16, "L/s"), load_side__connection=end,
    )  # fmt: skip
    results, lines, _ = told(answer_of, document)
    assert (results["loop"]["hose_runs"] > 1) == (load == 230)
    assert lines["adaptor, Grooved to flanged"] == 2
    assert results["pipework"]["adaptors"] == results["pipework"]["reducers"] == lines["reducer"] == 2


def test_one_machine_on_one_run_needs_no_header(answer_of: Any) -> None:
    document = order(fleet=fleet(ONE_TYPE, accessories=[*stock(), MANIFOLD]), duty__load=q(100, "kW"))
    results, lines, codes = told(answer_of, document)
    assert (results["loop"]["hose_runs"], results["machines"][0]["count"]) == (1, 1)
    assert MANIFOLD["item"] not in lines
    assert lines["coupling"] == 4
    assert not results["pipework"]["machine_hoses"]
    assert "not_in_fleet" not in codes
