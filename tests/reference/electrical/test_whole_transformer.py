"""A transformer worked out anew by its equivalent circuit in complex ohms, with each figure of its sentences.

NEC Table 450.3(B) (seen as reproduced): 250 % down and 125 % up with both devices, 125 % up with one; from 9 A. IEC: the
rated current. IEEE C57.12.01 ratings (from memory). Usual impedance and X/R: common practice.
"""

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from quantity import q
from said import figures, said
from tries import tries

from coldwright.contract import Refused

pytestmark = pytest.mark.check
TRANSFORMER = "electrical.transformer"
Json = dict[str, Any]
ROOT3 = math.sqrt(3)
NEC = (
    *(15, 20, 25, 30, 35, 40, 45, 50, 60, 70, 80, 90, 100, 110, 125, 150, 175, 200, 225, 250, 300, 350, 400, 450),
    *(500, 600, 700, 800, 1000, 1200, 1600, 2000, 2500, 3000, 4000, 5000, 6000),
)
IEC = (16, 20, 25, 32, 40, 50, 63, 80, 100, 125, 160, 200, 250, 315, 400, 500, 630, 800, 1000, 1250, 1600)
PAIRS = {208: 200, 240: 230, 480: 460, 600: 575}


def up(ladder: tuple[int, ...], amps: float) -> int | None:
    return next((step for step in ladder if step >= amps * (1 - 1e-9)), None)


def ask(**changes: Any) -> Json:
    base = {
        "practice": "nec",
        "primary_voltage": q(480, "V"),
        "secondary_voltage": q(208, "V"),
        "frequency": q(60, "Hz"),
        "load_apparent_power": q(80, "kVA"),
        "rated_apparent_power": q(112.5, "kVA"),
    }
    return {name: value for name, value in (base | changes).items() if value is not None}


def sending_over_receiving(z: complex, factor: float) -> float:
    """Received voltage per unit, behind `z`, of a load whose power factor holds at its own terminals: found by iteration.

    The current is that of the rating, in phase by the factor with the received voltage.
    """
    angle = math.acos(factor)
    drop = z * complex(math.cos(-angle), math.sin(-angle))
    received = 1.0
    for _ in range(200):
        received += 1 - abs(received + drop)
    return received


@tries(15)
@given(
    practice=st.sampled_from(["nec", "iec"]),
    kva=st.floats(12, 1500),
    share=st.floats(0.05, 1.3),
    factor=st.floats(0.3, 1),
    z=st.none() | st.floats(0.01, 0.12),
    ratio=st.none() | st.floats(0.3, 30),
    volts=st.sampled_from([(480, 208), (208, 480), (400, 230), (600, 480)]),
    protection=st.sampled_from(["primary_only", "primary_and_secondary"]),
    starting=st.none() | st.floats(1, 6),
    multiple=st.floats(6, 20),
)
def test_a_transformer(
    answer_of: Any,
    practice: str,
    kva: float,
    share: float,
    factor: float,
    z: float | None,
    ratio: float | None,
    volts: tuple[int, int],
    protection: str,
    starting: float | None,
    multiple: float,
) -> None:
    v1, v2 = volts
    rated1, rated2 = kva * 1000 / ROOT3 / v1, kva * 1000 / ROOT3 / v2
    sent = ask(
        practice=practice,
        frequency=q(60 if practice == "nec" else 50, "Hz"),
        primary_voltage=q(v1, "V"),
        secondary_voltage=q(v2, "V"),
        rated_apparent_power=q(kva, "kVA"),
        load_apparent_power=q(kva * share, "kVA"),
        power_factor=factor,
        impedance_fraction=z,
        x_over_r=ratio,
        protection=protection,
        starting_current=None if starting is None else q(starting * rated2, "A"),
        starting_power_factor=0.4,
        inrush_multiple=multiple,
        primary_device_rating=q(1.25 * rated1, "A"),
        magnetic_pickup_multiple=10,
    )
    answer = answer_of(TRANSFORMER, sent)
    results = answer["results"]
    size = z if z is not None else (0.0575 if kva >= 500 else 0.045)
    angle = ratio if ratio is not None else 1.5 if kva <= 75 else 3 if kva <= 300 else 5
    whole = size * complex(1, angle) / math.hypot(1, angle)
    part = whole * share
    along = part.real * factor + part.imag * math.sqrt(1 - factor**2)
    across = part.imag * factor - part.real * math.sqrt(1 - factor**2)
    received = sending_over_receiving(part, factor)
    amps = {
        "primary_current": rated1,
        "secondary_current": rated2,
        "primary_load_current": rated1 * share,
        "secondary_load_current": rated2 * share,
        "inrush_current": multiple * rated1,
        "secondary_fault_current": rated2 / size,
        "secondary_voltage_at_load": v2 * received,
    }
    for name, value in amps.items():
        assert results[name]["value"] == pytest.approx(value, rel=1e-6), name
    assert results["load_fraction"] == pytest.approx(share)
    assert results["regulation_fraction"] == pytest.approx(1 - received, abs=1e-9)
    assert results["regulation_approximate_fraction"] == pytest.approx(along)
    assert results["regulation_quadratic_fraction"] == pytest.approx(along + across**2 / 2)
    if starting is None:
        assert "starting_drop_fraction" not in results
    else:  # the motor as a constant impedance, per unit of the transformer
        motor = complex(0.4, math.sqrt(1 - 0.16)) / starting
        assert results["starting_drop_fraction"] == pytest.approx(1 - abs(motor / (motor + whole)))
    _devices(answer, practice, protection, rated1, rated2)
    _sentences(answer, kva, share, PAIRS.get(v2, v2), v2 * received, multiple * rated1, 12.5 * rated1)


