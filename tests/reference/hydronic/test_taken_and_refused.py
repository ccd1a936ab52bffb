"""What is taken just within a limit and refused just beyond it: each limit from its rule, tried on both sides.

Common practice, or the end of the method, where no source is named.
"""

import math
from collections.abc import Callable
from typing import Any, NamedTuple

import pytest
from CoolProp.CoolProp import PropsSI
from edges import example
from quantity import q

from coldwright.contract import Refused

pytestmark = pytest.mark.check
Json = dict[str, Any]
PLAIN: Json = {"kind": "custom", "density": q(1000, "kg/m3"), "dynamic_viscosity": q(1, "mPa.s")}
PIPE: Json = {"type": "line", "line_kind": "steel", "inner_diameter": q(100, "mm"), "length": q(10, "m")}


class Limit(NamedTuple):
    name: str
    calculator: str
    given: Callable[[float], Json]
    taken: float
    refused: float
    pointer: str


def gauges(pascals: float) -> Json:
    level: Json = {f"{end}_gauge_elevation": q(1, "m") for end in ("inlet", "outlet")}
    readings: Json = {"inlet_gauge_pressure": q(pascals / 1e3, "kPa"), "outlet_gauge_pressure": q(0, "kPa")}
    return example(
        "hydronic.exchanger_flow", pressure_drop=None, proof=None, gauge_error=q(0, "kPa"), **level, **readings
    )


def strapped(*rows: tuple[float, float]) -> Json:
    table = {
        "name": "t",
        "shape": "table",
        "volume_by_level": [{"level": q(h, "m"), "volume": q(v, "L")} for h, v in rows],
    }
    return example("hydronic.drain_down", vessels=[table], drain_orifice_diameter=q(20, "mm"))


def tank(**more: Any) -> Json:
    vessel = {"name": "t", "shape": "upright", "diameter": q(1, "m"), "height": q(2, "m"), "initial_level": q(1.5, "m")}
    return example("hydronic.drain_down", vessels=[vessel | more])


def lying(**more: Any) -> Json:
    vessel = {
        "name": "t",
        "shape": "horizontal_cylinder",
        "diameter": q(1.5, "m"),
        "length": q(2, "m"),
        "initial_level": q(1, "m"),
    }
    return example("hydronic.drain_down", vessels=[vessel | more])


def balance(kelvin: float) -> Json:
    return example(
        "hydronic.heat_balance", entering_temperature=q(40, "degC"), leaving_temperature=q(40 - kelvin, "degC")
    )


def cold(celsius: float) -> Json:
    return example(
        "hydronic.antifreeze",
        lowest_temperature=q(celsius, "degC"),
        margin=q(2.5, "delta_degC"),
        leaving_temperature=None,
    )


def wave(speed: float) -> Json:
    """The liquid runs at 4 m/s."""
    line = {"name": "a", "length": q(20, "m"), "inner_diameter": q(100, "mm"), "wave_speed": q(speed, "m/s")}
    return example("hydronic.surge", segments=[line], velocity=q(4, "m/s"))


def loop(elements: list[Json], **more: Any) -> Json:
    return {"fluid": PLAIN, "elements": elements, "fixed_flow": q(5, "L/s")} | more


def nested(levels: float) -> Json:
    """Branches inside branches, as deep as is asked."""
    inside: list[Json] = [{"name": "core"} | PIPE]
    for depth in range(int(levels)):
        inside = [
            {"name": f"fork {depth}", "type": "branches", "branches": [inside, [{"name": f"side {depth}"} | PIPE]]}
        ]
    return loop(inside)


def many(count: float) -> Json:
    """All of a list of 150 and of two paths."""
    others = int(count) - 151
    paths = [[{"name": f"{p} {n}"} | PIPE for n in range(k)] for p, k in (("p", 1), ("o", others - 1))]
    return loop(
        [{"name": f"n {n}"} | PIPE for n in range(150)] + [{"name": "fork", "type": "branches", "branches": paths}]
    )


def pump(*points: tuple[float, float], **more: Any) -> Json:
    curve = [{"flow": q(f, "L/s"), "head": q(h, "m")} for f, h in points]
    return {
        "fluid": PLAIN,
        "elements": [{"name": "p"} | PIPE, {"name": "v", "type": "valve", "flow_coefficient_kv": 20.0}],
        "pumps": [{"curve": curve, "interpolation": "linear"} | more],
        "pump_owner": "machine",
    }


def boiling(kilopascals: float) -> Json:
    """Fill water of 40 degC."""
    return example(
        "hydronic.air_removal", 1, supply_temperature=q(40, "degC"), supply_absolute_pressure=q(kilopascals, "kPa")
    )


