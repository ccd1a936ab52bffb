"""Circuits of hermetic machines against published worked answers."""

from typing import Any

import pytest

from coldwright_electrical.feeder.ampacity import raceway_ampacity

pytestmark = pytest.mark.check

TOLERANCE = 0.1
"""A: the worked answers are given to a tenth."""


def amps(value: float) -> dict[str, Any]:
    return {"value": value, "unit": "A"}


def compressor(rated: float, quantity: int = 1, **more: Any) -> dict[str, Any]:
    return {"role": "compressor", "quantity": quantity, "rated_load_current": amps(rated), **more}


def other(role: str, current: float, quantity: int = 1) -> dict[str, Any]:
    return {"role": role, "quantity": quantity, "full_load_current": amps(current)}


def request(*machines: dict[str, Any], volts: float = 480, **more: Any) -> dict[str, Any]:
    listed = [{"machine_id": f"m{i}", **machine} for i, machine in enumerate(machines)]
    return {
        "practice": "nec",
        "system_voltage": {"value": volts, "unit": "V"},
        "frequency": {"value": 60, "unit": "Hz"},
        "machines": listed,
        **more,
    }


def values(circuit: dict[str, Any]) -> dict[str, float]:
    return {key: item["value"] for key, item in circuit.items() if isinstance(item, dict)}


ROWS = [
    pytest.param(
        request({"motors": [compressor(20), other("fan", 2.5)]}),
        {
            "maximum_overcurrent_calculated": 37.5,
            "maximum_overcurrent_standard": 35,
            "minimum_circuit_ampacity": 27.5,
        },
        id="S1",  # seen: EC&M, Quizzes on the Code, Stallcup, March 2001, Q1; ampacity derived
    ),
    pytest.param(
        request({"motors": [compressor(20), other("fan", 2.5)]}, overcurrent_factor=2.25),
        {"maximum_overcurrent_calculated": 47.5, "maximum_overcurrent_standard": 45},
        id="S2",  # seen: EC&M, Quizzes on the Code, Stallcup, March 2001, Q2
    ),
    pytest.param(
        request({"motors": [compressor(38, branch_circuit_selection_current=amps(40))]}),
        {"maximum_overcurrent_calculated": 70, "maximum_overcurrent_standard": 70, "minimum_circuit_ampacity": 50},
        id="S3",  # seen: EC&M Code Quiz 33 (2005 NEC); ampacity derived
    ),
    pytest.param(
        request({"motors": [compressor(29), other("fan", 2.5)]}),
        {"disconnect_minimum_current": 36.225, "disconnect_standard": 60},
        id="S4",  # seen: EC&M Code Quiz 36, Q1
    ),
    pytest.param(
        request(
            {"motors": [compressor(29), other("fan", 2.5)]},
            {"motors": [compressor(26), other("fan", 2.5)]},
            {"motors": [compressor(22), other("fan", 2.5)]},
        ),
        {
            "maximum_overcurrent_calculated": 106.25,
            "maximum_overcurrent_standard": 100,
            "maximum_overcurrent_calculated_at_2_25": 120.75,
            "maximum_overcurrent_standard_at_2_25": 110,
            "minimum_circuit_ampacity": 91.75,
        },
        id="S5",  # question and offered answers seen: EC&M, Quizzes on the Code, Stallcup, March 2001, Q3 and Q4; values derived
    ),
    pytest.param(
        request({"motors": [compressor(26), compressor(24), other("fan", 2.5, 2), other("pump", 28)]}, volts=230),
        {
            "maximum_overcurrent_calculated": 125,
            "maximum_overcurrent_standard": 125,
            "maximum_overcurrent_standard_at_2_25": 125,
            "minimum_circuit_ampacity": 90,
        },
        id="S6",  # question seen: EC&M, Quizzes on the Code, Stallcup, March 2001, Q5; values derived
    ),
    pytest.param(
        request(
            {
                "motors": [
                    compressor(26),
                    compressor(24),
                    other("fan", 2.5, 2),
                    {"role": "pump", "rated_power": {"value": 10, "unit": "hp"}},
                ]
            },
            volts=230,
        ),
        {"maximum_overcurrent_standard": 125, "minimum_circuit_ampacity": 90},
        id="S6-by-horsepower",  # seen: NEC Table 430.250 (2008), 10 hp at 230 V is 28 A
    ),
    pytest.param(
        request({"motors": [compressor(58, 2), other("fan", 3.4, 4), other("pump", 14)]}),
        {
            "minimum_circuit_ampacity": 158.1,
            "maximum_overcurrent_calculated": 187.1,
            "maximum_overcurrent_standard": 175,
            "maximum_overcurrent_calculated_at_2_25": 216.1,
            "maximum_overcurrent_standard_at_2_25": 200,
            "running_current": 143.6,
            "disconnect_minimum_current": 165.1,
            "disconnect_standard": 200,
        },
        id="S8",  # derived from the equations of NEC 440.33, 440.22, 440.12
    ),
    pytest.param(
        request({"quantity": 2, "motors": [compressor(58, 2), other("fan", 3.4, 4), other("pump", 14)]}),
        {
            "minimum_circuit_ampacity": 301.7,
            "maximum_overcurrent_calculated": 330.7,
            "maximum_overcurrent_standard": 300,
            "smallest_workable_standard": 350,
            "maximum_overcurrent_calculated_at_2_25": 359.7,
            "maximum_overcurrent_standard_at_2_25": 350,
        },
        id="S8-two-machines",  # derived
    ),
]


