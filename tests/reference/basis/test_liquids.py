"""Properties of the liquids against their sources."""

import pytest

from coldwright_basis import freezing
from coldwright_basis import liquids as fp

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
    assert freezing.glycol_freezing_temperature(kind, fraction) == pytest.approx(PropsSI("T_FREEZE", *at), rel=1e-9)


@pytest.mark.parametrize(
    ("kind", "volume", "mass"),
    [("ethylene_glycol", 0.3, 0.3234), ("ethylene_glycol", 0.5, 0.5272), ("propylene_glycol", 0.3, 0.3079)],
)
def test_volume_to_mass(kind, volume, mass):
    """Derived, on densities from memory of the CRC Handbook."""
    assert fp.volume_to_mass_fraction(kind, volume) == pytest.approx(mass, rel=0.003)
    assert fp.mass_to_volume_fraction(kind, fp.volume_to_mass_fraction(kind, volume)) == pytest.approx(volume)
