"""hydronic.fill: what must hold whatever is asked."""

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from coldwright.contract import Refused

WATER = {"kind": "water", "temperature": {"value": 10, "unit": "degC"}}
PROPYLENE = {"kind": "propylene_glycol", "mass_fraction": 0.3, "temperature": {"value": 10, "unit": "degC"}}


def _q(value, unit):
    return {"value": value, "unit": unit}


def _given(**more):
    return {
        "fluid": WATER,
        "vessels": [{"name": "loop", "volume": _q(1000, "L")}],
        "can_be_shut_in": False,
        **more,
    }


def _answer(answer_of, units="metric", **more):
    return answer_of("hydronic.fill", _given(**more), units=units)


def _results(answer_of, **more):
    return _answer(answer_of, **more)["results"]


def _codes(answer):
    return {(f["severity"], f["code"]) for f in answer["findings"]}


PARTS = st.lists(st.tuples(st.floats(12, 300), st.floats(0.5, 500), st.integers(1, 6)), max_size=5)
VESSELS = st.lists(st.tuples(st.floats(0.1, 5000), st.integers(1, 9)), min_size=1, max_size=5)


@given(lines=PARTS, vessels=VESSELS, flow=st.floats(0.05, 20))
def test_no_water_is_made_or_lost(answer_of, lines, vessels, flow):
    """The parts make the whole, what the tap gave in the fill time is the whole, and a meter that ran so far agrees."""
    more = {
        "lines": [
            {"name": "l", "inner_diameter": _q(d, "mm"), "length": _q(n, "m"), "parallel_runs": r} for d, n, r in lines
        ],
        "vessels": [{"name": "v", "volume": _q(v, "L"), "count": c} for v, c in vessels],
        "tap": {"flow": _q(flow, "L/s")},
    }
    results = _results(answer_of, **more)
    total = results["total_volume"]["value"]
    assert [e["name"] for e in results["elements"]] == ["l"] * len(lines) + ["v"] * len(vessels)
    assert sum(e["volume"]["value"] for e in results["elements"]) == pytest.approx(total, rel=1e-9)
    assert results["fill_time"]["value"] * 60 * flow == pytest.approx(total, rel=1e-9)
    metered = _results(answer_of, **more, meter={"start": _q(500, "L"), "end": _q(500 + total, "L")})
    assert metered["meter_difference_fraction"] == pytest.approx(0, abs=1e-9)


@given(high=st.floats(-50, 100), fill=st.floats(-50, 100), machine=st.floats(-50, 100), top=st.floats(0, 150))
def test_the_required_pressure_leaves_just_the_top_pressure(answer_of, high, fill, machine, top):
    heights = {
        "high_point_elevation": _q(high, "m"),
        "fill_point_elevation": _q(fill, "m"),
        "machine_elevation": _q(machine, "m"),
        "minimum_top_pressure": _q(top, "kPa"),
    }
    required = _results(answer_of, **heights)["required_fill_pressure"]
    answer = _answer(answer_of, **heights, fill_pressure=required)
    results = answer["results"]
    assert results["top_pressure"]["value"] == pytest.approx(top, abs=1e-6)
    assert results["static_pressure"]["value"] >= 0
    assert ("stop", "fill_pressure_low") not in _codes(answer)
    served = results["height_served"]["value"] + machine
    assert served == pytest.approx(max(high, fill, machine), abs=1e-6)


def test_fill_point_on_the_roof_is_the_top(answer_of):
    more = {"high_point_elevation": _q(5, "m"), "fill_point_elevation": _q(20, "m")}
    answer = _answer(answer_of, **more)
    assert answer["results"]["required_fill_pressure"]["value"] == pytest.approx(35)
    assert answer["results"]["static_pressure"]["value"] == 0
    assert ("note", "top_is_not_the_high_point") in _codes(answer)


def test_suction_need_is_referred_to_the_fill_point(answer_of):
    more = {
        "high_point_elevation": _q(2, "m"),
        "machine_elevation": _q(-3, "m"),
        "pump_suction_pressure_minimum": _q(300, "kPa"),
    }
    required = _results(answer_of, **more)["required_fill_pressure"]["value"]
    assert required == pytest.approx(300 - 3 * 999.8 * 9.80665 / 1e3, rel=1e-4)


