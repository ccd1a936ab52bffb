"""The heat balance of a hose in air and sun worked out anew [derived]: what the surface takes up from the sun, the wind and
the things around it is what passes the wall.

Forced convection by Churchill and Bernstein (J. Heat Transfer 99, 1977, 300; seen as coded in an open-source library),
air by CoolProp in place of the standard atmosphere; radiation by the difference of fourth powers; the surface by Brent's
method in place of iterating.
"""

import math
import re
from typing import Any

import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import given, settings
from hypothesis import strategies as st
from quantity import q
from scipy.optimize import brentq

pytestmark = pytest.mark.check
ID = "refrigeration.load"
SIGMA = 5.670374e-8
"""W/m2.K4, CODATA 2018 (from memory)."""


def convected(speed: float, across: float, mean: float, pascals: float) -> float:
    """W/m2.K of a cylinder across the wind, at the mean of air and surface, K."""
    state = ("T", mean, "P", pascals, "Air")
    conductivity, viscosity, density = (PropsSI(name, *state) for name in ("L", "V", "D"))
    prandtl = PropsSI("C", *state) * viscosity / conductivity
    reynolds = density * speed * across / viscosity
    first = 0.62 * math.sqrt(reynolds) * math.cbrt(prandtl) / (1 + (0.4 / prandtl) ** (2 / 3)) ** 0.25
    return float((0.3 + first * (1 + (reynolds / 282e3) ** 0.625) ** 0.8) * conductivity / across)


class Hose:
    """Millimetres, degC, W/m2 and m/s."""

    def __init__(self, some: Any) -> None:
        self.outer = some(40, 300)
        self.wall = some(2, self.outer / 4)
        self.k, self.length = some(0.05, 20), some(5, 400)
        self.liquid, self.air = some(-10, 15), some(16, 45)
        self.wind, self.sun, self.black, self.grey = some(0.3, 12), some(0, 1100), some(0, 1), some(0, 1)
        self.pascals = some(70e3, 103e3)

    def given(self, **more: Any) -> dict[str, Any]:
        hose = {
            "kind": "hose",
            "name": "h",
            "length": q(self.length, "m"),
            "outside_diameter": q(self.outer, "mm"),
            "inside_diameter": q(self.outer - 2 * self.wall, "mm"),
            "wall_conductivity": q(self.k, "W/m.K"),
            "liquid_temperature": q(self.liquid, "degC"),
            "air_temperature": q(self.air, "degC"),
            "wind_speed": q(self.wind, "m/s"),
            "solar_irradiance": q(self.sun, "W/m2"),
            "solar_absorptance": self.black,
            "emissivity": self.grey,
        }
        site = {"barometric_pressure": q(self.pascals / 1e3, "kPa")}
        fluid = {"kind": "propylene_glycol", "mass_fraction": 0.4}
        return {"site": site, "fluid": fluid, "loads": [hose | more]}

    def taken_up(self, surface: float) -> float:
        """W from each metre's surroundings at a temperature of its surface, K."""
        across, air = self.outer / 1e3, self.air + 273.15
        wind = convected(self.wind, across, (air + surface) / 2, self.pascals) * (air - surface)
        radiated = self.grey * SIGMA * (air**4 - surface**4)
        return across * self.black * self.sun + math.pi * across * (wind + radiated)

    def passed(self, surface: float) -> float:
        """W through the wall of each metre: Fourier's law in a tube."""
        ratio = self.outer / (self.outer - 2 * self.wall)
        return 2 * math.pi * self.k * (surface - self.liquid - 273.15) / math.log(ratio)

    def balanced(self) -> float:
        """Temperature of the surface, K."""
        found: float = brentq(lambda t: self.taken_up(t) - self.passed(t), self.liquid + 273.15, 500, xtol=1e-9)
        return found


