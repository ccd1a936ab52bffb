"""What follows the working by hand finds a line that does not come to its value, and a figure that nothing bears out."""

from typing import Any

import pytest
from borne_out import not_borne_out, off_its_limit
from by_hand import followed, unlike


def line(expression: str, value: float, unit: str = "1", symbol: str = "y") -> dict[str, Any]:
    return {"symbol": symbol, "meaning": "it", "expression": expression, "value": value, "unit": unit}


@pytest.mark.parametrize(
    ("expression", "value", "unit"),
    [
        ("12 kW + 3 kW", 15, "kW"),
        ("Q / (rho V cp) = 840 kW / (1.15 kg/m3 x 48 m3/s x 1006 J/kg.K)", 15.1266, "K"),
        ("(200 + 101.33 - 1.002) kPa / (1000 kg/m3 x 9.80665 m/s2)", 30.6249, "m"),
        ("max(0, 0.5 - 0.6) / 2", 0, "m"),
        ("1 - 1/|1 + X s (sin + j cos)|, X = 0.19, s = 67.342/300, cos = 0.350", 0.0385165, "1"),
        ("-18 degC - 5 delta_degF", -20.7778, "degC"),
        ("20 log10 85.131 + 11", 49.602, "dB"),
        ("500 [50.85 x 5 / 4 + 12 x 5 + 36] = 79,781, to the nearest 500", 80000, "lb"),
        ("1.02 + 0.98 e^(-3 R/X), R/X = 0.4115", 1.30519, "1"),
    ],
)
def test_a_line_that_comes_to_its_value(expression: str, value: float, unit: str) -> None:
    """By hand, and with a pocket calculator."""
    assert unlike([line(expression, value, unit)]) == []
    if "nearest" not in expression and value:
        assert unlike([line(expression, 1.1 * value, unit)]) != []
        assert next(followed([line(expression, value, unit)]))[2] is not None


def test_a_line_that_contradicts_itself() -> None:
    assert unlike([line("500 [50.85 x 5 x 4 + 12 x 5 + 36] = 79,781, to the nearest 500", 80000, "lb")]) != []


def test_symbols_of_earlier_lines_count() -> None:
    lines = [line("4 kW", 4, "kW", "P"), line("P x 2 h", 8, "kWh", "E")]
    assert unlike(lines) == []
    assert unlike([lines[0], {**lines[1], "value": 6}]) != []


@pytest.mark.parametrize(("said", "borne_out"), [("3.12", True), ("312", False), ("1.56", True), ("3.21", False)])
def test_a_figure_comes_from_the_answer(said: str, borne_out: bool) -> None:
    finding = {"code": "c", "statement": f"The flow is {said} L/s.", "do": ""}
    answer = {"given": {}, "results": {"flow": {"value": 3.1234, "unit": "L/s"}}, "findings": [finding]}
    assert (not list(not_borne_out(answer))) is borne_out


def test_a_percentage_is_a_ratio_of_two_numbers() -> None:
    finding = {"code": "c", "statement": "It is 12.5% below the minimum.", "do": ""}
    numbers = {"flow": {"value": 7, "unit": "L/s"}, "least": {"value": 8, "unit": "L/s"}}
    assert not list(not_borne_out({"results": numbers, "findings": [finding]}))
    numbers["flow"]["value"] = 6.9
    assert list(not_borne_out({"results": numbers, "findings": [finding]}))


@pytest.mark.parametrize(
    ("sentence", "comes_to_it"),
    [
        ("The flow is 12 L/s, 14.3% below the minimum of 14 L/s.", True),
        ("The flow is 12 L/s, 100.0% below the minimum of 14 L/s.", False),
        ("Evaporator 2 gets 16.8 L/s, 20.0% above its maximum of 14 L/s.", True),
        ("The load of 121 kVA is 8.5 kVA above the rating of 112.5 kVA.", True),
        ("The load of 121 kVA is 9.5 kVA above the rating of 112.5 kVA.", False),
        ("The peak is 997 kPa, 297 kPa above the 700 kPa that the parts may take.", True),
        ("The peak is 997 kPa, 1,697 kPa above the 700 kPa that the parts may take.", False),
        ("The water is at 12 degC, 5 K above the set point of 7 degC.", True),
    ],
)
def test_an_excess_is_what_value_and_limit_make(sentence: str, comes_to_it: bool) -> None:
    assert (not list(off_its_limit(sentence))) is comes_to_it
