"""What a line of the pick list says, and gear that a crew misses when it is left at the yard. Invented data."""

from typing import Any

import pytest
from orders import changed, fleet, machine, order, stock
from quantity import q

ONE = fleet(machine("large", 330, 1))


def lines(answer_of: Any, **changes: Any) -> list[dict[str, Any]]:
    """The pick list."""
    found: list[dict[str, Any]] = answer_of("booking.assessment", order(**{"fleet": ONE} | changes))["results"][
        "pick_list"
    ]
    return found


def test_hose_and_cable_say_length_ends_and_purpose(answer_of: Any) -> None:
    rows = [r | ({"coupling": "grooved"} if r["kind"] == "hose" else {}) for r in stock()]
    found = lines(answer_of, fleet=fleet(machine("middle", 150, 3), accessories=rows))
    hose = [x for x in found if x["kind"] == "hose"]
    assert {x["purpose"] for x in hose} == {"supply and return", "header to machine"}
    assert {x["end_type"] for x in hose} == {"grooved"}
    assert {x["size"] for x in hose} <= {"15 m", "10 m", "6 m"}
    cable = [x for x in found if x["kind"] == "cable"]
    assert {x["purpose"] for x in cable} == {"machines", "feed of the panel"}
    assert {(x["size"], x["end_type"]) for x in cable} == {("15.24 m", "connectors")}


def test_every_open_end_has_a_cap(answer_of: Any) -> None:
    """Two for each hose, as `site.transport` counts them."""
    found = lines(answer_of, fleet=fleet(machine("middle", 150, 3)))
    (caps,) = [x for x in found if x["item"] == "blanking cap"]
    assert caps["count"] == 2 * sum(x["count"] for x in found if x["kind"] == "hose")


def test_a_hook_wants_slings_and_everybody_tools(answer_of: Any) -> None:
    points = [{"id": f"{x}{y}", "x": q(x, "m"), "y": q(y, "m"), "z": q(2.2, "m")} for x in (-2, 2) for y in (-0.7, 0.7)]
    centre = {"x": q(0.1, "m"), "y": q(0, "m"), "z": q(1, "m")}
    row = changed(machine("large", 330, 1), body__lifting_points=points, body__centre_of_gravity=centre)
    answer = answer_of("booking.assessment", order(fleet=fleet(row), access={"lift": "crane"}))
    (sling,) = [x for x in answer["results"]["pick_list"] if x["item"].startswith("sling set")]
    needed = answer["results"]["site"]["lift"][0]["lift"]["required_leg_rated_load"]["value"] / 1000
    assert "4 legs" in sling["item"]
    each = float(sling["item"].split(" of ")[1].split()[0])
    assert needed <= each < needed + 0.5
    bare = lines(answer_of, access={"lift": "roll_off"})
    assert not [x for x in bare if x["item"].startswith("sling set")]
    assert {"tool kit of the crew", "electrician's kit"} <= {x["item"] for x in bare}


@pytest.mark.parametrize(
    ("kilowatts", "voltage", "taken"),
    [(500, None, True), (500, 480, True), (5, None, False), (500, 400, False)],
    ids=["enough", "its voltage", "too small", "another voltage"],
)
def test_a_load_bank_of_the_stock_is_taken_where_it_does(
    answer_of: Any, kilowatts: float, voltage: float | None, taken: bool
) -> None:
    bank: dict[str, Any] = {"kind": "load_bank", "item": "bank", "rated_active_power": q(kilowatts, "kW"), "count": 1}
    bank |= {} if voltage is None else {"voltage": q(voltage, "V")}
    document = order(
        supply={"source": "generator"},
        duty__lowest_load_fraction=0.3,
        fleet=fleet(machine("only", 250, 2), accessories=[*stock(), bank]),
    )
    answer = answer_of("booking.assessment", document)
    (line,) = [x for x in answer["results"]["pick_list"] if x["kind"] == "load_bank"]
    wanted = answer["results"]["asked"]["generator"]["load_bank_power"]
    assert line["purpose"] == f"set to {wanted['value']:g} kW"
    assert (line["item"] == "bank", line["from_stock"]) == (taken, taken)
    assert "not_in_fleet" not in {f["code"] for f in answer["findings"]}


def test_the_smallest_bank_that_does_goes(answer_of: Any) -> None:
    banks = [
        {"kind": "load_bank", "item": f"bank {kw}", "rated_active_power": q(kw, "kW"), "count": 1}
        for kw in (900, 200, 500)
    ]
    document = order(
        supply={"source": "generator"},
        duty__lowest_load_fraction=0.3,
        fleet=fleet(machine("only", 250, 2), accessories=[*stock(), *banks]),
    )
    found = answer_of("booking.assessment", document)["results"]["pick_list"]
    assert [x["item"] for x in found if x["kind"] == "load_bank"] == ["bank 200"]