@settings(max_examples=30)
@given(st.data())
def test_the_heat_balance(answer_of: Any, data: st.DataObject) -> None:
    """Heat, the film and the sol-air temperature; 0.5 % for air that is not the same air."""
    hose = Hose(lambda low, high: data.draw(st.floats(low, high)))
    answer = answer_of(ID, hose.given())
    surface = hose.balanced()
    each = hose.passed(surface)
    (part,) = answer["results"]["loads"]
    assert part["total"]["value"] == pytest.approx(each * hose.length / 1e3, rel=5e-3)
    line = {one["symbol"]: one for one in answer["working"]}
    film = float(re.findall(r"1/\(([\d.]+) W/m2.K", line["q"]["expression"])[0])
    air = hose.air + 273.15
    radiated = hose.grey * SIGMA * (surface**4 - air**4) / (surface - air) if surface != air else 0.0
    wind = convected(hose.wind, hose.outer / 1e3, (surface + air) / 2, hose.pascals)
    assert film == pytest.approx(wind + radiated, rel=5e-3)
    assert line["T_sol"]["value"] == pytest.approx(hose.air + hose.black * hose.sun / math.pi / film, abs=1e-3)
    assert line["q"]["value"] == pytest.approx(each, rel=5e-3)


def test_a_black_hose_radiates_as_two_walls_do(answer_of: Any) -> None:
    """Two large black walls: sigma (Ta4 - Ts4). What emissivity adds to a thin tube of metal, whose surface is as cold as its
    liquid, is that and nothing else: 35 and 5 degC in calm air.
    """
    hose = Hose(lambda low, _: low)
    hose.k, hose.outer, hose.wall, hose.liquid, hose.air = 400.0, 100.0, 0.5, 5.0, 35.0

    def heat(emissivity: float) -> float:
        watts: float = answer_of(ID, hose.given(emissivity=emissivity))["results"]["loads"][0]["total"]["value"] * 1e3
        return watts / hose.length / (math.pi * 0.1)

    black = SIGMA * (308.15**4 - 278.15**4)
    assert heat(1.0) - heat(0.0) == pytest.approx(black, rel=2e-3)
    assert heat(0.25) - heat(0.0) == pytest.approx(black / 4, rel=2e-3)


def test_surroundings_that_are_colder_than_the_liquid(answer_of: Any) -> None:
    """What the hose loses by the same balance is said, and is no load."""
    hose = Hose(lambda low, high: low + (high - low) / 3)
    hose.liquid, hose.air, hose.sun = 14.0, -5.0, 40.0
    answer = answer_of(ID, hose.given())
    surface = brentq(lambda t: hose.taken_up(t) - hose.passed(t), 260, 290, xtol=1e-9)
    lost = -hose.passed(surface) * hose.length / 1e3
    assert lost > 0
    (said,) = [one["said"]["statement"]["values"] for one in answer["findings"] if one["code"] == "hose_loses_heat"]
    assert said["lost"]["value"] == pytest.approx(lost, rel=5e-3)
    film = convected(hose.wind, hose.outer / 1e3, (surface + 268.15) / 2, hose.pascals)
    film += hose.grey * SIGMA * (surface**4 - 268.15**4) / (surface - 268.15)
    assert said["warmest"]["value"] == pytest.approx(-5 + hose.black * 40 / math.pi / film, abs=0.02)
    assert answer["results"]["loads"][0]["total"]["value"] == 0


def test_a_film_that_is_given_leaves_wind_and_radiation_out(answer_of: Any) -> None:
    """By hand: the film is the given one, whatever blows or radiates."""
    hose = Hose(lambda low, high: low + (high - low) / 3)
    film = {"outside_film_coefficient": q(17, "W/m2.K")}
    one = answer_of(ID, hose.given(**film))["results"]["loads"]
    other = answer_of(ID, hose.given(**film, wind_speed=q(30, "m/s"), emissivity=0.0))["results"]["loads"]
    assert one == other
