"""Supply readings: what must hold for any, what is refused, and what each finding answers to."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coldwright.contract import Refused

VOLTS = st.floats(50, 800).map(lambda v: round(v, 1))


def readings(voltages=(480, 480, 480), **changes):
    base = {
        "practice": "nec",
        "nominal_voltage": {"value": 480, "unit": "V"},
        "frequency": {"value": 60, "unit": "Hz"},
        "line_voltages": dict(zip(("ab", "bc", "ca"), ({"value": v, "unit": "V"} for v in voltages), strict=True)),
        "loaded": True,
        "rotation": "correct",
        "sequence_relay": "healthy",
        "supply_state": "live",
        "measured_by_qualified_person": True,
    }
    return base | changes


def amps(*values):
    return dict(zip("abc", ({"value": v, "unit": "A"} for v in values), strict=True))


def to_ground(*values):
    return dict(zip("abc", ({"value": v, "unit": "V"} for v in values), strict=True))


def severity_of(answer, code):
    return next((f["severity"] for f in answer["findings"] if f["code"] == code), None)


@pytest.mark.parametrize(
    ("code", "severity", "voltages", "changes"),
    [
        ("not_qualified", "stop", (480, 480, 480), {"measured_by_qualified_person": False}),
        ("nameplate_mismatch", "stop", (480, 480, 480), {"nameplate_voltage": {"value": 400, "unit": "V"}}),
        ("lost_phase", "stop", (0, 415, 415), {}),
        ("lost_phase", "stop", (0, 0, 0), {}),
        ("rotation_reversed", "stop", (480, 480, 480), {"rotation": "reversed"}),
        ("rotation_unknown", "stop", (480, 480, 480), {"rotation": "not_checked", "sequence_relay": "tripped"}),
        ("rotation_conflict", "stop", (480, 480, 480), {"sequence_relay": "tripped"}),
        ("voltage_low", "stop", (413, 420, 420), {}),
        ("voltage_high", "stop", (507, 500, 500), {}),
        ("unbalance_above_limit", "stop", (480, 480, 463), {}),
        ("unbalance_above_five_percent", "stop", (480, 500, 440), {}),
        ("frequency_out", "stop", (460, 460, 460), {"measured_frequency": {"value": 63.1, "unit": "Hz"}}),
        ("voltage_and_frequency_out", "stop", (420, 420, 420), {"measured_frequency": {"value": 61, "unit": "Hz"}}),
        ("single_phasing", "stop", (478, 480, 479), {"line_currents": amps(100, 101, 3)}),
        ("unbalance_derates", "check", (480, 480, 468), {}),
        ("readings_do_not_close", "check", (700, 200, 200), {}),
        ("current_unbalance", "check", (480, 480, 480), {"line_currents": amps(100, 100, 80)}),
        ("machine_suspected", "check", (480, 480, 480), {"line_currents": amps(100, 100, 80)}),
        ("machine_suspected", "note", (480, 480, 480), {"line_currents": amps(100, 100, 96)}),
        ("unloaded_readings", "check", (480, 480, 480), {"loaded": False}),
        ("loaded_without_current", "check", (480, 480, 480), {"line_currents": amps(0, 0, 0)}),
        ("line_to_ground_uneven", "check", (480, 480, 480), {"line_to_ground_voltages": to_ground(240, 415, 240)}),
        ("line_to_ground_uneven", "check", (480, 480, 480), {"line_to_ground_voltages": to_ground(0, 0, 0)}),
        (
            "outside_nominal_tolerance",
            "check",
            (430, 430, 430),
            {"practice": "iec", "nameplate_voltage": {"value": 460, "unit": "V"}},
        ),
        ("frequency_unusual_for_practice", "check", (480, 480, 480), {"frequency": {"value": 50, "unit": "Hz"}}),
        ("no_load_currents", "note", (480, 480, 480), {}),
        ("nameplate_below_nominal", "note", (480, 480, 480), {}),
        ("supply_isolated", "note", (480, 480, 480), {"supply_state": "isolated_locked_tagged"}),
    ],
)
def test_each_finding_is_raised_by_its_cause(answer_of, code, severity, voltages, changes):
    answer = answer_of("electrical.supply_quality", readings(voltages, **changes))
    assert severity_of(answer, code) == severity
    assert (code in answer["results"]["blocking"]) == (severity == "stop")
    if severity == "stop":
        assert answer["results"]["start_allowed"] is False
        assert answer["results"]["actions"], "a stop says what to do"


def test_every_declared_finding_is_tried_above(registry):
    rows = next(m for m in test_each_finding_is_raised_by_its_cause.pytestmark if m.name == "parametrize").args[1]
    assert {row[0] for row in rows} == set(registry.lookup("electrical.supply_quality").findings)


def test_a_good_supply_raises_no_stop_and_no_check(answer_of):
    answer = answer_of("electrical.supply_quality", readings(line_currents=amps(90, 90, 90)))
    assert answer["outcome"] == "acceptable"
    assert answer["results"]["start_allowed"] is True


def test_far_off_plate_asks_for_a_transformer(answer_of):
    near = answer_of("electrical.supply_quality", readings(nameplate_voltage={"value": 430, "unit": "V"}))
    far = answer_of("electrical.supply_quality", readings(nameplate_voltage={"value": 380, "unit": "V"}))
    said = [next(f["statement"] for f in a["findings"] if f["code"] == "nameplate_mismatch") for a in (near, far)]
    assert ["transformer" in text for text in said] == [False, True]


def test_iec_holds_the_negative_sequence_against_the_limit(answer_of):
    shared = {"voltages": (460, 467, 450), "nominal_voltage": {"value": 460, "unit": "V"}}
    nec = answer_of("electrical.supply_quality", readings(**shared))
    iec = answer_of(
        "electrical.supply_quality", readings(**shared, practice="iec", frequency={"value": 50, "unit": "Hz"})
    )
    assert severity_of(nec, "unbalance_above_limit") is None
    assert severity_of(iec, "unbalance_above_limit") == "stop"


def test_an_isolated_supply_never_allows_a_start(answer_of):
    results = answer_of("electrical.supply_quality", readings(supply_state="isolated_locked_tagged"))["results"]
    assert results["blocking"] == []
    assert results["start_allowed"] is False


def test_what_runs_is_stopped_and_made_safe_before_anything_is_looked_for(answer_of):
    changes = {"sequence_relay": "tripped", "line_currents": amps(100, 3, 104)}
    actions = answer_of("electrical.supply_quality", readings((460, 470, 451), **changes))["results"]["actions"]
    assert "stop its compressors" in actions[0]
    assert [a.split(" ")[0] for a in actions[1:5]] == ["Start", "Open", "Lock", "Prove"]
    assert any("look for a lost phase" in a for a in actions[5:])
    idle = answer_of("electrical.supply_quality", readings((460, 470, 451), **changes, loaded=False))
    assert idle["results"]["actions"] == actions[1:]


@given(
    voltages=st.tuples(VOLTS, VOLTS, VOLTS) | st.tuples(st.just(0.0), VOLTS, VOLTS),
    practice=st.sampled_from(["nec", "iec"]),
    rotation=st.sampled_from(["correct", "reversed", "not_checked"]),
    relay=st.sampled_from(["healthy", "tripped", "not_fitted", "unknown"]),
    currents=st.none() | st.tuples(*[st.floats(0, 5000)] * 3),
)
def test_any_readings_are_answered_and_the_verdict_hangs_together(
    answer_of, voltages, practice, rotation, relay, currents
):
    changes = {"line_currents": amps(*currents)} if currents else {}
    answer = answer_of(
        "electrical.supply_quality",
        readings(voltages, practice=practice, rotation=rotation, sequence_relay=relay, **changes),
    )
    results = answer["results"]
    stops = {f["code"] for f in answer["findings"] if f["severity"] == "stop"}
    assert set(results["blocking"]) == stops
    assert results["start_allowed"] == (not stops)
    assert 0 <= results["negative_sequence_fraction"] <= 1
    assert ("derating_factor" in results) == (results["voltage_unbalance_fraction"] <= 0.05 * (1 + 1e-9))
    assert len(results["actions"]) == len(set(results["actions"]))


@given(voltages=st.tuples(VOLTS, VOLTS, VOLTS))
def test_order_of_the_lines_does_not_matter(answer_of, voltages):
    def shares(order):
        results = answer_of("electrical.supply_quality", readings(order))["results"]
        return results["voltage_unbalance_fraction"], results["negative_sequence_fraction"]

    assert shares(voltages) == pytest.approx(shares((voltages[2], voltages[0], voltages[1])), rel=1e-6, abs=1e-7)


@pytest.mark.parametrize(
    ("pointer", "changes"),
    [
        (
            "#/line_voltages/ca",
            {"line_voltages": {"ab": {"value": 480, "unit": "V"}, "bc": {"value": 480, "unit": "V"}}},
        ),
        ("#/line_voltages/bc", {"line_voltages": to_ground(480, 30, 480)}),
        ("#/line_voltages/ab", {"line_voltages": to_ground(-1, 480, 480)}),
        ("#/line_voltages/ab", {"line_voltages": to_ground(801, 480, 480)}),
        ("#/frequency", {"frequency": {"value": 55, "unit": "Hz"}}),
        ("#/nominal_voltage", {"nominal_voltage": {"value": 120, "unit": "V"}}),
        ("#/measured_by_qualified_person", {"measured_by_qualified_person": None}),
        ("#/voltage_minimum", {"voltage_minimum": {"value": 550, "unit": "V"}}),
        ("#/voltage_maximum", {"voltage_maximum": {"value": 400, "unit": "V"}}),
        ("#/unbalance_limit_fraction", {"unbalance_limit_fraction": 0.06}),
    ],
)
def test_what_cannot_be_right_is_refused_by_its_field(answer_of, pointer, changes):
    if "a" in changes.get("line_voltages", {}):
        changes = {"line_voltages": dict(zip(("ab", "bc", "ca"), changes["line_voltages"].values(), strict=True))}
    with pytest.raises(Refused) as refused:
        answer_of("electrical.supply_quality", readings(**changes))
    assert pointer in [e.pointer for e in refused.value.errors]


def test_us_units_are_the_same_answer(answer_of):
    sent = readings((471, 482, 466), line_currents=amps(92, 101, 86))
    metric, us = (answer_of("electrical.supply_quality", sent, units=u) for u in ("metric", "us"))
    assert metric["digest"] == us["digest"]
    assert metric["results"] == us["results"], "volts and amperes are the same in both"
