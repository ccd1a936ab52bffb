"""Thresholds and usual values of a plan, each tried on either side of its limit. Invented data.

Where no source is named a value is common practice, no source.
"""

import contextlib
import math
import re
from typing import Any

import pytest
from msgspec import UNSET
from orders import changed, fleet, machine, order, stock
from plans_anew import Json, Plan, close, si
from quantity import q

from coldwright.contract import Refused
from coldwright.contract.quantities import Length
from coldwright_booking.plan.hoses import HoseKind
from coldwright_booking.plan.pipework import length_at_vessels

ONE = fleet(machine("large", 330, 1))


def planned(answer_of: Any, **changes: Any) -> Plan:
    """Its plan takes 20 ms: none is kept for another test, of which the planter of faults would then not know it."""
    document = order(**({"fleet": ONE} | changes))
    return Plan(document, answer_of("booking.assessment", document))


def asked_for(plan: Plan) -> dict[str, str]:
    return {x["field"]: x["assumed"] for x in plan.results["open_questions"]}


# --- order -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("last", "days"), [("2027-06-01", 1), ("2027-06-02", 2), ("2037-05-28", 3650), ("2027-05-31", 0), ("2037-05-29", 3651)]
)  # fmt: skip
def test_days_of_a_hire_count_both_ends(answer_of: Any, last: str, days: int) -> None:
    """2027-06-01 to 2037-05-28 are 3650 days: ten years with three leap days, less four days."""
    document = order(fleet=ONE, period={"from": "2027-06-01", "to": last}, supply={"source": "generator"})
    if not 1 <= days <= 3650:
        with pytest.raises(Refused) as caught:
            answer_of("booking.assessment", document)
        assert [e.pointer for e in caught.value.errors] == ["#/period/to"]
        assert "before" in str(caught.value) if days < 1 else f"{days} days" in str(caught.value)
        return
    plan = Plan(document, answer_of("booking.assessment", document))
    assert si(plan.asked["generator"]["run_duration"]) == days * 86400


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"site__lowest_ambient_temperature": q(35, "degC")}, ""),
        ({"site__lowest_ambient_temperature": q(35.1, "degC")}, "site/lowest_ambient_temperature"),
        ({"site__dew_point_temperature": q(35, "degC")}, ""),
        ({"site__dew_point_temperature": q(35.1, "degC")}, "site/dew_point_temperature"),
        ({"duty__warmest_supply_temperature": q(7, "degC")}, ""),
        ({"duty__warmest_supply_temperature": q(6.9, "degC")}, "duty/warmest_supply_temperature"),
        ({"duty__average_load_fraction": 0.4}, ""),
        ({"duty__average_load_fraction": 0.39}, "duty/average_load_fraction"),
        ({"supply__frequency": q(66, "Hz")}, "supply/frequency"),
    ],
)
def test_an_order_on_either_side(answer_of: Any, changes: Json, field: str) -> None:
    """35 degC at the hottest, 7 degC leaving, 0.4 of the load at the least."""
    if not field:
        planned(answer_of, **changes)
        return
    with pytest.raises(Refused) as caught:
        planned(answer_of, **changes)
    assert [e.pointer for e in caught.value.errors] == [f"#/{field}"]


@pytest.mark.parametrize("practice", ["nec", "iec"])
def test_what_is_not_given_is_taken_as_it_is_asked(answer_of: Any, practice: str) -> None:
    """Each usual value in the plan is the one that the open question names."""
    hertz = 60 if practice == "nec" else 50
    plain = fleet(machine("large", 330, 1, voltage=460 if hertz == 60 else 400, frequency=hertz))
    document = order(
        practice=practice, fleet=plain, site={"design_ambient_temperature": q(35, "degC")},
        duty={"load": q(200, "kW"), "leaving_temperature": q(7, "degC"), "lowest_load_fraction": 0.25},
        supply={"source": "generator"}, load_side={}, access={},
        routes={"hose_length": q(40, "m"), "cable_length": q(30, "m")},
    )  # fmt: skip
    del document["duty"]["lowest_load_fraction"]
    document["load_side"]["volume"] = q(400, "L")
    answer = answer_of("booking.assessment", document)
    document["duty"]["lowest_load_fraction"] = 0.25
    plan = Plan(document, answer)
    asked = asked_for(plan)
    by_name = {e["name"]: e for e in plan.asked["loop"]["elements"]}
    assert si(by_name["supply hose"]["elevation_out"]) == 5
    assert "5 m" in asked["/routes/highest_point"]
    assert by_name["bends and couplings"]["k_factor"] == 6
    assert "6 together" in asked["/routes/hose_fittings"]
    assert si(by_name["load side"]["rated_pressure_drop"]) == 50e3
    assert "50 kPa" in asked["/load_side/rated_pressure_drop"]
    assert si(plan.results["load"]["lowest"]) == close(0.25 * plan.gross)
    assert asked["/duty/lowest_load_fraction"] == "0.25"
    assert plan.asked["generator"]["dip_limit_fraction"] == 0.2
    assert asked["/supply/starting_dip_limit_fraction"] == "0.20"
    assert si(plan.asked["service"]["frequency"]) == hertz
    assert f"{hertz} Hz" in asked["/supply/frequency"]
    assert plan.asked["transport"]["rules"] == ("us" if practice == "nec" else "europe")
    assert si(plan.asked["load"]["temperature_difference"]) == close(10 / 1.8)
    assert "0.8 L/s" in asked["/site/fill_flow"]


def test_the_load_side_holds_two_litres_a_kilowatt(answer_of: Any) -> None:
    document = order(fleet=ONE, load_side__volume=None)
    results = answer_of("booking.assessment", document)["results"]
    (held,) = [v for v in results["asked"]["fill"]["vessels"] if v["name"] == "load side"]
    assert si(held["volume"]) * 1000 == close(2 * 200)


