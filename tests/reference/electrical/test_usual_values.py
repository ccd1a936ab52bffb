"""What is taken where nothing is given, by the source that each has; an answer names every one of them."""

import re
from typing import Any

import pytest
from edges import example
from quantity import q

pytestmark = pytest.mark.check

# common practice, no source, but for what is marked
USUAL: dict[tuple[str, int], dict[str, Any]] = {
    ("service", 0): {
        "overcurrent_factor": 1.75,  # NEC 440.22(A), seen as reproduced
        "power_factor": 0.85,
        "available/breaker_full_rated": False,  # UL 489, from memory
    },
    ("feeder", 0): {
        "power_factor": 0.85,
        "starting_power_factor": 0.35,
        "ambient_temperature": q(40, "degC"),
        "current_carrying_conductors": 3,
        "allowed_drop_starting_fraction": 0.15,
        "allowed_drop_running_fraction": 0.03,  # NEC 215.2, informational, seen as quoted
        "insulation_temperature": 90,
        "termination_temperature": 75,  # NEC 110.14(C), seen as reproduced
        "section_length": q(50, "ft"),
        "connector_rating": q(400, "A"),
        "crossing_width": q(4, "m"),
    },
    ("feeder", 1): {
        "allowed_drop_running_fraction": 0.05,  # IEC 60364-5-52, 2009, Table G.52.1, seen as reproduced
        "insulation_temperature": 60,
        "section_length": q(15, "m"),
    },
    ("supply_quality", 0): {"unbalance_limit_fraction": 0.02, "current_unbalance_limit_fraction": 0.10},
    ("generator", 0): {
        "loads/*/power_factor": 0.85,
        "loads/*/starting_power_factor": 0.35,
        "ambient_temperature": q(40, "degC"),
        "dip_limit_fraction": 0.20,
        "minimum_load_fraction": 0.30,  # NFPA 110, 8.4.2, seen as quoted
        "maximum_load_fraction": 0.80,
        "usable_fraction": 0.90,
        "reserve_duration": q(4, "h"),
        "derating": {
            "method": "per_step",
            "engine_altitude_start": q(1000, "m"),
            "engine_altitude_rate_fraction": 0.01,
            "engine_temperature_start": q(40, "degC"),
            "engine_temperature_rate_fraction": 0.02,
            "mechanical_efficiency": 0.80,
        },
    },
    ("transformer", 0): {
        "power_factor": 0.85,
        "growth_fraction": 0.25,
        "magnetic_pickup_multiple": 10,
        "inrush_multiple": 10,
        "starting_power_factor": 0.35,
        "ambient_temperature": q(40, "degC"),
        "impedance_fraction": 0.045,
        "x_over_r": 3,
    },
    ("fault_current", 0): {
        "source/impedance_tolerance_fraction": 0.10,
        "source/upstream_x_over_r": 10,
        "motor_contribution_multiple": 4,
        "device/magnetic_pickup_multiple": 10,
        "device/pickup_tolerance_fraction": 0.20,
        "voltage_factor_min": 0.95,  # IEC 60909-0, from memory
        "voltage_factor_max": 1.00,
        "frequency": q(60, "Hz"),
    },
    ("fault_current", 1): {"voltage_factor_max": 1.05, "zero_sequence_reactance": 0.05, "frequency": q(50, "Hz")},
}


@pytest.mark.parametrize(("calculator", "number"), USUAL)
def test_usual_values(answer_of: Any, calculator: str, number: int) -> None:
    name = f"electrical.{calculator}"
    answer = answer_of(name, example(name, number))
    taken = {a["code"].removeprefix("default:/"): a["value"] for a in answer["assumptions"] if "value" in a}
    expected = USUAL[calculator, number]
    assert {field: taken.get(field) for field in expected} == expected


@pytest.mark.parametrize(("amps", "degrees"), [(100, 60), (101, 75)])
def test_terminations_by_their_device(answer_of: Any, amps: float, degrees: int) -> None:
    """NEC 110.14(C)(1) (seen as reproduced): 60 degC up to 100 A, 75 degC above, unless they are marked."""
    sent = example("electrical.feeder", load_current=q(60, "A"), minimum_ampacity=q(75, "A"))
    answer = answer_of("electrical.feeder", sent | {"overcurrent_device": q(amps, "A")})
    (taken,) = [a["value"] for a in answer["assumptions"] if a["code"] == "termination_temperature"]
    assert taken == degrees


@pytest.mark.parametrize(
    ("kva", "impedance", "ratio"),
    [(74, 0.045, 1.5), (76, 0.045, 3), (299, 0.045, 3), (301, 0.045, 5), (499, 0.045, 5), (501, 0.0575, 5)],
)
def test_usual_transformers(answer_of: Any, kva: float, impedance: float, ratio: float) -> None:
    """Common practice: X/R 1.5 to 75 kVA, 3 to 300 kVA, 5 above; 4.5 %, and from 500 kVA 5.75 %."""
    sent = example("electrical.transformer", rated_apparent_power=q(kva, "kVA"), load_apparent_power=q(50, "kVA"))
    taken = {a["code"]: a["value"] for a in answer_of("electrical.transformer", sent)["assumptions"] if "value" in a}
    assert (taken["impedance_fraction"], taken["x_over_r"]) == (impedance, ratio)


@pytest.mark.parametrize(
    ("number", "code", "wanted"),
    [
        # NEC 590.6(A) (2023, seen as explained): 15, 20 and 30 A, 125 V; 29 CFR 1926.404 (seen): 15 and 20 A, 120 V
        (0, "personnel_protection", ["30", "120"]),
        # IEC 60364-4-41, 411.3.3 (seen as explained): to 32 A, 30 mA
        (1, "personnel_protection", ["32", "30"]),
        # NFPA 70E, Table 130.4(E)(a) (seen on a training page): 3 ft 6 in from fixed parts of 151 to 750 V
        (0, "ppe_assessment", ["1.07", "42", "151", "750"]),
    ],
)
def test_figures_of_cautions(answer_of: Any, number: int, code: str, wanted: list[str]) -> None:
    cautions = answer_of("electrical.feeder", example("electrical.feeder", number))["cautions"]
    (text,) = [caution["statement"] for caution in cautions if caution["code"] == code]
    assert re.findall(r"\d+(?:\.\d+)?", text) == wanted
    assert 42 * 0.0254 == pytest.approx(1.07, abs=0.005) == 3.5 * 0.3048
