"""Results of the refrigeration family, worked out anew from the published rule by other means, over the whole range."""

import re
from typing import Any

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI
from edges import example
from hypothesis import given
from hypothesis import strategies as st
from quantity import q

from coldwright.contract import Refused
from coldwright_refrigeration.selection import search
from coldwright_refrigeration.shared.saturation import saturation_of

pytestmark = pytest.mark.check


@pytest.mark.parametrize("refrigerant", ["R-134a", "R-410A", "R-454B", "R-32"])
def test_saturation_turns_round(refrigerant: str) -> None:
    """A pressure's temperature leads back to it, to the last digits that iterating can keep."""
    lines = saturation_of(refrigerant)
    for line in (lines.bubble, lines.dew):
        for temperature in np.linspace(line.lowest_temperature + 1, line.highest_temperature - 1, 200):
            assert line.temperature(line.pressure(temperature)) == pytest.approx(temperature, abs=1e-9)


@given(st.floats(2, 10), st.floats(3, 12), st.floats(150, 800))
def test_flow_of_a_selection(answer_of: Any, leaving: float, difference: float, load: float) -> None:
    """Heat balance at the mean temperature, water by CoolProp."""
    case = example("refrigeration.selection")
    case["design"] = case["design"] | {
        "load": q(load, "kW"),
        "leaving_liquid_temperature": q(leaving, "degC"),
        "temperature_difference": q(difference, "delta_degC"),
    }
    case["design"].pop("flow", None)
    case.pop("minimum_load")
    answer = answer_of("refrigeration.selection", case)
    mean = 273.15 + leaving + difference / 2
    heat = PropsSI("D", "T", mean, "P", 2e5, "Water") * PropsSI("C", "T", mean, "P", 2e5, "Water")
    shown = [line["value"] for line in answer["working"] if line["symbol"] == "F"]
    assert shown == [pytest.approx(load * 1e6 / heat / difference, rel=3e-4)]


@given(st.floats(0.2, 1), st.floats(1, 12), st.lists(st.floats(5, 25), min_size=4, max_size=4), st.booleans())
def test_part_load(answer_of: Any, load: float, fahrenheit: float, values: list[float], per_ton: bool) -> None:
    """AHRI 550/590-2023 (seen as quoted): tolerance 0.105 - 0.07 L + 0.15/(dT L); weights 1, 42, 45 and 12 %."""
    case = example("refrigeration.performance", 1, load_fraction=load)
    case["part_load"] = {
        "rule": "iplv",
        "metric": "kw_per_ton" if per_ton else "eer",
        **dict(zip("abcd", values, strict=True)),
    }
    case["readings"] = case["readings"] | {"leaving_temperature": q(11 - fahrenheit / 1.8, "degC")}
    answer = answer_of("refrigeration.performance", case)
    shown = {line["symbol"]: line["value"] for line in answer["working"]}
    assert shown["Tol1"] == pytest.approx(0.105 - 0.07 * load + 0.15 / fahrenheit / load)
    weights = np.array([1, 42, 45, 12]) / 100
    weighted = 1 / float(weights @ (1 / np.array(values))) if per_ton else float(weights @ np.array(values))
    assert shown["IPLV"] == pytest.approx(weighted)


@pytest.mark.parametrize(
    ("tonnes", "hermetic", "months"),
    [
        (4.95, False, None), (5.05, False, 12), (49.5, False, 12), (50.5, False, 6), (495, False, 6), (505, False, 3),
        (9.9, True, None), (10.1, True, 12), (50.5, True, 6),
    ],
)  # fmt: skip
def test_leak_checks_by_tonnes(answer_of: Any, tonnes: float, hermetic: bool, months: int | None) -> None:
    """Regulation (EU) 2024/573, article 5 (seen as quoted): 5, 50, 500 t of carbon dioxide; sealed ones from 10 t on."""
    case = example(
        "refrigeration.refrigerant_safety",
        refrigerant="R-410A",
        circuits=[{"charge": q(tonnes / 2.088, "kg")}],  # 2088 by the fourth report
        space_volume=q(5000, "m3"),
        jurisdiction="eu",
        hermetic=hermetic,
        leak_detection=False,
    )
    results = answer_of("refrigeration.refrigerant_safety", case)["results"]
    assert results.get("leak_check_interval") == months
    assert ("leak_detection" in {duty["code"] for duty in results["duties"]}) == (tonnes >= 500)


