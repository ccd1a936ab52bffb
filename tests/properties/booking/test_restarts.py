"""Critical loads: how long the liquid stays cold while a machine or the supply restarts. Invented data."""

from typing import Any

import pytest
from orders import changed, fleet, machine, order
from quantity import q

TWO = fleet(machine("middle", 150, 3))


def plan(answer_of: Any, **changes: Any) -> Any:
    return answer_of("booking.assessment", order(**{"fleet": TWO, "critical": True, "redundancy": "none"} | changes))


def ridden(answer: Any) -> dict[str, Any]:
    return {one["name"]: one for one in answer["results"]["restart"]["interruptions"]}


def test_a_load_that_is_not_critical_is_not_asked_about(answer_of: Any) -> None:
    answer = answer_of("booking.assessment", order())
    assert "restart" not in answer["results"]
    assert not [q for q in answer["results"]["open_questions"] if "restart" in q["field"]]


def test_the_loop_of_the_plan_is_ridden_through(answer_of: Any) -> None:
    """Once around: the volume of the loop over the flow that the pumps make, as the start on site waits for it."""
    results = plan(answer_of)["results"]
    given = results["asked"]["restart"]
    assert given["loop"]["volume"] == results["fill"]["total_volume"]
    turnover = results["fill"]["total_volume"]["value"] / results["loop"]["duty_flow"]["value"] / 60
    assert results["restart"]["turnover"]["value"] == pytest.approx(turnover, rel=0.002)
    waited = results["asked"]["procedure"]["configuration"]["loop_turnover_time"]
    assert waited["value"] / {"s": 60, "min": 1}[waited["unit"]] == pytest.approx(turnover, rel=1e-6)


def test_oil_warms_again_after_a_loss_of_supply_and_not_after_a_trip(answer_of: Any) -> None:
    slow = fleet(changed(machine("middle", 150, 3), oil_warm_up=q(8, "h")))
    one = ridden(plan(answer_of, fleet=slow, supply__restart_time=q(20, "min")))
    assert one["Machine trip"]["no_cooling"] == q(5, "min")
    assert one["Supply failure"]["no_cooling"] == q(8 * 60 + 20, "min")
    assert one["Supply failure"]["no_flow"] == q(20, "min")


def test_pumps_of_the_site_run_on_when_a_generating_set_stops(answer_of: Any) -> None:
    """Pumps aboard stop with the set; the site's own do not, but stop where the site feeds all."""
    hired = {"supply": {"source": "generator"}}
    assert ridden(plan(answer_of, **hired))["Supply failure"]["no_flow"] == q(15, "min")
    assert ridden(plan(answer_of, **hired, load_side__pump="site"))["Supply failure"]["no_flow"] == q(0, "min")
    assert ridden(plan(answer_of, load_side__pump="site"))["Supply failure"]["no_flow"] == q(5, "min")


def test_machines_that_run_on_take_their_share(answer_of: Any) -> None:
    """Of two machines one trips: the other runs on. With a spare machine nothing is lost at all."""
    pair = plan(answer_of)
    assert [m["count"] for m in pair["results"]["machines"]] == [2]
    stop = pair["results"]["asked"]["restart"]["interruptions"][0]
    assert stop["capacity_left"]["value"] == pytest.approx(pair["results"]["machines"][0]["capacity_each"]["value"])
    spare = plan(answer_of, redundancy="spare_machine")
    trip = ridden(spare)["Machine trip"]
    assert trip["kept"]
    assert trip["carried"] == q(0, "min")


def test_what_is_not_given_is_asked(answer_of: Any) -> None:
    fields = {question["field"] for question in plan(answer_of)["results"]["open_questions"]}
    assert {"/duty/warmest_supply_temperature", "/supply/restart_time"} <= fields
    told = plan(answer_of, duty__warmest_supply_temperature=q(12, "degC"), supply__restart_time=q(1, "min"))
    fields = {question["field"] for question in told["results"]["open_questions"]}
    assert not {"/duty/warmest_supply_temperature", "/supply/restart_time"} & fields


def test_the_buffer_that_is_asked_for_keeps_the_load_cold(answer_of: Any) -> None:
    """The calculator, asked again with the buffer that the plan says would do with the oil kept warm."""
    answer = plan(answer_of, load_side__pump="site", supply__source="generator")
    given = answer["results"]["asked"]["restart"]
    litres = ridden(answer)["Supply failure"]["volume_to_add_with_warm_oil"]["value"]
    assert litres > 0
    loop = given["loop"]
    loop["volume"]["value"] += litres * (1 + 1e-6)
    loop["buffer_volume"] = q(litres * (1 + 1e-6), "L")
    given["interruptions"][1]["oil_warm_up"] = q(0, "h")
    (_, again) = answer_of("refrigeration.ride_through", given)["results"]["interruptions"]
    assert again["kept"]


def test_hose_sweats_by_the_dew_point_of_the_site(answer_of: Any) -> None:
    """Indoors it is a check that names the dew point; in dry air nothing sweats."""
    damp = answer_of("booking.assessment", order(site__indoors=True, site__dew_point_temperature=q(22, "degC")))
    assert {f["code"]: f["severity"] for f in damp["findings"]}["surface_sweats"] == "check"
    surfaces = damp["results"]["condensation"]["surfaces"]
    assert [s["name"] for s in surfaces][:2] == ["supply hose", "return hose"]
    assert surfaces[0]["surface_temperature"]["value"] < surfaces[1]["surface_temperature"]["value"]
    dry = answer_of("booking.assessment", order(site__dew_point_temperature=q(2, "degC")))
    assert not [f for f in dry["findings"] if f["code"] == "surface_sweats"]
    assert dry["results"]["condensation"]["drip_rate"]["value"] == 0
