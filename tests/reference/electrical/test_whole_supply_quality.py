"""Readings of a supply judged anew, with each figure of a sentence, from the rule alone.

NEMA MG 1 (seen condensed and as reproduced): unbalance is the greatest deviation over the mean, currents grow 6 to 10 times
as uneven, the temperature rise by 2 u%^2 percent, 10 % of the plate for voltage, and 10 % for voltage and frequency
together. Fortescue: negative over positive sequence of a triangle with these sides.
"""

import cmath
import math
from typing import Any

import numpy as np
import pytest
from edges import example
from hypothesis import given
from hypothesis import strategies as st
from quantity import q
from said import figures, said
from tries import tries

from coldwright.contract import Refused

pytestmark = pytest.mark.check
QUALITY = "electrical.supply_quality"
Json = dict[str, Any]
# NEMA MG 1, derating for unbalanced voltages (seen as reproduced), percent and factor
DERATING = ([0, 1, 1.5, 2, 2.5, 3, 3.5, 4, 4.5, 5], [1, 1, 0.97, 0.95, 0.93, 0.89, 0.85, 0.82, 0.78, 0.76])


def three(names: str, values: Any, unit: str) -> Json:
    keys = ("ab", "bc", "ca") if names == "lines" else ("a", "b", "c")
    return {key: q(value, unit) for key, value in zip(keys, values, strict=True)}


def ask(volts: Any = (470, 470, 470), **changes: Any) -> Json:
    base = {
        "practice": "nec",
        "nominal_voltage": q(480, "V"),
        "frequency": q(60, "Hz"),
        "measured_frequency": q(60, "Hz"),
        "line_voltages": three("lines", volts, "V"),
        "loaded": True,
        "rotation": "correct",
        "sequence_relay": "healthy",
        "supply_state": "live",
        "measured_by_qualified_person": True,
    }
    return {name: value for name, value in (base | changes).items() if value is not None}


def codes(answer: Json, severity: str = "") -> set[str]:
    return {f["code"] for f in answer["findings"] if severity in ("", f["severity"])}


def negative_over_positive(sides: Any) -> float:
    """The triangle of the line voltages, laid down from its sides; then symmetrical components."""
    ab, bc, ca = sides
    angle = math.acos((ab**2 + ca**2 - bc**2) / (2 * ab * ca))
    first, third = complex(ab, 0), -cmath.rect(ca, -angle)
    second = -first - third
    turn = cmath.rect(1, 2 * math.pi / 3)
    one, two = (abs(first + turn * second + turn**2 * third), abs(first + turn**2 * second + turn * third))
    return min(one, two) / max(one, two)


shares = st.integers(9550, 10450).map(lambda part: part / 10000)


