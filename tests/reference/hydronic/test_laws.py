"""Laws that hold for whole answers of the hydronic family: heights count from anywhere, and margins are what is left.

Derived; the limits are common practice where it is said.
"""

import math
from typing import Any

import pytest
from edges import example
from hypothesis import given, settings
from hypothesis import strategies as st
from quantity import q

from coldwright.contract import Refused

pytestmark = pytest.mark.check
FILL, LOOP = "hydronic.fill", "hydronic.loop"
WATER = {"kind": "water", "temperature": q(10, "degC")}
HEIGHTS = (
    "fill_point_elevation",
    "machine_elevation",
    "relief_valve_elevation",
    "vessel_elevation",
    "high_point_elevation",
)


def told(answer: dict[str, Any]) -> list[tuple[str, str]]:
    return [(f["code"], f["severity"]) for f in answer["findings"]]


@settings(max_examples=8)
@given(
    st.tuples(st.floats(0, 20), st.floats(0, 20), st.floats(0, 20), st.floats(0, 20), st.floats(0, 25)),
    st.sampled_from([-60.0, -7.5, 33.0, 80.0]),
    st.sampled_from([250, 400]),
)
def test_heights_of_a_fill_count_from_anywhere(
    answer_of: Any, heights: tuple[float, ...], shift: float, pressure: float
) -> None:
    """Pressures hang on differences of height alone: another zero changes no number and no finding."""

    def asked(by: float) -> dict[str, Any]:
        raised = {name: q(h + by, "m") for name, h in zip(HEIGHTS, heights, strict=True)}
        return example(FILL, fill_pressure=q(pressure, "kPa")) | raised

    here, there = (answer_of(FILL, asked(by)) for by in (0.0, shift))
    assert told(here) == told(there)
    for name, value in here["results"].items():
        if isinstance(value, dict) and "value" in value:
            assert there["results"][name]["value"] == pytest.approx(value["value"], rel=1e-6, abs=1e-6), name


@settings(max_examples=8)
@given(st.floats(0, 15), st.floats(0, 15), st.sampled_from([-60.0, 12.0, 90.0]))
def test_heights_of_a_loop_count_from_anywhere(answer_of: Any, top: float, pump: float, shift: float) -> None:
    def asked(by: float) -> dict[str, Any]:
        case = example(LOOP)
        case["pump_elevation"] = q(pump + by, "m")
        for element, height in zip(case["elements"], (pump, top, top, pump), strict=True):
            element["elevation_out"] = q(height + by, "m")
        return case

    here, there = (answer_of(LOOP, asked(by)) for by in (0.0, shift))
    assert told(here) == told(there)
    for name in ("duty_flow", "pump_head", "npsh_available"):
        both = [answer["results"][name]["value"] for answer in (here, there)]
        assert both[0] == pytest.approx(both[1], rel=1e-6), name
    for name in ("lowest_pressure", "highest_pressure"):
        both = [answer["results"][name]["value"]["value"] for answer in (here, there)]
        assert both[0] == pytest.approx(both[1], rel=1e-6, abs=1e-6), name


@settings(max_examples=10)
@given(st.floats(30, 60), st.integers(1, 4), st.floats(1, 30))
def test_power_that_is_known_follows_the_cube_of_speed(answer_of: Any, hertz: float, count: int, power: float) -> None:
    """Affinity: each of n pumps takes the cube of its speed of the power at its point."""
    pump = {
        "point": {"flow": q(10, "L/s"), "head": q(20, "m"), "brake_power": q(power, "kW")},
        "frequency": q(hertz, "Hz"),
        "rated_frequency": q(50, "Hz"),
        "parallel_count": count,
    }
    results = answer_of(LOOP, {"fluid": WATER, "pumps": [pump]})["results"]
    assert results["brake_power"]["value"] == pytest.approx((hertz / 50) ** 3 * count * power)
    assert results["scaled_point"]["brake_power"]["value"] == pytest.approx((hertz / 50) ** 3 * count * power)


@pytest.mark.parametrize(
    ("needed", "margin"), [(1.5, 0.9), (1.5, 1.1), (3.0, 0.95), (3.0, 1.05), (6.0, 1.7), (6.0, 1.9)]
)
def test_room_above_the_suction_head_that_is_needed(answer_of: Any, needed: float, margin: float) -> None:
    """Common practice: 1.3 times what the pump needs, and 1 m above it; the greater of the two is wanted."""
    curve = [{"flow": q(f, "L/s"), "head": q(h, "m")} for f, h in ((0, 35), (15, 28), (25, 16))]
    pump = {
        "curve": curve,
        "npsh_required_curve": [{"flow": q(f, "L/s"), "npsh_required": q(needed, "m")} for f in (0, 25)],
    }
    first = answer_of(LOOP, example(LOOP, pumps=[pump]))["results"]["npsh_available"]["value"]
    kilopascals = 200 - (first - needed - margin) * 9.80665 * 0.9999
    case = example(LOOP, pumps=[pump], pressure_reference={"gauge_pressure": q(kilopascals, "kPa")})
    answer = answer_of(LOOP, case)
    assert answer["results"]["npsh_available"]["value"] == pytest.approx(needed + margin, abs=0.01)
    small = margin < max(0.3 * needed, 1.0)
    assert ("npsh_margin_small" in {f["code"] for f in answer["findings"]}) is small


def test_a_boiling_loop_is_refused_with_what_it_stands_at(answer_of: Any) -> None:
    """Water of 60 degC has 19.95 kPa absolute (IAPWS-IF97, seen): 81.38 kPa below the air of 101.325 kPa."""
    case = example(
        "hydronic.air_removal", 1, operating_temperature=q(60, "degC"), operating_gauge_pressure=q(-90, "kPa")
    )
    with pytest.raises(Refused) as refused:
        answer_of("hydronic.air_removal", case)
    (error,) = [e for e in refused.value.errors if "boils" in e.detail]
    assert "-81.38 kPa gauge" in error.detail


def test_a_rough_bore_is_refused_in_millimetres(answer_of: Any) -> None:
    line = {"name": "l", "type": "line", "line_kind": "steel", "inner_diameter": q(50, "mm"), "length": q(35, "m")}
    case = {"fluid": WATER, "elements": [line | {"roughness": q(3.2, "mm")}], "fixed_flow": q(2, "L/s")}
    with pytest.raises(Refused) as refused:
        answer_of(LOOP, case)
    (error,) = refused.value.errors
    assert "A roughness of 3.2 mm" in error.detail
    assert error.allowed
    assert [error.value, error.allowed.below] == pytest.approx([3.2, 0.05 * 50])


def test_friction_for_each_hundred_metres(answer_of: Any) -> None:
    """By hand: the drop of the answer over its length, for 100 m."""
    line = {"name": "l", "type": "line", "line_kind": "steel", "inner_diameter": q(60, "mm"), "length": q(35, "m")}
    case = {"fluid": WATER, "elements": [line | {"place": "inside"}], "fixed_flow": q(8, "L/s")}
    answer = answer_of(LOOP, case)
    drop = answer["results"]["elements"][0]["pressure_drop"]["value"]
    (said,) = [f["statement"] for f in answer["findings"] if f["code"] == "friction_high"]
    assert f"{drop / 35 * 100:.4g} kPa for each 100 m" in said
    limit = 0.392 * 100  # 4 ft in 100 ft inside buildings (seen): 39.2 kPa for each 100 m
    assert f"over the limit of {limit:.4g} kPa" in said
    assert math.floor(100 * (drop / 35 * 100 / limit - 1)) <= float(said.partition("% over")[0].rpartition(" ")[2]) + 1
