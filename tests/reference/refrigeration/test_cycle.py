"""Published checks of `refrigeration.cycle`."""

from typing import Any

import pytest

from coldwright.contract import Refused
from coldwright_basis.coolprop import core
from coldwright_refrigeration.shared.refrigerants import REFRIGERANTS

pytestmark = pytest.mark.check
CYCLE = "refrigeration.cycle"
SIX_AND_SIX = {
    "superheat": {"value": 6, "unit": "delta_degC"},
    "subcooling": {"value": 6, "unit": "delta_degC"},
    "isentropic_efficiency": 0.70,
}
FIVE_AND_FIVE = {
    "superheat": {"value": 5, "unit": "delta_degC"},
    "subcooling": {"value": 5, "unit": "delta_degC"},
    "isentropic_efficiency": 0.70,
}


def at(value: float, unit: str) -> dict[str, Any]:
    kind = "temperature" if unit.startswith("deg") else "pressure"
    return {kind: {"value": value, "unit": unit}}


CENGEL_11_1 = {
    "refrigerant": "R-134a",
    "evaporating": at(140, "kPa"),
    "condensing": at(800, "kPa"),
    "mass_flow": {"value": 0.05, "unit": "kg/s"},
}
CENGEL_11_2 = CENGEL_11_1 | {
    "compressor_inlet_temperature": {"value": -10, "unit": "degC"},
    "compressor_outlet_temperature": {"value": 50, "unit": "degC"},
    "condenser_outlet_temperature": {"value": 26, "unit": "degC"},
    "condenser_outlet_pressure": {"value": 720, "unit": "kPa"},
}
MORAN_10_1 = {
    "refrigerant": "R-134a",
    "evaporating": at(0, "degC"),
    "condensing": at(26, "degC"),
    "mass_flow": {"value": 0.08, "unit": "kg/s"},
}
CENGEL_11_13 = {
    "refrigerant": "R-134a",
    "evaporating": at(-12, "degC"),
    "condensing": at(800, "kPa"),
    "capacity": {"value": 150, "unit": "kW"},
}
MINUS_TWENTY = {
    "refrigerant": "R-134a",
    "evaporating": at(-20, "degC"),
    "condensing": at(1200, "kPa"),
    "mass_flow": {"value": 0.05, "unit": "kg/s"},
}
MINUS_TEN = {
    "refrigerant": "R-134a",
    "evaporating": at(-10, "degC"),
    "condensing": at(28, "degC"),
    "mass_flow": {"value": 5 / 60, "unit": "kg/s"},
}
HUNDRED_TONS = SIX_AND_SIX | {
    "refrigerant": "R-410A",
    "evaporating": at(2, "degC"),
    "condensing": at(50, "degC"),
    "capacity": {"value": 100, "unit": "ton"},
    "volumetric_efficiency": 1,
}
BLEND = FIVE_AND_FIVE | {"refrigerant": "R-454B", "evaporating": at(38, "degF"), "condensing": at(115, "degF")}
HOT = SIX_AND_SIX | {"refrigerant": "R-32", "evaporating": at(2, "degC"), "condensing": at(50, "degC")}

