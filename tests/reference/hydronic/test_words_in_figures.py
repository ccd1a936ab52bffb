"""Figures in the words of findings, of what to do about them and of the working, worked out by hand from what was given.

Derived where no source is named; what is common practice says so.
"""

import math
from typing import Any, NamedTuple

import pytest
from CoolProp.CoolProp import PropsSI
from edges import example
from figures import figures, same_figures
from quantity import q
from scipy.optimize import brentq

pytestmark = pytest.mark.check
Json = dict[str, Any]
WATER: Json = {"kind": "water", "temperature": q(10, "degC")}
PLAIN: Json = {
    "kind": "custom",
    "density": q(1000, "kg/m3"),
    "dynamic_viscosity": q(1, "mPa.s"),
    "vapor_pressure": q(1, "kPa"),
}
COLUMN = 9.80665  # kPa for each metre of the custom liquid
METRE = PropsSI("D", "T", 283.15, "P", 3e5, "IF97::Water") * 9.80665e-3  # of water of 10 degC
AIR = 101.325


class Said(NamedTuple):
    """What a finding says, and what it says to do, in figures."""

    code: str
    calculator: str
    given: Json
    statement: tuple[float, ...]
    do: tuple[float, ...] | None = None


def topped(kilopascals: float) -> Json:
    return example(
        "hydronic.air_removal",
        fluid=WATER,
        reference_gauge_pressure=q(kilopascals, "kPa"),
        reference_elevation=q(2, "m"),
    )


def falling(speed: float) -> Json:
    """Two runs of 100 mm straight down: sqrt(g D) 1.075 is 1.0645 m/s."""
    flow = 2 * speed * math.pi / 4 * 0.1**2 * 1e3
    line = {
        "name": "drop",
        "inner_diameter": q(100, "mm"),
        "slope_angle": 90,
        "flow": q(flow, "L/s"),
        "parallel_runs": 2,
    }
    return example("hydronic.air_removal", fluid=WATER, lines=[line])


CLEARS = math.sqrt(9.80665 * 0.1) * 1.075
TRAPPED = 6 * (250 + AIR) / 100
AIRS = (
    Said("top_pressure_low", "hydronic.air_removal", topped(175), (175 - 16 * METRE, 35), (35 - 175 + 16 * METRE,)),
    Said(
        "top_pressure_not_positive", "hydronic.air_removal", topped(120), (120 - 16 * METRE,), (35 - 120 + 16 * METRE,)
    ),
    Said("line_does_not_clear", "hydronic.air_removal", falling(0.8), (0.8, CLEARS), (CLEARS * 2 * math.pi / 4 * 10,)),
    Said(
        "air_left",
        "hydronic.air_removal",
        example("hydronic.air_removal", loop_volume=q(1500, "L")),
        (TRAPPED, TRAPPED / 1500),
    ),
)


def filled(kilopascals: float, **more: Any) -> Json:
    return example("hydronic.fill", fill_pressure=q(kilopascals, "kPa"), **more)


