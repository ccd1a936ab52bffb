"""Friction of lines and emptying of tanks against worked answers of universities and textbooks, with the deviation of ours.

| source | what | theirs | ours |
| --- | --- | --- | --- |
| H. Kudela, Hydraulic losses in pipes, Wroclaw University of Science and Technology, p. 5, Example 1 | head lost | 117 m | +0.3 % |
| R. S. Subramanian, Pipe flow calculations, Clarkson University, pp. 6-7, Example 1 | head lost | 83.7 ft | -0.2 % |
| M. R. Lindeburg, Civil Engineering Reference Manual, 12th ed. (2011), Example 17.2 | friction factor | 0.0287 | 0.0 % |
| Cengel, Thermal-fluid sciences, Example 8-3 | Reynolds number | 126,400 | 0.0 % |
| D. M. Himmelblau (2006), Example 32.2 | time to empty a tank | 73,700 s | 0.0 % |

The first three are read in the vignette "Friction loss" of the R package iemisc, which works them and cites pages; the fourth in
a public companion of code to the book, the last in a public notebook that works it. All seen as reproduced.
"""

import math
from typing import Any

import pytest
from quantity import q

pytestmark = pytest.mark.check
Json = dict[str, Any]
FT = 0.3048


def lost(answer_of: Any, metres: float, millimetres: float, litres: float, roughness: float, **fluid: float) -> Json:
    """The one element of a line: its drop, and what its friction comes from. Density in kg/m3, viscosity in mPa.s."""
    line = {
        "name": "line",
        "type": "line",
        "line_kind": "steel",
        "inner_diameter": q(millimetres, "mm"),
        "length": q(metres, "m"),
        "roughness": q(roughness, "mm"),
    }
    liquid = {"kind": "custom", "density": q(fluid["rho"], "kg/m3"), "dynamic_viscosity": q(fluid["mu"], "mPa.s")}
    asked = {"fluid": liquid, "elements": [line], "fixed_flow": q(litres, "L/s")}
    (element,) = answer_of("hydronic.loop", asked)["results"]["elements"]
    return dict(element)


def head(element: Json, rho: float) -> float:
    """Metres of the liquid."""
    return float(element["pressure_drop"]["value"]) * 1e3 / rho / 9.80665


def test_oil_in_cast_iron(answer_of: Any) -> None:
    """0.2 m3/s of oil (900 kg/m3, 1e-5 m2/s) in 500 m of 200 mm, 0.26 mm rough: 117 m."""
    found = lost(answer_of, 500, 200, 200, 0.26, rho=900, mu=9.0)
    assert head(found, 900) == pytest.approx(117, rel=0.005)


def test_oil_in_cast_iron_in_feet(answer_of: Any) -> None:
    """1500 gpm of oil (1.75 slug/ft3, 1.15e-4 ft2/s) in 1600 ft of 8 in, 8.5e-4 ft rough: 83.7 ft, the factor read off a chart."""
    rho = 1.75 * 14.59390294 / FT**3
    mu = 1.15e-4 * FT**2 * rho * 1e3
    found = lost(answer_of, 1600 * FT, 8 * 25.4, 1500 * 3.785411784 / 60, 8.5e-4 * FT * 1e3, rho=rho, mu=mu)
    assert head(found, rho) / FT == pytest.approx(83.7, rel=0.01)


def test_a_friction_factor_of_a_reference_manual(answer_of: Any) -> None:
    """Re 400,000 and a roughness of 0.004 of the bore: 0.0287 by the Colebrook equation; the chart gives 0.028."""
    bore, rho, mu = 0.1, 1000.0, 1.0
    litres = 400_000 * mu / 1e3 / rho * math.pi / 4 * bore * 1e3
    found = lost(answer_of, 10, bore * 1e3, litres, 0.004 * bore * 1e3, rho=rho, mu=mu)
    assert found["reynolds"] == pytest.approx(400_000, rel=1e-6)
    assert found["friction_factor"] == pytest.approx(0.0287, rel=0.002)


def test_water_in_stainless_steel(answer_of: Any) -> None:
    """0.2 ft3/s of water at 60 degF (62.36 lb/ft3, 7.536e-4 lb/ft.s) in 2 in: 126,400, and 4.2e-5 of the bore rough. Its own
    solution of the Colebrook equation is worked by hand here (derived)."""
    rho, mu = 62.36 * 0.45359237 / FT**3, 7.536e-4 * 0.45359237 / FT * 1e3
    found = lost(answer_of, 200 * FT, 2 * 25.4, 0.2 * FT**3 * 1e3, 0.000007 * FT * 1e3, rho=rho, mu=mu)
    assert found["reynolds"] == pytest.approx(126_400, rel=0.001)
    factor = found["friction_factor"]
    assert 1 / math.sqrt(factor) == pytest.approx(
        -2 * math.log10(4.2e-5 / 3.7 + 2.51 / (126_400 * math.sqrt(factor))), rel=1e-3
    )
    speed = 0.2 / (math.pi / 4 * (2 / 12) ** 2)
    assert head(found, rho) / FT == pytest.approx(factor * 200 * 12 / 2 * speed**2 / 2 / 32.174, rel=1e-4)


def test_a_tank_of_ten_metres(answer_of: Any) -> None:
    """16 m2 and 10 m of water through an orifice of 5 cm2 with a coefficient of 0.62: 73,700 s, 20 h 28 min."""
    tank = {
        "name": "tank",
        "shape": "upright",
        "diameter": q(math.sqrt(16 * 4 / math.pi), "m"),
        "height": q(10, "m"),
        "initial_level": q(10, "m"),
    }
    asked = {
        "fluid": {"kind": "water", "temperature": q(20, "degC")},
        "vessels": [tank],
        "drain_orifice_diameter": q(math.sqrt(5e-4 * 4 / math.pi) * 1e3, "mm"),
        "discharge_coefficient": 0.62,
    }
    found = answer_of("hydronic.drain_down", asked)["results"]["drain_time"]
    assert found["unit"] == "s"
    assert found["value"] == pytest.approx(7.37e4, rel=0.001)
