"""Fault currents worked out anew in complex ohms, with each figure of a sentence, from what was given and the rule alone.

NEC Chapter 9 Table 9 (seen), 75 degC and 60 Hz, copper 0.00323 a kelvin; IEC 60228 class 5 (seen as reproduced), 20 degC
and 0.00393 a kelvin, 0.08 ohm/km at 50 Hz (IEC 60364-5-52 Annex G, from memory). Symmetrical components: of an earth fault
on a set (2 X"d + X0)/3, behind a delta-wye transformer two thirds of what lies before it. IEC 60909: peak factor.
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
FAULT = "electrical.fault_current"
Json = dict[str, Any]
# ohm per kft, ohm per kft, mm2 (AWG n is 0.127 mm x 92^((36 - n)/39) across)
AWG = {"4/0 AWG": (0.062, 0.041, 107.22), "1/0 AWG": (0.12, 0.044, 53.475), "2 AWG": (0.19, 0.045, 33.631)}
# ohm per km at 20 degC, mm2
METRIC = {"95 mm2": (0.206, 95.0), "50 mm2": (0.386, 50.0), "35 mm2": (0.554, 35.0), "16 mm2": (1.21, 16.0)}


def per_metre(size: str, warm: float, hertz: float) -> complex:
    if size in AWG:
        r, x, _ = AWG[size]
        return complex(r * (1 + 0.00323 * (warm - 75)), x * hertz / 60) / 304.8
    r, _ = METRIC[size]
    return complex(r * (1 + 0.00393 * (warm - 20)), 0.08 * hertz / 50) / 1000


def area(size: str) -> float:
    return AWG[size][2] if size in AWG else METRIC[size][1]


def ohms(magnitude: float, angle: float) -> complex:
    return magnitude * complex(1, angle) / math.hypot(1, angle)


def source_of(
    kind: str, volts: float, kva: float, z: float, angle: float, before: float | None
) -> tuple[Json, complex, complex, float]:
    """The source as it is asked for; its impedance for the greatest current and round the loop; base current."""
    base = volts**2 / (kva * 1000)
    if kind == "utility_transformer":
        sent: Json = {"kind": kind, "rated_apparent_power": q(kva, "kVA"), "impedance_fraction": z, "x_over_r": angle}
        upstream = 0j
        if before is not None:
            sent |= {"upstream_fault_power": q(before, "MVA"), "upstream_x_over_r": 8}
            upstream = ohms(volts**2 / (before * 1e6), 8)
        return sent, ohms(0.9 * z * base, angle) + upstream, ohms(z * base, angle) + upstream * 2 / 3, kva / volts
    if kind == "generator":
        sent = {"kind": kind, "rated_apparent_power": q(kva, "kVA"), "subtransient_reactance": z + 0.05}
        sent |= {"zero_sequence_reactance": 0.04, "stator_resistance": q(0.01, "ohm")}
        return sent, complex(0.01, (z + 0.05) * base), complex(0.01, (2 * (z + 0.05) + 0.04) / 3 * base), kva / volts
    amps = kva / z / volts * 1000 / math.sqrt(3)
    sent = {"kind": kind, "available_fault_current": q(amps, "A"), "x_over_r": angle}
    return sent, ohms(volts / math.sqrt(3) / amps, angle), ohms(volts / math.sqrt(3) / amps, angle), kva / z / volts


runs = st.lists(
    st.tuples(st.floats(2, 250), st.integers(0, 2), st.integers(0, 2), st.integers(1, 3), st.integers(1, 3)), max_size=3
)


@tries(15)
@given(
    practice=st.sampled_from(["nec", "iec"]),
    kind=st.sampled_from(["utility_transformer", "generator", "known_fault_current"]),
    kva=st.floats(50, 2500),
    z=st.floats(0.02, 0.12),
    angle=st.floats(0.3, 12),
    before=st.none() | st.floats(20, 900),
    lengths=runs,
    warm=st.none() | st.floats(0, 90),
    hertz=st.sampled_from([50, 60]),
    motors=st.tuples(st.floats(0, 800), st.floats(0, 6)),
    rating=st.floats(2, 60),
)
def test_a_radial_circuit(
    answer_of: Any,
    practice: str,
    kind: str,
    kva: float,
    z: float,
    angle: float,
    before: float | None,
    lengths: list[tuple[float, int, int, int, int]],
    warm: float | None,
    hertz: float,
    motors: tuple[float, float],
    rating: float,
) -> None:
    volts = 480.0 if practice == "nec" else 400.0
    sizes = list(AWG if practice == "nec" else METRIC)
    source, greatest, loop, base_current = source_of(kind, volts, kva, z, angle, before)
    cold, hot = (75.0, 75.0) if practice == "nec" else (20.0, 60.0)
    if warm is not None:
        cold = hot = warm
    lines, round_loop, withstand, segments = 0j, 0j, [], []
    steps = 1.0
    c = 1.0 if practice == "nec" else 1.05
    to_earth = volts / math.sqrt(3)
    left = c * to_earth / abs(greatest)
    for metres, line, ground, sets, grounds in lengths:
        if practice == "nec" and sizes[line] == "2 AWG":
            sets = 1
        one = metres * per_metre(sizes[line], cold, hertz) / sets
        lines += one
        round_loop += metres * per_metre(sizes[line], hot, hertz) / sets
        round_loop += metres * per_metre(sizes[ground], hot, hertz) / grounds
        step = 1 / (1 + math.sqrt(3) * left * abs(one) / volts)
        left, steps = left * step, steps * step
        withstand.append((sets * area(sizes[line]), grounds * area(sizes[ground])))
        segments.append(
            {"length": q(metres, "m"), "conductor_size": sizes[line], "sets": sets, "ground_sets": grounds}
            | {"ground_conductor_size": sizes[ground]}
            | ({} if warm is None else {"conductor_temperature": q(warm, "degC")})
        )
    device = {"rating": q(100, "A"), "magnetic_pickup_multiple": 8, "pickup_tolerance_fraction": 0.15}
    sent = {
        "practice": practice,
        "system_voltage": q(volts, "V"),
        "frequency": q(hertz, "Hz"),
        "source": source,
        "segments": segments,
        "motor_running_current": q(motors[0], "A"),
        "motor_contribution_multiple": motors[1],
        "device": device | {"interrupting_rating": q(rating, "kA")},
        "machine_short_circuit_rating": q(rating, "kA"),
        "voltage_factor_min": 0.9,
    }
    answer = answer_of(FAULT, sent)
    results = answer["results"]
    whole = greatest + lines
    at_source, at_machine = c * to_earth / abs(greatest), c * to_earth / abs(whole)
    fed = at_machine + motors[0] * motors[1]
    earth = 0.9 * to_earth / abs(loop + round_loop)
    kappa = 1.02 + 0.98 * math.exp(-3 * whole.real / whole.imag)
    expected = {
        "source_fault_current": at_source,
        "fault_current_at_machine": at_machine,
        "fault_current_with_motors": fed,
        "peak_current": kappa * math.sqrt(2) * at_machine,
        "earth_fault_loop_impedance": abs(loop + round_loop),
        "earth_fault_current": earth,
        "required_operating_current": 100 * 8 * 1.15,
        "earth_fault_loop_impedance_maximum": 0.9 * to_earth / 920,
    }
    for name, value in expected.items():
        assert results[name]["value"] == pytest.approx(value, rel=1e-6), name
    assert results["x_over_r"] == pytest.approx(whole.imag / whole.real)
    assert results["peak_factor"] == pytest.approx(kappa)
    assert results["rating_margin_fraction"] == pytest.approx(1 - fed / rating / 1000)
    assert results["point_to_point"]["multiplier"] == pytest.approx(steps)
    assert results["point_to_point"]["f"] == pytest.approx(1 / steps - 1, abs=1e-9)
    assert results["point_to_point"]["current"]["value"] == pytest.approx(left)
    base = base_current * 1000 / math.sqrt(3)
    assert results["per_unit"]["base_current"]["value"] == pytest.approx(base)
    assert results["per_unit"]["impedance"] == pytest.approx(abs(whole) / (to_earth / base))
    assert results["per_unit"]["current"]["value"] == pytest.approx(at_machine)
    assert results["rating_verdict"] == ("exceeds" if fed > rating * 1000 else "ok")
    assert results["clears"] is (earth >= 920)
    k = 143 if practice == "nec" else 141
    stand = min([(k * a / i) ** 2 for both in withstand for a, i in zip(both, (at_machine, earth), strict=True)] or [0])
    assert results.get("conductor_withstand_duration", {"value": 0})["value"] == pytest.approx(stand, rel=1e-3)
    if fed > rating * 1000:
        shown = [fed, fed - rating * 1000, rating * 1000]
        assert figures(said(answer, "above_machine_rating")) == pytest.approx(shown, rel=1e-3)
    at_device = max(at_source, fed)
    assert bool(said(answer, "above_interrupting_rating")) == (at_device > rating * 1000)
    if at_device > rating * 1000:
        shown = [at_device, at_device - rating * 1000, rating * 1000]
        assert figures(said(answer, "above_interrupting_rating")) == pytest.approx(shown, rel=1e-3)
    near = figures(said(answer, "near_machine_rating"))
    assert near == (
        pytest.approx([fed, 100 - fed / rating / 10, rating * 1000], rel=1e-3, abs=0.06)
        if 900 * rating < fed <= 1000 * rating
        else []
    )
    short = figures(said(answer, "earth_fault_not_cleared"))
    assert short == ([] if earth >= 920 else pytest.approx([earth, 920, 920 - earth], rel=1e-3))
    assert bool(said(answer, "generator_fault_by_magnetic_trip")) == (kind == "generator")


def ask(**changes: Any) -> Json:
    base = {
        "practice": "iec",
        "system_voltage": q(400, "V"),
        "source": {"kind": "known_fault_current", "available_fault_current": q(20, "kA"), "x_over_r": 4},
        "segments": [{"length": q(30, "m"), "conductor_size": "95 mm2", "ground_conductor_size": "50 mm2"}],
        "device": {"rating": q(100, "A")},
        "machine_short_circuit_rating": q(30, "kA"),
    }
    return {k: v for k, v in (base | changes).items() if v is not None}


@pytest.mark.parametrize(
    ("volts", "rating", "socket", "seconds"),
    # IEC 60364-4-41 Table 41.1 (seen as reproduced): by nominal voltage to earth; to 32 A, with a socket-outlet to 63 A.
    # Nominal voltages are rounded: half a percent above a row's voltage is still that row (common practice)
    [
        (208, 32, False, 0.8), (208.85, 32, False, 0.8), (208.95, 32, False, 0.4), (220, 32, False, 0.4),
        (400, 32, False, 0.4), (415, 32, False, 0.2), (480, 32, False, 0.2),
        (690, 32, False, 0.2), (400, 33, False, 5), (400, 63, True, 0.4), (400, 64, True, 5), (690, 100, False, 5),
    ],
)  # fmt: skip
def test_the_time_that_is_allowed(answer_of: Any, volts: float, rating: float, socket: bool, seconds: float) -> None:
    sent = ask(system_voltage=q(volts, "V"), device={"rating": q(rating, "A")}, socket_outlet=socket)
    assert answer_of(FAULT, sent)["results"]["disconnection_time_limit"] == q(seconds, "s")
    nec = sent | {"practice": "nec", "segments": []}
    assert "disconnection_time_limit" not in answer_of(FAULT, nec)["results"]


# BS 7671 Appendix 3 (seen as reproduced): gG fuses
@pytest.mark.parametrize(
    ("rating", "socket", "seconds", "amps"),
    [(63, False, 5, 320), (80, False, 5, 425), (100, False, 5, 580), (63, True, 0.4, 550), (90, False, 5, None)],
)
def test_the_current_of_a_fuse(answer_of: Any, rating: float, socket: bool, seconds: float, amps: float | None) -> None:
    answer = answer_of(FAULT, ask(device={"kind": "fuse", "rating": q(rating, "A")}, socket_outlet=socket))
    assert answer["results"].get("required_operating_current", {}).get("value") == amps
    if amps is None:
        assert said(answer, "fuse_curve_missing")
        assert "clears" not in answer["results"]
    else:
        assert figures(said(answer, "fuse_curve_assumed"))[:3] == [rating, seconds, amps]


@pytest.mark.parametrize("practice", ["nec", "iec"])
def test_a_residual_current_device_acts_at_five_times_its_rating(answer_of: Any, practice: str) -> None:
    """IEC 60364-4-41, 411.4.4 (from memory). A magnetic release is not asked, whatever feeds the fault."""
    source = {"kind": "generator", "rated_apparent_power": q(40, "kVA")}
    segments = ask()["segments"] if practice == "iec" else []
    device = {"rating": q(100, "A"), "residual_operating_current": q(0.3, "A")}
    answer = answer_of(FAULT, ask(practice=practice, source=source, segments=segments, device=device))
    assert answer["results"]["required_operating_current"]["value"] == pytest.approx(1.5)
    assert not said(answer, "generator_fault_by_magnetic_trip")
    weak = answer_of(FAULT, ask(practice=practice, source=source, segments=segments))
    text = said(weak, "generator_fault_by_magnetic_trip")
    assert figures(text)[0] == 1200
    assert ("residual-current" in text) == (practice == "iec"), "the words of the practice"
    assert weak["results"]["clears"] is False


def test_assumptions_of_a_source_are_named(answer_of: Any) -> None:
    """Common practice, no source: X"d 0.12 and X0 0.05 of a set, X/R 10 of a stated current."""
    volts, kva = 400.0, 250.0
    base = volts**2 / kva / 1000
    bare = {"kind": "generator", "rated_apparent_power": q(kva, "kVA")}
    answer = answer_of(FAULT, ask(source=bare, segments=[]))
    to_earth = volts / math.sqrt(3)
    assert answer["results"]["source_fault_current"]["value"] == pytest.approx(1.05 * to_earth / (0.12 * base))
    assert answer["results"]["earth_fault_current"]["value"] == pytest.approx(
        0.95 * to_earth / ((0.24 + 0.05) / 3 * base)
    )
    assert 'X"d 0.12' in said(answer, "source_assumed")
    known = {"kind": "known_fault_current", "available_fault_current": q(10, "kA")}
    answer = answer_of(FAULT, ask(source=known, segments=[]))
    assert answer["results"]["x_over_r"] == pytest.approx(10)
    assert "X/R 10" in said(answer, "source_assumed")


