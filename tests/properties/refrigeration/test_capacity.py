"""How refrigeration.capacity behaves: refusals, findings, and what must hold whatever the numbers."""

import copy
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coldwright.contract import FieldError, Refused

ID = "refrigeration.capacity"
TABLE: dict[str, Any] = {
    "leaving_liquid_temperature": {"values": [2, 6, 8, 12], "unit": "degC"},
    "ambient_temperature": {"values": [20, 25, 32, 40, 46], "unit": "degC"},
    "capacity": {
        "values": [
            [330, 318, 300, 279, 262],
            [380, 366, 346, 322, 303],
            [406, 391, 370, 344, 324],
            [459, 443, 420, 391, 369],
        ],
        "unit": "kW",
    },
    "power": {
        "values": [[85, 93, 107, 126, 143], [87, 96, 110, 129, 146], [88, 97, 111, 131, 148], [90, 99, 114, 134, 152]],
        "unit": "kW",
    },
}
RATED = {
    "refrigerant": "R-134a",
    "capacity": {"value": 350, "unit": "kW"},
    "power": {"value": 112, "unit": "kW"},
    "leaving_liquid_temperature": {"value": 7, "unit": "degC"},
    "temperature_difference": {"value": 5, "unit": "delta_degC"},
    "ambient_temperature": {"value": 35, "unit": "degC"},
}


def celsius(value):
    return {"value": value, "unit": "degC"}


def ask(leaving=7.0, ambient=35.0, machine=None, **more):
    return {
        "machine": {"rating_table": TABLE} | (machine or {}),
        "conditions": {
            "leaving_liquid_temperature": celsius(leaving),
            "ambient_temperature": celsius(ambient),
            **more,
        },
    }


def estimate(leaving=7.0, ambient=35.0, machine=None, **more):
    asked = ask(leaving, ambient, **more)
    asked["machine"] = {"rated_point": RATED} | (machine or {})
    return asked


def codes(answer):
    return {f["code"]: f["severity"] for f in answer["findings"]}


def pointers(answer_of, given_):
    with pytest.raises(Refused) as refused:
        answer_of(ID, given_)
    return [e.pointer for e in refused.value.errors]


# --- what must hold whatever the numbers --------------------------------------------------------------------------

inside_leaving = st.floats(2, 12)
inside_ambient = st.floats(20, 46)


@settings(max_examples=20)
@given(leaving=inside_leaving, one=inside_ambient, other=inside_ambient)
def test_hotter_air_never_gives_more(answer_of, leaving, one, other):
    cool, hot = sorted((one, other))
    a, b = (answer_of(ID, ask(leaving, t))["results"] for t in (cool, hot))
    assert b["capacity"]["value"] <= a["capacity"]["value"] * (1 + 1e-9)
    assert b["power"]["value"] >= a["power"]["value"] * (1 - 1e-9)


@settings(max_examples=25)
@given(one=st.floats(22, 49), other=st.floats(22, 49))
def test_hotter_air_never_gives_more_by_estimate(answer_of, one, other):
    cool, hot = sorted((one, other))
    a, b = (answer_of(ID, estimate(7, t))["results"] for t in (cool, hot))
    assert b["capacity"]["value"] <= a["capacity"]["value"] * (1 + 1e-7)


@settings(max_examples=20)
@given(leaving=inside_leaving, ambient=inside_ambient)
def test_units_change_nothing(answer_of, leaving, ambient):
    metric = answer_of(ID, ask(leaving, ambient))["results"]
    in_us = ask(leaving, ambient)
    for name, value in (("leaving_liquid_temperature", leaving), ("ambient_temperature", ambient)):
        in_us["conditions"][name] = {"value": value * 1.8 + 32, "unit": "degF"}
    table = copy.deepcopy(TABLE)
    for axis in ("leaving_liquid_temperature", "ambient_temperature"):
        table[axis] = {"values": [v + 273.15 for v in table[axis]["values"]], "unit": "K"}
    table["power"] = {"values": [[v * 1000 for v in row] for row in table["power"]["values"]], "unit": "W"}
    in_us["machine"] = {"rating_table": table}
    same = answer_of(ID, in_us)["results"]
    for name in ("capacity", "power", "flow"):
        assert same[name]["value"] == pytest.approx(metric[name]["value"], rel=1e-9)
    assert answer_of(ID, in_us, units="us")["results"]["capacity"]["unit"] == "ton"


