"""A large feeder under nec: the panel gives each machine its device, the site's breaker guards the feeder. Invented data."""

from typing import Any

import pytest
from orders import fleet, machine, order, stock
from quantity import q


def _many(answer_of: Any, **supply: Any) -> dict[str, Any]:
    panel = {"kind": "panel", "item": "panel 1600", "rated_current": q(1600, "A"), "outlets": 8, "count": 1}
    rows = [r for r in stock() if r["kind"] != "panel"] + [panel]
    document = order(
        duty__load=q(1200, "kW"),
        fleet=fleet(machine("same", 330, 10), accessories=rows),
        load_side__rated_flow=q(80, "L/s"),
    )
    document["supply"] |= {"available_current": None} | supply
    document["supply"] = {k: v for k, v in document["supply"].items() if v is not None}
    answer: dict[str, Any] = answer_of("booking.assessment", document)
    return answer


@pytest.mark.parametrize("breaker", [None, 1000, 1200])
def test_no_stop_is_named_for_a_breaker_that_carries_the_feeder(answer_of: Any, breaker: float | None) -> None:
    answer = _many(answer_of, **({} if breaker is None else {"breaker_rating": q(breaker, "A")}))
    supply = answer["results"]["supply"]
    assert sum(m["count"] for m in answer["results"]["machines"]) >= 4
    limit = supply["service"]["feeder"]["maximum_overcurrent_standard"]["value"]
    assert limit < supply["service"]["feeder"]["smallest_workable_standard"]["value"] <= 1000, "the trap is there"
    assert supply["service"]["fit"]["verdict"] == ("unknown" if breaker is None else "fits")
    assert "does_not_fit" not in str(supply)
    assert not [f for f in answer["findings"] if f["severity"] == "stop" and "breaker" in f["code"]]
    feeder = answer["results"]["asked"]["group_feeder"]
    assert feeder["overcurrent_device"]["value"] == (breaker or 1000)
    own = [f["overcurrent_device"]["value"] for f in answer["results"]["asked"]["feeders"]]
    plate = answer["results"]["supply"]["service"]["machines"][0]["maximum_overcurrent_standard"]["value"]
    assert all(device <= plate for device in own), "each machine's device is judged against the machine"


def test_a_breaker_too_small_for_the_feeder_is_still_a_stop(answer_of: Any) -> None:
    answer = _many(answer_of, breaker_rating=q(600, "A"))
    assert "breaker_below_smallest" in {f["code"] for f in answer["findings"] if f["severity"] == "stop"}
