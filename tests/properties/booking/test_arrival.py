"""The order of work: a set that comes along, flushing, and times that agree with the start on site. Invented data."""

import math
from itertools import pairwise
from typing import Any

import pytest
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
