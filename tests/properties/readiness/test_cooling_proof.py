"""Behaviour of `readiness.cooling_proof`: verdicts, troubles, refusals."""

import math
from typing import Any

import pytest
from hypothesis import given as forall
from hypothesis import strategies as st
from quantity import q

from coldwright.contract import Refused
from coldwright.contract.reading import convert
from coldwright_readiness.cooling_proof import cooling_proof
from coldwright_readiness.shared.given import PullDown
from coldwright_readiness.shared.pull_down import pull_down_seconds

ALWAYS: dict[str, Any] = {
    "fluid": {"kind": "water"},
    "flow": {"value": 8, "unit": "L/s"},
    "set_point": {"value": 7, "unit": "degC"},
    "evaluated_at": "2026-05-04T09:20:00Z",
}
FULL = 5.97
"""K of difference at which 200 kW come out of 8 L/s of water."""


def reading(leaving: float = 12.0, difference: float = FULL, started: str = "09:00", **changed: Any) -> dict[str, Any]:
    given = {
        **ALWAYS,
        "entering_temperature": q(leaving + difference, "degC"),
        "leaving_temperature": q(leaving, "degC"),
        "compressors": [{"id": "1", "capacity": q(200, "kW"), "started_at": f"2026-05-04T{started}:00Z"}],
        **changed,
    }
    return {k: v for k, v in given.items() if v is not None}


def trend(start: float, per_minute: float, minutes: range = range(10, 21)) -> list[dict[str, Any]]:
    return [
        {
            "at": f"2026-05-04T09:{m:02d}:00Z",
            "entering": q(start + per_minute * (m - 10) + FULL, "degC"),
            "leaving": q(start + per_minute * (m - 10), "degC"),
        }
        for m in minutes
    ]


COLD: dict[str, Any] = {"leaving": 7.5, "difference": 4.6}
VERDICTS = {
    "two minutes after the start": (reading(started="09:18"), "too_soon"),
    "before the loop went round": (reading(loop_volume=q(20, "m3")), "too_soon"),
    "falling at full capacity": (reading(), "proving"),
    "falling at six tenths": (reading(difference=0.6 * FULL), "slow"),
    "falling too slowly": (
        reading(samples=trend(12.1, -0.01), loop_volume=q(3, "m3")),
        "slow",
    ),
    "cold for ten minutes": (reading(**COLD, samples=trend(7.6, 0.0)), "proven"),
    "cold for nine minutes": (reading(**COLD, samples=trend(7.6, -0.001, range(11, 21))), "proving"),
    "unloading": (reading(7.2, 1.0, unloading=True), "proven"),
    "leaving warmer than entering": (reading(difference=-1.0), "trouble"),
    "not falling": (reading(samples=trend(12.0, 0.0)), "slow"),
    "too good": (reading(difference=1.3 * FULL), "proving"),
}


@pytest.mark.parametrize("case", VERDICTS)
def test_verdict(answer_of, case):
    given, verdict = VERDICTS[case]
    assert answer_of("readiness.cooling_proof", given)["results"]["verdict"] == verdict


FOUND = {
    ("low_flow", "stop"): reading(difference=1.6 * FULL, flow_minimum=q(9, "L/s")),
    ("low_flow", "check"): reading(difference=1.6 * FULL),
    ("near_freezing", "stop"): reading(3.2),
    ("no_cooling", "stop"): reading(difference=0.2 * FULL),
    ("sensors_or_hoses_swapped", "stop"): reading(difference=-0.6),
    ("heat_input_larger", "check"): reading(samples=trend(11.0, 0.1)),
    ("hot_air_recirculation", "check"): reading(
        difference=0.7 * FULL, ambient_temperature=q(30, "degC"), coil_air_temperature=q(33.5, "degC")
    ),
    ("refrigerant_short", "check"): reading(difference=0.65 * FULL),
    ("flow_too_high", "check"): reading(
        difference=0.5 * FULL,
        evaporator_pressure_drop=q(80, "kPa"),
        evaporator_pressure_drop_maximum=q(60, "kPa"),
    ),
    ("load_not_covered", "check"): reading(loop_volume=q(1, "m3"), load=q(250, "kW")),
    ("capacity_above_rating", "check"): reading(difference=1.3 * FULL),
    ("not_falling", "check"): reading(samples=trend(12.0, 0.0)),
    ("outside_fluid_data", "note"): reading(-5.0, 4.0),
}


def test_every_declared_finding_is_tried():
    assert set(FOUND) == {(k.code, s) for k in cooling_proof.findings.values() for s in k.severities}


@pytest.mark.parametrize("finding", FOUND, ids=lambda f: "-".join(f))
def test_finding(to_the_word, finding):
    answer = to_the_word("readiness.cooling_proof", FOUND[finding])
    assert finding in {(f["code"], f["severity"]) for f in answer["findings"]}
    if finding[1] == "stop":
        assert answer["results"]["verdict"] == "trouble"
        assert answer["results"]["next_compressor_advised"] is False


