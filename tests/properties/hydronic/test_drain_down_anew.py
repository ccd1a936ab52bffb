"""Drainings worked out a second time: contents by integrals of the free surface, times by Torricelli's law, findings.

What stays in lines and where findings begin is common practice; the oxygen demand is that of burning the glycol.
"""

import math
from itertools import pairwise
from typing import Any

import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from quantity import q
from scipy.integrate import quad

Json = dict[str, Any]
GRAVITY = 9.80665
GLYCOLS = {  # liquid of CoolProp, kg/m3 at 20 degC (from memory, CRC), kg of oxygen by kg: C2H6O2 + 2.5 O2, C3H8O2 + 4 O2
    "ethylene_glycol": ("MEG", 1113.2, 80 / 62.07),
    "propylene_glycol": ("MPG", 1036.1, 128 / 76.09),
}
OTHER = {"ethylene_glycol": "propylene_glycol", "propylene_glycol": "ethylene_glycol"}


def surface(vessel: Json, level: float) -> float:
    """m2."""
    width = vessel["diameter"]["value"]
    if vessel["shape"] == "upright":
        return math.pi * width**2 / 4
    chord = 2 * math.sqrt(max(level * (width - level), 0.0))
    if vessel["shape"] == "sphere":
        return math.pi * chord**2 / 4
    return float(chord * vessel["length"]["value"])


def content(vessel: Json, level: float) -> float:
    """L."""
    if vessel["shape"] == "table":
        return float(1e3 * (0.4 * min(level, 0.5) + 1.6 * max(level - 0.5, 0.0)))
    return float(1e3 * quad(lambda h: surface(vessel, h), 0, level, epsabs=0, epsrel=1e-11)[0])


def time_to(vessel: Json, high: float, low: float, fall: float, opening: float) -> float:
    """s. By parts of the square root of the head, in which the law is straight."""

    def each(root: float) -> float:
        level = max(root**2 - fall, 0.0)
        area = (0.4 if level < 0.5 else 1.6) if vessel["shape"] == "table" else surface(vessel, level)
        return 2 * area / opening / math.sqrt(2 * GRAVITY)

    roots = [math.sqrt(h + fall) for h in sorted({low, high, *([0.5] if low < 0.5 < high else [])})]
    return float(math.fsum(quad(each, a, b, epsabs=0, epsrel=1e-9)[0] for a, b in pairwise(roots)))


@st.composite
def vessels(draw: Any, name: str) -> Json:
    shape = draw(st.sampled_from(["upright", "horizontal_cylinder", "sphere", "table"]))
    if shape == "table":
        levels = (("0", 0.0, 0.0), ("1", 0.5, 200.0), ("2", 2.0, 2600.0))
        vessel: Json = {"volume_by_level": [{"level": q(h, "m"), "volume": q(v, "L")} for _, h, v in levels]}
        width = 2.0
    else:
        width = draw(st.floats(0.5, 2))
        vessel = {"diameter": q(width, "m")}
        vessel |= {"length": q(draw(st.floats(0.5, 4)), "m")} if shape == "horizontal_cylinder" else {}
    high = width * draw(st.floats(0.1, 1))
    vessel |= {"initial_level": q(high, "m"), "final_level": q(high * draw(st.sampled_from([0.0, 0.2, 0.6])), "m")}
    return {"name": name, "shape": shape} | vessel


@st.composite
def drains(draw: Any) -> Json:
    kind = draw(st.sampled_from(["water", *GLYCOLS]))
    fluid: Json = {"kind": kind, "temperature": q(10, "degC")}
    if kind != "water":
        fluid["mass_fraction"] = draw(st.floats(0.1, 0.5))
    case: Json = {
        "fluid": fluid,
        "vessels": [draw(vessels(f"v{i}")) for i in range(draw(st.integers(0, 2)))],
        "lines": [
            {
                "inner_diameter": q(draw(st.floats(40, 200)), "mm"),
                "length": q(draw(st.floats(5, 200)), "m"),
                "parallel_runs": draw(st.integers(1, 3)),
                "drains_by_gravity": draw(st.booleans()),
            }
            | ({"residual_fraction": draw(st.floats(0, 0.3))} if draw(st.booleans()) else {})
            for _ in range(draw(st.integers(0, 2)))
        ],
        "residual_volumes": [{"name": "sump", "volume": q(draw(st.floats(1, 60)), "L")}],
        "drain_orifice_diameter": q(draw(st.floats(20, 80)), "mm"),
        "discharge_coefficient": draw(st.floats(0.5, 0.9)),
        "head_below_vessel": q(draw(st.sampled_from([0.0, 0.8, 6.5, 7.5])), "m"),
        "vented": draw(st.booleans()),
        "treated": draw(st.booleans()),
        "discharge_to": draw(st.sampled_from(["sanitary", "storm", "ground", "tanker"])),
        "discharge_consent": draw(st.booleans()),
        "receiver_flow_limit": q(draw(st.floats(0.5, 15)), "L/s"),
    }
    if draw(st.booleans()):
        case["lowest_temperature"] = q(draw(st.floats(-30, 5)), "degC")
    if draw(st.booleans()):
        target = draw(st.floats(0.15, 0.55))
        case["lay_up"] = {
            "kind": draw(st.sampled_from(sorted(GLYCOLS))),
            "target_volume_fraction": target,
            "concentrate_volume_fraction": draw(st.floats(target + 0.05, 1)),
        }
    return case


