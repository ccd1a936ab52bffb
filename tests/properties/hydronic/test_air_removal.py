"""hydronic.air_removal: what must hold whatever is asked."""

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from coldwright.contract import Refused

WATER = {"kind": "water", "temperature": {"value": 15, "unit": "degC"}}
ATMOSPHERE = 101.325


def _q(value, unit):
    return {"value": value, "unit": unit}


def _answer(answer_of, units="metric", **given_):
    return answer_of("hydronic.air_removal", {"fluid": WATER, **given_}, units=units)


def _results(answer_of, **given_):
    return _answer(answer_of, **given_)["results"]


def _codes(answer):
    return {(f["severity"], f["code"]) for f in answer["findings"]}


def _top_up(litres=20.0, before=100.0, after=200.0):
    return {
        "volume_added": _q(litres, "L"),
        "pressure_before": _q(before, "kPa"),
        "pressure_after": _q(after, "kPa"),
    }


def _line(**more):
    return {
        "name": "drop",
        "inner_diameter": _q(100, "mm"),
        "slope_angle": 45,
        "flow": _q(10, "L/s"),
        **more,
    }


@given(litres=st.floats(0.1, 500), before=st.floats(-50, 900), rise=st.floats(1, 900))
def test_boyle_closes(answer_of, litres, before, rise):
    """The air that came out, squeezed to the second pressure, leaves room for just the water that was added."""
    air = _results(answer_of, top_up=_top_up(litres, before, before + rise))["trapped_air_volume"]["value"]
    squeezed = air * (before + ATMOSPHERE) / (before + rise + ATMOSPHERE)
    assert air - squeezed == pytest.approx(litres, rel=1e-6)
    assert air >= litres * (1 - 1e-9)


@given(litres=st.floats(0.1, 100), loop=st.floats(1000, 100_000), flush=st.floats(0, 10))
def test_purge_makes_and_loses_no_water(answer_of, litres, loop, flush):
    """What is put in is what takes the air's place and what was pushed to drain."""
    results = _results(answer_of, top_up=_top_up(litres), loop_volume=_q(loop, "L"), flush_volumes=flush)
    assert results["makeup_volume"]["value"] == pytest.approx(
        results["top_up_volume"]["value"] + flush * loop, rel=1e-9
    )
    assert results["trapped_air_fraction"] == pytest.approx(results["trapped_air_volume"]["value"] / loop, rel=1e-9)


@given(
    temperature=st.floats(0, 60),
    warmer=st.floats(0, 60),
    pressure=st.floats(-50, 880),
    loop=st.floats(10, 1e5),
)
def test_air_is_set_free_only_where_less_is_held(answer_of, temperature, warmer, pressure, loop):
    results = _results(
        answer_of,
        supply_temperature=_q(temperature, "degC"),
        operating_temperature=_q(warmer, "degC"),
        operating_gauge_pressure=_q(pressure, "kPa"),
        loop_volume=_q(loop, "L"),
    )
    more = results["dissolved_air_at_fill"] > results["dissolved_air_at_operation"]
    assert (results["released_air_volume"]["value"] > 0) == more
    assert min(results["dissolved_air_at_fill"], results["dissolved_air_at_operation"]) > 0


@given(colder=st.floats(0, 60), warmer=st.floats(0, 60), low=st.floats(25, 1000), high=st.floats(25, 1000))
def test_cold_and_pressure_hold_air(answer_of, colder, warmer, low, high):
    assume(colder < warmer and low < high)

    def held(celsius, kilopascals):
        more = {"supply_temperature": _q(celsius, "degC"), "supply_absolute_pressure": _q(kilopascals, "kPa")}
        return _results(answer_of, **more)["dissolved_air_at_fill"]

    assert held(colder, high) >= held(warmer, high)
    assert held(warmer, high) > held(warmer, low)


@given(degrees=st.tuples(st.floats(0, 90), st.floats(0, 90)), bore=st.floats(12, 600), flow=st.floats(0, 500))
def test_steeper_needs_more(answer_of, degrees, bore, flow):
    lines = [_line(slope_angle=d, inner_diameter=_q(bore, "mm"), flow=_q(flow, "L/s")) for d in sorted(degrees)]
    gentle, steep = _results(answer_of, lines=lines)["lines"]
    assert steep["clearing_velocity"]["value"] >= gentle["clearing_velocity"]["value"] > 0
    assert gentle["clears"] or not steep["clears"]
    for line in (gentle, steep):
        wanted = max(line["clearing_velocity"]["value"], 0.6)
        if abs(line["velocity"]["value"] / wanted - 1) > 1e-9:
            assert line["clears"] == (line["velocity"]["value"] > wanted)


