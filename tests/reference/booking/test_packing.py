"""What goes on the vehicles, packed anew from the pick list: stacks, single pieces, pallets of one kind, small gear.

All masses, sizes and numbers on a pallet are common practice, no source: they stand here once more, in the units of
people who load. Published: a width of 2.55 m and a height of 4 m on the roads of Europe (Directive 96/53/EC, annex I),
102 inches and 48 ft of semi-trailer in the US (23 CFR 658.13 and 658.15), from memory. The orders are invented.
"""

import math
import re
from collections import Counter
from typing import Any

import pytest
from orders import changed, fleet, machine, order, stock
from plans_anew import CASES, Json, Plan, si
from quantity import q

pytestmark = pytest.mark.check

COLD: Json = {"site__lowest_ambient_temperature": q(-10, "degC"), "supply": {"source": "generator"}}
MAT = {"kind": "mat", "item": "mat", "length": q(2.4, "m"), "width": q(1.2, "m"), "count": 90}
CRANE = {"lift": "crane", "crane_chart_capacity": q(40, "t"), "crane_mass": q(60, "t"), "hook_block_mass": q(1, "t")}
SIZED = {"length": q(0.9, "m"), "width": q(0.7, "m"), "height": q(1.1, "m")}
NO_HOSE = [x for x in stock() if x["kind"] != "hose"]
WIDER = {
    "kind": "hose",
    "item": "wider hose",
    "inner_diameter": q(115, "mm"),
    "section_length": q(5, "m"),
    "count": 90,
    "working_pressure": q(1200, "kPa"),
}
TALL = {"kind": "buffer_vessel", "item": "tall buffer", "volume": q(3000, "L"), "count": 30}
MORE: dict[str, Json] = {
    "nothing in stock": order(**COLD, fleet=fleet(machine("middle", 150, 3), accessories=[]), routes__crossings=1),
    "a large set": order(supply={"source": "generator"}, duty__load=q(420, "kW"), fleet=fleet(machine("large", 330, 2))),
    "mats": order(
        fleet=fleet(machine("middle", 150, 3), accessories=[*stock(), MAT]),
        access=CRANE,
        site__ground={"allowable_bearing_pressure": q(60, "kPa")},
    ),
    "heavy mats": order(
        fleet=fleet(machine("middle", 150, 3), accessories=[*stock(), MAT | {"mass": q(300, "kg")}]),
        access=CRANE,
        site__ground={"allowable_bearing_pressure": q(60, "kPa")},
    ),
    "wide hose": order(
        fleet=fleet(
            machine("large", 330, 2), accessories=[x for x in stock() if x["kind"] != "hose" or x["item"][5] in "12"]
        ),
        duty__load=q(500, "kW"),
        load_side__rated_flow=q(24, "L/s"),
    ),
    "hose of 115 mm": order(fleet=fleet(machine("large", 330, 1), accessories=[*NO_HOSE, WIDER])),
    "hose of 110 mm": order(
        fleet=fleet(machine("large", 330, 1), accessories=[*NO_HOSE, WIDER | {"inner_diameter": q(110, "mm")}])
    ),
    "much small gear": order(
        fleet=fleet(machine("large", 330, 8)), duty__load=q(2000, "kW"), routes__crossings=6, site__area=None,
        load_side__rated_flow=q(88, "L/s"),
    ),
    "sizes given": order(
        **COLD,
        fleet=fleet(
            machine("middle", 150, 3),
            accessories=[x | {"size": SIZED} if x["kind"] in ("strainer", "generator") else x for x in stock()],
        ),
    ),
    "a mat that is hired": order(
        site__ground={"allowable_bearing_pressure": q(120, "kPa")},
        access=CRANE,
        fleet=fleet(machine("middle", 150, 3), accessories=[x for x in stock() if x["kind"] != "mat"]),
    ),
    "vessels on two vehicles": order(
        fleet=fleet(
            changed(machine("one step", 900, 1), capacity_steps=[0.5, 1.0]),
            accessories=[*(x for x in stock() if x["kind"] != "buffer_vessel"), TALL],
        ),
        duty__load=q(620, "kW"),
        duty__lowest_load_fraction=0.01,
        load_side__volume=q(20, "L"),
        load_side__rated_flow=q(28, "L/s"),
    ),
    "a bank of the stock": order(
        supply={"source": "generator"},
        fleet=fleet(
            machine("only", 250, 2),
            accessories=[*stock(), {"kind": "load_bank", "item": "resistors", "rated_active_power": q(100, "kW"), "count": 1}],
        ),
        duty__lowest_load_fraction=0.3,
    ),
}  # fmt: skip
EACH = {
    "coupling": 6, "reducer": 6, "valve": 15, "strainer": 25, "pump": 500, "panel": 400, "load_bank": 200, "ramp": 20,
    "mat": 200, "spill_kit": 25, "whip_check": 1, "other": 20,
}  # fmt: skip
CONTAINER = {"length": q(1.2, "m"), "width": q(1.0, "m"), "height": q(1.2, "m")}
"""Empty, 60 kg: a tote, or a tank to mix in."""
ALONE = ("generator", "load_bank", "transformer", "panel", "pump", "buffer_vessel")
MILS = {"8": 16510, "6": 26240, "4": 41740, "2": 66360, "1/0": 105600, "2/0": 133100, "3/0": 167800, "4/0": 211600}
DECKS = {  # length, width and height of deck, m, and payload, t
    "us": {"flat trailer": (14.6, 2.55, 1.5, 20), "flatbed": (6.5, 2.45, 1.1, 7)},
    "europe": {"flat semi-trailer": (13.6, 2.48, 1.2, 24), "rigid flatbed": (7.2, 2.48, 1.1, 9)},
}