SLACKS = (1.0, 1 / 3, 0.1, 0.7, 1.1)


LIMITS = ("power_available", "footprint_available", "mass_max", "flow_maximum", "flow_minimum", "load")
WAYS: dict[str, dict[str, Any]] = {
    "written_out": {},
    "swept": {"MOST_WRITTEN_OUT": 0},
    "programs": {"MOST_WRITTEN_OUT": 0, "MOST_KINDS": 0},
    "stages": {"MOST_WRITTEN_OUT": 0, "MOST_KINDS": 0, "LIST": 0},
}
"""How combinations are found: all written out, one type after the other, by linear programs, by integer programs in stages."""


@pytest.mark.parametrize(
    ("way", "unit"), [(way, unit) for way in WAYS for unit in (SLACKS if way == "written_out" else (1 / 3, 0.1))]
)
@pytest.mark.parametrize("limit", LIMITS)
def test_a_selection_that_just_keeps_a_limit(
    answer_of: Any, monkeypatch: pytest.MonkeyPatch, limit: str, unit: float, way: str
) -> None:
    """Three alike that add up to a limit keep it, though 3 x 0.1 is not 0.3 to the last bit; a thousandth less does not."""
    for name, limit_of_way in WAYS[way].items():
        monkeypatch.setattr(search, name, limit_of_way)
    for share, kept in ((1.0, True), (0.999, False)):
        row = {
            "type": "a",
            "count_available": 3,
            "capacity": q(100 * unit, "kW"),
            "power": q(31 * unit, "kW"),
            "footprint": q(7 * unit, "m2"),
            "mass": q(unit, "t"),
            "flow_minimum": q(2 * unit, "L/s"),
            "flow_maximum": q(4 * unit, "L/s"),
            "hire_cost": {"value": 100, "currency": "EUR"},
        }
        design: dict[str, Any] = {"load": q(100 * unit * 2.5, "kW")}
        limits: dict[str, Any] = {}
        if limit == "load":
            design["load"] = q(unit * 300 / share, "kW")
        elif limit == "flow_maximum":
            design["flow"] = q(unit * 12 / share, "L/s")
        elif limit == "flow_minimum":
            design["flow"] = q(unit * 6 * share, "L/s")
        else:
            size, of = {"power_available": (93, "kW"), "footprint_available": (21, "m2"), "mass_max": (3, "t")}[limit]
            limits[limit] = q(unit * size * share, of)
        case = {"design": design, "redundancy": {"rule": "none"}, "fleet": [row], "limits": limits}
        results = answer_of("refrigeration.selection", case)["results"]
        assert (results["status"] == "optimal") is kept, (limit, share)


@given(st.floats(20, 60), st.floats(5, 50))
def test_a_loop_that_is_never_cold_settles(answer_of: Any, load: float, gain: float) -> None:
    """First order: what is left of the way to where it settles falls by e each time constant; the curve goes on until less
    than a thousandth is left. What is missing is what comes in at the set point less what is taken out there.
    """
    case = {
        "loop": {"volume": q(5000, "L"), "metal_mass": q(800, "kg")},
        "initial_temperature": q(25, "degC"),
        "set_point": q(10, "degC"),
        "machine": {"capacity": q(200, "kW")},
        "load": q(load, "kW"),
        "heat_gain": {"coefficient": q(gain, "kW/K"), "ambient_temperature": q(50, "degC")},
    }
    answer = answer_of("refrigeration.pull_down", case)
    results = answer["results"]
    settled = 50 - (200 - load) / gain
    coming = load + gain * 40
    if coming <= 200 or settled > 90:
        return
    first, *_, last = (point["temperature"]["value"] for point in results["curve"])
    assert results["final_temperature"]["value"] == pytest.approx(settled)
    assert results["missing_capacity"]["value"] == pytest.approx(coming - 200)
    assert 1e-5 < abs((last - settled) / (first - settled)) < 1e-3
    (said,) = [f["statement"] for f in answer["findings"] if f["code"] == "set_point_not_reached"]
    shown = [float(number) for number in re.findall(r"([\d.]+) kW", said)]
    assert shown == pytest.approx([200, coming, coming - 200], rel=1e-4)