# --- liquid ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("leaving", "lowest", "indoors", "water"),
    [(4.4, 12, False, True), (4.39, 12, False, False), (7, 3, False, True), (7, 2.99, False, False), (7, 2.99, True, True)],
)  # fmt: skip
def test_where_water_gets_antifreeze(answer_of: Any, leaving: float, lowest: float, indoors: bool, water: bool) -> None:
    duty = {"duty__leaving_temperature": q(leaving, "degC"), "site__lowest_ambient_temperature": q(lowest, "degC")}
    assert planned(answer_of, **duty, site__indoors=indoors).water == water


@pytest.mark.parametrize(("strength", "weak"), [(-0.01, True), (0.0, False), (0.01, False)])
def test_an_ordered_strength_below_what_the_cold_needs_is_said(answer_of: Any, strength: float, weak: bool) -> None:
    cold = {"site__lowest_ambient_temperature": q(-10, "degC")}
    needed = planned(answer_of, **cold).results["fluid"]["mass_fraction"]
    wanted = math.ceil(1e6 * needed) / 1e6 + strength
    plan = planned(answer_of, **cold, fluid={"kind": "propylene_glycol", "mass_fraction": wanted})
    assert ("antifreeze_needed" in plan.codes) == weak
    assert plan.results["fluid"]["mass_fraction"] == close(needed if weak else wanted, 1e-5)


@pytest.mark.parametrize(("air", "runs"), [(-20, True), (-20.1, False)])
def test_a_machine_runs_down_to_its_coldest_air(answer_of: Any, air: float, runs: bool) -> None:
    document = order(fleet=ONE, site__lowest_ambient_temperature=q(air, "degC"))
    results = answer_of("booking.assessment", document)["results"]
    assert bool(results["machines"]) == runs
    assert [x["reason"].startswith("It runs in air down to") for x in results["types_left_out"]] == (
        [] if runs else [True]
    )


# --- supply ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("volts", "own"), [(418, False), (419, True), (505, True), (507, False)])
def test_plates_suit_a_supply_within_a_tenth(answer_of: Any, volts: float, own: bool) -> None:
    """Plate of 460 V: as `electrical.service` has it, neither more than a tenth above the other."""
    results = planned(answer_of, supply__voltage=q(volts, "V")).results
    assert ("transformer" in results["supply"]) == (not own)


@pytest.mark.parametrize("load", [150, 600])
def test_a_transformer_that_is_hired_has_the_usual_impedance(answer_of: Any, load: float) -> None:
    """From 500 kVA 5.75 %, below 4.5 %: taken where the stock has none. X/R is what `electrical.fault_current` takes for the
    rating, as `electrical.transformer` does: 3 up to 300 kVA, 5 above (common practice).
    """
    on_hand = fleet(machine("large", 330, 3))
    job = {"duty__load": q(load, "kW"), "load_side__rated_flow": q(load / 20, "L/s")}
    plan = planned(answer_of, fleet=on_hand, supply__voltage=q(600, "V"), **job)
    for given in plan.asked["faults"]:
        source = given["source"]
        rating = si(source["rated_apparent_power"]) / 1000
        assert (rating >= 500) == (load == 600)
        assert source["impedance_fraction"] == (0.0575 if rating >= 500 else 0.045)
        assert "x_over_r" not in source
        assert plan.assumed["transformer_x_over_r"]["value"] == (3 if rating <= 300 else 5)


@pytest.mark.parametrize("breaker", [None, 250])
def test_the_feed_before_a_transformer_follows_the_breaker_of_the_site(answer_of: Any, breaker: float | None) -> None:
    """By hand: power is the same on both sides. Without a breaker: the next standard rating, NEC 240.6(A), from memory."""
    supply = {} if breaker is None else {"supply__breaker_rating": q(breaker, "A")}
    plan = planned(answer_of, supply__voltage=q(600, "V"), **supply)
    asked, service = plan.asked["transformer_feed"], plan.results["supply"]["service"]["feeder"]
    ratio = si(plan.results["supply"]["voltage"]) / 600
    needed = si(service["minimum_circuit_ampacity"]) * ratio
    assert si(asked["minimum_ampacity"]) == close(max(needed, si(asked["load_current"])))
    ratings = (100, 110, 125, 150, 175, 200, 225, 250, 300, 350, 400)
    assert si(asked["overcurrent_device"]) == (breaker or min(r for r in ratings if r >= needed))
    apparent = si(plan.asked["transformer"]["load_apparent_power"])
    assert si(asked["load_current"]) == close(apparent / (math.sqrt(3) * 600), 0.002)
    assert (si(asked["length"]), asked.get("crossings", 0), si(asked["system_voltage"])) == (10, 0, 600)


def test_bundled_sets_of_cable_are_counted_as_sets(answer_of: Any) -> None:
    """One bundle holds the lines and the ground: sets times sections, for each machine."""
    rows = [
        x if x["kind"] != "cable" else x | {"kind": "cable_set", "item": x["item"].replace("cable", "bundle")}
        for x in stock()
    ]
    plan = planned(answer_of, fleet=fleet(machine("middle", 150, 3), accessories=rows))
    (told,) = plan.results["cable"]["machines"]
    sections = math.ceil(30 / 15.24)
    (line,) = [x for x in plan.results["pick_list"] if x["purpose"] == "machines"]
    assert (line["kind"], line["count"]) == ("cable_set", told["count"] * told["feeder"]["sets"] * sections)