HELD = math.pi / 4 * 101.6**2 / 1e3 * 120 + 300
RUN_TIME = (
    30
    * 3516.8528
    * 360
    / (
        PropsSI("D", "T", 282.594, "P", 3e5, "IF97::Water")
        * PropsSI("C", "T", 282.594, "P", 3e5, "IF97::Water")
        * 5
        / 1.8
    )
    / 3.785411784e-3
)
FILLS = (
    Said(
        "fill_pressure_low", "hydronic.fill", filled(180), (180, 35 + 18 * METRE, 18 * METRE - 145), (35 + 18 * METRE,)
    ),
    Said("top_pressure_not_positive", "hydronic.fill", filled(150), (150 - 18 * METRE,), (35 + 18 * METRE,)),
    Said("relief_margin_used", "hydronic.fill", filled(500, pump_rise_at_relief=q(70, "kPa")), (570 - 540,)),
    Said("vessel_over_maximum", "hydronic.fill", filled(500, vessel_elevation=q(2, "m")), (500 - 2 * METRE, 450)),
    Said(
        "vessel_already_full",
        "hydronic.fill",
        filled(400, vessel_elevation=q(-2, "m")),
        (
            400 + 2 * METRE,
            250,
            100 - 100 * (250 + AIR) / (400 + 2 * METRE + AIR),
            100 - 100 * (400 + 2 * METRE + AIR) / (450 + AIR),
        ),
    ),
    Said(
        "vessel_barely_works",
        "hydronic.fill",
        filled(250, expansion__maximum_pressure=q(320, "kPa")),
        ((250 + AIR) / (320 + AIR), 100 * 70 / (320 + AIR)),
    ),
    Said(
        "pressure_high_for_height",
        "hydronic.fill",
        filled(420, fill_point_elevation=q(3, "m"), machine_elevation=q(5, "m")),
        (420 - 2 * METRE, 15),
        (35 + 15 * METRE,),
    ),
    Said("top_is_not_the_high_point", "hydronic.fill", filled(300, machine_elevation=q(19.25, "m")), (19.25,)),
    Said("long_fill", "hydronic.fill", filled(300, tap__flow=q(0.05, "L/s")), (HELD / 0.05 / 3600,)),
    Said(
        "meter_differs",
        "hydronic.fill",
        filled(300, meter={"start": q(50, "L"), "end": q(50 + 1.21 * HELD, "L")}),
        (21,),
    ),
    Said(
        "meter_differs",
        "hydronic.fill",
        filled(300, meter={"start": q(50, "L"), "end": q(50 + 0.83 * HELD, "L")}),
        (17,),
    ),
    Said(
        "height_above_rating",
        "hydronic.fill",
        filled(300, lines__0__working_pressure=q(200, "kPa")),
        (35 + 18 * METRE, 200),
        (35 + 18 * METRE,),
    ),
    Said(
        "rating_exceeded",
        "hydronic.fill",
        filled(300, lines__0__working_pressure=q(280, "kPa"), expansion=None),
        (300, 280),
    ),
    Said("feed_pump_needed", "hydronic.fill", filled(300, tap__static_pressure=q(200, "kPa")), (130, 35 + 18 * METRE)),
    Said(
        "buffer_needed",
        "hydronic.fill",
        example("hydronic.fill", 1),
        (RUN_TIME * 3.785411784, (RUN_TIME - 500) * 3.785411784),
    ),
)


def hose(**more: Any) -> Json:
    """One hose of a liquid of 1000 kg/m3 with a wave of 200 m/s: 2 m/s are 400 kPa, and 120 m are back in 1.2 s."""
    line = {"name": "hose", "length": q(120, "m"), "inner_diameter": q(100, "mm"), "wave_speed": q(200, "m/s")}
    return {"fluid": PLAIN, "segments": [line], "velocity": q(2, "m/s"), "static_pressure": q(300, "kPa")} | more


def stiff(**more: Any) -> Json:
    """And 20 m of pipe with a wave of 1000 m/s: its own rise is 2000 kPa, that of both 2 x 140 / 0.62."""
    pipe = {"name": "pipe", "length": q(20, "m"), "inner_diameter": q(100, "mm"), "wave_speed": q(1000, "m/s")}
    return hose(segments=[*hose()["segments"], pipe], bulk_modulus=q(2, "GPa"), **more)


BOTH = 2 * 140 / 0.62
SURGES = (
    # 2 rho L V / t is what may be left, 480 / 150 s, and a little longer, rounded up; never under the 1.2 s of the wave
    Said("peak_over_working", "hydronic.surge", hose(working_pressure=q(450, "kPa")), (700, 250, 450), (3.21,)),
    Said("peak_near_working", "hydronic.surge", hose(working_pressure=q(800, "kPa")), (700, 0.8, 800)),
    Said(
        "local_peak_over_working",
        "hydronic.surge",
        stiff(working_pressure=q(1000, "kPa")),
        (2300, 1000),
        (max(2 * 280 / 700, 1.24, 2 * 280 / (300 + AIR - 1)),),
    ),
    Said("stiff_segment", "hydronic.surge", stiff(), (2000, 400)),
    # 480 kPa s over the 300 kPa to be lost before the liquid boils, at 1 kPa
    Said(
        "column_separates",
        "hydronic.surge",
        hose(static_pressure=q(200, "kPa")),
        (1 - AIR,),
        (480 / (200 + AIR - 1), 400 + 1 - AIR),
    ),
    Said("trough_below_atmosphere", "hydronic.surge", hose(), (-100,), (400,)),
    Said(
        "column_separates",
        "hydronic.surge",
        hose(static_pressure=q(310, "kPa"), atmospheric_pressure=q(80, "kPa")),
        (1 - 80,),
        (math.ceil(48000 / (310 + 80 - 1)) / 100, 400 + 1 - 80),
    ),
    Said("valve_practice", "hydronic.surge", hose(), (5,)),  # common practice
)
GLYCOL = "INCOMP::MPG[{}]"


