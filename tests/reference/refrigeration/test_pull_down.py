"""Checks of refrigeration.pull_down: HAND by the stated equations, and by stepping the same loop through time.

The form V = N 60 Z / (4.18 dT) of the run-time volume was SEEN in a public note, the least on-time as the governing
criterion in Cervera-Vazquez et al. 2016, Science and Technology for the Built Environment 22(3).
"""

import pytest
from quantity import q

pytestmark = pytest.mark.check
ID = "refrigeration.pull_down"


def f(value):
    return q(value, "degF")


def ton(value):
    return q(value, "ton")


def large(machine=None, **more):
    """2,000 US gal of water and 1,500 kg of steel, 77 to 54 degF."""
    return {
        "loop": {"volume": q(2000, "gal"), "metal_mass": q(1500, "kg")},
        "initial_temperature": f(77),
        "set_point": f(54),
        "machine": {"capacity": ton(100)} | (machine or {}),
    } | more


def small(**more):
    """500 US gal of water at 10 degC, a stage of 25 ton."""
    return {
        "loop": {"volume": q(500, "gal")},
        "initial_temperature": f(77),
        "set_point": q(10, "degC"),
        "machine": {"capacity": ton(25)},
    } | more


def seconds(duration):
    return duration["value"] * {"s": 1, "min": 60, "h": 3600}[duration["unit"]]


def test_heat_capacity(answer_of):
    """HAND: 32.389 MJ/K with rho c at 65.5 degF."""
    working = {w["symbol"]: w["value"] for w in answer_of(ID, large())["working"]}
    assert working["C"] == pytest.approx(32.389, rel=2e-3)


@pytest.mark.parametrize(
    ("machine", "load", "time"),
    [
        ({}, 0, 1177),
        ({}, 40, 1961),
        ({"stages": 4}, 40, 2411),  # 2411.5 by integration in steps of 0.1 s
        ({"capacity_slope": 0.015, "reference_temperature": f(54)}, 40, 1702),
    ],
)
def test_time_to_set_point(answer_of, machine, load, time):
    results = answer_of(ID, large(machine, load=ton(load)))["results"]
    assert results["reaches_set_point"] is True
    assert seconds(results["time_to_set_point"]) == pytest.approx(time, rel=2e-3)
    assert results["final_temperature"]["value"] == pytest.approx((54 - 32) / 1.8)


def test_where_all_stages_would_hold_it(answer_of):
    """HAND: -27.78 degC."""
    machine = {"capacity_slope": 0.015, "reference_temperature": f(54)}
    working = {w["symbol"]: w["value"] for w in answer_of(ID, large(machine, load=ton(40)))["working"]}
    assert working["T_inf"] == pytest.approx(-27.78, abs=0.01)


def test_never_reached(answer_of):
    """HAND: 110 ton on 100 ton with 1.5 % a kelvin settles at 66.0 degF."""
    machine = {"capacity_slope": 0.015, "reference_temperature": f(54)}
    results = answer_of(ID, large(machine, load=ton(110)))["results"]
    assert results["reaches_set_point"] is False
    assert "time_to_set_point" not in results
    assert results["final_temperature"]["value"] * 1.8 + 32 == pytest.approx(66.0, abs=0.05)
    assert results["missing_capacity"]["value"] == pytest.approx(10 * 3.516853, rel=1e-6)


@pytest.mark.parametrize(("load", "on", "off", "starts"), [(12.5, 401, 401, 4.49), (5, 251, 1003, 2.87)])
def test_cycling(answer_of, load, on, off, starts):
    """HAND."""
    cycling = answer_of(ID, small(low_load=ton(load)))["results"]["cycling"]
    assert seconds(cycling["on_time"]) == pytest.approx(on, rel=2e-3)
    assert seconds(cycling["off_time"]) == pytest.approx(off, rel=2e-3)
    assert cycling["starts_per_hour"] == pytest.approx(starts, rel=2e-3)
    assert cycling["worst_starts_per_hour"] == pytest.approx(4.49, rel=2e-3)


def test_volumes(answer_of):
    """HAND: 1415 L = 374 US gal for 6 starts in the hour; 2830 L = 748 US gal for 5 min of running."""
    results = answer_of(ID, small(control={"minimum_run_time": q(5, "min")}))["results"]
    assert results["minimum_volume"]["value"] == pytest.approx(1415, rel=2e-3)
    assert results["minimum_run_time_volume"]["value"] == pytest.approx(2830, rel=2e-3)
    assert results["volume_to_add"]["value"] == pytest.approx(2830.07 - 1892.71, rel=2e-3)
    us = answer_of(ID, small(control={"minimum_run_time": q(5, "min")}), units="us")["results"]
    assert us["minimum_volume"]["value"] == pytest.approx(374, rel=2e-3)
    assert us["minimum_run_time_volume"]["value"] == pytest.approx(748, rel=2e-3)


def test_run_time_volume_of_the_public_note(answer_of):
    """SEEN: litres = kW x 60 x minutes / (4.18 x K)."""
    results = answer_of(ID, small(control={"minimum_run_time": q(4, "min")}))["results"]
    kilowatts, kelvin = 25 * 3.516853, 4 / 1.8
    assert results["minimum_run_time_volume"]["value"] == pytest.approx(kilowatts * 60 * 4 / (4.18 * kelvin), rel=5e-3)


def test_where_heat_from_outside_would_hold_it(answer_of):
    """HAND: a machine of even capacity stands still where L + UA (Ta - T) = Q: T = Ta - (Q - L) / UA."""
    gain = {"coefficient": {"value": 2, "unit": "kW/K"}, "ambient_temperature": f(95)}
    working = {w["symbol"]: w["value"] for w in answer_of(ID, large({}, load=ton(40), heat_gain=gain))["working"]}
    assert working["T_inf"] == pytest.approx(35 - 60 * 3.516853 / 2, abs=0.01)
