"""Behaviour of `hydronic.heat_balance` over its whole input."""

import pytest
from hypothesis import given as over
from hypothesis import strategies as st

from coldwright.contract import Refused

BASE = {
    "fluid": {"kind": "water"},
    "entering_temperature": {"value": 12, "unit": "degC"},
    "leaving_temperature": {"value": 7, "unit": "degC"},
    "flow": {"value": 20, "unit": "L/s"},
}
fluids = st.sampled_from(
    [
        {"kind": "water"},
        {"kind": "ethylene_glycol", "mass_fraction": 0.35},
        {"kind": "propylene_glycol", "volume_fraction": 0.3},
        {
            "kind": "custom",
            "density": {"value": 1200, "unit": "kg/m3"},
            "specific_heat": {"value": 3, "unit": "kJ/kg.K"},
        },
    ]
)


def codes(answer):
    return {f["code"]: f["severity"] for f in answer["findings"]}


def without(*names, **more):
    return {k: v for k, v in BASE.items() if k not in names} | more


def pointers(answer_of, given):
    with pytest.raises(Refused) as refused:
        answer_of("hydronic.heat_balance", given)
    return [e.pointer for e in refused.value.errors]


@over(
    fluid=fluids,
    leaving=st.floats(3, 40),
    difference=st.floats(0.2, 30),
    flow=st.floats(0.01, 500),
    meter=st.sampled_from(["mean", "entering", "leaving"]),
)
def test_any_two_give_the_third(answer_of, fluid, leaving, difference, flow, meter):
    base = {
        "fluid": fluid,
        "leaving_temperature": {"value": leaving, "unit": "degC"},
        "flow_measured_at": meter,
    }
    dt = {"value": difference, "unit": "delta_degC"}
    litres = {"value": flow, "unit": "L/s"}

    def results(**more):
        return answer_of("hydronic.heat_balance", base | more)["results"]

    heat = results(temperature_difference=dt, flow=litres)["heat"]
    assert heat["value"] > 0
    assert results(temperature_difference=dt, heat=heat)["flow"]["value"] == pytest.approx(flow, rel=1e-6)
    found = (
        results(heat=heat, flow=litres)["temperature_difference"]["value"] if 0.21 < difference < 29.9 else difference
    )
    assert found == pytest.approx(difference, rel=1e-6)


def test_units_change_nothing(answer_of):
    metric = answer_of("hydronic.heat_balance", BASE)["results"]
    other = {
        "fluid": {"kind": "water"},
        "entering_temperature": {"value": 53.6, "unit": "degF"},
        "leaving_temperature": {"value": 44.6, "unit": "degF"},
        "flow": {"value": 72, "unit": "m3/h"},
    }
    assert answer_of("hydronic.heat_balance", other)["results"]["heat"]["value"] == pytest.approx(
        metric["heat"]["value"], rel=1e-9
    )


def test_uncertainty_is_the_root_of_squares(answer_of):
    r = answer_of("hydronic.heat_balance", BASE)["results"]
    assert r["uncertainty_fraction"] == pytest.approx((0.05**2 + 2 * (0.3 / 5) ** 2) ** 0.5)


@pytest.mark.parametrize(
    ("given", "code", "severity"),
    [
        (
            without("leaving_temperature", leaving_temperature={"value": 10, "unit": "degC"}),
            "small_difference",
            "check",
        ),
        (without(leaving_temperature={"value": 14, "unit": "degC"}), "liquid_is_warmed", "check"),
        (without(fluid={"kind": "ethylene_glycol", "mass_fraction": 0.3}), "rule_of_thumb_misleads", "check"),
        (without(leaving_temperature={"value": 1.9, "unit": "degC"}), "near_freezing", "stop"),
        (without(leaving_temperature={"value": 4.3, "unit": "degC"}), "cold_plain_water", "check"),
        (without(entering_temperature={"value": 20, "unit": "degC"}), "unusual_flow_per_capacity", "note"),
    ],
)
def test_findings(answer_of, given, code, severity):
    assert codes(answer_of("hydronic.heat_balance", given)).get(code) == severity


def test_forty_fahrenheit_is_not_too_cold(answer_of):
    given = without(leaving_temperature={"value": 40, "unit": "degF"})
    assert "cold_plain_water" not in codes(answer_of("hydronic.heat_balance", given))
    given = without(leaving_temperature={"value": 4.4, "unit": "degC"})
    assert "cold_plain_water" not in codes(answer_of("hydronic.heat_balance", given))


def test_good_readings_find_nothing(answer_of):
    assert answer_of("hydronic.heat_balance", BASE)["outcome"] == "acceptable"


@pytest.mark.parametrize(
    ("given", "pointer"),
    [
        (without(heat={"value": 400, "unit": "kW"}), "#/heat"),
        (without("flow"), "#/flow"),
        (without("leaving_temperature"), "#/heat"),
        (
            without(
                "entering_temperature",
                "leaving_temperature",
                temperature_difference={"value": 5, "unit": "delta_degC"},
            ),
            "#/entering_temperature",
        ),
        (without(temperature_difference={"value": 5, "unit": "delta_degC"}), "#/temperature_difference"),
        (without(leaving_temperature={"value": 11.9, "unit": "degC"}), "#/leaving_temperature"),
        (without("flow", heat={"value": -400, "unit": "kW"}), "#/heat"),
        (without("flow", heat={"value": 0, "unit": "kW"}), "#/heat"),
        (without("leaving_temperature", heat={"value": 10, "unit": "kW"}), "#/heat"),
        (without(entering_temperature={"value": -8, "unit": "degC"}), "#/entering_temperature"),
        (without(fluid={"kind": "ethylene_glycol", "mass_fraction": 0.61}), "#/fluid/mass_fraction"),
        (without(fluid={"kind": "ethylene_glycol", "volume_fraction": 0.59}), "#/fluid/volume_fraction"),
        (without(fluid={"kind": "water", "mass_fraction": 0.3}), "#/fluid/mass_fraction"),
        (without(fluid={"kind": "propylene_glycol"}), "#/fluid/mass_fraction"),
        (without(fluid={"kind": "water", "temperature": {"value": 7, "unit": "degC"}}), "#/fluid/temperature"),
        (without(fluid={"kind": "custom", "density": {"value": 1, "unit": "kg/m3"}}), "#/fluid/density"),
        (without(fluid={"kind": "custom"}), "#/fluid/density"),
        (without(flow={"value": 0, "unit": "L/s"}), "#/flow"),
        (
            without(flow_measured_at="leaving", leaving_temperature={"value": -1, "unit": "degC"}),
            "#/flow_measured_at",
        ),
    ],
)
def test_refusals(answer_of, given, pointer):
    assert pointer in pointers(answer_of, given)
