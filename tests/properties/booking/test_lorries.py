"""Lorries for everything on the pick list, with masses, sizes and what takes it off. Invented data."""

import re
from typing import Any

import pytest
from orders import fleet, machine, order, stock
from quantity import q

MASSES = {
    "hose": 60.0, "cable": 20.0, "coupling": 5.0, "reducer": 6.0, "valve": 15.0, "strainer": 25.0, "ramp": 20.0,
    "spill_kit": 22.0, "whip_check": 1.0, "generator": 3000.0, "buffer_vessel": 300.0, "expansion_vessel": 30.0,
    "panel": 400.0, "antifreeze": 215.0, "other": 2.0,
}  # fmt: skip
WEIGHED = [row | {"mass": q(MASSES[row["kind"]], "kg")} for row in stock()]
FUEL = "fuel, litres"


def of_another(line: dict[str, Any]) -> float:
    """kg of a piece that the fleet does not list: 200 of a load bank, 60 of a tote, 20 of what is bought (common practice)."""
    if line["item"].endswith("of 1,000 L (264 gal)"):
        return 60.0
    return 200.0 if line["kind"] == "load_bank" else 20.0


def planned(answer_of: Any, accessories: list[dict[str, Any]], **changes: Any) -> dict[str, Any]:
    """Results of a plan for two machines on a generating set."""
    on_hand = fleet(machine("middle", 150, 3), accessories=accessories)
    document = order(supply={"source": "generator"}, fleet=on_hand, **changes)
    results: dict[str, Any] = answer_of("booking.assessment", document)["results"]
    return results


def test_everything_of_the_pick_list_is_on_the_lorries_with_its_mass(answer_of: Any) -> None:
    """By hand: the masses of the fleet times the counts of the pick list, machines dry; what the fleet lacks by its
    kind.
    """
    results = planned(answer_of, WEIGHED, site__lowest_ambient_temperature=q(-10, "degC"))
    each = {row["item"]: row["mass"]["value"] for row in WEIGHED}
    rows = [line for line in results["pick_list"] if line["item"] != FUEL]
    body = machine("middle", 150, 3)["body"]
    dry = body.get("mass_dry", body["mass_operating"])["value"]
    expected = sum(
        line["count"] * (dry if line["kind"] == "machine" else each.get(line["item"], of_another(line)))
        for line in rows
    )
    asked = results["asked"]["transport"]["items"]
    carried = sum(item["mass"]["value"] * item.get("quantity", 1) for item in asked)
    assert carried == pytest.approx(expected, rel=1e-9)
    assert sum(load["mass"]["value"] for load in results["site"]["transport"]["loads"]) == pytest.approx(expected)
    names = " ".join(entry["item"] for load in results["site"]["transport"]["loads"] for entry in load["items"])
    for word in ("middle", "set ", "hose ", "cable ", "drum"):
        assert word in names


def test_hoses_cables_and_drums_are_counted_piece_by_piece(answer_of: Any) -> None:
    results = planned(answer_of, WEIGHED, site__lowest_ambient_temperature=q(-10, "degC"))
    on_pallets: dict[str, int] = {}
    for item in results["asked"]["transport"]["items"]:
        if found := re.fullmatch(r"(.+), pallet of (\d+)", item["id"]):
            on_pallets[found[1]] = on_pallets.get(found[1], 0) + int(found[2]) * item.get("quantity", 1)
    picked: dict[str, int] = {}
    for line in results["pick_list"]:
        if line["kind"] in ("hose", "cable", "antifreeze"):
            picked[line["item"]] = picked.get(line["item"], 0) + line["count"]
    assert on_pallets == picked


def test_a_mass_that_is_not_given_is_asked_for_and_not_left_at_nothing(answer_of: Any) -> None:
    rows = [{k: v for k, v in row.items() if k != "mass" or row["kind"] != "generator"} for row in WEIGHED]
    results = planned(answer_of, rows)
    item = results["supply"]["generator_item"]
    place = next(i for i, row in enumerate(rows) if row["item"] == item)
    questions = {x["field"]: x for x in results["open_questions"]}
    assert f"/fleet/accessories/{place}/mass" in questions
    rated = next(row["rated_active_power"]["value"] for row in rows if row["item"] == item)
    (piece,) = [x for x in results["asked"]["transport"]["items"] if x["id"] == item]
    assert piece["mass"]["value"] == pytest.approx(20 * rated)  # usual for a set in its canopy, common practice
    weighed = {x["field"] for x in planned(answer_of, WEIGHED)["open_questions"]}
    assert not [f for f in weighed if f.endswith("/mass")]