@settings(max_examples=20)
@given(leaving=inside_leaving, ambient=inside_ambient)
def test_reading_lies_between_its_corners(answer_of, leaving, ambient):
    value = answer_of(ID, ask(leaving, ambient))["results"]["capacity"]["value"]
    assert 262 <= value <= 459


@settings(max_examples=20)
@given(altitude=st.floats(0, 2500), airflow=st.floats(0.7, 1.0), rise=st.floats(0, 3), fouling=st.floats(1.8e-5, 1e-4))
def test_penalties_only_ever_cost(answer_of, altitude, airflow, rise, fouling):
    given_ = ask(
        8,
        30,
        altitude={"value": altitude, "unit": "m"},
        condenser_airflow_ratio=airflow,
        recirculation_temperature_rise={"value": rise, "unit": "delta_degC"},
        fouling_resistance={"value": fouling, "unit": "m2.K/W"},
    )
    clean = answer_of(ID, ask(8, 30))["results"]["capacity"]["value"]
    results = answer_of(ID, given_)["results"]
    assert results["capacity"]["value"] <= clean * (1 + 1e-6)
    assert results["effective_ambient_temperature"]["value"] >= 30 - 1e-6
    assert results["effective_leaving_liquid_temperature"]["value"] <= 8 + 1e-3


@given(leaving=inside_leaving, ambient=inside_ambient, flow=st.floats(8, 30))
def test_heat_and_flow_close(answer_of, leaving, ambient, flow):
    from coldwright_refrigeration.shared.given import WATER
    from coldwright_refrigeration.shared.liquids import volumetric_heat

    results = answer_of(ID, ask(leaving, ambient, flow={"value": flow, "unit": "L/s"}))["results"]
    warmer = results["entering_liquid_temperature"]["value"] - leaving
    heat = flow / 1000 * volumetric_heat(WATER, leaving + warmer / 2 + 273.15) * warmer / 1000
    assert heat == pytest.approx(results["capacity"]["value"], rel=1e-6)


def test_slopes_are_those_of_the_cell(answer_of):
    results = answer_of(ID, ask(7, 35))["results"]
    step = 0.01
    for name, moved in (
        ("capacity_per_degree_ambient", ask(7, 35 + step)),
        ("capacity_per_degree_leaving", ask(7 + step, 35)),
    ):
        other = answer_of(ID, moved)["results"]["capacity"]["value"]
        slope = (other / results["capacity"]["value"] - 1) / step
        assert results["sensitivity"][name] == pytest.approx(slope, rel=1e-6)


@pytest.mark.parametrize("refrigerant", ["R-410A", "R-513A", "R-1234ze(E)", "R-32", "R-454B"])
def test_slopes_of_the_estimate(answer_of, refrigerant):
    machine = {"rated_point": RATED | {"refrigerant": refrigerant}}
    results = answer_of(ID, estimate(7, 38, machine))["results"]
    other = answer_of(ID, estimate(7, 38.5, machine))["results"]["capacity"]["value"]
    slope = (other / results["capacity"]["value"] - 1) / 0.5
    assert results["sensitivity"]["capacity_per_degree_ambient"] == pytest.approx(slope, rel=0.05)
    warmer = answer_of(ID, estimate(7.5, 38, machine))["results"]["capacity"]["value"]
    slope = (warmer / results["capacity"]["value"] - 1) / 0.5
    assert slope > 0.02
    assert results["sensitivity"]["capacity_per_degree_leaving"] == pytest.approx(slope, rel=0.05)


# --- findings ---------------------------------------------------------------------------------------------------

ENVELOPE = {
    "leaving_minimum": celsius(5),
    "leaving_maximum": celsius(11),
    "entering_maximum": celsius(14),
    "ambient_minimum": celsius(21),
    "ambient_maximum": celsius(44),
    "flow_minimum": {"value": 8, "unit": "L/s"},
    "flow_maximum": {"value": 30, "unit": "L/s"},
    "voltage_ratio_minimum": 0.95,
    "voltage_ratio_maximum": 1.05,
}


