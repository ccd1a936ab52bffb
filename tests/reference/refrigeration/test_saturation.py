"""Saturation lines, held against CoolProp asked directly and against printed tables."""

from itertools import pairwise
from typing import Any, get_args

import numpy as np
import pytest
from saturation_from_coolprop import QUALITY, asked, line, refrigerants

from coldwright_basis.coolprop import state
from coldwright_refrigeration.shared import saturation as lines
from coldwright_refrigeration.shared.given import RefrigerantName
from coldwright_refrigeration.shared.refrigerant_states import RefrigerantStates
from coldwright_refrigeration.shared.refrigerants import REFRIGERANTS
from coldwright_refrigeration.shared.saturation import SATURATION_TABLE, TEMPERATURE_ERROR, saturation_of

pytestmark = pytest.mark.check
SEA_LEVEL = 101_325.0
PSI = 6894.757293168

# CoolProp 8.0.0 (library), gauge psi at sea level, bubble/dew; rows in degF.
PRESSURES: dict[str, dict[int, Any]] = {
    "R-410A": {32: (101.4, 101.1), 40: (118.8, 118.4), 50: (143.2, 142.6), 105: (341.9, 340.9), 120: (419.5, 418.3)},
    "R-454B": {32: (96.6, 91.5), 40: (113.2, 107.5), 50: (136.5, 129.9), 105: (325.4, 313.5), 120: (398.6, 385.5)},
    "R-32": {32: (103.2,) * 2, 40: (121.0,) * 2, 50: (145.9,) * 2, 105: (349.7,) * 2, 120: (429.3,) * 2},
    "R-407C": {32: (67.7, 52.1), 40: (80.2, 63.2), 50: (97.9, 78.8), 105: (242.4, 212.1), 120: (298.6, 265.8)},
    "R-22": {32: (57.5,) * 2, 40: (68.6,) * 2, 50: (84.1,) * 2, 105: (210.8,) * 2, 120: (260.0,) * 2},
    "R-134a": {32: (27.8,) * 2, 40: (35.1,) * 2, 50: (45.4,) * 2, 105: (135.0,) * 2, 120: (171.2,) * 2},
    "R-513A": {32: (32.2,), 40: (39.9,), 50: (50.7,), 105: (142.3,), 120: (178.7,)},
    "R-1234ze(E)": {32: (16.7,) * 2, 40: (22.2,) * 2, 50: (30.0,) * 2, 105: (98.2,) * 2, 120: (125.9,) * 2},
    "R-452B": {32: (97.5, 93.3), 40: (114.2, 109.4), 50: (137.7, 132.2), 105: (328.4, 318.4), 120: (402.4, 391.4)},
}
# Printed tables. psi gauge, bubble at degF: public chart citing NIST REFPROP (seen).
CHART = [
    ("R-410A", 40, 118.8),
    ("R-410A", 120, 419.5),
    ("R-22", 40, 68.6),
    ("R-22", 120, 260.0),
    ("R-134a", 40, 35.0),
    ("R-134a", 120, 171.2),
]
# bar absolute at degC: public table of R-32 (seen); Moran and Shapiro, Table A-7, R-22 (seen).
BAR = [("R-32", 0, 8.139), ("R-32", 40, 24.781), ("R-22", 0, 4.9811)]


def kelvin(fahrenheit: float) -> float:
    return (fahrenheit + 459.67) / 1.8


@pytest.mark.parametrize("name", PRESSURES)
def test_library_pressures(name: str) -> None:
    """CoolProp 8.0.0, within 0.1 psi (about 0.03 K); R-513A is printed as one line, which is its bubble line."""
    saturation = saturation_of(name)
    for fahrenheit, printed in PRESSURES[name].items():
        for side, expected in zip((saturation.bubble, saturation.dew), printed, strict=False):
            gauge = (side.pressure(kelvin(fahrenheit)) - SEA_LEVEL) / PSI
            assert gauge == pytest.approx(expected, abs=0.1)


@pytest.mark.parametrize(("name", "fahrenheit", "psi"), CHART)
def test_public_chart(name: str, fahrenheit: float, psi: float) -> None:
    """Public chart that cites NIST REFPROP (seen), within 0.15 K."""
    bubble = saturation_of(name).bubble
    assert bubble.temperature(psi * PSI + SEA_LEVEL) == pytest.approx(kelvin(fahrenheit), abs=0.15)


@pytest.mark.parametrize(("name", "celsius", "bar"), BAR)
def test_printed_tables(name: str, celsius: float, bar: float) -> None:
    """Public R-32 table and Moran and Shapiro, Table A-7 (seen), within 0.15 K."""
    assert saturation_of(name).bubble.temperature(bar * 1e5) == pytest.approx(celsius + 273.15, abs=0.15)


def test_textbook_r134a() -> None:
    """Cengel and Boles, R-134a pressure table (seen): -18.80 degC at 0.14 MPa; within 0.15 K."""
    assert saturation_of("R-134a").dew.temperature(0.14e6) == pytest.approx(273.15 - 18.80, abs=0.15)


