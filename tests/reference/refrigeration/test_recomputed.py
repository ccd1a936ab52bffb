"""Results of the refrigeration family, worked out anew from the published rule by other means, over the whole range."""

import math
from typing import Any

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI
from edges import example
from hypothesis import given
from hypothesis import strategies as st
from quantity import q

from coldwright_refrigeration.load.loop import churchill_bernstein
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


def film(speed: float, across: float, celsius: float) -> float:
    """W/m2.K of a cylinder across the wind: Churchill and Bernstein (seen as reproduced), air by CoolProp."""
    state = ("T", celsius + 273.15, "P", 101325.0, "Air")
    conductivity, viscosity, prandtl = (PropsSI(name, *state) for name in ("L", "V", "PRANDTL"))
    reynolds = PropsSI("D", *state) * speed * across / viscosity
    low = 0.62 * math.sqrt(reynolds) * math.cbrt(prandtl) / (1 + (0.4 / prandtl) ** (2 / 3)) ** (1 / 4)
    return float((0.3 + low * (1 + (reynolds / 282000) ** (5 / 8)) ** (4 / 5)) * conductivity / across)


@given(st.floats(0.5, 12), st.floats(0.06, 0.25), st.floats(20, 40))
def test_wind_over_a_hose(answer_of: Any, speed: float, across: float, air: float) -> None:
    """The film without sun and radiation: the working's is that and the radiation, 4 sigma e T^3 at the mean of both."""
    hose = {
        "kind": "hose",
        "name": "h",
        "length": q(50, "m"),
        "outside_diameter": q(across * 1e3, "mm"),
        "inside_diameter": q(across * 1e3 - 10, "mm"),
        "liquid_temperature": q(7, "degC"),
        "air_temperature": q(air, "degC"),
        "solar_irradiance": q(0, "W/m2"),
        "wind_speed": q(speed, "m/s"),
    }
    answer = answer_of("refrigeration.load", example("refrigeration.load", loads=[hose]))
    line = next(line for line in answer["working"] if line["symbol"] == "q")
    total = float(line["expression"].split("film ")[1].split(" ")[0])
    convection = film(speed, across, air)
    assert churchill_bernstein(6071, 0.70) == pytest.approx(
        40.6, rel=0.002
    )  # Incropera, a cylinder in air (from memory)
    assert convection < total < convection + 4 * 5.67e-8 * (273.15 + air) ** 3 + 0.03 * convection