@given(
    cold=st.floats(1, 60),
    warm=st.floats(1, 94),
    low=st.floats(0, 1000),
    rise=st.floats(1, 1000),
    alpha=st.floats(0, 2e-5),
    kind=st.sampled_from(["diaphragm", "air_water"]),
)
def test_the_vessel_takes_just_the_expansion(answer_of, cold, warm, low, rise, alpha, kind):
    assume(warm > cold + 0.1)
    plan = {
        "lowest_temperature": _q(cold, "degC"),
        "highest_temperature": _q(warm, "degC"),
        "linear_expansion_coefficient": alpha,
        "vessel_type": kind,
        "minimum_pressure": _q(low, "kPa"),
        "maximum_pressure": _q(low + rise, "kPa"),
    }
    results = _results(answer_of, expansion=plan)
    grown = results["expansion_volume"]["value"]
    assert grown == pytest.approx(1000 * results["expansion_fraction"], rel=1e-9, abs=1e-9)
    taken = results["vessel_volume"]["value"] * results["acceptance_factor"]
    assert taken == pytest.approx(max(grown, 0), rel=1e-9, abs=1e-9)
    assert 0 < results["acceptance_factor"] < 1 + 1e-9
    assert results.get("trapped_liquid_pressure_rise", {"value": 1})["value"] > 0


@given(volume=st.floats(10, 5000), fraction=st.floats(0, 1), load=st.floats(0, 80), off=st.floats(0.5, 30))
def test_buffer_closes_the_gap(answer_of, volume, fraction, load, off):
    results = _results(
        answer_of,
        vessels=[{"name": "loop", "volume": _q(volume, "L")}],
        cycling={
            "step_capacity": _q(60, "kW"),
            "minimum_load": _q(load, "kW"),
            "minimum_run_time": _q(4, "min"),
            "minimum_off_time": _q(off, "min"),
            "starts_per_hour": 8,
            "effective_fraction": fraction,
        },
    )
    least, buffer = results["minimum_loop_volume"]["value"], results["buffer_volume"]["value"]
    assert buffer == pytest.approx(max(0, least - fraction * volume), abs=1e-6)
    held = 999.8 * 4195 * 2
    rules = {
        "run_time": max(0, 60e3 - load * 1e3) * 240 / held,
        "off_time": load * 1e3 * off * 60 / held,
        "starts_per_hour": 60e3 * 450 / (4 * held),
    }
    assert least == pytest.approx(1e3 * max(rules.values()), rel=2e-3)
    assert rules[results["governing_rule"]] == pytest.approx(max(rules.values()), rel=2e-3)


def test_five_minutes_where_no_rule_is_given(answer_of):
    answer = _answer(answer_of, cycling={"step_capacity": _q(50, "kW")})
    assert answer["results"]["governing_rule"] == "run_time"
    assert "minimum_run_time" in {a["code"] for a in answer["assumptions"]}
    given_ = _results(answer_of, cycling={"step_capacity": _q(50, "kW"), "minimum_run_time": _q(5, "min")})
    assert given_["minimum_loop_volume"] == answer["results"]["minimum_loop_volume"]


def test_rule_of_thumb_stands_beside(answer_of):
    more = {"step_capacity": _q(50, "ton"), "rule_volume_per_capacity": _q(6, "gal/ton")}
    assert _results(answer_of, cycling=more)["rule_volume"]["value"] == pytest.approx(300 * 3.785411784, rel=1e-6)


@given(psi=st.floats(1, 150), feet=st.floats(-100, 300), gallons=st.floats(1, 1e4))
@settings(max_examples=25)
def test_units_change_nothing(answer_of, psi, feet, gallons):
    us = {
        "fluid": {"kind": "water", "temperature": _q(50, "degF")},
        "vessels": [{"name": "loop", "volume": _q(gallons, "gal")}],
        "high_point_elevation": _q(feet, "ft"),
        "fill_pressure": _q(psi, "psi"),
    }
    metric = {
        "vessels": [{"name": "loop", "volume": _q(gallons * 3.785411784, "L")}],
        "high_point_elevation": _q(feet * 0.3048, "m"),
        "fill_pressure": _q(psi * 6.894757293168361, "kPa"),
    }
    first, second = _results(answer_of, **us), _results(answer_of, **metric)
    for name in ("total_volume", "top_pressure", "required_fill_pressure", "height_served"):
        assert first[name]["value"] == pytest.approx(second[name]["value"], rel=1e-9, abs=1e-6)
    shown = _answer(answer_of, units="us", **us)["results"]
    assert shown["total_volume"] == {"value": pytest.approx(gallons, rel=1e-9), "unit": "gal"}
    assert shown["height_served"]["unit"] == "ft"


