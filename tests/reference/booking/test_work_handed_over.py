"""Where a plan stands its machines, what it has people do, pick and carry, worked out anew from order and fleet.

Derived, or by the rule of the trade that is named (common practice, no source). The orders are invented.
"""

import math
from typing import Any

import pytest
from plans_anew import Json, Plan, close, si

pytestmark = pytest.mark.check


# --- place -----------------------------------------------------------------------------------------------------------


def test_machines_hang_stand_and_are_heard(plan: Plan) -> None:
    """Sling legs at 60 degrees: the hook as high above the points as root three of the farthest of them."""
    for (row, _, _), lift, ground in zip(plan.picked, plan.asked["lifts"], plan.asked["grounds"], strict=False):
        body = row["body"]
        assert si(lift["load_mass"]) == close(si(body["mass_operating"]))
        assert si(lift["load_face_area"]) == close(si(body["length"]) * si(body["height"]))
        if points := body.get("lifting_points"):
            centre = body["centre_of_gravity"]
            reach = max(math.hypot(si(p["x"]) - si(centre["x"]), si(p["y"]) - si(centre["y"])) for p in points)
            top = max(si(p["z"]) for p in points)
            assert si(lift["hook_z"]) == close(top + math.sqrt(3) * reach, 1e-4)
            # two runners of width b, w apart from middle to middle, carry 1/2 +- e/w of the weight; one strip as wide as both
            # is pressed 1 +- 6 e'/(2 b) of its mean, which is the same where e' = 2 b e / (3 w)
            b, w = 0.15, si(body["width"]) - 0.15
            middle = [sum(si(p[axis]) for p in points) / len(points) for axis in ("x", "y")]
            lean = [si(centre[axis]) - at for axis, at in zip(("x", "y"), middle, strict=True)]
            assert si(ground["eccentricity"]["x"]) == close(lean[0])
            assert si(ground["eccentricity"]["y"]) == close(2 * b * lean[1] / (3 * w))
        assert si(ground["load"]) == close(si(body["mass_operating"]))
        assert si(ground["contact_length"]) == close(si(body["length"]))
        assert si(ground["contact_width"]) == close(2 * 0.15)
    if "sound" in plan.asked:
        sources, places = plan.asked["sound"]["sources"], plan.asked["sound"]["receivers"]
        machines = [s for s in sources if "largest_side" in s]
        assert [s["id"] for s in machines] == numbered(plan)
        heights = sorted(si(row["body"]["height"]) / 2 for row, n, _ in plan.picked for _ in range(n))
        assert sorted(si(s["z"]) for s in machines) == close_each(heights)
        assert all(si(p["z"]) == 1.5 for p in places)


def close_each(values: list[float]) -> Any:
    return pytest.approx(values, rel=1e-6, abs=1e-9)


def numbered(plan: Plan) -> list[str]:
    """Each machine by its type and its number, from 1."""
    return [f"{row['type']} {k}" for row, n, _ in plan.picked for k in range(1, n + 1)]


def test_places_are_asked_for_machines_and_set(plan: Plan) -> None:
    asked = plan.asked["placement"]["machines"]
    own = [m for m in asked if not m.get("engine", False)]
    assert len(own) == plan.units
    assert [m["id"] for m in own] == numbered(plan)
    each = [(row, entry) for row, n, entry in plan.picked for _ in range(n)]
    for placed, (row, entry) in zip(own, each, strict=True):
        assert si(placed["heat_rejected"]) == close(si(entry["capacity_each"]) + si(entry["power_each"]))
        assert si(placed["voltage_to_ground"]) == close(si(row["electrical"]["voltage"]) / math.sqrt(3))
        assert si(placed["air_flow"]) == close(si(row["condenser_airflow"]))
        for side in ("length", "width", "height"):
            assert si(placed[side]) == close(si(row["body"][side]))


# --- work ------------------------------------------------------------------------------------------------------------


def tank(vessel: Json) -> float:
    return math.pi / 4 * si(vessel["diameter"]) ** 2 * si(vessel["height"])


