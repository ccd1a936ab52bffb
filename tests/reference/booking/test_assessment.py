"""A plan holds by composition: no published table covers a whole booking.

Each block equals, to the last digit, what its calculator answers alone for the input that stands under `asked`; and
energy, flow and currents close over the plan. Source of every check here: derived (the answers of our own calculators,
each held against its own published checks), and conservation of energy.
"""

import json
import math
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import hypothesis
import pytest
from hypothesis import given, settings
from orders import changed, fleet, machine, order, orders
from quantity import q

from coldwright.contract import Refused

pytestmark = pytest.mark.check

DEMO = Path(__file__).parents[3] / "deploy" / "demo"
MANY = settings(max_examples=20 if settings().max_examples <= 50 else 500)


def demo(name: str) -> dict[str, Any]:
    """A demo order with the demo fleet in the place of its id."""
    document: dict[str, Any] = json.loads((DEMO / f"order-{name}.json").read_text("utf-8"))
    document.pop("fleet_id")
    return document | {"fleet": json.loads((DEMO / "fleet.json").read_text("utf-8"))}


def blocks(results: dict[str, Any]) -> Iterator[tuple[str, dict[str, Any], dict[str, Any]]]:
    """Calculator, input and block, for every block of a plan."""
    asked = results["asked"]
    supply, site = results.get("supply", {}), results.get("site", {})
    cables = results.get("cable", {"machines": []})
    single = (
        ("hydronic.antifreeze", "antifreeze", results["fluid"].get("antifreeze")),
        ("electrical.service", "service", supply.get("service")),
        ("electrical.generator", "generator", supply.get("generator")),
        ("electrical.transformer", "transformer", supply.get("transformer")),
        ("electrical.feeder", "group_feeder", cables.get("group")),
        ("electrical.feeder", "panel_feed", cables.get("panel_feed", {}).get("feeder")),
        ("hydronic.loop", "loop", results.get("loop")),
        ("hydronic.fill", "fill", results.get("fill")),
        ("hydronic.surge", "surge", results.get("surge")),
        ("site.ground", "outriggers", site.get("outriggers")),
        ("site.placement", "placement", site.get("placement")),
        ("site.sound", "sound", site.get("sound")),
        ("site.transport", "transport", site.get("transport")),
        ("readiness.procedure", "procedure", results.get("arrival_plan")),
        ("hydronic.drain_down", "drain_down", results.get("removal", {}).get("drained")),
        ("readiness.shutdown", "shutdown", results.get("removal", {}).get("stop")),
        ("readiness.shutdown", "frost_shutdown", results.get("removal", {}).get("frost")),
    )
    for calculator, name, block in single:
        assert (name in asked) == (block is not None), name
        if block is not None:
            yield calculator, asked[name], block
    lists = (
        ("electrical.feeder", "feeders", [c["feeder"] for c in cables["machines"]]),
        ("electrical.fault_current", "faults", [c["fault"] for c in cables["machines"] if "fault" in c]),
        ("site.lift", "lifts", [entry["lift"] for entry in site.get("lift", ())]),
        ("site.ground", "grounds", [entry["ground"] for entry in site.get("ground", ())]),
    )
    for calculator, name, found in lists:
        assert len(asked.get(name, ())) == len(found), name
        for question, block in zip(asked.get(name, ()), found, strict=True):
            yield calculator, question, block


OWN = ("hose_item", "hose_inner_diameter", "hose_runs", "wanted_flow", "balancing_kv", "pump_owner")
"""What the plan adds to the answer of `hydronic.loop`."""


def hold(answer_of: Any, results: dict[str, Any]) -> int:
    """Ask each calculator alone; the number of blocks that were held."""
    count = 0
    for calculator, question, block in blocks(results):
        alone = answer_of(calculator, question)["results"]
        shown = {k: v for k, v in block.items() if k not in OWN} if calculator == "hydronic.loop" else block
        assert alone == shown, calculator
        count += 1
    for row, question in zip(results["machines"], results["asked"]["capacities"], strict=True):
        alone = answer_of("refrigeration.capacity", question)["results"]
        assert (alone["capacity"], alone["power"], alone["source"]) == (
            row["capacity_each"],
            row["power_each"],
            row["source"],
        )
    alone = answer_of("refrigeration.load", results["asked"]["load"])["results"]
    assert alone["design_load"] == results["design_load"]
    if "selection" in results["asked"] and results["machines"]:
        chosen = answer_of("refrigeration.selection", results["asked"]["selection"])["results"]
        mine = {m["type"]: m["count"] for m in results["machines"]}
        assert mine in [c["units"] for c in (chosen["best"], *chosen["alternatives"])]
    return count