BOILS = PropsSI("P", "T", 313.15, "Q", 0, "Water") / 1e3


def trapped(litres: float) -> Json:
    """6 L from 150 to 250 kPa gauge: 6 (250 + 101.325) / 100 L of air."""
    return example("hydronic.air_removal", loop_volume=q(litres, "L"))


LIMITS = (
    Limit("a drop of 1 Pa by two gauges", "hydronic.exchanger_flow", gauges, 1.04, 0.96, "#/outlet_gauge_pressure"),
    Limit(
        "twice the rated flow",
        "hydronic.exchanger_flow",
        lambda r: gauges(60e3 * r * r),
        1.99,
        2.01,
        "#/inlet_gauge_pressure",
    ),
    # rows of a table rise by 0.1 mm, and in volume
    Limit(
        "levels of a table",
        "hydronic.drain_down",
        lambda d: strapped((0, 0), (1, 500), (1 + d, 900)),
        1.01e-4,
        0.98e-4,
        "#/vessels/0/volume_by_level/2",
    ),
    Limit(
        "levels that fall",
        "hydronic.drain_down",
        lambda d: strapped((0, 0), (1, 500), (1 + d, 900)),
        1e-3,
        -5e-5,
        "#/vessels/0/volume_by_level/2",
    ),
    Limit(
        "volumes of a table",
        "hydronic.drain_down",
        lambda v: strapped((0, 0), (1, 500), (2, 500 + v)),
        500.0,
        0.0,
        "#/vessels/0/volume_by_level/2",
    ),
    Limit(
        "volumes that fall",
        "hydronic.drain_down",
        lambda v: strapped((0, 0), (1, 500), (2, 500 + v)),
        500.0,
        -1.0,
        "#/vessels/0/volume_by_level/2",
    ),
    Limit(
        "a level within a table", "hydronic.drain_down", lambda h: strapped_to(h), 0.5, 0.49, "#/vessels/0/final_level"
    ),
    Limit(
        "an opening of half the width",
        "hydronic.drain_down",
        lambda mm: tank() | {"drain_orifice_diameter": q(mm, "mm")},
        499.0,
        501.0,
        "#/drain_orifice_diameter",
    ),
    Limit(
        "a level in a tank",
        "hydronic.drain_down",
        lambda h: tank(initial_level=q(h, "m")),
        2.0,
        2.01,
        "#/vessels/0/initial_level",
    ),
    Limit(
        "a level in a lying cylinder",
        "hydronic.drain_down",
        lambda h: lying(initial_level=q(h, "m")),
        1.5,
        1.51,
        "#/vessels/0/initial_level",
    ),
    Limit(
        "a level that rises",
        "hydronic.drain_down",
        lambda h: tank(final_level=q(h, "m")),
        1.5,
        1.51,
        "#/vessels/0/final_level",
    ),
    Limit("the least difference", "hydronic.heat_balance", balance, 0.201, 0.199, "#/leaving_temperature"),
    Limit("the greatest difference", "hydronic.heat_balance", balance, 29.9, 30.1, "#/leaving_temperature"),
    Limit(
        "antifreeze for less than a degree of frost", "hydronic.antifreeze", cold, 1.45, 1.55, "#/lowest_temperature"
    ),
    Limit("a wave twice as fast as the liquid", "hydronic.surge", wave, 8.05, 7.95, "#/segments/0"),
    Limit("branches two deep", "hydronic.loop", nested, 2, 3, "#/elements/0/branches/0/0/branches/0/0/branches"),
    Limit("two hundred elements", "hydronic.loop", many, 200, 201, "#/elements"),
    Limit(
        "a curve of three points",
        "hydronic.loop",
        lambda n: pump(*((0, 30), (9, 20), (12, 10))[: int(n)]),
        3,
        2,
        "#/pumps/0/curve",
    ),
    Limit(
        "points of a curve",
        "hydronic.loop",
        lambda d: pump((0, 30), (10 - d * 10, 20), (10, 10)),
        1.1e-4,
        0.9e-4,
        "#/pumps/0/curve",
    ),
    Limit(
        "a first point at no flow",
        "hydronic.loop",
        lambda f: pump((f, 30), (5, 20), (10, 10)),
        0.0,
        0.01,
        "#/pumps/0/curve",
    ),
    Limit(
        "a head that falls",
        "hydronic.loop",
        lambda h: pump((0, 30), (5, 20), (10, h)),
        19.9,
        20.0,
        "#/pumps/0/curve/2/head",
    ),
    Limit(
        "a roughness of a twentieth",
        "hydronic.loop",
        lambda mm: loop([{"name": "p", "roughness": q(mm, "mm")} | PIPE]),
        4.99,
        5.0,
        "#/elements/0/roughness",
    ),
    Limit(
        "fill water that boils",
        "hydronic.air_removal",
        boiling,
        1.01 * BOILS,
        0.99 * BOILS,
        "#/supply_absolute_pressure",
    ),
    Limit("more air than loop", "hydronic.air_removal", trapped, 6 * 3.51325 * 1.01, 6 * 3.51325 * 0.99, "#/top_up"),
)


