"""Published and derived checks of refrigeration.capacity.

The rating table below was made for these checks. Rows marked HAND follow from the stated equations; rows marked LIBRARY
were computed with CoolProp 8.0.0 by the stated cycle.
"""

import math

import pytest

from coldwright.contract import Refused

pytestmark = pytest.mark.check

TON = 3.516853
TABLE = {
    "leaving_liquid_temperature": {"values": [42, 44, 46, 50], "unit": "degF"},
    "ambient_temperature": {"values": [75, 85, 95, 105], "unit": "degF"},
    "capacity": {
        "values": [
            [106.2, 100.9, 95.3, 89.4],
            [110.1, 104.7, 98.9, 92.8],
            [114.1, 108.6, 102.6, 96.3],
            [122.4, 116.5, 110.2, 103.6],
        ],
        "unit": "ton",
    },
    "power": {
        "values": [
            [88.4, 98.9, 110.8, 124.3],
            [89.2, 99.7, 111.7, 125.2],
            [90.0, 100.6, 112.6, 126.1],
            [91.7, 102.4, 114.4, 128.0],
        ],
        "unit": "kW",
    },
}
R410A = {
    "refrigerant": "R-410A",
    "capacity": {"value": 100, "unit": "ton"},
    "power": {"value": 112, "unit": "kW"},
    "leaving_liquid_temperature": {"value": 44, "unit": "degF"},
    "temperature_difference": {"value": 10, "unit": "delta_degF"},
    "ambient_temperature": {"value": 95, "unit": "degF"},
}
R454B = {
    "refrigerant": "R-454B",
    "capacity": {"value": 352, "unit": "kW"},
    "power": {"value": 115, "unit": "kW"},
    "leaving_liquid_temperature": {"value": 7, "unit": "degC"},
    "temperature_difference": {"value": 5, "unit": "delta_degC"},
    "ambient_temperature": {"value": 35, "unit": "degC"},
}


def at(machine, leaving, ambient, unit="degF", **more):
    return {
        "machine": machine,
        "conditions": {
            "leaving_liquid_temperature": {"value": leaving, "unit": unit},
            "ambient_temperature": {"value": ambient, "unit": unit},
            **more,
        },
    }


@pytest.mark.parametrize(
    ("leaving", "ambient", "tons", "power", "eer"),
    [
        (44, 95, 98.9, 111.7, 10.625),  # HAND, a point of the table
        (45, 100, 97.65, 118.9, 9.855),  # HAND, middle of a cell
        (48, 90, 109.475, 107.5, None),  # HAND, middle of an uneven cell
    ],
)
def test_reads_between_the_lines(answer_of, leaving, ambient, tons, power, eer):
    results = answer_of("refrigeration.capacity", at({"rating_table": TABLE}, leaving, ambient))["results"]
    assert results["capacity"]["value"] / TON == pytest.approx(tons, rel=1e-6)
    assert results["power"]["value"] == pytest.approx(power, rel=1e-9)
    assert results["source"] == "table"
    assert results["uncertainty"] == 0
    if eer:
        assert results["eer"] == pytest.approx(eer, rel=2e-4)


def test_efficiencies_at_a_point_of_the_table(answer_of):
    """HAND: 98.9 ton for 111.7 kW."""
    results = answer_of("refrigeration.capacity", at({"rating_table": TABLE}, 44, 95))["results"]
    assert results["cop"] == pytest.approx(3.114, rel=2e-4)
    assert results["kw_per_ton"] == pytest.approx(1.1294, rel=2e-4)


@pytest.mark.parametrize(("leaving", "ambient", "axis"), [(44, 106, "ambient"), (41, 95, "leaving_liquid")])
def test_never_extrapolates(answer_of, leaving, ambient, axis):
    with pytest.raises(Refused) as refused:
        answer_of("refrigeration.capacity", at({"rating_table": TABLE}, leaving, ambient))
    (error,) = refused.value.errors
    assert error.pointer == f"#/conditions/{axis}_temperature"
    assert error.allowed
    assert (error.allowed.minimum, error.allowed.maximum) == ((75, 105) if axis == "ambient" else (42, 50))
    assert error.allowed.unit == "degF"