def test_the_loop_drains_what_it_holds(plan: Plan) -> None:
    """Tanks of the volume that they stand for; hoses by their metres; of glycol also the load side."""
    asked, fill = plan.asked["drain_down"], plan.asked["fill"]
    held = {v["name"]: si(v["volume"]) * v.get("count", 1) for v in fill["vessels"]}
    if plan.water:
        held.pop("load side")
    names = [v["name"] for v in asked["vessels"]]
    assert [n for n in names if n.startswith("evaporator")] == [f"evaporator {n}" for n in numbered(plan)]
    if plan.vessels:
        item = next(n for n in names if n.startswith("buffer")).rpartition(" ")[0]
        assert [n for n in names if n.startswith("buffer")] == [f"{item} {k}" for k in range(1, plan.vessels + 1)]
    drained = sum(tank(v) for v in asked["vessels"])
    assert drained == close(sum(held.values()) if len(held) < 50 else drained)
    for vessel in asked["vessels"]:
        assert si(vessel["height"]) == close(min(1.5, tank(vessel) / (math.pi / 4 * 0.2**2)))
    assert si(asked["drain_orifice_diameter"]) == close(0.05)
    main, *others = [line for line in asked["lines"] if line["name"] != "hose at buffer vessels"]
    at_vessels = [line for line in asked["lines"] if line["name"] == "hose at buffer vessels"]
    (row,) = [x for x in plan.order["fleet"]["accessories"] if x["item"] == plan.loop["hose_item"]]
    metres = plan.buffers * si(row["section_length"])
    assert sum(si(line["length"]) * line["parallel_runs"] for line in at_vessels) == close(metres)
    assert (si(main["length"]), main["parallel_runs"]) == (close(plan.hose), 2 * plan.runs)
    for line, entry in zip(others, plan.work["machine_hoses"], strict=True):
        assert (si(line["length"]), line["parallel_runs"]) == (close(si(entry["length"])), entry["pieces"])
    assert ("discharge_to" in asked) != plan.water


def test_minutes_of_taking_away(plan: Plan) -> None:
    """20 min at each machine and the hoses as they were laid; vessels drain one after the other, hoses at 2 L/s after
    them, and 30 min at the least: common practice.
    """
    steps = {s["id"]: si(s["duration"]) / 60 for s in plan.results["removal"]["stop"]["steps"]}
    laid = {s["id"]: si(s["duration"]) / 60 for s in plan.results["arrival_plan"]["steps"]}
    assert steps["disconnect_hoses"] == close(20 * plan.units + laid["lay_hoses"])
    drained = plan.results["removal"]["drained"]
    hoses = si(drained["drained_volume"]) - sum(tank(v) for v in plan.asked["drain_down"]["vessels"])
    vessels = si(drained["drain_time"]) / 60 if "drain_time" in drained else 0.0
    assert steps["drain_low_points"] == close(max(30, vessels + max(0.0, hoses) * 1000 / 2 / 60))
    if not plan.water:
        assert plan.results["removal"]["glycol"]["totes"] == math.ceil(si(drained["drained_volume"]) - 1e-9)