def freezes(w: float) -> float:
    return float(PropsSI("T_freeze", "T", 300, "P", 1e5, GLYCOL.format(w)) - 273.15)


def strength(celsius: float) -> float:
    return float(brentq(lambda w: freezes(w) - celsius, 0.02, 0.6))


GLYCOLS = (
    Said(
        "present_too_weak",
        "hydronic.antifreeze",
        example("hydronic.antifreeze", present={"mass_fraction": 0.2}),
        (freezes(0.2), 0.2, -18, strength(-18)),
    ),
    Said(  # the set point less 5 K of approach; at least the freezing point, 3 K of margin and the approach
        "runs_below_freezing",
        "hydronic.antifreeze",
        example("hydronic.antifreeze", leaving_temperature=q(-14, "degC")),
        (-19, -18),
        (-10,),
    ),
    Said(
        "thin_mixture",
        "hydronic.antifreeze",
        example("hydronic.antifreeze", lowest_temperature=q(-2, "degC")),
        (1 / (1 + (1 / strength(-5) - 1) * 1036.1 / 998.2), 0.2),
        (0.2,),
    ),
    Said(
        "strong_mixture",
        "hydronic.antifreeze",
        example("hydronic.antifreeze", lowest_temperature=q(-38, "degC")),
        (strength(-41), 0.5),
    ),
    Said(
        "burst_cap",
        "hydronic.antifreeze",
        example("hydronic.antifreeze", lowest_temperature=q(-45, "degC"), protection="burst", leaving_temperature=None),
        (0.75 * strength(-48), 0.75 * strength(-45), -45),
    ),
    Said(
        "burst_floor",
        "hydronic.antifreeze",
        example("hydronic.antifreeze", lowest_temperature=q(-4, "degC"), protection="burst", leaving_temperature=None),
        (0.75 * strength(-7), 0.2),
    ),
    Said(
        "burst_is_not_running",
        "hydronic.antifreeze",
        example("hydronic.antifreeze", lowest_temperature=q(-22, "degC"), protection="burst", leaving_temperature=None),
        (freezes(0.75 * strength(-25)),),
    ),
)


def balance(**more: Any) -> Json:
    return example("hydronic.heat_balance", fluid={"kind": "water"}, entering_temperature=q(12, "degC"), **more)


HEATS = (
    Said(
        "small_difference",
        "hydronic.heat_balance",
        balance(leaving_temperature=q(9.6, "degC")),
        (2.4, 100 * math.sqrt(2) * 0.3 / 2.4),
    ),
    Said("liquid_is_warmed", "hydronic.heat_balance", balance(leaving_temperature=q(15.5, "degC")), (3.5,)),
    Said("near_freezing", "hydronic.heat_balance", balance(leaving_temperature=q(1.75, "degC")), (1.75, 0)),
    Said("cold_plain_water", "hydronic.heat_balance", balance(leaving_temperature=q(4.25, "degC")), (4.25, 4.4, 40)),
)


def exchanger(kilopascals: float, **more: Any) -> Json:
    return example(
        "hydronic.exchanger_flow", fluid=PLAIN, rated_fluid=PLAIN, pressure_drop=q(kilopascals, "kPa"), **more
    )