@pytest.mark.parametrize("row", refrigerants(), ids=lambda r: r["name"])
def test_every_line_against_direct_calls(row: dict) -> None:
    """Off the nodes, over the whole range: temperature within the stated bound, pressure within the same."""
    saturation = saturation_of(row["name"])
    for side, quality in QUALITY.items():
        of = getattr(saturation, side)
        grid = np.arange(of.lowest_temperature, of.highest_temperature, 0.37)
        kelvins, pressures = asked(row["fluid"], quality, grid)
        assert len(kelvins) > 0.93 * len(grid)
        for temperature, pressure in zip(kelvins, pressures, strict=True):
            assert of.temperature(pressure) == pytest.approx(temperature, abs=TEMPERATURE_ERROR)
            assert of.temperature(of.pressure(temperature)) == pytest.approx(temperature, abs=1e-9)
            assert of.pressure(temperature) == pytest.approx(pressure, rel=5e-5)


def test_ends_of_lines_that_are_made_anew(monkeypatch: pytest.MonkeyPatch) -> None:
    """CoolProp asked directly in the first and the last interval of each line that has an equation of its own; near the end of
    R-404A, almost at its critical point, the interval before carried on would be wrong by 0.0036 K.
    """
    monkeypatch.setattr(lines, "_saturations", lines._saturations.__wrapped__)
    for row in refrigerants():
        if row["kind"] == "mixture":
            continue
        saturation = saturation_of(row["name"])
        for side, quality in QUALITY.items():
            of = getattr(saturation, side)
            ends = np.array([of.lowest_temperature + 0.3, of.highest_temperature - 0.05, of.highest_temperature - 0.01])
            for temperature, pressure in zip(*asked(row["fluid"], quality, ends), strict=True):
                assert of.temperature(pressure) == pytest.approx(temperature, abs=TEMPERATURE_ERROR)
                assert of.pressure(temperature) == pytest.approx(pressure, rel=5e-5)


@pytest.mark.parametrize("row", refrigerants(), ids=lambda r: r["name"])
def test_both_lines_cover_the_range_of_the_table(row: dict) -> None:
    saturation = saturation_of(row["name"])
    assert saturation.dew.temperature(saturation.lowest_pressure) == pytest.approx(
        row["minimum_temperature_degC"] + 273.15, abs=TEMPERATURE_ERROR
    )
    assert saturation.bubble.temperature(saturation.highest_pressure) == pytest.approx(
        row["maximum_temperature_degC"] + 273.15, abs=TEMPERATURE_ERROR
    )
    for line_of in (saturation.bubble, saturation.dew):
        for pressure in (saturation.lowest_pressure, saturation.highest_pressure):
            kelvin = line_of.temperature(pressure)
            assert line_of.lowest_temperature - 1e-6 <= kelvin <= line_of.highest_temperature + 1e-6


@pytest.mark.parametrize("name", ["R-454B", "R-452B"])
def test_gaps_of_the_mixture_model_are_bridged_smoothly(name: str) -> None:
    """Where the library has no bubble point (56 to 59 degC), the slope of ln p keeps falling evenly."""
    saturation = saturation_of(name)
    ln_p = [np.log(saturation.bubble.pressure(t + 273.15)) for t in np.arange(50, 64, 0.5)]
    slopes = [b - a for a, b in pairwise(ln_p)]
    assert all(0 < a - b < 3e-4 for a, b in pairwise(slopes))


def test_the_liquid_root_is_taken() -> None:
    """R-454B at 2.2 MPa and 280 K (library): 1063.6 kg/m3. Left to find the phase, the library can give 450 kg/m3."""
    assert RefrigerantStates("R-454B").liquid(2.2e6, 280.0).density == pytest.approx(1063.6, abs=0.5)


def test_table_is_what_the_script_makes() -> None:
    """One line of each kind made anew: pure, pseudo-pure, mixture."""
    kept = {(r["refrigerant"], r["line"]): r for r in SATURATION_TABLE.rows}
    rows = {r["name"]: r for r in refrigerants()}
    for name, side in (("R-134a", "bubble"), ("R-410A", "dew"), ("R-454B", "bubble")):
        made = line(rows[name], side)
        assert made["inverse_temperature"] == pytest.approx(kept[name, side]["inverse_temperature"], rel=1e-9)
        assert made["slope"] == pytest.approx(kept[name, side]["slope"], rel=1e-6)


def test_names_of_the_contract_are_the_rows_of_the_table() -> None:
    assert set(get_args(RefrigerantName)) == set(REFRIGERANTS) == {r["refrigerant"] for r in SATURATION_TABLE.rows}


def test_critical_pressures_of_the_table() -> None:
    """CoolProp's own, for the equations that have one."""
    for refrigerant in REFRIGERANTS.values():
        if refrigerant.kind != "mixture":
            critical = state("HEOS", refrigerant.fluid).p_critical() / 1000
            assert refrigerant.critical_pressure_kPa == pytest.approx(critical, rel=1e-4)