@tries(15)
@given(
    practice=st.sampled_from(["nec", "iec"]),
    volts=st.tuples(shares, shares, shares),
    level=st.floats(0.86, 1.12),
    amps=st.none() | st.tuples(st.floats(60, 140), st.floats(60, 140), st.floats(60, 140)),
    limit=st.floats(0.005, 0.05),
    off=st.none() | st.floats(-0.07, 0.07),
    current_limit=st.floats(0.05, 0.3),
)
def test_readings(
    answer_of: Any,
    practice: str,
    volts: tuple[float, float, float],
    level: float,
    amps: tuple[float, float, float] | None,
    limit: float,
    off: float | None,
    current_limit: float,
) -> None:
    hertz = 60.0 if practice == "nec" else 50.0
    nominal, plate = (480.0, 460.0) if practice == "nec" else (400.0, 400.0)
    read = [level * plate * share for share in volts]
    sent = ask(
        read,
        practice=practice,
        nominal_voltage=q(nominal, "V"),
        frequency=q(hertz, "Hz"),
        measured_frequency=None if off is None else q(hertz * (1 + off), "Hz"),
        line_currents=None if amps is None else three("phases", amps, "A"),
        unbalance_limit_fraction=limit,
        current_unbalance_limit_fraction=current_limit,
    )
    answer = answer_of(QUALITY, sent)
    results = answer["results"]
    mean = float(np.mean(read))
    u = float(np.max(np.abs(np.array(read) - mean))) / mean
    negative = negative_over_positive(read)
    counted = u if practice == "nec" else negative
    assert results["average_voltage"]["value"] == pytest.approx(mean)
    assert results["deviation_from_nominal_fraction"] == pytest.approx(mean / nominal - 1, abs=1e-9)
    deviation = results["deviation_from_nameplate_fraction"]
    assert deviation == pytest.approx(mean / plate - 1, abs=1e-9)
    assert results["voltage_minimum"]["value"] == pytest.approx(0.9 * plate)
    assert results["voltage_maximum"]["value"] == pytest.approx(1.1 * plate)
    assert results["voltage_unbalance_fraction"] == pytest.approx(u, abs=1e-9)
    assert results["negative_sequence_fraction"] == pytest.approx(negative, abs=1e-6)
    assert results["unbalance_margin_fraction"] == pytest.approx(limit - counted, abs=1e-6)
    assert results["temperature_rise_increase_fraction"] == pytest.approx(2 * (100 * u) ** 2 / 100)
    factor = float(np.interp(100 * u, *DERATING))
    assert results.get("derating_factor") == (pytest.approx(factor) if u <= 0.05 else None)
    expected: set[str] = set()
    if min(read) < 0.9 * plate:
        expected.add("voltage_low")
        shown = [min(read), 0.9 * plate - min(read), 0.9 * plate]
        assert figures(said(answer, "voltage_low")) == pytest.approx(shown, rel=1e-3)
    if max(read) > 1.1 * plate:
        expected.add("voltage_high")
        shown = [max(read), max(read) - 1.1 * plate, 1.1 * plate]
        assert figures(said(answer, "voltage_high")) == pytest.approx(shown, rel=1e-3)
    if u > 0.05:
        expected.add("unbalance_above_five_percent")
        assert figures(said(answer, "unbalance_above_five_percent"))[0] == pytest.approx(100 * u, abs=0.006)
    if counted > limit:
        expected.add("unbalance_above_limit")
        shown = [100 * counted, 100 * (counted - limit), 100 * limit]
        assert figures(said(answer, "unbalance_above_limit")) == pytest.approx(shown, abs=0.006)
    derates = said(answer, "unbalance_derates")
    assert bool(derates) == (counted <= limit and u > 0.01)
    if derates and u <= 0.05:
        assert figures(derates)[0] == pytest.approx(100 * u, abs=0.006)
        assert figures(derates)[1] == pytest.approx(factor, abs=6e-4)
        assert figures(derates)[2] == pytest.approx(2 * (100 * u) ** 2, abs=0.06)
    nominal_off = said(answer, "outside_nominal_tolerance")
    assert bool(nominal_off) == (practice == "iec" and abs(mean / nominal - 1) > 0.1)
    if nominal_off:
        assert abs(figures(nominal_off)[0]) == pytest.approx(100 * abs(mean / nominal - 1), abs=0.06)
    if off is not None:
        if abs(off) > (0.05 if practice == "nec" else 0.01):
            expected.add("frequency_out")
            assert figures(said(answer, "frequency_out"))[0] == pytest.approx(hertz * (1 + off), rel=1e-3)
        if abs(off) + abs(mean / plate - 1) > 0.1:
            expected.add("voltage_and_frequency_out")
            shown = [100 * abs(mean / plate - 1), 100 * abs(off)]
            both = [abs(number) for number in figures(said(answer, "voltage_and_frequency_out").replace("+", ""))]
            assert both[:2] == pytest.approx(shown, abs=0.006)
    assert codes(answer, "stop") == expected == set(results["blocking"])
    assert results["start_allowed"] is not bool(expected)
    if amps is not None:
        _currents(answer, amps, u, current_limit)
    else:
        assert "average_current" not in results
        assert said(answer, "no_load_currents")


