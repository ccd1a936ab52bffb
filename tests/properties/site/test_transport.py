"""What must hold of `site.transport` whatever is carried, and what it refuses."""

import itertools
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from quantity import q
from site_given import cautioned, codes

from coldwright.contract import Refused


def item(name="a", length=3.0, width=1.1, height=1.5, mass=800.0, **more):
    return {
        "id": name,
        "length": q(length, "m"),
        "width": q(width, "m"),
        "height": q(height, "m"),
        "mass": q(mass, "kg"),
        "unload": "fork_truck",
    } | more


def vehicle(name="lorry", length=7.0, width=2.5, payload=9000.0, **more):
    return {
        "id": name,
        "deck_length": q(length, "m"),
        "deck_width": q(width, "m"),
        "deck_height": q(1.2, "m"),
        "payload": q(payload, "kg"),
    } | more


def carry(answer_of, items, vehicles, **more):
    return answer_of("site.transport", {"items": items, "vehicles": vehicles, **more})


def aboard(answer):
    total: dict[str, int] = {}
    for load in answer["results"]["loads"]:
        for entry in load["items"]:
            total[entry["item"]] = total.get(entry["item"], 0) + entry["quantity"]
    return total


cargo = st.lists(
    st.tuples(st.floats(0.5, 7), st.floats(0.5, 2.5), st.floats(20, 4000), st.booleans(), st.integers(1, 3)),
    min_size=1,
    max_size=5,
)


@settings(max_examples=30)
@given(cargo)
def test_every_piece_is_carried_once_and_no_deck_is_overfull(answer_of, pieces):
    items = [
        item(f"{i}", length, width, 1.1, mass, stackable=stackable, quantity=n)
        for i, (length, width, mass, stackable, n) in enumerate(pieces)
    ]
    answer = carry(answer_of, items, [vehicle(), vehicle("long", 12.0, payload=20000.0)])
    assert aboard(answer) == {i["id"]: i["quantity"] for i in items}
    decks = {"lorry": (7, 9000), "long": (12, 20000)}
    for load in answer["results"]["loads"]:
        length, payload = decks[load["vehicle"]]
        assert load["length_used"]["value"] <= length + 1e-6
        assert load["mass"]["value"] <= payload + 1e-6
    assert answer["results"]["number_of_loads"] == len(answer["results"]["loads"])


def partitions(things):
    if not things:
        yield []
        return
    first, *rest = things
    for size in range(len(rest) + 1):
        for others in itertools.combinations(rest, size):
            left = [t for t in rest if t not in others]
            for way in partitions(left):
                yield [[first, *others], *way]


@settings(max_examples=25)
@given(st.lists(st.tuples(st.floats(1, 5), st.floats(2, 2.5), st.floats(500, 5000)), min_size=1, max_size=6))
def test_the_number_is_the_least(answer_of, pieces):
    """Against every split of single-lane pieces over one kind of lorry."""
    items = [item(f"{i}", length, width, 1.5, mass) for i, (length, width, mass) in enumerate(pieces)]
    answer = carry(answer_of, items, [vehicle()])
    least = min(
        len(way)
        for way in partitions(list(range(len(pieces))))
        if all(sum(pieces[i][0] for i in p) <= 7 and sum(pieces[i][2] for i in p) <= 9000 for p in way)
    )
    assert answer["results"]["number_of_loads"] == least


def test_many_pieces_are_loaded_too(answer_of):
    answer = carry(
        answer_of, [item(quantity=41), item("b", 1.5, 1.0, 1.0, 300, quantity=60, stackable=True)], [vehicle()]
    )
    assert aboard(answer) == {"a": 41, "b": 60}
    assert "number_not_proved_least" in codes(answer, "note")
    assert answer["results"]["number_of_loads"] >= math.ceil((41 * 800 + 60 * 300) / 9000)


def test_two_abreast_and_two_high(answer_of):
    pair = carry(answer_of, [item(quantity=4)], [vehicle()])
    assert pair["results"]["loads"][0]["length_used"]["value"] == pytest.approx(6)
    stack = carry(answer_of, [item(quantity=4, height=1.2, stackable=True)], [vehicle()])
    assert stack["results"]["loads"][0]["length_used"]["value"] == pytest.approx(3)
    tall = carry(answer_of, [item(quantity=4, height=1.6, stackable=True)], [vehicle()])
    assert tall["results"]["loads"][0]["length_used"]["value"] == pytest.approx(6)


def test_few_vehicles_of_a_kind(answer_of):
    two = [vehicle(count=1), vehicle("small", 4.0, payload=3000.0, count=2)]
    enough = carry(answer_of, [item(width=2.0, quantity=4)], two)
    assert enough["results"]["number_of_loads"] == 3
    assert sorted(load["vehicle"] for load in enough["results"]["loads"]) == ["lorry", "small", "small"]
    short = carry(answer_of, [item(width=2.0, quantity=5)], two)
    assert "not_enough_vehicles" in codes(short, "stop")
    assert aboard(short) == {"a": 4}
    none = carry(answer_of, [item()], [vehicle(count=0)])
    assert none["results"]["loads"] == []


