"""A panel between the site's breaker and machines: when it is wanted, and its feed on the way of a fault. Invented data."""

import math
from typing import Any

import pytest
from orders import fleet, machine, order, stock
from quantity import q

ONE = fleet(machine("only", 330, 1))


def _one(answer_of: Any, practice: str = "nec", **supply: Any) -> dict[str, Any]:
    document = order(fleet=ONE)
    document["practice"] = practice
    document["supply"] |= {k: q(v, "A") for k, v in supply.items()}
    answer: dict[str, Any] = answer_of("booking.assessment", document)
    return answer


@pytest.mark.parametrize("breaker", [400, 600, 800])
def test_a_breaker_too_large_for_one_machine_guards_a_feeder_to_a_panel(answer_of: Any, breaker: float) -> None:
    """The same rule as for several machines: the site's breaker against the feeder, the machine's device against it."""
    answer = _one(answer_of, breaker_rating=breaker)
    results = answer["results"]
    most = results["supply"]["service"]["machines"][0]["maximum_overcurrent_standard"]["value"]
    assert most < breaker, "the trap is there"
    assert not [f for f in answer["findings"] if f["severity"] == "stop"]
    assert results["supply"]["service"]["fit"]["verdict"] == "fits"
    (panel,) = [x for x in results["pick_list"] if x["kind"] == "panel"]
    assert panel["count"] == 1
    assert results["asked"]["panel_feed"]["overcurrent_device"]["value"] == breaker
    (own,) = results["asked"]["feeders"]
    assert own["overcurrent_device"]["value"] <= most
    assert "feeder_device_by_conductors" in {f["code"] for f in answer["findings"]}


def test_one_machine_behind_a_breaker_of_its_size_needs_no_panel(answer_of: Any) -> None:
    results = _one(answer_of)["results"]
    fits = results["supply"]["service"]["machines"][0]["maximum_overcurrent_standard"]["value"]
    results = _one(answer_of, breaker_rating=fits)["results"]
    assert "panel_feed" not in results["cable"]
    assert not [x for x in results["pick_list"] if x["kind"] == "panel"]


def test_one_breaker_too_small_is_still_a_stop(answer_of: Any) -> None:
    found = {f["code"] for f in _one(answer_of, breaker_rating=60)["findings"] if f["severity"] == "stop"}
    assert "breaker_below_smallest" in found


def test_a_fault_passes_through_the_feed_of_the_panel(answer_of: Any) -> None:
    """By hand: impedances in a row. The feed of 10 m lowers the current by what its share of the way is."""
    with_panel = _one(answer_of, breaker_rating=400)["results"]
    without = _one(answer_of)["results"]
    (given,), (bare,) = with_panel["asked"]["faults"], without["asked"]["faults"]
    feed, own = given["segments"]
    assert bare["segments"] == [own]
    assert feed["length"] == with_panel["asked"]["panel_feed"]["length"]
    assert feed["conductor_size"] == with_panel["cable"]["panel_feed"]["feeder"]["conductor_size"]
    assert feed["sets"] == with_panel["cable"]["panel_feed"]["feeder"]["sets"]
    there, before = (
        r["cable"]["machines"][0]["fault"]["fault_current_at_machine"]["value"] for r in (with_panel, without)
    )
    volts = with_panel["supply"]["voltage"]["value"]
    impedance = volts / math.sqrt(3) / before
    # 4/0 AWG: about 0.06 ohm/kft as NEC Chapter 9 Table 9 has it, copper in PVC (from memory); 10 m and its sets
    assert feed["conductor_size"] == "4/0 AWG"
    share = 0.0745 * 10 / 304.8 / feed["sets"] / impedance
    assert there < before
    assert 1 - there / before == pytest.approx(share, rel=0.35)


def test_several_machines_have_the_feed_on_the_way_too(answer_of: Any) -> None:
    rows = [r for r in stock() if r["kind"] != "panel"]
    rows += [{"kind": "panel", "item": "panel 800", "rated_current": q(800, "A"), "outlets": 6, "count": 1}]
    results = answer_of("booking.assessment", order(fleet=fleet(machine("middle", 150, 3), accessories=rows)))[
        "results"
    ]
    assert sum(m["count"] for m in results["machines"]) > 1
    assert all(len(f["segments"]) == 2 for f in results["asked"]["faults"])