def _devices(answer: Json, practice: str, protection: str, rated1: float, rated2: float) -> None:
    results, both = answer["results"], protection == "primary_and_secondary"
    primary, secondary = (rated1, rated2) if practice == "iec" else ((2.5 if both else 1.25) * rated1, 1.25 * rated2)
    ladder = NEC if practice == "nec" else IEC
    first = max(step for step in NEC if step <= primary) if practice == "nec" and both else up(ladder, primary)
    expected: dict[str, float | None] = {
        "primary_device_maximum_calculated": primary,
        "primary_device_maximum_standard": first,
        "secondary_device_maximum_calculated": secondary if both else None,
        "secondary_device_maximum_standard": up(ladder, secondary) if both else None,
    }
    for name, value in expected.items():
        assert results.get(name, {}).get("value") == (None if value is None else pytest.approx(value)), name
    text = said(answer, "device_rule_not_covered")
    found = {"primary": first, "secondary": expected["secondary_device_maximum_standard"]}
    missing = [side for side, at in found.items() if at is None and (both or side == "primary")]
    assert [side for side in ("primary", "secondary") if f"the {side} side" in text] == missing
    limits = {"primary": primary, "secondary": secondary}
    assert figures(text) == pytest.approx([limits[side] for side in missing], rel=1e-4)
    assert bool(said(answer, "primary_only")) == (practice == "nec" and not both)
    equal = said(answer, "conductors_equal_device")
    assert bool(equal) == (practice == "nec" and first is not None and first > 800)
    if equal:
        assert figures(equal)[0] == first
    large = said(answer, "primary_device_too_large")
    assert bool(large) == (first is not None and 1.25 * rated1 > first)
    if large:
        assert figures(large) == pytest.approx([1.25 * rated1, first, first], rel=1e-4)


def _sentences(
    answer: Json, kva: float, share: float, plate: float, at_load: float, inrush: float, trip: float
) -> None:
    over = said(answer, "overloaded")
    assert bool(over) == (share > 1)
    if over:
        shown = [kva * share, kva * (share - 1), kva, kva * share * 1.25]
        assert figures(over) == pytest.approx(shown, rel=2e-3, abs=1e-3)
    far = said(answer, "voltage_at_load")
    assert bool(far) == (not 0.9 * plate <= at_load <= 1.1 * plate)
    if far:
        assert figures(far) == pytest.approx([at_load, plate, 0.9 * plate, 1.1 * plate], rel=1e-3)
    trips = said(answer, "inrush_trips")
    assert bool(trips) == (inrush > trip)
    if trips:
        rating = trip / 10
        assert figures(trips) == pytest.approx([inrush, inrush - trip, trip, inrush / rating], rel=6e-3)


@pytest.mark.parametrize(("least", "within"), [(8.9, False), (9.1, True)])
def test_small_currents_follow_other_multiples(answer_of: Any, least: float, within: bool) -> None:
    """NEC Table 450.3(B) (seen as reproduced): these multiples hold from 9 A on either side."""
    kva = least * 480 * ROOT3 / 1000
    answer = answer_of(TRANSFORMER, ask(rated_apparent_power=q(kva, "kVA"), load_apparent_power=q(kva / 2, "kVA")))
    text = said(answer, "device_rule_not_covered")
    assert bool(text) is not within
    assert ("primary_device_maximum_calculated" in answer["results"]) is within
    if not within:
        assert figures(text)[:2] == pytest.approx([least, 9], rel=1e-2)


@pytest.mark.parametrize(("times", "within"), [(2.99, True), (3.01, False)])
def test_a_load_beyond_the_method(answer_of: Any, times: float, within: bool) -> None:
    sent = ask(load_apparent_power=q(112.5 * times, "kVA"))
    if within:
        assert answer_of(TRANSFORMER, sent)["results"]["load_fraction"] == pytest.approx(times)
        return
    with pytest.raises(Refused) as refused:
        answer_of(TRANSFORMER, sent)
    (error,) = refused.value.errors
    assert figures(error.detail)[0] == pytest.approx(times)
    assert error.allowed
    assert error.allowed.maximum == pytest.approx(3 * 112.5)