# --- loop ------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("bore", "rate"), [(60, 4.0), (64, 2.5), (110, 2.5), (115, 1.5)])
def test_wider_hose_is_laid_more_slowly(answer_of: Any, bore: float, rate: float) -> None:
    """Metres a minute of two people after 3 min to begin: up to 60 mm 4, up to 110 mm 2.5, wider 1.5."""
    hose = {
        "kind": "hose", "item": "only", "inner_diameter": q(bore, "mm"), "section_length": q(10, "m"), "count": 400,
        "working_pressure": q(1200, "kPa"),
    }  # fmt: skip
    rows = [x for x in stock() if x["kind"] != "hose"]
    plan = planned(
        answer_of, fleet=fleet(machine("m", 60, 1), accessories=[*rows, hose]), duty__load=q(35, "kW"),
        load_side__rated_flow=q(2, "L/s"),
    )  # fmt: skip
    assert plan.runs == 1
    (step,) = [s for s in plan.results["arrival_plan"]["steps"] if s["id"] == "lay_hoses"]
    assert si(step["duration"]) / 60 == close(3 + 8 * 10 / rate)


def test_usual_hose_where_the_stock_has_none(answer_of: Any) -> None:
    """Whole inches of bore, sections of 15 m, a wall of 0.05 mm roughness, no working pressure that anybody stated."""
    rows = [x for x in stock() if x["kind"] != "hose"]
    document = order(fleet=fleet(machine("large", 330, 1), accessories=rows))
    answer = answer_of("booking.assessment", document)
    (usual,) = [a for a in answer["assumptions"] if a["code"] == "usual_hose"]
    assert [round(si(bore) / 0.0254, 9) for bore in usual["value"]] == [2, 3, 4, 6, 8]
    by_name = {e["name"]: e for e in answer["results"]["asked"]["loop"]["elements"]}
    assert si(by_name["supply hose"]["roughness"]) == close(0.05e-3)
    (line,) = [x for x in answer["results"]["pick_list"] if x["purpose"] == "supply and return"]
    assert line["count"] == 2 * answer["results"]["loop"]["hose_runs"] * 3  # 40 m in sections of 15 m


def test_four_hoses_are_tried_with_a_pump_that_is_too_weak(answer_of: Any) -> None:
    """From the narrowest that may be laid: each wider one lets more through, so the fourth is the best of them, and none as
    much as is wanted.
    """
    weak = machine("weak", 250, 1)
    for point in weak["pump"]["curve"]:
        point["head"] = q(point["head"]["value"] / 2.2, "m")
    kept = [x for x in stock() if x["kind"] != "hose"]
    hose = {"kind": "hose", "section_length": q(10, "m"), "working_pressure": q(1200, "kPa"), "count": 400}

    def taken(*bores: int) -> Plan:
        rows = [hose | {"item": f"hose {bore}", "inner_diameter": q(bore, "mm")} for bore in bores]
        return planned(
            answer_of,
            fleet=fleet(weak, accessories=[*kept, *rows]),
            load_side__rated_pressure_drop=q(110, "kPa"),
            routes__hose_length=q(60, "m"),
        )

    for bores in ((76, 90, 102, 125, 152, 203), (90, 102, 125, 140, 152, 203)):
        plan = taken(*bores)
        assert (plan.loop["hose_item"], plan.runs) == (f"hose {bores[3]}", 1)
        assert si(plan.loop["duty_flow"]) < si(plan.loop["wanted_flow"])


def test_hose_at_vessels_is_as_long_as_methods_take(answer_of: Any) -> None:
    """A line of `hydronic.fill`, which ends at 5 km."""
    kind = HoseKind("h", Length(51, "mm"), Length(15, "m"), Length(0.05, "mm"), UNSET, 400, True)
    longest = length_at_vessels(1000, kind)
    assert length_at_vessels(10, kind).to("m") == close(150)
    line = {"name": "hose", "inner_diameter": q(51, "mm")}
    given = {"fluid": {"kind": "water", "temperature": q(7, "degC")}, "high_point_elevation": q(2, "m")}
    for metres, refused in ((longest.to("m"), False), (1.001 * longest.to("m"), True)):
        document = given | {"lines": [line | {"length": q(metres, "m")}]}
        with pytest.raises(Refused) if refused else contextlib.nullcontext():
            answer_of("hydronic.fill", document)


def test_no_more_than_three_runs(answer_of: Any) -> None:
    rows = [x for x in stock() if x["kind"] != "hose" or x["item"] == "hose 51"]
    wide = order(
        fleet=fleet(machine("large", 330, 2), accessories=rows),
        duty__load=q(500, "kW"),
        load_side__rated_flow=q(24, "L/s"),
    )
    assert answer_of("booking.assessment", wide)["results"]["loop"]["hose_runs"] == 3


@pytest.mark.parametrize(("pieces", "taken"), [(11, "hose 152"), (12, "hose 102"), (13, "hose 102")])
def test_hoses_of_the_machines_count_on_the_stock_of_the_runs(answer_of: Any, pieces: int, taken: str) -> None:
    """40 m out and back in sections of 10 m are 8, and two machines take two each of the same hose: a wider one of which
    there is enough goes before it.
    """
    rows = [x for x in stock() if x["kind"] != "hose" or x["item"] in ("hose 102", "hose 152")]
    rows = [x | {"count": pieces} if x["item"] == "hose 102" else x for x in rows]
    plan = planned(answer_of, fleet=fleet(machine("middle", 150, 3), accessories=rows))
    assert (plan.units, plan.loop["hose_item"], plan.runs) == (2, taken, 1)


@pytest.mark.parametrize(("section", "taken"), [(1.9, False), (2.0, True), (2.1, True)])
def test_a_hose_of_two_metres_reaches_from_header_to_machine(answer_of: Any, section: float, taken: bool) -> None:
    short = {
        "kind": "hose",
        "item": "short",
        "inner_diameter": q(102, "mm"),
        "section_length": q(section, "m"),
        "count": 40,
    }
    plan = planned(answer_of, fleet=fleet(machine("middle", 150, 3), accessories=[*stock(), short]))
    (hoses,) = plan.work["machine_hoses"]
    assert (hoses["item"] == "short") == taken


