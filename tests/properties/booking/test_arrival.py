"""The order of work: a set that comes along, flushing, and times that agree with the start on site. Invented data."""

import math
from itertools import pairwise
from typing import Any

import pytest
from CoolProp.CoolProp import PropsSI
from epanet import si
from orders import fleet, machine, order
from quantity import q

ONE = fleet(machine("large", 330, 1))
COLD = {"site__lowest_ambient_temperature": q(-10, "degC")}
SET = {"supply": {"source": "generator"}, "duty__lowest_load_fraction": 0.3, "fleet": fleet(machine("only", 250, 2))}
OF_A_SET = ("place_generator", "ground_generator", "check_generator", "connect_load_bank", "agree_refuelling")


def planned(answer_of: Any, **changes: Any) -> tuple[dict[str, Any], dict[str, dict[str, Any]]]:
    """Results of a plan, and its steps by id."""
    results = answer_of("booking.assessment", order(**{"fleet": ONE} | changes))["results"]
    return results, {s["id"]: s for s in results["arrival_plan"]["steps"]}


def begins(step: dict[str, Any]) -> float:
    return float(step["earliest_start"]["value"])


def ends(step: dict[str, Any]) -> float:
    return float(step["earliest_finish"]["value"])


def test_a_set_that_comes_along_has_steps_of_its_own(answer_of: Any) -> None:
    results, steps = planned(answer_of, **SET)
    assert set(OF_A_SET) <= set(steps)
    assert steps["start_generator"]["title"] == "Start the set"
    bank = results["asked"]["generator"]["load_bank_power"]["value"]
    assert f"{bank:.0f} kW" in steps["connect_load_bank"]["acceptance"]
    every = results["supply"]["generator"]["refuel_interval"]["value"]
    assert f"{math.floor(every)} h" in steps["agree_refuelling"]["acceptance"]
    before = ("place_generator", "ground_generator", "start_generator")
    assert [ends(steps[a]) <= begins(steps[b]) for a, b in pairwise(before)] == [True, True]
    for first in ("check_generator", "connect_load_bank"):
        assert ends(steps[first]) <= begins(steps["start_generator"])
    assert ends(steps["agree_refuelling"]) <= begins(steps["handover"])
    assert ends(steps["place_generator"]) <= begins(steps["lay_cables"]), "cables begin at the set"
    assert ends(steps["place_generator"]) <= begins(steps["lock_source"]) < begins(steps["prove_dead"]), (
        "a set still on the lorry proves nothing"
    )


def test_a_site_that_feeds_has_none_of_them(answer_of: Any) -> None:
    assert not set(OF_A_SET) & set(planned(answer_of)[1])


@pytest.mark.parametrize("cold", [{}, COLD], ids=["water", "glycol"])
def test_hoses_are_flushed_where_it_is_asked_for(answer_of: Any, cold: dict[str, Any]) -> None:
    """By hand: twice what the hoses hold, at the flow of the tap, and ten minutes for basket and valves."""
    plain, steps = planned(answer_of, **cold)
    assert "flush_hoses" not in steps
    results, steps = planned(answer_of, load_side__flush=True, site__fill_flow=q(0.8, "L/s"), **cold)
    hoses = sum(
        math.pi / 4 * si(line["inner_diameter"]) ** 2 * si(line["length"]) * line["parallel_runs"]
        for line in results["asked"]["fill"]["lines"]
    )
    step = steps["flush_hoses"]
    assert step["duration"]["value"] == pytest.approx(2000 * hoses / 0.8 / 60 + 10, rel=1e-6)
    assert f"{2000 * hoses:.0f} L" in step["acceptance"]
    assert "strainer" in step["acceptance"]
    following = "charge_antifreeze" if cold else "fill_loop"
    assert ends(step) <= begins(steps[following])
    assert results["fill"]["total_volume"] == plain["fill"]["total_volume"]


def test_the_strainer_waits_as_long_as_the_start_asks(answer_of: Any) -> None:
    """One number: the loop goes round once before it is blown down, three times before the mixture is read."""
    results, steps = planned(answer_of, load_side__volume=q(9000, "L"), **COLD)
    once = results["asked"]["procedure"]["configuration"]["loop_turnover_time"]
    minutes = once["value"] / {"s": 60, "min": 1}[once["unit"]]
    assert minutes > 5
    assert begins(steps["blow_down_strainer"]) - begins(steps["prove_flow"]) >= minutes
    assert begins(steps["read_antifreeze"]) - begins(steps["prove_flow_again"]) >= 3 * minutes


@pytest.mark.parametrize("slow", ["few", "many"])
def test_unlike_machines_are_pulled_down_with_the_compressors_that_each_has(answer_of: Any, slow: str) -> None:
    """Of two and of six compressors, one start every five minutes: heat is summed up second by second, by CoolProp's water."""
    rows = {"few": machine("few", 150, 1, circuits=1), "many": machine("many", 90, 1, circuits=3)}
    own = {
        name: sum(m["quantity"] for m in row["electrical"]["motors"] if m["role"] == "compressor")
        for name, row in rows.items()
    }
    assert own == {"few": 2, "many": 6}
    rows[slow]["oil_warm_up"] = q(6, "h")
    document = {"fleet": fleet(*rows.values()), "duty__load": q(170, "kW"), "duty__lowest_load_fraction": 0.2}
    results, steps = planned(answer_of, **document)
    capacity = {m["type"]: m["capacity_total"]["value"] for m in results["machines"]}
    assert set(capacity) == {"few", "many"}
    litres, load = results["fill"]["total_volume"]["value"], results["load"]["lowest"]["value"]
    warm, cold = 35.0, 7.0
    kelvins = [
        PropsSI("D", "T", 273.15 + t, "P", 3e5, "Water") * PropsSI("C", "T", 273.15 + t, "P", 3e5, "Water")
        for t in (warm, (warm + cold) / 2, cold)
    ]
    per_kelvin = sum(kelvins) / 3 * litres / 1000 / 1000
    assert results["asked"]["procedure"]["pull_down"]["leaving_temperature"] == q(warm, "degC")
    seconds = 0
    while warm > cold:
        running = sum(kw * min(own[name], seconds // 300 + 1) / own[name] for name, kw in capacity.items())
        warm += (load - running) / per_kelvin
        seconds += 1
    assert steps["cold_water"]["duration"]["value"] * 60 == pytest.approx(seconds, rel=0.01, abs=2)
    assert steps["stage_next_compressors"]["duration"]["value"] == 5 * 5, "six, five minutes apart"
