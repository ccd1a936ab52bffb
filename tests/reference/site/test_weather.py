"""`site.weather` held against published and independently computed figures."""

import pytest
from quantity import q

from coldwright_site.shared import wind

pytestmark = pytest.mark.check

MACHINE = {
    "mass": q(6000, "kg"),
    "base_width": q(2.2, "m"),
    "height": q(2.6, "m"),
    "length": q(9, "m"),
    "drag_coefficient": 1.3,
}


def test_wind_on_a_machine(answer_of):
    # q = 0.613 V^2 and equilibrium (derived).
    r = answer_of("site.weather", {"machine": MACHINE, "gust_speed": q(40, "m/s")})["results"]
    assert r["wind_pressure"]["value"] == pytest.approx(980.8)
    assert r["wind_force"]["value"] == pytest.approx(29.84, abs=0.005)
    assert r["overturning_ratio"] == pytest.approx(1.669, abs=5e-4)
    assert r["sliding_ratio"] == pytest.approx(0.789, abs=5e-4)
    assert r["critical_gust"] == {"value": pytest.approx(51.67 * 3.6, abs=0.02), "unit": "km/h"} or (
        r["critical_gust"]["unit"] == "m/s" and r["critical_gust"]["value"] == pytest.approx(51.67, abs=0.005)
    )


def test_velocity_pressure_of_asce_7():
    # ASCE 7: 0.00256 x 0.90 x 0.85 x 100^2 = 19.58 psf (seen, secondary pages).
    assert wind.pressure_psf(100, 0.90) == pytest.approx(19.58, abs=0.005)


@pytest.mark.parametrize(("feet", "kz"), [(15, 0.849), (30, 0.982), (0, 0.849)])
def test_exposure_c(feet, kz):
    # ASCE 7: Kz = 2.01 (z/900)^(2/9.5), z at least 15 ft (seen, secondary pages; table 0.85 and 0.98).
    assert wind.exposure_c(feet) == pytest.approx(kz, abs=5e-4)


def test_imperial_twin_in_the_working(answer_of):
    # The same, as the answer shows it: 9.14 m = 30 ft of machine and stand.
    machine = MACHINE | {"stand_height": q(30 - 2.6 / 0.3048, "ft")}
    answer = answer_of("site.weather", {"machine": machine, "gust_speed": q(100, "mph")})
    shown = {w["symbol"]: w["value"] for w in answer["working"]}
    assert shown["q_asce"] == pytest.approx(19.58 / 0.90 * 0.982, abs=0.02)


@pytest.mark.parametrize(
    ("temperature", "humidity", "index"),
    [
        (96, 65, 121.0),  # National Weather Service chart (seen in secondary texts): 121
        (90, 70, 105.9),
        (100, 40, 109.3),
        (84, 90, 98.3),  # damp air
        (75, 50, 74.8),  # simple form
    ],
)
def test_heat_index(answer_of, temperature, humidity, index):
    # National Weather Service, Rothfusz SR 90-23 with adjustments (equation seen on weather.gov; figures derived).
    given = {"air_temperature": q(temperature, "degF"), "relative_humidity": humidity / 100}
    r = answer_of("site.weather", given, units="us")["results"]
    assert r["heat_index"]["unit"] == "degF"
    assert r["heat_index"]["value"] == pytest.approx(index, abs=0.05)


@pytest.mark.parametrize(("temperature", "humidity"), [(84, 10), (95, 6), (106, 12), (110, 9)])
def test_heat_index_of_dry_air(answer_of, temperature, humidity):
    # National Weather Service (equation seen on weather.gov): below 13 % and from 80 to 112 degF
    # (13 - RH)/4 sqrt((17 - |T - 95|)/17) is taken off the regression SR 90-23.
    t, rh = temperature, humidity
    regression = (
        -42.379 + 2.04901523 * t + 10.14333127 * rh - 0.22475541 * t * rh - 6.83783e-3 * t * t - 5.481717e-2 * rh * rh
        + 1.22874e-3 * t * t * rh + 8.5282e-4 * t * rh * rh - 1.99e-6 * t * t * rh * rh
    )  # fmt: skip
    expected = regression - (13 - rh) / 4 * ((17 - abs(t - 95)) / 17) ** 0.5
    given = {"air_temperature": q(t, "degF"), "relative_humidity": rh / 100}
    r = answer_of("site.weather", given, units="us")["results"]
    assert r["heat_index"]["value"] == pytest.approx(expected, abs=0.01)


def test_wind_chill(answer_of):
    # National Weather Service (seen on weather.gov): 0 degF and 15 mph feel like -19.
    given = {"air_temperature": q(0, "degF"), "wind_speed": q(15, "mph")}
    r = answer_of("site.weather", given, units="us")["results"]
    assert r["wind_chill"]["value"] == pytest.approx(-19.4, abs=0.05)


def test_lightning(answer_of):
    # OSHA and NOAA fact sheet (seen in reports of it): back 30 minutes after the last thunder.
    given = {"last_thunder_at": "2026-07-14T14:10:00Z", "evaluated_at": "2026-07-14T14:39:59Z"}
    r = answer_of("site.weather", given)["results"]
    assert r["resume_at"] == "2026-07-14T14:40:00Z"
    assert r["lift_allowed"] is False


@pytest.mark.parametrize(
    ("index", "band"),
    [(90.9, "normal"), (91, "guarded"), (103, "guarded"), (103.1, "severe"), (115, "severe"), (115.1, "extreme")],
)
def test_bands(index, band):
    # OSHA, using the heat index (seen): 91, 103, 115 degF.
    from coldwright_site.weather.comfort import band as band_of

    assert band_of(index) == band


# Seen: National Weather Service, wind chill chart of the office at La Crosse, in whole degF; greatest deviation 0.5 degF.
CHART = {
    5: {35: 31, 20: 13, 5: -5, -10: -22, -25: -40, -45: -63},
    20: {35: 24, 20: 4, 5: -15, -10: -35, -25: -55, -45: -81},
    30: {35: 22, 20: 1, 5: -19, -10: -39, -25: -60, -45: -87},
    45: {35: 19, 20: -2, 5: -23, -10: -44, -25: -65, -45: -93},
}


@pytest.mark.parametrize("mph", CHART)
def test_wind_chill_chart(answer_of, mph):
    for fahrenheit, chill in CHART[mph].items():
        given = {"air_temperature": q(fahrenheit, "degF"), "wind_speed": q(mph, "mph")}
        r = answer_of("site.weather", given, units="us")["results"]
        assert r["wind_chill"]["value"] == pytest.approx(chill, abs=0.55), fahrenheit


@pytest.mark.parametrize(
    ("fahrenheit", "defined"),
    [(39.9, False), (40.1, True), (43.0, True), (119.9, True), (120.1, False), (123.0, False)],
)
def test_where_the_heat_index_is_defined(answer_of, fahrenheit, defined):
    # Common practice, as the family's words have it: from 40 to 120 degF.
    answer = answer_of("site.weather", {"air_temperature": q(fahrenheit, "degF"), "relative_humidity": 0.3})
    assert ("heat_index" in answer["results"]) == defined
    assert ("heat_index_not_defined" in {f["code"] for f in answer["findings"]}) != defined
