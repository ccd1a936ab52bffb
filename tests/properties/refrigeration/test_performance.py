"""How refrigeration.performance behaves: verdicts, findings, refusals."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from quantity import q

from coldwright.contract import Refused

ID = "refrigeration.performance"


def c(value):
    return q(value, "degC")


def readings(**more):
    return {"flow": q(15, "L/s"), "entering_temperature": c(12), "leaving_temperature": c(7)} | more


def ask(**more):
    return {"readings": readings()} | more


def codes(answer):
    always = {"clamp_on_flow", "not_a_rating_test"}
    return {f["code"]: f["severity"] for f in answer["findings"] if f["code"] not in always}


def pointers(answer_of, asked):
    with pytest.raises(Refused) as refused:
        answer_of(ID, asked)
    return [e.pointer for e in refused.value.errors]


@given(
    flow=st.floats(0, 0.1),
    sensor=st.floats(0, 0.5),
    correlation=st.floats(-1, 1),
    properties=st.floats(0, 0.02),
    k=st.floats(1, 3),
)
def test_uncertainty(answer_of, flow, sensor, correlation, properties, k):
    doubts = {
        "flow": flow,
        "temperature": q(sensor, "delta_degC"),
        "temperature_correlation": correlation,
        "property": properties,
        "power": 0.02,
    }
    asked = ask(readings=readings(power=q(100, "kW")), uncertainty=doubts, coverage_factor=k)
    results = answer_of(ID, asked)["results"]
    relative = results["relative_standard_uncertainty"]
    assert relative == pytest.approx(
        math.sqrt(flow**2 + 2 * sensor**2 * (1 - correlation) / 25 + properties**2), abs=1e-9
    )
    assert results["capacity_uncertainty"]["value"] == pytest.approx(k * relative * results["capacity"]["value"])
    assert results["efficiency_uncertainty"] == pytest.approx(k * math.hypot(relative, 0.02) * results["cop"])


@given(litres=st.floats(1, 100), entering=st.floats(9, 30), leaving=st.floats(2, 8), kilowatts=st.floats(5, 500))
def test_units_change_nothing(answer_of, litres, entering, leaving, kilowatts):
    one = {
        "flow": q(litres, "L/s"),
        "entering_temperature": c(entering),
        "leaving_temperature": c(leaving),
        "power": q(kilowatts, "kW"),
    }
    other = {
        "flow": q(litres * 3.6, "m3/h"),
        "entering_temperature": q(entering * 1.8 + 32, "degF"),
        "leaving_temperature": q(leaving + 273.15, "K"),
        "power": q(kilowatts * 1000, "W"),
    }
    a, b = (answer_of(ID, {"readings": r})["results"] for r in (one, other))
    assert a["capacity"]["value"] == pytest.approx(b["capacity"]["value"], rel=1e-8)
    assert a["cop"] == pytest.approx(b["cop"], rel=1e-8)
    assert a["cop"] * a["kw_per_ton"] == pytest.approx(3.5168528, rel=1e-6)
    assert a["eer"] == pytest.approx(3.412141633 * a["cop"])


@given(share=st.floats(0.6, 1.5), doubt=st.floats(0, 0.1))
def test_verdict(answer_of, share, doubt):
    capacity = answer_of(ID, ask())["results"]["capacity"]["value"]
    expected = {"capacity": q(capacity / share, "kW"), "uncertainty": doubt}
    answer = answer_of(ID, ask(expected=expected))
    results = answer["results"]
    assert results["capacity_ratio"] == pytest.approx(share)
    both = 2 * math.hypot(results["relative_standard_uncertainty"] * capacity, doubt * capacity / share)
    off = capacity - capacity / share
    if abs(abs(off) - both) > 1e-6 * capacity:
        verdict = "not_distinguishable" if abs(off) < both else "above" if off > 0 else "short"
        assert results["verdict"] == verdict
        assert ("capacity_short" in codes(answer)) == (verdict == "short" and share < 0.9)


def test_what_is_missing_is_left_out(answer_of):
    results = answer_of(ID, ask())["results"]
    assert set(results) == {"capacity", "relative_standard_uncertainty", "capacity_uncertainty"}
    full = readings(power=q(100, "kW"), heat_rejected=q(410, "kW"))
    expected = {"power": q(105, "kW")}
    results = answer_of(ID, ask(readings=full, expected=expected))["results"]
    assert {"cop", "eer", "kw_per_ton", "heat_balance_closure"} < set(results)
    assert "verdict" not in results
    assert results["power_ratio"] == pytest.approx(100 / 105)


def test_findings(to_the_word):
    close = readings(leaving_temperature=c(10.5))
    assert codes(to_the_word(ID, ask(readings=close))) == {"sensors_dominate": "check"}
    wide = readings(power=q(100, "kW"), heat_rejected=q(300, "kW"))
    assert codes(to_the_word(ID, ask(readings=wide))) == {"heat_balance_open": "check"}
    short = ask(expected={"capacity": q(400, "kW")})
    assert codes(to_the_word(ID, short)) == {"capacity_short": "check"}
    hazards = {caution["hazard"] for caution in to_the_word(ID, ask())["cautions"]}
    assert {"refrigerant", "rotating", "electrical", "thermal", "pressure", "general"} == hazards


def test_refusals(answer_of):
    assert pointers(answer_of, ask(readings=readings(leaving_temperature=c(12)))) == ["#/readings/leaving_temperature"]
    assert pointers(answer_of, ask(readings=readings(power=q(0, "kW")))) == ["#/readings/power"]
    wild = {"temperature_correlation": 1.1}
    assert pointers(answer_of, ask(uncertainty=wild)) == ["#/uncertainty/temperature_correlation"]
    some = {"rule": "iplv", "metric": "eer", "a": 10.0, "b": 12.0}
    assert pointers(answer_of, ask(part_load=some)) == ["#/part_load/c", "#/part_load/d"]
    assert pointers(answer_of, ask(readings=readings(leaving_temperature=c(-2)))) == ["#/readings/leaving_temperature"]
    assert pointers(answer_of, ask(fluid={"kind": "propylene_glycol"})) == ["#/fluid/mass_fraction"]
