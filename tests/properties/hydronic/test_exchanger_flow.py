"""Behaviour of `hydronic.exchanger_flow` over its whole input."""

import pytest
from hypothesis import given as over
from hypothesis import strategies as st

from coldwright.contract import Refused

BASE = {
    "fluid": {"kind": "water", "temperature": {"value": 10, "unit": "degC"}},
    "rated_flow": {"value": 15, "unit": "L/s"},
    "rated_pressure_drop": {"value": 60, "unit": "kPa"},
    "pressure_drop": {"value": 45, "unit": "kPa"},
    "flow_minimum": {"value": 8, "unit": "L/s"},
}
GAUGES = {
    "inlet_gauge_pressure": {"value": 310, "unit": "kPa"},
    "outlet_gauge_pressure": {"value": 240, "unit": "kPa"},
    "inlet_gauge_elevation": {"value": 0.4, "unit": "m"},
    "outlet_gauge_elevation": {"value": 1.6, "unit": "m"},
}
FLOW_SWITCH = {"proof_kind": "flow_switch", "trip_flow": {"value": 10, "unit": "L/s"}}
STRAINER = {
    "rated_flow": {"value": 15, "unit": "L/s"},
    "rated_pressure_drop": {"value": 12, "unit": "kPa"},
}


def kpa(value):
    return {"value": value, "unit": "kPa"}


def lps(value):
    return {"value": value, "unit": "L/s"}


def with_gauges(**more):
    return {k: v for k, v in BASE.items() if k != "pressure_drop"} | GAUGES | more


def answer(answer_of, **more):
    return answer_of("hydronic.exchanger_flow", BASE | more)


def codes(found):
    return {f["code"]: f["severity"] for f in found["findings"]}


@over(drop=st.floats(0.1, 150), more=st.floats(1.001, 1.1), n=st.floats(1.5, 2.0))
def test_more_drop_is_more_flow(answer_of, drop, more, n):
    low = answer(answer_of, pressure_drop=kpa(drop), exponent=n)["results"]["flow"]["value"]
    high = answer(answer_of, pressure_drop=kpa(drop * more), exponent=n)["results"]["flow"]["value"]
    assert high / low == pytest.approx(more ** (1 / n), rel=1e-9)


@over(n=st.floats(1.5, 2.0), kind=st.sampled_from(["ethylene_glycol", "propylene_glycol"]), drop=st.floats(10, 100))
def test_rated_with_the_same_liquid_there_is_no_correction(answer_of, n, kind, drop):
    glycol = {"kind": kind, "mass_fraction": 0.35, "temperature": {"value": 2, "unit": "degC"}}
    r = answer(answer_of, fluid=glycol, rated_fluid=glycol, exponent=n, pressure_drop=kpa(drop))["results"]
    assert r["flow"]["value"] == pytest.approx(15 * (drop / 60) ** (1 / n), rel=1e-9)


def test_viscous_liquid_flows_less_for_the_same_drop(answer_of):
    glycol = {"kind": "propylene_glycol", "mass_fraction": 0.4, "temperature": {"value": 0, "unit": "degC"}}
    thin = answer(answer_of, exponent=1.8)["results"]["flow"]["value"]
    assert answer(answer_of, exponent=1.8, fluid=glycol)["results"]["flow"]["value"] < thin


def test_units_change_nothing(answer_of):
    other = {
        "fluid": {"kind": "water", "temperature": {"value": 50, "unit": "degF"}},
        "rated_flow": {"value": 54, "unit": "m3/h"},
        "rated_pressure_drop": {"value": 0.6, "unit": "bar"},
        "pressure_drop": {"value": 45000, "unit": "Pa"},
    }
    flow = answer_of("hydronic.exchanger_flow", other)["results"]["flow"]["value"]
    assert flow == pytest.approx(answer(answer_of)["results"]["flow"]["value"], rel=1e-9)