@pytest.mark.parametrize(
    ("practice", "line", "device", "least", "smaller"),
    # NEC Table 250.122 (seen), by the device; IEC 60364-5-54 Table 54.2 (seen as reproduced), by the line
    [
        ("nec", "4/0 AWG", 200, "6 AWG", "8 AWG"), ("nec", "4/0 AWG", 201, "4 AWG", "6 AWG"),
        ("nec", "4/0 AWG", 300, "4 AWG", "6 AWG"), ("nec", "4/0 AWG", 1000, "2/0 AWG", "1/0 AWG"),
        ("iec", "16 mm2", 100, "16 mm2", "10 mm2"), ("iec", "35 mm2", 100, "16 mm2", "10 mm2"),
        ("iec", "95 mm2", 100, "50 mm2", "35 mm2"), ("iec", "50 mm2", 100, "25 mm2", "16 mm2"),
    ],
)  # fmt: skip
def test_a_ground_that_is_too_small(
    answer_of: Any, practice: str, line: str, device: float, least: str, smaller: str
) -> None:
    def found(size: str) -> str:
        segment = {"length": q(20, "m"), "conductor_size": line, "ground_conductor_size": size}
        volts = 480 if practice == "nec" else 400
        sent = ask(
            practice=practice, system_voltage=q(volts, "V"), segments=[segment], device={"rating": q(device, "A")}
        )
        return said(answer_of(FAULT, sent), "ground_undersized")

    assert not found(least)
    assert f"is {smaller}; the table asks for {least}" in found(smaller)


