"""Whole loops worked out a second time from the laws alone (`loop_anew`), every result and every finding.

Darcy and Weisbach with 64/Re or Colebrook; affinity; Kv by IEC 60534-2-1 (from memory) with Kv = 0.865 Cv (library
fluids); net positive suction head by its definition. Limits of findings are common practice where nothing else is said.
"""

from typing import Any

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from loop_anew import HOSE, Anew
from quantity import q
from scipy.optimize import brentq

from coldwright.contract import Refused

LOOP = "hydronic.loop"
Json = dict[str, Any]


def custom(rho: float, mu: float, cp: float = 4.0, vapour: float = 1.0) -> Json:
    return {
        "kind": "custom",
        "density": q(rho, "kg/m3"),
        "dynamic_viscosity": q(mu, "mPa.s"),
        "specific_heat": q(cp, "kJ/kg.K"),
        "vapor_pressure": q(vapour, "kPa"),
    }


@st.composite
def elements(draw: Any, name: str, flow: float) -> Json:
    """An element about as large as a flow [L/s] asks for."""
    share = draw(st.floats(0.25, 1.7))
    more: Json = {}
    if draw(st.booleans()):
        more["working_pressure"] = q(draw(st.floats(150, 700)), "kPa")
    kind = draw(st.sampled_from(["line", "line", "k", "length", "device", "valve"]))
    bore = q((flow / share) ** 0.5 * 25, "mm")  # 2 m/s at the share 1
    if kind == "line":
        line: Json = {"type": "line", "line_kind": draw(st.sampled_from(["steel", "plastic", *HOSE]))}
        line |= {"inner_diameter": bore, "length": q(draw(st.floats(1, 60)), "m")}
        line |= {
            "parallel_runs": draw(st.integers(1, 3)),
            "place": draw(st.sampled_from(["outdoors", "inside", "occupied"])),
        }
        if draw(st.booleans()):
            line["roughness"] = q(draw(st.floats(0, 0.5)), "mm")
        return {"name": name} | line | more
    if kind in ("k", "length"):
        bends: Json = {"type": "fittings", "inner_diameter": bore, "parallel_runs": draw(st.integers(1, 3))}
        if kind == "k":
            bends["k_factor"] = draw(st.floats(0.1, 9))
        else:
            bends |= {
                "equivalent_length": q(draw(st.floats(1, 40)), "m"),
                "roughness": q(draw(st.floats(0, 0.5)), "mm"),
            }
        return {"name": name} | bends | more
    if kind == "valve":
        coefficient = draw(st.sampled_from(["flow_coefficient_kv", "flow_coefficient_cv"]))
        return {"name": name, "type": "valve", coefficient: flow * draw(st.floats(4, 15))} | more
    device: Json = {
        "type": "device",
        "device_kind": draw(st.sampled_from(["evaporator", "coil", "strainer"])),
        "rated_flow": q(flow / share, "L/s"),
        "rated_pressure_drop": q(draw(st.floats(5, 60)), "kPa"),
        "exponent": draw(st.sampled_from([1.6, 1.85, 2.0])),
        "rated_fluid": custom(draw(st.floats(950, 1100)), draw(st.floats(0.5, 3))),
        "parallel_count": draw(st.integers(1, 3)),
    }
    if draw(st.booleans()):
        device["flow_minimum"] = q(flow * draw(st.floats(0.2, 1.0)), "L/s")
    if draw(st.booleans()):
        device["flow_maximum"] = q(flow * draw(st.floats(1.0, 1.4)), "L/s")
    return {"name": name} | device | more