def test_tap(answer_of):
    def reached(**tap):
        return _results(answer_of, tap={"static_pressure": _q(400, "kPa"), **tap})["reachable_pressure"]["value"]

    assert reached() == 400
    assert reached(backflow_preventer="reduced_pressure") == pytest.approx(330)
    assert reached(backflow_preventer="double_check") == pytest.approx(365)
    assert reached(backflow_preventer="vented_intermediate") == pytest.approx(365)
    assert reached(backflow_preventer="hose_vacuum_breaker") == 400
    assert reached(backflow_preventer="air_gap") == 0
    assert reached(backflow_preventer="double_check", backflow_pressure_drop=_q(50, "kPa")) == pytest.approx(350)


def test_only_what_was_asked(answer_of):
    assert set(_results(answer_of)) == {"total_volume", "elements", "proposed_backflow_preventer"}


def test_custom_fluid_brings_only_what_is_needed(answer_of):
    assert _results(answer_of, fluid={"kind": "custom"})["total_volume"]["value"] == 1000
    brine = {"kind": "custom", "density": _q(1200, "kg/m3")}
    static = _results(answer_of, fluid=brine, high_point_elevation=_q(10, "m"))["static_pressure"]["value"]
    assert static == pytest.approx(1200 * 9.80665 * 10 / 1e3)


def test_water_that_shrinks_on_warming_is_not_squeezed(answer_of):
    plan = {"lowest_temperature": _q(1, "degC"), "highest_temperature": _q(3, "degC")}
    results = _results(answer_of, expansion=plan)
    assert results["expansion_fraction"] > 0  # it grows on cooling
    assert "trapped_liquid_pressure_rise" not in results


# --- findings ----------------------------------------------------------------------------------------------------

HOSE = {"name": "hose", "inner_diameter": _q(100, "mm"), "length": _q(100, "m")}


def _plan(**more):
    return {
        "lowest_temperature": _q(4, "degC"),
        "minimum_pressure": _q(200, "kPa"),
        "maximum_pressure": _q(500, "kPa"),
        **more,
    }


@pytest.mark.parametrize(
    ("more", "severity", "code"),
    [
        ({"high_point_elevation": _q(18, "m"), "fill_pressure": _q(200, "kPa")}, "stop", "fill_pressure_low"),
        ({"high_point_elevation": _q(18, "m"), "fill_pressure": _q(170, "kPa")}, "stop", "top_pressure_not_positive"),
        (
            {
                "fill_pressure": _q(300, "kPa"),
                "relief_valve_setting": _q(400, "kPa"),
                "pump_rise_at_relief": _q(70, "kPa"),
            },
            "stop",
            "relief_margin_used",
        ),
        (
            {"lines": [HOSE | {"working_pressure": _q(290, "kPa")}], "fill_pressure": _q(300, "kPa")},
            "stop",
            "rating_exceeded",
        ),
        (
            {"lines": [HOSE | {"working_pressure": _q(490, "kPa")}], "expansion": _plan()},
            "stop",
            "rating_exceeded",
        ),
        (
            {"lines": [HOSE | {"working_pressure": _q(200, "kPa")}], "high_point_elevation": _q(18, "m")},
            "stop",
            "height_above_rating",
        ),
        ({"fluid": PROPYLENE, "tap": {"backflow_preventer": "vented_intermediate"}}, "stop", "backflow_not_enough"),
        ({"treated": True, "tap": {"backflow_preventer": "none"}}, "stop", "backflow_not_enough"),
        ({"fluid": PROPYLENE, "tap": {"backflow_preventer": "double_check"}}, "check", "backflow_not_enough"),
        ({"tap": {"backflow_preventer": "none"}}, "check", "backflow_not_enough"),
        ({"can_be_shut_in": True}, "stop", "shut_in_without_relief"),
        ({"fill_pressure": _q(520, "kPa"), "expansion": _plan()}, "stop", "vessel_over_maximum"),
        ({"fill_pressure": _q(350, "kPa"), "expansion": _plan()}, "check", "vessel_already_full"),
        (
            {
                "high_point_elevation": _q(30, "m"),
                "tap": {"static_pressure": _q(350, "kPa"), "backflow_preventer": "reduced_pressure"},
            },
            "check",
            "feed_pump_needed",
        ),
        ({"tap": {"flow": _q(0.06, "L/s")}}, "check", "long_fill"),
        ({"meter": {"start": _q(0, "L"), "end": _q(880, "L")}}, "check", "meter_differs"),
        ({"meter": {"start": _q(0, "L"), "end": _q(1110, "L")}}, "check", "meter_differs"),
        ({"expansion": _plan(minimum_pressure=_q(400, "kPa"))}, "check", "vessel_barely_works"),
        ({"cycling": {"step_capacity": _q(100, "kW")}}, "check", "buffer_needed"),
        (
            {"high_point_elevation": _q(18, "m"), "fill_pressure": _q(350, "kPa")},
            "check",
            "pressure_high_for_height",
        ),
        (
            {"expansion": _plan(highest_temperature=_q(9, "degC"), linear_expansion_coefficient=3e-4)},
            "note",
            "no_net_expansion",
        ),
        (
            {"high_point_elevation": _q(5, "m"), "machine_elevation": _q(12, "m")},
            "note",
            "top_is_not_the_high_point",
        ),
        ({}, "note", "shut_in_hose_in_the_sun"),
        ({"lines": [HOSE]}, "note", "lay_flat_swells"),
    ],
)
def test_finding(answer_of, more, severity, code):
    assert (severity, code) in _codes(_answer(answer_of, **more))