@pytest.mark.parametrize(
    ("leaving", "ambient", "more", "field"),
    [
        (4.6, 30, {}, "leaving_liquid_temperature"),
        (11.5, 30, {"temperature_difference": {"value": 4, "unit": "delta_degC"}}, "leaving_liquid_temperature"),
        (7, 20.5, {}, "ambient_temperature"),
        (7, 44.5, {}, "ambient_temperature"),
        (7, 43.5, {"recirculation_temperature_rise": {"value": 1, "unit": "delta_degC"}}, "ambient_temperature"),
        (7, 30, {"flow": {"value": 7, "unit": "L/s"}}, "flow"),
        (7, 30, {"flow": {"value": 31, "unit": "L/s"}}, "flow"),
        (7, 30, {"voltage_ratio": 0.94}, "voltage_ratio"),
        (7, 30, {"voltage_ratio": 1.06}, "voltage_ratio"),
    ],
)
def test_outside_the_envelope(answer_of, leaving, ambient, more, field):
    answer = answer_of(ID, ask(leaving, ambient, {"envelope": ENVELOPE}, **more))
    broken = [f for f in answer["findings"] if f["code"] == "outside_envelope"]
    assert [f["field"] for f in broken] == [f"/conditions/{field}"]
    assert answer["outcome"] == "unacceptable"
    assert answer["results"]["in_envelope"] is False


def test_inside_the_envelope(answer_of):
    assert answer_of(ID, ask(machine={"envelope": ENVELOPE}))["results"]["in_envelope"] is True
    assert "in_envelope" not in answer_of(ID, ask())["results"]


def test_hot_start_is_a_check(answer_of):
    answer = answer_of(ID, ask(10, machine={"envelope": ENVELOPE}))
    assert codes(answer) == {"entering_above_maximum": "check"}
    assert answer["results"]["in_envelope"] is False
    assert answer["outcome"] == "conditional"


def test_cold_air_asks_for_head_pressure_control(answer_of):
    envelope = {"ambient_minimum_without_head_pressure_control": celsius(23)}
    assert codes(answer_of(ID, ask(7, 22, {"envelope": envelope}))) == {
        "ambient_low_without_head_pressure_control": "check"
    }
    held = answer_of(ID, ask(7, 22, {"envelope": envelope, "head_pressure_control": True}))
    assert codes(held) == {}


def test_plain_water_too_cold(answer_of):
    """4.4 degC and 40 degF are one limit."""
    code = "leaving_too_cold_without_antifreeze"
    assert codes(answer_of(ID, ask(4.39)))[code] == "stop"
    assert code not in codes(answer_of(ID, ask(4.4)))
    glycol = ask(3.0, fluid={"kind": "ethylene_glycol", "mass_fraction": 0.25})
    assert code not in codes(answer_of(ID, glycol))


def test_voltage(answer_of):
    assert codes(answer_of(ID, ask(voltage_ratio=0.89))) == {"voltage_outside_tolerance": "stop"}
    assert codes(answer_of(ID, ask(voltage_ratio=1.1))) == {}


def test_capacity_that_rises_with_the_air(answer_of):
    table = copy.deepcopy(TABLE)
    table["capacity"]["values"][1][2] = 367
    answer = answer_of(ID, ask(machine={"rating_table": table}))
    assert codes(answer) == {"capacity_rises_with_ambient": "check"}


def test_antifreeze_without_factors(answer_of):
    plain = answer_of(ID, ask())["results"]
    answer = answer_of(ID, ask(fluid={"kind": "propylene_glycol", "mass_fraction": 0.3}))
    assert codes(answer) == {"antifreeze_factors_missing": "check"}
    assert answer["results"]["uncertainty"] == pytest.approx(0.05)
    assert answer["results"]["capacity"] == plain["capacity"]
    assert answer["results"]["corrections"] == []
    assert answer["results"]["flow"]["value"] > plain["flow"]["value"]


def test_factors_of_the_machine_prevail(answer_of):
    rows = [
        {"mass_fraction": 0, "capacity_factor": 1, "power_factor": 1},
        {"mass_fraction": 0.4, "capacity_factor": 0.96, "power_factor": 0.98},
    ]
    fluid = {"kind": "propylene_glycol", "mass_fraction": 0.3}
    plain = answer_of(ID, ask())["results"]
    answer = answer_of(ID, ask(machine={"corrections": {"antifreeze": rows}}, fluid=fluid))
    assert codes(answer) == {}
    assert answer["results"]["capacity"]["value"] == pytest.approx(0.97 * plain["capacity"]["value"])
    assert answer["results"]["power"]["value"] == pytest.approx(0.985 * plain["power"]["value"])
    assert answer["results"]["corrections"] == [{"name": "antifreeze", "capacity_factor": 0.97, "power_factor": 0.985}]


