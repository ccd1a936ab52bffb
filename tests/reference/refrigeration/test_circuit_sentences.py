"""What the findings of refrigeration.circuit_check say in numbers, by hand: differences of readings, and of readings from
saturation by CoolProp. R-134a, which has no glide; limits are common practice.
"""

import re
from typing import Any

import pytest
from CoolProp.CoolProp import PropsSI
from edges import example
from quantity import q

pytestmark = pytest.mark.check
ID = "refrigeration.circuit_check"


def dew(kilopascals: float) -> float:
    return float(PropsSI("T", "P", kilopascals * 1e3, "Q", 1, "R134a") - 273.15)


def pressure(celsius: float) -> float:
    return float(PropsSI("P", "T", celsius + 273.15, "Q", 1, "R134a") / 1e3)


def circuit(**changes: Any) -> dict[str, Any]:
    """Evaporating at 2 degC and condensing at 46 degC."""
    usual = {
        "refrigerant": "R-134a",
        "altitude": None,
        "barometric_pressure": q(95, "kPa"),
        "suction_pressure": None,
        "discharge_pressure": None,
        "suction_pressure_absolute": q(pressure(2), "kPa"),
        "discharge_pressure_absolute": q(pressure(46), "kPa"),
        "suction_line_temperature": q(8, "degC"),
        "liquid_line_temperature": q(41, "degC"),
        "discharge_line_temperature": q(71, "degC"),
        "condenser_air_temperature": q(34, "degC"),
        "leaving_liquid_temperature": q(5.5, "degC"),
        "entering_liquid_temperature": q(11, "degC"),
    }
    return example(ID, **(usual | changes))


def said(answer: dict[str, Any], code: str, member: str = "statement", field: str = "") -> list[float]:
    """Figures of the one finding of a code, names left out."""
    (found,) = [f for f in answer["findings"] if f["code"] == code and field in f.get("field", "")]
    return [float(n) for n in re.findall(r"(?<![\w-])-?\d+(?:\.\d+)?(?![\w-])", found[member])]


@pytest.mark.parametrize(
    ("changes", "code", "field", "numbers"),
    [
        ({"suction_line_temperature": q(-1.4, "degC")}, "readings_contradict", "suction_line", [3.4]),
        ({"liquid_line_temperature": q(31.7, "degC")}, "readings_contradict", "liquid_line", [2.3]),
        ({"condenser_air_temperature": q(47.6, "degC")}, "readings_contradict", "condenser_air", [1.6]),
        ({"leaving_liquid_temperature": q(1.2, "degC")}, "readings_contradict", "leaving_liquid", [0.8]),
        ({"liquid_line_pressure_absolute": q(1400, "kPa")}, "readings_contradict", "liquid_line_pressure", [1400, pressure(46)]),
        ({"entering_liquid_temperature": q(5, "degC")}, "readings_contradict", "entering_liquid", [5, 5.5]),
        ({"liquid_freezing_temperature": q(3.7, "degC")}, "suction_below_freezing", "", [2, 1.7, 3.7]),
        ({"liquid_freezing_temperature": q(1.4, "degC")}, "suction_near_freezing", "", [0.6]),
        ({"suction_line_temperature": q(2.7, "degC")}, "liquid_to_compressor", "", [0.7, 1.1]),
        ({"discharge_pressure_absolute": q(pressure(74), "kPa")}, "condensing_too_hot", "", [74, 2.9, 71.1]),
        ({"discharge_line_temperature": q(51, "degC")}, "discharge_superheat_low", "", [5, 11.1]),
        ({"discharge_line_temperature": q(99, "degC")}, "discharge_superheat_high", "", [53, 44.4]),
        ({"discharge_line_temperature": q(111, "degC")}, "discharge_too_hot", "", [111, 105]),
        ({"discharge_line_temperature": q(124, "degC")}, "discharge_too_hot", "", [124, 120]),
        ({"discharge_pressure_absolute": q(1.4 * pressure(2), "kPa")}, "compression_ratio_low", "", [1.4, 1.6]),
        ({"discharge_pressure_absolute": q(1.2 * pressure(2), "kPa")}, "running_backwards", "", [1.2]),
        ({"discharge_pressure_absolute": q(6.5 * pressure(2), "kPa")}, "compression_ratio_high", "", [6.5, 6]),
        ({"discharge_pressure_absolute": q(8.5 * pressure(2), "kPa")}, "compression_ratio_high", "", [8.5, 8]),
    ],
)  # fmt: skip
def test_figures_of_a_finding(
    answer_of: Any, changes: dict[str, Any], code: str, field: str, numbers: list[float]
) -> None:
    """Each with the limit that it is compared with."""
    assert said(answer_of(ID, circuit(**changes)), code, field=field) == pytest.approx(numbers, rel=2e-3, abs=0.06)


