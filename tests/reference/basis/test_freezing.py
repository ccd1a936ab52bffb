"""The freezing lines of the glycols against the library whose coefficients they are."""

import pytest
from CoolProp.CoolProp import PropsSI

from coldwright_basis.freezing import glycol_freezing_temperature, strength_freezing_at

pytestmark = pytest.mark.check
LIQUIDS = [("ethylene_glycol", "MEG"), ("propylene_glycol", "MPG")]


@pytest.mark.parametrize(("kind", "name"), LIQUIDS)
def test_every_hundredth_against_the_library(kind, name):
    """Library: CoolProp 8.0.0, incompressible liquids MEG and MPG."""
    for hundredth in range(61):
        fraction = hundredth / 100
        by_library = PropsSI("T_FREEZE", "T", 300.0, "P", 3e5, f"INCOMP::{name}[{fraction}]")
        assert glycol_freezing_temperature(kind, fraction) == pytest.approx(by_library, abs=1e-9)


@pytest.mark.parametrize(("kind", "name"), LIQUIDS)
def test_the_strength_freezes_at_the_temperature_asked_for(kind, name):
    for kelvin in range(230, 273):
        fraction = strength_freezing_at(kind, float(kelvin))
        if 0.02 < fraction < 0.60:
            by_library = PropsSI("T_FREEZE", "T", 300.0, "P", 3e5, f"INCOMP::{name}[{fraction}]")
            assert by_library == pytest.approx(kelvin, abs=1e-9)
    assert strength_freezing_at(kind, 273.0) == 0.02
    assert strength_freezing_at(kind, 200.0) == 0.60