def test_not_known_whether_it_can_be_shut_in(answer_of):
    given_ = _given()
    del given_["can_be_shut_in"]
    assert ("check", "shut_in_without_relief") in _codes(answer_of("hydronic.fill", given_))
    relieved = given_ | {"relief_valve_setting": _q(600, "kPa")}
    assert "shut_in_without_relief" not in {c for _, c in _codes(answer_of("hydronic.fill", relieved))}


@pytest.mark.parametrize(
    "more",
    [
        {"high_point_elevation": _q(18, "m"), "fill_pressure": _q(230, "kPa"), "expansion": _plan()},
        {"fill_pressure": _q(300, "kPa"), "relief_valve_setting": _q(400, "kPa")},
        {"high_point_elevation": _q(25, "m"), "fill_pressure": _q(350, "kPa")},
        {"meter": {"start": _q(0, "L"), "end": _q(910, "L")}},
        {"cycling": {"step_capacity": _q(20, "kW")}},
        {"tap": {"flow": _q(0.08, "L/s"), "backflow_preventer": "double_check"}},
        {"fluid": PROPYLENE, "tap": {"backflow_preventer": "air_gap"}},
    ],
)
def test_quiet_when_sound(answer_of, more):
    assert _answer(answer_of, **more)["outcome"] == "acceptable"


# --- refusals ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("more", "pointer"),
    [
        ({"vessels": []}, "#/lines"),
        ({"expansion": _plan(maximum_pressure=_q(200, "kPa"))}, "#/expansion/maximum_pressure"),
        ({"expansion": _plan(highest_temperature=_q(4, "degC"))}, "#/expansion/highest_temperature"),
        ({"expansion": _plan(lowest_temperature=_q(0, "degC"))}, "#/expansion/lowest_temperature"),
        (
            {"expansion": _plan(lowest_temperature=_q(-20, "degC")), "fluid": PROPYLENE},
            "#/expansion/lowest_temperature",
        ),
        ({"expansion": _plan(highest_temperature=_q(96, "degC"))}, "#/expansion/highest_temperature"),
        ({"expansion": _plan(), "fluid": {"kind": "custom"}}, "#/expansion"),
        ({"cycling": {"step_capacity": _q(50, "kW"), "effective_fraction": 1.1}}, "#/cycling/effective_fraction"),
        ({"cycling": {"step_capacity": _q(50, "kW"), "effective_fraction": -0.1}}, "#/cycling/effective_fraction"),
        ({"meter": {"start": _q(10, "L"), "end": _q(5, "L")}}, "#/meter/end"),
        ({"minimum_top_pressure": _q(201, "kPa")}, "#/minimum_top_pressure"),
        ({"fluid": {"kind": "water"}}, "#/fluid/temperature"),
        ({"fluid": {"kind": "custom"}, "high_point_elevation": _q(5, "m")}, "#/fluid/density"),
        (
            {
                "fluid": {"kind": "custom", "density": _q(1000, "kg/m3")},
                "cycling": {"step_capacity": _q(50, "kW")},
            },
            "#/fluid/specific_heat",
        ),
    ],
)
def test_refusal(answer_of, more, pointer):
    with pytest.raises(Refused) as refused:
        _answer(answer_of, **more)
    assert pointer in [e.pointer for e in refused.value.errors]