@pytest.fixture(scope="module")
def more(answer_of: Any) -> dict[str, Plan]:
    return {name: Plan(document, answer_of("booking.assessment", document)) for name, document in MORE.items()}


@pytest.fixture(params=[*CASES, *MORE])
def packed(plans_anew: dict[str, Plan], more: dict[str, Plan], request: Any) -> Plan:
    return {**plans_anew, **more}[request.param]


def area(size: str) -> float:
    """mm2 of copper; AWG by the circular mils of ASTM B258, from memory."""
    number, unit = size.split(" ")
    if unit == "AWG":
        return MILS[number] * 5.067075e-4
    return float(number) * (0.5067075 if unit == "kcmil" else 1.0)


def row_of(plan: Plan, line: Json) -> Json:
    """Of the stock, else what the item's name and the plan say of what is hired or bought."""
    for row in plan.order["fleet"]["accessories"]:
        if row["item"] == line["item"]:
            return dict(row)
    kind, name = str(line["kind"]), line["item"]
    if kind == "hose":
        bore, _, short = name.removeprefix("hose ").partition(" mm")
        metres = 5 if short else 15
        return {"kind": kind, "inner_diameter": q(float(bore), "mm"), "section_length": q(metres, "m")}
    if kind == "cable":
        return {"kind": kind, "conductor_size": name.removeprefix("cable "), "section_length": q(15, "m")}
    if kind == "generator":
        chosen: Json = plan.asked["generator"]["generator"]
        return {"kind": kind} | chosen
    if kind == "transformer":
        return {"kind": kind, "rated_apparent_power": plan.results["supply"]["transformer"]["rated_apparent_power"]}
    if kind == "buffer_vessel":
        return {"kind": kind, "volume": next(v["volume"] for v in plan.asked["fill"]["vessels"] if v["name"] == name)}
    if kind == "antifreeze":
        return {"kind": kind, "volume": q(200, "L")}
    if kind == "mat":
        side = q(float(name.removeprefix("mat, ").split(" m ")[0]), "m")
        return {"kind": kind, "length": side, "width": side}
    if name.endswith("of 1,000 L (264 gal)"):
        return {"kind": "other", "mass": q(60, "kg"), "size": CONTAINER}
    return {"kind": kind if kind in ("panel", "load_bank") else "other"}


def kilograms(row: Json) -> float:
    kind = row["kind"]
    if "mass" in row:
        return si(row["mass"])
    if kind == "hose":
        return 0.45e-3 * (si(row["inner_diameter"]) * 1e3) ** 2 * si(row["section_length"])
    if kind == "cable":
        conductors = 4 if row.get("construction") == "multi_conductor_portable" else 1  # three lines and the ground
        return conductors * 0.013 * area(row["conductor_size"]) * si(row["section_length"])
    if kind == "generator":
        return 20 * si(row["rated_active_power"]) / 1e3
    if kind == "transformer":
        return 5.5 * si(row["rated_apparent_power"]) / 1e3
    if kind in ("buffer_vessel", "expansion_vessel"):
        return 5 + 0.35 * si(row["volume"]) * 1e3
    if kind == "antifreeze":
        return 10 + 1.1 * si(row["volume"]) * 1e3
    return EACH[kind]