@pytest.mark.parametrize(("given", "expected"), ROWS)
def test_worked_answers(answer_of: Any, given: dict[str, Any], expected: dict[str, float]) -> None:
    feeder = values(answer_of("electrical.service", given)["results"]["feeder"])
    assert {key: feeder[key] for key in expected} == pytest.approx(expected, abs=TOLERANCE)


def test_plate_and_breaker_fit(answer_of: Any) -> None:
    """S7, seen: M. Holt newsletter 2230 on NEC 440.4 (2020): plate 31.4 A, device 50 A, 10 AWG at 75 degC is enough."""
    plate = {"minimum_circuit_ampacity": amps(31.4), "maximum_overcurrent_device": amps(50)}
    answer = answer_of("electrical.service", request(plate, volts=230, available={"breaker_rating": amps(50)}))
    assert answer["results"]["fit"]["verdict"] == "fits"
    assert answer["results"]["feeder"]["minimum_circuit_ampacity_source"] == "plate"
    carries = raceway_ampacity("10 AWG", 75)
    assert carries == 35
    assert carries >= answer["results"]["feeder"]["minimum_circuit_ampacity"]["value"]


def test_power_of_the_group(answer_of: Any) -> None:
    """S8, derived: sqrt(3) x 480 V x 143.6 A = 119.39 kVA."""
    machine = {"motors": [compressor(58, 2), other("fan", 3.4, 4), other("pump", 14)]}
    results = answer_of("electrical.service", request(machine))["results"]
    assert results["apparent_power"] == {"value": pytest.approx(119.39, abs=0.01), "unit": "kVA"}
    assert results["active_power"]["value"] == pytest.approx(119.39 * 0.85, abs=0.01)


def test_the_trap_of_equal_compressors(answer_of: Any) -> None:
    """S8: with 1.75 the limit of two machines rounds below their ampacity; both factors are reported."""
    machine = {"quantity": 2, "motors": [compressor(58, 2), other("fan", 3.4, 4), other("pump", 14)]}
    answer = answer_of("electrical.service", request(machine, available={"breaker_rating": amps(350)}))
    assert answer["results"]["fit"]["verdict"] == "does_not_fit"
    codes = {f["code"]: f["severity"] for f in answer["findings"]}
    assert codes["overcurrent_factor_unusable"] == "check"
    relaxed = request(machine, overcurrent_factor=2.25, available={"breaker_rating": amps(350)})
    assert answer_of("electrical.service", relaxed)["results"]["fit"]["verdict"] == "fits"


@pytest.mark.parametrize("count", range(6, 11))
def test_many_equal_compressors_never_fail_by_the_breaker_share(answer_of: Any, count: int) -> None:
    """Derived: above five equal compressors 1.25 n > n + 1.25, so no device of 440.22 leaves the 80 % margin."""
    machine = {"motors": [compressor(100, count)]}
    first = answer_of("electrical.service", request(machine, overcurrent_factor=2.25))["results"]["feeder"]
    greatest = first["maximum_overcurrent_standard"]
    assert first["running_current"]["value"] > 0.8 * greatest["value"]
    offered = request(machine, overcurrent_factor=2.25, available={"breaker_rating": greatest})
    answer = answer_of("electrical.service", offered)
    assert "breaker_near_running_current" in {f["code"] for f in answer["findings"] if f["severity"] == "check"}
    assert not any("running" in reason for reason in answer["results"]["fit"]["reasons"])


def test_the_worst_moment_of_a_start_by_hand(answer_of: Any) -> None:
    """By hand: everything runs, and of the largest motor the locked rotor stands in place of its running current. One
    machine of 2 x 40 A, 240 A locked, and a fan of 6 A: 86 - 40 + 240 = 286 A. Two of them: 172 - 40 + 240 = 372 A.
    """
    motors = [compressor(40, 2, locked_rotor_current=amps(240)), other("fan", 6)]
    results = answer_of("electrical.service", request({"motors": motors, "quantity": 2}))["results"]
    assert results["machines"][0]["locked_rotor_with_largest_starting"]["value"] == pytest.approx(286)
    assert results["feeder"]["locked_rotor_with_largest_starting"]["value"] == pytest.approx(372)
    assert results["feeder"]["running_current"]["value"] == pytest.approx(172)


def test_the_worst_moment_of_a_start_is_the_same_under_either_practice(answer_of: Any) -> None:
    """By hand, as before: 86 - 40 + 240 = 286 A of one machine and 372 A of two, whatever code its cable is laid by."""
    motors = [compressor(40, 2, locked_rotor_current=amps(240)), other("fan", 6)]
    asked = request({"motors": motors, "quantity": 2, "rated_current": amps(86)}, volts=400)
    asked |= {"practice": "iec", "frequency": {"value": 50, "unit": "Hz"}}
    results = answer_of("electrical.service", asked)["results"]
    assert results["machines"][0]["locked_rotor_with_largest_starting"]["value"] == pytest.approx(286)
    assert results["feeder"]["locked_rotor_with_largest_starting"]["value"] == pytest.approx(372)