BY_HEAT = 300 / (
    PropsSI("D", "T", 283.15, "P", 3e5, "IF97::Water") * PropsSI("C", "T", 283.15, "P", 3e5, "IF97::Water") / 1e6 * 5
)
EXCHANGERS = (
    Said("flow_below_minimum", "hydronic.exchanger_flow", exchanger(15), (7.5, 6.25, 8)),
    Said(
        "flow_below_minimum",
        "hydronic.exchanger_flow",
        exchanger(20, gauge_error=q(8, "kPa")),
        (15 / math.sqrt(3), 20, 8),
    ),
    Said("flow_above_maximum", "hydronic.exchanger_flow", exchanger(60, flow_maximum=q(12, "L/s")), (15, 25, 12)),
    Said("outside_trusted_range", "hydronic.exchanger_flow", exchanger(153.6), (1.6, 0.3, 1.5)),
    Said("flow_uncertain", "hydronic.exchanger_flow", exchanger(60, gauge_error=q(30, "kPa")), (25,)),
    Said(
        "trip_below_minimum",
        "hydronic.exchanger_flow",
        exchanger(60, flow_minimum=q(11, "L/s")),
        (15 / math.sqrt(3), 11),
    ),
    Said(
        "trip_margin_small",
        "hydronic.exchanger_flow",
        exchanger(22.05, flow_minimum=q(5, "L/s")),
        (5, 15 / math.sqrt(3)),
    ),
    Said(
        "flow_and_heat_disagree",
        "hydronic.exchanger_flow",
        example(
            "hydronic.exchanger_flow",
            pressure_drop=q(60, "kPa"),
            heat=q(300, "kW"),
            temperature_difference=q(5, "delta_degC"),
        ),
        (15, BY_HEAT, 100 * (15 / BY_HEAT - 1)),
    )
    if abs(15 / BY_HEAT - 1) > 0.15
    else Said(
        "flow_and_heat_disagree",
        "hydronic.exchanger_flow",
        example(
            "hydronic.exchanger_flow",
            pressure_drop=q(60, "kPa"),
            heat=q(210, "kW"),
            temperature_difference=q(5, "delta_degC"),
        ),
        (15, 0.7 * BY_HEAT, 100 * (15 / 0.7 / BY_HEAT - 1)),
    ),
    Said(
        "strainer_dirty",
        "hydronic.exchanger_flow",
        exchanger(
            60,
            strainer={
                "rated_flow": q(12, "L/s"),
                "rated_pressure_drop": q(8, "kPa"),
                "measured_pressure_drop": q(35, "kPa"),
            },
        ),
        (35 / 12.5, 12.5),
    ),
)
DRAINS = (
    Said(  # 1.131 m2 to 2 m, 2 % of the hose, and 200 L that do not drain
        "residual_large",
        "hydronic.drain_down",
        example("hydronic.drain_down", residual_volumes=[{"name": "sump", "volume": q(200, "L")}]),
        (200 + 0.02 * (HELD - 300), 200 + HELD - 300 + math.pi / 4 * 1440 * 2, 0.05),
    ),
    Said(
        "flow_over_limit",
        "hydronic.drain_down",
        example("hydronic.drain_down", receiver_flow_limit=q(5, "L/s")),
        (0.61 * math.pi / 4 * 2.5 * math.sqrt(4 * 9.80665), 5),
    ),
    Said("tall_outlet", "hydronic.drain_down", example("hydronic.drain_down", head_below_vessel=q(8.5, "m")), (8.5,)),
    Said(
        "residual_unprotected",
        "hydronic.drain_down",
        example("hydronic.drain_down", lowest_temperature=q(-20, "degC")),
        (0.02 * (HELD - 300), freezes(0.3), -20),
    ),
)
EVERY = (*AIRS, *FILLS, *SURGES, *GLYCOLS, *HEATS, *EXCHANGERS, *DRAINS)


@pytest.mark.parametrize("said", EVERY, ids=[f"{i}-{said.code}" for i, said in enumerate(EVERY)])
def test_a_finding_says_what_the_hand_gives(answer_of: Any, said: Said) -> None:
    answer = answer_of(said.calculator, said.given)
    (found,) = [f for f in answer["findings"] if f["code"] == said.code]
    same_figures(found["statement"], said.statement)
    if said.do is not None:
        same_figures(found["do"], said.do)


def freed(celsius: float) -> float:
    """L of gas from 1 m3 of water that met air of 1 atm and warms by 20 K. Henry's constants: Sander, 2023 (seen)."""

    def held(kelvin: float) -> float:
        dry = 101325 - PropsSI("P", "T", kelvin, "Q", 0, "Water")
        solved = ((0.7808, 6.4e-6, 1300), (0.2095, 1.3e-5, 1500), (0.0093, 1.4e-5, 1500))
        return float(sum(y * h * math.exp(b * (1 / kelvin - 1 / 298.15)) for y, h, b in solved) * dry)

    cold, warm = celsius + 273.15, celsius + 293.15
    return (held(cold) - held(warm)) * 8.314462618 * warm / 101325 * 1e3


def test_warming_frees_about_as_much_air_as_is_said(answer_of: Any) -> None:
    (found,) = [
        f
        for f in answer_of("hydronic.air_removal", example("hydronic.air_removal"))["findings"]
        if f["code"] == "warming_frees_air"
    ]
    warmed, gas, water = figures(found["statement"])
    assert (warmed, water) == (20, 1000)
    assert gas == round(freed(10)) == round(freed(12))


