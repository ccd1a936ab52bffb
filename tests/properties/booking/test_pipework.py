"""Headers, hoses to the machines, joints of buffer vessels and the feed of the panel: counted, picked, in the drop.

By hand: a loss coefficient K takes K rho v2 / 2 (any textbook of hydraulics), Darcy and Weisbach the rest.
"""

import math
from typing import Any

import pytest
from orders import fleet, machine, order, stock
from quantity import q

TWO = machine("middle", 150, 3)
SMALL_LOOP = {
    "duty__load": q(40, "kW"),
    "duty__lowest_load_fraction": 0.05,
    "load_side__volume": q(50, "L"),
    "load_side__rated_flow": q(2, "L/s"),
}


def planned(answer_of: Any, **changes: Any) -> tuple[dict[str, Any], dict[str, Any], dict[str, Any]]:
    """Results, elements of the loop by name, and what was asked of them."""
    results = answer_of("booking.assessment", order(**changes))["results"]
    elements = {e["name"]: e for e in results["loop"]["elements"]}
    return results, elements, {e["name"]: e for e in results["asked"]["loop"]["elements"]}


def by_coefficient(flow: float, bore: float, k: float, density: float) -> float:
    """kPa for L/s through a bore in mm."""
    speed = flow / 1000 / (math.pi * (bore / 1000) ** 2 / 4)
    return k * density * speed**2 / 2 / 1000


def test_headers_and_their_hoses_are_counted_picked_and_in_the_drop(answer_of: Any) -> None:
    results, elements, asked = planned(answer_of, fleet=fleet(TWO))
    (row,) = results["machines"]
    units, runs = row["count"], results["loop"]["hose_runs"]
    assert (units, runs) == (2, 1)
    work = results["pipework"]
    (hoses,) = work["machine_hoses"]
    assert (work["headers_at_machines"], work["headers_at_load"], hoses["pieces"]) == (2, 0, 4)
    lines = [(x["item"], x["count"], x["from_stock"]) for x in results["pick_list"]]
    assert (hoses["item"], 4, True) in lines
    assert any(item.startswith("header, 2 machines and 1 run") and n == 2 and not known for item, n, known in lines)
    flow, density = results["loop"]["duty_flow"]["value"], 999.5
    for name, k, bore, each in (
        ("headers to middle", 2.0, hoses["inner_diameter"]["value"], flow / 2),
        ("headers to the runs", 2.0, results["loop"]["hose_inner_diameter"]["value"], flow),
    ):
        drop = by_coefficient(each, bore, k, density)
        assert elements[name]["pressure_drop"]["value"] == pytest.approx(drop, rel=2e-3), name
    between = asked["hose from header to middle"]
    assert between["length"]["value"] == pytest.approx(2 * hoses["length"]["value"])
    assert between["parallel_runs"] == 2
    assert elements["hose from header to middle"]["pressure_drop"]["value"] > 0
    assert results["loop"]["loop_pressure_drop"]["value"] == pytest.approx(
        sum(e["pressure_drop"]["value"] for e in elements.values()), rel=1e-6
    )


def test_their_liquid_is_in_the_volume_of_the_loop(answer_of: Any) -> None:
    results, _, _ = planned(answer_of, fleet=fleet(TWO))
    (hoses,) = results["pipework"]["machine_hoses"]
    filled = {e["name"]: e["volume"]["value"] for e in results["fill"]["elements"]}
    bore, length = hoses["inner_diameter"]["value"] / 1000, hoses["length"]["value"]
    assert filled["hoses from headers to middle"] == pytest.approx(4 * math.pi * bore**2 / 4 * length * 1000, rel=1e-9)


def test_unlike_machines_each_have_hoses_of_their_own_connection(answer_of: Any) -> None:
    stronger = machine("a", 150, 1) | {"connection": {"inner_diameter": q(102, "mm"), "coupling": "grooved"}}
    weaker = machine("b", 90, 1) | {"connection": {"inner_diameter": q(51, "mm"), "coupling": "grooved"}}
    results, _, asked = planned(answer_of, fleet=fleet(stronger, weaker))
    hoses = {h["type"]: h["item"] for h in results["pipework"]["machine_hoses"]}
    assert hoses == {"a": "hose 102", "b": "hose 51"}
    paths = asked["evaporators"]["branches"]
    assert [[e["type"] for e in path] for path in paths] == [["fittings", "line", "device"]] * 2
    assert results["pipework"]["reducers"] == 0