# (given, what to read, expected, relative tolerance): 1 % against a printed textbook table, 0.5 % against the library.
PRINTED = [
    # Cengel and Boles, Thermodynamics, Example 11-1, as coded in a public companion (seen).
    (CENGEL_11_1, "capacity", 7.18, 0.01),
    (CENGEL_11_1, "compressor_power", 1.81, 0.01),
    (CENGEL_11_1, "heat_rejected", 8.99, 0.01),
    (CENGEL_11_1, "cop", 3.97, 0.01),
    # The same, Example 11-2 (seen).
    (CENGEL_11_2, "capacity", 7.93, 0.01),
    (CENGEL_11_2, "compressor_power", 2.02, 0.01),
    (CENGEL_11_2, "isentropic_efficiency", 0.939, 0.01),
    (CENGEL_11_2, "cop", 3.93, 0.01),
    # Moran and Shapiro, Fundamentals of Engineering Thermodynamics, Example 10.1, companion code (seen).
    (MORAN_10_1, "compressor_power", 1.40, 0.01),
    (MORAN_10_1, "cop", 9.24, 0.01),
    (MORAN_10_1, "carnot_cop", 10.5, 0.01),
    # Cengel and Boles, Thermodynamics, Problem 11-13, answers as reprinted in a sheet of practice problems (seen).
    (CENGEL_11_13, "cop", 4.87, 0.01),
    (CENGEL_11_13, "compressor_power", 30.8, 0.01),
    # A university's solution, ME 201 Thermodynamics, Homework 22, spring 2006 (enthalpies seen): 238.41, 284.48, 117.77.
    (MINUS_TWENTY, "capacity", 0.05 * (238.41 - 117.77), 0.01),
    (MINUS_TWENTY, "cop", (238.41 - 117.77) / (284.48 - 238.41), 0.01),
    # A homework of 5 kg/min with its enthalpies (seen): 241.35, 267.9 and 88.61 kJ/kg; a ton is 211 kJ/min there.
    (MINUS_TEN, "compressor_power", 5 / 60 * (267.9 - 241.35), 0.01),
    (MINUS_TEN, "capacity", 5 / 60 * (241.35 - 88.61), 0.01),
    # CoolProp 8.0.0 (library) from here on.
    (CENGEL_11_1, "capacity", 7.184, 0.005),
    (CENGEL_11_1, "compressor_power", 1.811, 0.005),
    (CENGEL_11_1, "heat_rejected", 8.994, 0.005),
    (CENGEL_11_1, "cop", 3.968, 0.005),
    (CENGEL_11_2, "capacity", 7.926, 0.005),
    (CENGEL_11_2, "compressor_power", 2.017, 0.005),
    (CENGEL_11_2, "isentropic_efficiency", 0.937, 0.005),
    (CENGEL_11_2, "cop", 3.930, 0.005),
    (MORAN_10_1, "compressor_power", 1.409, 0.005),
    (MORAN_10_1, "cop", 9.236, 0.005),
    (HUNDRED_TONS, "mass_flow", 2.261, 0.005),
    (HUNDRED_TONS, "compressor_power", 118.4, 0.005),
    (HUNDRED_TONS, "heat_rejected", 470.1, 0.005),
    (HUNDRED_TONS, "cop", 2.970, 0.005),
    (HUNDRED_TONS, "eer", 10.13, 0.005),
    (HUNDRED_TONS, "kw_per_ton", 1.184, 0.005),
    (HUNDRED_TONS, "discharge_temperature", 88.4, 0.005),
    (HUNDRED_TONS, "pressure_ratio", 3.607, 0.005),
    (HUNDRED_TONS, "swept_volume_flow", 260.4, 0.005),
    (BLEND, "cop", 3.478, 0.005),
    (BLEND, "discharge_temperature", 87.4, 0.005),
    (BLEND, "pressure_ratio", 3.231, 0.005),
    (BLEND, "specific_cooling", 197.5, 0.005),
    (BLEND, "condensing_bubble_temperature", 45.4, 0.005),
    (BLEND, "condensing_dew_temperature", 46.8, 0.005),
    (HOT, "cop", 3.062, 0.005),
    (HOT, "discharge_temperature", 110.8, 0.005),
]


@pytest.mark.parametrize(("given", "name", "expected", "tolerance"), PRINTED)
def test_printed_figures(answer_of: Any, given: dict[str, Any], name: str, expected: float, tolerance: float) -> None:
    result = answer_of(CYCLE, given)["results"][name]
    number = result["value"] if isinstance(result, dict) else result
    assert number == pytest.approx(expected, rel=tolerance)