def test_order_of_unloading(answer_of):
    items = [item("racks", unload="hand", length=1), item("pump", length=1.5), item("machine", unload="crane")]
    steps = carry(answer_of, items, [vehicle()])["results"]["unload_plan"]
    assert [s["item"] for s in steps] == ["machine", "pump", "racks"]
    assert {s["load"] for s in steps} == {1}


@given(st.floats(1.5, 5.5), st.floats(100, 9000))
def test_axle_loads_carry_everything(answer_of, x, mass):
    trailer = vehicle(tare=q(4000, "kg"), tare_centre=q(4, "m"), kingpin_to_axles=q(6, "m"))
    answer = carry(
        answer_of, [item(mass=mass)], [trailer], placements=[{"item": "a", "vehicle": "lorry", "x": q(x, "m")}]
    )
    loads = answer["results"]["loads"][0]["axle_loads"]
    assert loads["rear"]["value"] + loads["kingpin"]["value"] == pytest.approx(4000 + mass)
    assert loads["rear"]["value"] * 6 == pytest.approx(16000 + mass * x)


@given(st.floats(2, 100), st.integers(2, 9), st.floats(0, 20))
def test_a_longer_group_never_carries_less(answer_of, feet, axles, more):
    limits = [
        answer_of("site.transport", {"axle_groups": [{"span": q(f, "ft"), "axles": axles, "mass": q(1, "t")}]})
        for f in (feet, feet + more)
    ]
    first, second = (a["results"]["axle_group_limits"][0]["limit"]["value"] for a in limits)
    assert first <= second <= 80000 * 0.45359237 + 1e-6


def test_units_change_nothing(answer_of):
    metric = carry(answer_of, [item(quantity=3)], [vehicle()])["results"]
    us = carry(
        answer_of,
        [item(quantity=3) | {"length": q(3 / 0.3048, "ft"), "mass": q(0.8, "t")}],
        [vehicle() | {"deck_length": q(7000, "mm"), "payload": q(9000 / 0.45359237, "lb")}],
    )["results"]
    assert us["number_of_loads"] == metric["number_of_loads"]
    assert us["loads"][0]["mass"]["value"] == pytest.approx(metric["loads"][0]["mass"]["value"])


def test_pick_list(answer_of):
    lines = [
        {"item": "hose", "size": "DN 100", "end_type": "cam", "quantity": 44, "unit": "m", "for": "supply"},
        {"item": "hose", "size": "DN 100", "end_type": "cam", "quantity": 44 / 0.3048, "unit": "ft", "for": "return"},
        {"item": "hose", "size": "DN 100", "end_type": "flange", "quantity": 10, "unit": "m"},
        {"item": "adaptor", "quantity": 2, "unit": "each", "for": "supply"},
        {"item": "adaptor", "quantity": 1, "unit": "each", "for": "supply"},
    ]
    rules = {
        "stocked_lengths": [{"item": "hose", "size": "DN 100", "length": q(n, "m")} for n in (10, 3)]
        + [{"item": "hose", "size": "DN 50", "length": q(20, "m")}],
        "joints": 11,
        "hoses": 10,
        "crossings": 2,
        "engines": 1,
        "liquid_volume": q(56, "gal"),
        "outriggers": 4,
        "mats_per_outrigger": 2,
        "workers": 3,
    }
    rows = answer_of("site.transport", {"pick_lines": lines, "spare_rules": rules})["results"]["pick_list"]
    found = {(r["item"], r["end_type"], r.get("piece_length", {}).get("value")): r["quantity"] for r in rows}
    assert found == {
        ("hose", "cam", 10): 9,
        ("hose", "flange", 10): 1,
        ("adaptor", "", None): 3,
        ("gasket", "", None): 14,
        ("blanking_cap", "", None): 20,
        ("ramp", "", None): 2,
        ("spill_kit", "", None): 2,
        ("mat", "", None): 8,
        ("lock_and_tag", "", None): 3,
    }
    assert rows[0]["purposes"] == ["supply", "return"]


def test_a_short_rest_takes_a_short_piece(answer_of):
    given = {
        "pick_lines": [{"item": "hose", "quantity": 22, "unit": "m"}],
        "spare_rules": {"stocked_lengths": [{"item": "hose", "length": q(n, "m")} for n in (10, 3)]},
    }
    rows = answer_of("site.transport", given)["results"]["pick_list"]
    assert [(r["quantity"], r["piece_length"]["value"]) for r in rows] == [(2, 10), (1, 3)]


PLACE = {"item": "a", "vehicle": "lorry", "x": q(3, "m")}