def _currents(answer: Json, amps: tuple[float, float, float], u: float, limit: float) -> None:
    results, mean = answer["results"], sum(amps) / 3
    uneven = max(abs(amp - mean) for amp in amps) / mean
    assert results["average_current"]["value"] == pytest.approx(mean)
    assert results["current_unbalance_fraction"] == pytest.approx(uneven)
    assert results["expected_current_unbalance_low_fraction"] == pytest.approx(6 * u, abs=1e-9)
    assert results["expected_current_unbalance_high_fraction"] == pytest.approx(10 * u, abs=1e-9)
    over = said(answer, "current_unbalance")
    assert bool(over) == (uneven > limit)
    if over:
        shown = [100 * uneven, 100 * limit, 600 * u, 1000 * u]
        assert figures(over) == [pytest.approx(a, abs=0.51 if place == 1 else 0.006) for place, a in enumerate(shown)]
    machine = [f for f in answer["findings"] if f["code"] == "machine_suspected"]
    assert bool(machine) == (uneven > 10 * u + 1e-9)
    for found in machine:
        assert found["severity"] == ("check" if uneven > limit else "note")
        assert figures(found["statement"])[0] == pytest.approx(100 * uneven, abs=0.006)
        assert figures(found["statement"])[1] == pytest.approx(100 * u, abs=0.006)
        moved = any("move all three lines" in action for action in results["actions"])
        assert moved == (uneven > limit)


@pytest.mark.parametrize(
    ("volts", "closes"),
    [((400, 200, 199), False), ((400, 201, 200), True), ((480, 480, 0), True), ((480, 400, 0), False)],
)
def test_sides_that_make_no_triangle(answer_of: Any, volts: tuple[float, float, float], closes: bool) -> None:
    """Kirchhoff: voltages of one moment add up to nothing. Where they cannot, the negative sequence is set to 1."""
    answer = answer_of(QUALITY, ask(volts))
    assert ("readings_do_not_close" not in codes(answer)) == closes
    if not closes:
        assert answer["results"]["negative_sequence_fraction"] == 1


@pytest.mark.parametrize(("lowest", "lost"), [(0, True), (239, True), (241, False)])
def test_a_line_below_half_of_the_mean_is_lost(answer_of: Any, lowest: float, lost: bool) -> None:
    """Common practice. 480 V twice and 240 V: the mean is 400 V; for half of the mean x = (960 + x)/6 or 192 V."""
    volts = (480, 480, lowest * 0.8)
    answer = answer_of(QUALITY, ask(volts))
    text = said(answer, "lost_phase")
    assert bool(text) == lost
    if lost:
        assert "ca" in text
        assert figures(text)[-1] == pytest.approx(sum(volts) / 3, rel=1e-3)
        assert answer["results"]["actions"][:3] == [
            "The machine runs on this supply: unload it, stop its compressors, then its pump, before anything else.",
            "Start nothing.",
            "Open the device at the source of this supply.",
        ]


def test_nothing_at_all(answer_of: Any) -> None:
    answer = answer_of(QUALITY, ask((0, 0, 0), line_currents=three("phases", (0, 0, 0), "A")))
    assert "lost_phase" in answer["results"]["blocking"]
    assert "voltage_unbalance_fraction" not in answer["results"]
    assert "loaded_without_current" in codes(answer)
    assert "current_unbalance_fraction" not in answer["results"]
    idle = answer_of(QUALITY, ask((0, 0, 0), line_currents=three("phases", (0, 0, 0), "A"), loaded=False))
    assert "loaded_without_current" not in codes(idle)
    assert idle["results"]["actions"][0] == "Start nothing.", "nothing runs that had to be stopped"


@pytest.mark.parametrize(("volts", "within"), [(0, True), (1, False), (49, False), (50, True), (800, True)])
def test_a_voltage_between_dead_and_alive(answer_of: Any, volts: float, within: bool) -> None:
    """Common practice: below 50 V a line is dead or floats, and no meter says which."""
    sent = ask((480, 480, volts))
    if within:
        answer_of(QUALITY, sent)
        return
    with pytest.raises(Refused) as refused:
        answer_of(QUALITY, sent)
    (error,) = refused.value.errors
    assert error.allowed
    assert (error.allowed.minimum, error.allowed.maximum) == (50, 800)


@pytest.mark.parametrize(
    ("low", "high", "pointer"),
    [(500, 490, "minimum"), (490, 490, "minimum"), (510, None, "minimum"), (None, 410, "maximum"), (489, 490, "")],
)
def test_limits_of_the_machine_in_their_order(answer_of: Any, low: float, high: float, pointer: str) -> None:
    """By hand: 0.9 and 1.1 of a plate of 460 V are 414 and 506 V."""
    given_limits = {"voltage_minimum": low and q(low, "V"), "voltage_maximum": high and q(high, "V")}
    sent = ask((489.5, 489.5, 489.5), **given_limits)
    if not pointer:
        assert not codes(answer_of(QUALITY, sent), "stop")
        return
    with pytest.raises(Refused) as refused:
        answer_of(QUALITY, sent)
    (error,) = refused.value.errors
    assert error.pointer == f"#/voltage_{pointer}"
    assert figures(error.detail) == [low or 414, high or 506]