def test_what_the_order_of_work_is_told(plan: Plan) -> None:
    """A gauge may stand 10 psi above the least; a drum pump charges 0.5 L/s after 10 min; the proof of flow takes one round
    of the loop, and three with a mixture, 5 min at the least: common practice.
    """
    asked = plan.asked["procedure"]
    configuration = asked["configuration"]
    standing = si(plan.results["fill_pressure"])
    assert si(configuration["fill_pressure_minimum"]) == close(standing)
    assert si(configuration["fill_pressure_maximum"]) == close(min(standing + 6894.757 * 10, 1034e3), 1e-4)
    total = si(plan.results["fill"]["total_volume"])
    turnover = total / si(plan.loop["duty_flow"])
    assert si(configuration["loop_turnover_time"]) == close(turnover)
    lasting = {s["id"]: si(s["duration"]) / 60 for s in plan.results["arrival_plan"]["steps"]}
    assert lasting["prove_flow"] == close(max(5, math.ceil(turnover / 60 - 1e-9)))
    if not plan.water:
        assert lasting["prove_flow_again"] == close(max(5, math.ceil(3 * turnover / 60 - 1e-9)))
        concentrate = si(plan.results["fluid"]["antifreeze"]["concentrate_volume"])
        assert si(asked["antifreeze_duration"]) / 60 == close(10 + concentrate * 1000 / 0.5 / 60)
    down = asked["pull_down"]
    assert si(down["leaving_temperature"]) == close(max(plan.ambient, plan.leaving))
    assert si(down["set_point"]) == close(plan.leaving)
    assert sum(si(c["capacity"]) for c in down["compressors"]) == close(plan.capacity)
    assert len(down["compressors"]) == min(configuration["compressors"], 24)
    assert [c["id"] for c in down["compressors"]] == [
        f"start {k} of every machine" for k in range(1, len(down["compressors"]) + 1)
    ]
    assert si(down["load"]) == close(min(plan.lowest, 0.8 * plan.capacity))
    assert si(down["loop_volume"]) == close(total)
    slowest = [row for row, _, _ in plan.picked]
    drops = [
        [
            si(row["evaporator"]["rated_pressure_drop"]) * (si(row["evaporator"][f]) / si(row["evaporator"]["rated_flow"])) ** 2
            for f in ("flow_minimum", "flow_maximum")
        ]
        for row in slowest
    ]  # fmt: skip
    if plan.water:
        told = [si(configuration[f"evaporator_pressure_drop_{f}"]) for f in ("minimum", "maximum")]
        assert any(told == pytest.approx(pair, rel=0.02) for pair in drops)


def test_taking_away_knows_the_set_and_the_frost(plan: Plan) -> None:
    asked = plan.asked["shutdown"]
    assert asked.get("generator_brought", False) == plan.on_set
    assert asked["machines"] == plan.units
    assert ("frost_shutdown" in plan.asked) == (plan.coldest is not None and plan.coldest < 273.15 + 3)
    effects = {x["field"]: x["effect"] for x in plan.results["open_questions"]}
    if "/duty/average_load_fraction" in effects:
        assert effects["/duty/average_load_fraction"].startswith("Fuel to order" if plan.on_set else "Energy")
    if "/supply/voltage" in effects:
        assert ("the set is switched to" in effects["/supply/voltage"]) == plan.on_set
    if plan.on_set:
        (line,) = [x for x in plan.results["pick_list"] if x["kind"] == "generator"]
        assert line["reason"].endswith("for 14 days.")


def test_the_order_of_work_knows_the_job(plan: Plan) -> None:
    """A breaker of its own where machines are several; who feeds and lifts; the set with its bank and its fillings."""
    asked = plan.asked["procedure"]
    configuration = asked["configuration"]
    assert configuration.get("own_breaker", False) == (plan.units > 1)
    assert configuration["supply_source"] == ("generator" if plan.on_set else "site")
    lift = plan.order["access"].get("lift", "crane")
    assert configuration["lifted_by"] == ("stays_on_trailer" if lift == "roll_off" else lift)
    assert configuration["fluid_kind"] == plan.results["fluid"]["kind"]
    assert asked.get("generator_brought", False) == plan.on_set
    assert configuration["source"].startswith("Generator of" if plan.on_set else "Supply of")
    compressors = [
        max(
            row["circuits"], sum(m.get("quantity", 1) for m in row["electrical"]["motors"] if m["role"] == "compressor")
        )
        for row, _, _ in plan.picked
    ]
    assert configuration["compressors"] in compressors
    if plan.on_set:
        told = plan.results["supply"]["generator"]
        short = "time_per_fill" in told and si(told["time_per_fill"]) < 14 * 86400
        assert ("refuel_interval" in asked) == (short and "refuel_interval" in told)
        if "refuel_interval" in asked:
            assert si(asked["refuel_interval"]) == close(si(told["refuel_interval"]))
        assert asked.get("load_bank_power") == plan.asked["generator"].get("load_bank_power")
    assert ("flush_volume" in asked) == plan.order["load_side"].get("flush", False)


# --- pick list -------------------------------------------------------------------------------------------------------