def test_the_crowd_stays_within_what_methods_take(answer_of: Any) -> None:
    """Sixty small machines on the site's pump: no more than fifty tanks and hoses are drained, twelve runs side by side."""
    small = [changed(machine(name, 5, 30, own_pump=False), evaporator__volume=q(3, "L")) for name in ("tiny", "mini")]
    plan = planned(
        answer_of, fleet=fleet(*small), duty__load=q(265, "kW"), duty__margin_fraction=0, load_side__pump="site",
        load_side__rated_flow=q(11, "L/s"),
    )  # fmt: skip
    assert plan.units > 50
    (paths,) = [e["branches"] for e in plan.asked["loop"]["elements"] if e["type"] == "branches"]
    assert [path[1]["parallel_runs"] for path in paths] == [12, 12]
    assert len(plan.asked["drain_down"]["vessels"]) == 50
    assert [x["parallel_runs"] for x in plan.asked["drain_down"]["lines"]] == [2 * plan.runs, 50, 50]


@pytest.mark.parametrize("end", [1.02, 1.2, 1.6])
def test_a_pump_beyond_its_curve_is_throttled_back_to_the_flow(answer_of: Any, end: float) -> None:
    """A strong pump on short wide hose runs off its curve; one valve, as two in series, brings it to what is wanted."""
    row = machine("strong", 150, 1)
    flow = 150 / 23
    row["pump"]["curve"] = [
        {"flow": q(0, "L/s"), "head": q(60, "m")},
        {"flow": q(flow * end / 2, "L/s"), "head": q(57, "m")},
        {"flow": q(flow * end, "L/s"), "head": q(50, "m")},
    ]
    rows = [x | {"working_pressure": q(2500, "kPa")} if x["kind"] == "hose" else x for x in stock()]
    row["evaporator"] |= {"working_pressure": q(2500, "kPa"), "rated_pressure_drop": q(12, "kPa")}
    plan = planned(
        answer_of, fleet=fleet(row, accessories=rows), duty__load=q(120, "kW"), routes__hose_length=q(5, "m"),
        load_side__rated_pressure_drop=q(10, "kPa"), load_side__rated_flow=q(6, "L/s"),
    )  # fmt: skip
    assert "balancing_kv" in plan.loop
    assert si(plan.loop["duty_flow"]) == close(si(plan.loop["wanted_flow"]), 1e-4)


# --- filling ---------------------------------------------------------------------------------------------------------


def test_flushing_takes_twice_what_the_hoses_hold(answer_of: Any) -> None:
    plan = planned(answer_of, load_side__flush=True, fleet=fleet(machine("middle", 150, 3)))
    hoses = sum(
        math.pi / 4 * si(x["inner_diameter"]) ** 2 * si(x["length"]) * x["parallel_runs"]
        for x in plan.asked["fill"]["lines"]
    )
    (line,) = [x for x in plan.results["pick_list"] if "flush" in x["item"]]
    litres = float(re.findall(r": ([\d,]+) L before filling", line["reason"])[0].replace(",", ""))
    assert litres == pytest.approx(2000 * hoses, abs=0.5)


@pytest.mark.parametrize("height", [6, 28])
def test_the_relief_valve_is_set_a_tenth_above_the_vessel(answer_of: Any, height: float) -> None:
    """In whole 10 kPa; the greatest pressure of the standing loop is nine tenths of it at the most."""
    plan = planned(answer_of, routes__highest_point=q(height, "m"))
    most = si(plan.asked["loop"]["pressure_reference"]["gauge_pressure_maximum"]) / 1000
    (line,) = [x for x in plan.results["pick_list"] if x["item"] == "relief valve"]
    setting = float(re.findall(r"set to ([\d,.]+) kPa", line["reason"])[0].replace(",", ""))
    assert setting == 10 * math.ceil(most / 0.9 / 10)


@pytest.mark.parametrize("height", [70, 95])
def test_a_gauge_may_stand_ten_psi_above_the_fill_and_no_higher_than_150_psi(answer_of: Any, height: float) -> None:
    plan = planned(answer_of, routes__highest_point=q(height, "m"))
    configuration = plan.asked["procedure"]["configuration"]
    standing = si(plan.results["fill_pressure"]) / 1000
    most = si(configuration["fill_pressure_maximum"]) / 1000
    assert most == pytest.approx(min(standing + 10 * 6.894757, 150 * 6.894757), rel=3e-4)
    assert (standing + 68.95 > 1034) == (height == 95)


# --- room, restarts --------------------------------------------------------------------------------------------------


def test_a_room_draws_air_ten_kelvin_cooler(answer_of: Any) -> None:
    room = {"volume": q(2600, "m3"), "ventilation_flow": q(14000, "L/s")}
    plan = planned(answer_of, site__indoors=True, site__room=room)
    assert si(plan.asked["room_heat"]["outdoor_temperature"]) == close(plan.ambient - 10)


@pytest.mark.parametrize(("circuits", "stages"), [(10, 20), (16, 32), (18, 32)])
def test_a_restart_goes_in_no_more_than_thirty_two_stages(answer_of: Any, circuits: int, stages: int) -> None:
    plan = planned(answer_of, critical=True, fleet=fleet(machine("many", 330, 1, circuits=circuits)))
    trip, outage = plan.asked["restart"]["interruptions"]
    assert (trip["stages"], outage["stages"]) == (stages, stages)