def test_runs_share_the_flow(answer_of):
    one, two = _results(answer_of, lines=[_line(), _line(parallel_runs=2)])["lines"]
    assert two["velocity"]["value"] == pytest.approx(one["velocity"]["value"] / 2)


@given(psi=st.floats(10, 100), feet=st.floats(0, 200))
@settings(max_examples=25)
def test_units_change_nothing(answer_of, psi, feet):
    us = {"reference_gauge_pressure": _q(psi, "psi"), "high_point_elevation": _q(feet, "ft")}
    metric = {
        "reference_gauge_pressure": _q(psi * 6.894757293168361, "kPa"),
        "high_point_elevation": _q(feet * 0.3048, "m"),
    }
    first, second = (_results(answer_of, **g)["top_pressure_pump_off"]["value"] for g in (us, metric))
    assert first == pytest.approx(second, rel=1e-9, abs=1e-9)
    shown = _answer(answer_of, units="us", **us)["results"]["top_pressure_pump_off"]
    assert shown["unit"] == "psi"
    assert shown["value"] == pytest.approx(first / 6.894757293168361, rel=1e-9, abs=1e-9)


def test_only_what_was_asked(answer_of):
    assert set(_results(answer_of)) == {"lines", "steps"}
    assert len(_results(answer_of)["steps"]) > 4


def test_glycol_is_said_to_be_taken_as_water(answer_of):
    fluid = {"kind": "propylene_glycol", "mass_fraction": 0.3, "temperature": _q(5, "degC")}
    answer = _answer(answer_of, fluid=fluid, supply_temperature=_q(10, "degC"))
    assert "air_as_in_water" in {a["code"] for a in answer["assumptions"]}


HIGH = {"high_point_elevation": _q(21, "m")}


@pytest.mark.parametrize(
    ("more", "severity", "code"),
    [
        (HIGH | {"reference_gauge_pressure": _q(200, "kPa")}, "stop", "top_pressure_not_positive"),
        (HIGH | {"reference_gauge_pressure": _q(230, "kPa")}, "check", "top_pressure_low"),
        ({"lines": [_line(flow=_q(5, "L/s"))]}, "check", "line_does_not_clear"),
        ({"lines": [_line(inner_diameter=_q(25, "mm"), flow=_q(0.27, "L/s"))]}, "check", "line_does_not_clear"),
        ({"top_up": _top_up(), "loop_volume": _q(3000, "L")}, "check", "air_left"),
        ({}, "note", "warming_frees_air"),
    ],
)
def test_finding(answer_of, more, severity, code):
    assert (severity, code) in _codes(_answer(answer_of, **more))


def test_quiet_when_done(answer_of):
    answer = _answer(
        answer_of,
        lines=[_line(flow=_q(12, "L/s"))],
        top_up=_top_up(litres=2),
        loop_volume=_q(3000, "L"),
        reference_gauge_pressure=_q(250, "kPa"),
        **HIGH,
    )
    assert answer["outcome"] == "acceptable"


@pytest.mark.parametrize(
    ("more", "pointer"),
    [
        ({"top_up": _top_up(after=100)}, "#/top_up/pressure_after"),
        ({"top_up": _top_up(after=50)}, "#/top_up/pressure_after"),
        (
            {"top_up": _top_up(before=-80), "atmospheric_pressure": _q(70, "kPa")},
            "#/top_up/pressure_before",
        ),
        ({"top_up": _top_up(after=100.1), "loop_volume": _q(3000, "L")}, "#/top_up"),
        ({"lines": [_line(slope_angle=90.1)]}, "#/lines/0/slope_angle"),
        ({"lines": [_line(slope_angle=-1)]}, "#/lines/0/slope_angle"),
        (
            {"operating_temperature": _q(50, "degC"), "operating_gauge_pressure": _q(-95, "kPa")},
            "#/operating_gauge_pressure",
        ),
        (
            {"supply_temperature": _q(50, "degC"), "supply_absolute_pressure": _q(10, "kPa")},
            "#/supply_absolute_pressure",
        ),
        ({"operating_temperature": _q(61, "degC")}, "#/operating_temperature"),
        ({"fluid": {"kind": "water"}}, "#/fluid/temperature"),
        (HIGH | {"fluid": {"kind": "custom"}}, "#/fluid/density"),
    ],
)
def test_refusal(answer_of, more, pointer):
    with pytest.raises(Refused) as refused:
        _answer(answer_of, **more)
    assert refused.value.errors[0].pointer == pointer