def test_the_pick_list_counts_hose_and_its_joints(plan: Plan) -> None:
    """By hand: whole sections out and back; caps at both ends; a coupling at each end of run, machine and vessel; one
    restraint at each joint; a gasket for each five joints; five ramps across a way for each hose.
    """
    section = next(
        si(x["section_length"]) for x in plan.order["fleet"]["accessories"] if x["item"] == plan.loop["hose_item"]
    )
    main = 2 * plan.runs * math.ceil(plan.hose / section - 1e-9)
    to_machines = sum(h["pieces"] for h in plan.work["machine_hoses"])
    pieces = main + to_machines + plan.buffers
    assert plan.counts("", "hose") == pieces
    assert plan.counts("blanking cap") == 2 * pieces
    joints = main + 2 * plan.runs + 2 * plan.buffers + 2 * to_machines
    assert plan.counts("", "whip_check") == joints
    assert plan.counts("spare gasket") == math.ceil(joints / 5)
    near = plan.work["headers_at_machines"] > 0
    ends = (2 * plan.units + 2 * plan.runs) * (2 if near else 1) + 2 * plan.buffers
    assert plan.counts("", "coupling") == ends
    assert plan.counts("header", "other") == plan.work["headers_at_machines"] + plan.work["headers_at_load"]
    assert plan.counts("", "strainer") == plan.units
    shut_off = 2 * plan.units if near else 0
    balanced = 1 if "balancing_kv" in plan.loop else 0
    own = plan.units if len(plan.picked) > 1 else 0
    assert plan.counts("", "valve") == shut_off + balanced + own
    crossings = plan.order["routes"].get("crossings", 0)
    over_hose = [x["count"] for x in plan.results["pick_list"] if x["kind"] == "ramp" and "hose" in x["reason"]]
    assert sum(over_hose) == crossings * 5 * 2 * plan.runs
    assert (
        plan.counts("air vent")
        == 2 * plan.runs + plan.work["headers_at_machines"] + plan.work["headers_at_load"] + plan.vessels
    )
    assert plan.counts("relief valve") == 1 + (plan.units if near else 0)
    if "connection" in next((v for v in plan.order["fleet"]["accessories"] if v["kind"] == "buffer_vessel"), {}):
        ends = 2 * plan.buffers  # of another coupling and another bore than the hose: an adaptor and a reducer each
        assert plan.counts("adaptor, Grooved to flanged") == plan.work["adaptors"] == ends
        assert plan.counts("reducer") == plan.work["reducers"] == ends + 2 * plan.units  # machines of 102 mm on 51 mm
    once = ("backflow preventer", "flushing bypass", "tool kit", "electrician's kit", "booster pump", "sling set")
    mixed = () if plan.water else ("premix tank", "charging pump", "refractometer")
    for words in (*once, *mixed):
        lines = [x["count"] for x in plan.results["pick_list"] if words in x["item"]]
        assert lines == [1] or (not lines and words in ("backflow preventer", "booster pump", "sling set"))
    for kind in ("panel", "generator", "transformer", "load_bank"):
        assert [x["count"] for x in plan.results["pick_list"] if x["kind"] == kind] in ([], [1])
    totes = plan.results["removal"].get("glycol", {}).get("totes", 0)
    assert plan.counts("tote of") == max(0, totes - 1)
    assert plan.counts("spill kit") == (1 if plan.on_set else 0) + (0 if plan.water else 1)


def cords(row: Json) -> int:
    """Pieces that make three lines and a ground."""
    return 1 if row.get("construction") == "multi_conductor_portable" else 4


def test_the_pick_list_counts_cable_and_fuel(plan: Plan) -> None:
    """Four single conductors a set, or one cord, each in whole sections."""
    rows = {x["item"]: x for x in plan.order["fleet"]["accessories"]}
    wanted = 0
    feeders = [
        (c["item"], c["feeder"], c["count"], si(plan.order["routes"]["cable_length"]))
        for c in plan.results["cable"]["machines"]
    ]
    if "panel_feed" in plan.results["cable"]:
        feed = plan.results["cable"]["panel_feed"]
        feeders.append((feed["item"], feed["feeder"], 1, 10.0))
    beside = [plan.results["cable"].get(f"{name}_feed") for name in ("transformer", "load_bank")]
    feeders += [(feed["item"], feed["feeder"], 1, 10.0) for feed in beside if feed]
    for item, told, count, metres in feeders:
        wanted += count * told["sets"] * cords(rows[item]) * math.ceil(metres / si(rows[item]["section_length"]) - 1e-9)
    assert plan.counts("", "cable") == wanted
    if plan.on_set:
        fuel = si(plan.results["energy_used"]["fuel_volume"]) * 1000
        assert plan.counts("fuel, litres") == math.ceil(fuel)
        assert fuel < si(plan.results["supply"]["generator"]["fuel_total"]) * 1000
    if not plan.water:
        drum = next(si(x["volume"]) for x in plan.order["fleet"]["accessories"] if x["item"] == "drum")
        concentrate = si(plan.results["fluid"]["antifreeze"]["concentrate_volume"])
        assert plan.counts("", "antifreeze") == math.ceil(concentrate / drum - 1e-9)


