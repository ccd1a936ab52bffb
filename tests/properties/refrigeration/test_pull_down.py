"""How refrigeration.pull_down behaves: against stepping through time, findings, refusals."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from quantity import q

from coldwright.contract import Refused
from coldwright_refrigeration.pull_down.curve import Plant, run, starts

ID = "refrigeration.pull_down"


def c(value):
    return q(value, "degC")


def kw(value):
    return q(value, "kW")


def ask(machine=None, **more):
    return {
        "loop": {"volume": q(5000, "L"), "metal_mass": q(800, "kg")},
        "initial_temperature": c(25),
        "set_point": c(10),
        "machine": {"capacity": kw(200)} | (machine or {}),
    } | more


def codes(answer):
    always = {"volume_for_capacity", "well_mixed"}
    return {f["code"]: f["severity"] for f in answer["findings"] if f["code"] not in always}


def pointers(answer_of, asked):
    with pytest.raises(Refused) as refused:
        answer_of(ID, asked)
    return [e.pointer for e in refused.value.errors]


# --- against stepping through time --------------------------------------------------------------------------------


def stepped(plant, initial, target, first, delay, step, end):
    """The same loop by Heun's method; time at the target, or the temperature at the end."""
    temperature, time = initial, 0.0
    while time < end:
        stages = 0 if time < first - 1e-9 else plant.stages
        if stages and delay > 0:
            stages = min(plant.stages, 1 + int((time - first + 1e-9) / delay))
        one = plant.net(stages, temperature) / plant.heat_capacity
        other = plant.net(stages, temperature + one * step) / plant.heat_capacity
        after = temperature + step * (one + other) / 2
        if after <= target:
            return time + step * (temperature - target) / (temperature - after), target
        temperature, time = after, time + step
    return None, temperature


@settings(max_examples=40)
@given(
    load=st.floats(0, 250e3),
    gain=st.sampled_from([0.0, 500.0, 3000.0]),
    slope=st.sampled_from([0.0, 0.015, 0.03]),
    limit=st.sampled_from([float("inf"), 290.0, 296.0, 298.15, 300.0, 304.0]),
    stages=st.integers(1, 5),
    first=st.sampled_from([0.0, 100.0, 600.0]),
    delay=st.sampled_from([0.0, 60.0, 180.0]),
)
def test_curve_against_stepping(load, gain, slope, limit, stages, first, delay):
    plant = Plant(24e6, load, gain, 308.0, 200e3, stages, 283.15, slope, limit)
    on = starts(first, delay, stages)
    reaches = plant.net(stages, 283.15) < -1e-3 * plant.capacity
    horizon = float("inf") if reaches else 1800.0
    curve = run(plant, 298.15, 283.15, on, horizon)
    end = curve[-1].time + 5
    time, temperature = stepped(plant, 298.15, 283.15, first, delay, 0.5, end if end < 4e4 else 0)
    if end >= 4e4:
        return
    if reaches:
        assert curve[-1].temperature == 283.15
        assert time == pytest.approx(curve[-1].time, rel=2e-3, abs=1.0)
    elif plant.net(stages, 283.15) >= 0:
        assert time is None
        assert temperature == pytest.approx(curve[-1].temperature, abs=0.05)


@settings(max_examples=20)
@given(capacity=st.floats(50, 2000), load=st.floats(0, 500), stages=st.integers(1, 6))
def test_more_never_takes_longer(answer_of, capacity, load, stages):
    one = answer_of(ID, ask({"capacity": kw(capacity), "stages": stages}, load=kw(load)))["results"]
    other = answer_of(ID, ask({"capacity": kw(capacity * 1.1), "stages": stages}, load=kw(load)))["results"]
    if one["reaches_set_point"]:
        assert other["time_to_set_point"]["value"] <= one["time_to_set_point"]["value"] * (1 + 1e-9)
    assert one["reaches_set_point"] == (capacity > load * (1 + 1e-9))
    fewer = answer_of(ID, ask({"capacity": kw(capacity)}, load=kw(load)))["results"]
    if one["reaches_set_point"]:
        assert fewer["time_to_set_point"]["value"] <= one["time_to_set_point"]["value"] * (1 + 1e-9)


def test_curve_has_a_point_at_each_start(answer_of):
    results = answer_of(ID, ask({"stages": 3}, control={"first_start_delay": q(10, "min")}))["results"]
    points = results["curve"]
    assert [p["stages"] for p in points] == [0, 1, 2, 3, 3]
    assert [p["time"]["value"] for p in points[:-1]] == pytest.approx([0, 10, 13, 16])
    assert results["curve"][-1]["temperature"]["value"] == pytest.approx(10)
    at_once = answer_of(ID, ask({"stages": 3}, control={"stage_delay": q(0, "s")}))["results"]["curve"]
    assert [p["stages"] for p in at_once] == [3, 3]


@given(load=st.floats(1, 199))
def test_units_change_nothing(answer_of, load):
    one = answer_of(ID, ask(load=kw(load), low_load=kw(load)))["results"]
    asked = ask({"capacity": q(200e3, "W")}, load=q(load * 1e-3, "MW"), low_load=q(load * 1e3, "W"))
    asked |= {"initial_temperature": q(77, "degF"), "set_point": q(283.15, "K")}
    asked["loop"]["volume"] = q(5, "m3")
    other = answer_of(ID, asked)["results"]
    assert other["time_to_set_point"]["value"] == pytest.approx(one["time_to_set_point"]["value"], rel=1e-8)
    assert other["cycling"]["on_time"]["value"] == pytest.approx(one["cycling"]["on_time"]["value"], rel=1e-8)