@pytest.mark.parametrize(("started", "minutes"), [("09:00", 20), ("09:12", 8)])
def test_how_long_a_compressor_ran_without_cooling_is_said(answer_of, started, minutes):
    """By hand: asked at 09:20."""
    answer = answer_of("readiness.cooling_proof", reading(difference=0.2 * FULL, started=started))
    (said,) = [f["statement"] for f in answer["findings"] if f["code"] == "no_cooling"]
    assert said.startswith(f"After {minutes} min the difference is ")


def test_troubles_keep_the_order_of_the_table(answer_of):
    results = answer_of("readiness.cooling_proof", reading(2.0, -1.0))["results"]
    assert [t["code"] for t in results["troubles"]] == ["near_freezing", "no_cooling", "sensors_or_hoses_swapped"]


def test_enough_flow_is_no_low_flow(answer_of):
    results = answer_of("readiness.cooling_proof", reading(difference=1.6 * FULL, flow_minimum=q(6, "L/s")))["results"]
    assert results["troubles"] == []


def test_refrigerant_is_suspected_only_where_the_flow_may_be_right(answer_of):
    """Too much flow explains a small difference by itself; a flow that nobody held to a limit is not called right."""
    short: dict[str, Any] = {"difference": 0.5 * FULL, "evaporator_pressure_drop": q(80, "kPa")}

    def troubles(**more: Any) -> dict[str, str]:
        results = answer_of("readiness.cooling_proof", reading(**short, **more))["results"]
        return {t["code"]: t["statement"] for t in results["troubles"]}

    assert set(troubles(evaporator_pressure_drop_maximum=q(60, "kPa"))) == {"flow_too_high"}
    assert "not known to be right" in troubles()["refrigerant_short"]
    assert "and the right flow" in troubles(flow_minimum=q(6, "L/s"))["refrigerant_short"]


def test_glycol_near_freezing(answer_of):
    fluid = {"kind": "propylene_glycol", "mass_fraction": 0.3}
    given = reading(-11.0, 5, fluid=fluid, set_point=q(-5, "degC"))
    assert [t["code"] for t in answer_of("readiness.cooling_proof", given)["results"]["troubles"]] == ["near_freezing"]
    warmer = reading(-9.0, 5, fluid=fluid, set_point=q(-5, "degC"))
    assert answer_of("readiness.cooling_proof", warmer)["results"]["troubles"] == []


def test_next_compressor(answer_of):
    slow = answer_of("readiness.cooling_proof", reading(samples=trend(12.5, -0.05)))["results"]
    assert slow["next_compressor_at"] == "2026-05-04T09:05:00Z"
    assert slow["next_compressor_advised"] is True
    fast = answer_of("readiness.cooling_proof", reading(samples=trend(20.0, -0.8)))["results"]
    assert fast["next_compressor_advised"] is False
    unknown = answer_of("readiness.cooling_proof", reading())["results"]
    assert unknown["next_compressor_advised"] is False
    resting = reading(samples=trend(12.5, -0.05), anti_recycle=q(25, "min"))
    assert answer_of("readiness.cooling_proof", resting)["results"]["next_compressor_advised"] is False


def test_already_there(answer_of):
    results = answer_of("readiness.cooling_proof", reading(6.9, 4.0, loop_volume=q(3, "m3")))["results"]
    assert results["time_to_set_point"]["value"] == 0


@forall(
    st.floats(-5, 40),
    st.floats(-10, 30),
    st.floats(0.1, 500),
    st.floats(0.01, 100),
    st.floats(0, 2e5),
    st.floats(-20, 60),
)
def test_numbers_stay_finite_and_times_grow_with_volume(leaving, difference, flow, volume, ua, driving):
    from coldwright.contract.evaluation import run
    from coldwright.contract.reading import convert

    def results(cubic_metres: float):
        given = reading(
            leaving,
            difference,
            flow=q(flow, "L/s"),
            loop_volume=q(cubic_metres, "m3"),
            load_model={"ua": ua, "driving_temperature": q(driving, "degC")},
        )
        return run(cooling_proof, convert(cooling_proof.given, given))[0]

    small, large = results(volume), results(2 * volume)
    assert math.isfinite(small.measured_capacity.value)
    assert hasattr(small.time_to_set_point, "value") == hasattr(large.time_to_set_point, "value")
    if hasattr(small.time_to_set_point, "value"):
        assert large.time_to_set_point.value == pytest.approx(2 * small.time_to_set_point.value, rel=1e-9)


