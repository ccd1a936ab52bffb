"""Machines in a room: their refrigerant against its volume, their heat against its air. Invented data."""

from typing import Any

import pytest
from orders import changed, fleet, machine, order
from quantity import q

from coldwright.contract import Refused

ONE = fleet(machine("middle", 250, 3))
ROOM = {"volume": q(4000, "m3"), "ventilation_flow": q(40000, "L/s"), "outdoor_temperature": q(24, "degC")}


def plan(answer_of: Any, room: dict[str, Any] | None = None, **changes: Any) -> Any:
    site = {"site__indoors": True, "fleet": ONE} | ({} if room is None else {"site__room": room})
    return answer_of("booking.assessment", order(**site | changes))


def of(answer: Any, calculator: str) -> dict[str, str]:
    return {f["code"]: f["severity"] for f in answer["findings"] if f.get("calculator") == calculator}


def test_a_small_room_stops_the_plan_by_the_charge_of_one_circuit(answer_of: Any) -> None:
    """By hand: 50 kg in two circuits, 25 kg in 200 m3 are 125 g/m3; a quarter of the limit at which R-454B burns is less."""
    answer = plan(answer_of, ROOM | {"volume": q(200, "m3")})
    (told,) = answer["results"]["indoors"]["refrigerant"]
    assert told["safety"]["largest_charge"]["value"] == pytest.approx(25)
    assert told["safety"]["concentration"]["value"] == pytest.approx(125)
    assert of(answer, "refrigeration.refrigerant_safety")["flammable_over_quarter_lfl"] == "stop"
    assert answer["outcome"] == "unacceptable"


def test_a_large_room_with_fans_has_nothing_against_the_plan(answer_of: Any) -> None:
    answer = plan(answer_of, ROOM)
    assert of(answer, "refrigeration.refrigerant_safety") == {}
    assert "check" not in of(answer, "refrigeration.room_heat").values()
    assert "stop" not in of(answer, "refrigeration.room_heat").values()
    asked = {question["field"] for question in answer["results"]["open_questions"]}
    assert not {field for field in asked if field.startswith("/site/room")}


def test_all_heat_of_the_plan_goes_to_the_room(answer_of: Any) -> None:
    results = plan(answer_of, ROOM)["results"]
    assert results["indoors"]["heat"]["heat_to_room"] == results["energy"]["heat_rejected"]
    half = plan(answer_of, ROOM | {"ducted_fraction": 0.5})["results"]
    assert half["indoors"]["heat"]["heat_to_room"]["value"] == pytest.approx(
        results["energy"]["heat_rejected"]["value"] / 2
    )


def test_too_little_air_stops_the_plan(answer_of: Any) -> None:
    answer = plan(answer_of, ROOM | {"ventilation_flow": q(3, "m3/s")})
    assert of(answer, "refrigeration.room_heat")["room_too_hot"] == "stop"
    assert answer["outcome"] == "unacceptable"


def test_what_is_not_given_is_asked_and_decides(answer_of: Any) -> None:
    bare = ONE["machines"][0]
    answer = plan(answer_of, None, fleet=fleet(changed(bare, refrigerant__charge=None)))
    asked = {question["field"]: question for question in answer["results"]["open_questions"]}
    for field in ("/site/room/volume", "/site/room/ventilation_flow", "/fleet/machines/0/refrigerant/charge"):
        assert asked[field]["decides"]
    assert "/site/room/outdoor_temperature" in asked
    assert asked["/site/room/outdoor_temperature"]["assumed"].startswith("25 degC")
    assert answer["results"]["indoors"]["refrigerant"] == []


def test_outdoors_there_is_no_room(answer_of: Any) -> None:
    assert "indoors" not in answer_of("booking.assessment", order())["results"]
    with pytest.raises(Refused) as refused:
        answer_of("booking.assessment", order(site__room=ROOM))
    assert [e.pointer for e in refused.value.errors] == ["#/site/room"]


@pytest.mark.parametrize(
    ("changes", "pointer"),
    [
        ({"site__dew_point_temperature": q(36, "degC")}, "#/site/dew_point_temperature"),
        (
            {"site__dew_point_temperature": q(20, "degC"), "site__relative_humidity_fraction": 0.5},
            "#/site/dew_point_temperature",
        ),
        ({"duty__warmest_supply_temperature": q(6.9, "degC")}, "#/duty/warmest_supply_temperature"),
    ],
)
def test_air_and_supply_that_cannot_be_are_refused(answer_of: Any, changes: dict[str, Any], pointer: str) -> None:
    with pytest.raises(Refused) as refused:
        answer_of("booking.assessment", order(**changes))
    assert [e.pointer for e in refused.value.errors] == [pointer]


def test_each_block_is_what_its_calculator_says_alone(answer_of: Any) -> None:
    answer = plan(answer_of, ROOM, critical=True, redundancy="none")
    results, asked = answer["results"], answer["results"]["asked"]
    for block, calculator, given in (
        (results["indoors"]["heat"], "refrigeration.room_heat", asked["room_heat"]),
        (
            results["indoors"]["refrigerant"][0]["safety"],
            "refrigeration.refrigerant_safety",
            asked["refrigerant_safety"][0],
        ),
        (results["restart"], "refrigeration.ride_through", asked["restart"]),
        (results["condensation"], "refrigeration.condensation", asked["condensation"]),
    ):
        assert answer_of(calculator, given)["results"] == block
