"""Figures in the words of a refusal, each worked out by hand from what was given. Derived where no source is named."""

import math
from typing import Any, NamedTuple

import pytest
from CoolProp.CoolProp import PropsSI
from edges import example
from figures import same_figures
from fluids.friction import Colebrook
from quantity import q

from coldwright.contract import Refused

pytestmark = pytest.mark.check
Json = dict[str, Any]
WATER: Json = {"kind": "water", "temperature": q(10, "degC")}
PLAIN: Json = {"kind": "custom", "density": q(1000, "kg/m3"), "dynamic_viscosity": q(1, "mPa.s")}
WEIGHT = 9.80665  # kPa for each metre of the custom liquid
GLYCOL = {
    "ethylene_glycol": ("MEG", 1113.2),
    "propylene_glycol": ("MPG", 1036.1),
}  # kg/m3 at 20 degC (from memory, CRC)
STRONGEST = {
    kind: PropsSI("T_freeze", "T", 300, "P", 1e5, f"INCOMP::{code}[0.6]") - 273.15 for kind, (code, _) in GLYCOL.items()
}


def by_mass(kind: str, x: float) -> float:
    glycol = x * GLYCOL[kind][1]
    return glycol / (glycol + (1 - x) * 998.2)


def by_volume(kind: str, w: float) -> float:
    glycol = w / GLYCOL[kind][1]
    return glycol / (glycol + (1 - w) / 998.2)


class Case(NamedTuple):
    name: str
    calculator: str
    given: Json
    pointer: str
    figures: tuple[float, ...]
    limits: tuple[float, ...] = ()


def pump(*points: tuple[float, float], **more: Any) -> Json:
    return {"curve": [{"flow": q(f, "L/s"), "head": q(h, "m")} for f, h in points], "interpolation": "linear"} | more


def pipe(name: str, **more: Any) -> Json:
    line = {"type": "line", "line_kind": "steel", "inner_diameter": q(100, "mm"), "length": q(10, "m")}
    return {"name": name} | line | more


def loop(elements: list[Json], pumps: list[Json], **more: Any) -> Json:
    return {"fluid": PLAIN, "elements": elements, "pumps": pumps, "pump_owner": "machine"} | more


def by_friction(flow: float) -> float:
    """kPa that 10 m of steel pipe of 100 mm take of the custom liquid, at L/s: Colebrook, roughness 0.046 mm."""
    speed = flow / 1e3 / (math.pi / 4 * 0.01)
    return float(Colebrook(1e5 * speed, 0.46e-3)) * 100 * speed**2 / 2


STEEP = ((0, 30), (4, 29), (8, 28))
LOOPS = (
    Case(
        "the last outlet",
        "hydronic.loop",
        loop([pipe("a", elevation_out=q(4.5, "m"))], [pump(*STEEP)], pump_elevation=q(-2.25, "m")),
        "#/elements/0/elevation_out",
        (4.5, -2.25),
        (-2.251, -2.249),
    ),
    Case(
        "paths that end apart",
        "hydronic.loop",
        loop(
            [
                {
                    "name": "two",
                    "type": "branches",
                    "branches": [[pipe("a", elevation_out=q(3.5, "m"))], [pipe("b", elevation_out=q(1.25, "m"))]],
                },
                pipe("c", elevation_out=q(0, "m")),
            ],
            [pump(*STEEP)],
        ),
        "#/elements/0/branches/1",
        (1.25, 3.5),
    ),
    Case(  # both pumps of 2 side by side at 50 of 60 Hz end at 2 * 8 * 5/6 L/s, where they make 28 m (5/6)^2
        "beyond the curve",
        "hydronic.loop",
        loop(
            [pipe("a", elevation_out=q(0, "m"))],
            [pump((0, 40), (20, 38), (40, 30)), pump(*STEEP, frequency=q(50, "Hz"), parallel_count=2)],
        ),
        "#/pumps",
        (16 / 1.2, 1, WEIGHT * (28 / 1.44 + 40 - 2 * 16 / 1.2 / 20), by_friction(16 / 1.2)),
        (16 / 1.2,),
    ),
    Case(  # 4 m up to the tank's surface and 2 m of suction drop are a lift of 6 m
        "beyond the curve with a lift",
        "hydronic.loop",
        loop(
            [pipe("a", elevation_out=q(5, "m"))],
            [pump((0, 40), (4, 38), (8, 30))],
            open_source={"surface_elevation": q(1, "m"), "suction_pressure_drop": q(2 * WEIGHT, "kPa")},
        ),
        "#/pumps",
        (8, 0, 30 * WEIGHT, by_friction(8) + 6 * WEIGHT),
        (8,),
    ),
    Case(
        "a lift too high",
        "hydronic.loop",
        loop(
            [pipe("a", elevation_out=q(25, "m"))],
            [pump((0, 8), (4, 7), (8, 6)), pump((0, 9), (4, 7), (8, 6))],
            open_source={"surface_elevation": q(2.5, "m"), "suction_pressure_drop": q(19.6133, "kPa")},
        ),
        "#/pumps",
        (17, 24.5),
    ),
    Case(
        "two points",
        "hydronic.loop",
        loop([pipe("a")], [pump((0, 30), (8, 20))]),
        "#/pumps/0/curve",
        (2,),
        (3,),
    ),
    Case(
        "a head that rises",
        "hydronic.loop",
        loop([pipe("a")], [pump((0, 30), (4, 29), (6, 29.5), (8, 20))]),
        "#/pumps/0/curve/2/head",
        (2,),
    ),
    Case(
        "a power law of four",
        "hydronic.loop",
        loop([pipe("a")], [pump((0, 30), (4, 29), (6, 26), (8, 20)) | {"interpolation": "power_law"}]),
        "#/pumps/0/curve",
        (4,),
    ),
    Case(  # 0.001 and 29.9 m below the shut-off head at the half and the whole: ln(29900) / ln 2
        "a power law of no pump",
        "hydronic.loop",
        loop([pipe("a")], [pump((0, 30), (4, 29.99999), (8, 0.1)) | {"interpolation": "power_law"}]),
        "#/pumps/0/curve",
        (math.log(29.9 / 1e-5) / math.log(2),),
        (0.2, 20),
    ),
)