@pytest.mark.parametrize(
    ("table", "rows", "more", "name"),
    [
        (
            "altitude",
            [
                {"altitude": {"value": 0, "unit": "m"}, "capacity_factor": 1, "power_factor": 1},
                {"altitude": {"value": 2000, "unit": "m"}, "capacity_factor": 0.9, "power_factor": 1.1},
            ],
            {"altitude": {"value": 1000, "unit": "m"}},
            "condenser_air",
        ),
        (
            "range",
            [
                {
                    "temperature_difference": {"value": 4, "unit": "delta_degC"},
                    "capacity_factor": 1.1,
                    "power_factor": 1,
                },
                {
                    "temperature_difference": {"value": 8, "unit": "delta_degC"},
                    "capacity_factor": 0.8,
                    "power_factor": 1.2,
                },
            ],
            {"temperature_difference": {"value": 6, "unit": "delta_degC"}},
            "range",
        ),
        (
            "fouling",
            [
                {"fouling_resistance": {"value": 0, "unit": "m2.K/W"}, "capacity_factor": 1, "power_factor": 1},
                {"fouling_resistance": {"value": 1e-4, "unit": "m2.K/W"}, "capacity_factor": 0.9, "power_factor": 1.1},
            ],
            {"fouling_resistance": {"value": 5e-5, "unit": "m2.K/W"}},
            "fouling",
        ),
    ],
)
def test_each_table_of_factors(answer_of, table, rows, more, name):
    plain = answer_of(ID, ask())["results"]["capacity"]["value"]
    results = answer_of(ID, ask(machine={"corrections": {table: rows}}, **more))["results"]
    assert results["capacity"]["value"] == pytest.approx(0.95 * plain)
    assert [c["name"] for c in results["corrections"]] == [name]
    assert results["effective_ambient_temperature"]["value"] == pytest.approx(35)


def test_slower_supply(answer_of):
    plain = answer_of(ID, ask(7, 32))["results"]
    answer = answer_of(ID, ask(7, 32, frequency={"value": 50, "unit": "Hz"}))
    assert codes(answer) == {"frequency_below_rating": "check"}
    assert answer["results"]["uncertainty"] == pytest.approx(0.03)
    names = {c["name"]: c for c in answer["results"]["corrections"]}
    assert names["frequency"]["capacity_factor"] == pytest.approx(50 / 60)
    assert names["condenser_air"]["ambient_shift"]["value"] > 0
    assert answer["results"]["capacity"]["value"] < 50 / 60 * plain["capacity"]["value"]
    assert pointers(answer_of, ask(frequency={"value": 61, "unit": "Hz"})) == ["#/conditions/frequency"]


def test_range(answer_of):
    near = answer_of(ID, ask(temperature_difference={"value": 8, "unit": "delta_degC"}))
    assert codes(near) == {"range_differs_from_rating": "note"}
    assert near["results"]["capacity"] == answer_of(ID, ask())["results"]["capacity"]
    far = answer_of(ID, ask(temperature_difference={"value": 14, "unit": "delta_degC"}))
    assert codes(far) == {"range_far_from_rating": "check"}
    (correction,) = far["results"]["corrections"]
    assert 0 < correction["leaving_shift"]["value"] < 0.5, "less flow, more transfer units, a slightly closer approach"
    narrow = answer_of(ID, ask(temperature_difference={"value": 2.5, "unit": "delta_degC"}))["results"]
    assert 0 < narrow["corrections"][0]["leaving_shift"]["value"] < 0.6


def test_range_in_the_estimate(answer_of):
    wide = answer_of(ID, estimate(temperature_difference={"value": 9, "unit": "delta_degC"}))
    assert codes(wide)["range_differs_from_rating"] == "note"
    flow = wide["results"]["flow"]
    again = answer_of(ID, estimate(flow=flow))["results"]
    assert again["capacity"]["value"] == pytest.approx(wide["results"]["capacity"]["value"], rel=1e-3)