@pytest.mark.parametrize(
    ("machines", "valves"), [((machine("a", 150, 1), machine("b", 90, 1)), 2), ((machine("a", 150, 2),), None)]
)
def test_unlike_machines_each_have_a_valve_for_their_share(answer_of: Any, machines: Any, valves: int | None) -> None:
    """What the plan asks of the technician, a valve at each machine's discharge, comes along."""
    answer = answer_of("booking.assessment", order(fleet=fleet(*machines), duty__load=q(200, "kW")))
    assert sum(m["count"] for m in answer["results"]["machines"]) == 2
    picked = {x["purpose"]: x["count"] for x in answer["results"]["pick_list"] if x["kind"] == "valve"}
    assert picked.get("balancing of each machine") == valves
    assert ("mixed_machines" in {f["code"] for f in answer["findings"]}) == (valves is not None)


def test_one_machine_on_one_run_has_no_headers(answer_of: Any) -> None:
    results, elements, _ = planned(answer_of, fleet=fleet(machine("large", 330, 1)))
    assert results["pipework"]["headers_at_machines"] == 0
    assert not [name for name in elements if "header" in name]


def test_buffer_vessels_have_joints_hose_and_drop(answer_of: Any) -> None:
    """Into a vessel 0.5, out of it 1.0 of the velocity head: the usual coefficients, from memory."""
    rows = [r for r in stock() if r["kind"] != "buffer_vessel"]
    rows.append({"kind": "buffer_vessel", "item": "vessel", "volume": q(300, "L"), "count": 9})
    results, elements, _ = planned(answer_of, fleet=fleet(machine("only", 60, 2), accessories=rows), **SMALL_LOOP)
    vessels = sum(x["count"] for x in results["pick_list"] if x["kind"] == "buffer_vessel")
    assert vessels > 0
    assert results["pipework"]["buffer_joints"] == 2 * vessels
    flow, bore = results["loop"]["duty_flow"]["value"], results["loop"]["hose_inner_diameter"]["value"]
    each = flow / results["loop"]["hose_runs"]
    drop = by_coefficient(each, bore, 1.5 * vessels, 999.5)
    assert elements["joints of buffer vessels"]["pressure_drop"]["value"] == pytest.approx(drop, rel=2e-2)
    (line,) = [x for x in results["pick_list"] if x["kind"] == "hose" and "buffer" in x["reason"]]
    assert line["count"] == vessels * results["loop"]["hose_runs"]
    assert "supply" in line["reason"], "where restarts and cold surfaces take them to stand"


@pytest.mark.parametrize("load", [40, 75])
def test_hose_that_buffer_vessels_take_is_in_drop_and_volume(answer_of: Any, load: float) -> None:
    """By hand: its share of the drop of the supply hose is that of their lengths, its litres those of a cylinder."""
    rows = [r for r in stock() if r["kind"] != "buffer_vessel"]
    rows.append({"kind": "buffer_vessel", "item": "vessel", "volume": q(300, "L"), "count": 9})
    changes = SMALL_LOOP | {"duty__load": q(load, "kW")}
    results, elements, _ = planned(answer_of, fleet=fleet(machine("only", 90, 2), accessories=rows), **changes)
    (line,) = [x for x in results["pick_list"] if x["kind"] == "hose" and "buffer" in x["reason"]]
    section = {"hose 51": 15, "hose 76": 15, "hose 102": 10}[line["item"]]
    runs, bore = results["loop"]["hose_runs"], results["loop"]["hose_inner_diameter"]["value"]
    drop = elements["supply hose"]["pressure_drop"]["value"] * line["count"] / runs * section / 40
    assert elements["hose at buffer vessels"]["pressure_drop"]["value"] == pytest.approx(drop, rel=1e-6)
    filled = {e["name"]: e["volume"]["value"] for e in results["fill"]["elements"]}
    litres = line["count"] * section * math.pi / 4 * bore**2 / 1000
    assert filled["hose at buffer vessels"] == pytest.approx(litres, rel=1e-9)
    drained = [e for e in results["asked"]["drain_down"]["lines"] if e["name"] == "hose at buffer vessels"]
    assert [e["length"]["value"] * e["parallel_runs"] for e in drained] == [pytest.approx(line["count"] * section)]