def test_hose_and_cable_that_are_hired_elsewhere_weigh_what_they_are(answer_of: Any) -> None:
    """Common practice: 0.45 g for each metre and mm2 of bore squared; 13 g for each metre and mm2 of copper, by the circular
    mils of ASTM B258 (from memory); sections of 15 m, 5 m at the machines. They are on pallets of their own.
    """
    rows = [row for row in WEIGHED if row["kind"] not in ("hose", "cable")]
    results = planned(answer_of, rows)
    lines = [x for x in results["pick_list"] if x["kind"] in ("hose", "cable")]
    assert {x["kind"] for x in lines} == {"hose", "cable"}
    mils = {"8": 16510, "6": 26240, "4": 41740, "2": 66360, "1/0": 105600, "2/0": 133100, "3/0": 167800, "4/0": 211600}
    area = {f"{size} AWG": 5.067075e-4 * circular for size, circular in mils.items()}
    for item in {x["item"] for x in lines}:
        name, _, short = item.removeprefix("cable ").removeprefix("hose ").partition(" mm")
        metres = 5 if short else 15
        each = 0.013 * area[name] * metres if item.startswith("cable") else 4.5e-4 * float(name) ** 2 * metres
        pieces = [x for x in results["asked"]["transport"]["items"] if x["id"].startswith(f"{item}, pallet of ")]
        counts = [int(x["id"].rpartition(" ")[2]) for x in pieces]
        assert sum(c * x.get("quantity", 1) for c, x in zip(counts, pieces, strict=True)) == sum(
            x["count"] for x in lines if x["item"] == item
        )
        for count, piece in zip(counts, pieces, strict=True):
            assert piece["mass"]["value"] == pytest.approx(count * each, rel=1e-3)


def test_what_the_fleet_does_not_list_is_asked_for_once(answer_of: Any) -> None:
    questions = [x for x in planned(answer_of, WEIGHED)["open_questions"] if x["field"] == "/fleet/accessories"]
    assert len(questions) == 1
    assert "relief valve" in questions[0]["effect"]
    assert FUEL not in questions[0]["effect"]


def test_sizes_of_the_fleet_are_those_of_the_pieces(answer_of: Any) -> None:
    size = {"length": q(6.1, "m"), "width": q(2.4, "m"), "height": q(2.6, "m")}
    rows = [row | {"size": size} if row["kind"] == "generator" else row for row in WEIGHED]
    results = planned(answer_of, rows)
    (piece,) = [x for x in results["asked"]["transport"]["items"] if x["id"] == results["supply"]["generator_item"]]
    assert {k: piece[k] for k in size} == size
    assert not [x for x in results["open_questions"] if x["field"].endswith("/size")]


@pytest.mark.parametrize(
    ("means", "stops"),
    [(["crane", "fork_truck"], False), (["fork_truck"], False), (["crane"], False), (["hand"], True)],
)
def test_what_the_site_unloads_with_is_compared(answer_of: Any, means: list[str], stops: bool) -> None:
    """Machines come off by the crane that lifts them, pallets by fork truck where there is one, else by crane."""
    on_hand = fleet(machine("middle", 150, 3), accessories=WEIGHED)
    document = order(fleet=on_hand, access={"lift": "crane", "unloading": means})
    answer = answer_of("booking.assessment", document)
    assert ("no_unloading_means" in {f["code"] for f in answer["findings"]}) is stops
    ways = {x["unload"] for x in answer["results"]["asked"]["transport"]["items"] if x["id"] != "middle"}
    assert ways == {"crane" if means == ["crane"] else "fork_truck"}


def test_what_unloads_is_asked_where_it_is_not_given(answer_of: Any) -> None:
    fields = {x["field"] for x in planned(answer_of, WEIGHED)["open_questions"]}
    assert "/access/unloading" in fields
    told = planned(answer_of, WEIGHED, access={"lift": "crane", "unloading": ["crane"]})
    assert "/access/unloading" not in {x["field"] for x in told["open_questions"]}