def metres(row: Json) -> tuple[float, float, float]:
    kind = row["kind"]
    if "size" in row:
        length, width, height = (si(row["size"][side]) for side in ("length", "width", "height"))
        return length, width, height
    if kind == "generator":
        return (5.0, 1.8, 2.4) if si(row["rated_active_power"]) > 200e3 else (3.6, 1.3, 2.0)
    if kind == "mat":
        return si(row["length"]), si(row["width"]), 0.2
    if kind == "buffer_vessel":
        across = max(0.6, 1.15 * math.sqrt(si(row["volume"]) / 1.5))
        return across, across, 1.9
    return 1.2, 1.0, 1.6


def dry(body: Json) -> float:
    return si(body["mass_dry"] if "mass_dry" in body else body["mass_operating"])


Cargo = tuple[float, float, float, float]


def packing(plan: Plan) -> list[tuple[Cargo, int]]:
    """Mass and size of each piece of cargo beside the machines, and how many of it there are."""
    counts: Counter[str] = Counter()
    rows: dict[str, Json] = {}
    for line in plan.results["pick_list"]:
        if line["kind"] != "machine" and line["item"] != "fuel, litres":
            counts[line["item"]] += line["count"]
            rows[line["item"]] = row_of(plan, line)
    pallet = (1.2, 1.0, 1.2)
    cargo: list[tuple[Cargo, int]] = []
    small = 0.0
    for item, count in counts.items():
        row, each = rows[item], kilograms(rows[item])
        most = {"hose": 12, "cable": 24, "antifreeze": 4}.get(row["kind"])
        if row["kind"] == "hose" and si(row["inner_diameter"]) > 0.110:
            most = 6
        if row["kind"] == "mat":
            length, width, thick = metres(row)
            high = max(1, min(int(1.6 / thick + 1e-9), int(2000 / each)))
            for pieces, n in ((high, count // high), (count % high, 1)):
                if pieces and n:
                    cargo.append(((pieces * each, length, width, pieces * thick), n))
        elif row["kind"] in ALONE or "size" in row:
            cargo.append(((each, *metres(row)), count))
        elif most:
            most = min(most, max(1, int(1000 / each)))
            for pieces, n in ((most, count // most), (count % most, 1)):
                if pieces and n:
                    cargo.append(((pieces * each, *pallet), n))
        else:
            small += each * count
    pallets = math.ceil(small / 1000 - 1e-9)
    return [*cargo, ((small / pallets, *pallet), pallets)]


def test_cargo_is_packed_as_people_pack_it(packed: Plan) -> None:
    """Each piece with its mass and size; the machines dry, as long, wide and high as they are."""
    bodies = [(r["body"], n) for r, n, _ in packed.picked]
    machines = [((dry(body), *(si(body[side]) for side in ("length", "width", "height"))), n) for body, n in bodies]
    asked = [
        ((si(i["mass"]), *(si(i[side]) for side in ("length", "width", "height"))), i.get("quantity", 1))
        for i in packed.asked["transport"]["items"]
    ]
    expected = sorted([*machines, *packing(packed)])
    assert len(asked) == len(expected)
    for (found, n), (wanted, m) in zip(sorted(asked), expected, strict=True):
        assert found == pytest.approx(wanted, rel=3e-4)  # circular mils are given to four digits
        assert n == m


def test_vehicles_are_those_of_the_trade(packed: Plan) -> None:
    europe = packed.order["practice"] == "iec"
    vehicles = {v["id"]: v for v in packed.asked["transport"]["vehicles"]}
    decks = DECKS["europe" if europe else "us"]
    assert set(vehicles) == set(decks)
    for name, (length, width, height, payload) in decks.items():
        told = vehicles[name]
        assert [si(told[f"deck_{side}"]) for side in ("length", "width", "height")] == [length, width, height]
        assert si(told["payload"]) == payload * 1000
        assert width <= (2.55 if europe else 102 * 0.0254)
        assert length <= (13.6 if europe else 48 * 0.3048)
    assert packed.asked["transport"]["rules"] == ("europe" if europe else "us")


def test_the_pick_list_weighs_what_is_given(packed: Plan) -> None:
    """Machines, and the items that give their mass."""
    given = {row["item"]: si(row["mass"]) for row in packed.order["fleet"]["accessories"] if "mass" in row}
    machines = sum(n * dry(r["body"]) for r, n, _ in packed.picked)
    lines = [x for x in packed.results["pick_list"] if x["kind"] != "machine"]
    total = machines + sum(given.get(x["item"], 0.0) * x["count"] for x in lines)
    assert si(packed.results["pick_mass"]) == pytest.approx(total)


def test_every_piece_is_on_a_load(packed: Plan) -> None:
    """Each line on loads that there are, all of its pieces, and no more of an item than a load carries."""
    loads = packed.results["site"]["transport"]["loads"]
    for line in packed.results["pick_list"]:
        if line["item"] == "fuel, litres":
            assert line["carried_on"] == []
            continue
        assert sum(part["count"] for part in line["carried_on"]) == line["count"]
        assert len({part["load"] for part in line["carried_on"]}) == len(line["carried_on"]), "a load is named once"
        assert all(1 <= part["load"] <= len(loads) and part["count"] > 0 for part in line["carried_on"])
        names = {f"{line['item']}", "small gear"}
        for part in line["carried_on"]:
            on_it = [e["item"] for e in loads[part["load"] - 1]["items"]]
            assert any(e in names or e.startswith((f"{line['item']}, pallet", f"{line['item']}, stack")) for e in on_it)


def test_a_mat_that_is_hired_is_no_smaller_than_the_ground_asks_for(more: dict[str, Plan]) -> None:
    """In whole tenths of a metre (common practice), under 120 kPa: 0.65 of crane and hook on one outrigger (from memory)."""
    plan = more["a mat that is hired"]
    (line,) = [x for x in plan.results["pick_list"] if x["kind"] == "mat"]
    side = float(line["item"].removeprefix("mat, ").split(" m ")[0])
    reaction = si(plan.results["site"]["outriggers"]["quick_reaction"])
    least = math.sqrt(reaction / 120e3)
    assert least <= side < least + 0.1
    assert round(side * 10) == pytest.approx(side * 10)


def test_no_load_carries_more_or_less_than_its_lines_say(packed: Plan) -> None:
    """By hand: of each item on a load its pieces, those of a pallet or a stack by the number in its name."""
    told: Counter[tuple[int, str]] = Counter()
    for line in packed.results["pick_list"]:
        for part in line["carried_on"]:
            told[part["load"], line["item"]] += part["count"]
    for number, load in enumerate(packed.results["site"]["transport"]["loads"], 1):
        for entry in load["items"]:
            if entry["item"] != "small gear":
                name, _, pieces = re.sub(", (?:pallet|stack) of ([0-9]+)$", r"\n\1", entry["item"]).partition("\n")
                told[number, name] -= int(pieces or 1) * entry["quantity"]
    assert min(told.values()) >= 0
    rows = {line["item"]: row_of(packed, line) for line in packed.results["pick_list"] if line["kind"] != "machine"}
    for (_, name), left in told.items():
        if left:  # what is in no item of its own is small gear
            assert rows[name]["kind"] not in (*ALONE, "hose", "cable", "antifreeze", "mat")


def test_drums_of_the_trade_where_the_stock_names_none(more: dict[str, Plan]) -> None:
    """200 L of concentrate in each: common practice."""
    plan = more["nothing in stock"]
    litres = si(plan.results["fluid"]["antifreeze"]["concentrate_volume"]) * 1000
    (line,) = [x for x in plan.results["pick_list"] if x["kind"] == "antifreeze"]
    assert line["count"] == math.ceil(litres / 200)
    assert "drum of 200 L" in line["item"]


def test_small_gear_fills_one_pallet_after_the_other(packed: Plan) -> None:
    """In the order of the list: a line is on the pallet on which the mass of the lines before it ends."""
    pallets = [
        number
        for number, load in enumerate(packed.results["site"]["transport"]["loads"], 1)
        for item in load["items"]
        if item["item"] == "small gear"
        for _ in range(item["quantity"])
    ]
    lines = []
    for line in packed.results["pick_list"]:
        if line["kind"] != "machine" and line["item"] != "fuel, litres":
            row = row_of(packed, line)
            if row["kind"] not in (*ALONE, "hose", "cable", "antifreeze", "mat") and "size" not in row:
                lines.append((line, kilograms(row) * line["count"]))
    each, before = sum(mass for _, mass in lines) / len(pallets), 0.0
    for line, mass in lines:
        place = min(math.floor(before / each + 1e-12), len(pallets) - 1)
        assert [part["load"] for part in line["carried_on"]] == [pallets[place]], line["item"]
        before += mass