def test_a_hose_in_the_sun_gains_what_is_said(answer_of: Any) -> None:
    """Water shut in at 10 degC and 3 bar, warmed to 30 degC: IAPWS-95 by CoolProp, to two digits."""
    (found,) = [
        f
        for f in answer_of("hydronic.fill", example("hydronic.fill"))["findings"]
        if f["code"] == "shut_in_hose_in_the_sun"
    ]
    gained, cold, warm = figures(found["statement"])
    assert (cold, warm) == (10, 30)
    squeezed = PropsSI("P", "T", 303.15, "D", PropsSI("D", "T", 283.15, "P", 3e5, "Water"), "Water") - 3e5
    assert gained == round(squeezed / 1e5) * 100


def test_unequal_paths_take_the_shares_that_are_said(answer_of: Any) -> None:
    """Of one bore, fittings alone: flows go with the inverse root of K, here 1 to 2."""
    pipe = {"type": "line", "line_kind": "steel", "inner_diameter": q(100, "mm")}
    paths = [
        [
            {"name": name, "type": "fittings", "inner_diameter": q(100, "mm"), "k_factor": k},
            {"name": f"{name} hose", "length": q(n, "m")} | pipe,
        ]
        for name, k, n in (("long", 400.0, 1e-6), ("short", 100.0, 2e-6))
    ]
    case = {
        "fluid": PLAIN,
        "elements": [{"name": "two", "type": "branches", "branches": paths}],
        "fixed_flow": q(9, "L/s"),
    }
    answer = answer_of("hydronic.loop", case)
    (found,) = [f for f in answer["findings"] if f["code"] == "unequal_branches"]
    same_figures(found["statement"], (33, 67))
    assert [f["value"] for f in answer["results"]["branch_flows"]] == pytest.approx([3, 6], rel=1e-4)


def lines(*flows: tuple[float, str, float]) -> Json:
    """Pipes by velocity, place and roughness [mm]; 12 L/s of a liquid of 1000 kg/m3."""
    pipe = {"type": "line", "line_kind": "steel", "length": q(10, "m")}
    return {
        "fluid": PLAIN,
        "elements": [
            {
                "name": f"{letter} pipe",
                "inner_diameter": q(math.sqrt(12e-3 / speed * 4 / math.pi) * 1e3, "mm"),
                "place": place,
                "roughness": q(rough, "mm"),
            }
            | pipe
            for letter, (speed, place, rough) in zip("abc", flows, strict=False)
        ],
        "fixed_flow": q(12, "L/s"),
    }


OUT, IN, ROOM = "outdoors", "inside", "occupied"
WORST = (  # the one that is farthest over its own limit, or under it
    ("velocity_high", lines((3.2, OUT, 0.05), (3.5, OUT, 0.05), (3.1, OUT, 0.05)), "b pipe", "3.5 m/s in b pipe"),
    (
        "velocity_high_inside",
        lines((2.5, IN, 0.05), (1.4, ROOM, 0.05), (2.6, IN, 0.05)),
        "b pipe",
        "1.4 m/s in b pipe, where 1.2",
    ),
    ("velocity_high_inside", lines((2.9, IN, 0.05), (1.3, ROOM, 0.05)), "a pipe", "2.9 m/s in a pipe, where 2.4"),
    (
        "velocity_low",
        lines((0.5, OUT, 0.05), (0.4, OUT, 0.05), (0.55, OUT, 0.05)),
        "b pipe",
        "0.4 m/s in b pipe, below 0.6",
    ),
)


@pytest.mark.parametrize(("code", "given", "at", "says"), WORST)
def test_the_worst_of_several_is_named(answer_of: Any, code: str, given: Json, at: str, says: str) -> None:
    answer = answer_of("hydronic.loop", given)
    (found,) = [f for f in answer["findings"] if f["code"] == code]
    assert says in found["statement"]
    place = [e["name"] for e in given["elements"]].index(at)
    assert found["field"].startswith(f"/elements/{place}/")


