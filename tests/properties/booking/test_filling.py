"""What fills the loop and keeps it safe: asked, compared and on the pick list. Invented data."""

import math
import re
from typing import Any

import pytest
from orders import fleet, machine, order, stock
from quantity import q

ONE = machine("large", 330, 1)


def planned(answer_of: Any, **changes: Any) -> tuple[dict[str, Any], dict[str, dict[str, Any]]]:
    """The answer, and the lines of the pick list by item."""
    answer = answer_of("booking.assessment", order(fleet=changes.pop("fleet", fleet(ONE)), **changes))
    return answer, {line["item"]: line for line in answer["results"]["pick_list"]}


def test_a_tap_whose_pressure_is_not_given_is_asked_for_and_a_booster_comes_along(answer_of: Any) -> None:
    answer, lines = planned(answer_of)
    fields = {x["field"] for x in answer["results"]["open_questions"]}
    assert {"/site/tap_pressure"} <= fields
    assert lines["booster pump for filling"]["from_stock"] is False
    assert "not given" in lines["booster pump for filling"]["reason"]


@pytest.mark.parametrize(("pressure", "booster"), [(250, True), (290, True), (700, False)])
def test_a_tap_is_compared_with_what_the_loop_wants(answer_of: Any, pressure: float, booster: bool) -> None:
    """Behind the backflow preventer it must still reach the fill pressure."""
    answer, lines = planned(answer_of, site__tap_pressure=q(pressure, "kPa"))
    fill = answer["results"]["fill"]
    reaches = fill["reachable_pressure"]["value"] >= answer["results"]["fill_pressure"]["value"]
    assert reaches is not booster
    assert ("booster pump for filling" in lines) is booster
    if booster:
        said = re.match(
            r"The tap reaches (-?[\d.]+) kPa behind the backflow preventer", lines["booster pump for filling"]["reason"]
        )
        assert said is not None, (
            "a tap of more than the loop needs is not called too low without what is lost on the way"
        )
        assert float(said[1]) == pytest.approx(fill["reachable_pressure"]["value"], rel=1e-4)
    assert "/site/tap_pressure" not in {x["field"] for x in answer["results"]["open_questions"]}
    assert "feed_pump_needed" not in {f["code"] for f in answer["findings"]}


@pytest.mark.parametrize("pressure", [0, 60])
def test_a_tap_that_the_backflow_preventer_takes_all_of_reaches_nothing(answer_of: Any, pressure: float) -> None:
    answer, lines = planned(answer_of, site__tap_pressure=q(pressure, "kPa"))
    assert answer["results"]["fill"].get("reachable_pressure", q(0, "kPa"))["value"] <= 0, "the trap is there"
    assert lines["booster pump for filling"]["reason"].startswith("Nothing is left of the tap's pressure behind")


def test_glycol_brings_its_gear(answer_of: Any) -> None:
    gear = ("premix tank of 1,000 L (264 gal)", "charging pump with hoses", "refractometer")
    assert not set(gear) & set(planned(answer_of)[1])
    assert set(gear) <= set(planned(answer_of, site__lowest_ambient_temperature=q(-10, "degC"))[1])


def test_every_part_that_can_be_shut_off_has_a_relief_valve(answer_of: Any) -> None:
    """Set 10 % above what the expansion vessel lets the loop rise to, to the next 10 kPa."""
    answer, lines = planned(answer_of)
    assert lines["relief valve"]["count"] == 1
    most = answer["results"]["asked"]["fill"]["expansion"]["maximum_pressure"]["value"]
    assert f"{10 * math.ceil(most / 0.9 / 10):g} kPa" in lines["relief valve"]["reason"]
    two, lines = planned(answer_of, fleet=fleet(machine("middle", 150, 3)))
    assert lines["relief valve"]["count"] == 1 + two["results"]["machines"][0]["count"]


def test_vents_stand_at_high_points_and_headers(answer_of: Any) -> None:
    answer, lines = planned(answer_of)
    assert lines["air vent"]["count"] == 2 * answer["results"]["loop"]["hose_runs"]
    answer, lines = planned(answer_of, fleet=fleet(machine("middle", 150, 3)))
    assert lines["air vent"]["count"] == 2 * answer["results"]["loop"]["hose_runs"] + 2


def test_the_loop_is_flushed_round_the_load(answer_of: Any) -> None:
    assert "flushing bypass with two valves" in planned(answer_of)[1]


def test_gear_of_the_stock_goes_by_its_own_name(answer_of: Any) -> None:
    rows = [*stock(), {"kind": "other", "item": "Relief valve 4 bar", "count": 6}]
    _, lines = planned(answer_of, fleet=fleet(ONE, accessories=rows))
    assert lines["Relief valve 4 bar"]["from_stock"] is True
    assert "relief valve" not in lines


def test_gear_that_the_fleet_does_not_list_is_no_check(answer_of: Any) -> None:
    answer, _ = planned(answer_of)
    assert "not_in_fleet" not in {f["code"] for f in answer["findings"]}


def test_plain_water_is_not_warned_of_as_a_poison(answer_of: Any) -> None:
    def codes(answer: dict[str, Any]) -> set[str]:
        return {c["code"] for c in answer["cautions"]}

    assert "ethylene_toxic" not in codes(planned(answer_of)[0])
    assert "ethylene_toxic" in codes(planned(answer_of, site__lowest_ambient_temperature=q(-10, "degC"))[0])
