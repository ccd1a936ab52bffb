"""Properties of the liquids against their sources."""

import pytest

from coldwright.contract import Fluid
from coldwright.contract.quantities import Temperature
from coldwright_hydronic import fluid_properties as fp

pytestmark = pytest.mark.check


@pytest.mark.parametrize("celsius", [0.5, 4, 7, 10, 15, 20, 30, 45, 60, 80, 95])
def test_water_against_iapws_95(celsius):
    """Library: CoolProp 8.0.0, IAPWS-95 at 300 kPa. IAPWS-IF97, which is used, is another formulation."""
    from CoolProp.CoolProp import PropsSI

    at = ("T", celsius + 273.15, "P", 3e5, "Water")
    state = fp.water(celsius + 273.15)
    assert state.density == pytest.approx(PropsSI("D", *at), rel=2e-5)
    assert state.specific_heat == pytest.approx(PropsSI("C", *at), rel=6e-4)
    assert state.dynamic_viscosity == pytest.approx(PropsSI("V", *at), rel=3e-5)
    assert state.conductivity == pytest.approx(PropsSI("L", *at), rel=1e-4)
    assert fp.water_vapor_pressure(celsius + 273.15) == pytest.approx(
        PropsSI("P", "T", celsius + 273.15, "Q", 0, "Water"), rel=1e-4
    )


@pytest.mark.parametrize("name", ["MEG", "MPG"])
@pytest.mark.parametrize("fraction", [0.05, 0.3, 0.6])
def test_glycols_are_the_library_by_mass(name, fraction):
    """Library: CoolProp 8.0.0, Melinder's coefficients."""
    from CoolProp.CoolProp import PropsSI

    kind = {"MEG": "ethylene_glycol", "MPG": "propylene_glycol"}[name]
    at = ("T", 278.15, "P", 3e5, f"INCOMP::{name}[{fraction}]")
    state = fp.glycol(kind, fraction, 278.15)
    assert state.density == pytest.approx(PropsSI("D", *at), rel=1e-9)
    assert state.specific_heat == pytest.approx(PropsSI("C", *at), rel=1e-9)
    assert state.dynamic_viscosity == pytest.approx(PropsSI("V", *at), rel=1e-9)
    assert fp.glycol_freezing_temperature(kind, fraction) == pytest.approx(PropsSI("T_FREEZE", *at), rel=1e-9)


@pytest.mark.parametrize(
    ("kind", "volume", "mass"),
    [("ethylene_glycol", 0.3, 0.3234), ("ethylene_glycol", 0.5, 0.5272), ("propylene_glycol", 0.3, 0.3079)],
)
def test_volume_to_mass(kind, volume, mass):
    """Derived, on densities from memory of the CRC Handbook."""
    assert fp.volume_to_mass_fraction(kind, volume) == pytest.approx(mass, rel=0.003)
    assert fp.mass_to_volume_fraction(kind, fp.volume_to_mass_fraction(kind, volume)) == pytest.approx(volume)


def test_inhibited_glycol_is_the_second_opinion():
    """Seen: ASHRAE table as reproduced in an open data set: propylene, 0.30 by volume at 10 degC, 4.52 mPa.s."""
    glycol = Fluid(kind="propylene_glycol", volume_fraction=0.3, temperature=Temperature(10, "degC"))
    opinion = fp.second_opinion(glycol, 283.15)
    assert opinion.dynamic_viscosity.value == pytest.approx(4.52, rel=0.04)
    assert fp.properties(glycol).dynamic_viscosity == pytest.approx(4.52e-3, rel=0.04)


def test_roughness_of_commercial_steel():
    """Seen: Crane TP-410, Example 7.14, as worked in the documentation of fluids: 0.0018 in."""
    from coldwright_hydronic.friction import LINE_ROUGHNESS

    assert LINE_ROUGHNESS["steel"] == pytest.approx(0.0018 * 0.0254, rel=0.01)


@pytest.mark.parametrize("re", [500, 2039, 2041, 5000, 1e5, 1e7])
@pytest.mark.parametrize("roughness", [0.0, 5e-4, 0.049])
def test_friction_factor_solves_colebrook(re, roughness):
    """Derived: 64/Re, or the Colebrook equation put back into itself."""
    from math import log10

    from coldwright_hydronic.friction import friction_factor

    f = friction_factor(re, roughness)
    if re < 2040:
        assert f == pytest.approx(64 / re)
    else:
        assert f**-0.5 == pytest.approx(-2 * log10(roughness / 3.7 + 2.51 / (re * f**0.5)), rel=1e-4)