def test_gauge_error_gives_uncertainty(answer_of):
    r = answer(answer_of, gauge_error=kpa(9))["results"]
    assert r["flow_uncertainty_fraction"] == pytest.approx(9 / (2 * 45))
    moved = answer(answer_of)
    assert moved["results"]["flow_uncertainty_fraction"] == 0
    assert "one_gauge_moved" in [a["code"] for a in moved["assumptions"]]
    two = answer_of("hydronic.exchanger_flow", with_gauges())
    assert two["results"]["flow_uncertainty_fraction"] > 0
    assert "gauge_error_of_two_gauges" in [a["code"] for a in two["assumptions"]]


@pytest.mark.parametrize(("measured", "state"), [(9.0, "clean"), (15.0, "watch"), (23.0, "dirty")])
def test_strainer_states(answer_of, measured, state):
    r = answer(answer_of, strainer=STRAINER | {"measured_pressure_drop": kpa(measured)})["results"]
    assert r["strainer_state"] == state


def test_trip_of_a_pressure_switch_follows_the_same_law(answer_of):
    proof = {"proof_kind": "pressure_switch", "trip_pressure_drop": kpa(20)}
    r = answer(answer_of, proof=proof)["results"]
    assert r["trip_flow"]["value"] == pytest.approx(15 * (20 / 60) ** 0.5)
    assert r["trip_margin_fraction"] == pytest.approx((45 / 20) ** 0.5 - 1)
    r = answer(answer_of, proof=FLOW_SWITCH)["results"]
    assert r["trip_flow"]["value"] == 10


def test_the_margin_that_is_said_is_the_margin(answer_of):
    """By hand: 12.99 L/s is 8.3 % above a trip of 12 L/s, and 7.2 % below one of 14 L/s."""
    for trip, said in ((12, "+8.3%"), (14, "-7.2%")):
        found = answer(answer_of, proof=FLOW_SWITCH | {"trip_flow": lps(trip)})["findings"]
        (statement,) = (f["statement"] for f in found if f["code"] == "trip_margin_small")
        assert said in statement


@pytest.mark.parametrize(
    ("given", "code", "severity"),
    [
        (BASE | {"flow_minimum": lps(13.5)}, "flow_below_minimum", "stop"),
        (BASE | {"flow_minimum": lps(12.5), "gauge_error": kpa(6)}, "flow_below_minimum", "check"),
        (BASE | {"flow_maximum": lps(12.5)}, "flow_above_maximum", "check"),
        ({k: v for k, v in BASE.items() if k != "flow_minimum"}, "minimum_not_given", "check"),
        (BASE | {"pressure_drop": kpa(5)}, "outside_trusted_range", "check"),
        (
            BASE | {"proof": {"proof_kind": "pressure_switch", "trip_pressure_drop": kpa(10)}},
            "trip_below_minimum",
            "stop",
        ),
        (BASE | {"proof": FLOW_SWITCH | {"made_with_pump_off": True}}, "proof_made_without_flow", "stop"),
        (BASE | {"proof": FLOW_SWITCH | {"trip_flow": lps(12)}}, "trip_margin_small", "check"),
        (BASE | {"proof": FLOW_SWITCH | {"trip_flow": lps(14)}}, "trip_margin_small", "check"),
        (
            BASE
            | {
                "heat": {"value": 200, "unit": "kW"},
                "temperature_difference": {"value": 5, "unit": "delta_degC"},
            },
            "flow_and_heat_disagree",
            "check",
        ),
        (BASE | {"gauge_error": kpa(10)}, "flow_uncertain", "check"),
        (BASE | {"strainer": STRAINER | {"measured_pressure_drop": kpa(30)}}, "strainer_dirty", "check"),
        (BASE | {"strainer": STRAINER | {"measured_pressure_drop": kpa(15)}}, "strainer_to_watch", "note"),
        (with_gauges(), "two_gauges", "note"),
    ],
)
def test_findings(answer_of, given, code, severity):
    assert codes(answer_of("hydronic.exchanger_flow", given)).get(code) == severity


