"""A machine on the frequency of its own plate does what its table and its curve say, at 50 Hz as at 60. Invented data."""

from typing import Any

import pytest
from orders import fleet, machine, order
from quantity import q

from coldwright.contract import Refused


def _european(**more: Any) -> dict[str, Any]:
    row = machine("only", 250, 2, voltage=400, frequency=50)
    row |= more
    return order(
        practice="iec",
        supply={"source": "site", "voltage": q(400, "V"), "frequency": q(50, "Hz"), "available_current": q(2000, "A")},
        fleet=fleet(row),
    )


def test_a_table_that_tells_no_frequency_is_for_the_frequency_of_the_plate(answer_of: Any) -> None:
    fifty = answer_of("booking.assessment", _european())["results"]
    sixty = answer_of("booking.assessment", order(fleet=fleet(machine("only", 250, 2))))["results"]
    for results in (fifty, sixty):
        (chosen,) = results["machines"]
        assert chosen["count"] == 1
        # 250 kW by the plate, at the plate's air and leaving liquid; the loop's range and height take a few percent
        assert chosen["capacity_each"]["value"] == pytest.approx(250, rel=0.02)
    assert fifty["machines"][0]["capacity_each"] == sixty["machines"][0]["capacity_each"]
    assert fifty["loop"]["duty_flow"] == sixty["loop"]["duty_flow"], (
        "the own pump's curve is of the plate's frequency too"
    )
    assert "frequency_below_rating" not in {f["code"] for f in answer_of("booking.assessment", _european())["findings"]}


def test_a_table_that_tells_no_difference_is_for_the_difference_of_the_plate(answer_of: Any) -> None:
    (asked,) = answer_of("booking.assessment", _european())["results"]["asked"]["capacities"]
    assert asked["machine"]["rating_table"]["basis"]["temperature_difference"] == q(5.5, "delta_degC")


@pytest.mark.parametrize(
    ("basis", "field"),
    [
        ({"frequency": q(60, "Hz")}, "frequency"),
        ({"temperature_difference": q(10, "delta_degC")}, "temperature_difference"),
    ],
)
def test_a_table_for_another_point_than_the_plate_is_refused(answer_of: Any, basis: Any, field: str) -> None:
    document = _european()
    document["fleet"]["machines"][0]["capacity_table"]["basis"] = basis
    with pytest.raises(Refused) as refused:
        answer_of("booking.assessment", document)
    assert [e.pointer for e in refused.value.errors] == [f"#/fleet/machines/0/capacity_table/basis/{field}"]
    document["fleet"]["machines"][0]["capacity_table"]["basis"] = {"frequency": q(50, "Hz")}
    answer_of("booking.assessment", document)