def strapped_to(level: float) -> Json:
    case = strapped((0.5, 100), (1, 500), (2, 900))
    case["vessels"][0]["final_level"] = q(level, "m")
    return case


def refusals(answer_of: Any, calculator: str, given: Json) -> list[str]:
    try:
        answer_of(calculator, given)
    except Refused as refused:
        return [error.pointer for error in refused.errors]
    return []


@pytest.mark.parametrize("limit", LIMITS, ids=[limit.name for limit in LIMITS])
def test_a_limit_is_tried_on_both_sides(answer_of: Any, limit: Limit) -> None:
    assert refusals(answer_of, limit.calculator, limit.given(limit.taken)) == []
    assert limit.pointer in refusals(answer_of, limit.calculator, limit.given(limit.refused))


@pytest.mark.parametrize(("celsius", "there"), [(-34.5, True), (-35.5, False)])
def test_the_second_opinion_ends_where_its_table_does(answer_of: Any, celsius: float, there: bool) -> None:
    """Tables of inhibited glycol from -35 degC (as CoolProp has them); the plain mixture of 0.57 by volume flows colder."""
    fluid = {"kind": "ethylene_glycol", "volume_fraction": 0.57, "temperature": q(celsius, "degC")}
    opinion = answer_of("hydronic.loop", loop([{"name": "p"} | PIPE]) | {"fluid": fluid})["results"]["second_opinion"]
    assert ("density" in opinion) is there
    name = "INCOMP::AEG[0.57]"
    freezing = PropsSI("T_freeze", "T", 300, "P", 3e5, name) - 273.15
    assert opinion["freezing_temperature"]["value"] == pytest.approx(freezing, abs=1e-3)
    if there:
        wanted = {"density": "D", "specific_heat": "C", "dynamic_viscosity": "V"}
        scale = {"density": 1, "specific_heat": 1e-3, "dynamic_viscosity": 1e3}
        for figure, letter in wanted.items():
            number = scale[figure] * PropsSI(letter, "T", celsius + 273.15, "P", 3e5, name)
            assert opinion[figure]["value"] == pytest.approx(number, rel=1e-6)


def test_a_curve_may_be_followed_just_to_its_end(answer_of: Any) -> None:
    """By hand: a valve whose drop at the last point is that of the pump there has its duty there, within the last bits."""
    kv = 36 / math.sqrt(10 * 9.80665 / 100)
    case = pump((0, 30), (5, 20), (10, 10)) | {"elements": [{"name": "v", "type": "valve", "flow_coefficient_kv": kv}]}
    assert answer_of("hydronic.loop", case)["results"]["duty_flow"]["value"] == pytest.approx(10, rel=1e-9)


@pytest.mark.parametrize(("above", "there"), [(0.015, True), (0.005, False)])
def test_the_second_opinion_ends_at_its_own_freezing_point(answer_of: Any, above: float, there: bool) -> None:
    """Inhibited glycol freezes a little warmer than the plain one: between the two the first has no figures."""
    freezing = PropsSI("T_freeze", "T", 300, "P", 3e5, "INCOMP::APG[0.3]") - 273.15
    fluid = {"kind": "propylene_glycol", "volume_fraction": 0.3, "temperature": q(freezing + above, "degC")}
    opinion = answer_of("hydronic.loop", loop([{"name": "p"} | PIPE]) | {"fluid": fluid})["results"]["second_opinion"]
    assert ("density" in opinion) is there


@pytest.mark.parametrize(("metres", "there"), [(0.00105, True), (0.00095, False)])
def test_no_ratio_to_a_need_of_nothing(answer_of: Any, metres: float, there: bool) -> None:
    """Under a millimetre of suction head a pump needs none: what stands there is no multiple of it."""
    need = [{"flow": q(1, "L/s"), "npsh_required": q(metres, "m")}]
    case = pump((0, 30), (5, 20), (10, 10), npsh_required_curve=need) | {
        "fluid": PLAIN | {"vapor_pressure": q(1, "kPa")}
    }
    assert ("npsh_margin_ratio" in answer_of("hydronic.loop", case)["results"]) is there