def test_conductors_that_stand_too_short(answer_of: Any) -> None:
    """(k S / I)^2 with k 141 (IEC 60364-5-54, from memory) against the time allowed, unless a magnetic trip opens at once."""
    device = {"kind": "fuse", "rating": q(100, "A"), "operating_current": q(580, "A")}
    answer = answer_of(FAULT, ask(device=device))
    stands = answer["results"]["conductor_withstand_duration"]["value"]
    assert stands < 5
    assert figures(said(answer, "withstand_short")) == pytest.approx([stands, 5], rel=5e-3)
    assert not said(answer_of(FAULT, ask()), "withstand_short"), "the breaker opens at once"
    slow = {"rating": q(100, "A"), "magnetic_pickup_multiple": 20, "pickup_tolerance_fraction": 0.5}
    weak = {"kind": "generator", "rated_apparent_power": q(100, "kVA")}
    never = answer_of(FAULT, ask(device=slow, source=weak))
    assert never["results"]["clears"] is False
    stands = never["results"]["conductor_withstand_duration"]["value"]
    assert bool(said(never, "withstand_short")) == (stands < 5)
    small = [{"length": q(2, "m"), "conductor_size": "16 mm2", "ground_conductor_size": "16 mm2"}]
    strong = {"kind": "known_fault_current", "available_fault_current": q(2, "kA"), "x_over_r": 1}
    barely = answer_of(FAULT, ask(device=slow, source=strong, segments=small))
    assert barely["results"]["clears"] is False
    assert said(barely, "withstand_short"), "nothing opens at once: the wires must stand five seconds"