@given(low=st.floats(1, 199), volume=st.floats(200, 20000))
def test_cycle_keeps_its_balance_and_its_timers(answer_of, low, volume):
    asked = ask(low_load=kw(low))
    asked["loop"] = {"volume": q(volume, "L")}
    cycling = answer_of(ID, asked)["results"]["cycling"]
    on, off = cycling["on_time"]["value"], cycling["off_time"]["value"]
    assert 200 * on == pytest.approx(low * (on + off)), "what runs takes out what comes in"
    assert on >= 3 * (1 - 1e-9)
    assert off >= 5 * (1 - 1e-9)
    assert cycling["temperature_swing"]["value"] >= 4 / 1.8 * (1 - 1e-9)
    assert cycling["starts_per_hour"] == pytest.approx(60 / (on + off))
    assert cycling["starts_per_hour"] <= cycling["worst_starts_per_hour"] * (1 + 1e-9)


# --- findings -----------------------------------------------------------------------------------------------------


def test_oil_heating(answer_of):
    answer = answer_of(ID, ask(oil_heated_since=q(40, "min")))
    assert codes(answer) == {"oil_heating_incomplete": "stop"}
    assert codes(answer_of(ID, ask(oil_heated_since=q(60, "min")))) == {}
    longer = ask(oil_heated_since=q(7, "h"), oil_heating_before_start=q(8, "h"))
    assert codes(answer_of(ID, longer)) == {"oil_heating_incomplete": "stop"}


def test_hot_start(answer_of):
    assert codes(answer_of(ID, ask({"maximum_entering_temperature": c(24)}))) == {"entering_above_maximum": "check"}
    assert codes(answer_of(ID, ask({"maximum_entering_temperature": c(25)}))) == {}


def test_cycling_findings(answer_of):
    asked = ask({"capacity": kw(200)}, low_load=kw(100), control={"anti_recycle_time": q(0, "s")})
    asked["loop"] = {"volume": q(1500, "L")}
    assert codes(answer_of(ID, asked)) == {"starts_above_allowed": "check", "volume_below_minimum": "check"}
    held_back = asked | {"control": {}}  # the timers keep the starts at 6 an hour; the loop is too small all the same
    answer = answer_of(ID, held_back)
    assert answer["results"]["cycling"]["starts_per_hour"] <= 6 < answer["results"]["cycling"]["worst_starts_per_hour"]
    assert codes(answer)["starts_above_allowed"] == "check"
    tolerant = ask(low_load=kw(100), process_tolerance=q(1, "delta_degC"))
    assert codes(answer_of(ID, tolerant)) == {"swing_above_tolerance": "check"}
    assert codes(answer_of(ID, ask(low_load=kw(200)))) == {"no_cycling": "note"}
    assert "cycling" not in answer_of(ID, ask(low_load=kw(200)))["results"]
    assert "cycling" not in answer_of(ID, ask())["results"]


def test_never_reached(answer_of):
    answer = answer_of(ID, ask(load=kw(200)))
    assert codes(answer) == {"set_point_not_reached": "stop"}
    assert answer["results"]["missing_capacity"]["value"] == 0
    assert "final_temperature" not in answer["results"]
    gain = {"coefficient": q(5, "kW/K"), "ambient_temperature": c(35)}
    answer = answer_of(ID, ask(load=kw(120), heat_gain=gain))["results"]
    assert answer["final_temperature"]["value"] == pytest.approx(35 - (200 - 120) / 5)
    assert answer["missing_capacity"]["value"] == pytest.approx(120 + 5 * 25 - 200)
    capped = {"capacity_slope": 0.05, "capacity_limit_temperature": c(12)}
    answer = answer_of(ID, ask(capped, load=kw(230), heat_gain=gain))["results"]
    assert answer["final_temperature"]["value"] == pytest.approx(35 - (220 - 230) / 5)


def test_a_long_wait_overheats_the_loop(answer_of):
    answer = answer_of(ID, ask(load=kw(150), control={"first_start_delay": q(12, "h")}))
    assert codes(answer) == {"loop_overheats": "stop"}


def test_heating_by_the_surroundings(answer_of):
    gain = {"coefficient": q(2, "kW/K"), "ambient_temperature": c(40)}
    with_gain = answer_of(ID, ask(heat_gain=gain))["results"]["time_to_set_point"]["value"]
    assert with_gain > answer_of(ID, ask())["results"]["time_to_set_point"]["value"]


# --- refusals -----------------------------------------------------------------------------------------------------


def test_refusals(answer_of):
    assert pointers(answer_of, ask(set_point=c(25))) == ["#/set_point"]
    assert pointers(answer_of, ask({"stages": 0})) == ["#/machine/stages"]
    asked = ask()
    asked["loop"]["volume"] = q(0, "L")
    assert pointers(answer_of, asked) == ["#/loop/volume"]
    assert pointers(answer_of, ask(set_point=c(-1))) == ["#/set_point"]
    asked = ask(set_point=c(-20))
    asked["loop"]["fluid"] = {"kind": "ethylene_glycol", "mass_fraction": 0.25}
    assert pointers(answer_of, asked) == ["#/set_point"]
    steep = {"capacity_slope": 0.1, "reference_temperature": c(25)}
    assert pointers(answer_of, ask(steep)) == ["#/machine/capacity_slope"]
    asked = ask()
    asked["loop"]["fluid"] = {"kind": "water", "mass_fraction": 0.25}
    assert pointers(answer_of, asked) == ["#/loop/fluid/mass_fraction"]