@pytest.mark.parametrize(("hertz", "count"), [(60.0, 1), (50.0, 2), (70.0, 3)])
def test_a_known_point_has_its_suction_head_too(answer_of: Any, hertz: float, count: int) -> None:
    """By hand: from an open tank 3 m above the pump less 4 kPa; each of the pumps needs what it does at its own flow."""
    r = hertz / 60
    known = {"point": {"flow": q(10, "L/s"), "head": q(20, "m")}, "frequency": q(hertz, "Hz"), "parallel_count": count}
    known["npsh_required_curve"] = [{"flow": q(f, "L/s"), "npsh_required": q(h, "m")} for f, h in ((2, 1), (12, 3.5))]
    tank = {
        "surface_elevation": q(5, "m"),
        "suction_pressure_drop": q(4, "kPa"),
        "surface_gauge_pressure": q(10, "kPa"),
    }
    case = {"fluid": PLAIN | {"vapor_pressure": q(2, "kPa")}, "pumps": [known], "open_source": tank}
    case |= {"pump_elevation": q(2, "m"), "site_elevation": q(1200, "m")}
    answer = answer_of("hydronic.loop", case)
    assert {f["code"] for f in answer["findings"]} & {"npsh_not_known", "cavitation", "npsh_margin_small"} == set()
    results = answer["results"]
    (one,) = results["pumps"]
    assert (one["flow_each"]["value"], one["head"]["value"]) == pytest.approx((10 * r, 20 * r * r), rel=1e-9)
    assert {name: one[name] for name in ("npsh_available", "npsh_required")} == {
        name: results[name] for name in ("npsh_available", "npsh_required")
    }
    air = 101.325 * (1 - 2.25577e-5 * 1200) ** 5.25588  # ICAO standard atmosphere (from memory)
    assert results["npsh_available"]["value"] == pytest.approx((10 - 4 + air - 2) / 9.80665 + 3, rel=1e-6)
    assert results["npsh_required"]["value"] == pytest.approx(3.0 * max(1.0, r * r), rel=1e-9)
    assert results["duty_flow"]["value"] == pytest.approx(10 * r * count, rel=1e-9)


@pytest.mark.parametrize(("unit", "share"), [("L/s", 1.0), ("gpm", 1 / 6.30901964e-2), ("m3/h", 3.6)])
def test_a_flow_that_is_just_its_limit_keeps_it_in_any_unit(answer_of: Any, unit: str, share: float) -> None:
    """What is met in one unit is met in every other: the last bits of a conversion stop nobody."""
    for drop, flow in ((60.0, 15.0), (60.0 * 0.49, 10.5), (60.0 * 0.1225, 5.25)):
        limits: Json = {"flow_minimum": q(flow * share, unit), "flow_maximum": q(flow * share, unit), "proof": None}
        case = example("hydronic.exchanger_flow", pressure_drop=q(drop, "kPa"), **limits)
        codes = {f["code"] for f in answer_of("hydronic.exchanger_flow", case)["findings"]}
        assert not codes & {"flow_below_minimum", "flow_above_maximum"}


def test_two_segments_need_their_bores(answer_of: Any) -> None:
    """By continuity: the velocity of the second follows from both bores."""
    bare = [{"name": n, "length": q(20, "m"), "wave_speed": q(400, "m/s")} for n in ("a", "b")]
    given = example("hydronic.surge", segments=bare)
    assert refusals(answer_of, "hydronic.surge", given) == [f"#/segments/{i}/inner_diameter" for i in (0, 1)]
    assert refusals(answer_of, "hydronic.surge", given | {"segments": bare[:1]}) == []


def test_the_second_opinion_of_a_heat_balance_is_at_its_mean_temperature(answer_of: Any) -> None:
    fluid = {"kind": "propylene_glycol", "volume_fraction": 0.35}
    ends = {"entering_temperature": q(11, "degC"), "leaving_temperature": q(4, "degC")}
    results = answer_of("hydronic.heat_balance", {"fluid": fluid, "flow": q(10, "L/s")} | ends)["results"]
    wanted = PropsSI("V", "T", 280.65, "P", 3e5, "INCOMP::APG[0.35]") * 1e3
    assert results["second_opinion"]["dynamic_viscosity"]["value"] == pytest.approx(wanted, rel=1e-6)


def test_a_loop_of_the_right_strength_needs_no_correction(answer_of: Any) -> None:
    """The floor of 0.20 by mass decides, and that is in the loop: nothing is drained, in one batch or otherwise."""
    case = example(
        "hydronic.antifreeze", lowest_temperature=q(-4, "degC"), protection="burst", present={"mass_fraction": 0.2}
    )
    results = answer_of("hydronic.antifreeze", case)["results"]
    volumes = [results[f"drain_volume_{how}"]["value"] for how in ("batch", "bleed")]
    assert [str(volume) for volume in volumes] == ["0.0", "0.0"]