def by_volume(kind: str, w: float) -> float:
    part = w / GLYCOLS[kind][1]
    return part / (part + (1 - w) / 998.2)


def by_mass(kind: str, x: float) -> float:
    part = x * GLYCOLS[kind][1]
    return part / (part + (1 - x) * 998.2)


def freezes(kind: str, w: float) -> float:
    """degC."""
    return float(PropsSI("T_freeze", "T", 300, "P", 1e5, f"INCOMP::{GLYCOLS[kind][0]}[{w}]") - 273.15)


def near(found: Json | float, wanted: float, rel: float = 1e-6) -> None:
    number = found["value"] if isinstance(found, dict) else found
    assert number == pytest.approx(wanted, rel=rel, abs=1e-6)


@settings(max_examples=30)
@given(drains())
def test_a_draining_worked_out_a_second_time(answer_of: Any, case: Json) -> None:
    answer = answer_of("hydronic.drain_down", case)
    results = answer["results"]
    begin = sum(content(v, v["initial_level"]["value"]) for v in case["vessels"])
    end = sum(content(v, v["final_level"]["value"]) for v in case["vessels"])
    lines = [
        math.pi / 4 * n["inner_diameter"]["value"] ** 2 / 1e3 * n["length"]["value"] * n["parallel_runs"]
        for n in case["lines"]
    ]
    parts = [n.get("residual_fraction", 0.02 if n["drains_by_gravity"] else 0.10) for n in case["lines"]]
    stays = sum(v * p for v, p in zip(lines, parts, strict=True)) + case["residual_volumes"][0]["volume"]["value"]
    total = begin + sum(lines) + case["residual_volumes"][0]["volume"]["value"]
    near(results["total_volume"], total)
    near(results["residual_volume"], stays)
    near(results["drained_volume"], total - stays - end)
    codes = {"drain_plugs", "blowing_out"}
    if stays > 0.05 * total:
        codes.add("residual_large")
    codes |= of_vessels(case, results)
    codes |= of_glycol(case, results, total - stays - end)
    codes |= of_cold(case, results, stays)
    assert {f["code"] for f in answer["findings"]} == codes


def of_vessels(case: Json, results: Json) -> set[str]:
    if not case["vessels"]:
        assert "drain_time" not in results
        return set()
    fall = case["head_below_vessel"]["value"]
    opening = case["discharge_coefficient"] * math.pi / 4 * (case["drain_orifice_diameter"]["value"] / 1e3) ** 2
    times = [time_to(v, v["initial_level"]["value"], v["final_level"]["value"], fall, opening) for v in case["vessels"]]
    for found, time in zip(results["vessel_times"], times, strict=True):
        near(found["drain_time"], time)
    near(results["drain_time"], sum(times))
    first = 1e3 * opening * math.sqrt(2 * GRAVITY * (case["vessels"][0]["initial_level"]["value"] + fall))
    near(results["initial_flow"], first)
    limit = case["receiver_flow_limit"]["value"]
    assert results["flow_within_limit"] is (first <= limit)
    codes = set() if first <= limit else {"flow_over_limit"}
    codes |= set() if case["vented"] else {"not_vented"}
    return codes | ({"tall_outlet"} if fall > 7 else set())


def of_glycol(case: Json, results: Json, drained: float) -> set[str]:
    kind, to = case["fluid"]["kind"], case["discharge_to"]
    if kind in GLYCOLS:
        code, _, oxygen = GLYCOLS[kind]
        w = case["fluid"]["mass_fraction"]
        density = PropsSI("D", "T", 283.15, "P", 3e5, f"INCOMP::{code}[{w}]")
        near(results["glycol_mass"], density * w * drained / 1e3)
        near(results["oxygen_demand"], density * w * drained / 1e3 * oxygen, rel=3e-4)
    else:
        assert "glycol_mass" not in results
    if kind == "water" and not case["treated"]:
        return set()
    if to in ("storm", "ground"):
        return {"discharge_forbidden"}
    return {"consent_needed"} if to == "sanitary" and not case["discharge_consent"] else set()


def of_cold(case: Json, results: Json, stays: float) -> set[str]:
    """Antifreeze that makes the strength of what stays, and whether it stands the cold."""
    kind, w = case["fluid"]["kind"], case["fluid"].get("mass_fraction", 0.0)
    point = 0.0 if kind == "water" else freezes(kind, w)
    codes = set()
    if "lay_up" in case:
        plan = case["lay_up"]
        added, target, poured = plan["kind"], plan["target_volume_fraction"], plan["concentrate_volume_fraction"]
        there = by_volume(added, w) if kind == added else 0.0
        litres = max(0.0, stays * (target - there) / (poured - target))
        near(results["antifreeze_volume"], litres)
        if litres:  # as much glycol in the mixture as in what was there and what was poured in
            assert (stays * there + litres * poured) / (stays + litres) == pytest.approx(target)
        near(results["lay_up_volume_fraction"], max(target, there), rel=1e-5)
        if kind == OTHER[added]:
            codes.add("glycols_would_mix")
        point = freezes(added, max(by_mass(added, target), w if kind == added else 0.0))
    cold = case.get("lowest_temperature", {"value": 5.0})["value"]
    assume(abs(cold) > 1e-5 and abs(cold - point) > 1e-5)  # the last bits would decide there
    return codes | ({"residual_unprotected"} if cold < 0 and cold < point else set())
