"""Fills worked out a second time from the laws alone: volumes, pressures by height, tap, vessel, least volume, findings.

The vessel by the ASHRAE handbook's form (from memory); growth by CoolProp (water by IAPWS-IF97); limits of findings are
common practice.
"""

import math
from typing import Any

import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import given, settings
from hypothesis import strategies as st
from quantity import q

Json = dict[str, Any]
TAKEN = {"vented_intermediate": 35, "double_check": 35, "reduced_pressure": 70}  # kPa, common practice, no source
SUITS = {
    False: {"vented_intermediate", "double_check", "reduced_pressure", "air_gap"},
    True: {"reduced_pressure", "air_gap"},
}
LIQUIDS: dict[str, Json] = {
    "IF97::Water": {"kind": "water"},
    "INCOMP::MEG[0.3]": {"kind": "ethylene_glycol", "mass_fraction": 0.3},
    "INCOMP::MPG[0.4]": {"kind": "propylene_glycol", "mass_fraction": 0.4},
}


def density(name: str, celsius: float) -> float:
    return float(PropsSI("D", "T", celsius + 273.15, "P", 3e5, name))


@st.composite
def vessels(draw: Any) -> Json:
    if draw(st.booleans()):
        return {}
    low = draw(st.floats(0, 300))
    plan: Json = {
        "lowest_temperature": q(draw(st.floats(1, 12)), "degC"),
        "highest_temperature": q(draw(st.floats(13, 60)), "degC"),
        "linear_expansion_coefficient": draw(st.sampled_from([0.0, 11.7e-6, 1.5e-4])),
        "vessel_type": draw(st.sampled_from(["diaphragm", "air_water"])),
        "minimum_pressure": q(low, "kPa"),
        "maximum_pressure": q(low + draw(st.floats(10, 500)), "kPa"),
    }
    return {"expansion": plan}


@st.composite
def controls(draw: Any) -> Json:
    if draw(st.booleans()):
        return {}
    plan: Json = {"step_capacity": q(draw(st.floats(20, 300)), "kW"), "minimum_load": q(draw(st.floats(0, 200)), "kW")}
    plan["dead_band"] = q(draw(st.floats(1, 5)), "delta_degC")
    rules: Json = {"minimum_run_time": q(6, "min"), "minimum_off_time": q(4, "min"), "starts_per_hour": 7.0}
    plan |= {rule: value for rule, value in rules.items() if draw(st.booleans())}
    plan |= {"effective_fraction": draw(st.floats(0.3, 1)), "rule_volume_per_capacity": q(4, "L/kW")}
    return {"cycling": plan}


@st.composite
def fills(draw: Any) -> tuple[str, Json]:
    name = draw(st.sampled_from(sorted(LIQUIDS)))
    heights = st.floats(-10, 30)
    case: Json = {
        "fluid": LIQUIDS[name] | {"temperature": q(draw(st.floats(5, 30)), "degC")},
        "lines": [
            {
                "name": f"l{i}",
                "inner_diameter": q(draw(st.floats(40, 200)), "mm"),
                "length": q(draw(st.floats(5, 300)), "m"),
                "parallel_runs": draw(st.integers(1, 3)),
            }
            for i in range(draw(st.integers(0, 2)))
        ],
        "vessels": [{"name": "v", "volume": q(draw(st.floats(20, 4000)), "L"), "count": draw(st.integers(1, 4))}],
        "minimum_top_pressure": q(draw(st.floats(20, 60)), "kPa"),
        "atmospheric_pressure": q(draw(st.floats(80, 103)), "kPa"),
    }
    for part in (*case["lines"], *case["vessels"]):
        if draw(st.booleans()):
            part["working_pressure"] = q(draw(st.floats(150, 900)), "kPa")
    for place in ("fill_point", "machine", "relief_valve", "vessel"):
        if draw(st.booleans()):
            case[f"{place}_elevation"] = q(draw(heights), "m")
    if draw(st.sampled_from([True, True, False])):
        case["high_point_elevation"] = q(draw(heights), "m")
    if draw(st.booleans()):
        case["pump_suction_pressure_minimum"] = q(draw(st.floats(30, 250)), "kPa")
    if draw(st.sampled_from([True, True, False])):
        case["fill_pressure"] = q(draw(st.floats(50, 600)), "kPa")
    if draw(st.booleans()):
        case |= {
            "relief_valve_setting": q(draw(st.floats(300, 900)), "kPa"),
            "relief_margin_fraction": draw(st.floats(0, 0.2)),
        }
        case["pump_rise_at_relief"] = q(draw(st.floats(0, 150)), "kPa")
    case["treated"] = draw(st.booleans())
    if draw(st.booleans()):
        case["can_be_shut_in"] = draw(st.booleans())
    if draw(st.booleans()):
        case["tap"] = {
            "static_pressure": q(draw(st.floats(100, 600)), "kPa"),
            "flow": q(draw(st.floats(0.05, 3)), "L/s"),
        }
        case["tap"]["backflow_preventer"] = draw(
            st.sampled_from(["none", "hose_vacuum_breaker", *sorted(SUITS[False])])
        )
        if draw(st.booleans()):
            case["tap"]["backflow_pressure_drop"] = q(draw(st.floats(5, 90)), "kPa")
    if draw(st.booleans()):
        case["meter"] = {"start": q(100, "L"), "end": q(100 + volume(case) * draw(st.floats(0.8, 1.2)), "L")}
    case |= draw(vessels()) | draw(controls())
    return name, case