@pytest.mark.parametrize(("amps", "side"), [(4990, "within"), (5010, "above")])
def test_a_machine_without_a_mark(answer_of: Any, amps: float, side: str) -> None:
    """UL 508A and IEC 60335-2-40 (from memory): what carries no mark is built for 5 kA."""
    source = {"kind": "known_fault_current", "available_fault_current": q(amps / 1.05, "A"), "x_over_r": 4}
    answer = answer_of(FAULT, ask(source=source, segments=[], machine_short_circuit_rating=None))
    text = said(answer, "machine_unmarked")
    assert f"is {side} the" in text
    assert figures(text)[:2] == pytest.approx([amps, 5000])
    assert answer["results"]["rating_verdict"] == "unknown"


def test_parallel_lines_may_share_one_ground(answer_of: Any) -> None:
    """Of one set no number of grounds is asked, and there is one; of two the answer must be known."""
    segment = {"length": q(5, "m"), "conductor_size": "95 mm2", "ground_conductor_size": "10 mm2"}
    alone = answer_of(FAULT, ask(segments=[segment]))["results"]
    stated = answer_of(FAULT, ask(segments=[segment | {"ground_sets": 1}]))["results"]
    assert alone == stated
    stand = (141 * 10 / alone["earth_fault_current"]["value"]) ** 2
    assert alone["conductor_withstand_duration"]["value"] == pytest.approx(stand)
    two = answer_of(FAULT, ask(segments=[segment | {"ground_sets": 2}]))["results"]
    assert two["earth_fault_loop_impedance"]["value"] < alone["earth_fault_loop_impedance"]["value"]
    with pytest.raises(Refused):
        answer_of(FAULT, ask(segments=[segment | {"sets": 2}]))


