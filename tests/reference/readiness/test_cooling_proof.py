"""Published checks of `readiness.cooling_proof`.

Library: CoolProp 8.0.0 for density and specific heat; derived: the heat balance of a well-mixed loop. The rule
Q [Btu/h] = 500 x gpm x dT [degF] was seen on many pages of the trade.
"""

from typing import Any

import numpy as np
import pytest
from CoolProp import CoolProp
from quantity import q

pytestmark = [pytest.mark.check, pytest.mark.filterwarnings("ignore::DeprecationWarning:CoolProp")]


def reading(**changed: Any) -> dict[str, Any]:
    given = {
        "fluid": {"kind": "water"},
        "flow": q(8, "L/s"),
        "entering_temperature": q(30, "degC"),
        "leaving_temperature": q(25, "degC"),
        "set_point": q(7, "degC"),
        "compressors": [{"id": "1", "capacity": q(200, "kW"), "started_at": "2026-05-04T09:00:00Z"}],
        "evaluated_at": "2026-05-04T09:20:00Z",
    }
    return {**given, **changed}


LOOP = {"loop_volume": q(5, "m3")}


def test_hundred_gpm_ten_degrees(answer_of):
    given = reading(
        flow=q(100, "gpm"),
        entering_temperature=q(54, "degF"),
        leaving_temperature=q(44, "degF"),
        set_point=q(44, "degF"),
    )
    metric = answer_of("readiness.cooling_proof", given)["results"]["measured_capacity"]
    assert metric["unit"] == "kW"
    assert metric["value"] == pytest.approx(146.98, rel=0.001)
    us = answer_of("readiness.cooling_proof", given, units="us")["results"]["measured_capacity"]
    assert us["unit"] == "ton"
    assert us["value"] == pytest.approx(41.79, rel=0.001)
    assert us["value"] == pytest.approx(500 * 100 * 10 / 12000, rel=0.005)


def test_twelve_litres(answer_of):
    given = reading(flow=q(12, "L/s"), entering_temperature=q(12, "degC"), leaving_temperature=q(7.2, "degC"))
    assert answer_of("readiness.cooling_proof", given)["results"]["measured_capacity"]["value"] == pytest.approx(
        241.5, rel=0.002
    )


def test_constant_load(answer_of):
    answer = answer_of("readiness.cooling_proof", reading(**LOOP, load=q(50, "kW")))
    results = answer["results"]
    stored = next(w for w in answer["working"] if w["symbol"] == "C")
    assert stored["value"] == pytest.approx(20.913, rel=0.005)
    assert results["time_to_set_point"]["value"] == pytest.approx(2510, rel=0.005)
    assert results["expected_fall_rate"]["unit"] == "delta_degC/min"
    assert results["expected_fall_rate"]["value"] == pytest.approx(0.430, rel=0.005)


def test_load_that_depends_on_temperature(answer_of):
    model = {"ua": 4000, "driving_temperature": q(30, "degC")}
    answer = answer_of("readiness.cooling_proof", reading(**LOOP, load_model=model))
    settles = next(w for w in answer["working"] if w["symbol"] == "T_inf")
    assert settles["value"] == pytest.approx(-20, abs=1e-6)
    assert answer["results"]["time_to_set_point"]["value"] == pytest.approx(2671, rel=0.005)


def test_propylene_glycol(answer_of):
    given = reading(
        fluid={"kind": "propylene_glycol", "mass_fraction": 0.3},
        entering_temperature=q(8, "degC"),
        leaving_temperature=q(3, "degC"),
        set_point=q(0, "degC"),
    )
    assert answer_of("readiness.cooling_proof", given)["results"]["measured_capacity"]["value"] == pytest.approx(
        157.1, rel=0.005
    )


def test_load_as_large_as_the_cooling(answer_of):
    answer = answer_of("readiness.cooling_proof", reading(**LOOP, load=q(200, "kW")))
    assert "time_to_set_point" not in answer["results"]
    assert ("load_not_covered", "check") in [(f["code"], f["severity"]) for f in answer["findings"]]


@pytest.mark.parametrize("entering", [4.0, 12.0, 25.0])
@pytest.mark.parametrize("kind", ["Water", "INCOMP::MPG[0.4]", "INCOMP::MEG[0.25]"])
def test_capacity_against_the_library(answer_of, entering, kind):
    """CoolProp's own front door, with its reference equation for water."""
    fluid: dict[str, Any] = {"kind": "water"}
    if kind != "Water":
        glycol = "propylene_glycol" if "MPG" in kind else "ethylene_glycol"
        fluid = {"kind": glycol, "mass_fraction": float(kind[-5:-1].strip("["))}
    given = reading(fluid=fluid, entering_temperature=q(entering, "degC"), leaving_temperature=q(entering - 3, "degC"))
    density = CoolProp.PropsSI("D", "T", entering + 273.15, "P", 400e3, kind)
    heat = CoolProp.PropsSI("C", "T", entering - 1.5 + 273.15, "P", 400e3, kind)
    measured = answer_of("readiness.cooling_proof", given)["results"]["measured_capacity"]["value"]
    assert measured == pytest.approx(density * heat * 0.008 * 3 / 1000, rel=5e-4)


def test_trend_against_numpy(answer_of):
    minutes = [0, 1, 2.5, 4, 7, 9.5]
    leaving = [15.0, 14.7, 14.1, 13.9, 12.2, 11.8]
    samples = [
        {
            "at": f"2026-05-04T09:{10 + int(m):02d}:{30 if m % 1 else 0:02d}Z",
            "entering": q(t + 5, "degC"),
            "leaving": q(t, "degC"),
        }
        for m, t in zip(minutes, leaving, strict=True)
    ]
    results = answer_of("readiness.cooling_proof", reading(samples=samples))["results"]
    assert results["measured_fall_rate"]["value"] == pytest.approx(-np.polyfit(minutes, leaving, 1)[0], rel=1e-9)


@pytest.mark.parametrize(("gpm", "warm", "cold", "tons"), [(10, 67, 55, 5.0), (40, 70, 58, 19.992), (4, 85, 75, 1.666)])
def test_readings_against_trade_pages(answer_of, gpm, warm, cold, tons):
    """Seen: three pages on sizing chillers: 5 tons, 19.992 tons and 1.666 tons. Ours within 0.5 %: they take 8.33 lb/gal."""
    given = reading(
        flow=q(gpm, "gpm"),
        entering_temperature=q(warm, "degF"),
        leaving_temperature=q(cold, "degF"),
        set_point=q(cold, "degF"),
    )
    found = answer_of("readiness.cooling_proof", given, units="us")["results"]["measured_capacity"]
    assert found["value"] == pytest.approx(tons, rel=0.005)
