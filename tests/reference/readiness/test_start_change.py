"""Checks of `readiness.start_change`: all of them practice, no source: the rules of a start say what each limit guards."""

from collections.abc import Callable
from typing import Any

import pytest
from quantity import q

from coldwright.contract import Refused
from coldwright.contract.evaluation import run
from coldwright.contract.reading import convert
from coldwright_readiness.start_change import start_change
from coldwright_readiness.start_change.directions import NO_LIMIT

PLAIN = {"supply_source": "site", "pump_mode": "own_pump", "fluid_kind": "water"}


def changed(before: dict[str, Any] | None, after: dict[str, Any]) -> tuple[list[str], list[str], list[str]]:
    given = {"after": PLAIN | after} | ({} if before is None else {"before": PLAIN | before})
    results, _ = run(start_change, convert(start_change.given, given))
    return [entry.pointer for entry in results.loosened], list(results.tightened), list(results.structural)


TIGHTER_THAN_USUAL = {
    "warm_up_duration": q(8, "h"),
    "fill_pressure_minimum": q(45, "psi"),
    "fill_pressure_maximum": q(48, "psi"),
    "high_point_rise": q(8, "m"),
    "high_point_pressure_minimum": q(6, "psi"),
    "suction_pressure_minimum": q(50, "kPa"),
    "rated_pressure": q(100, "psi"),
    "transfer_switch": True,
    "set_point_minimum_water": q(42, "degF"),
    "freeze_margin": q(18, "delta_degF"),
    "voltage_unbalance_limit": 0.01,
    "anti_recycle": q(8, "min"),
    "loop_turnover_time": q(9, "min"),
    "require_connection_evidence": True,
    "required_freeze_point": q(-12, "degC"),
    "evaporator_pressure_drop_minimum": q(15, "kPa"),
    "evaporator_pressure_drop_maximum": q(60, "kPa"),
    "flow_minimum": q(5, "L/s"),
    "ground_run_resistance": q(0.3, "ohm"),
}
LOOSER_THAN_USUAL = {
    "fill_pressure_minimum": q(38, "psi"),
    "fill_pressure_maximum": q(60, "psi"),
    "high_point_rise": q(-2, "m"),
    "high_point_pressure_minimum": q(2, "psi"),
    "suction_pressure_minimum": q(10, "kPa"),
    "rated_pressure": q(150, "psi"),
    "oil_heaters": False,
    "ambient_temperature": q(20, "degC"),
    "set_point_minimum_water": q(36, "degF"),
    "freeze_margin": q(10, "delta_degF"),
    "voltage_unbalance_limit": 0.03,
    "anti_recycle": q(3, "min"),
    "loop_turnover_time": q(2, "min"),
}


@pytest.mark.parametrize("name", TIGHTER_THAN_USUAL)
def test_what_is_tighter_than_usual_and_back(name: str) -> None:
    tighter = {name: TIGHTER_THAN_USUAL[name]}
    assert changed(None, tighter) == ([], [f"/{name}"], [])
    assert changed({}, tighter) == ([], [f"/{name}"], [])
    assert changed(tighter, {}) == ([f"/{name}"], [], [])


@pytest.mark.parametrize("name", LOOSER_THAN_USUAL)
def test_what_is_looser_than_usual_and_back(name: str) -> None:
    looser = {name: LOOSER_THAN_USUAL[name]}
    assert changed(None, looser) == ([f"/{name}"], [], [])
    assert changed(looser, {}) == ([], [f"/{name}"], [])


def test_the_same_in_another_unit_is_the_same() -> None:
    assert changed({"anti_recycle": q(5, "min")}, {"anti_recycle": q(300, "s")}) == ([], [], [])
    assert changed({"fill_pressure_minimum": q(40, "psi")}, {"fill_pressure_minimum": q(275.79, "kPa")}) == ([], [], [])
    assert changed({}, {"warm_up_duration": q(60, "min")}) == ([], [], [])


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("supply_source", "generator"),
        ("pump_mode", "site_pump"),
        ("fluid_kind", "propylene_glycol"),
        ("compressors", 2),
        ("pump_fitted", False),
    ],
)
def test_what_makes_another_start(name: str, value: Any) -> None:
    beside = {"pump_mode": "site_pump"} if name == "pump_fitted" else {}
    assert changed(beside, beside | {name: value}) == ([], [], [f"/{name}"])
    assert changed(None, beside | {name: value}) == ([], [], []), "nothing was before"