def test_notes(answer_of):
    table = copy.deepcopy(TABLE) | {"basis": {"power_includes_fans": False}}
    answer = answer_of(ID, ask(machine={"rating_table": table, "rated_point": RATED}))
    assert codes(answer) == {"rated_point_not_used": "note", "power_excludes_fans": "note"}
    assert codes(answer_of(ID, estimate())) == {"estimated_without_table": "note"}
    assumed = {a["code"] for a in answer_of(ID, ask())["assumptions"]}
    assert "default:/machine/rating_table/basis" in assumed


def test_estimate_is_less_sure_further_away(answer_of):
    found = [answer_of(ID, estimate(7, t))["results"]["uncertainty"] for t in (38, 44, 49)]
    assert found == [0.05, 0.08, 0.12]


# --- refusals -----------------------------------------------------------------------------------------------------


def test_needs_a_table_or_a_point(answer_of):
    given_ = ask()
    given_["machine"] = {}
    assert pointers(answer_of, given_) == ["#/machine/rating_table"]


def test_shape_of_the_table(answer_of):
    table = copy.deepcopy(TABLE)
    table["capacity"]["values"][2].pop()
    table["power"]["values"].pop()
    table["leaving_liquid_temperature"]["values"][1] = 2
    assert pointers(answer_of, ask(machine={"rating_table": table})) == [
        "#/machine/rating_table/leaving_liquid_temperature/values/1",
        "#/machine/rating_table/capacity/values/2",
        "#/machine/rating_table/power/values",
    ]
    table = copy.deepcopy(TABLE)
    table["power"]["values"][0][0] = 0
    assert pointers(answer_of, ask(machine={"rating_table": table})) == ["#/machine/rating_table/power/values/0/0"]


@given(leaving=st.floats(-0.5, 20), ambient=st.floats(10, 55))
def test_inside_is_answered_and_outside_refused(answer_of, leaving, ambient):
    glycol = {"kind": "propylene_glycol", "mass_fraction": 0.3}
    given_ = ask(leaving, ambient, fluid=glycol)
    if 2 <= leaving <= 12 and 20 <= ambient <= 46:
        assert answer_of(ID, given_)["results"]["capacity"]["value"] > 0
    else:
        wrong = []
        if not 2 <= leaving <= 12:
            wrong.append("#/conditions/leaving_liquid_temperature")
        if not 20 <= ambient <= 46:
            wrong.append("#/conditions/ambient_temperature")
        with pytest.raises(Refused) as refused:
            answer_of(ID, given_)
        assert [e.pointer for e in refused.value.errors] == wrong


def test_a_shifted_point_outside_is_refused(answer_of):
    given_ = ask(7, 45, recirculation_temperature_rise={"value": 1.5, "unit": "delta_degC"})
    with pytest.raises(Refused) as refused:
        answer_of(ID, given_)
    (error,) = refused.value.errors
    assert error.pointer == "#/conditions/ambient_temperature"
    assert error.value.value == pytest.approx(45), "as it was sent"
    assert error.allowed
    assert error.allowed.unit == "degC"
    assert (error.allowed.minimum, error.allowed.maximum) == pytest.approx((20 - 1.5, 46 - 1.5)), "as it is sent"
    assert "46.5 degC" in error.detail


def test_limits_of_an_estimate_are_of_what_is_sent(answer_of):
    """Penalties move the point: what is left of the 15 and 8 K about the rated point of 35 and 7 degC, as it is to be sent."""
    warm = estimate(7, 49, recirculation_temperature_rise={"value": 2.5, "unit": "delta_degC"})
    fouled = estimate(-0.5, 35, fouling_resistance={"value": 1e-4 + 1.7611e-5, "unit": "m2.K/W"})
    fouled["conditions"]["fluid"] = {"kind": "ethylene_glycol", "mass_fraction": 0.3}
    for given_, name, sent, least, most in (
        (warm, "ambient_temperature", 49, 17.5, 47.5),
        (fouled, "leaving_liquid_temperature", -0.5, 1, 17),
    ):
        with pytest.raises(Refused) as refused:
            answer_of(ID, given_)
        (error,) = refused.value.errors
        assert error.pointer == f"#/conditions/{name}"
        assert error.value.value == pytest.approx(sent)
        assert error.allowed
        assert (error.allowed.minimum, error.allowed.maximum) == pytest.approx((least, most), abs=2e-3)