@pytest.mark.parametrize(
    ("more", "tons", "power", "shift"),
    [
        # HAND: s 0.8234, x 0.8562, shift 4.20 degF
        ({"altitude": {"value": 1609.344, "unit": "m"}}, 96.34, 117.37, ("ambient_shift", 4.20)),
        # HAND: 20 kW/m2 x 0.00015 h.ft2.degF/Btu
        ({"fouling_resistance": {"value": 0.00025, "unit": "h.ft2.degF/Btu"}}, 97.19, None, ("leaving_shift", -0.951)),
        # HAND: x 0.8365
        ({"condenser_airflow_ratio": 0.8}, 95.92, None, ("ambient_shift", 4.885)),
    ],
)
def test_penalties_shift_a_temperature(answer_of, more, tons, power, shift):
    results = answer_of("refrigeration.capacity", at({"rating_table": TABLE}, 44, 95, **more))["results"]
    assert results["capacity"]["value"] / TON == pytest.approx(tons, abs=0.006)
    if power:
        assert results["power"]["value"] == pytest.approx(power, abs=0.006)
    name, degrees = shift
    (correction,) = results["corrections"]
    assert correction[name]["value"] * 1.8 == pytest.approx(degrees, abs=0.003)


@pytest.mark.parametrize(
    ("rated", "leaving", "ambient", "unit", "tons", "power"),
    [
        (R410A, 44, 105, "degF", 93.7, 121.8),  # LIBRARY
        (R410A, 50, 95, "degF", 109.5, 115.9),  # LIBRARY
        (R454B, 7, 43, "degC", 323.4 / TON, 130.0),  # LIBRARY
        (R410A, 44, 95, "degF", 100, 112),  # HAND: the rated point itself
    ],
)
def test_estimates_through_a_rated_point(answer_of, rated, leaving, ambient, unit, tons, power):
    answer = answer_of("refrigeration.capacity", at({"rated_point": rated}, leaving, ambient, unit))
    results = answer["results"]
    assert results["source"] == "estimate"
    assert results["capacity"]["value"] / TON == pytest.approx(tons, rel=0.01)
    assert results["power"]["value"] == pytest.approx(power, rel=0.01)
    assert "estimated_without_table" in [f["code"] for f in answer["findings"]]


def test_the_fit_behind_the_estimate(answer_of):
    """LIBRARY: R-410A, 100 ton, 112 kW, 44 degF, 10 degF, 95 degF; read at 44/105 degF."""
    fit = answer_of("refrigeration.capacity", at({"rated_point": R410A}, 44, 105))["results"]["estimate"]
    assert fit["swept_volume_flow"]["value"] == pytest.approx(0.07220, rel=0.005)
    assert fit["isentropic_efficiency"] == pytest.approx(0.7456, rel=0.005)
    assert fit["evaporator_effectiveness"] == pytest.approx(0.6135, rel=0.005)
    assert fit["condenser_conductance"] == {"value": pytest.approx(32.56, rel=0.005), "unit": "kW/K"}
    assert fit["evaporating_temperature"]["value"] == pytest.approx(3.39, abs=0.15)
    assert fit["condensing_temperature"]["value"] == pytest.approx(54.18, abs=0.15)


def test_cop_of_the_estimate(answer_of):
    """LIBRARY: R-454B at 7/43 degC."""
    results = answer_of("refrigeration.capacity", at({"rated_point": R454B}, 7, 43, "degC"))["results"]
    assert results["cop"] == pytest.approx(2.488, rel=0.01)


@pytest.mark.parametrize(("range_f", "approach"), [(8, 3.27), (10, 3.33), (15, 3.34)])
def test_approach_hardly_depends_on_the_range(range_f, approach):
    """HAND: transfer units of the evaporator to the power -0.6 of the flow, 6 degF approach at 10 degF range."""
    from coldwright_refrigeration.capacity.corrections import _approach

    assert _approach(6 / 1.8, 10 / 1.8, range_f / 1.8) == pytest.approx(approach, abs=0.006)


