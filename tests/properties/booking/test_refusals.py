"""What an order or a fleet is refused for, with the field that is named."""

from typing import Any

import pytest
from orders import changed, fleet, machine, order
from quantity import q

from coldwright.contract import Refused


def pointers(answer_of: Any, document: dict[str, Any], calculator: str = "booking.assessment") -> list[str]:
    with pytest.raises(Refused) as caught:
        answer_of(calculator, document)
    return [e.pointer for e in caught.value.errors]


def test_an_empty_order_names_every_required_field_at_once(answer_of: Any) -> None:
    assert set(pointers(answer_of, {})) >= {
        "#/reference",
        "#/period",
        "#/practice",
        "#/duty",
        "#/site",
        "#/supply",
        "#/routes",
    }


def test_missing_fields_inside_are_named_at_once(answer_of: Any) -> None:
    document = changed(
        order(),
        duty__leaving_temperature=None,
        site__design_ambient_temperature=None,
        supply__source=None,
        routes__hose_length=None,
        routes__cable_length=None,
        practice=None,
    )
    assert set(pointers(answer_of, document)) == {
        "#/duty/leaving_temperature",
        "#/site/design_ambient_temperature",
        "#/supply/source",
        "#/routes/hose_length",
        "#/routes/cable_length",
        "#/practice",
    }


@pytest.mark.parametrize(
    ("changes", "pointer"),
    [
        ({"period": {"from": "2027-06-14", "to": "2027-06-01"}}, "#/period/to"),
        ({"period": {"from": "2027-06-14", "to": "2047-06-01"}}, "#/period/to"),
        ({"period": {"from": "14/06/2027", "to": "2027-06-20"}}, "#/period/from"),
        ({"duty__load": None}, "#/duty/load"),
        ({"duty__loads": [{"kind": "direct", "name": "a", "power": q(3, "kW")}]}, "#/duty/loads"),
        (
            {"duty__temperature_difference": q(5, "delta_degC"), "duty__liquid_flow": q(9, "L/s")},
            "#/duty/liquid_flow",
        ),
        ({"duty__liquid_flow": q(0.5, "L/s")}, "#/duty/liquid_flow"),
        ({"duty__liquid_flow": q(500, "L/s")}, "#/duty/liquid_flow"),
        ({"supply__frequency": q(55, "Hz")}, "#/supply/frequency"),
        ({"fluid": {"kind": "water", "mass_fraction": 0.3}}, "#/fluid/mass_fraction"),
        ({"site__lowest_ambient_temperature": q(40, "degC")}, "#/site/lowest_ambient_temperature"),
        ({"site__ground": {"soil_class": "unprepared"}}, "#/site/ground/soil_class"),
        (
            {"site__ground": {"soil_class": "clay", "allowable_bearing_pressure": q(70, "kPa")}},
            "#/site/ground/soil_class",
        ),
        ({"machine_types": ["small", "no such type"]}, "#/machine_types/1"),
        ({"fleet": None}, "#/fleet"),
        ({"fleet": None, "fleet_id": "north"}, "#/fleet_id"),
        ({"fleet_id": "north"}, "#/fleet_id"),
        ({"preferences": "cheapest"}, "#/preferences"),
        ({"routes__hose_length": q(0, "m")}, "#/routes/hose_length"),
        ({"duty__load": q(-5, "kW")}, "#/duty/load"),
        (
            {
                "duty__load": None,
                "duty__loads": [
                    {
                        "kind": "liquid_flow",
                        "name": "a",
                        "flow": q(3, "L/s"),
                        "entering_temperature": q(8, "degC"),
                        "leaving_temperature": q(12, "degC"),
                    }
                ],
            },
            "#/duty/loads/0/leaving_temperature",
        ),
    ],
)
def test_an_order_that_contradicts_itself_is_refused_where_it_does(
    answer_of: Any, changes: dict[str, Any], pointer: str
) -> None:
    assert pointer in pointers(answer_of, order(**changes))


def test_the_refusal_of_a_fleet_id_names_the_way(answer_of: Any) -> None:
    with pytest.raises(Refused, match="PUT /v1/bookings"):
        answer_of("booking.assessment", changed(order(), fleet=None, fleet_id="north"))


def test_too_cold_for_any_antifreeze_is_refused(answer_of: Any) -> None:
    """At -45 degC and a margin of 3 K propylene glycol still does; beyond the order's own range nothing is asked."""
    coldest = order(site__lowest_ambient_temperature=q(-45, "degC"))
    assert answer_of("booking.assessment", coldest)["results"]["fluid"]["mass_fraction"] > 0.5
    colder = order(site__lowest_ambient_temperature=q(-50, "degC"))
    assert pointers(answer_of, colder) == ["#/site/lowest_ambient_temperature"]


def test_every_contradiction_is_named_together(answer_of: Any) -> None:
    document = order(
        period={"from": "2027-06-14", "to": "2027-06-01"},
        machine_types=["nothing"],
        fluid={"kind": "water", "mass_fraction": 0.3},
    )
    document["fleet"]["machines"][1]["evaporator"]["flow_minimum"] = q(99, "L/s")
    assert set(pointers(answer_of, document)) == {
        "#/period/to",
        "#/machine_types/0",
        "#/fluid/mass_fraction",
        "#/fleet/machines/1/evaporator/flow_minimum",
    }


