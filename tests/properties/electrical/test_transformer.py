"""Transformers: what must hold for any, what is refused, and what each finding answers to."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from quantity import q

from coldwright.contract import Refused


def request(**changes):
    base = {
        "practice": "nec",
        "primary_voltage": q(480, "V"),
        "secondary_voltage": q(208, "V"),
        "frequency": q(60, "Hz"),
        "load_apparent_power": q(60, "kVA"),
        "rated_apparent_power": q(75, "kVA"),
    }
    return {k: v for k, v in (base | changes).items() if v is not None}


IEC = {"practice": "iec", "frequency": q(50, "Hz")}
BACKWARDS = {"fed_as_built": False}

CAUSES = [
    ("overloaded", "stop", request(load_apparent_power=q(76, "kVA"))),
    ("wrong_frequency", "stop", request(rated_frequency=q(60, "Hz"), **IEC)),
    (
        "voltage_at_load",
        "stop",
        request(
            impedance_fraction=0.12, power_factor=0.3, load_apparent_power=q(90, "kVA"), secondary_voltage=q(200, "V")
        ),
    ),
    ("reverse_fed_neutral_bonded", "stop", request(primary_neutral_bonded=True, **BACKWARDS)),
    ("primary_device_too_large", "stop", request(primary_device_rating=q(250, "A"))),
    ("primary_device_too_large", "check", request(primary_device_rating=q(250, "A"), **IEC)),
    ("inrush_trips", "check", request(primary_device_rating=q(110, "A"), magnetic_pickup_multiple=8)),
    ("nonlinear_without_k_rating", "check", request(nonlinear_fraction=0.4)),
    ("ungrounded_secondary", "check", request(secondary_grounding="ungrounded")),
    ("primary_only", "check", request(protection="primary_only")),
    ("reverse_feed", "check", request(**BACKWARDS)),
    ("neutral_not_there", "check", request(neutral_needed=True, **BACKWARDS)),
    ("unusual_conditions", "check", request(altitude=q(1500, "m"))),
    ("device_rule_not_covered", "check", request(rated_apparent_power=q(5, "kVA"), load_apparent_power=q(4, "kVA"))),
    ("device_rule_not_covered", "check", request(rated_apparent_power=q(2500, "kVA"))),
    ("frequency_unusual_for_practice", "check", request(frequency=q(50, "Hz"))),
    ("tap", "note", request(measured_primary_voltage=q(458, "V"))),
    ("conductors_equal_device", "note", request(rated_apparent_power=q(500, "kVA"))),
    ("taps_on_other_side", "note", request(**BACKWARDS)),
]


@pytest.mark.parametrize(("code", "severity", "sent"), CAUSES)
def test_each_finding_is_raised_by_its_cause(answer_of, code, severity, sent):
    findings = answer_of("electrical.transformer", sent)["findings"]
    assert (code, severity) in [(f["code"], f["severity"]) for f in findings]


def test_every_declared_finding_is_tried_above(registry):
    kinds = registry.lookup("electrical.transformer").findings.values()
    assert {(code, severity) for code, severity, _ in CAUSES} == {(k.code, s) for k in kinds for s in k.severities}


@pytest.mark.parametrize(
    ("code", "sent"),
    [
        ("wrong_frequency", request(rated_frequency=q(50, "Hz"))),
        ("reverse_fed_neutral_bonded", request(primary_neutral_bonded=True)),
        ("reverse_feed", request(maker_permits_reverse_feed=True, **BACKWARDS)),
        ("nonlinear_without_k_rating", request(nonlinear_fraction=0.4, k_rated=True)),
        ("nonlinear_without_k_rating", request(nonlinear_fraction=0.3)),
        ("ungrounded_secondary", request(secondary_grounding="monitored")),
        ("primary_only", request(protection="primary_only", **IEC)),
        ("inrush_trips", request(primary_device_rating=q(110, "A"))),
        ("overloaded", request(load_apparent_power=q(75, "kVA"))),
        ("tap", request(measured_primary_voltage=q(484, "V"))),
    ],
)
def test_what_frees_a_finding(answer_of, code, sent):
    assert code not in [f["code"] for f in answer_of("electrical.transformer", sent)["findings"]]


def test_a_plain_step_down_is_acceptable(answer_of):
    assert answer_of("electrical.transformer", request())["outcome"] == "acceptable"


@pytest.mark.parametrize(
    ("pointer", "sent"),
    [
        ("#/secondary_voltage", request(secondary_voltage=q(480, "V"))),
        ("#/primary_voltage", request(primary_voltage=q(4160, "V"))),
        ("#/impedance_fraction", request(impedance_fraction=0.009)),
        ("#/impedance_fraction", request(impedance_fraction=0.13)),
        ("#/x_over_r", request(x_over_r=0.29)),
        ("#/x_over_r", request(x_over_r=31)),
        ("#/load_apparent_power", request(rated_apparent_power=None, load_apparent_power=q(2400, "kVA"))),
        ("#/load_apparent_power", request(load_apparent_power=q(226, "kVA"))),
        ("#/frequency", request(frequency=q(55, "Hz"))),
    ],
)
def test_what_cannot_be_right_is_refused_by_its_field(answer_of, pointer, sent):
    with pytest.raises(Refused) as refused:
        answer_of("electrical.transformer", sent)
    assert pointer in [e.pointer for e in refused.value.errors]


def test_equal_voltages_are_taken_for_isolation(answer_of):
    results = answer_of("electrical.transformer", request(secondary_voltage=q(480, "V"), isolation=True))["results"]
    assert results["primary_current"] == results["secondary_current"]


def test_rating_given_is_used_as_given(answer_of):
    results = answer_of("electrical.transformer", request(load_apparent_power=q(74, "kVA")))["results"]
    assert results["rated_apparent_power"] == q(75, "kVA")


def test_usual_impedance_follows_the_size(answer_of):
    for kva, z in ((75, 0.045), (499, 0.045), (500, 0.0575), (1000, 0.0575)):
        results = answer_of("electrical.transformer", request(rated_apparent_power=q(kva, "kVA")))["results"]
        ratio = results["secondary_current"]["value"] / results["secondary_fault_current"]["value"]
        assert ratio == pytest.approx(z)


def test_iec_devices_are_the_next_above_rated_current(answer_of):
    results = answer_of("electrical.transformer", request(**IEC))["results"]
    assert results["primary_device_maximum_calculated"] == results["primary_current"]
    assert results["primary_device_maximum_standard"] == q(100, "A")
    assert results["secondary_device_maximum_standard"] == q(250, "A")


@given(
    kva=st.floats(15, 1700),
    share=st.floats(0.01, 2.9),
    z=st.floats(0.01, 0.12),
    ratio=st.floats(0.3, 30),
    cos=st.floats(0.3, 1),
    volts=st.tuples(st.floats(180, 690), st.floats(180, 690)),
    start=st.floats(1, 5000),
    more=st.floats(1.01, 1.5),
)
def test_regulation_holds_together(answer_of, kva, share, z, ratio, cos, volts, start, more):
    def results(z):
        sent = request(
            primary_voltage=q(volts[0], "V"),
            secondary_voltage=q(volts[1], "V"),
            isolation=True,
            rated_apparent_power=q(kva, "kVA"),
            load_apparent_power=q(share * kva, "kVA"),
            impedance_fraction=z,
            x_over_r=ratio,
            power_factor=cos,
            starting_current=q(start, "A"),
        )
        return answer_of("electrical.transformer", sent)["results"]

    base, higher = results(z), results(min(0.12, z * more))
    assert base["regulation_fraction"] >= base["regulation_approximate_fraction"] - 1e-12
    assert base["regulation_fraction"] == pytest.approx(base["regulation_quadratic_fraction"], abs=0.05)
    assert higher["starting_drop_fraction"] >= base["starting_drop_fraction"] - 1e-12
    assert higher["secondary_fault_current"]["value"] <= base["secondary_fault_current"]["value"] * (1 + 1e-9)
    assert 0 < base["starting_drop_fraction"] < 1


def test_us_units_are_the_same_answer(answer_of):
    sent = request(starting_current=q(500, "A"))
    metric, us = (answer_of("electrical.transformer", sent, units=u) for u in ("metric", "us"))
    assert metric["digest"] == us["digest"]
    assert metric["results"] == us["results"], "volts, amperes and kVA are the same in both"