@pytest.mark.parametrize(("growth", "load", "within"), [(0.25, 1999, True), (0.25, 2001, False), (0.5, 1700, False)])
def test_a_load_above_the_largest_rating(answer_of: Any, growth: float, load: float, within: bool) -> None:
    """IEEE C57.12.01 (from memory): the largest is 2500 kVA, so that with a quarter of growth 2000 kVA is the most."""
    sent = ask(rated_apparent_power=None, load_apparent_power=q(load, "kVA"), growth_fraction=growth)
    if within:
        assert answer_of(TRANSFORMER, sent)["results"]["rated_apparent_power"]["value"] == 2500
        return
    with pytest.raises(Refused) as refused:
        answer_of(TRANSFORMER, sent)
    (error,) = refused.value.errors
    assert figures(error.detail) == pytest.approx([load * (1 + growth), 2500], rel=1e-4)
    assert error.allowed
    assert error.allowed.maximum == pytest.approx(2500 / (1 + growth))


@pytest.mark.parametrize(("rated", "hertz", "more"), [(60, 50, 20), (60, 60, None), (50, 60, None), (400, 60, 567)])
def test_volts_per_hertz(answer_of: Any, rated: float, hertz: float, more: float | None) -> None:
    """Faraday: at the same voltage the flux grows as the frequency falls, 20 % from 60 to 50 Hz."""
    answer = answer_of(TRANSFORMER, ask(frequency=q(hertz, "Hz"), rated_frequency=q(rated, "Hz")))
    text = said(answer, "wrong_frequency")
    assert figures(text) == ([] if more is None else [rated, hertz, more])


@pytest.mark.parametrize(
    ("off", "step"), [(0.0, 0), (0.012, 0), (0.013, 2.5), (-0.013, 2.5), (0.037, 2.5), (0.038, 5), (-0.05, 5)]
)
def test_the_tap_that_brings_the_voltage_back(answer_of: Any, off: float, step: float) -> None:
    """Common practice: taps of 2.5 % of nominal, on the primary; fed backwards they stand on the other side."""
    sent = ask(measured_primary_voltage=q(480 * (1 + off), "V"))
    text = said(answer_of(TRANSFORMER, sent), "tap")
    assert bool(text) == bool(step)
    if step:
        assert f"the tap {step:g} % {'above' if off > 0 else 'below'} nominal" in text
        assert figures(text.replace("+", ""))[0] == pytest.approx(100 * off, abs=0.06)
    assert not said(answer_of(TRANSFORMER, sent | {"fed_as_built": False}), "tap")


@pytest.mark.parametrize("built", [True, False])
@pytest.mark.parametrize("permitted", [True, False])
@pytest.mark.parametrize("bonded", [True, False])
@pytest.mark.parametrize("grounding", [None, "bonded", "monitored", "ungrounded"])
def test_how_it_is_fed_and_grounded(
    answer_of: Any, built: bool, permitted: bool, bonded: bool, grounding: str | None
) -> None:
    """NEC 450.11(B) (seen as reproduced), 250.30 (from memory)."""
    sent = ask(
        fed_as_built=built,
        maker_permits_reverse_feed=permitted,
        primary_neutral_bonded=bonded,
        secondary_grounding=grounding,
        neutral_needed=True,
        nonlinear_fraction=0.4,
        k_rated=permitted,
    )
    answer = answer_of(TRANSFORMER, sent)
    raised = {f["code"] for f in answer["findings"]}
    assert ("reverse_fed_neutral_bonded" in raised) == (not built and bonded)
    assert ("reverse_feed" in raised) == (not built and not permitted)
    assert ("taps_on_other_side" in raised) is not built
    assert ("ungrounded_secondary" in raised) == (grounding == "ungrounded")
    assert ("neutral_not_there" in raised) == (not built or grounding in ("ungrounded", "monitored"))
    assert ("nonlinear_without_k_rating" in raised) is not permitted
    if not permitted:
        assert figures(said(answer, "nonlinear_without_k_rating"))[0] == pytest.approx(0.4)
    if not built and not permitted:
        assert figures(said(answer, "reverse_feed"))[0] == 20


@pytest.mark.parametrize(
    ("heat", "height", "field"),
    [(45, 0, "ambient_temperature"), (20, 1500, "altitude"), (50, 2000, "ambient_temperature")],
)
def test_unusual_conditions_are_said_with_their_limits(answer_of: Any, heat: float, height: float, field: str) -> None:
    """IEEE C57.12.01 (from memory): 40 degC and 1000 m."""
    answer = answer_of(TRANSFORMER, ask(ambient_temperature=q(heat, "degC"), altitude=q(height, "m")))
    (found,) = [f for f in answer["findings"] if f["code"] == "unusual_conditions"]
    assert figures(found["statement"])[:4] == [heat, height, 40, 1000]
    assert found["field"].endswith(field)