@st.composite
def pumps(draw: Any, flow: float, needed: float) -> Json:
    """Pumps of about the flow [L/s] and head [m] that are needed, or up to three times it."""
    count = draw(st.integers(1, 4))
    head = min(999.0, max(1.0, needed) * draw(st.floats(0.8, 3.5)))
    end = flow / count * draw(st.floats(1.2, 2.2))
    points = [(0, 1.0), (0.5, 0.9), (0.8, 0.65), (1, 0.3)]
    pump: Json = {
        "curve": [{"flow": q(end * x, "L/s"), "head": q(head * y, "m")} for x, y in points],
        "interpolation": "linear",
        "parallel_count": count,
    }
    if draw(st.booleans()):
        pump["rated_frequency"] = q(draw(st.sampled_from([50.0, 60.0])), "Hz")
    if draw(st.booleans()):
        pump["frequency"] = q(draw(st.sampled_from([45.0, 50.0, 55.0, 60.0])), "Hz")
    how = draw(st.sampled_from(["none", "one", "curve"]))
    if how == "one":
        pump["efficiency"] = draw(st.floats(0.3, 0.9))
    elif how == "curve":
        tops = [(0.02, 0.04), (0.3, 0.4), (draw(st.floats(0.35, 0.8)), 0.75), (0.9, 0.5)]
        pump["efficiency_curve"] = [{"flow": q(end * x, "L/s"), "efficiency": y} for x, y in tops]
    if how != "none" and draw(st.booleans()):
        pump |= {"motor_efficiency": draw(st.floats(0.8, 0.95)), "drive_efficiency": draw(st.floats(0.9, 1.0))}
    if draw(st.booleans()):
        needs = [(0.1, 1.0), (0.5, draw(st.floats(1.5, 12))), (draw(st.sampled_from([0.7, 1.0])), 18.0)]
        needs = needs[: draw(st.sampled_from([1, 3, 3]))]
        pump["npsh_required_curve"] = [{"flow": q(end * x, "L/s"), "npsh_required": q(y, "m")} for x, y in needs]
    if draw(st.booleans()):
        pump["minimum_flow"] = q(end * draw(st.floats(0.1, 0.7)), "L/s")
    return pump


@st.composite
def loops(draw: Any) -> Json:
    flow = draw(st.floats(3, 25))
    listed = [draw(elements(f"e{n}", flow)) for n in range(draw(st.integers(1, 4)))]
    base = draw(st.sampled_from([0.0, -4.0, 7.0]))
    case: Json = {
        "fluid": custom(
            draw(st.floats(950, 1200)), draw(st.floats(0.6, 16)), draw(st.floats(3, 4.3)), draw(st.floats(0.5, 12))
        ),
        "elements": listed,
        "pump_elevation": q(base, "m"),
        "velocity_maximum": q(draw(st.floats(1.5, 3)), "m/s"),
    }
    for element in listed[:-1]:
        if draw(st.booleans()):
            element["elevation_out"] = q(base + draw(st.floats(-8, 16)), "m")
    if draw(st.sampled_from([True, False, False])):
        surface = base + draw(st.floats(-3, 6))
        case["open_source"] = {
            "surface_gauge_pressure": q(draw(st.sampled_from([0.0, 30.0])), "kPa"),
            "surface_elevation": q(surface, "m"),
            "suction_pressure_drop": q(draw(st.floats(0, 20)), "kPa"),
        }
        listed[-1]["elevation_out"] = q(surface + draw(st.floats(-2, 5)), "m")
    else:
        listed[-1]["elevation_out"] = q(base, "m")
        if draw(st.booleans()):
            known = draw(st.floats(20, 300))
            case["pressure_reference"] = {
                "location": draw(st.sampled_from(["pump_suction", *(e["name"] for e in listed)])),
                "gauge_pressure": q(known, "kPa"),
            }
            if draw(st.booleans()):
                case["pressure_reference"]["gauge_pressure_maximum"] = q(known + draw(st.floats(10, 150)), "kPa")
    if draw(st.booleans()):
        case["atmospheric_pressure"] = q(draw(st.floats(75, 103)), "kPa")
    if draw(st.booleans()):
        case["friction_maximum"] = draw(st.floats(5, 80))
    if draw(st.sampled_from([True, True, False])):
        number = draw(st.integers(1, 2))
        needed = Anew(case | {"fixed_flow": q(flow, "L/s")})
        head = needed.loses(needed.flow) / needed.weight / number
        case["pumps"] = [draw(pumps(flow, head)) for _ in range(number)]
        case["pump_owner"] = draw(st.sampled_from(["machine", "site"]))
        if draw(st.booleans()):
            case["pumps"].append(
                {"state": "stopped_in_line", "stopped_kv": flow * 8, "parallel_count": draw(st.integers(1, 2))}
            )
    else:
        case["fixed_flow"] = q(flow, "L/s")
        if draw(st.booleans()):
            case["shut_off_head"] = q(draw(st.floats(10, 60)), "m")
    how = draw(st.sampled_from(["none", "flow", "load"]))
    if how == "flow":
        case["required"] = {"flow": q(flow * draw(st.floats(0.4, 1.3)), "L/s")}
    elif how == "load":
        case["required"] = {
            "load": q(flow * draw(st.floats(8, 26)), "kW"),
            "temperature_difference": q(5.0, "delta_degC"),
        }
    if how != "none":
        case["hose_options"] = [
            {"inner_diameter": q(flow**0.5 * draw(st.floats(14, 36)), "mm"), "roughness": q(r, "mm")}
            | ({"working_pressure": q(draw(st.floats(150, 900)), "kPa")} if draw(st.booleans()) else {})
            for r in (0.05, 0.2)
        ]
        case |= {"run_length": q(draw(st.floats(5, 60)), "m"), "max_runs": draw(st.integers(1, 3))}
    return case