def segment(name: str, bore: float) -> Json:
    return {"name": name, "length": q(20, "m"), "inner_diameter": q(bore, "mm"), "wave_speed": q(400, "m/s")}


SURGES = (
    Case(  # 4 m/s in 100 mm are 4 (100/40)^2 in 40 mm; the method ends at 20 m/s
        "too fast in the third",
        "hydronic.surge",
        example(
            "hydronic.surge", segments=[segment("a", 100), segment("b", 80), segment("c", 40)], velocity=q(4, "m/s")
        ),
        "#/velocity",
        (3, 25, 20),
        (3.2,),
    ),
    Case(
        "too fast by flow",
        "hydronic.surge",
        example("hydronic.surge", segments=[segment("a", 100), segment("b", 50)], velocity=None, flow=q(50, "L/s")),
        "#/flow",
        (2, 50e-3 / (math.pi / 4 * 0.05**2), 20),
        (20 * math.pi / 4 * 0.05**2 * 1e3,),
    ),
    Case(
        "a wave hardly faster than the liquid",
        "hydronic.surge",
        example("hydronic.surge", segments=[segment("a", 100) | {"wave_speed": q(7.5, "m/s")}], velocity=q(4, "m/s")),
        "#/segments/0",
        (4, 7.5),
    ),
    Case(  # the speed of sound of water of 10 degC at 3 bar by IAPWS-95; the answer has it by IAPWS-IF97
        "a wave faster than sound",
        "hydronic.surge",
        example("hydronic.surge", segments=[segment("a", 100) | {"wave_speed": q(1460, "m/s")}], velocity=q(2, "m/s")),
        "#/segments/0/wave_speed",
        (1460,),
        (PropsSI("A", "T", 283.15, "P", 3e5, "Water"),),
    ),
    Case(
        "a line that boils",
        "hydronic.surge",
        example("hydronic.surge", static_pressure=q(-100, "kPa"), fluid__temperature=q(60, "degC")),
        "#/static_pressure",
        (PropsSI("P", "T", 333.15, "Q", 0, "Water") / 1e3, 1.325),
        (PropsSI("P", "T", 333.15, "Q", 0, "Water") / 1e3 - 101.325,),
    ),
)


def exchanger(**more: Any) -> Json:
    return example("hydronic.exchanger_flow", fluid=PLAIN, rated_fluid=PLAIN, proof=None, **more)


EXCHANGERS = (
    Case(  # 60 kPa at 15 L/s: 270 kPa are the square root of 4.5 times the flow, 240 kPa twice
        "over twice the rated flow",
        "hydronic.exchanger_flow",
        exchanger(pressure_drop=q(270, "kPa")),
        "#/pressure_drop",
        (270, math.sqrt(4.5)),
        (240,),
    ),
    Case(  # 200 - 190 kPa less the column of 2 m is -9.61 kPa; a drop of 1 Pa at least
        "no drop between two gauges",
        "hydronic.exchanger_flow",
        exchanger(
            pressure_drop=None,
            inlet_gauge_pressure=q(200, "kPa"),
            outlet_gauge_pressure=q(190, "kPa"),
            inlet_gauge_elevation=q(1, "m"),
            outlet_gauge_elevation=q(3, "m"),
        ),
        "#/outlet_gauge_pressure",
        (10 - 2 * WEIGHT,),
        (200 - 2 * WEIGHT - 0.001,),
    ),
    Case(
        "over twice by two gauges",
        "hydronic.exchanger_flow",
        exchanger(
            pressure_drop=None,
            inlet_gauge_pressure=q(500, "kPa"),
            outlet_gauge_pressure=q(200, "kPa"),
            inlet_gauge_elevation=q(5, "m"),
            outlet_gauge_elevation=q(1, "m"),
        ),
        "#/inlet_gauge_pressure",
        (300 + 4 * WEIGHT, math.sqrt((300 + 4 * WEIGHT) / 60)),
        (200 - 4 * WEIGHT + 240,),
    ),
)

