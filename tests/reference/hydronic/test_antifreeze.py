"""hydronic.antifreeze against CoolProp, tables seen in public, and sums by hand."""

import math

import pytest

pytestmark = pytest.mark.check


def _given(kind, lowest, **more):
    return {
        "kind": kind,
        "lowest_temperature": {"value": lowest, "unit": "degC"},
        "loop_volume": {"value": 3000, "unit": "L"},
        "concentrate_mass_fraction": 1.0,
        **more,
    }


NO_MARGIN = {"value": 0, "unit": "delta_degC"}


# CoolProp 8.0.0, PropsSI('T_FREEZE', ..., 'INCOMP::MEG[w]' and 'MPG[w]') [library]
@pytest.mark.parametrize(
    ("kind", "mass_fraction", "freezing"),
    [
        ("ethylene_glycol", 0.30, -14.58),
        ("ethylene_glycol", 0.40, -23.81),
        ("ethylene_glycol", 0.50, -35.99),
        ("propylene_glycol", 0.30, -12.79),
        ("propylene_glycol", 0.40, -20.57),
        ("propylene_glycol", 0.50, -32.19),
    ],
)
def test_freezing_line(answer_of, kind, mass_fraction, freezing):
    results = answer_of("hydronic.antifreeze", _given(kind, freezing, margin=NO_MARGIN))["results"]
    assert results["mass_fraction"] == pytest.approx(mass_fraction, abs=0.003)
    assert results["freezing_temperature"]["value"] == pytest.approx(freezing, abs=0.3)


def test_freezing_line_against_the_library_itself(answer_of):
    """The high-level interface of CoolProp, at the strength that came out."""
    from CoolProp.CoolProp import PropsSI

    for kind, name in (("ethylene_glycol", "MEG"), ("propylene_glycol", "MPG")):
        for lowest in (-2.0, -9.5, -21.0, -40.0, -49.0):
            results = answer_of("hydronic.antifreeze", _given(kind, lowest, margin=NO_MARGIN))["results"]
            library = PropsSI("T_FREEZE", "T", 300, "P", 3e5, f"INCOMP::{name}[{results['mass_fraction']!r}]")
            assert library - 273.15 == pytest.approx(lowest, abs=1e-6)


# CoolProp 8.0.0 for the strength [library]; volumes by hand from densities of the CRC Handbook [memory]
@pytest.mark.parametrize(
    ("kind", "mass", "volume", "concentrate", "water"),
    [
        ("ethylene_glycol", 0.3407, 0.3167, 950, 2050),
        ("propylene_glycol", 0.3709, 0.3623, 1087, 1913),
    ],
)
def test_new_fill(answer_of, kind, mass, volume, concentrate, water):
    results = answer_of("hydronic.antifreeze", _given(kind, -15))["results"]
    assert results["mass_fraction"] == pytest.approx(mass, rel=0.01)
    assert results["volume_fraction"] == pytest.approx(volume, rel=0.01)
    assert results["concentrate_volume"]["value"] == pytest.approx(concentrate, rel=0.01)
    assert results["water_volume"]["value"] == pytest.approx(water, rel=0.01)


def test_burst(answer_of):
    """Lever rule on the library's freezing line, a quarter of ice [derived]."""
    given = _given("ethylene_glycol", -25, protection="burst", margin=NO_MARGIN)
    results = answer_of("hydronic.antifreeze", given)["results"]
    assert results["mass_fraction"] == pytest.approx(0.3082, rel=0.01)
    assert results["volume_fraction"] == pytest.approx(0.2855, rel=0.01)
    assert results["ice_fraction_at_lowest"] == pytest.approx(0.25, rel=0.01)


@pytest.mark.parametrize(("kind", "recalled"), [("ethylene_glycol", 0.22), ("propylene_glycol", 0.24)])
def test_burst_strength_is_no_weaker_than_recalled_tables(answer_of, kind, recalled):
    """Burst figures for 0 degF, by volume, as recalled from published tables [memory]."""
    given = _given(kind, -17.78, protection="burst", margin=NO_MARGIN)
    results = answer_of("hydronic.antifreeze", given)["results"]
    assert recalled <= results["volume_fraction"] <= recalled + 0.05