def near(found: Any, wanted: float, what: str, rel: float = 1e-6, small: float = 1e-5) -> None:
    number = found["value"] if isinstance(found, dict) else found
    assert number == pytest.approx(wanted, rel=rel, abs=small), what


def same_figures(case: Json, anew: Anew, results: Json) -> None:
    """Flow, head, power, and what stands in each element."""
    near(results["duty_flow"], anew.flow * 1e3, "duty_flow")
    rise = anew.loses(anew.flow)
    near(results["pump_pressure_rise"], rise / 1e3, "rise")
    near(results["pump_head"], rise / anew.weight, "head")
    near(results["hydraulic_power"], rise * anew.flow / 1e3, "hydraulic power")
    near(results["loop_pressure_drop"], (rise - anew.lift) / 1e3, "drop of the loop")
    for name, power in (
        ("brake_power", anew.power(anew.flow)),
        ("motor_input_power", anew.power(anew.flow, of_motors=True)),
    ):
        assert (name in results) == (power is not None and bool(anew.pumps())), name
        if name in results and power is not None:
            near(results[name], power / 1e3, name)
    along = anew.along()
    for found, element, (before, after) in zip(results["elements"], case["elements"], along, strict=True):
        wanted = anew.element(element, anew.flow)
        near(found["flow_each"], wanted["each"] * 1e3, "each")
        near(found["pressure_drop"], wanted["drop"] / 1e3, "drop")
        near(found["pressure_in"], before / 1e3, "in", small=1e-4)
        near(found["pressure_out"], after / 1e3, "out", small=1e-4)
        for name, key in (("velocity", "velocity"), ("reynolds", "reynolds"), ("friction_factor", "factor")):
            assert (name in found) == (key in wanted), name
            if name in found:
                near(found[name], wanted[key], name)
    ends = [p / 1e3 for both in along for p in both]
    near(results["lowest_pressure"]["value"], min(ends), "lowest", small=1e-4)
    near(results["highest_pressure"]["value"], max(ends), "highest", small=1e-4)
    near(results["npsh_available"], anew.suction_head(), "npsh")
    same_pumps(case, anew, results)


def same_pumps(case: Json, anew: Anew, results: Json) -> None:
    """Each running pump at its share of the flow, and the suction head with what the pumps before it make."""
    running = [i for i, pump in enumerate(case.get("pumps", ())) if pump.get("state", "running") == "running"]
    assert [found["index"] for found in results["pumps"]] == running
    before = 0.0
    for found, pump in zip(results["pumps"], anew.pumps(), strict=True):
        made, needed = anew.head(pump, anew.flow), anew.suction_needed(pump)
        near(found["flow_each"], anew.flow / pump.get("parallel_count", 1) * 1e3, "flow of a pump")
        near(found["head"], made, "head of a pump")
        near(found["npsh_available"], anew.suction_head() + before, "npsh at a pump")
        assert ("npsh_required" in found) == (needed is not None)
        if needed is not None:
            near(found["npsh_required"], needed, "npsh required of a pump")
        before += made