@pytest.mark.parametrize(
    ("nominal", "plate", "stops", "far", "noted"),
    [
        (480, 460, False, False, True), (480, 480, False, False, False), (480, 436, True, False, False),
        (480, 437, False, False, True), (480, 528, False, False, False), (480, 529, True, False, False),
        (480, 407, True, True, False), (480, 409, True, False, False), (480, 551, True, False, False),
        (480, 553, True, True, False),
    ],
)  # fmt: skip
def test_a_plate_and_its_system(
    answer_of: Any, nominal: float, plate: float, stops: bool, far: bool, noted: bool
) -> None:
    """NEMA MG 1 12.44: 10 % of the plate, so a plate of 436 V is too low for 480 V; beyond 15 % (common practice) far off."""
    answer = answer_of(QUALITY, ask(nominal_voltage=q(nominal, "V"), nameplate_voltage=q(plate, "V")))
    text = said(answer, "nameplate_mismatch")
    assert bool(text) == stops
    assert ("it needs a transformer" in text) == far
    if stops:
        assert figures(text)[:2] == [plate, nominal]
        assert figures(text)[2] == pytest.approx(plate / nominal, abs=6e-4)
    assert bool(said(answer, "nameplate_below_nominal")) == noted


@pytest.mark.parametrize("state", ["live", "isolated_locked_tagged"])
@pytest.mark.parametrize("loaded", [True, False])
@pytest.mark.parametrize("rotation", ["correct", "reversed", "not_checked"])
@pytest.mark.parametrize("relay", ["healthy", "tripped"])
def test_who_may_start(answer_of: Any, state: str, loaded: bool, rotation: str, relay: str) -> None:
    """Common practice: the meter first, the monitor of the machine second; a start needs a live supply and no stop."""
    answer = answer_of(QUALITY, ask(rotation=rotation, sequence_relay=relay, loaded=loaded, supply_state=state))
    results = answer["results"]
    conflict = rotation == "correct" and relay == "tripped"
    expected = "conflict" if conflict else {"not_checked": "unknown"}.get(rotation, rotation)
    assert results["rotation_verdict"] == expected
    assert results["start_allowed"] == (state == "live" and expected == "correct")
    assert bool(said(answer, "unloaded_readings")) is not loaded
    assert bool(said(answer, "supply_isolated")) == (state != "live")
    text = said(answer, "rotation_unknown")
    assert ("phase monitor has tripped" in text) == (rotation == "not_checked" and relay == "tripped")
    assert results["actions"] == [] or "machine runs" not in results["actions"][0], "reversed lines burn nothing out"


def test_uneven_lines_to_ground(answer_of: Any) -> None:
    """A high leg of a delta with its centre grounded: 208 V beside 120 V (textbook)."""
    answer = answer_of(QUALITY, example(QUALITY, line_to_ground_voltages=three("phases", (120, 208, 120), "V")))
    assert figures(said(answer, "line_to_ground_uneven"))[:3] == [120, 208, 120]
    dead = answer_of(QUALITY, example(QUALITY, line_to_ground_voltages=three("phases", (0, 0, 0), "V")))
    assert said(dead, "line_to_ground_uneven")
    even = answer_of(QUALITY, example(QUALITY, line_to_ground_voltages=three("phases", (277, 278, 276), "V")))
    assert not said(even, "line_to_ground_uneven")


def test_single_phasing(answer_of: Any) -> None:
    """Common practice: a line with less than a tenth of the mean current runs on the other two."""
    answer = answer_of(QUALITY, ask(line_currents=three("phases", (150, 140, 6), "A")))
    assert figures(said(answer, "single_phasing"))[:2] == pytest.approx([6, 296 / 3], rel=1e-3)
    assert answer["results"]["actions"][0].startswith("The machine runs on this supply")