def volume(case: Json) -> float:
    """L."""
    lines = sum(
        math.pi / 4 * n["inner_diameter"]["value"] ** 2 / 1e3 * n["length"]["value"] * n["parallel_runs"]
        for n in case["lines"]
    )
    return float(lines + sum(v["volume"]["value"] * v["count"] for v in case["vessels"]))


def near(found: Json | float, wanted: float) -> None:
    number = found["value"] if isinstance(found, dict) else found
    assert number == pytest.approx(wanted, rel=2e-5, abs=5e-3)


def above(case: Json, place: str) -> float:
    """m over the fill point."""
    base = case.get("fill_point_elevation", q(0.0, "m"))
    return float(case.get(f"{place}_elevation", base)["value"] - base["value"])


@settings(max_examples=30)
@given(fills())
def test_a_fill_worked_out_a_second_time(answer_of: Any, drawn: tuple[str, Json]) -> None:
    name, case = drawn
    answer = answer_of("hydronic.fill", case)
    results, total = answer["results"], volume(case)
    weight = density(name, case["fluid"]["temperature"]["value"]) * 9.80665e-3
    near(results["total_volume"], total)
    codes = {"shut_in_hose_in_the_sun"} | ({"lay_flat_swells"} if case["lines"] else set())
    codes |= by_height(case, results, weight) | of_parts(case, results, weight) | of_tap(case, results, total)
    codes |= of_vessel(name, case, results, total, weight) | of_cycling(name, case, results, total)
    assert {f["code"] for f in answer["findings"]} == codes
    grave = {f["code"] for f in answer["findings"] if f["severity"] == "stop"}
    assert ("shut_in_without_relief" in grave) == ("shut_in_without_relief" in codes and "can_be_shut_in" in case)
    if (
        "backflow_not_enough" in codes
    ):  # a hose-bib vacuum breaker holds back no pressure; with glycol or treated water all
        device = case["tap"]["backflow_preventer"]  # but a double check stop the job
        harmful = case["treated"] or case["fluid"]["kind"] != "water"
        stops = device == "hose_vacuum_breaker" or (harmful and device != "double_check")
        assert ("backflow_not_enough" in grave) is stops


def by_height(case: Json, results: Json, weight: float) -> set[str]:
    codes: set[str] = set()
    filled = case.get("fill_pressure", {}).get("value")
    machine = above(case, "machine")
    if filled is not None:
        near(results["machine_pressure"], filled - weight * machine)
        near(results["height_served"], (filled - weight * machine - case["minimum_top_pressure"]["value"]) / weight)
    if "high_point_elevation" not in case:
        assert "required_fill_pressure" not in results
        return codes
    top = max(above(case, "high_point"), 0.0, machine)
    if top > above(case, "high_point"):
        codes.add("top_is_not_the_high_point")
    needs = [case["minimum_top_pressure"]["value"] + weight * top]
    if "pump_suction_pressure_minimum" in case:
        needs.append(case["pump_suction_pressure_minimum"]["value"] + weight * machine)
    near(results["static_pressure"], weight * top)
    near(results["required_fill_pressure"], max(needs))
    parts = [p["working_pressure"]["value"] for p in (*case["lines"], *case["vessels"]) if "working_pressure" in p]
    if max(needs) > min(parts, default=1e9):
        codes.add("height_above_rating")
    if "tap" in case and "reachable_pressure" in results and results["reachable_pressure"]["value"] < max(needs):
        codes.add("feed_pump_needed")
    if filled is None:
        return codes
    near(results["top_pressure"], filled - weight * top)
    if filled < max(needs):
        codes.add("fill_pressure_low")
    if filled <= weight * top:
        codes.add("top_pressure_not_positive")
    if filled - weight * machine > 345 and top < 20:
        codes.add("pressure_high_for_height")
    return codes


def of_parts(case: Json, results: Json, weight: float) -> set[str]:
    codes: set[str] = set()
    most = [case[n]["value"] for n in ("fill_pressure",) if n in case]
    most += [case["expansion"]["maximum_pressure"]["value"]] if "expansion" in case else []
    parts = [p["working_pressure"]["value"] for p in (*case["lines"], *case["vessels"]) if "working_pressure" in p]
    if max(most, default=0) > min(parts, default=1e9):
        codes.add("rating_exceeded")
    if "relief_valve_setting" in case and "fill_pressure" in case:
        there = (
            case["fill_pressure"]["value"] - weight * above(case, "relief_valve") + case["pump_rise_at_relief"]["value"]
        )
        left = case["relief_valve_setting"]["value"] * (1 - case["relief_margin_fraction"]) - there
        near(results["relief_margin"], left)
        if left <= 0:
            codes.add("relief_margin_used")
    else:
        assert "relief_margin" not in results
    if not {"relief_valve_setting", "expansion"} & set(case) and case.get("can_be_shut_in", True):
        codes.add("shut_in_without_relief")
    return codes