def same_curve(anew: Anew, results: Json) -> None:
    """The curve of the set at the points of its pumps, each at its speed and count."""
    if not anew.pumps():
        assert not results.get("scaled_pump_curve")
        return
    flows = sorted(
        {
            p["flow"]["value"] / 1e3 * anew.ratio(pump) * pump.get("parallel_count", 1)
            for pump in anew.pumps()
            for p in pump["curve"]
        }
    )
    flows = [f for f in flows if f <= anew.end() * (1 + 1e-9)]
    assert len(results["scaled_pump_curve"]) == len(flows)
    for point, flow in zip(results["scaled_pump_curve"], flows, strict=True):
        near(point["flow"], flow * 1e3, "flow of the curve")
        near(point["head"], anew.rise(flow) / anew.weight, "head of the curve")
        power = anew.power(flow * (1 - 1e-12)) if flow else None
        assert ("brake_power" in point) == (power is not None)
        if power is not None:
            near(point["brake_power"], power / 1e3, "power of the curve")


def same_throttling(anew: Anew, results: Json) -> None:
    """The valve, or the speed, that brings the loop to the flow that is wanted."""
    wanted = anew.wanted()
    if wanted is None:
        assert "required_flow" not in results
        return
    near(results["required_flow"], wanted * 1e3, "wanted")
    if "load" in anew.case["required"]:
        load = anew.case["required"]["load"]["value"]
        near(results["temperature_difference_at_load"], load * 1e3 / anew.rho / anew.cp / anew.flow, "difference")
    else:
        assert "temperature_difference_at_load" not in results
    needs = anew.loses(wanted)
    more = anew.pumps() and wanted <= anew.end() and anew.rise(wanted) > needs * (1 + 1e-9)
    assert ("throttling_kv" in results) == bool(more)
    if more:
        drop = anew.rise(wanted) - needs
        near(results["throttling_pressure_drop"], drop / 1e3, "throttling")
        near(results["throttling_kv"], wanted * 3600 / (drop / 1e5 / anew.rho * 1000) ** 0.5, "Kv")
    frequency = slower(anew, wanted, needs) if more else None
    assert ("equivalent_frequency" in results) == (frequency is not None and frequency >= 20)
    if "equivalent_frequency" in results and frequency is not None:
        near(results["equivalent_frequency"], frequency, "frequency")


def slower(anew: Anew, flow: float, needs: float) -> float | None:
    """Hz of the first pump at which all pumps, slowed alike, make `needs` [Pa] at a flow."""
    slowest = flow / anew.end()
    if anew.rise(flow, slowest) >= needs:
        return None
    speed = brentq(lambda s: anew.rise(flow, s) - needs, slowest, 1, xtol=1e-14)
    first = anew.pumps()[0]
    return float(speed * anew.ratio(first) * first.get("rated_frequency", {"value": 60.0})["value"])


def same_valves(case: Json, anew: Anew, results: Json) -> str | None:
    """What valves take of the head, and what would do without them. Four tenths ask for it (common practice)."""
    wanted = anew.wanted()
    flow = anew.flow if wanted is None else min(wanted, anew.flow)
    share = 0.0
    if anew.pumps():
        valves = sum(d for d, e in zip(anew.drops(flow), case["elements"], strict=True) if e["type"] == "valve")
        needs = anew.loses(flow) - valves
        share = 1 - needs / anew.rise(flow)
    assert ("throttled_head_fraction" in results) == (share > 1e-9)
    if share > 1e-9:
        near(results["throttled_head_fraction"], share, "share")
    if share < 0.4:
        assert not {"pumps_enough", "frequency_without_valves"} & set(results)
        return None
    first, *others = anew.pumps()
    enough = None
    for count in range(first.get("parallel_count", 1) - 1, 0, -1):
        few = Anew.__new__(Anew)
        few.__dict__ |= anew.__dict__ | {"case": case | {"pumps": [first | {"parallel_count": count}, *others]}}
        if flow <= few.end() and few.rise(flow) >= needs:
            enough = count
    assert results.get("pumps_enough") == enough
    frequency = slower(anew, flow, needs)
    assert ("frequency_without_valves" in results) == (frequency is not None and frequency >= 20)
    if "frequency_without_valves" in results and frequency is not None:
        near(results["frequency_without_valves"], frequency, "frequency without valves")
    return "head_throttled"


