"""hydronic.air_removal against published solubilities and sums by hand."""

import math

import pytest

pytestmark = pytest.mark.check

WATER_15 = {"kind": "water", "temperature": {"value": 15, "unit": "degC"}}


def _q(value, unit):
    return {"value": value, "unit": unit}


def _results(answer_of, **given):
    return answer_of("hydronic.air_removal", {"fluid": WATER_15, **given})["results"]


# J. Res. NBS 77A (1973), Table 3, column "Air", 1 bar, read as a stored copy [seen]: mole fraction 1e-6 at 1 bar of dry
# air, over 18.0153 g/mol and the density of water. The constants are Sander's (2023) [seen; argon: memory].
@pytest.mark.parametrize(
    ("celsius", "kilopascals", "mole_fraction", "density", "tolerance"),
    [(10, 101.228, 18.26e-6, 999.7, 0.03), (30, 105.25, 12.83e-6, 995.7, 0.04)],
)
def test_published_solubility_of_air(answer_of, celsius, kilopascals, mole_fraction, density, tolerance):
    results = _results(
        answer_of, supply_temperature=_q(celsius, "degC"), supply_absolute_pressure=_q(kilopascals, "kPa")
    )
    published = mole_fraction * density / 0.0180153
    assert published == pytest.approx({10: 1.013, 30: 0.709}[celsius], abs=0.001)
    assert results["dissolved_air_at_fill"] == pytest.approx(published, rel=tolerance)


def test_air_set_free(answer_of):
    """3,000 L from 10 to 30 degC at the atmosphere: 22.1 L, Henry and ideal gas by hand [derived]."""
    results = _results(
        answer_of,
        loop_volume=_q(3000, "L"),
        supply_temperature=_q(10, "degC"),
        operating_temperature=_q(30, "degC"),
        operating_gauge_pressure=_q(0, "kPa"),
    )
    assert results["released_air_volume"]["value"] == pytest.approx(22.1, rel=0.03)
    moles = (results["dissolved_air_at_fill"] - results["dissolved_air_at_operation"]) * 3
    litres = moles * 8.314462618 * 303.15 / 101.325
    assert results["released_air_volume"]["value"] == pytest.approx(litres, rel=1e-6)
    assert results["released_air_volume"]["value"] / 3 == pytest.approx(7, abs=0.5)  # as the note says


# Sanks, Pumping Station Design, after Wisner et al., J. Hydraul. Div. ASCE 101(HY2), 1975, formula as quoted
# [seen second-hand]; figures by hand [derived]
@pytest.mark.parametrize(("millimetres", "degrees", "expected"), [(101.6, 10, 0.927), (76.2, 90, 0.929)])
def test_clearing_velocity(answer_of, millimetres, degrees, expected):
    line = {"name": "drop", "inner_diameter": _q(millimetres, "mm"), "slope_angle": degrees, "flow": _q(8, "L/s")}
    result = _results(answer_of, lines=[line])["lines"][0]
    assert result["clearing_velocity"]["value"] == pytest.approx(expected, rel=0.005)
    assert result["velocity"]["value"] == pytest.approx(0.008 / (math.pi / 4 * (millimetres / 1e3) ** 2), rel=1e-9)


def test_top_up_by_boyle(answer_of):
    """20 L, 100 to 200 kPa gauge: 60.3 L at the lower pressure [derived]."""
    top_up = {
        "volume_added": _q(20, "L"),
        "pressure_before": _q(100, "kPa"),
        "pressure_after": _q(200, "kPa"),
    }
    results = _results(answer_of, top_up=top_up)
    assert results["trapped_air_volume"]["value"] == pytest.approx(60.3, rel=0.005)
    assert results["top_up_volume"] == results["trapped_air_volume"]


def test_top_pressure_by_hand(answer_of):
    """250 kPa at 0 m, top at 21 m, water 15 degC: 44.2 kPa [derived]."""
    results = _results(answer_of, reference_gauge_pressure=_q(250, "kPa"), high_point_elevation=_q(21, "m"))
    assert results["top_pressure_pump_off"]["value"] == pytest.approx(44.2, rel=0.005)