@pytest.mark.parametrize("side", [("centre", 0.4, 0.3), ("middle", None, None)])
def test_feet_press_where_they_stand(answer_of: Any, side: tuple[str, float | None, float | None]) -> None:
    """Without a centre of gravity the weight is taken in the middle of the feet, by hand."""
    places = [(0.1, 0.1), (4.0, 0.2), (4.1, 1.5), (0.3, 1.7)]
    feet = [{"id": f"{n}", "x": q(x, "m"), "y": q(y, "m"), "area": q(0.03, "m2")} for n, (x, y) in enumerate(places)]
    row = changed(machine("feet", 330, 1), body__support={"kind": "feet", "feet": feet})
    if side[1] is not None:
        row["body"]["centre_of_gravity"] = {"x": q(side[1], "m"), "y": q(side[2], "m"), "z": q(1, "m")}
    plan = planned(answer_of, fleet=fleet(row), site__ground={"allowable_bearing_pressure": q(90, "kPa")})
    (asked,) = plan.asked["grounds"]
    middle = [sum(axis) / 4 for axis in zip(*places, strict=True)]
    wanted = middle if side[1] is None else [side[1], side[2]]
    assert asked["contact"] == "feet"
    assert [si(asked["eccentricity"][a]) for a in "xy"] == pytest.approx(wanted)


def test_no_more_than_five_plans_of_one_choice_are_tried(answer_of: Any) -> None:
    """Every plan at 100 m of height breaks the hoses: the first is shown, and four others are named."""
    answer = answer_of(
        "booking.assessment",
        order(fleet=fleet(machine("m", 60, 10)), routes__highest_point=q(100, "m"), duty__load=q(150, "kW")),
    )
    (found,) = [f for f in answer["findings"] if f["code"] == "every_plan_stops"]
    assert re.findall(r"(\d+) x m: ", found["statement"]) == ["4", "5", "6", "7"]
    assert ".;" not in found["statement"]
    assert [m["count"] for m in answer["results"]["machines"]] == [3]


def test_a_plate_without_motors_runs_on_four_fifths_of_its_ampacity(answer_of: Any) -> None:
    """An ampacity is a quarter above the current: NEC 440.33 for the largest motor, taken for all, from memory."""
    bare = changed(machine("bare", 150, 1), electrical__motors=[], electrical__minimum_circuit_ampacity=q(310, "A"))
    bare = changed(bare, electrical__maximum_overcurrent_device=q(400, "A"))
    asked = planned(answer_of, fleet=fleet(bare), duty__load=q(110, "kW")).asked
    ((feeder,), (fault,)) = asked["feeders"], asked["faults"]
    assert si(feeder["minimum_ampacity"]) == close(310)
    assert si(feeder["load_current"]) == si(fault["motor_running_current"]) == close(310 / 1.25)


@pytest.mark.parametrize(("size", "item", "short"), [(60, "8 AWG", 8), (120, "2 AWG", 7), (330, "4/0 AWG", 7)])
def test_a_cable_of_which_too_little_is_there_is_named_by_its_own_size(
    answer_of: Any, size: float, item: str, short: int
) -> None:
    """30 m are two sections of 50 ft, of four conductors each; the stock has one piece of each of its two sizes."""
    few = [x | {"count": 1} if x["kind"] == "cable" else x for x in stock()]
    flow = q(size * 0.045, "L/s")
    on_hand = fleet(machine("m", size, 1), accessories=few)
    plan = planned(answer_of, fleet=on_hand, duty__load=q(0.7 * size, "kW"), load_side__rated_flow=flow)
    (line,) = [x for x in plan.results["pick_list"] if x["kind"] == "cable"]
    (told,) = plan.results["cable"]["machines"]
    assert (told["feeder"]["conductor_size"], line["item"]) == (item, f"cable {item}")
    assert (line["count"], line["short_by"], line["from_stock"]) == (8, short, short < 8)


@pytest.mark.parametrize(("kelvins", "share"), [(12, 0.45), (2.05, 1.7)])
def test_flow_is_held_to_what_all_evaporators_together_take(answer_of: Any, kelvins: float, share: float) -> None:
    """By hand: 200 kW over 12 K are 4 L/s, over 2.05 K 23 L/s; two machines of 150 kW take 0.45 to 1.7 of their 6.5 L/s."""
    plan = planned(
        answer_of, fleet=fleet(machine("middle", 150, 2)), duty__temperature_difference=q(kelvins, "delta_degC")
    )
    assert plan.units == 2
    assert si(plan.loop["wanted_flow"]) * 1000 == close(2 * share * 150 / 23)


def test_a_feeder_carries_an_ampere_at_the_least(answer_of: Any) -> None:
    """A machine of 1.5 kW draws half of it."""
    tiny = machine("tiny", 1.5, 3)
    tiny["pump"]["efficiency"] = 0.9
    document = order(
        fleet=fleet(tiny), duty__load=q(1, "kW"), routes__hose_length=q(1, "m"), load_side__pump="site",
        load_side__rated_flow=q(0.05, "L/s"), site__indoors=True,
    )  # fmt: skip
    (given,) = answer_of("booking.assessment", document)["results"]["asked"]["feeders"]
    assert si(given["load_current"]) == si(given["minimum_ampacity"]) == 1


def test_the_feed_before_a_transformer_carries_an_ampere_at_the_least(answer_of: Any) -> None:
    """A machine of 1.5 kW on a site of 600 V draws half of it."""
    tiny = machine("tiny", 1.5, 3)
    tiny["pump"]["efficiency"] = 0.9
    document = order(
        fleet=fleet(tiny), duty__load=q(1, "kW"), routes__hose_length=q(1, "m"), load_side__pump="site",
        load_side__rated_flow=q(0.05, "L/s"), site__indoors=True, supply__voltage=q(600, "V"),
    )  # fmt: skip
    results = answer_of("booking.assessment", document)["results"]
    assert si(results["supply"]["transformer"]["primary_load_current"]) < 1
    assert si(results["asked"]["transformer_feed"]["load_current"]) == 1


