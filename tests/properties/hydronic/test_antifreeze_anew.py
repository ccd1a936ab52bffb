"""Antifreeze worked out a second time from CoolProp's lines of plain glycol, mixing without contraction, and Darcy's law.

A quarter of ice (derived), 0.20 by mass at least, and no more than for -45 degC; limits of findings are common practice.
"""

import math
from typing import Any

import pytest
from CoolProp.CoolProp import PropsSI
from figures import same_figures
from hypothesis import given, settings
from hypothesis import strategies as st
from loop_anew import colebrook
from quantity import q
from scipy.optimize import brentq

Json = dict[str, Any]
GLYCOLS = {
    "ethylene_glycol": ("MEG", 1113.2),
    "propylene_glycol": ("MPG", 1036.1),
}  # kg/m3 at 20 degC (from memory, CRC)
OTHER = {"ethylene_glycol": "propylene_glycol", "propylene_glycol": "ethylene_glycol"}


def by_volume(kind: str, w: float) -> float:
    part = w / GLYCOLS[kind][1]
    return part / (part + (1 - w) / 998.2)


def by_mass(kind: str, x: float) -> float:
    part = x * GLYCOLS[kind][1]
    return part / (part + (1 - x) * 998.2)


def freezes(kind: str, w: float) -> float:
    """degC."""
    return float(PropsSI("T_freeze", "T", 300, "P", 1e5, f"INCOMP::{GLYCOLS[kind][0]}[{w:.15f}]") - 273.15)


def strength(kind: str, celsius: float) -> float:
    """By mass, of the mixture that freezes there."""
    return float(brentq(lambda w: freezes(kind, w) - celsius, 0.02, 0.6, xtol=1e-12))


@st.composite
def mixtures(draw: Any) -> Json:
    case: Json = {
        "kind": draw(st.sampled_from(sorted(GLYCOLS))),
        "lowest_temperature": q(draw(st.floats(-36, -3)), "degC"),
        "margin": q(draw(st.floats(1, 6)), "delta_degC"),
        "protection": draw(st.sampled_from(["freeze", "burst"])),
        "loop_volume": q(draw(st.floats(100, 9000)), "L"),
        "concentrate_mass_fraction": draw(st.floats(0.85, 1)),
        "evaporator_approach": q(draw(st.floats(2, 9)), "delta_degC"),
        "reference_line": {
            "inner_diameter": q(draw(st.floats(40, 200)), "mm"),
            "velocity": q(draw(st.floats(1, 3)), "m/s"),
        },
    }
    if draw(st.booleans()):
        case["leaving_temperature"] = q(draw(st.floats(-12, 12)), "degC")
    if draw(st.booleans()):
        how = draw(st.sampled_from(["volume_fraction", "mass_fraction", "measured_freezing_temperature"]))
        case["present"] = {how: draw(st.sampled_from([0.0, 0.15, 0.3, 0.45, 0.5]))}
        if how == "measured_freezing_temperature":
            case["present"] = {how: q(draw(st.floats(-30, -1)), "degC")}
        if draw(st.sampled_from([True, False, False])):
            case["present"]["kind"] = OTHER[case["kind"]]
    return case


def near(found: Json | float, wanted: float, rel: float = 1e-6) -> None:
    number = found["value"] if isinstance(found, dict) else found
    assert number == pytest.approx(wanted, rel=rel, abs=1e-6)


def shown(answer: Json, symbol: str) -> list[Json]:
    return [line for line in answer["working"] if line["symbol"] == symbol]


def present_of(case: Json) -> tuple[float, float] | None:
    """Strength by mass and freezing point of what is in the loop."""
    if "present" not in case:
        return None
    there = case["present"]
    kind = there.get("kind", case["kind"])
    if "measured_freezing_temperature" in there:
        celsius = there["measured_freezing_temperature"]["value"]
        return strength(kind, celsius), celsius
    w = there["mass_fraction"] if "mass_fraction" in there else by_mass(kind, there["volume_fraction"])
    return w, freezes(kind, w) if w else 0.0


