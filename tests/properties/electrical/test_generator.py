"""Generating sets: what must hold for any, what is refused, and what each finding answers to."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from quantity import q
from tries import tries

from coldwright.contract import Refused


def a_set(kw=400, kva=500, **changes):
    base = {
        "rated_active_power": q(kw, "kW"),
        "rated_apparent_power": q(kva, "kVA"),
        "subtransient_reactance": 0.12,
        "transient_reactance": 0.18,
    }
    return {k: v for k, v in (base | changes).items() if v is not None}


def motor(running=250, locked=900, **changes):
    return {
        "load_id": "machine",
        "running_current": q(running, "A"),
        "locked_rotor_current": q(locked, "A"),
    } | changes


def heater(kw_at_480=100, **changes):
    return {"load_id": "heater", "running_current": q(kw_at_480 / 0.8314, "A"), "power_factor": 1} | changes


def request(*loads, **changes):
    base = {
        "practice": "nec",
        "system_voltage": q(480, "V"),
        "frequency": q(60, "Hz"),
        "loads": list(loads) or [motor()],
        "generator": a_set(),
    }
    return {k: v for k, v in (base | changes).items() if v is not None}


def curve(*points):
    return [{"load_fraction": load, "fuel_rate": q(rate, "L/h")} for load, rate in points]


def drive(running, **changes):
    return {"load_id": "drive", "running_current": q(running, "A"), "starting_method": "variable_frequency"} | changes


CAUSES = [
    ("over_active_power", "stop", request(motor(620, 1000))),
    ("over_apparent_power", "stop", request(motor(620, 1000))),
    ("dip", "check", request(motor(250, 700), motor(200, 700))),
    ("dip", "stop", request(motor(250, 2000))),
    ("light_load", "stop", request(motor(100, 400))),
    ("light_load", "check", request(motor(100, 400), run_duration=q(3, "h"))),
    ("light_load_at_night", "stop", request(load_factor=0.5)),
    ("light_load_at_night", "check", request(load_factor=0.5, run_duration=q(4, "h"))),
    ("no_transfer_equipment", "stop", request(utility_present=True)),
    ("no_candidate_holds", "stop", request(generator=None, candidate_sets=[a_set(80, 100)])),
    ("no_candidate_holds", "check", request(candidate_sets=[a_set(80, 100)])),
    ("load_above_maximum", "check", request(motor(500, 900))),
    ("load_near_minimum", "check", request(load_factor=0.75)),
    ("distortion", "check", request(drive(400, nonlinear=True))),
    ("distortion_above_ieee_519", "note", request(drive(200, nonlinear=True, input_filter="reactor"))),
    ("reduced_starting_torque", "check", request(motor(starting_method="star_delta"))),
    ("reactance_assumed", "check", request(generator=a_set(subtransient_reactance=None))),
    ("no_redundancy", "check", request(critical=True)),
    ("tank_below_reserve", "check", request(tank_volume=q(100, "L"))),
    ("fuel_not_known", "check", request(motor(3000, 9000), generator=a_set(4000, 5000))),
    ("frequency_unusual_for_practice", "check", request(frequency=q(50, "Hz"))),
    ("average_above_prime", "note", request(motor(500, 900))),
    ("drive_taken_as_linear", "note", request(drive(250))),
    ("spill_plan", "note", request(tank_volume=q(1400, "gal"))),
    ("no_set_given", "note", request(generator=None)),
    ("heater_hour_restarts", "note", request()),
    ("rotation_after_change", "note", request()),
]


@pytest.mark.parametrize(("code", "severity", "sent"), CAUSES)
def test_each_finding_is_raised_by_its_cause(answer_of, code, severity, sent):
    answer = answer_of("electrical.generator", sent)
    raised = [(f["code"], f["severity"]) for f in answer["findings"]]
    assert (code, severity) in raised
    assert answer["results"]["verdict"] == ("not_ok" if "stop" in {s for _, s in raised} else "ok")


def test_every_declared_finding_is_tried_above(registry):
    kinds = registry.lookup("electrical.generator").findings.values()
    assert {(code, severity) for code, severity, _ in CAUSES} == {(k.code, s) for k in kinds for s in k.severities}


@pytest.mark.parametrize(
    ("pointer", "sent"),
    [
        ("#/generator/rated_apparent_power", request(generator=a_set(400, 390))),
        ("#/generator/rated_apparent_power", request(generator=a_set(400, 700))),
        ("#/candidate_sets/1/rated_apparent_power", request(candidate_sets=[a_set(), a_set(400, 700)])),
        ("#/generator/subtransient_reactance", request(generator=a_set(subtransient_reactance=0.2))),
        ("#/generator/transient_reactance", request(generator=a_set(transient_reactance=0.6))),
        ("#/loads/0/locked_rotor_current", request(motor(250, 249))),
        ("#/loads/0/locked_rotor_current", request(heater(starting_method="star_delta"))),
        ("#/loads/1/starting_current_factor", request(motor(), motor(starting_current_factor=0.2))),
        ("#/loads/0/code_letter", request(motor(code_letter="F", rated_power=q(200, "hp")))),
        ("#/loads/0/rated_power", request(heater(code_letter="F"))),
        ("#/loads/0/code_letter", request(heater(code_letter="A", rated_power=q(1, "hp")))),
        ("#/loads/0/power_factor", request(motor(power_factor=0.2))),
        ("#/loads", request(loads=[])),
        ("#/altitude", request(altitude=q(5001, "m"))),
        ("#/altitude", request(altitude=q(5000, "m"), derating={"engine_altitude_rate_fraction": 0.02})),
        (
            "#/ambient_temperature",
            request(ambient_temperature=q(60, "degC"), derating={"engine_temperature_rate_fraction": 0.2}),
        ),
        ("#/fuel_curve/2", request(fuel_curve=curve((0.25, 30), (0.5, 60), (0.5, 61)))),
        ("#/loads", request(heater(15))),
        ("#/load_factor", request(load_factor=0.05)),
        ("#/minimum_load_fraction", request(minimum_load_fraction=0.5, maximum_load_fraction=0.45)),
        ("#/frequency", request(frequency=q(55, "Hz"))),
    ],
)
def test_what_cannot_be_right_is_refused_by_its_field(answer_of, pointer, sent):
    with pytest.raises(Refused) as refused:
        answer_of("electrical.generator", sent)
    assert pointer in [e.pointer for e in refused.value.errors]


def test_steps_follow_the_order_and_equal_orders_start_together(answer_of):
    loads = [
        motor(90, 400, load_id="b", start_order=2),
        motor(90, 400, load_id="c", start_order=2),
        heater(50, start_order=1),
    ]
    steps = answer_of("electrical.generator", request(*loads))["results"]["steps"]
    assert [s["start_order"] for s in steps] == [1, 2]
    assert steps[1]["load_ids"] == ["b", "c"]
    single = answer_of("electrical.generator", request(motor(180, 800)))["results"]["steps"][0]
    assert steps[1]["dip_transient_fraction"] == pytest.approx(single["dip_transient_fraction"])
    assert steps[0]["starting_power_factor"] == pytest.approx(1)


def test_methods_draw_their_share(answer_of):
    def share(**changes):
        step = answer_of("electrical.generator", request(motor(200, 1000, **changes)))["results"]["steps"][0]
        return step["starting_apparent_power"]["value"] / 831.384

    assert share() == pytest.approx(1, rel=1e-5)
    assert share(starting_method="autotransformer") == pytest.approx(0.4225, rel=1e-5)
    assert share(starting_method="autotransformer", autotransformer_tap_fraction=0.8) == pytest.approx(0.64, rel=1e-5)
    assert share(starting_method="soft_start") == pytest.approx(0.8, rel=1e-5)
    assert share(starting_method="variable_frequency") == pytest.approx(0.22, rel=1e-5)
    assert share(starting_method="part_winding", starting_current_factor=0.6) == pytest.approx(0.6, rel=1e-5)


def test_smallest_candidate_that_holds_stands_for_the_set(answer_of):
    sets = [a_set(560, 700), a_set(160, 200), a_set(280, 350), a_set(400, 500)]
    answer = answer_of("electrical.generator", request(motor(250, 600), generator=None, candidate_sets=sets))
    results = answer["results"]
    assert [c["holds"] for c in results["candidates"]] == [True, False, True, True]
    assert results["smallest_candidate"] == 2
    assert results["derated_apparent_power"] == q(350, "kVA")
    assert results["worst_dip_fraction"] == results["candidates"][2]["worst_dip_fraction"] <= 0.20
    assert results["candidates"][1]["reasons"]


def test_the_way_out_at_night_is_named_with_its_numbers(answer_of):
    """A machine that starts hard and rests at night: gear, two sets and a load bank are each weighed."""
    results = answer_of("electrical.generator", request(motor(210, 1400), generator=a_set(480, 600), load_factor=0.5))[
        "results"
    ]
    ways = {r["kind"]: r for r in results["light_load_remedies"]}
    low = results["running_active_power"]["value"] * 0.5
    assert ways["load_bank"]["load_bank_power"]["value"] == pytest.approx(0.3 * 480 - low)
    assert ways["two_sets"]["works"] is True
    assert ways["two_sets"]["rated_active_power"] == q(240, "kW")
    gear = ways["better_starting_gear"]
    assert gear["works"] is True
    assert gear["rated_active_power"]["value"] == pytest.approx(low / 0.3)
    # such a set, started with no more than it bears, holds the limit and is loaded enough
    kw = gear["rated_active_power"]["value"]
    amps = gear["starting_apparent_power"]["value"] / 0.831384
    small = request(motor(210, amps), generator=a_set(kw, kw / 0.8), load_factor=0.5)
    again = answer_of("electrical.generator", small)["results"]
    assert again["worst_dip_fraction"] == pytest.approx(0.20, rel=1e-4)
    assert again["light_load_remedies"] == []


def test_a_set_larger_than_the_start_needs_is_told_so(answer_of):
    results = answer_of("electrical.generator", request(motor(100, 300), generator=a_set(480, 600)))["results"]
    assert next(r["kind"] for r in results["light_load_remedies"] if r["works"]) == "smaller_set"
    results = answer_of("electrical.generator", request(motor(300, 900), generator=a_set(480, 600), load_factor=0.2))[
        "results"
    ]
    smaller = next(r for r in results["light_load_remedies"] if r["kind"] == "smaller_set")
    assert smaller["works"] is False


def test_a_load_bank_entered_as_a_load_frees_the_set(answer_of):
    light = answer_of("electrical.generator", request(motor(100, 400)))["results"]
    bank = light["load_bank_power"]["value"]
    freed = answer_of("electrical.generator", request(motor(100, 400), heater(bank * 1.001)))
    assert "light_load" not in [f["code"] for f in freed["findings"]]


def test_without_a_set_the_size_is_still_worked_out(answer_of):
    results = answer_of("electrical.generator", request(generator=None))["results"]
    assert results["required_apparent_power_for_dip"]["value"] > 0
    assert not {"worst_dip_fraction", "load_fraction", "fuel_rate", "harmonic_voltage_fraction"} & set(results)


def test_no_credit_above_one(answer_of):
    sent = request(altitude=q(0, "m"), ambient_temperature=q(0, "degC"), derating={"method": "iso_3046"})
    assert answer_of("electrical.generator", sent)["results"]["engine_factor"] == 1


@tries(12)
@given(
    running=st.floats(150, 500),
    ratio=st.floats(1.01, 7),
    more=st.floats(1.01, 2),
    power_factor=st.floats(0.1, 0.95),
    limit=st.floats(0.10, 0.45),
)
def test_dip_and_size_move_the_right_way(answer_of, running, ratio, more, power_factor, limit):
    def results(factor=1.0, kva=500.0):
        sent = request(
            motor(running, running * ratio * factor, starting_power_factor=power_factor),
            generator=a_set(0.8 * kva, kva),
            dip_limit_fraction=limit,
        )
        return answer_of("electrical.generator", sent)["results"]

    base, harder, larger = results(), results(factor=more), results(kva=500 * more)
    assert harder["worst_dip_fraction"] > base["worst_dip_fraction"] > larger["worst_dip_fraction"]
    size = base["required_apparent_power_for_dip"]["value"]
    assert harder["required_apparent_power_for_dip"]["value"] > size
    assert results(kva=size)["worst_dip_fraction"] == pytest.approx(limit, rel=1e-6)


@given(
    running=st.lists(st.floats(0.5, 4000), min_size=1, max_size=3),
    method=st.sampled_from([None, "star_delta", "soft_start", "variable_frequency", "autotransformer"]),
    kva=st.floats(5, 10000),
    rated=st.floats(0.6, 1),
    height=st.floats(-400, 5000),
    heat=st.floats(-40, 60),
    derating=st.sampled_from(["none", "per_step", "iso_3046"]),
    load_factor=st.floats(0.01, 1),
)
def test_any_request_is_answered_or_refused(
    answer_of, running, method, kva, rated, height, heat, derating, load_factor
):
    loads = [motor(r, 5 * r, nonlinear=True, **({"starting_method": method} if method else {})) for r in running]
    sent = request(
        *loads,
        generator=a_set(kva * rated, kva),
        candidate_sets=[a_set(kva, kva)],
        altitude=q(height, "m"),
        ambient_temperature=q(heat, "degC"),
        derating={"method": derating},
        load_factor=load_factor,
    )
    try:
        results = answer_of("electrical.generator", sent)["results"]
    except Refused as refused:
        pointers = {e.pointer for e in refused.errors}
    else:
        pointers = set()
    assert pointers <= {"#/load_factor", "#/loads", "#/altitude", "#/ambient_temperature"}
    if pointers:
        return
    assert 0 < results["worst_dip_fraction"] < 1
    assert 0.4 <= results["engine_factor"] <= 1


def test_us_units_are_the_same_answer(answer_of):
    sent = request(tank_volume=q(2000, "L"), run_duration=q(5, "d"))
    metric, us = (answer_of("electrical.generator", sent, units=u) for u in ("metric", "us"))
    assert metric["digest"] == us["digest"]
    assert us["results"]["fuel_rate"]["unit"] == "gal/h"
    assert us["results"]["fuel_rate"]["value"] * 3.785411784 == pytest.approx(metric["results"]["fuel_rate"]["value"])
    assert us["results"]["worst_dip_fraction"] == metric["results"]["worst_dip_fraction"]


@tries(15)
@given(lowest=st.floats(0, 1), bank=st.floats(1, 150))
def test_a_load_bank_is_added_to_the_least_load_and_to_the_fuel_alone(answer_of, lowest, bank):
    base = request(run_duration=q(3, "h"), lowest_load_fraction=lowest)
    alone = answer_of("electrical.generator", base)["results"]
    kept = answer_of("electrical.generator", base | {"load_bank_power": q(bank, "kW")})["results"]
    rise = kept["reduced_load_fraction"] - alone["reduced_load_fraction"]
    assert rise * alone["derated_active_power"]["value"] == pytest.approx(bank, rel=1e-6)
    for name in ("running_active_power", "load_fraction", "worst_dip_fraction"):
        assert kept[name] == alone[name], "by day it is out"
    assert kept["fuel_rate"]["value"] >= alone["fuel_rate"]["value"]
    if kept["reduced_load_fraction"] <= alone["load_fraction"] * base.get("load_factor", 1):
        assert kept["fuel_rate"] == alone["fuel_rate"]
