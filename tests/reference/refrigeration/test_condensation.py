"""Published checks of `refrigeration.condensation`."""

import math

import pytest
from quantity import q

pytestmark = pytest.mark.check


def hose(liquid=7.0, outside=174.0, inside=152.0, **more):
    return {
        "kind": "hose",
        "name": "hose",
        "liquid_temperature": q(liquid, "degC"),
        "length": q(10, "m"),
        "outside_diameter": q(outside, "mm"),
        "inside_diameter": q(inside, "mm"),
    } | more


def ask(answer_of, *surfaces, air=30.0, humidity=0.6, **more):
    given = {"air_temperature": q(air, "degC"), "relative_humidity_fraction": humidity, "surfaces": list(surfaces)}
    return answer_of("refrigeration.condensation", given | more)


@pytest.mark.parametrize(
    ("air", "humidity", "dew"),
    # Seen: a trade article on condensation, 68 degF: at 70 % the dew point is 58 degF, at 30 % it is 35 degF (whole
    # degrees). Ours: 57.8 and 35.3 degF.
    [(20.0, 0.7, (58 - 32) / 1.8), (20.0, 0.3, (35 - 32) / 1.8)],
)
def test_dew_points(answer_of, air, humidity, dew):
    results = ask(answer_of, hose(), air=air, humidity=humidity)["results"]
    assert results["dew_point_temperature"]["value"] == pytest.approx(dew, abs=0.5 / 1.8)


@pytest.mark.parametrize(("humidity", "liquid"), [(0.6, 7.0), (0.8, 2.0), (0.9, -5.0)])
def test_dew_point_against_humid_air_of_coolprop(answer_of, humidity, liquid):
    """Library: CoolProp 8.0, HAPropsSI (real moist air) against PsychroLib (ideal): 0.03 K."""
    from CoolProp.HumidAirProp import HAPropsSI

    results = ask(answer_of, hose(liquid), humidity=humidity)["results"]
    expected = HAPropsSI("D", "T", 303.15, "P", 101325, "R", humidity) - 273.15
    assert results["dew_point_temperature"]["value"] == pytest.approx(expected, abs=0.03)


def test_insulation_of_a_vessel_by_the_wall_and_the_film(answer_of):
    """Derived, with f = 10 W/m2.K and k = 0.040 W/m.K (TIASA Thermal Insulation Handbook, 2001, seen in a stored copy):
    flat wall, x = k / f (t_s - t) / (t_a - t_s), t_s the dew point and 0.75 degF.
    """
    vessel = {"kind": "vessel", "name": "buffer", "liquid_temperature": q(6, "degC"), "area": q(8, "m2")}
    results = ask(answer_of, vessel)["results"]
    surface = results["dew_point_temperature"]["value"] + 0.75 / 1.8
    expected = 0.040 / 10 * (surface - 6) / (30 - surface)
    (found,) = results["surfaces"]
    assert found["surface_temperature"]["value"] == pytest.approx(6)
    assert found["insulation_thickness"]["value"] == pytest.approx(expected * 1000, rel=1e-4)


def test_insulation_of_a_hose_by_resistances_in_series(answer_of):
    """Derived: the heat that passes the wall passes the insulation and the film, each by its own drop."""
    (found,) = ask(answer_of, hose(2.0), humidity=0.85)["results"]["surfaces"]
    dew = ask(answer_of, hose(2.0), humidity=0.85)["results"]["dew_point_temperature"]["value"]
    thick = found["insulation_thickness"]["value"] / 1000
    outer = 0.174 + 2 * thick
    heat = 10 * math.pi * outer * (30 - dew - 0.75 / 1.8)
    behind = heat * (math.log(174 / 152) / 0.16 + math.log(outer / 0.174) / 0.04) / (2 * math.pi)
    assert 30 - heat / (10 * math.pi * outer) - behind == pytest.approx(2.0, abs=1e-3)


def test_the_drip_is_what_the_air_loses(answer_of):
    """Derived by saturation pressures of IAPWS-95 (library, CoolProp): W = 0.62198 p / (P - p), h A dW / cp; PsychroLib
    within 1 %.
    """
    from CoolProp.CoolProp import PropsSI

    results = ask(answer_of, hose(4.0), humidity=0.8)["results"]
    (found,) = results["surfaces"]

    def water(celsius):
        p = PropsSI("P", "T", celsius + 273.15, "Q", 0, "Water")
        return 0.62198 * p / (101325 - p)

    lost = water(results["dew_point_temperature"]["value"]) - water(found["surface_temperature"]["value"])
    expected = 10 * math.pi * 0.174 * 10 * lost / 1006 * 3600
    assert found["drip_rate"]["value"] == pytest.approx(expected, rel=0.01)
    assert results["drip_rate"] == found["drip_rate"]