@pytest.mark.parametrize("ua", [5e-324, 1e-300, 1e-20, 1e-12, 1e-9, 1e-6, 1e-4])
def test_a_load_that_hardly_depends_on_temperature(answer_of, ua):
    """The limit: less and less heat for each kelvin ends at none, in time, in working and in steps."""

    def asked(**load):
        return answer_of("readiness.cooling_proof", reading(25, 4.0, loop_volume=q(3, "m3"), **load))

    none = asked()
    some = asked(load_model={"ua": ua, "driving_temperature": q(30, "degC")})
    assert some["results"]["time_to_set_point"]["value"] == pytest.approx(
        none["results"]["time_to_set_point"]["value"], rel=1e-6
    )
    assert some["results"]["expected_fall_rate"]["value"] == pytest.approx(
        none["results"]["expected_fall_rate"]["value"], rel=1e-6
    )
    assert all(abs(line["value"]) < 1e12 for line in some["working"])
    loop = {
        "leaving_temperature": q(25, "degC"),
        "set_point": q(10, "degC"),
        "loop_volume": q(4, "m3"),
        "compressors": [{"id": "a", "capacity": q(50, "kW")}, {"id": "b", "capacity": q(50, "kW")}],
    }
    model = {"load_model": {"ua": ua, "driving_temperature": q(30, "degC")}}
    seconds = [pull_down_seconds(convert(PullDown, loop | more), "water", "", 300.0) for more in ({}, model)]
    assert seconds[1] == pytest.approx(seconds[0], rel=1e-6)


@pytest.mark.parametrize(
    ("given", "pointer"),
    [
        (reading(flow=q(0, "L/s")), "#/flow"),
        (reading(fluid={"kind": "propylene_glycol"}), "#/fluid/mass_fraction"),
        (reading(fluid={"kind": "water", "mass_fraction": 0.3}), "#/fluid/mass_fraction"),
        (reading(set_point=q(0, "degC")), "#/set_point"),
        (reading(leaving_temperature=None), "#/leaving_temperature"),
        (reading(compressors=[]), "#/compressors"),
        (reading(started="09:30"), "#/compressors/0/started_at"),
        (reading(load=q(1, "kW"), load_model={"ua": 1, "driving_temperature": q(20, "degC")}), "#/load_model"),
        (reading(evaluated_at="2026-05-04T09:20:00"), "#/evaluated_at"),
        (reading(samples=[{**trend(9, 0)[0], "at": "2026-02-30T00:00:00Z"}]), "#/samples/0/at"),
        (
            reading(evaporator_pressure_drop_minimum=q(9, "kPa"), evaporator_pressure_drop_maximum=q(8, "kPa")),
            "#/evaporator_pressure_drop_minimum",
        ),
    ],
)
def test_refused(answer_of, given, pointer):
    with pytest.raises(Refused) as refused:
        answer_of("readiness.cooling_proof", given)
    assert pointer in [e.pointer for e in refused.value.errors]


EXPECTED_FALL = 60 * 200e3 / (3 * 999.77 * 4194)
"""K/min of 3 m3 of water near 9.5 degC under 200 kW, by hand."""
TURNS = {
    # common practice, as the answer's words have it: shares of the expected, 2 and 4 delta_degF of the set point
    "three quarters of the capacity": (0.75, lambda r: reading(difference=r * FULL), ("slow", "proving")),
    "six tenths of the fall": (
        0.6, lambda r: reading(samples=trend(12.5, -r * EXPECTED_FALL), loop_volume=q(3, "m3")), ("slow", "proving"),
    ),
    "near the set point": (
        7 + 2 / 1.8, lambda t: reading(t, 4.6, samples=trend(t, 0.0)), ("proven", "slow"),
    ),
}  # fmt: skip


@pytest.mark.parametrize("case", TURNS)
def test_where_the_verdict_turns(answer_of, case):
    limit, given, verdicts = TURNS[case]
    found = tuple(
        answer_of("readiness.cooling_proof", given(limit * share))["results"]["verdict"] for share in (0.99, 1.01)
    )
    assert found == verdicts


@pytest.mark.parametrize(
    ("limit", "code", "below"), [(1.2, "capacity_above_rating", False), (0.5, "not_falling", True)]
)
def test_where_a_doubt_about_the_capacity_begins(answer_of, limit, code, below):
    for share in (0.99, 1.01):
        answer = answer_of("readiness.cooling_proof", reading(difference=limit * share * FULL))
        assert (code in {f["code"] for f in answer["findings"]}) == ((share < 1) == below)


@pytest.mark.parametrize(("limit", "given", "below"), [
    (7 + 4 / 1.8, lambda t: reading(t, samples=trend(t + 0.5, -0.05)), False),
    (1 / 1.8, lambda rate: reading(samples=trend(20.0, -rate)), True),
])  # fmt: skip
def test_where_the_next_compressor_is_advised(answer_of, limit, given, below):
    """Common practice: from 4 delta_degF above the set point on, below a fall of 1 delta_degF/min."""
    for share in (0.99, 1.01):
        results = answer_of("readiness.cooling_proof", given(limit * share))["results"]
        assert results["next_compressor_advised"] == ((share < 1) == below)


@pytest.mark.parametrize(("entering", "leaving", "noted"), [(4.0, -5.0, 1), (4.0, 3.0, 0)])
def test_that_there_are_no_properties_is_said_once_beside_whatever_else_is(answer_of, entering, leaving, noted):
    answer = answer_of("readiness.cooling_proof", reading(leaving, entering))
    codes = [f["code"] for f in answer["findings"]]
    assert codes.count("outside_fluid_data") == noted
    assert [w["symbol"] for w in answer["working"]].count("T_p") == noted
    assert {"near_freezing"} <= set(codes), codes
