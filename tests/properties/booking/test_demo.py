"""The demo orders, as somebody looks at them who knows the trade. Everything in them is invented."""

import json
from pathlib import Path
from typing import Any

import pytest

DEMO = Path(__file__).parents[3] / "deploy" / "demo"


@pytest.fixture(scope="module")
def plans(answer_of: Any) -> dict[str, dict[str, Any]]:
    """The three answers."""
    fleet = json.loads((DEMO / "fleet.json").read_text("utf-8"))
    found = {}
    for name in ("process", "comfort", "indoor"):
        document = json.loads((DEMO / f"order-{name}.json").read_text("utf-8"))
        assert document.pop("fleet_id") == "demo"
        found[name] = answer_of("booking.assessment", document | {"fleet": fleet})
    return found


def test_the_demo_fleet_agrees_with_itself(answer_of: Any) -> None:
    fleet = json.loads((DEMO / "fleet.json").read_text("utf-8"))
    answer = answer_of("booking.fleet_check", {"fleet": fleet})
    assert answer["outcome"] == "acceptable"
    assert len(answer["results"]["machines"]) == 7


def test_all_three_can_be_carried_out(plans: dict[str, dict[str, Any]]) -> None:
    for name, answer in plans.items():
        stops = [(f.get("calculator"), f["code"]) for f in answer["findings"] if f["severity"] == "stop"]
        assert stops == [], name
        assert answer["outcome"] == "conditional"
        assert answer["results"]["rounds"] <= 3


@pytest.mark.pin
@pytest.mark.parametrize(
    ("name", "machines", "fluid", "hose", "cable", "generator"),
    [
        ("process", [("60-ton", 1)], "propylene_glycol", ("hose 76 mm", 6), ("1 x 4/0 AWG", 8), "generator 150 kW"),
        ("comfort", [("150-ton", 2)], "water", ("hose 152 mm", 22), ("2 x 4/0 AWG", 24), None),
        ("indoor", [("5-ton", 1)], "water", ("hose 38 mm", 2), ("1 x 6 AWG", 1), None),
    ],
)
def test_choices(
    plans: dict[str, dict[str, Any]],
    name: str,
    machines: list[tuple[str, int]],
    fluid: str,
    hose: tuple[str, int],
    cable: tuple[str, int],
    generator: str | None,
) -> None:
    results = plans[name]["results"]
    assert [(m["type"], m["count"]) for m in results["machines"]] == machines
    assert results["fluid"]["kind"] == fluid
    lines = [(line["item"], line["count"]) for line in results["pick_list"] if line["kind"] == "hose"]
    assert lines[0] == hose
    feeder = results["cable"]["machines"][0]["feeder"]
    assert (f"{feeder['sets']} x {feeder['conductor_size']}", feeder["pick_list"]["cable_pieces"]) == cable
    assert results["supply"].get("generator_item") == generator


def test_numbers_are_those_of_the_trade(plans: dict[str, dict[str, Any]]) -> None:
    """Usual bands of temporary cooling: common practice, no source."""
    for answer in plans.values():
        results = answer["results"]
        loop, energy = results["loop"], results["energy"]
        speed = max(e["velocity"]["value"] for e in loop["elements"] if "velocity" in e)
        assert 0.3 < speed <= 3.0  # m/s in the hose
        assert 10 < loop["pump_head"]["value"] < 40  # m
        assert 4 < energy["temperature_difference"]["value"] < 6  # K
        assert 1.5 < energy["machine_capacity"]["value"] / energy["machine_power"]["value"] < 5
        assert 0 < results["margin_fraction"] < 0.7
        drop = results["cable"]["machines"][0]["feeder"]["drop_running_fraction"]
        assert 0 < drop < 0.03
        assert 250 < results["fill_pressure"]["value"] < 350  # kPa
        assert not any(line["stock_short"] for line in results["pick_list"])
        hours = results["cold_water_after"]["value"] / 60
        assert results["cold_water_after"]["unit"] == "min"
        assert 1 < hours < 12
    sound = plans["comfort"]["results"]["site"]["sound"]["receivers"][0]
    assert 50 < sound["level"]["value"] < 65
    load = plans["process"]["results"]["supply"]["generator"]["load_fraction"]
    assert 0.3 < load < 0.8


@pytest.mark.parametrize("name", ["process", "comfort", "indoor"])
def test_what_is_picked_is_what_is_loaded(plans: dict[str, dict[str, Any]], name: str) -> None:
    """One mass in the pick list and on the vehicles; all but fuel, which a tanker brings, is on one of them."""
    results = plans[name]["results"]
    loads = results["site"]["transport"]["loads"]
    assert results["pick_mass"]["value"] == pytest.approx(sum(load["mass"]["value"] for load in loads), rel=1e-6)
    left = {x["item"] for x in results["pick_list"] if sum(c["count"] for c in x["carried_on"]) != x["count"]}
    assert left <= {"fuel, litres"}


def test_one_amount_of_fuel(plans: dict[str, dict[str, Any]]) -> None:
    """The set, the pick list and the cost speak of the same litres, those that the load bank burns among them."""
    results = plans["process"]["results"]
    burnt = results["supply"]["generator"]["fuel_total"]["value"]
    (picked,) = [x["count"] for x in results["pick_list"] if x["item"] == "fuel, litres"]
    (paid,) = [x["count"] for x in results["cost"]["lines"] if x["kind"] == "fuel"]
    assert picked == pytest.approx(burnt, abs=1)
    assert paid * 3.785411784 == pytest.approx(burnt, rel=1e-6)