def of_tap(case: Json, results: Json, total: float) -> set[str]:
    codes: set[str] = set()
    harmful = case["treated"] or case["fluid"]["kind"] != "water"
    assert results["proposed_backflow_preventer"] == ("reduced_pressure" if harmful else "vented_intermediate")
    if "tap" in case:
        device = case["tap"]["backflow_preventer"]
        near(results["fill_time"], total / case["tap"]["flow"]["value"] / 60)
        taken = case["tap"].get("backflow_pressure_drop", q(TAKEN.get(device, 0), "kPa"))["value"]
        near(
            results["reachable_pressure"], 0 if device == "air_gap" else case["tap"]["static_pressure"]["value"] - taken
        )
        if results["fill_time"]["value"] > 240:
            codes.add("long_fill")
        if device not in SUITS[harmful]:
            codes.add("backflow_not_enough")
    if "meter" in case:
        read = case["meter"]["end"]["value"] - 100
        near(results["meter_volume"], read)
        assert results["meter_difference_fraction"] == pytest.approx(read / total - 1, abs=1e-9)
        if abs(read / total - 1) > 0.1 + 1e-9:
            codes.add("meter_differs")
    return codes


def of_vessel(name: str, case: Json, results: Json, total: float, weight: float) -> set[str]:
    codes: set[str] = set()
    if "expansion" not in case:
        return codes
    plan, air = case["expansion"], case["atmospheric_pressure"]["value"]
    cold, hot = plan["lowest_temperature"]["value"], plan["highest_temperature"]["value"]
    ends = [density(name, t) for t in (cold, hot)]
    if name == "IF97::Water" and cold < 3.98:
        ends.append(density(name, 3.98))
    net = max(ends) / min(ends) - 1 - 3 * plan["linear_expansion_coefficient"] * (hot - cold)
    assert results["expansion_fraction"] == pytest.approx(net, abs=1e-6)
    assert results["expansion_volume"]["value"] == pytest.approx(net * total, abs=1e-6 * total)
    low, high = plan["minimum_pressure"]["value"] + air, plan["maximum_pressure"]["value"] + air
    factor = (high - low) / high if plan["vessel_type"] == "diaphragm" else air * (high - low) / low / high
    assert results["acceptance_factor"] == pytest.approx(factor, rel=1e-9)
    assert results["vessel_volume"]["value"] == pytest.approx(max(0, net) * total / factor, abs=1e-6 * total / factor)
    assert results["precharge_pressure"]["value"] == pytest.approx(low - air)
    if net <= 0:
        codes.add("no_net_expansion")
    if low / high > 0.8:
        codes.add("vessel_barely_works")
    if "fill_pressure" in case:
        there = case["fill_pressure"]["value"] - weight * above(case, "vessel") + air
        if there >= high:
            codes.add("vessel_over_maximum")
        elif there > 1.2 * low and plan["vessel_type"] == "diaphragm":
            codes.add("vessel_already_full")
    return codes


def of_cycling(name: str, case: Json, results: Json, total: float) -> set[str]:
    if "cycling" not in case:
        return set()
    plan = case["cycling"]
    step, load = plan["step_capacity"]["value"], plan["minimum_load"]["value"]
    celsius = case["fluid"]["temperature"]["value"]
    held = (
        density(name, celsius) * PropsSI("C", "T", celsius + 273.15, "P", 3e5, name) / 1e6 * plan["dead_band"]["value"]
    )  # kJ/L
    rules = {}
    if "minimum_run_time" in plan or not {"minimum_off_time", "starts_per_hour"} & set(plan):
        rules["run_time"] = max(0.0, step - load) * (360 if "minimum_run_time" in plan else 300) / held
    if "minimum_off_time" in plan:
        rules["off_time"] = load * 240 / held
    if "starts_per_hour" in plan:  # at half load a cycle is as long on as off: Q/2 for half of 3600/n seconds
        rules["starts_per_hour"] = step / 2 * (3600 / 7 / 2) / held
    least = max(rules.values())
    assert results["minimum_loop_volume"]["value"] == pytest.approx(least, rel=1e-4)
    assert rules[results["governing_rule"]] == pytest.approx(least)
    missing = max(0.0, least - plan["effective_fraction"] * total)
    assert results["buffer_volume"]["value"] == pytest.approx(missing, abs=2e-4 * (least + total))
    assert results["rule_volume"]["value"] == pytest.approx(4 * step)
    return {"buffer_needed"} if results["buffer_volume"]["value"] > 0 else set()