AIRS = (
    Case(  # 40 L from 100 to 110 kPa gauge: 40 / (1 - 201.325 / 211.325) L
        "more air than loop",
        "hydronic.air_removal",
        example(
            "hydronic.air_removal",
            loop_volume=q(500, "L"),
            top_up={"volume_added": q(40, "L"), "pressure_before": q(100, "kPa"), "pressure_after": q(110, "kPa")},
        ),
        "#/top_up",
        (40 / (1 - 201.325 / 211.325), 500),
    ),
    Case(
        "before full vacuum",
        "hydronic.air_removal",
        example(
            "hydronic.air_removal",
            atmospheric_pressure=q(80, "kPa"),
            top_up={"volume_added": q(4, "L"), "pressure_before": q(-85, "kPa"), "pressure_after": q(110, "kPa")},
        ),
        "#/top_up/pressure_before",
        (),
        (-80,),
    ),
    Case(
        "fill water that boils",
        "hydronic.air_removal",
        example("hydronic.air_removal", 1, supply_temperature=q(50, "degC"), supply_absolute_pressure=q(9, "kPa")),
        "#/supply_absolute_pressure",
        (50, PropsSI("P", "T", 323.15, "Q", 0, "Water") / 1e3),
        (PropsSI("P", "T", 323.15, "Q", 0, "Water") / 1e3, 1000),
    ),
    Case(
        "a loop that boils",
        "hydronic.air_removal",
        example(
            "hydronic.air_removal",
            1,
            operating_temperature=q(50, "degC"),
            operating_gauge_pressure=q(-72, "kPa"),
            atmospheric_pressure=q(80, "kPa"),
        ),
        "#/operating_gauge_pressure",
        (50, PropsSI("P", "T", 323.15, "Q", 0, "Water") / 1e3 - 80),
        (PropsSI("P", "T", 323.15, "Q", 0, "Water") / 1e3 - 80, 900),
    ),
)

COLDS = [
    Case(
        f"too cold for {kind}",
        "hydronic.antifreeze",
        example(
            "hydronic.antifreeze",
            kind=kind,
            lowest_temperature=q(round(STRONGEST[kind]) - 1, "degC"),
            margin=q(3.5, "delta_degC"),
        ),
        "#/lowest_temperature",
        (round(STRONGEST[kind]) - 4.5, 0.60, STRONGEST[kind]),
        (STRONGEST[kind] + 3.5,),
    )
    for kind in GLYCOL
]
GLYCOLS = (
    *COLDS,
    Case(
        "not needed",
        "hydronic.antifreeze",
        example("hydronic.antifreeze", lowest_temperature=q(3.25, "degC"), margin=q(4, "delta_degC")),
        "#/lowest_temperature",
        (-0.75,),
        (3,),
    ),
    Case(
        "a frozen mixture",
        "hydronic.antifreeze",
        example(
            "hydronic.antifreeze",
            lowest_temperature=q(-12, "degC"),
            leaving_temperature=None,
            fluid_temperature=q(-16, "degC"),
        ),
        "#/fluid_temperature",
        (-15,),
        (-15, 95),
    ),
    Case(
        "present too strong for the data",
        "hydronic.antifreeze",
        example("hydronic.antifreeze", present={"volume_fraction": 0.598}, kind="ethylene_glycol"),
        "#/present/volume_fraction",
        (by_mass("ethylene_glycol", 0.598), 0.60),
        (0, by_volume("ethylene_glycol", 0.6)),
    ),
    Case(
        "a reading too cold",
        "hydronic.antifreeze",
        example("hydronic.antifreeze", present={"measured_freezing_temperature": q(-54, "degC")}),
        "#/present/measured_freezing_temperature",
        (0.60, STRONGEST["propylene_glycol"]),
        (STRONGEST["propylene_glycol"],),
    ),
    Case(
        "stronger than what is poured in",
        "hydronic.antifreeze",
        example("hydronic.antifreeze", present={"mass_fraction": 0.5}, concentrate_mass_fraction=0.45),
        "#/present",
        (by_volume("propylene_glycol", 0.5), by_volume("propylene_glycol", 0.45)),
        (by_volume("propylene_glycol", 0.45),),
    ),
    Case(
        "a concentrate too weak",
        "hydronic.drain_down",
        example(
            "hydronic.drain_down",
            1,
            lay_up={"kind": "propylene_glycol", "target_volume_fraction": 0.4, "concentrate_volume_fraction": 0.4},
        ),
        "#/lay_up/concentrate_volume_fraction",
        (0.4, 0.4),
    ),
    Case(
        "a lay-up too strong for the data",
        "hydronic.drain_down",
        example(
            "hydronic.drain_down",
            1,
            lay_up={"kind": "ethylene_glycol", "target_volume_fraction": 0.599, "concentrate_volume_fraction": 1.0},
        ),
        "#/lay_up/target_volume_fraction",
        (by_mass("ethylene_glycol", 0.599), 0.60),
        (0, by_volume("ethylene_glycol", 0.6)),
    ),
)