ROWS: list[tuple[str, dict[str, Any], str]] = [
    ("table beside the plate", {"rating__capacity": q(160, "kW")}, "capacity_table/capacity"),
    ("power beside the plate", {"rating__power": q(70, "kW")}, "capacity_table/power"),
    ("flow limits crossed", {"evaporator__flow_maximum": q(1, "L/s")}, "evaporator/flow_minimum"),
    ("rated flow outside", {"evaporator__rated_flow": q(40, "L/s")}, "evaporator/rated_flow"),
    (
        "device below ampacity",
        {"electrical__maximum_overcurrent_device": q(20, "A")},
        "electrical/maximum_overcurrent_device",
    ),
    ("envelope empty", {"envelope__ambient_maximum": q(-30, "degC")}, "envelope/ambient_maximum"),
    ("leaving crossed", {"envelope__leaving_maximum": q(2, "degC")}, "envelope/leaving_maximum"),
    ("entering not above leaving", {"rating__entering_temperature": q(7, "degC")}, "rating/entering_temperature"),
    ("odd frequency", {"electrical__frequency": q(55, "Hz")}, "electrical/frequency"),
    ("lighter when full", {"body__mass_dry": q(99999 / 2, "kg")}, "body/mass_operating"),
    ("too many circuits", {"circuits": 9}, "circuits"),
    ("pump without curve", {"pump__curve": []}, "pump/curve"),
    ("no compressor", {"electrical__motors": [{"role": "fan", "full_load_current": q(2, "A")}]}, "electrical/motors"),
    (
        "nothing on the plate",
        {"electrical__motors": [], "electrical__minimum_circuit_ampacity": None},
        "electrical/minimum_circuit_ampacity",
    ),
    (
        "ragged table",
        {"capacity_table__leaving_liquid_temperature": {"values": [1, 2], "unit": "degC"}},
        "capacity_table/capacity/values",
    ),
    (
        "axis that falls",
        {"capacity_table__ambient_temperature": {"values": [52, 40, 30, 20, 10, -5], "unit": "degC"}},
        "capacity_table/ambient_temperature/values",
    ),
]


@pytest.mark.parametrize(("what", "changes", "pointer"), ROWS, ids=[row[0] for row in ROWS])
def test_a_fleet_row_that_contradicts_itself_is_refused_by_both(
    answer_of: Any, what: str, changes: dict[str, Any], pointer: str
) -> None:
    document = fleet(machine("sound", 90), changed(machine("odd", 150), **changes))
    wanted = f"#/fleet/machines/1/{pointer}"
    assert wanted in pointers(answer_of, {"fleet": document}, "booking.fleet_check"), what
    assert wanted in pointers(answer_of, order(fleet=document))


def test_names_that_stand_twice_are_refused(answer_of: Any) -> None:
    document = fleet(machine("same", 90), machine("same", 150))
    document["accessories"] += [document["accessories"][0]]
    found = pointers(answer_of, {"fleet": document}, "booking.fleet_check")
    assert found == ["#/fleet/machines/1/type", f"#/fleet/accessories/{len(document['accessories']) - 1}/item"]


def test_a_table_within_five_percent_of_the_plate_is_taken(answer_of: Any) -> None:
    near = changed(machine("near", 150), rating__capacity=q(156, "kW"))
    assert answer_of("booking.fleet_check", {"fleet": fleet(near)})["outcome"] == "conditional"


def test_a_table_is_taken_within_a_twentieth_of_the_plate(answer_of: Any) -> None:
    """By hand: the table reads 150 kW at the point of the plate; what is said to be taken is taken, a little more is not."""
    for plate in (140, 160):
        wrong = changed(machine("wrong", 150), rating__capacity=q(plate, "kW"))
        with pytest.raises(Refused) as caught:
            answer_of("booking.fleet_check", {"fleet": fleet(wrong)})
        (error,) = [e for e in caught.value.errors if e.pointer.endswith("capacity_table/capacity")]
        assert error.allowed
        assert (error.allowed.minimum, error.allowed.maximum) == pytest.approx((0.95 * plate, 1.05 * plate))


@pytest.mark.parametrize(("kelvin", "taken"), [(1.95, False), (2.05, True), (19.5, True), (20.5, False)])
def test_a_flow_leaves_a_difference_to_work_with(answer_of: Any, kelvin: float, taken: bool) -> None:
    """By hand: 200 kW over water of 7 degC, 4.199 kJ/kg.K and 999.9 kg/m3; machines work with 2 to 20 K."""
    flow = q(200 / (4.199 * 0.9999 * kelvin), "L/s")
    document = order(duty__liquid_flow=flow)
    if taken:
        answer_of("booking.assessment", document)
    else:
        assert pointers(answer_of, document) == ["#/duty/liquid_flow"]


def test_a_change_names_the_order_that_is_wrong(answer_of: Any) -> None:
    wrong = order(period={"from": "2027-06-14", "to": "2027-06-01"})
    assert pointers(answer_of, {"before": order(), "after": wrong}, "booking.change") == ["#/after/period/to"]