def test_the_line_of_most_friction_over_its_limit_is_named(answer_of: Any) -> None:
    """The custom inside is 392 Pa/m, the limit given here 1200 Pa/m: of two lines the one with more drop is less over."""
    given = lines((2.2, IN, 0.05), (3.0, OUT, 0.05)) | {"friction_maximum": 120.0}
    answer = answer_of("hydronic.loop", given)
    drops = [e["pressure_drop"]["value"] * 100 for e in answer["results"]["elements"]]  # Pa/m over 10 m
    (found,) = [f for f in answer["findings"] if f["code"] == "friction_high"]
    assert drops[0] / 392 > drops[1] / 1200 > 1
    assert drops[0] < drops[1]
    assert "in a pipe" in found["statement"]
    same_figures(found["statement"], (drops[0] / 10, 100, 100 * (drops[0] / 392 - 1), 39.2))


def test_the_friction_that_is_allowed_is_for_a_hundred_metres(answer_of: Any) -> None:
    """kPa for each 100 m are 10 Pa for each metre: of the drop of the answer itself, a hundredth above and below it."""
    pipe = lines((2.0, OUT, 0.05))
    drop = answer_of("hydronic.loop", pipe)["results"]["elements"][0]["pressure_drop"]["value"] * 10  # kPa in 100 m
    hose = [{"inner_diameter": pipe["elements"][0]["inner_diameter"], "roughness": q(0.05, "mm")}]
    chosen = {"required": {"flow": q(12, "L/s")}, "hose_options": hose, "run_length": q(35, "m"), "max_runs": 1}
    for limit, over in ((0.99 * drop, True), (1.01 * drop, False)):
        answer = answer_of("hydronic.loop", pipe | chosen | {"friction_maximum": limit})
        assert ("friction_high" in {f["code"] for f in answer["findings"]}) is over
        assert (answer["results"]["hose_selection"][0]["fails"] == ["friction"]) is over


@pytest.mark.parametrize(("share", "word", "why"), [(0.8, "less", "Air is trapped"), (1.2, "more", "It leaks")])
def test_a_meter_that_differs_says_why(answer_of: Any, share: float, word: str, why: str) -> None:
    answer = answer_of("hydronic.fill", filled(300, meter={"start": q(0, "L"), "end": q(share * HELD, "L")}))
    (found,) = [f for f in answer["findings"] if f["code"] == "meter_differs"]
    assert word in found["statement"]
    assert found["why"].startswith(why)


class Line(NamedTuple):
    """A line of the working: its symbol, which of those of that symbol, and its figures after some words of it."""

    calculator: str
    given: Json
    symbol: str
    number: int
    after: str
    figures: tuple[float, ...]


def brine(**more: Any) -> Json:
    """12 L/s of a liquid of 1050 kg/m3 and 4 kJ/kg.K by two evaporators side by side, and a valve of Cv 100."""
    fluid = PLAIN | {"density": q(1050, "kg/m3"), "specific_heat": q(4, "kJ/kg.K")}
    device = {"type": "device", "device_kind": "coil", "rated_flow": q(15, "L/s"), "rated_pressure_drop": q(60, "kPa")}
    cooler = device | {"name": "cooler", "exponent": 1.8, "parallel_count": 2, "rated_fluid": PLAIN}
    bends = {"name": "bends", "type": "fittings", "inner_diameter": q(100, "mm"), "k_factor": 3.0}
    valve = {"name": "valve", "type": "valve", "flow_coefficient_cv": 100.0}
    return {"fluid": fluid, "elements": [cooler, bends, valve], "fixed_flow": q(12, "L/s")} | more