def same_hose(case: Json, anew: Anew, results: Json) -> str | None:
    """Each hose in each number of runs by its own line; the least bore times runs that keeps all limits."""
    wanted = anew.wanted()
    if wanted is None:
        return None
    length, good, listed = case["run_length"]["value"], [], iter(results["hose_selection"])
    lines = [d for d, e in zip(anew.drops(wanted), case["elements"], strict=True) if e.get("line_kind") in HOSE]
    ends = [p for both in anew.along() for p in both]
    shut = anew.shut_off()
    if shut is not None:
        lowest = min(min(h) for h in anew.heights) - anew.base
        ends.append(anew.level()[1] + shut - anew.weight * lowest)
    for option in case["hose_options"]:
        for runs in range(1, case["max_runs"] + 1):
            line = {"type": "line", "parallel_runs": runs, "length": q(length, "m"), **option}
            alone = anew.element(line, wanted)
            fails = []
            if alone["velocity"] > case["velocity_maximum"]["value"]:
                fails.append("velocity")
            if alone["drop"] / length * 100 > case.get("friction_maximum", 1e12) * 1e3:
                fails.append("friction")
            if anew.pumps():
                left = anew.rise(wanted) - anew.loses(wanted) + sum(lines) if wanted <= anew.end() else 0.0
                if alone["drop"] > left:
                    fails.append("head")
            if option.get("working_pressure", {"value": 1e12})["value"] * 1e3 < max(ends):
                fails.append("working_pressure")
            found = next(listed)
            near(found["velocity"], alone["velocity"], "velocity of the hose")
            near(found["pressure_drop"], alone["drop"] / 1e3, "drop of the hose")
            near(found["inner_diameter"], option["inner_diameter"]["value"], "bore")
            assert (found["runs"], found["acceptable"], found.get("fails", [])) == (runs, not fails, fails)
            if not fails:
                good.append((option["inner_diameter"]["value"] * runs, runs, found))
    assert results.get("hose_choice") == (min(good, key=lambda g: g[:2])[2] if good else None)
    return None if good else "no_hose_fits"


def of_device(element: Json, found: Json) -> set[str]:
    codes: set[str] = set()
    if element["type"] != "device":
        return codes
    each = found["each"] * 1e3
    if each < element.get("flow_minimum", {"value": 0})["value"] * (1 - 1e-9):
        codes.add("device_flow_low")
    if element["device_kind"] == "evaporator" and "flow_minimum" not in element:
        codes.add("flow_minimum_not_given")
    if each > element.get("flow_maximum", {"value": 1e12})["value"] * (1 + 1e-9):
        codes.add("device_flow_high")
    if not 0.3 <= found["share"] <= 1.5:
        codes.add("device_outside_rating")
    return codes


def of_flow(case: Json, anew: Anew) -> set[str]:
    """Findings on flow, velocity and friction."""
    codes: set[str] = set()
    inside = {"outdoors": 1e12, "inside": 2.4, "occupied": 1.2}  # m/s: VA HVAC Design Manual (seen): 8 ft/s and 4 ft/s
    for element in case["elements"]:
        found = anew.element(element, anew.flow)
        codes |= of_device(element, found)
        if "velocity" not in found:
            continue
        if found["velocity"] > case["velocity_maximum"]["value"]:
            codes.add("velocity_high")
        if found["velocity"] < 0.6:
            codes.add("velocity_low")
        if 2040 <= found["reynolds"] < 4000:
            codes.add("transition")
        if element["type"] == "line":
            place = element["place"]
            if found["velocity"] > inside[place]:
                codes.add("velocity_high_inside")
            most = min(case.get("friction_maximum", 1e12) * 10, 392 if place != "outdoors" else 1e12)  # Pa/m
            if found["drop"] / element["length"]["value"] > most:
                codes.add("friction_high")
    if anew.mu / anew.rho > 1e-5:
        codes.add("viscous_liquid")
    wanted = anew.wanted()
    if wanted is not None and anew.flow < wanted * (1 - 1e-9):
        codes.add("flow_below_required")
    return codes