def test_a_good_reading_finds_nothing(answer_of):
    found = answer(answer_of, proof=FLOW_SWITCH | {"made_with_pump_off": False})
    assert found["outcome"] == "acceptable"
    assert found["findings"] == []


@pytest.mark.parametrize(
    ("given", "pointer"),
    [
        (BASE | GAUGES, "#/pressure_drop"),
        ({k: v for k, v in BASE.items() if k != "pressure_drop"}, "#/pressure_drop"),
        (
            {k: v for k, v in with_gauges().items() if k != "outlet_gauge_elevation"},
            "#/outlet_gauge_elevation",
        ),
        (BASE | {"pressure_drop": kpa(0)}, "#/pressure_drop"),
        (BASE | {"pressure_drop": kpa(-5)}, "#/pressure_drop"),
        (with_gauges(outlet_gauge_pressure=kpa(310)), "#/outlet_gauge_pressure"),
        (BASE | {"pressure_drop": kpa(241)}, "#/pressure_drop"),
        (with_gauges(inlet_gauge_pressure=kpa(700)), "#/inlet_gauge_pressure"),
        (BASE | {"heat": {"value": 300, "unit": "kW"}}, "#/temperature_difference"),
        (BASE | {"temperature_difference": {"value": 5, "unit": "delta_degC"}}, "#/heat"),
        (BASE | {"flow_maximum": lps(7)}, "#/flow_maximum"),
        (BASE | {"proof": {"proof_kind": "flow_switch"}}, "#/proof/trip_flow"),
        (BASE | {"proof": {"proof_kind": "pressure_switch"}}, "#/proof/trip_pressure_drop"),
        (BASE | {"proof": FLOW_SWITCH | {"trip_pressure_drop": kpa(9)}}, "#/proof/trip_pressure_drop"),
        (BASE | {"exponent": 2.1}, "#/exponent"),
        (BASE | {"fluid": {"kind": "water"}}, "#/fluid/temperature"),
        (BASE | {"fluid": {"kind": "water", "temperature": {"value": 0, "unit": "degC"}}}, "#/fluid/temperature"),
        (
            BASE | {"exponent": 1.8, "fluid": {"kind": "custom", "density": {"value": 1100, "unit": "kg/m3"}}},
            "#/fluid/dynamic_viscosity",
        ),
        (BASE | {"rated_fluid": {"kind": "ethylene_glycol"}}, "#/rated_fluid/mass_fraction"),
    ],
)
def test_refusals(answer_of, given, pointer):
    with pytest.raises(Refused) as refused:
        answer_of("hydronic.exchanger_flow", given)
    assert pointer in [e.pointer for e in refused.value.errors]


def test_custom_liquid_by_the_square_law_needs_no_viscosity(answer_of):
    custom = {"kind": "custom", "density": {"value": 999.7, "unit": "kg/m3"}}
    assert answer(answer_of, fluid=custom)["results"]["flow"]["value"] == pytest.approx(12.99, rel=1e-3)


def test_the_trip_can_be_followed_from_its_numbers(answer_of):
    sent = {
        "fluid": {"kind": "water", "temperature": {"value": 10, "unit": "degC"}},
        "rated_flow": {"value": 15, "unit": "L/s"},
        "rated_pressure_drop": {"value": 60, "unit": "kPa"},
        "pressure_drop": {"value": 45, "unit": "kPa"},
        "proof": {"proof_kind": "pressure_switch", "trip_pressure_drop": {"value": 20, "unit": "kPa"}},
    }
    line = next(x for x in answer_of("hydronic.exchanger_flow", sent)["working"] if x["symbol"] == "Q_trip")
    assert "15 L/s x (20 / (60 x 1))^(1/2)" in line["expression"]
    assert line["value"] == pytest.approx(15 * (20 / 60) ** 0.5)