def test_a_buffer_vessel_of_another_bore_takes_reducers_and_adaptors(answer_of: Any) -> None:
    rows = [r | {"coupling": "grooved"} if r["kind"] == "hose" else r for r in stock() if r["kind"] != "buffer_vessel"]
    flanged = {"inner_diameter": q(203, "mm"), "coupling": "flanged"}
    rows.append({"kind": "buffer_vessel", "item": "vessel", "volume": q(2000, "L"), "count": 9, "connection": flanged})
    plain = [{k: v for k, v in r.items() if k != "connection"} for r in rows]
    one = fleet(machine("only", 60, 2), accessories=rows)
    with_it, _, _ = planned(answer_of, fleet=one, **SMALL_LOOP)
    without, _, _ = planned(answer_of, fleet=fleet(machine("only", 60, 2), accessories=plain), **SMALL_LOOP)
    joints = with_it["pipework"]["buffer_joints"]
    assert joints > 0
    assert with_it["pipework"]["reducers"] - without["pipework"]["reducers"] == joints
    assert with_it["pipework"]["adaptors"] - without["pipework"]["adaptors"] == joints


def test_the_panel_has_its_feed(answer_of: Any) -> None:
    """The feeder carries what the service asks for, over the 10 m to a panel beside the source."""
    results, _, _ = planned(answer_of, fleet=fleet(TWO))
    feed, asked = results["cable"]["panel_feed"], results["asked"]["panel_feed"]
    assert asked["length"] == q(10, "m")
    needed = results["supply"]["service"]["feeder"]["minimum_circuit_ampacity"]["value"]
    assert feed["feeder"]["ampacity_total"]["value"] >= needed
    assert any(
        x["item"] == feed["item"] and x["count"] == feed["pieces"] and "Feed of the panel" in x["reason"]
        for x in results["pick_list"]
    )
    alone, _, _ = planned(answer_of, fleet=fleet(machine("large", 330, 1)))
    assert "panel_feed" not in alone["cable"]


@pytest.mark.parametrize("breaker", [None, 600])
def test_a_transformer_has_its_feed(answer_of: Any, breaker: float | None) -> None:
    """By hand: the circuit of the machines at the site's voltage; the conductors follow the breaker before them."""
    supply = {"source": "site", "voltage": q(208, "V"), "frequency": q(60, "Hz"), "fault_current": q(20, "kA")}
    supply |= {} if breaker is None else {"breaker_rating": q(breaker, "A")}
    results, _, _ = planned(
        answer_of,
        fleet=fleet(machine("large", 100, 1)),
        duty__load=q(70, "kW"),
        duty__lowest_load_fraction=0.5,
        supply=supply,
    )
    feed, asked = results["cable"]["transformer_feed"], results["asked"]["transformer_feed"]
    assert (asked["length"], asked["system_voltage"]) == (q(10, "m"), q(208, "V"))
    circuit = results["supply"]["service"]["feeder"]["minimum_circuit_ampacity"]["value"] * 480 / 208
    assert asked["minimum_ampacity"]["value"] == pytest.approx(circuit)
    device = asked["overcurrent_device"]["value"]
    assert device == breaker if breaker else device >= circuit
    assert feed["feeder"]["ampacity_total"]["value"] >= circuit
    picked = [(x["item"], x["count"]) for x in results["pick_list"] if "Feed of the transformer" in x["reason"]]
    assert picked == [(feed["item"], feed["pieces"])]
    own, _, _ = planned(answer_of, fleet=fleet(machine("large", 330, 1)))
    assert "transformer_feed" not in own["cable"]
