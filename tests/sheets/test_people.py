"""Numbers and words as a person reads them."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coldwright.contract import people
from coldwright.contract.quantities import type_of_kind


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (0.0, "0"), (-0.0, "0"), (1234.5678, "1,235"), (999.6, "1,000"), (123.456, "123"), (12.345, "12.3"), (1.2345, "1.23"),
        (0.12345, "0.123"), (0.00012345, "0.000123"), (0.0000123, "1.23e-05"), (-40.0, "-40"), (100.0, "100"), (12.0, "12"),
        (9.9999, "10"), (1e15, "1e+15"),
    ],
)  # fmt: skip
def test_numbers_are_rounded_to_three_digits(value: float, text: str) -> None:
    assert people.number(value) == text


@given(st.floats(-1e11, 1e11, allow_nan=False))
def test_a_rounded_number_is_within_half_a_percent(value: float) -> None:
    shown = float(people.number(value).replace(",", ""))
    assert math.isclose(shown, value, rel_tol=0.0051) or abs(value) < 1e-300


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [
        (6.6666, "degC", "6.7 °C"), (44.0, "degF", "44 °F"), (-0.01, "degC", "0 °C"), (5.555, "delta_degC", "5.6 K"),
        (206.84, "kPa", "207 kPa"), (351.685, "kW", "352 kW"), (100, "ton", "100 tons"), (65, "min", "65 min"),
        (238, "min", "3 h 58 min"), (90, "s", "90 s"), (2.5, "h", "2 h 30 min"), (1, "h", "1 h"), (14, "d", "14 days"),
        (0, "min", "0 min"), (30, "deg", "30°"), (0.00125, "m2", "0.00125 m²"),
    ],
)  # fmt: skip
def test_quantities_carry_the_signs_that_people_use(value: float, unit: str, text: str) -> None:
    assert people.quantity({"value": value, "unit": unit}) == text


def test_every_unit_of_the_contract_prints_without_underscores_or_dots_between_words() -> None:
    for kind in type_of_kind.values():
        for unit in kind.units:
            text = people.quantity({"value": 12.0, "unit": unit})
            assert "_" not in text, unit
            assert "deg" not in text, unit


@pytest.mark.parametrize(
    ("stamp", "text"),
    [
        ("2026-05-04T09:06:00Z", "2026-05-04 09:06 UTC"),
        ("2026-05-04T09:06:30+02:00", "2026-05-04 09:06:30 +02:00"),
        ("2026-13-45T09:06:00Z", "2026-13-45T09:06:00Z"),
    ],
)
def test_instants_keep_their_zone(stamp: str, text: str) -> None:
    assert people.instant(stamp) == text


@given(st.text())
def test_no_text_can_steer_a_terminal(text: str) -> None:
    plain = people.plain_text(text)
    assert plain.isprintable() or not any(c in plain for c in "\x1b\n\r\t\u202e\u200f\x9b\x00")
    assert "\n" not in plain
    assert not any(ord(c) < 32 or 127 <= ord(c) < 160 for c in plain)


def test_controls_and_turned_text_are_made_visible() -> None:
    assert people.plain_text("a\x1b[31mb\u202ec\x9bd") == "a\ufffd[31mb\ufffdc\ufffdd"


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("Slow the pumps to 41.016 Hz.", "Slow the pumps to 41 Hz."),
        ("filled every 45.787 h", "filled every 46 h"),
        ("the set runs for 1344 h", "the set runs for 56 days"),
        ("the loop bridges 0.86384 min", "the loop bridges 52 s"),
        ("Insulation of 1.5951 mm, up to 30.906 ft", "Insulation of 1.6 mm, up to 30.9 ft"),
        ("Add 1.0006e+06 L", "Add 1,000,600 L"),
        ("2600 L/s leaves, 78104 L/s is needed", "2600 L/s leaves, 78,104 L/s is needed"),
        ("takes 715.85 A at 480 V; 206.09 ton for 202.93 ton", "takes 716 A at 480 V; 206 tons for 203 tons"),
        (
            "a breaker of 350 A at 12.5 m, 29 CFR 1926.1408 Table A",
            "a breaker of 350 A at 12.5 m, 29 CFR 1926.1408 Table A",
        ),
        ("240.12 kW is more than 240.04 kW", "240.12 kW is more than 240.04 kW"),
        ("moves it by 0.21766 delta_degC of 3.3333 delta_degC", "moves it by 0.218 delta_degC of 3.33 delta_degC"),
        ("0.025434 delta_degF are not nothing", "0.0254 delta_degF are not nothing"),
    ],
)
def test_a_sentence_keeps_no_digit_that_nobody_can_use(text: str, shown: str) -> None:
    assert people.rounded(text) == shown


def test_a_flow_of_air_is_in_cubic_feet_where_that_of_water_is_in_gallons() -> None:
    """231 cubic inches a US gallon: NIST Handbook 44 (2024), Appendix C; from memory."""
    flow = {"value": 1728 / 231 * 1000, "unit": "gpm"}
    assert people.value_text(flow, "air_flow") == people.value_text(flow, "airflow") == "1,000 cfm"
    assert people.value_text(flow, "duty_flow") == "7,481 gpm"
    assert people.value_text({"value": 12, "unit": "m3/s"}, "air_flow") == "12 m³/s"