@pytest.mark.parametrize(
    ("given", "pointer"),
    [
        ({"items": [item(), item()]}, "#/items/1/id"),
        ({"vehicles": [vehicle(), vehicle()]}, "#/vehicles/1/id"),
        ({"items": [item()], "vehicles": [vehicle()], "placements": [PLACE | {"item": "b"}]}, "#/placements/0/item"),
        (
            {"items": [item()], "vehicles": [vehicle()], "placements": [PLACE | {"vehicle": "b"}]},
            "#/placements/0/vehicle",
        ),
        ({"items": [item()], "vehicles": [vehicle()], "placements": [PLACE, PLACE]}, "#/placements/0/item"),
        ({"items": [item()], "vehicles": [vehicle()], "placements": [PLACE | {"x": q(1, "m")}]}, "#/placements/0/x"),
        ({"items": [item(quantity=400), item("b", quantity=101)]}, "#/items"),
        ({"axle_groups": [{"span": q(0, "m"), "axles": 2, "mass": q(1, "t")}]}, "#/axle_groups/0/span"),
        ({"axle_groups": [{"span": q(1, "m"), "axles": 0, "mass": q(1, "t")}]}, "#/axle_groups/0/axles"),
        ({"items": [item(quantity=0)]}, "#/items/0/quantity"),
        ({"items": [item(unload="drop")]}, "#/items/0/unload"),
    ],
)
def test_refused(answer_of, given, pointer):
    with pytest.raises(Refused) as refused:
        answer_of("site.transport", given)
    assert pointer in [e.pointer for e in refused.value.errors]


@pytest.mark.parametrize(("each", "loads"), [(800, 1), (900, 2)])
def test_fewer_loads_than_one_are_not_looked_for(answer_of, each, loads):
    """Eleven pieces are too many to try every way: one load is the least all the same, and two are not proved to be."""
    answer = carry(answer_of, [item("a", 0.5, 1.0, 1.0, each, quantity=11)], [vehicle()])
    assert answer["results"]["number_of_loads"] == loads
    assert ("number_not_proved_least" in codes(answer)) == (loads > 1)


TAIL = vehicle(tare=q(2000, "kg"), tare_centre=q(3, "m"), kingpin_to_axles=q(3, "m"))


@pytest.mark.parametrize(
    ("given", "code", "severity"),
    [
        ({"items": [item(length=8)], "vehicles": [vehicle()]}, "item_fits_no_vehicle", "stop"),
        ({"items": [item(mass=9001)], "vehicles": [vehicle()]}, "item_fits_no_vehicle", "stop"),
        ({"items": [item()]}, "item_fits_no_vehicle", "stop"),
        ({"items": [item(quantity=9)], "vehicles": [vehicle(count=1)]}, "not_enough_vehicles", "stop"),
        ({"items": [item(quantity=11)], "vehicles": [vehicle()]}, "number_not_proved_least", "note"),
        ({"items": [item(width=2.7)], "vehicles": [vehicle()]}, "wider_than_deck", "check"),
        ({"items": [item(width=2.7)], "vehicles": [vehicle()]}, "permit", "note"),
        (
            {"items": [item()], "vehicles": [TAIL], "placements": [PLACE | {"x": q(5.5, "m")}]},
            "kingpin_lifted",
            "stop",
        ),
        ({"axle_groups": [{"span": q(4, "ft"), "axles": 2, "mass": q(34001, "lb")}]}, "axle_group_over_limit", "stop"),
        (
            {"items": [item(unload="crane")], "vehicles": [vehicle()], "site_unloading": ["fork_truck"]},
            "no_unloading_means",
            "stop",
        ),
        ({"items": [item()], "vehicles": [vehicle()], "site_unloading": []}, "no_unloading_means", "stop"),
    ],
)
def test_findings(to_the_word, given, code, severity):
    assert code in codes(to_the_word("site.transport", given), severity)


@pytest.mark.parametrize(
    ("one", "deck", "hints"),
    [
        ({}, {}, []),
        ({"width": q(103, "in")}, {}, ["over_width"]),
        ({"width": q(1.4, "m"), "quantity": 2}, {"deck_width": q(3, "m")}, ["over_width"]),
        ({"height": q(3, "m")}, {}, ["over_height"]),
        ({"length": q(17, "m")}, {"deck_length": q(18, "m")}, ["over_length"]),
        ({"mass": q(30, "t")}, {"payload": q(40, "t"), "tare": q(8, "t")}, ["over_mass"]),
        ({"mass": q(37, "t")}, {"payload": q(40, "t")}, ["over_mass"]),
    ],
)
def test_permit_hints(answer_of, one, deck, hints):
    assert carry(answer_of, [item() | one], [vehicle() | deck])["results"]["loads"][0]["permit_hints"] == hints


def test_nothing_to_carry(answer_of):
    answer = answer_of("site.transport", {})
    assert answer["results"] == {
        "loads": [],
        "axle_group_limits": [],
        "number_of_loads": 0,
        "unload_plan": [],
        "pick_list": [],
    }
    assert cautioned(answer)


def test_a_load_under_european_rules_is_not_warned_of_limits_of_the_us(answer_of):
    said = [c["statement"] for c in carry(answer_of, [item()], [vehicle()], rules="europe")["cautions"]]
    assert any("96/53/EC" in text for text in said)
    assert not [text for text in said if "US " in text or "mile" in text]
    assert any("US federal" in c["statement"] for c in carry(answer_of, [item()], [vehicle()])["cautions"])