def test_a_plate_that_was_not_read_before_loosens_nothing() -> None:
    assert changed({}, {"rated_voltage": q(460, "V")}) == ([], [], [])
    assert changed({"rated_voltage": q(460, "V")}, {"rated_voltage": q(400, "V")}) == ([], [], ["/rated_voltage"])


def test_the_least_flow_is_compared_however_it_is_given() -> None:
    """By hand: 10 L/s x sqrt(15 / 35) = 6.55 L/s; half of 12 L/s is 6 L/s."""
    drops = {"evaporator_pressure_drop_minimum": q(15, "kPa"), "evaporator_pressure_drop_maximum": q(60, "kPa")}
    reference = drops | {
        "evaporator_reference_flow": q(10, "L/s"),
        "evaporator_reference_pressure_drop": q(35, "kPa"),
    }
    assert changed(reference, reference | {"flow_minimum": q(6.4, "L/s")}) == (["/flow_minimum"], [], [])
    assert changed(reference, reference | {"flow_minimum": q(6.7, "L/s")}) == ([], ["/flow_minimum"], [])
    rated = drops | {"rated_flow": q(12, "L/s")}
    assert changed(rated, rated | {"flow_minimum": q(5.9, "L/s")}) == (["/flow_minimum"], [], [])
    assert changed(rated, rated | {"flow_minimum": q(6.1, "L/s")}) == ([], ["/flow_minimum"], [])


def test_every_field_has_its_direction() -> None:
    """A new field must say which way it is tighter. These are read by no rule of a start."""
    assert {"lifted_by", "second_start", "officer_on_duty", "practice"} == NO_LIMIT


@pytest.mark.parametrize("place", ["before", "after"])
def test_a_set_up_that_cannot_be_is_refused(place: str) -> None:
    given: dict[str, Any] = {"before": PLAIN, "after": PLAIN} | {place: PLAIN | {"circuits": 3}}
    read: Callable[[], Any] = lambda: run(start_change, convert(start_change.given, given))  # noqa: E731
    with pytest.raises(Refused) as refused:
        read()
    assert [e.pointer for e in refused.value.errors] == [f"#/{place}/circuits"]


@pytest.mark.parametrize(
    ("before", "after", "loosened", "tightened"),
    [
        # common practice: the water is watched below 4 degC of air, or where nobody knows the air
        (
            {"ambient_temperature": q(3.8, "degC")},
            {"ambient_temperature": q(4.2, "degC")},
            ["/ambient_temperature"],
            [],
        ),
        (
            {"ambient_temperature": q(4.2, "degC")},
            {"ambient_temperature": q(3.8, "degC")},
            [],
            ["/ambient_temperature"],
        ),
        ({"ambient_temperature": q(4.2, "degC")}, {"ambient_temperature": q(25, "degC")}, [], []),
        ({"ambient_temperature": q(-9, "degC")}, {}, [], []),
        # a first run of 5 min where the turnover of the loop is not known
        ({}, {"loop_turnover_time": q(5.2, "min")}, [], ["/loop_turnover_time"]),
        ({}, {"loop_turnover_time": q(4.8, "min")}, ["/loop_turnover_time"], []),
        # one value in two units is one value, to a ten-thousandth
        ({"anti_recycle": q(5, "min")}, {"anti_recycle": q(300.02, "s")}, [], []),
        ({"anti_recycle": q(5, "min")}, {"anti_recycle": q(300.05, "s")}, [], ["/anti_recycle"]),
        ({"high_point_rise": q(0, "m")}, {"high_point_rise": q(0.001, "m")}, [], ["/high_point_rise"]),
        ({"own_breaker": True}, {"own_breaker": False}, [], ["/own_breaker"]),
        ({}, {"own_breaker": True}, ["/own_breaker"], []),
    ],
)
def test_where_a_change_becomes_looser(
    before: dict[str, Any], after: dict[str, Any], loosened: list[str], tightened: list[str]
) -> None:
    assert changed(before, after) == (loosened, tightened, [])


@pytest.mark.parametrize(
    ("field", "before", "after"),
    [
        ("rated_frequency", q(60, "Hz"), q(50, "Hz")),
        ("rated_flow", q(12, "L/s"), q(14, "L/s")),
        ("source", "panel 1", "panel 2"),
        ("loop", "north", "south"),
        ("circuits", 1, 2),
    ],
)
def test_another_plate_is_another_machine(field: str, before: Any, after: Any) -> None:
    two = {"compressors": 2, "flow_minimum": q(5, "L/s")}
    assert changed(two | {field: before}, two | {field: after}) == ([], [], [f"/{field}"])
    assert changed(two | {field: before}, two | {field: before}) == ([], [], [])