@settings(max_examples=30)
@given(mixtures())
def test_a_mixture_worked_out_a_second_time(answer_of: Any, case: Json) -> None:
    kind = case["kind"]
    target = case["lowest_temperature"]["value"] - case["margin"]["value"]
    answer = answer_of("hydronic.antifreeze", case)
    r, codes = answer["results"], {"make_up_water", "used_fluid", "same_inhibitors"}
    ice = 0.75 * strength(kind, target)
    wanted = strength(kind, target)
    if case["protection"] == "burst":
        cap = 0.75 * strength(kind, -45)
        wanted = min(max(ice, 0.20), cap)
        codes |= (
            {"burst_is_not_running"}
            | ({"burst_floor"} if ice < 0.2 else set())
            | ({"burst_cap"} if ice > cap else set())
        )
    point = freezes(kind, wanted)
    near(r["mass_fraction"], wanted)
    near(r["volume_fraction"], by_volume(kind, wanted))
    assert r["freezing_temperature"]["value"] == pytest.approx(point, abs=1e-4)
    frozen = max(0.0, 1 - wanted / strength(kind, target)) if case["protection"] == "burst" else 0.0
    assert r["ice_fraction_at_lowest"] == pytest.approx(frozen, abs=1e-6)
    poured = case["loop_volume"]["value"] * by_volume(kind, wanted) / by_volume(kind, case["concentrate_mass_fraction"])
    near(r["concentrate_volume"], poured)
    near(r["water_volume"], case["loop_volume"]["value"] - poured)
    lowest = point + case["margin"]["value"] + case["evaporator_approach"]["value"]
    assert r["lowest_leaving_temperature"]["value"] == pytest.approx(lowest, abs=1e-4)
    if by_volume(kind, wanted) < 0.20:
        codes.add("thin_mixture")
    if wanted > 0.5:
        codes.add("strong_mixture")
    codes |= of_present(case, answer, target, wanted)
    codes |= of_running(case, point)
    codes |= of_cost(case, answer, wanted, point)
    assert {f["code"] for f in answer["findings"]} == codes


def of_present(case: Json, answer: Json, target: float, wanted: float) -> set[str]:
    """What to take out so that the loop comes to its strength: in one batch, and by feeding while as much runs out."""
    there, r, kind = present_of(case), answer["results"], case["kind"]
    if there is None:
        assert "drain_volume_batch" not in r
        return set()
    w, point = there
    of_kind = case["present"].get("kind", kind)
    now, then, loop = by_volume(of_kind, w), by_volume(kind, wanted), case["loop_volume"]["value"]
    fed = by_volume(kind, case["concentrate_mass_fraction"]) if now < then else 0.0
    taken, bled = (r[f"drain_volume_{how}"]["value"] for how in ("batch", "bleed"))
    assert (now * (loop - taken) + fed * taken) / loop == pytest.approx(then, abs=1e-6)
    assert fed + (now - fed) * math.exp(-bled / loop) == pytest.approx(then, abs=1e-6)
    codes = {"refractometer_scale"} if "measured_freezing_temperature" in case["present"] else set()
    if of_kind != kind:
        codes.add("glycols_would_mix")
    weak = point > target if case["protection"] == "freeze" else w < wanted
    return codes | ({"present_too_weak"} if weak else set())


def of_running(case: Json, point: float) -> set[str]:
    if "leaving_temperature" not in case:
        return set()
    leaving, there = case["leaving_temperature"]["value"], present_of(case)
    codes = set()
    if there is not None and there[0] == 0 and leaving < 4.4:
        codes.add("water_set_point_too_cold")
    points = [point, *([there[1]] if there else [])]
    if leaving - case["evaporator_approach"]["value"] < max(points):
        codes.add("runs_below_freezing")
    return codes


def of_cost(case: Json, answer: Json, wanted: float, point: float) -> set[str]:
    """Flow for the same heat as water, of 5 degC or more; and drops in the line at that flow and at the same."""
    celsius = case.get("leaving_temperature", {"value": 5.0})["value"]
    r = answer["results"]
    if celsius <= point:
        assert "flow_ratio" not in r
        return set()

    def of(name: str, at: float) -> list[float]:
        return [float(PropsSI(what, "T", at + 273.15, "P", 3e5, name)) for what in "DCV"]

    rho, c, mu = of(f"INCOMP::{GLYCOLS[case['kind']][0]}[{wanted:.15f}]", celsius)
    rho_w, c_w, mu_w = of("IF97::Water", max(5.0, celsius))
    near(r["density"], rho, rel=1e-5)
    near(r["specific_heat"], c / 1e3, rel=1e-5)
    near(r["dynamic_viscosity"], mu * 1e3, rel=1e-5)
    more = rho_w * c_w / rho / c
    near(r["flow_ratio"], more, rel=1e-5)
    bore, speed = case["reference_line"]["inner_diameter"]["value"] / 1e3, case["reference_line"]["velocity"]["value"]

    def drop(density: float, viscosity: float, velocity: float) -> float:
        return colebrook(density * velocity * bore / viscosity, 5e-5 / bore) * density * velocity**2

    same, heat = (drop(rho, mu, v) / drop(rho_w, mu_w, speed) for v in (speed, speed * more))
    near(r["pressure_drop_ratio_same_flow"], same, rel=1e-4)
    near(r["pressure_drop_ratio_same_heat"], heat, rel=1e-4)
    (flow,) = shown(answer, "Q_g/Q_w")
    same_figures(flow["expression"].partition("= ")[2], (rho_w, c_w, rho, c))
    for line, others in zip(shown(answer, "dp_g/dp_w"), ((), (more,)), strict=True):
        same_figures(line["expression"].partition("; viscosity")[2], (mu * 1e3, mu_w * 1e3, *others))
    return {"rerate_capacity_and_pump"} if more > 1.03 else set()