def test_moran_capacity_in_tons(answer_of: Any) -> None:
    """Moran and Shapiro, Example 10.1 (seen): 3.67 ton printed, CoolProp 3.70."""
    capacity = answer_of(CYCLE, MORAN_10_1, units="us")["results"]["capacity"]
    assert capacity["unit"] == "ton"
    assert capacity["value"] == pytest.approx(3.67, rel=0.01)
    assert capacity["value"] == pytest.approx(3.70, rel=0.005)


def test_enthalpy_differences_of_cengel_11_1(answer_of: Any) -> None:
    """Cengel and Boles, Example 11-1 (seen): h1 239.16, h2 275.39, h3 95.47 kJ/kg; only differences are compared."""
    h = [s["enthalpy"]["value"] for s in answer_of(CYCLE, CENGEL_11_1)["results"]["states"]]
    assert h[1] - h[0] == pytest.approx(275.39 - 239.16, rel=0.01)
    assert h[0] - h[2] == pytest.approx(239.16 - 95.47, rel=0.01)


def test_hot_discharge_is_found(answer_of: Any) -> None:
    """R-32 leaves the compressor at 110.8 degC (library): above 105, below 120 degC (common practice)."""
    findings = answer_of(CYCLE, HOT)["findings"]
    assert [(f["code"], f["severity"]) for f in findings] == [("discharge_too_hot", "check")]


@pytest.mark.parametrize("name", [r.name for r in REFRIGERANTS.values() if r.kind == "pure"])
def test_pure_states_against_plain_library_calls(answer_of: Any, name: str) -> None:
    """Each state of a pure refrigerant by one PropsSI call at two of its properties, phase left to the library."""
    given = SIX_AND_SIX | {"refrigerant": name, "evaporating": at(1, "degC"), "condensing": at(48, "degC")}
    result = answer_of(CYCLE, given)["results"]
    fluid, props = REFRIGERANTS[name].fluid, core().PropsSI
    for i, s in enumerate(result["states"]):
        pressure, enthalpy = s["pressure"]["value"] * 1e3, s["enthalpy"]["value"] * 1e3
        expected = props("T", "P", pressure, "H", enthalpy, fluid)
        assert s["temperature"]["value"] + 273.15 == pytest.approx(expected, abs=2e-3), i
        expected = props("S", "P", pressure, "H", enthalpy, fluid)
        assert s["entropy"]["value"] * 1e3 == pytest.approx(expected, rel=1e-5), i
        expected = props("D", "P", pressure, "H", enthalpy, fluid)
        assert s["density"]["value"] == pytest.approx(expected, rel=1e-4), i
        if "quality" in s:
            assert s["quality"] == pytest.approx(props("Q", "P", pressure, "H", enthalpy, fluid), abs=1e-5), i
    first, second = result["states"][:2]
    ideal = props("H", "P", second["pressure"]["value"] * 1e3, "S", first["entropy"]["value"] * 1e3, fluid)
    h1, h2 = (s["enthalpy"]["value"] * 1e3 for s in (first, second))
    assert (ideal - h1) / (h2 - h1) == pytest.approx(0.70, abs=1e-4)


def test_a_refusal_says_the_pressures_it_compares(answer_of: Any) -> None:
    """LIBRARY: R-134a evaporates at 0 degC at 292.8 kPa and condenses at 26 degC at 685.3 kPa."""
    from CoolProp.CoolProp import PropsSI

    low, high = (PropsSI("P", "T", t + 273.15, "Q", 1, "R134a") / 1e3 for t in (0, 26))
    for told in (200, 900):
        with pytest.raises(Refused) as refused:
            answer_of(CYCLE, MORAN_10_1 | {"condenser_outlet_pressure": {"value": told, "unit": "kPa"}})
        (error,) = refused.value.errors
        assert f"evaporating ({low:.1f} kPa) and condensing" in error.detail
        assert f"{high:.1f} kPa" in error.detail