def test_correction_by_hand(answer_of):
    """3,000 L from 0.25 to 0.35 by volume: 3000 x 0.1/0.75 and 3000 ln(0.75/0.65) [derived]."""
    # the lowest temperature that asks for exactly 0.35 by volume: freezing point of MEG at the mass fraction of 0.35
    from CoolProp.CoolProp import PropsSI

    mass = 0.35 * 1113.2 / (0.35 * 1113.2 + 0.65 * 998.2)
    freezing = PropsSI("T_FREEZE", "T", 300, "P", 3e5, f"INCOMP::MEG[{mass!r}]") - 273.15
    given = _given("ethylene_glycol", freezing, margin=NO_MARGIN, present={"volume_fraction": 0.25})
    results = answer_of("hydronic.antifreeze", given)["results"]
    assert results["volume_fraction"] == pytest.approx(0.35, rel=1e-6)
    assert results["drain_volume_batch"]["value"] == pytest.approx(400.0, rel=0.001)
    assert results["drain_volume_bleed"]["value"] == pytest.approx(429.3, rel=0.001)
    assert results["drain_volume_bleed"]["value"] == pytest.approx(3000 * math.log(0.75 / 0.65), rel=1e-5)


# by hand from the densities of the pure liquids at 20 degC, CRC Handbook [memory]
@pytest.mark.parametrize(
    ("kind", "volume", "mass"),
    [("ethylene_glycol", 0.30, 0.3234), ("ethylene_glycol", 0.50, 0.5272), ("propylene_glycol", 0.30, 0.3079)],
)
def test_volume_to_mass(kind, volume, mass):
    from coldwright_basis.liquids import volume_to_mass_fraction

    assert volume_to_mass_fraction(kind, volume) == pytest.approx(mass, rel=0.003)


def test_cost_of_ethylene_030(answer_of):
    """Ethylene, 0.30 by mass, 5 degC: CoolProp 8.0.0 and fluids 1.3.1 [library]."""
    given = _given("ethylene_glycol", -14.5758, margin=NO_MARGIN, fluid_temperature={"value": 5, "unit": "degC"})
    results = answer_of("hydronic.antifreeze", given)["results"]
    assert results["mass_fraction"] == pytest.approx(0.30, rel=1e-3)
    assert results["dynamic_viscosity"]["value"] == pytest.approx(3.56, rel=0.015)
    assert results["flow_ratio"] == pytest.approx(1.097, rel=0.015)
    assert results["pressure_drop_ratio_same_flow"] == pytest.approx(1.167, rel=0.015)
    assert results["pressure_drop_ratio_same_heat"] == pytest.approx(1.384, rel=0.015)


def test_viscosity_of_propylene_030_by_volume(answer_of):
    """4.52 mPa.s at 10 degC: ASHRAE table of inhibited propylene glycol, by volume, as reproduced in an open data set
    for building simulation [seen]."""
    from CoolProp.CoolProp import PropsSI

    mass = 0.30 * 1036.1 / (0.30 * 1036.1 + 0.70 * 998.2)
    freezing = PropsSI("T_FREEZE", "T", 300, "P", 3e5, f"INCOMP::MPG[{mass!r}]") - 273.15
    given = _given("propylene_glycol", freezing, margin=NO_MARGIN, fluid_temperature={"value": 10, "unit": "degC"})
    results = answer_of("hydronic.antifreeze", given)["results"]
    assert results["volume_fraction"] == pytest.approx(0.30, rel=1e-6)
    assert results["dynamic_viscosity"]["value"] == pytest.approx(4.52, rel=0.04)


@pytest.mark.parametrize(("kind", "coldest"), [("ethylene_glycol", -51.2), ("propylene_glycol", -50.0)])
def test_coldest_of_the_data(answer_of, kind, coldest):
    """CoolProp 8.0.0: freezing point at 0.60 by mass [library]."""
    results = answer_of("hydronic.antifreeze", _given(kind, coldest, margin=NO_MARGIN))["results"]
    assert results["mass_fraction"] == pytest.approx(0.60, rel=1e-3)
