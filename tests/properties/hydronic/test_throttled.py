"""Head that valves take away is a finding with its cure, and the cure gives the flow when the loop is asked again."""

from typing import Any

import pytest
from loops import BASE_POINTS, base, base_elements, pump, valve
from quantity import q

VALVE = valve("balancing valve", 25)


def ask(answer_of: Any, *, shut: bool, count: int = 2, **more: Any) -> Any:
    elements = [VALVE, *base_elements()] if shut else base_elements()
    given = base(elements=elements, pumps=[pump(*BASE_POINTS, parallel_count=count)])
    given["pumps"][0] |= more.pop("pump", {})
    return answer_of("hydronic.loop", given | more)


def test_the_share_is_what_the_other_elements_leave_of_the_head(answer_of: Any) -> None:
    """Derived: the pumps make up every drop of the ring; what is not dropped elsewhere the valve drops."""
    results = ask(answer_of, shut=True)["results"]
    drops = {e["name"]: e["pressure_drop"]["value"] for e in results["elements"]}
    taken = drops.pop("balancing valve") / results["pump_pressure_rise"]["value"]
    assert results["throttled_head_fraction"] == pytest.approx(taken, rel=1e-6)
    assert 1 - sum(drops.values()) / results["pump_pressure_rise"]["value"] == pytest.approx(taken, rel=1e-6)
    assert taken > 0.4


def test_much_is_a_check_and_little_is_none(answer_of: Any) -> None:
    codes = {f["code"]: f["severity"] for f in ask(answer_of, shut=True)["findings"]}
    assert codes["head_throttled"] == "check"
    open_wide = ask(answer_of, shut=False)
    assert "head_throttled" not in {f["code"] for f in open_wide["findings"]}
    assert "throttled_head_fraction" not in open_wide["results"]


def test_the_frequency_gives_the_same_flow_with_the_valve_taken_out(answer_of: Any) -> None:
    shut = ask(answer_of, shut=True)["results"]
    frequency = shut["frequency_without_valves"]
    slowed = ask(answer_of, shut=False, pump={"frequency": frequency})["results"]
    assert slowed["duty_flow"]["value"] == pytest.approx(shut["duty_flow"]["value"], rel=1e-6)
    assert (
        slowed["hydraulic_power"]["value"]
        < (1 - shut["throttled_head_fraction"] + 1e-6) * (shut["hydraulic_power"]["value"])
    )


@pytest.mark.parametrize("count", [2, 3, 4])
def test_fewer_pumps_give_the_flow_and_fewer_still_do_not(answer_of: Any, count: int) -> None:
    shut = ask(answer_of, shut=True, count=count)["results"]
    flow, few = shut["duty_flow"]["value"], shut["pumps_enough"]
    assert few < count
    assert ask(answer_of, shut=False, count=few)["results"]["duty_flow"]["value"] >= flow
    if few > 1:
        assert ask(answer_of, shut=False, count=few - 1)["results"]["duty_flow"]["value"] < flow


def test_a_flow_wanted_below_the_duty_counts_what_must_still_be_throttled(answer_of: Any) -> None:
    """The valve that the loop asks for, put in, takes the share that was said before it was there."""
    wanted = {"flow": q(9, "L/s")}
    before = ask(answer_of, shut=False, count=1, required=wanted)["results"]
    elements = [valve("new valve", before["throttling_kv"]), *base_elements()]
    after = answer_of("hydronic.loop", base(elements=elements))["results"]
    assert after["duty_flow"]["value"] == pytest.approx(9, rel=1e-6)
    assert after["throttled_head_fraction"] == pytest.approx(before["throttled_head_fraction"], rel=1e-6)
    assert "pumps_enough" not in after