# --- lorries ---------------------------------------------------------------------------------------------------------

# common practice, no source: what pieces weigh whose mass nobody gave, kg
EACH = {
    "coupling": 6, "reducer": 6, "valve": 15, "strainer": 25, "panel": 400, "ramp": 20, "spill_kit": 25,
    "whip_check": 1, "other": 20, "mat": 200, "load_bank": 200,
}  # fmt: skip

# mm2, ASTM B258 as reproduced (2 AWG 66,360 and 4/0 AWG 211,600 circular mils, from memory), 0.5067075 mm2 each thousand
AREA = {
    "2 AWG": 66.36 * 0.5067075,
    "4/0 AWG": 211.6 * 0.5067075,
    "16 mm2": 16,
    "25 mm2": 25,
    "50 mm2": 50,
    "95 mm2": 95,
}


def mass_of(kind: str, row: Json | None, line: Json) -> float | None:
    """Of a piece: as given, else 0.45 g for each metre and mm2 of hose, 13 g of cable, 20 kg for each kW of a set, 0.35 kg
    for each litre of a vessel and 5 kg, 1.1 kg for each litre of a drum and 10 kg, 60 kg of an empty tote: common
    practice. None where another rule holds.
    """
    if row is None:
        if line["item"].endswith("of 1,000 L (264 gal)"):
            return 60.0
        return float(EACH[kind]) if kind in ("other", "load_bank", "panel") else None
    if "mass" in row:
        return si(row["mass"])
    if kind == "hose":
        return 4.5e-4 * (si(row["inner_diameter"]) * 1000) ** 2 * si(row["section_length"])
    if kind == "cable":
        return 4 / cords(row) * 0.013 * AREA[row["conductor_size"]] * si(row["section_length"])
    if kind == "generator":
        return 20 * si(row["rated_active_power"]) / 1000
    if kind in ("buffer_vessel", "expansion_vessel"):
        return 5 + 350 * si(row["volume"])
    if kind == "antifreeze":
        return 10 + 1100 * si(row["volume"])
    return float(EACH[kind])


def test_lorries_carry_the_mass_of_the_pick_list(plan: Plan) -> None:
    rows = {x["item"]: x for x in plan.order["fleet"]["accessories"]}
    total = sum(n * si(row["body"].get("mass_dry", row["body"]["mass_operating"])) for row, n, _ in plan.picked)
    for line in plan.results["pick_list"]:
        if line["kind"] == "machine" or line["item"] == "fuel, litres":
            continue
        row = rows.get(line["item"])
        each = mass_of(line["kind"] if row is None else row["kind"], row, line)
        if each is None:
            (piece,) = [i for i in plan.asked["transport"]["items"] if i["id"] == line["item"]]
            each = si(piece["mass"])
        total += each * line["count"]
    carried = sum(si(i["mass"]) * i.get("quantity", 1) for i in plan.asked["transport"]["items"])
    assert carried == close(total, 1e-5)
    loads = plan.results["site"]["transport"]["loads"]
    assert sum(si(load["mass"]) for load in loads) == close(carried)
    for item in plan.asked["transport"]["items"]:
        if "pallet" in item["id"] or item["id"] == "small gear":
            assert si(item["mass"]) <= 1000 * (1 + 1e-9)
            assert [si(item[side]) for side in ("length", "width", "height")] == [1.2, 1.0, 1.2]