DRAINS = (
    Case(  # an opening of half the width at most
        "a drain too wide",
        "hydronic.drain_down",
        example("hydronic.drain_down", drain_orifice_diameter=q(350, "mm"), vessels__0__diameter=q(0.6, "m")),
        "#/drain_orifice_diameter",
        (0.5,),
        (300,),
    ),
    Case(  # 250 L on 1.25 m: 0.2 m2, as wide as a circle of sqrt(4 x 0.2 / pi) m
        "a drain too wide for a table",
        "hydronic.drain_down",
        example(
            "hydronic.drain_down",
            drain_orifice_diameter=q(350, "mm"),
            vessels=[
                {
                    "name": "t",
                    "shape": "table",
                    "volume_by_level": [
                        {"level": q(0.25, "m"), "volume": q(50, "L")},
                        {"level": q(1.5, "m"), "volume": q(300, "L")},
                    ],
                }
            ],
        ),
        "#/drain_orifice_diameter",
        (0.5,),
        (500 * math.sqrt(0.8 / math.pi),),
    ),
)
BALANCES = (
    Case(
        "too small a difference",
        "hydronic.heat_balance",
        example("hydronic.heat_balance", entering_temperature=q(12.1, "degC"), leaving_temperature=q(12, "degC")),
        "#/leaving_temperature",
        (0.1, 0.2, 30),
        (0.2, 30),
    ),
)
EVERY = (*LOOPS, *SURGES, *EXCHANGERS, *AIRS, *GLYCOLS, *DRAINS, *BALANCES)


@pytest.mark.parametrize("case", EVERY, ids=[case.name for case in EVERY])
def test_a_refusal_says_what_the_hand_gives(answer_of: Any, case: Case) -> None:
    with pytest.raises(Refused) as refused:
        answer_of(case.calculator, case.given)
    (error,) = [e for e in refused.value.errors if e.pointer == case.pointer]
    same_figures(error.detail, case.figures)
    if isinstance(error.value, float) and f"{error.value}" not in str(case.given):
        assert any(error.value == pytest.approx(number, rel=1e-3) for number in case.figures), error.value
    rounded = 1e-6 if case.calculator == "hydronic.loop" else 6e-3
    sides = ("minimum", "above", "maximum", "below")
    limits = [
        bound for side in sides if error.allowed and isinstance(bound := getattr(error.allowed, side), int | float)
    ]
    assert limits == pytest.approx(list(case.limits), rel=3e-4, abs=rounded), error.allowed


@pytest.mark.parametrize(
    ("entering", "leaving", "meter", "pointer", "shown"),
    [
        (1.0, -0.4, "mean", "#/entering_temperature", 0.3),
        (2.0, -0.5, "leaving", "#/flow_measured_at", -0.5),
        (-0.75, 2.25, "entering", "#/flow_measured_at", -0.75),
    ],
)
def test_the_temperature_that_is_refused_is_shown(
    answer_of: Any, entering: float, leaving: float, meter: str, pointer: str, shown: float
) -> None:
    """Water has properties from 0.5 degC on: at the mean of the two ends, and where the flow is metered."""
    case = example(
        "hydronic.heat_balance",
        entering_temperature=q(entering, "degC"),
        leaving_temperature=q(leaving, "degC"),
        flow_measured_at=meter,
    )
    with pytest.raises(Refused) as refused:
        answer_of("hydronic.heat_balance", case)
    (error,) = refused.value.errors
    assert (error.pointer, error.value) == (pointer, pytest.approx(shown))
    same_figures(error.detail, (shown, 0))
    assert error.allowed
    assert (error.allowed.minimum, error.allowed.maximum) == (0.5, 95)
