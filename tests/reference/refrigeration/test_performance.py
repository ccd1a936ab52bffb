"""Checks of refrigeration.performance: HAND by the stated equations, LIBRARY for rho c (CoolProp 8.0.0).

Weights of the part-load value: AHRI 550/590-2023, 5.2, as quoted in a public source. Tolerance: AHRI 550/590 (I-P)-2011
with Addendum 3, Table 10, SEEN. Propagation: JCGM 100:2008, 5.1 and 5.2.
"""

import math
import random

import pytest
from quantity import q

pytestmark = pytest.mark.check
ID = "refrigeration.performance"
TON = 3.516853


def readings(gpm, entering, leaving, kilowatts=None, **more):
    found = {
        "flow": q(gpm, "gpm"),
        "entering_temperature": q(entering, "degF"),
        "leaving_temperature": q(leaving, "degF"),
    } | more
    return found | ({"power": q(kilowatts, "kW")} if kilowatts else {})


def doubts(flow=0.02, kelvin=0.1, power=0.01, properties=0.003, correlation=0.0):
    return {
        "flow": flow,
        "temperature": q(kelvin, "delta_degC"),
        "power": power,
        "property": properties,
        "temperature_correlation": correlation,
    }


def found(answer_of, given):
    return answer_of(ID, given)["results"]


def test_capacity_and_efficiency(answer_of):
    results = found(answer_of, {"readings": readings(240, 54, 44, 112), "uncertainty": doubts()})
    assert results["capacity"]["value"] == pytest.approx(352.9, rel=1e-3)
    assert results["capacity"]["value"] / TON == pytest.approx(100.3, rel=1e-3)
    assert results["kw_per_ton"] == pytest.approx(1.116, rel=1e-3)
    assert results["cop"] == pytest.approx(3.151, rel=1e-3)
    assert results["eer"] == pytest.approx(10.75, rel=1e-3)
    assert results["relative_standard_uncertainty"] == pytest.approx(0.0325, abs=5e-5)
    assert results["capacity_uncertainty"]["value"] / results["capacity"]["value"] == pytest.approx(0.0650, abs=1e-4)
    assert results["efficiency_uncertainty"] / results["cop"] == pytest.approx(0.0680, abs=1e-4)


def test_sensors_in_fahrenheit(answer_of):
    given = {"readings": readings(240, 54, 44, 112), "uncertainty": doubts(kelvin=0.1 / 1.8)}
    assert found(answer_of, given)["relative_standard_uncertainty"] == pytest.approx(0.0247, abs=5e-5)


def test_sensors_that_err_alike(answer_of):
    results = found(answer_of, {"readings": readings(240, 54, 44, 112), "uncertainty": doubts(correlation=1)})
    assert results["relative_standard_uncertainty"] == pytest.approx(0.02022, abs=5e-6)
    assert results["capacity_uncertainty"]["value"] / results["capacity"]["value"] == pytest.approx(0.0404, abs=5e-5)


def test_wider_doubts(answer_of):
    given = {"readings": readings(310, 52.4, 45.1, 148), "uncertainty": doubts(0.03, 0.15, 0.015)}
    results = found(answer_of, given)
    assert results["capacity"]["value"] == pytest.approx(332.8, rel=1e-3)
    assert results["capacity"]["value"] / TON == pytest.approx(94.6, rel=1e-3)
    assert results["relative_standard_uncertainty"] == pytest.approx(0.0604, abs=5e-5)
    assert results["efficiency_uncertainty"] / results["cop"] == pytest.approx(0.1244, abs=1e-4)


@pytest.mark.parametrize(("load", "tolerance"), [(1, 0.050), (0.75, 0.0725), (0.25, 0.1475)])
def test_tolerance_of_the_rating_standard(answer_of, load, tolerance):
    results = found(answer_of, {"readings": readings(240, 54, 44), "load_fraction": load})
    assert results["tolerance"] == pytest.approx(tolerance, abs=1e-9)


@pytest.mark.parametrize(
    ("metric", "four", "value"),
    [("eer", (10.1, 12.3, 14.2, 15.0), 13.457), ("kw_per_ton", (1.19, 0.98, 0.84, 0.80), 0.8907)],
)
@pytest.mark.parametrize("rule", ["iplv", "nplv"])
def test_part_load_value(answer_of, rule, metric, four, value):
    part_load = {"rule": rule, "metric": metric} | dict(zip("abcd", four, strict=True))
    results = found(answer_of, {"readings": readings(240, 54, 44), "part_load": part_load})
    assert results["part_load_value"] == pytest.approx(value, rel=1e-4)


def test_closure(answer_of):
    """Q 352, P 95, rejected 455 kW: -0.0176. The flow is set so that the capacity is 352 kW."""
    unit = found(answer_of, {"readings": readings(240, 54, 44)})["capacity"]["value"]
    given = {"readings": readings(240 * 352 / unit, 54, 44, 95, heat_rejected=q(455, "kW"))}
    assert found(answer_of, given)["heat_balance_closure"] == pytest.approx(-0.0176, abs=5e-5)


@pytest.mark.parametrize("correlation", [-0.8, 0.0, 0.6])
def test_propagation_against_throwing_dice(answer_of, correlation):
    """The law of propagation against the spread of ten thousand simulated readings (JCGM 101 in small)."""
    given = {"readings": readings(240, 54, 44, 112), "uncertainty": doubts(correlation=correlation)}
    results = found(answer_of, given)
    rng = random.Random(20)
    capacities, cops = [], []
    for _ in range(10000):
        one, other = rng.gauss(0, 1), rng.gauss(0, 1)
        second = correlation * one + math.sqrt(1 - correlation**2) * other
        difference = 10 / 1.8 + 0.1 * (one - second)
        heat = (1 + 0.02 * rng.gauss(0, 1)) * difference / (10 / 1.8) * (1 + 0.003 * rng.gauss(0, 1))
        capacities.append(heat)
        cops.append(heat / (1 + 0.01 * rng.gauss(0, 1)))

    def spread(values):
        mean = math.fsum(values) / len(values)
        return math.sqrt(math.fsum((v - mean) ** 2 for v in values) / (len(values) - 1)) / mean

    assert results["relative_standard_uncertainty"] == pytest.approx(spread(capacities), rel=0.03)
    assert results["efficiency_uncertainty"] / results["cop"] / 2 == pytest.approx(spread(cops), rel=0.03)


def test_what_is_expected_to_the_last_bit_is_not_told_apart(answer_of):
    """The limit: with no doubt at all, 100 ton are what 351.685284206672 kW are."""
    from edges import example

    sure = {
        "flow": 0,
        "temperature": {"value": 0, "unit": "delta_degC"},
        "power": 0,
        "property": 0,
    }
    plain = example("refrigeration.performance", uncertainty=sure)
    measured = answer_of("refrigeration.performance", plain)["results"]["capacity"]["value"]
    for share, verdict in ((1, "not_distinguishable"), (1 + 1e-6, "short"), (1 - 1e-6, "above")):
        expected = {"capacity": {"value": measured * share / 3.516852842066720, "unit": "ton"}}
        results = answer_of("refrigeration.performance", plain | {"expected": expected})["results"]
        assert results["verdict"] == verdict