# --- lift ---------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("reach", "above"), [(0.2, 0.5), (0.28, 0.5), (0.3, 0.3 * math.sqrt(3)), (1.0, math.sqrt(3))])
def test_a_hook_is_half_a_metre_above_the_points_at_the_least(answer_of: Any, reach: float, above: float) -> None:
    """Legs at 60 degrees, and room for the shackles."""
    points = [(1 - reach, 1), (1 + reach, 1), (1, 1 - reach), (1, 1 + reach)]
    body = {
        "centre_of_gravity": {"x": q(1, "m"), "y": q(1, "m"), "z": q(1, "m")},
        "lifting_points": [
            {"id": str(n), "x": q(x, "m"), "y": q(y, "m"), "z": q(2, "m")} for n, (x, y) in enumerate(points)
        ],
    }
    row = machine("hangs", 330, 1)
    row["body"] |= body
    (asked,) = planned(answer_of, fleet=fleet(row)).asked["lifts"]
    assert si(asked["hook_z"]) == close(2 + above, 1e-4)


def test_a_fork_truck_takes_the_machine_across_and_off_the_deck(answer_of: Any) -> None:
    """Its load centre is half the machine's width; a deck is 1.5 m high: common practice."""
    truck = {"rated_capacity": q(9, "t"), "rated_load_centre": q(0.6, "m")}
    plan = planned(answer_of, access={"lift": "fork_truck", "fork_truck": truck})
    ((row, _, _),) = plan.picked
    (asked,) = plan.asked["lifts"]
    assert si(asked["load_centre"]) == close(si(row["body"]["width"]) / 2)
    assert si(asked["load_depth"]) == close(si(row["body"]["width"]))
    assert si(asked["lift_height"]) == 1.5


@pytest.mark.parametrize(("length", "width"), [(2.4, 1.2), (1.0, 0.5), (6.0, 3.0)])
def test_mats_below_four_outriggers(answer_of: Any, length: float, width: float) -> None:
    """By hand: as many of a mat below each as make up the area that the ground asks for."""
    mat = {"kind": "mat", "item": "mat", "length": q(length, "m"), "width": q(width, "m"), "count": 400}
    crane = {
        "lift": "crane",
        "crane_chart_capacity": q(40, "t"),
        "crane_mass": q(60, "t"),
        "hook_block_mass": q(1, "t"),
    }
    on_hand = fleet(machine("large", 330, 1), accessories=[*stock(), mat])
    plan = planned(answer_of, fleet=on_hand, access=crane, site__ground={"allowable_bearing_pressure": q(60, "kPa")})
    area = si(plan.results["site"]["outriggers"]["required_area"])
    assert plan.counts("mat", "mat") == 4 * math.ceil(area / (length * width) - 1e-9)


# --- questions -------------------------------------------------------------------------------------------------------

PLAIN = changed(machine("plain", 330, 1), electrical__motors=[])
UNPRICED = changed(PLAIN, hire_rate=None)
UNRATED = changed(machine("unrated", 330, 1), electrical__short_circuit_rating=None)
ON_SET: Json = {"source": "generator"}
ON_SITE: Json = {"source": "site", "available_current": q(2000, "A"), "fault_current": q(20, "kA")}


@pytest.mark.parametrize(
    ("changes", "field", "asked", "decides"),
    [
        ({}, "/supply/source", False, False),
        ({"supply": {"source": "unknown"}}, "/supply/source", True, True),
        ({"supply": ON_SET}, "/supply/source", False, False),
        ({"supply": ON_SITE}, "/supply/voltage", True, True),
        ({"supply": ON_SET}, "/supply/voltage", True, False),
        ({"supply": ON_SET}, "/supply/starting_dip_limit_fraction", True, False),
        ({"supply": ON_SITE}, "/supply/starting_dip_limit_fraction", False, False),
        ({"supply__available_current": None}, "/supply/breaker_rating", True, True),
        ({}, "/supply/breaker_rating", False, False),
        ({"supply__fault_current": None}, "/supply/fault_current", True, True),
        ({"supply": ON_SET}, "/supply/fault_current", False, False),
        ({"fleet": fleet(PLAIN)}, "/fleet/machines/0/electrical/motors", True, False),
        ({"fleet": fleet(PLAIN), "supply": ON_SET}, "/fleet/machines/0/electrical/motors", True, True),
        ({"fleet": fleet(UNRATED)}, "/fleet/machines/0/electrical/short_circuit_rating", True, True),
        ({"access": {"lift": "crane"}}, "/access/radius", True, False),
        ({"access": {"lift": "fork_truck"}}, "/access/radius", False, False),
        ({"preferences": "lowest_cost"}, "/fleet/machines/0/hire_rate", False, False),
        ({"preferences": "lowest_cost", "fleet": fleet(UNPRICED)}, "/fleet/machines/0/hire_rate", True, False),
        ({"supply": ON_SET}, "/duty/average_load_fraction", True, False),
        ({}, "/duty/average_load_fraction", False, False),
        ({"supply": ON_SET}, "/fleet/accessories/8/size", True, False),
        ({}, "/fleet/accessories/8/size", False, False),
    ],
)  # fmt: skip
def test_what_is_asked_and_what_could_turn_the_plan(
    answer_of: Any, changes: Json, field: str, asked: bool, decides: bool
) -> None:
    """`decides` where another answer may mean another plan: a supply that is not there, a fault that is not withstood."""
    plan = planned(answer_of, **changes)
    assert (field in asked_for(plan)) == asked
    turning = plan.statements("open_questions_decide")
    named = re.findall(r"/[\w/]+", turning[0]) if turning else []
    assert (field in named) == decides


