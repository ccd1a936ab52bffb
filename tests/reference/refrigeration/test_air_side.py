"""Published checks of `refrigeration.air_side`, by hand and against PsychroLib."""

from typing import Any

import psychrolib
import pytest

pytestmark = pytest.mark.check
AIR = "refrigeration.air_side"
BASE: dict[str, Any] = {
    "capacity": {"value": 352, "unit": "kW"},
    "power": {"value": 95, "unit": "kW"},
    "airflow": {"value": 45, "unit": "m3/s"},
    "ambient_temperature": {"value": 35, "unit": "degC"},
    "altitude": {"value": 0, "unit": "m"},
}
MILE = {"altitude": {"value": 1609.344, "unit": "m"}}


def test_rise_at_sea_level(answer_of: Any) -> None:
    """HAND: 447 kW, 45 m3/s, dry air at 35 degC: 1.1455 kg/m3, 8.62 K, 15.5 delta_degF."""
    results = answer_of(AIR, BASE)["results"]
    assert results["air_density"]["value"] == pytest.approx(1.1455, rel=0.002)
    assert results["air_temperature_rise"]["value"] == pytest.approx(8.62, rel=0.002)
    us = answer_of(AIR, BASE, units="us")["results"]["air_temperature_rise"]
    assert us == {"value": pytest.approx(15.5, rel=0.002), "unit": "delta_degF"}


def test_recirculation(answer_of: Any) -> None:
    """HAND: f/(1 - f) x 8.62 K = 2.155 K at f = 0.2."""
    results = answer_of(AIR, BASE | {"recirculated_fraction": 0.2})["results"]
    assert results["recirculation_temperature_rise"]["value"] == pytest.approx(2.155, rel=0.002)
    assert results["inlet_temperature"]["value"] == pytest.approx(37.155, abs=0.01)


def test_thin_air(answer_of: Any) -> None:
    """HAND: at 1609.344 m 0.9432 kg/m3 and 10.47 K."""
    results = answer_of(AIR, BASE | MILE)["results"]
    assert results["air_density"]["value"] == pytest.approx(0.9432, rel=0.002)
    assert results["air_temperature_rise"]["value"] == pytest.approx(10.47, rel=0.002)


def test_airflow_from_the_rise(answer_of: Any) -> None:
    """HAND: 10 K take 38.8 m3/s."""
    given = {k: v for k, v in BASE.items() if k != "airflow"}
    for more in ({}, {"air_temperature_rise": {"value": 10, "unit": "delta_degC"}}):
        results = answer_of(AIR, given | more)["results"]
        assert results["airflow"]["value"] == pytest.approx(38.8, rel=0.002)


@pytest.mark.parametrize(
    ("celsius", "humidity", "altitude", "expected"), [(35, 0.4, 0, 1.1359), (40, 0.3, 500, 1.0527)]
)
def test_moist_air(answer_of: Any, celsius: float, humidity: float, altitude: float, expected: float) -> None:
    """PsychroLib 2.5.0 (library)."""
    given = BASE | {
        "ambient_temperature": {"value": celsius, "unit": "degC"},
        "relative_humidity": humidity,
        "altitude": {"value": altitude, "unit": "m"},
    }
    assert answer_of(AIR, given)["results"]["air_density"]["value"] == pytest.approx(expected, rel=2e-4)


@pytest.mark.parametrize("celsius", [-20, 0, 15, 35, 50])
@pytest.mark.parametrize("humidity", [0, 1e-9, 0.3, 1])
@pytest.mark.parametrize("altitude", [-50, 0, 1500, 3500])
def test_moist_air_against_psychrolib(answer_of: Any, celsius: float, humidity: float, altitude: float) -> None:
    """PsychroLib 2.5.0 asked directly (library); dry air differs from it by the rounding of the gas constant."""
    psychrolib.SetUnitSystem(psychrolib.SI)
    pressure = psychrolib.GetStandardAtmPressure(altitude)
    ratio = psychrolib.GetHumRatioFromRelHum(celsius, humidity, pressure)
    expected = psychrolib.GetMoistAirDensity(celsius, ratio, pressure)
    given = BASE | {
        "ambient_temperature": {"value": celsius, "unit": "degC"},
        "relative_humidity": humidity,
        "altitude": {"value": altitude, "unit": "m"},
    }
    assert answer_of(AIR, given)["results"]["air_density"]["value"] == pytest.approx(expected, rel=1e-6)


def test_narrow_gap(answer_of: Any) -> None:
    """HAND: 22.5 m3/s through 3.6 m x 0.9 m of 1.1455 kg/m3: 6.94 m/s, 41.4 Pa, above 0.3 of 60 Pa."""
    gap = {
        "airflow_through": {"value": 22.5, "unit": "m3/s"},
        "length": {"value": 3.6, "unit": "m"},
        "distance": {"value": 0.9, "unit": "m"},
    }
    answer = answer_of(AIR, BASE | {"gap": gap})
    results = answer["results"]
    assert results["gap_velocity"]["value"] == pytest.approx(6.94, rel=0.002)
    assert results["gap_pressure_drop"]["value"] == pytest.approx(41.4, rel=0.002)
    assert results["airflow_ratio"] == pytest.approx(1 - 0.5 * 41.4 / 60, rel=0.002)
    assert "gap_pressure_high" in {f["code"] for f in answer["findings"]}


def test_shift_of_thin_air_as_in_capacity(answer_of: Any) -> None:
    """HAND, the published check of the capacity calculator: at 1609.344 m s 0.8234, x 0.8562, 4.20 delta_degF."""
    answer = answer_of(AIR, BASE | MILE, units="us")
    working = {w["symbol"]: w["value"] for w in answer["working"]}
    assert working["s"] == pytest.approx(0.8234, rel=0.002)
    assert working["x"] == pytest.approx(0.8562, rel=0.002)
    assert answer["results"]["condenser_air_temperature_rise"]["value"] == pytest.approx(4.20, rel=0.002)
    assert answer["results"]["capacity_effect"] == pytest.approx(-0.007 * 4.20, rel=0.002)