@given(st.floats(500, 1500), st.floats(50, 400))
def test_gauges_that_are_swapped(answer_of: Any, suction: float, less: float) -> None:
    """A running compressor raises the pressure: the least discharge that is taken is the suction, as its gauge shows it."""
    case = example("refrigeration.circuit_check")
    for name in ("suction_pressure", "discharge_pressure", "suction_pressure_absolute", "discharge_pressure_absolute"):
        case.pop(name, None)
    case |= {"suction_pressure": q(suction, "kPa"), "discharge_pressure": q(suction - less, "kPa")}
    with pytest.raises(Refused) as refused:
        answer_of("refrigeration.circuit_check", case)
    (error,) = [error for error in refused.value.errors if error.pointer == "#/discharge_pressure"]
    assert error.allowed.above == pytest.approx(suction)  # type: ignore[union-attr]


@pytest.mark.parametrize(("share", "taken"), [(1.01, True), (0.99, False)])
def test_air_that_warms_by_sixty_kelvin(answer_of: Any, share: float, taken: bool) -> None:
    """Common practice: no air-cooled condenser warms its air by more than 60 K."""
    case = example("refrigeration.air_side", gap=None, recirculated_fraction=0, capacity=None, power=None)
    heat = 447e3
    case |= {"heat_rejected": q(heat, "W"), "airflow": q(20, "m3/s")}
    density = answer_of("refrigeration.air_side", case)["results"]["air_density"]["value"]
    case["airflow"] = q(share * heat / (density * 1006 * 60), "m3/s")
    if taken:
        assert answer_of("refrigeration.air_side", case)["results"]["air_temperature_rise"]["value"] < 60
        return
    with pytest.raises(Refused) as refused:
        answer_of("refrigeration.air_side", case)
    assert [error.pointer for error in refused.value.errors] == ["#/airflow"]


@given(st.floats(0, 0.03), st.floats(4, 18), st.integers(1, 6))
def test_volumes_of_a_machine_that_gives_more_where_it_is_warmer(
    answer_of: Any, slope: float, reference: float, stages: int
) -> None:
    """By the allowed starts and by the least run: V = 900 Q1 / (N rho c D) and Q1 Z / (rho c D), Q1 by the slope at 10 degC."""
    case = {
        "loop": {"volume": q(900, "L")},
        "initial_temperature": q(20, "degC"),
        "set_point": q(10, "degC"),
        "machine": {
            "capacity": q(200, "kW"),
            "stages": stages,
            "capacity_slope": slope,
            "reference_temperature": q(reference, "degC"),
        },
        "control": {
            "allowed_starts_per_hour": 5,
            "dead_band": q(2, "delta_degC"),
            "minimum_run_time": q(4, "min"),
        },
    }
    answer = answer_of("refrigeration.pull_down", case)
    shown = {line["symbol"]: line for line in answer["working"]}
    one = 200 / stages * (1 + slope * (10 - reference))
    state = ("T", 283.15, "P", 3e5, "Water")
    heat = PropsSI("D", *state) * PropsSI("C", *state)
    assert shown["V_min"]["value"] == pytest.approx(900 * one * 1e6 / (5 * heat * 2), rel=2e-3)
    assert shown["V_run"]["value"] == pytest.approx(one * 240 * 1e6 / (heat * 2), rel=2e-3)
    said = float(re.findall(r"([\d.]+) MJ/m3.K", shown["V_min"]["expression"])[0])
    assert said * 1e6 == pytest.approx(heat, rel=2e-3)


@given(st.floats(1500, 3000), st.floats(1.12, 1.2))
def test_a_pressure_of_another_place(answer_of: Any, metres: float, share: float) -> None:
    """US Standard Atmosphere 1976, by its exponent: 101.325 (1 - 2.25577e-5 h)^5.25588 kPa."""
    standard = 101.325 * (1 - 2.25577e-5 * metres) ** 5.25588
    case = example("refrigeration.air_side", altitude=q(metres, "m"), barometric_pressure=q(standard * share, "kPa"))
    with pytest.raises(Refused) as refused:
        answer_of("refrigeration.air_side", case)
    (error,) = [error for error in refused.value.errors if error.pointer == "#/barometric_pressure"]
    said = float(error.detail.split("standard pressure ")[1].split(" ")[0])
    assert said == pytest.approx(standard, rel=5e-4)