LARGE = machine("large", 330, 1)
BODY = "/fleet/machines/0/body"
FEET = [{"id": f"{n}", "x": q(n, "m"), "y": q(n % 2, "m"), "area": q(0.02, "m2")} for n in range(3)]
HELD = {
    "centre_of_gravity": {"x": q(1, "m"), "y": q(1, "m"), "z": q(1, "m")},
    "lifting_points": [
        {"id": f"{n}", "x": q(x, "m"), "y": q(y, "m"), "z": q(2, "m")}
        for n, (x, y) in enumerate(((0, 0), (2, 0), (1, 2)))
    ],
}


@pytest.mark.parametrize(
    ("body", "field", "asked"),
    [
        ({}, "support", True),
        ({"support": {"kind": "skid"}}, "support", True),
        ({"support": {"kind": "skid", "runner_width": q(200, "mm")}}, "support", False),
        ({"support": {"kind": "feet", "feet": FEET}}, "support", False),
        ({}, "intake_faces", True),
        ({"intake_faces": ["left"]}, "intake_faces", False),
        ({"intake_faces": ["left"]}, "service_faces", True),
        ({"service_faces": ["rear"]}, "intake_faces", True),
        ({"intake_faces": ["left"], "service_faces": ["rear"]}, "service_faces", False),
        ({}, "lifting_points", True),
        (HELD, "lifting_points", False),
        ({"lifting_points": HELD["lifting_points"]}, "lifting_points", True),
    ],
)
def test_what_is_asked_of_a_body(answer_of: Any, body: Json, field: str, asked: bool) -> None:
    """What it stands on, breathes through, is worked at and hangs from, unless it is given."""
    row = changed(LARGE, **{f"body__{name}": value for name, value in body.items()})
    assert (f"{BODY}/{field}" in asked_for(planned(answer_of, fleet=fleet(row)))) == asked


@pytest.mark.parametrize(
    ("changes", "field", "asked"),
    [
        ({}, "/site/ground", True),
        ({"site__ground": {"services_known": True}}, "/site/ground/soil_class", True),
        ({"site__ground": {"soil_class": "sand"}}, "/site/ground/soil_class", False),
        ({"site__ground": {"allowable_bearing_pressure": q(90, "kPa")}}, "/site/ground/soil_class", False),
        ({"site__ground": {"soil_class": "sand"}}, "/site/ground/slope", True),
        ({}, "/site/ground/slope", False),
        ({}, "/site/sound_limits", True),
        ({"site__indoors": True}, "/site/sound_limits", False),
        ({"site__lowest_ambient_temperature": None}, "/site/lowest_ambient_temperature", True),
        ({"site__lowest_ambient_temperature": None, "site__indoors": True}, "/site/lowest_ambient_temperature", False),
        ({}, "/load_side/rated_flow", False),
        ({"load_side__rated_flow": None}, "/load_side/rated_flow", True),
        ({"load_side__volume": None}, "/load_side/volume", True),
        ({"site__tap_pressure": q(300, "kPa")}, "/site/tap_pressure", False),
        ({}, "/site/tap_pressure", True),
        ({"access__surface": "asphalt"}, "/access/surface", False),
        ({"critical": True}, "/duty/warmest_supply_temperature", True),
        ({}, "/duty/warmest_supply_temperature", False),
        ({"critical": True}, "/supply/restart_time", True),
        ({"critical": True, "supply__restart_time": q(3, "min")}, "/supply/restart_time", False),
        ({"site__lowest_ambient_temperature": q(-10, "degC")}, "/fluid/kind", True),
        ({}, "/fluid/kind", False),
    ],
)
def test_what_is_asked_of_the_site(answer_of: Any, changes: Json, field: str, asked: bool) -> None:
    assert (field in asked_for(planned(answer_of, **changes))) == asked


def test_a_machine_without_a_rating_is_taken_to_bear_5_ka(answer_of: Any) -> None:
    answer = answer_of("booking.assessment", order(fleet=fleet(UNRATED)))
    (question,) = [x for x in answer["results"]["open_questions"] if x["field"].endswith("short_circuit_rating")]
    assert question["assumed"].startswith("5 kA")


# --- mixture ---------------------------------------------------------------------------------------------------------

DRUMS = [row for row in stock() if row["kind"] != "antifreeze"]


def drum(item: str, strength: float, count: int, kind: str = "propylene_glycol") -> Json:
    row = {"kind": "antifreeze", "item": item, "fluid": kind, "volume": q(200, "L"), "count": count}
    return row | {"concentrate_mass_fraction": strength}


def test_an_ordered_mixture_is_safe_three_kelvin_above_where_it_freezes(answer_of: Any) -> None:
    plan = planned(answer_of, fluid={"kind": "propylene_glycol", "mass_fraction": 0.4})
    freezes = si(plan.results["fluid"]["antifreeze"]["freezing_temperature"])
    assert si(plan.results["fluid"]["lowest_temperature"]) == pytest.approx(freezes + 3, abs=2e-3)
    assert plan.results["fluid"]["antifreeze"]["mass_fraction"] == pytest.approx(0.4, abs=1e-3)


@pytest.mark.parametrize("weak", [0.3, 0.35, 0.4, 0.45])
def test_concentrate_is_stronger_than_the_mixture(answer_of: Any, weak: float) -> None:
    """The fullest row that can make it: water can only thin it."""
    rows = [*DRUMS, drum("weak", weak, 90), drum("strong", 0.95, 30), drum("other", 0.95, 95, "ethylene_glycol")]
    on_hand = fleet(machine("large", 330, 1), accessories=rows)
    plan = planned(answer_of, fleet=on_hand, fluid={"kind": "propylene_glycol", "mass_fraction": 0.4})
    (line,) = [x for x in plan.results["pick_list"] if x["kind"] == "antifreeze"]
    assert line["item"] == ("weak" if weak > 0.4 else "strong")


# --- sound -----------------------------------------------------------------------------------------------------------