SLOW = hose(closure_time=q(6, "s"), velocity_change_fraction=0.5)
WALL = {"wall_thickness": q(5, "mm"), "elastic_modulus": q(200, "GPa")}
PIPED = hose(
    segments=[{"name": "pipe", "length": q(20, "m"), "inner_diameter": q(100, "mm")} | WALL],
    bulk_modulus=q(2.125, "GPa"),
    free_gas_fraction=0.0125,
    restraint_factor=1.25,
)
CYCLED = example(
    "hydronic.fill",
    1,
    fluid=PLAIN | {"specific_heat": q(4, "kJ/kg.K")},
    cycling__minimum_off_time=q(4, "min"),
    cycling__starts_per_hour=8.0,
)
BAND = 4000 * 5 / 1.8
KEPT = 0.02 * (HELD - 300)
TO_TANKER = example(
    "hydronic.drain_down",
    head_below_vessel=q(1.25, "m"),
    vessels__0__final_level=q(0.5, "m"),
    residual_volumes=[{"name": "sump", "volume": q(12, "L")}],
)
LAID_UP = example(
    "hydronic.drain_down",
    1,
    lay_up={"kind": "propylene_glycol", "target_volume_fraction": 0.4, "concentrate_volume_fraction": 0.9},
)
STRONG, WEAK = (1 / (1 + (1 / w - 1) * 1036.1 / 998.2) for w in (strength(-18), 0.2))
POURED = 1 / (1 + (1 / 0.95 - 1) * 1036.1 / 998.2)
CORRECTED = example("hydronic.antifreeze", present={"mass_fraction": 0.2})
SHARES = (WEAK, STRONG, POURED)
WORKING = (
    Line("hydronic.loop", brine(), "dp", 0, "= ", (60, 6, 15, 1.8)),
    Line("hydronic.loop", brine(), "dp", 2, "Kv = ", (86.5,)),
    Line(
        "hydronic.loop",
        brine(required={"load": q(210, "kW"), "temperature_difference": q(5, "delta_degC")}),
        "Q_req",
        0,
        "= ",
        (210, 4200, 5),
    ),
    Line("hydronic.fill", example("hydronic.fill"), "dp", 0, "p at", (40, 4, 300)),
    Line("hydronic.fill", CYCLED, "V_min", 0, "t_run = ", (6, BAND)),
    Line("hydronic.fill", CYCLED, "V_min", 1, "t_off = ", (4, BAND)),
    Line("hydronic.fill", CYCLED, "V_min", 2, "n = ", (8, BAND)),
    Line("hydronic.surge", PIPED, "a", 0, "rho = ", (1000, 2.125, 1.25 * 100 / 5 / 200e9, 1, 0.0125)),
    Line("hydronic.surge", hose(), "a_eq", 0, "= ", (120, 0.6)),
    Line("hydronic.surge", SLOW, "dp", 0, "= 2 x", (1000, 120, 6, 200)),
    Line("hydronic.surge", hose(), "dp", 0, "dV = ", (1000, 200, 2, 0)),
    Line("hydronic.surge", stiff(working_pressure=q(1000, "kPa")), "p_i", 0, "", (300, 2000)),
    Line("hydronic.antifreeze", CORRECTED, "w", 0, "= ", (-18,)),
    Line(
        "hydronic.antifreeze",
        example("hydronic.antifreeze", protection="burst"),
        "w",
        0,
        "w_eq = ",
        (0.75 * strength(-18), -18, 0.2, 0.75 * strength(-45)),
    ),
    Line("hydronic.antifreeze", CORRECTED, "V_d", 0, "x = ", SHARES),
    Line("hydronic.antifreeze", CORRECTED, "V_b", 0, "x = ", SHARES),
    Line("hydronic.antifreeze", CORRECTED, "V_c", 0, "= ", (3000, STRONG, POURED)),
    Line(
        "hydronic.exchanger_flow",
        exchanger(60) | {"fluid": PLAIN | {"density": q(1050, "kg/m3")}},
        "c",
        0,
        "n = ",
        (2, 1050, 1000),
    ),
    Line(
        "hydronic.air_removal",
        example("hydronic.air_removal", 1, operating_gauge_pressure=q(40, "kPa")),
        "c_2",
        0,
        "86 degF",
        (40 + AIR,),
    ),
    Line("hydronic.drain_down", TO_TANKER, "t", 0, "from", (0.5, 2, 0.61 * math.pi / 4 * 0.0025, 1.25)),
    Line("hydronic.drain_down", TO_TANKER, "V_res", 0, "lines", (KEPT, 12)),
    Line("hydronic.drain_down", TO_TANKER, "Q_0", 0, "= ", (0.61 * math.pi / 4 * 0.0025, 2, 9.80665, 3.25)),
    Line("hydronic.drain_down", LAID_UP, "V_g", 0, "= ", (37.85411784, 0.4, 0, 0.9, 0.4, 0)),
)


@pytest.mark.parametrize("line", WORKING, ids=[f"{i}-{one.symbol}" for i, one in enumerate(WORKING)])
def test_a_line_of_the_working_says_what_the_hand_gives(answer_of: Any, line: Line) -> None:
    lines = [
        one["expression"] for one in answer_of(line.calculator, line.given)["working"] if one["symbol"] == line.symbol
    ]
    spelt = (
        lines[line.number][lines[line.number].index(line.after) + len(line.after) :]
        .replace("m2", "")
        .replace("m3", "")
        .replace("s2", "")
    )
    same_figures(spelt, line.figures)