def of_pressure(case: Json, anew: Anew) -> set[str]:
    """Findings on pressures: running, standing, and against a shut valve."""
    codes, lowest = set(), []
    _, standing = anew.level()
    boils = max(anew.vapour - anew.air, -anew.air)
    shut = anew.shut_off()
    closed = "open_source" not in case
    for element, heights, (before, after) in zip(case["elements"], anew.heights, anew.along(), strict=True):
        down, up = min(heights) - anew.base, max(heights) - anew.base
        mouth = (
            not closed and element is case["elements"][-1]
        )  # opens into the tank: at its surface, 0 kPa or more here
        lowest.append(before if mouth else min(before, after))
        worst = max(before, after, standing - anew.weight * down + (shut or 0.0))
        if "working_pressure" in element:
            if worst > element["working_pressure"]["value"] * 1e3:
                codes.add("over_working_pressure")
            if shut is None:
                codes.add("shut_off_unknown")
        rests = standing - anew.weight * up
        if element.get("line_kind") == "lay_flat_hose" and (lowest[-1] <= 0 or (closed and rests <= 0)):
            codes.add("lay_flat_collapses")
        if closed and rests <= boils:
            codes.add("liquid_boils")
    if min(lowest) <= 0:
        codes.add("below_air_pressure")
    if min(lowest) <= boils:
        codes.add("liquid_boils")
    if closed and "pressure_reference" not in case:
        codes.add("pressure_reference_assumed")
    return codes


def of_pumps(case: Json, anew: Anew) -> set[str]:
    """Findings on pumps: suction, best efficiency, frequency, and whose they are."""
    codes, before = set(), 0.0
    for pump in anew.pumps():
        r, each = anew.ratio(pump), anew.flow / pump.get("parallel_count", 1)
        own = pump.get("rated_frequency", {"value": 60.0})["value"]
        if {pump.get("frequency", {"value": own})["value"], own} == {50.0, 60.0}:
            codes.add("off_frequency")
        if each < pump.get("minimum_flow", {"value": 0})["value"] / 1e3:
            codes.add("pump_flow_low")
        if "efficiency_curve" in pump:
            points = [(p["flow"]["value"] / 1e3, p["efficiency"]) for p in pump["efficiency_curve"]]
            best = max(points, key=lambda p: p[1])[0]
            if not points[0][0] <= each / r <= points[-1][0]:
                codes.add("efficiency_not_known")
            if not 0.5 <= each / r / best <= 1.2:  # ANSI/HI 9.6.3, preferred region, from memory
                codes.add("away_from_best_efficiency")
        if "npsh_required_curve" in pump:
            needed, has = anew.suction_needed(pump), anew.suction_head() + before
            if needed is None:
                codes.add("npsh_not_known")
            elif has < needed:
                codes.add("cavitation")
            elif has < 1.3 * needed or has < needed + 1:
                codes.add("npsh_margin_small")
        before += anew.head(pump, anew.flow)
    if len(anew.pumps()) > 1:
        codes.add("pumps_not_interlocked")
    if anew.pumps("stopped_in_line"):
        codes.add("stopped_pump_in_line")
    if case.get("pump_owner") == "site":
        codes.add("machine_pump_not_bypassed")
    return codes


@settings(max_examples=40, suppress_health_check=[HealthCheck.filter_too_much, HealthCheck.too_slow])
@given(loops())
def test_a_loop_worked_out_a_second_time(answer_of: Any, case: Json) -> None:
    try:
        anew = Anew(case)
    except ArithmeticError:
        with pytest.raises(Refused):
            answer_of(LOOP, case)
        assume(False)
        return
    answer = answer_of(LOOP, case)
    results = answer["results"]
    same_figures(case, anew, results)
    same_curve(anew, results)
    same_throttling(anew, results)
    needed = anew.suction_needed(anew.pumps()[0]) if anew.pumps() else None
    assert ("npsh_required" in results) == (needed is not None)
    if needed is not None:
        near(results["npsh_required"], needed, "npsh required")
        near(results["npsh_wanted"], max(1.3 * needed, needed + 1), "npsh wanted")
        near(results["npsh_margin_ratio"], anew.suction_head() / needed, "npsh ratio")
    codes = {c for c in (same_valves(case, anew, results), same_hose(case, anew, results)) if c}
    codes |= of_flow(case, anew) | of_pressure(case, anew) | of_pumps(case, anew)
    assert {f["code"] for f in answer["findings"]} == codes
    grave = {f["code"] for f in answer["findings"] if f["severity"] == "stop"}
    assert ("device_flow_low" in grave) == any(freezes(anew, element) for element in case["elements"])


def freezes(anew: Anew, element: Json) -> bool:
    """An evaporator of too little flow; any other device that gets too little is a check."""
    if element["type"] != "device" or element["device_kind"] != "evaporator":
        return False
    least = element.get("flow_minimum", {"value": 0})["value"] * (1 - 1e-9)
    return bool(anew.element(element, anew.flow)["each"] * 1e3 < least)