def test_the_air_that_gauges_are_read_against(answer_of: Any) -> None:
    """The standard atmosphere at 0 m and at the height named, by its formula (from memory); about is within 2 %."""
    answer = answer_of(ID, circuit(altitude=None, barometric_pressure=None))
    (taken,) = [a for a in answer["assumptions"] if a["code"] == "sea_level"]
    assert taken["value"]["value"] == 0
    air, metres, error = (float(n) for n in re.findall(r"(\d+(?:\.\d+)?) (?:kPa|m)\b", taken["statement"]))
    assert air == pytest.approx(101.325, abs=0.06)
    assert error == pytest.approx(101.325 * (1 - (1 - 2.25577e-5 * metres) ** 5.2559), rel=0.02)


def test_how_far_from_freezing_it_is_to_be(answer_of: Any) -> None:
    """2 delta_degF, 1.1 K: 0.6 K there, 0.5 K missing."""
    answer = answer_of(ID, circuit(liquid_freezing_temperature=q(1.4, "degC")))
    assert said(answer, "suction_near_freezing", "resolve") == pytest.approx([0.5, 1.1], abs=0.06)


@pytest.mark.parametrize(("over", "code"), [(60, "non_condensables_found"), (-80, "standstill_all_vapour")])
def test_a_circuit_at_rest(answer_of: Any, over: float, code: str) -> None:
    """Kilopascals above and below saturation at 25 degC; a gauge reads 95 kPa less."""
    gauge = pressure(25) + over - 95
    answer = answer_of(ID, circuit(standstill={"pressure": q(gauge, "kPa"), "temperature": q(25, "degC")}))
    assert said(answer, code) == pytest.approx([pressure(25) + over, abs(over)], abs=0.6)


@pytest.mark.parametrize(("over", "there"), [(34, False), (35, True)])
def test_where_air_in_a_circuit_is_seen(answer_of: Any, over: float, there: bool) -> None:
    """Common practice: 5 psi, 34.5 kPa, above the bubble pressure."""
    gauge = pressure(25) + over - 95
    answer = answer_of(ID, circuit(standstill={"pressure": q(gauge, "kPa"), "temperature": q(25, "degC")}))
    assert ("non_condensables_found" in {f["code"] for f in answer["findings"]}) is there


@pytest.mark.parametrize(
    ("refrigerant", "fluid", "fahrenheit"),
    [
        ("R-134a", "R134a", 160),
        ("R-1234yf", "R1234yf", 160),
        ("R-32", "R32", 140),
        ("R-22", "R22", 140),
        ("R-410A", "R410A", 140),
    ],
)
def test_how_hot_a_refrigerant_may_condense(answer_of: Any, refrigerant: str, fluid: str, fahrenheit: float) -> None:
    """Common practice: 140 degF, and 160 degF for those of low pressure; half a kelvin on either side."""
    for off in (-0.5, 0.5):
        kelvin = (fahrenheit - 32) / 1.8 + 273.15 + off
        high = PropsSI("P", "T", kelvin, "Q", 0, fluid) / 1e3
        low = PropsSI("P", "T", 275.15, "Q", 1, fluid) / 1e3
        given = circuit(
            refrigerant=refrigerant,
            suction_pressure_absolute=q(low, "kPa"),
            discharge_pressure_absolute=q(high, "kPa"),
            discharge_line_temperature=None,
        )
        codes = {f["code"] for f in answer_of(ID, given)["findings"]}
        assert ("condensing_too_hot" in codes) is (off > 0)