def close(results: dict[str, Any]) -> None:
    """Energy, mass and current over the whole plan."""
    if "energy" in results:
        energy = results["energy"]
        load, pump, removed = (energy[k]["value"] for k in ("load", "pump_heat", "heat_removed"))
        assert load + pump == pytest.approx(removed, rel=1e-9)
        capacity, power = energy["machine_capacity"]["value"], energy["machine_power"]["value"]
        assert energy["heat_rejected"]["value"] == pytest.approx(capacity + power, rel=1e-9)
        assert capacity == pytest.approx(sum(m["capacity_total"]["value"] for m in results["machines"]), rel=1e-9)
        kelvins = energy["temperature_difference"]["value"]
        carried = energy["flow"]["value"] * _heat_of(results["asked"]["loop"]["fluid"], kelvins) * kelvins
        assert carried == pytest.approx(removed, rel=2e-3)
    if "cable" in results:
        service = results["supply"]["service"]
        if "running_current" in service["feeder"] and "feeders" in results["asked"]:
            together = sum(
                question["load_current"]["value"] * row["count"]
                for question, row in zip(results["asked"]["feeders"], results["cable"]["machines"], strict=True)
            )
            if len(results["cable"]["machines"]) == len(results["machines"]):
                assert together == pytest.approx(service["feeder"]["running_current"]["value"], rel=1e-9, abs=1.0)


def _heat_of(fluid: dict[str, Any], kelvins: float) -> float:
    """kJ for a litre and kelvin between leaving and entering, by CoolProp: IAPWS-95, or its glycols by mass."""
    from CoolProp.CoolProp import PropsSI

    name = {"water": "Water", "ethylene_glycol": "INCOMP::MEG", "propylene_glycol": "INCOMP::MPG"}[fluid["kind"]]
    name += f"[{fluid['mass_fraction']}]" if "mass_fraction" in fluid else ""
    leaving = fluid["temperature"]
    celsius = leaving["value"] if leaving["unit"] == "degC" else (leaving["value"] - 32) / 1.8
    density, heat = (PropsSI(what, "T", celsius + kelvins / 2 + 273.15, "P", 3e5, name) for what in "DC")
    return float(density * heat) / 1e6


def planned(answer_of: Any, document: dict[str, Any]) -> dict[str, Any]:
    """Results of a plan."""
    results: dict[str, Any] = answer_of("booking.assessment", document)["results"]
    return results


@pytest.mark.parametrize("name", ["process", "comfort", "indoor"])
def test_demo_orders_are_made_of_what_each_calculator_says_alone(answer_of: Any, name: str) -> None:
    results = planned(answer_of, demo(name))
    assert hold(answer_of, results) >= 9
    close(results)


def test_a_plan_with_transformer_surge_and_sound_is_made_of_its_calculators(answer_of: Any) -> None:
    document = order(
        supply__voltage=q(600, "V"),
        load_side__fast_valve_closing_time=q(2, "s"),
        site__sound_limits=[{"distance": q(60, "m"), "limit_day": q(70, "dBA")}],
        fleet=fleet(machine("middle", 150, 3)),
    )
    results = planned(answer_of, document)
    assert {"transformer", "surge", "sound"} <= set(results["asked"])
    assert hold(answer_of, results) >= 12
    close(results)


def test_load_by_parts_is_the_load_calculator_with_hose_and_pump_added(answer_of: Any) -> None:
    parts = [
        {"kind": "direct", "name": "plant", "power": q(120, "kW")},
        {"kind": "direct", "name": "store", "power": q(60, "kW"), "diversity": 0.5},
    ]
    results = planned(answer_of, changed(order(), duty__load=None, duty__loads=parts))
    assert results["load"]["net"]["value"] == pytest.approx(150.0, rel=1e-9)
    assert [e["name"] for e in results["asked"]["load"]["loads"]] == [
        "plant",
        "store",
        "supply hose",
        "return hose",
        "pump",
        "pump 2",
    ]
    gross = results["load"]["gross"]["value"]
    assert results["design_load"]["value"] == pytest.approx(1.1 * gross, rel=1e-9)
    hold(answer_of, results)


def test_pump_heat_is_shaft_power_of_the_loop(answer_of: Any) -> None:
    """Conservation of energy: all shaft power ends in the closed loop. Within a round, 0.5 % of the load."""
    results = planned(answer_of, order())
    load = results["load"]["gross"]["value"]
    assert results["load"]["pump_heat"]["value"] == pytest.approx(
        results["loop"]["brake_power"]["value"], abs=0.005 * load
    )


def test_heat_of_hose_is_in_the_load_only_outdoors_in_the_sun(answer_of: Any) -> None:
    outdoors = planned(answer_of, order())["load"]["hose_heat"]["value"]
    indoors = planned(answer_of, order(site__indoors=True))["load"]["hose_heat"]["value"]
    assert outdoors > 1.5 * indoors > 0


@MANY
@given(document=orders())
def test_blocks_of_invented_orders_are_their_calculators_alone(answer_of: Any, document: dict[str, Any]) -> None:
    try:
        results = planned(answer_of, document)
    except Refused:
        hypothesis.event("refused")
        return
    hold(answer_of, results)
    close(results)
    assert not any(isinstance(v, float) and not math.isfinite(v) for v in results.values())
