"""hydronic.antifreeze: what must hold whatever is asked."""

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from coldwright.contract import Refused

KINDS = st.sampled_from(["ethylene_glycol", "propylene_glycol"])


def _given(kind="propylene_glycol", lowest=-15.0, **more):
    return {
        "kind": kind,
        "lowest_temperature": {"value": lowest, "unit": "degC"},
        "loop_volume": {"value": 3000, "unit": "L"},
        **more,
    }


def _codes(answer):
    return {(f["severity"], f["code"]) for f in answer["findings"]}


def _results(answer_of, given_):
    return answer_of("hydronic.antifreeze", given_)["results"]


@given(kind=KINDS, lowest=st.floats(-44, -2), margin=st.floats(0, 5))
def test_strength_freezes_exactly_at_the_target(answer_of, kind, lowest, margin):
    results = _results(answer_of, _given(kind, lowest, margin={"value": margin, "unit": "delta_degC"}))
    assert results["freezing_temperature"]["value"] == pytest.approx(lowest - margin, abs=1e-8)
    assert results["ice_fraction_at_lowest"] == 0


@given(
    kind=KINDS, colder=st.floats(-46, -2), warmer=st.floats(-46, -2), protection=st.sampled_from(["freeze", "burst"])
)
def test_colder_never_needs_less(answer_of, kind, colder, warmer, protection):
    assume(colder <= warmer)
    strong, weak = (_results(answer_of, _given(kind, t, protection=protection)) for t in (colder, warmer))
    assert strong["mass_fraction"] >= weak["mass_fraction"] - 1e-12
    assert strong["concentrate_volume"]["value"] >= weak["concentrate_volume"]["value"] - 1e-9


@given(kind=KINDS, lowest=st.floats(-46, -2))
def test_burst_never_needs_more_than_freeze_unless_the_floor_decides(answer_of, kind, lowest):
    freeze = _results(answer_of, _given(kind, lowest))
    burst = _results(answer_of, _given(kind, lowest, protection="burst"))
    assert burst["mass_fraction"] <= max(freeze["mass_fraction"], 0.20) + 1e-12
    assert 0 <= burst["ice_fraction_at_lowest"] < 0.4


@given(kind=KINDS, lowest=st.floats(-40, -2), volume=st.floats(1, 1e6), concentrate=st.floats(0.62, 1))
def test_water_and_concentrate_fill_the_loop(answer_of, kind, lowest, volume, concentrate):
    results = _results(
        answer_of,
        _given(kind, lowest, loop_volume={"value": volume, "unit": "L"}, concentrate_mass_fraction=concentrate),
    )
    parts = results["concentrate_volume"]["value"], results["water_volume"]["value"]
    assert sum(parts) == pytest.approx(volume, rel=1e-9)
    assert min(parts) >= 0


@given(kind=KINDS, lowest=st.floats(-40, -2), present=st.floats(0, 0.55))
def test_corrections_reach_the_target(answer_of, kind, lowest, present):
    """Glycol is neither made nor lost: the batch by its balance, the bleed by dx/dV = (x_c - x)/V."""
    results = _results(
        answer_of, _given(kind, lowest, present={"volume_fraction": present}, concentrate_mass_fraction=1.0)
    )
    target = results["volume_fraction"]
    fed = 1.0 if present < target else 0.0
    batch, bleed = (results[k]["value"] / 3000 for k in ("drain_volume_batch", "drain_volume_bleed"))
    assert present * (1 - batch) + fed * batch == pytest.approx(target, abs=1e-9)
    steps = 2000
    x = present
    for _ in range(steps):  # mid-point rule
        middle = x + (fed - x) * bleed / steps / 2
        x += (fed - middle) * bleed / steps
    assert x == pytest.approx(target, abs=1e-4)
    assert bleed >= batch >= 0


@given(kind=KINDS, fahrenheit=st.floats(-40, 25), gallons=st.floats(50, 5000))
@settings(max_examples=25)
def test_units_change_nothing(answer_of, kind, fahrenheit, gallons):
    us = {
        "kind": kind,
        "lowest_temperature": {"value": fahrenheit, "unit": "degF"},
        "loop_volume": {"value": gallons, "unit": "gal"},
        "margin": {"value": 5.4, "unit": "delta_degF"},
    }
    metric = us | {
        "lowest_temperature": {"value": (fahrenheit - 32) / 1.8, "unit": "degC"},
        "loop_volume": {"value": gallons * 3.785411784, "unit": "L"},
        "margin": {"value": 3, "unit": "delta_degC"},
    }
    first, second = _results(answer_of, us), _results(answer_of, metric)
    assert first["mass_fraction"] == pytest.approx(second["mass_fraction"], rel=1e-9)
    assert first["concentrate_volume"]["value"] == pytest.approx(second["concentrate_volume"]["value"], rel=1e-9)
    shown = answer_of("hydronic.antifreeze", us, units="us")["results"]["concentrate_volume"]
    assert shown["unit"] == "gal"
    assert shown["value"] == pytest.approx(first["concentrate_volume"]["value"] / 3.785411784, rel=1e-9)


# --- findings ----------------------------------------------------------------------------------------------------


def _degc(value):
    return {"value": value, "unit": "degC"}