def test_other_refusals(answer_of):
    both = ask(flow={"value": 15, "unit": "L/s"}, temperature_difference={"value": 5, "unit": "delta_degC"})
    assert pointers(answer_of, both) == ["#/conditions/flow"]
    assert pointers(answer_of, ask(flow={"value": 500, "unit": "L/s"})) == ["#/conditions/flow"]
    assert pointers(answer_of, ask(fluid={"kind": "water", "mass_fraction": 0.2})) == [
        "#/conditions/fluid/mass_fraction"
    ]
    assert pointers(answer_of, ask(fluid={"kind": "propylene_glycol"})) == ["#/conditions/fluid/mass_fraction"]
    assert pointers(answer_of, ask(-20, fluid={"kind": "propylene_glycol", "mass_fraction": 0.3})) == [
        "#/conditions/leaving_liquid_temperature"
    ]
    crossed = {"envelope": {"ambient_minimum": celsius(40), "ambient_maximum": celsius(30)}}
    assert pointers(answer_of, ask(machine=crossed)) == ["#/machine/envelope/ambient_minimum"]


def test_factors_are_not_extrapolated(answer_of):
    rows = [{"mass_fraction": 0.1, "capacity_factor": 0.99, "power_factor": 1}]
    fluid = {"kind": "propylene_glycol", "mass_fraction": 0.3}
    given_ = ask(machine={"corrections": {"antifreeze": rows}}, fluid=fluid)
    assert pointers(answer_of, given_) == ["#/conditions/fluid/mass_fraction"]
    rows = [*rows, {"mass_fraction": 0.05, "capacity_factor": 0.98, "power_factor": 1}]
    given_ = ask(machine={"corrections": {"antifreeze": rows}}, fluid=fluid)
    assert pointers(answer_of, given_) == ["#/machine/corrections/antifreeze/1/mass_fraction"]


def test_estimate_refuses_what_it_cannot_reach(answer_of):
    assert pointers(answer_of, estimate(7, 51)) == ["#/conditions/ambient_temperature"]
    assert pointers(answer_of, estimate(16, 35)) == ["#/conditions/leaving_liquid_temperature"]
    wrong = RATED | {"power": {"value": 70, "unit": "kW"}}
    assert pointers(answer_of, estimate(machine={"rated_point": wrong})) == ["#/machine/rated_point/power"]
    wrong = RATED | {"refrigerant": "R-410a"}
    assert pointers(answer_of, estimate(machine={"rated_point": wrong})) == ["#/machine/rated_point/refrigerant"]
    hot = RATED | {"refrigerant": "R-410A", "ambient_temperature": celsius(49)}
    found = estimate(7, 50, {"rated_point": hot}, condenser_airflow_ratio=0.4)
    assert pointers(answer_of, found)[0] in ("#/conditions", "#/machine/rated_point", "#/machine/rated_point/power")


@settings(max_examples=40)
@given(
    refrigerant=st.sampled_from(["R-22", "R-410A", "R-454B", "R-717", "R-1233zd(E)", "R-290", "R-404A"]),
    capacity=st.floats(20, 1000),
    share=st.floats(0.15, 0.7),
    rated_ambient=st.floats(5, 50),
    off=st.floats(-15, 15),
    leaving=st.floats(0.6, 20),
    airflow=st.floats(0.3, 1.2),
)
def test_the_estimate_answers_or_refuses(answer_of, refrigerant, capacity, share, rated_ambient, off, leaving, airflow):
    rated = RATED | {
        "refrigerant": refrigerant,
        "capacity": {"value": capacity, "unit": "kW"},
        "power": {"value": capacity * share, "unit": "kW"},
        "ambient_temperature": celsius(rated_ambient),
    }
    errors: tuple[FieldError, ...] = ()
    results: dict[str, Any] = {}
    try:
        results = answer_of(
            ID, estimate(leaving, rated_ambient + off, {"rated_point": rated}, condenser_airflow_ratio=airflow)
        )["results"]
    except Refused as refused:
        errors = refused.errors
    assert all(e.pointer.startswith(("#/conditions", "#/machine/rated_point")) for e in errors)
    assert errors or min(results["capacity"]["value"], results["power"]["value"]) > 0
