"""Unlike machines on one loop: each with its own pump against the head that the loop asks for. Invented data."""

from typing import Any

import pytest
from orders import changed, fleet, machine, order
from quantity import q

UNLIKE = {"fleet": fleet(machine("a", 150, 1), machine("b", 90, 1))}
WEAK = {"load_side__rated_pressure_drop": q(270, "kPa")}


def head_at(answer_of: Any, row: dict[str, Any], flow: dict[str, Any]) -> float:
    """Head, m, of a machine's pump by `hydronic.loop` alone: what a loop would take, and the valve that it asks for."""
    tenth = q(1, "kPa")
    element = {"type": "device", "name": "x", "device_kind": "other", "rated_flow": flow, "rated_pressure_drop": tenth}
    valve = {"type": "valve", "name": "v", "flow_coefficient_kv": 1.2 * 3.6 * flow["value"]}
    answer = answer_of(
        "hydronic.loop",
        {
            "fluid": {"kind": "water", "temperature": q(7, "degC")},
            "elements": [element, valve],
            "pumps": [row["pump"]],
            "pump_owner": "machine",
            "required": {"flow": flow},
        },
    )["results"]
    at_flow = {
        "fixed_flow": flow,
        "elements": [element, valve],
        "fluid": {"kind": "water", "temperature": q(7, "degC")},
    }
    taken = answer_of("hydronic.loop", at_flow)["results"]
    ratio = taken["pump_head"]["value"] / taken["loop_pressure_drop"]["value"]
    return float((taken["loop_pressure_drop"]["value"] + answer["throttling_pressure_drop"]["value"]) * ratio)


def test_each_pump_is_held_at_its_machines_share_of_the_flow(answer_of: Any) -> None:
    document = order(**UNLIKE)
    answer = answer_of("booking.assessment", document)
    results = answer["results"]
    loop = results["loop"]
    assert sum(f["value"] for f in loop["branch_flows"]) == pytest.approx(loop["duty_flow"]["value"], rel=1e-6)
    lines = {e["what"]: e for e in results["limits_nearest"] if "head of its own pump" in e["what"]}
    rows = {row["type"]: row for row in document["fleet"]["machines"]}
    assert len(lines) == len(results["machines"]) == 2
    for picked, flow in zip(results["machines"], loop["branch_flows"], strict=True):
        line = lines[f"{picked['type']}: head of its own pump"]
        assert line["value"] == pytest.approx(loop["pump_head"]["value"], rel=1e-9)
        assert line["limit"] == pytest.approx(head_at(answer_of, rows[picked["type"]], flow), rel=1e-6)
        assert line["headroom_fraction"] > 0
    assert "pump_head_short" not in {f["code"] for f in answer["findings"]}


def test_a_pump_too_weak_stops_the_plan_with_both_heads(answer_of: Any) -> None:
    answer = answer_of("booking.assessment", order(**UNLIKE, **WEAK))
    (stop,) = [f for f in answer["findings"] if f["code"] == "pump_head_short"]
    head = answer["results"]["loop"]["pump_head"]["value"]
    assert f"{head:.5g} m" in stop["statement"]
    assert answer["outcome"] == "unacceptable"


def test_the_share_beyond_the_end_of_a_curve_stops_it_too(answer_of: Any) -> None:
    short = [
        {"flow": q(0, "L/s"), "head": q(60, "m")},
        {"flow": q(0.5, "L/s"), "head": q(50, "m")},
        {"flow": q(1, "L/s"), "head": q(45, "m")},
    ]
    rows = fleet(machine("a", 150, 1), changed(machine("b", 90, 1), pump__curve=short))
    (stop,) = [
        f for f in answer_of("booking.assessment", order(fleet=rows))["findings"] if f["code"] == "pump_head_short"
    ]
    assert "its curve ends before that flow" in stop["statement"]


def test_a_faulty_curve_is_refused_by_the_loop(answer_of: Any) -> None:
    rising = [{"flow": q(x, "L/s"), "head": q(h, "m")} for x, h in ((0, 20), (4, 25), (8, 10))]
    rows = fleet(machine("a", 150, 1), changed(machine("b", 90, 1), pump__curve=rising))
    found = answer_of("booking.assessment", order(fleet=rows))["findings"]
    assert any(f["code"] == "outside_a_method" and "must fall" in f["statement"] for f in found)


def test_hose_is_widened_until_own_pumps_do(answer_of: Any) -> None:
    """The narrowest hose that velocity and friction allow asks for more than the pumps give; the next does not."""
    longer = {"routes__hose_length": q(60, "m"), "duty__load": q(150, "kW")}
    plain = answer_of("booking.assessment", order(**UNLIKE, **longer))["results"]["loop"]
    head = plain["pump_head"]["value"]
    weaker = [{"flow": q(x, "L/s"), "head": q(h * head, "m")} for x, h in ((0, 0.99), (8, 0.95), (14, 0.4))]
    rows = fleet(
        changed(machine("a", 150, 1), pump__curve=weaker),
        changed(machine("b", 90, 1), pump__curve=weaker),
    )
    answer = answer_of("booking.assessment", order(fleet=rows, **longer))
    mine = answer["results"]["loop"]
    assert "pump_head_short" not in {f["code"] for f in answer["findings"]}
    assert mine["hose_inner_diameter"]["value"] * mine["hose_runs"] > (
        plain["hose_inner_diameter"]["value"] * plain["hose_runs"]
    )


def test_the_sites_pump_is_named_for_unlike_machines_too(answer_of: Any) -> None:
    answer = answer_of("booking.assessment", order(**UNLIKE, **WEAK, load_side__pump="site"))
    codes = {f["code"] for f in answer["findings"]}
    assert "site_pump_needed" in codes
    assert "pump_head_short" not in codes
    assert answer["results"]["loop"]["pump_owner"] == "site"


def test_arrival_starts_the_pump_that_runs(answer_of: Any) -> None:
    def mode(**changes: Any) -> str:
        results = answer_of("booking.assessment", order(**UNLIKE, **changes))["results"]
        return str(results["asked"]["procedure"]["configuration"]["pump_mode"])

    assert mode() == "own_pump"
    assert mode(load_side__pump="site") == "site_pump"