def test_one_small_machine_goes_on_the_small_lorry(answer_of: Any) -> None:
    document = order(fleet=fleet(machine("small", 90, 1), accessories=WEIGHED), duty__load=q(60, "kW"))
    loads = answer_of("booking.assessment", document)["results"]["site"]["transport"]["loads"]
    assert [load["vehicle"] for load in loads] == ["flatbed"]


def test_every_line_says_which_loads_carry_it_and_their_masses_add_up(answer_of: Any) -> None:
    """By hand: the masses of the fleet times the counts on each load; small gear by pallets, within one line of each."""
    for outdoors in (q(-10, "degC"), q(10, "degC")):
        results = planned(answer_of, WEIGHED, site__lowest_ambient_temperature=outdoors)
        each = {row["item"]: row["mass"]["value"] for row in WEIGHED}
        body = machine("middle", 150, 3)["body"]
        dry = body.get("mass_dry", body["mass_operating"])["value"]
        loads = results["site"]["transport"]["loads"]
        carried, most = [0.0] * len(loads), 0.0
        for line in results["pick_list"]:
            if line["item"] == FUEL:
                assert line["carried_on"] == []
                continue
            assert sum(part["count"] for part in line["carried_on"]) == line["count"], line
            mass = dry if line["kind"] == "machine" else each.get(line["item"], of_another(line))
            most = max(most, 0.0 if line["kind"] == "machine" else mass * line["count"])
            for part in line["carried_on"]:
                carried[part["load"] - 1] += mass * part["count"]
        stated = [load["mass"]["value"] for load in loads]
        assert sum(carried) == pytest.approx(sum(stated))
        small = sum(e["quantity"] for load in loads for e in load["items"] if e["item"] == "small gear")
        for ours, theirs in zip(carried, stated, strict=True):
            assert ours == pytest.approx(theirs, abs=1e-6 if small <= 1 else most)


def test_mats_lie_on_one_another(answer_of: Any) -> None:
    """By hand: 0.2 m thick, so that eight make 1.6 m, and 170 kg each; laid out flat they filled a trailer."""
    mat = {"kind": "mat", "item": "mat", "length": q(2.4, "m"), "width": q(1.2, "m"), "count": 60, "mass": q(170, "kg")}
    rows = [r for r in WEIGHED if r["kind"] != "mat"]
    access = {
        "lift": "crane",
        "crane_chart_capacity": q(40, "t"),
        "crane_mass": q(60, "t"),
        "hook_block_mass": q(1, "t"),
    }
    results = planned(answer_of, [*rows, mat], access=access, site__ground={"allowable_bearing_pressure": q(60, "kPa")})
    wanted = sum(line["count"] for line in results["pick_list"] if line["kind"] == "mat")
    assert wanted > 8
    stacks = [i for i in results["asked"]["transport"]["items"] if i["id"].startswith("mat")]
    held = [(int((re.findall(r"stack of (\d+)", i["id"]) or [1])[0]), i) for i in stacks]
    assert sum(count * i.get("quantity", 1) for count, i in held) == wanted
    assert sum(i["mass"]["value"] * i.get("quantity", 1) for _, i in held) == pytest.approx(170 * wanted)
    assert all(i["height"]["value"] == pytest.approx(0.2 * count) and count <= 8 for count, i in held)
    (line,) = [x for x in results["pick_list"] if x["kind"] == "mat"]
    assert sum(c["count"] for c in line["carried_on"]) == wanted


def test_lines_that_are_alike_keep_their_own_counts_on_the_loads(answer_of: Any) -> None:
    """Ramps over the cables of two types have one item and one reason: of a set of one cable and one of two there are two
    lines, 5 and 10 pieces for each crossing.
    """
    rows = [machine("large", 330, 1), machine("small", 60, 2)]
    rows[0]["electrical"]["minimum_circuit_ampacity"], rows[0]["electrical"]["maximum_overcurrent_device"] = (
        q(500, "A"), q(600, "A"),
    )  # fmt: skip
    document = order(fleet=fleet(*rows, accessories=WEIGHED), duty__load=q(380, "kW"), routes__crossings=2)
    results = answer_of("booking.assessment", document)["results"]
    ramps = [x for x in results["pick_list"] if x["kind"] == "ramp" and "cable" in x["reason"]]
    assert len({x["reason"] for x in ramps}) < len(ramps), "the trap is there"
    assert len({x["count"] for x in ramps}) > 1
    assert [sum(part["count"] for part in x["carried_on"]) for x in ramps] == [x["count"] for x in ramps]
