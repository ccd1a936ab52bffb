"""Fault currents: what must hold for any circuit, what is refused, and what each finding answers to."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from quantity import q

from coldwright.contract import Refused


def transformer(**changes):
    base = {
        "kind": "utility_transformer",
        "rated_apparent_power": q(500, "kVA"),
        "impedance_fraction": 0.05,
        "x_over_r": 4,
        "upstream_fault_power": q(250, "MVA"),
    }
    return {k: v for k, v in (base | changes).items() if v is not None}


def generator(**changes):
    return {"kind": "generator", "rated_apparent_power": q(500, "kVA"), "subtransient_reactance": 0.12} | changes


def known(**changes):
    return {"kind": "known_fault_current", "available_fault_current": q(12, "kA"), "x_over_r": 3} | changes


def run(metres=40, size="4/0 AWG", **changes):
    return {"length": q(metres, "m"), "conductor_size": size} | changes


def request(source=None, *segments, **changes):
    base = {
        "practice": "nec",
        "system_voltage": q(480, "V"),
        "source": source or transformer(),
        "segments": list(segments),
        "machine_short_circuit_rating": q(30, "kA"),
    }
    return {k: v for k, v in (base | changes).items() if v is not None}


GROUNDED = run(ground_conductor_size="2 AWG")
LONG = run(300, ground_conductor_size="2 AWG")
BREAKER = {"rating": q(300, "A")}
FUSE = {"kind": "fuse", "rating": q(100, "A")}
IEC_RUN = run(40, "95 mm2", ground_conductor_size="50 mm2")
IEC = {"practice": "iec", "system_voltage": q(400, "V")}

CAUSES = [
    ("above_machine_rating", "stop", request(None, machine_short_circuit_rating=q(5, "kA"))),
    ("above_interrupting_rating", "stop", request(None, run(), device=BREAKER | {"interrupting_rating": q(11, "kA")})),
    ("earth_fault_not_cleared", "stop", request(None, LONG, device=BREAKER)),
    ("machine_unmarked", "check", request(None, machine_short_circuit_rating=None)),
    ("near_machine_rating", "check", request(known(x_over_r=3), machine_short_circuit_rating=q(12.5, "kA"))),
    ("source_assumed", "check", request(transformer(upstream_fault_power=None))),
    ("source_assumed", "check", request({"kind": "known_fault_current", "available_fault_current": q(9, "kA")})),
    ("generator_fault_by_magnetic_trip", "check", request(generator(), GROUNDED, device={"rating": q(150, "A")})),
    ("ground_undersized", "check", request(None, run(ground_conductor_size="6 AWG"), device=BREAKER)),
    ("ground_undersized", "check", request(None, run(40, "95 mm2", ground_conductor_size="35 mm2"), **IEC)),
    ("withstand_short", "check", request(None, IEC_RUN, device=FUSE | {"operating_current": q(580, "A")}, **IEC)),
    ("fuse_curve_assumed", "check", request(None, IEC_RUN, device=FUSE, **IEC)),
    ("fuse_curve_missing", "check", request(None, GROUNDED, device=FUSE)),
    ("frequency_unusual_for_practice", "check", request(frequency=q(50, "Hz"))),
    ("earth_fault_not_asked", "note", request(None, GROUNDED, run(), device=BREAKER)),
    ("source_field_unused", "note", request(generator(impedance_fraction=0.05))),
    ("tn_only", "note", request(None, IEC_RUN, **IEC)),
    ("arc_flash", "note", request()),
]


@pytest.mark.parametrize(("code", "severity", "sent"), CAUSES)
def test_each_finding_is_raised_by_its_cause(answer_of, code, severity, sent):
    findings = answer_of("electrical.fault_current", sent)["findings"]
    assert (code, severity) in [(f["code"], f["severity"]) for f in findings]


def test_every_declared_finding_is_tried_above(registry):
    assert {code for code, _, _ in CAUSES} == set(registry.lookup("electrical.fault_current").findings)


def test_a_sound_circuit_is_acceptable(answer_of):
    answer = answer_of(
        "electrical.fault_current", request(None, GROUNDED, device=BREAKER | {"interrupting_rating": q(25, "kA")})
    )
    assert answer["outcome"] == "acceptable"
    assert answer["results"]["clears"] is True
    assert answer["results"]["rating_verdict"] == "ok"


@pytest.mark.parametrize(
    ("pointer", "sent"),
    [
        ("#/source/rated_apparent_power", request(transformer(rated_apparent_power=None))),
        ("#/source/impedance_fraction", request(transformer(impedance_fraction=None))),
        ("#/source/rated_apparent_power", request({"kind": "generator"})),
        ("#/source/available_fault_current", request({"kind": "known_fault_current"})),
        ("#/source/impedance_fraction", request(transformer(impedance_fraction=0.0049))),
        ("#/source/impedance_fraction", request(transformer(impedance_fraction=0.21))),
        ("#/source/x_over_r", request(transformer(x_over_r=0.09))),
        ("#/source/x_over_r", request(transformer(x_over_r=51))),
        ("#/source/upstream_x_over_r", request(transformer(upstream_x_over_r=51))),
        ("#/segments/0/conductor_size", request(None, run(size="500 kcmil"))),
        ("#/segments/0/conductor_size", request(None, run(size="500 kcmil", resistance_per_length=q(0.09, "ohm/km")))),
        ("#/segments/1/ground_conductor_size", request(None, GROUNDED, run(ground_conductor_size="400 kcmil"))),
        ("#/segments/0/ground_sets", request(None, run(sets=2, ground_conductor_size="2 AWG"))),
        ("#/segments/0/conductor_size", request(None, run(size="4/0"))),
        ("#/segments/0/length", request(None, run(0))),
        ("#/frequency", request(frequency=q(55, "Hz"))),
    ],
)
def test_what_cannot_be_right_is_refused_by_its_field(answer_of, pointer, sent):
    with pytest.raises(Refused) as refused:
        answer_of("electrical.fault_current", sent)
    assert pointer in [e.pointer for e in refused.value.errors]


def test_what_was_not_asked_is_left_out(answer_of):
    results = answer_of("electrical.fault_current", request(None, run()))["results"]
    assert not {"clears", "earth_fault_current", "required_operating_current", "disconnection_time_limit"} & set(
        results
    )
    results = answer_of("electrical.fault_current", request(generator(), device=BREAKER))["results"]
    assert "x_over_r" not in results, "a set without resistance and cable has no X/R"
    assert results["peak_factor"] == pytest.approx(2)
    assert "disconnection_time_limit" not in results


def test_motors_add_their_share(answer_of):
    results = answer_of("electrical.fault_current", request(None, run(), motor_running_current=q(150, "A")))["results"]
    both = results["fault_current_with_motors"]["value"], results["fault_current_at_machine"]["value"]
    assert both[0] - both[1] == pytest.approx(600)


def test_conductor_temperature_given_holds_for_both_cases(answer_of):
    usual = answer_of("electrical.fault_current", request(None, IEC_RUN, **IEC))["results"]
    warm = answer_of(
        "electrical.fault_current", request(None, IEC_RUN | {"conductor_temperature": q(60, "degC")}, **IEC)
    )["results"]
    assert warm["fault_current_at_machine"]["value"] < usual["fault_current_at_machine"]["value"]
    assert warm["earth_fault_current"] == usual["earth_fault_current"]


def test_a_generating_set_and_its_earth_fault(answer_of):
    """(2 X"d + X0)/3 with X0 0.05 where left out."""
    results = answer_of("electrical.fault_current", request(generator()))["results"]
    assert results["earth_fault_loop_impedance"]["value"] == pytest.approx((2 * 0.12 + 0.05) / 3 * 480**2 / 500e3)


SIZES = st.sampled_from(["4/0 AWG", "2 AWG", "8 AWG", "95 mm2", "300 mm2"])
RUNS = st.lists(
    st.builds(
        lambda metres, size, sets, ground: run(metres, size, sets=sets, ground_conductor_size=ground, ground_sets=sets),
        st.floats(0.1, 600),
        SIZES,
        st.integers(1, 4),
        SIZES,
    ),
    max_size=3,
)
SOURCES = st.one_of(
    st.builds(
        lambda kva, z, ratio: transformer(rated_apparent_power=q(kva, "kVA"), impedance_fraction=z, x_over_r=ratio),
        st.floats(15, 3000),
        st.floats(0.005, 0.2),
        st.floats(0.1, 50),
    ),
    st.builds(
        lambda kva, x: generator(rated_apparent_power=q(kva, "kVA"), subtransient_reactance=x),
        st.floats(15, 3000),
        st.floats(0.05, 0.5),
    ),
    st.builds(
        lambda amps, ratio: known(available_fault_current=q(amps, "A"), x_over_r=ratio),
        st.floats(100, 100000),
        st.floats(0.1, 50),
    ),
)


@given(source=SOURCES, runs=RUNS, practice=st.sampled_from(["nec", "iec"]), volts=st.floats(180, 690))
def test_per_unit_and_ohms_agree_and_short_method_never_exceeds(answer_of, source, runs, practice, volts):
    results = answer_of(
        "electrical.fault_current", request(source, *runs, practice=practice, system_voltage=q(volts, "V"))
    )["results"]
    at_machine = results["fault_current_at_machine"]["value"]
    assert results["per_unit"]["current"]["value"] == pytest.approx(at_machine, rel=1e-3)
    assert results["point_to_point"]["current"]["value"] <= at_machine * (1 + 1e-9)
    assert 1.02 <= results["peak_factor"] <= 2


@given(source=SOURCES, runs=RUNS, extra=st.floats(1.001, 3), tail=st.floats(1, 100))
def test_more_impedance_never_gives_more_current(answer_of, source, runs, extra, tail):
    def currents(source, runs):
        results = answer_of("electrical.fault_current", request(source, *runs))["results"]
        return results["fault_current_at_machine"]["value"], results["earth_fault_current"]["value"]

    base = currents(source, runs)
    longer = [r | {"length": q(r["length"]["value"] * extra, "m")} for r in runs]
    one_more = [*runs, run(tail, ground_conductor_size="2 AWG")]
    changed = [currents(source, longer), currents(source, one_more)]
    if source["kind"] == "utility_transformer":
        changed.append(currents(source | {"impedance_fraction": min(0.2, source["impedance_fraction"] * extra)}, runs))
        changed.append(currents(source | {"upstream_fault_power": q(250 / extra, "MVA")}, runs))
    elif source["kind"] == "generator":
        changed.append(
            currents(source | {"subtransient_reactance": min(0.5, source["subtransient_reactance"] * extra)}, runs)
        )
    for three_phase, earth in changed:
        assert three_phase <= base[0] * (1 + 1e-9)
        assert earth <= base[1] * (1 + 1e-9)


def test_us_units_are_the_same_answer(answer_of):
    sent = request(None, GROUNDED, device=BREAKER)
    metric, us = (answer_of("electrical.fault_current", sent, units=u) for u in ("metric", "us"))
    assert metric["digest"] == us["digest"]
    assert metric["results"] == us["results"], "amperes, ohms and seconds are the same in both"


def test_feet_and_metres_ask_the_same(answer_of):
    metres = request(None, run(30.48))
    feet = request(None, run() | {"length": q(100, "ft")})
    one, two = (answer_of("electrical.fault_current", s)["results"] for s in (metres, feet))
    assert one["fault_current_at_machine"]["value"] == pytest.approx(two["fault_current_at_machine"]["value"], rel=1e-9)


def test_a_residual_current_device_clears_what_its_breaker_does_not(answer_of):
    """Five times its rated residual current (IEC 60364-4-41, 411.4.4, from memory); the breaker still has its interrupting
    rating to meet.
    """
    weak = {"rating": q(150, "A")}
    alone = answer_of("electrical.fault_current", request(generator(), LONG, device=weak))
    assert alone["results"]["clears"] is False
    guarded = weak | {"residual_operating_current": q(0.5, "A")}
    answer = answer_of("electrical.fault_current", request(generator(), LONG, device=guarded))
    assert answer["results"]["required_operating_current"]["value"] == pytest.approx(2.5)
    assert answer["results"]["clears"] is True
    assert "generator_fault_by_magnetic_trip" not in {f["code"] for f in answer["findings"]}
    assert answer["results"]["earth_fault_current"] == alone["results"]["earth_fault_current"]