def test_a_pump_that_runs_out_says_where_its_curve_ends(answer_of: Any) -> None:
    """By hand: H = 40 - Q^2 / 10 of one pump (L/s); two at 50 of 60 Hz against nothing but a short pipe run out to H = 0,
    at the root of 400, of a curve that is given to 10 L/s: all of them at 10 x 2 x 5 / 6.
    """
    curve = [{"flow": q(f, "L/s"), "head": q(40 - f * f / 10, "m")} for f in (0, 5, 10)]
    pumps = {"curve": curve, "interpolation": "power_law", "frequency": q(50, "Hz"), "parallel_count": 2}
    bends = {"name": "bends", "type": "fittings", "inner_diameter": q(600, "mm"), "k_factor": 0.0}
    case = {"fluid": PLAIN, "elements": [bends], "pumps": [pumps], "pump_owner": "machine"}
    answer = answer_of("hydronic.loop", case)
    assert answer["results"]["duty_flow"]["value"] == pytest.approx(20 * 2 * 5 / 6)
    (found,) = [f for f in answer["findings"] if f["code"] == "beyond_curve"]
    same_figures(found["statement"], (0, 100, 10 * 2 * 5 / 6))


@pytest.mark.parametrize(
    ("fluid", "to", "words"),
    [
        (WATER, "storm", "Treated water must not go to a storm drain"),
        (WATER, "ground", "Treated water must not go to the ground"),
        (
            {"kind": "propylene_glycol", "mass_fraction": 0.3, "temperature": q(10, "degC")},
            "storm",
            "Propylene glycol must not go to a storm drain",
        ),
    ],
)
def test_what_must_not_go_where(answer_of: Any, fluid: Json, to: str, words: str) -> None:
    case = example("hydronic.drain_down", fluid=fluid, discharge_to=to, treated=True)
    (found,) = [f for f in answer_of("hydronic.drain_down", case)["findings"] if f["code"] == "discharge_forbidden"]
    assert found["statement"].startswith(words)


@pytest.mark.parametrize(("cold", "stands"), [(-30, True), (-36, True), (-44, False), (-55, False)])
def test_burst_protection_stands_down_to_its_cold(answer_of: Any, cold: float, stands: bool) -> None:
    """Laid up for -37 degC less 3 K: slush of a quarter of ice there, more of it in deeper cold; no data under -51 degC."""
    plan = {
        "kind": "propylene_glycol",
        "lowest_temperature": q(-37, "degC"),
        "protection": "burst",
        "concentrate_volume_fraction": 1.0,
    }
    case = example("hydronic.drain_down", 1, lay_up=plan, lowest_temperature=q(cold, "degC"))
    codes = {f["code"] for f in answer_of("hydronic.drain_down", case)["findings"]}
    assert ("residual_unprotected" in codes) is not stands


def test_the_strongest_burst_mixture_is_not_trusted_below_the_data(answer_of: Any) -> None:
    """Three quarters of the strength for -45 degC is the most that is asked for; below -51 degC nothing is known of it."""
    plan = {
        "kind": "propylene_glycol",
        "target_volume_fraction": 0.58,
        "protection": "burst",
        "concentrate_volume_fraction": 1.0,
    }
    for cold, stands in ((-50, True), (-53, False)):
        case = example("hydronic.drain_down", 1, lay_up=plan, lowest_temperature=q(cold, "degC"))
        codes = {f["code"] for f in answer_of("hydronic.drain_down", case)["findings"]}
        assert ("residual_unprotected" in codes) is not stands


def test_equal_paths_are_no_news(answer_of: Any) -> None:
    """Hose of one bore and length on both sides; another length or bore on one of them is said."""
    hose = {"type": "line", "line_kind": "steel", "inner_diameter": q(100, "mm"), "length": q(20, "m")}
    for other, told in (({}, False), ({"length": q(21, "m")}, True), ({"inner_diameter": q(90, "mm")}, True)):
        paths = [[{"name": "one"} | hose], [{"name": "other"} | hose | other]]
        fork = {"name": "two", "type": "branches", "branches": paths}
        answer = answer_of("hydronic.loop", {"fluid": PLAIN, "elements": [fork], "fixed_flow": q(9, "L/s")})
        assert ("unequal_branches" in {f["code"] for f in answer["findings"]}) is told