def test_machines_and_set_are_heard_where_they_stand(answer_of: Any) -> None:
    """From half the height of a machine and 1 m above ground for the set, by ears at 1.5 m: common practice."""
    rows = [x | {"sound_power_level": q(97, "dBA")} if x["kind"] == "generator" else x for x in stock()]
    limits = [
        {"distance": q(50, "m"), "limit_day": q(62, "dBA")},
        {"distance": q(90, "m"), "limit_night": q(50, "dBA")},
    ]
    on_hand = fleet(machine("middle", 150, 3), accessories=rows)
    plan = planned(answer_of, fleet=on_hand, supply={"source": "generator"}, site__sound_limits=limits)
    asked = plan.asked["sound"]
    *machines, of_set = asked["sources"]
    assert [s["id"] for s in machines] == ["middle 1", "middle 2"]
    assert all(si(s["z"]) == close(1.1) for s in machines)
    assert of_set["id"].endswith("generating set")
    assert (si(of_set["z"]), of_set["sound_power_level"]["value"]) == (1, 97)
    assert [(r["id"], si(r["x"]), si(r["z"])) for r in asked["receivers"]] == [
        ("place 1", 50, 1.5),
        ("place 2", 90, 1.5),
    ]
    assert ["limit_day" in r for r in asked["receivers"]] == [True, False]
    assert plan.assumed["height_of_set"]["value"] == q(1, "m")
    listed = {x["what"]: x for x in plan.results["limits_nearest"]}
    first, second = plan.results["site"]["sound"]["receivers"]
    for what, place, limit in (("sound by day at place 1", first, 62), ("sound by night at place 2", second, 50)):
        assert listed[what]["value"] == pytest.approx(place["level"]["value"])
        assert listed[what]["limit"] == limit
        assert listed[what]["headroom"]["value"] == pytest.approx(limit - place["level"]["value"], abs=1e-6)


def test_a_machine_of_unknown_sound_leaves_the_sound_open(answer_of: Any) -> None:
    quiet = changed(machine("b", 90, 1), sound_power_level=None)
    limits = [{"distance": q(50, "m"), "limit_day": q(62, "dBA")}]
    plan = planned(answer_of, fleet=fleet(machine("a", 150, 1), quiet), site__sound_limits=limits)
    assert plan.units == 2
    assert "sound" not in plan.asked


@pytest.mark.parametrize(("practice", "law"), [("nec", "us"), ("iec", "eu")])
def test_a_charge_is_judged_by_the_rules_of_the_place(answer_of: Any, practice: str, law: str) -> None:
    hertz = 60 if practice == "nec" else 50
    on_hand = fleet(machine("large", 330, 1, voltage=460 if hertz == 60 else 400, frequency=hertz))
    room = {"volume": q(2600, "m3"), "ventilation_flow": q(14000, "L/s")}
    plan = planned(
        answer_of, practice=practice, fleet=on_hand, site__indoors=True, site__room=room, supply={"source": "site"}
    )
    assert {a["jurisdiction"] for a in plan.asked["refrigerant_safety"]} == {law}


def test_bundles_and_cords_are_laid_more_slowly(answer_of: Any) -> None:
    """3 min to begin, then 20 m of single conductors a minute and 10 m of bundles, in whole sections of 50 ft; of cable that
    the stock does not name in sections of 15 m.
    """
    singles = stock()
    bundles = [x | {"kind": "cable_set"} if x["kind"] == "cable" else x for x in stock()]
    none = [x for x in stock() if x["kind"] != "cable"]
    for rows, metres, rate in ((singles, 15.24, 20), (bundles, 15.24, 10), (none, 15, 20)):
        plan = planned(answer_of, fleet=fleet(machine("large", 330, 1), accessories=rows))
        pieces = sum(x["count"] for x in plan.results["pick_list"] if x["kind"] in ("cable", "cable_set"))
        (step,) = [s for s in plan.results["arrival_plan"]["steps"] if s["id"] == "lay_cables"]
        assert si(step["duration"]) / 60 == close(3 + pieces * metres / rate)


@pytest.mark.parametrize(
    ("ratio", "words"), [(1.0095, "same power"), (1.0105, "1% more power"), (0.9895, "1% less power")]
)
def test_powers_within_a_hundredth_are_the_same(answer_of: Any, ratio: float, words: str) -> None:
    """The alternative draws so much of what the plan draws; the order names fewest machines."""
    plain, other = (machine(name, 250, 1, table=False) for name in ("a", "b"))
    other["rating"]["power"] = q(250 / 3 * ratio, "kW")
    (first, *_) = planned(answer_of, fleet=fleet(plain, other)).results["machines"]
    alternatives = planned(answer_of, fleet=fleet(plain, other)).results["alternatives"]
    told = next(x["why_not_first"] for x in alternatives if [m["type"] for m in x["machines"]] != [first["type"]])
    if first["type"] == "a":
        assert words in told.casefold()
    else:
        assert words.replace("more", "less") in told.casefold() or ratio < 1


def test_a_set_that_is_filled_less_than_twice_a_day_needs_nobody_at_night(answer_of: Any) -> None:
    """Beyond 12 h between fillings: common practice. The interval goes with the tank."""

    def rota(litres: float) -> tuple[float, str]:
        rows = [x | {"tank_volume": q(litres, "L")} if x["kind"] == "generator" else x for x in stock()]
        document = order(supply={"source": "generator"}, fleet=fleet(machine("only", 250, 2), accessories=rows))
        answer = answer_of("booking.assessment", document)
        (found,) = [f for f in answer["findings"] if f["code"] == "refuelling_rota"]
        return si(answer["results"]["supply"]["generator"]["refuel_interval"]) / 3600, found["statement"]

    told = [rota(litres) for litres in range(250, 700, 30)]
    assert any(11 < every < 12 for every, _ in told)
    assert any(12 < every < 13 for every, _ in told)
    for every, said in told:
        assert ("at night too" in said) == (every < 12), every