def test_an_earth_fault_that_is_not_cleared(answer_of: Any) -> None:
    """By hand: 0.95 x 230.9 V round 500 m there and back, against 12 times a device of 100 A."""
    segment = {"length": q(500, "m"), "conductor_size": "95 mm2", "ground_conductor_size": "50 mm2"}
    answer = answer_of(FAULT, ask(segments=[segment]))
    loop = 0.5 * (METRIC["95 mm2"][0] + METRIC["50 mm2"][0]) * (1 + 0.00393 * 40) + 2j * 0.5 * 0.08
    loop += ohms(400 / math.sqrt(3) / 20000, 4)
    current = 0.95 * 400 / math.sqrt(3) / abs(loop)
    assert figures(said(answer, "earth_fault_not_cleared")) == pytest.approx([current, 1200, 1200 - current], rel=1e-3)
    assert answer["results"]["clears"] is False


def test_resistance_of_a_set_per_unit(answer_of: Any) -> None:
    """The windings' ohms over the base of the set: the sum per unit is that in ohms."""
    source = {"kind": "generator", "rated_apparent_power": q(250, "kVA"), "stator_resistance": q(0.05, "ohm")}
    results = answer_of(FAULT, ask(source=source, segments=[]))["results"]
    base = 400**2 / 250e3
    assert results["per_unit"]["impedance"] == pytest.approx(abs(complex(0.05 / base, 0.12)))
    assert results["per_unit"]["current"]["value"] == pytest.approx(results["source_fault_current"]["value"])