def test_condenser_air_against_its_own_definition():
    """HAND: effectiveness-NTU with one side at constant temperature, written out."""
    from coldwright_refrigeration.shared.condenser_air import condenser_air

    s, ntu, n = 0.8234, 1.2, 0.6
    x = s * (1 - math.exp(-ntu * s ** (n - 1))) / (1 - math.exp(-ntu))
    assert condenser_air(0.8234, 1.0, 1.2, 0.6).conductance_ratio == pytest.approx(x, rel=1e-12)
    assert x == pytest.approx(0.8562, abs=1e-4)


@pytest.mark.parametrize(("ambient", "leaving", "difference"), [(49, 7, 5), (41, 3, 8), (26, 12, 3.5)])
def test_the_rules_of_the_trade_behind_the_estimate(answer_of, ambient, leaving, difference):
    """LIBRARY: the cycle of R-134a drawn again by PropsSI between the temperatures that the answer tells, at the rated point
    and here, gives back the three figures of common practice: 0.02 of volumetric efficiency for each unit of pressure ratio,
    0.15 of isentropic efficiency with the square of its distance from rated, transfer units with the flow to -0.6.
    """
    from CoolProp.CoolProp import PropsSI

    def cycle(evaporating, condensing):
        low, high = (PropsSI("P", "T", t + 273.15, "Q", 1, "R134a") for t in (evaporating, condensing))
        h1, s1, density = (PropsSI(k, "T", evaporating + 279.15, "P", low, "R134a") for k in ("H", "S", "D"))
        h3 = PropsSI("H", "T", condensing + 267.15, "P", high, "R134a")
        return h1 - h3, PropsSI("H", "P", high, "S", s1, "R134a") - h1, density, high / low

    kelvin = {"unit": "delta_degC"}
    rated = {
        "refrigerant": "R-134a",
        "capacity": {"value": 300, "unit": "kW"},
        "power": {"value": 90, "unit": "kW"},
        "leaving_liquid_temperature": {"value": 7, "unit": "degC"},
        "temperature_difference": {"value": 5} | kelvin,
        "ambient_temperature": {"value": 35, "unit": "degC"},
    }
    assumed = {"superheat": {"value": 6} | kelvin, "subcooling": {"value": 6} | kelvin, "fan_power_fraction": 0.0}

    def told(air, out, across):
        conditions = {
            "fluid": {"kind": "ethylene_glycol", "mass_fraction": 0.3},
            "ambient_temperature": {"value": air, "unit": "degC"},
            "leaving_liquid_temperature": {"value": out, "unit": "degC"},
            "temperature_difference": {"value": across} | kelvin,
        }
        given = {"machine": {"rated_point": rated}, "conditions": conditions, "assumed": assumed}
        results = answer_of("refrigeration.capacity", given)["results"]
        fit = results["estimate"]
        between = fit["evaporating_temperature"]["value"], fit["condensing_temperature"]["value"]
        capacity, power = results["capacity"]["value"] * 1e3, results["power"]["value"] * 1e3
        cooling, work, density, ratio = cycle(*between)
        flow = capacity / cooling
        swept = flow / density / fit["swept_volume_flow"]["value"]
        units = math.log1p(across / (out - between[0]))
        return ratio, swept, flow * work / power, units, capacity / across, fit

    ratio, swept, efficiency, units, heat, _ = told(ambient, leaving, difference)
    ratio_r, swept_r, efficiency_r, units_r, heat_r, fit = told(35, 7, 5)
    assert efficiency_r == pytest.approx(fit["isentropic_efficiency"], rel=1e-3)
    assert (1 - swept) / (ratio - 1) == pytest.approx(0.02, rel=0.01)
    assert (1 - swept_r) / (ratio_r - 1) == pytest.approx(0.02, rel=0.01)
    assert (1 - efficiency / efficiency_r) / (ratio / ratio_r - 1) ** 2 == pytest.approx(0.15, rel=0.03)
    assert math.log(units / units_r) / math.log(heat / heat_r) == pytest.approx(-0.6, rel=0.03)