@pytest.mark.parametrize(
    ("more", "severity", "code"),
    [
        ({"present": {"mass_fraction": 0}, "leaving_temperature": _degc(4.3)}, "stop", "water_set_point_too_cold"),
        ({"present": {"measured_freezing_temperature": _degc(-10)}}, "stop", "present_too_weak"),
        ({"present": {"mass_fraction": 0.1}, "protection": "burst"}, "stop", "present_too_weak"),
        ({"leaving_temperature": _degc(-14)}, "stop", "runs_below_freezing"),
        ({"leaving_temperature": _degc(-9), "protection": "burst"}, "stop", "runs_below_freezing"),
        ({"present": {"mass_fraction": 0.2}, "leaving_temperature": _degc(-4)}, "stop", "runs_below_freezing"),
        ({"lowest_temperature": _degc(-5), "protection": "burst"}, "note", "burst_floor"),
        ({"lowest_temperature": _degc(-43), "protection": "burst"}, "check", "burst_cap"),
        ({"protection": "burst"}, "note", "burst_is_not_running"),
        ({"lowest_temperature": _degc(-2)}, "check", "thin_mixture"),
        ({"lowest_temperature": _degc(-35)}, "check", "strong_mixture"),
        ({"present": {"mass_fraction": 0.4, "kind": "ethylene_glycol"}}, "check", "glycols_would_mix"),
        ({"present": {"measured_freezing_temperature": _degc(-20)}}, "note", "refractometer_scale"),
        ({}, "check", "rerate_capacity_and_pump"),
        ({}, "note", "make_up_water"),
        ({}, "note", "used_fluid"),
        ({}, "note", "same_inhibitors"),
    ],
)
def test_finding(answer_of, more, severity, code):
    assert (severity, code) in _codes(answer_of("hydronic.antifreeze", _given() | more))


def test_no_alarm_for_a_sound_mixture(answer_of):
    answer = answer_of("hydronic.antifreeze", _given(present={"mass_fraction": 0.38}, leaving_temperature=_degc(-5)))
    assert _codes(answer) & {("stop", c) for _, c in _codes(answer)} == set()
    assert answer["results"]["lowest_leaving_temperature"]["value"] == pytest.approx(-10, abs=1e-6)


def test_set_point_of_40_fahrenheit_is_allowed_with_water(answer_of):
    answer = answer_of(
        "hydronic.antifreeze",
        _given(present={"volume_fraction": 0}, leaving_temperature={"value": 40, "unit": "degF"}),
    )
    assert ("stop", "water_set_point_too_cold") not in _codes(answer)


def test_frozen_set_point_gives_no_properties(answer_of):
    answer = answer_of("hydronic.antifreeze", _given(leaving_temperature=_degc(-20)))
    assert answer["outcome"] == "unacceptable"
    assert "flow_ratio" not in answer["results"]


def test_too_strong_is_thinned_with_water(answer_of):
    results = _results(answer_of, _given(present={"mass_fraction": 0.5}))
    x, target = 0.5 / 1036.1 / (0.5 / 1036.1 + 0.5 / 998.2), results["volume_fraction"]
    assert results["drain_volume_batch"]["value"] == pytest.approx(3000 * (1 - target / x), rel=1e-9)


def test_volumes_to_drain_only_with_what_is_present(answer_of):
    assert not {"drain_volume_batch", "drain_volume_bleed"} & set(_results(answer_of, _given()))


# --- refusals ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("more", "pointer"),
    [
        ({"lowest_temperature": _degc(-49)}, "#/lowest_temperature"),
        ({"lowest_temperature": _degc(2.5)}, "#/lowest_temperature"),
        ({"concentrate_mass_fraction": 0.35}, "#/concentrate_mass_fraction"),
        ({"concentrate_mass_fraction": 1.1}, "#/concentrate_mass_fraction"),
        ({"present": {"mass_fraction": 0.5}, "concentrate_mass_fraction": 0.45}, "#/present"),
        ({"present": {"mass_fraction": 0.3, "volume_fraction": 0.3}}, "#/present"),
        ({"present": {}}, "#/present"),
        ({"present": {"volume_fraction": 0.595}, "kind": "ethylene_glycol"}, "#/present/volume_fraction"),
        ({"present": {"measured_freezing_temperature": _degc(-53)}}, "#/present/measured_freezing_temperature"),
        ({"fluid_temperature": _degc(-18.5)}, "#/fluid_temperature"),
        ({"kind": "water"}, "#/kind"),
        ({"loop_volume": {"value": 0, "unit": "L"}}, "#/loop_volume"),
    ],
)
def test_refusal(answer_of, more, pointer):
    with pytest.raises(Refused) as refused:
        answer_of("hydronic.antifreeze", _given() | more)
    assert refused.value.errors[0].pointer == pointer
    assert refused.value.errors[0].detail


def test_roughest_line_is_within_the_friction_law(answer_of):
    line = {"inner_diameter": {"value": 12, "unit": "mm"}, "roughness": {"value": 0.5, "unit": "mm"}}
    results = _results(answer_of, _given(reference_line=line))
    assert results["pressure_drop_ratio_same_heat"] > results["pressure_drop_ratio_same_flow"] > 0
