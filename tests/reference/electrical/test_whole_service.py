"""The circuit of machines worked out anew, with each figure of its sentences, from what was given and the rule alone.

NEC 440.33, 440.34 and 430.24 (seen as reproduced): every current, a quarter of the largest motor, a quarter of what runs
for hours. 440.22(B) and 430.62(A): the device of the largest and the rest. 430.24 Exception 3: of machines that cannot run
together those count that need most. IEC 60364-4-43, 433.1 (seen as reproduced): the sum of the rated currents.
"""

import itertools
import math
from typing import Any

import pytest
from edges import example
from hypothesis import given
from hypothesis import strategies as st
from quantity import q
from said import figures, said
from tries import tries

from coldwright.contract import Refused

pytestmark = pytest.mark.check
SERVICE = "electrical.service"
Json = dict[str, Any]
# NEC 240.6(A) (seen as reproduced), and the frames of safety switches (common practice)
NEC = (
    *(15, 20, 25, 30, 35, 40, 45, 50, 60, 70, 80, 90, 100, 110, 125, 150, 175, 200, 225, 250, 300, 350, 400, 450),
    *(500, 600, 700, 800, 1000, 1200, 1600, 2000, 2500, 3000, 4000, 5000, 6000),
)
FRAMES = (30, 60, 100, 200, 400, 600, 800, 1200)
IEC = (16, 20, 25, 32, 40, 50, 63, 80, 100, 125, 160, 200, 250, 315, 400, 500, 630, 800, 1000, 1250, 1600)


def up(ladder: tuple[int, ...], amps: float) -> int | None:
    return next((step for step in ladder if step >= amps * (1 - 1e-9)), None)


def down(amps: float) -> int:
    return max([step for step in NEC if step <= amps * (1 + 1e-9)], default=15)


def ask(*machines: Json, **changes: Any) -> Json:
    base = {"practice": "nec", "system_voltage": q(480, "V"), "frequency": q(60, "Hz")}
    listed = [{"machine_id": f"m{place}"} | machine for place, machine in enumerate(machines)]
    return {k: v for k, v in (base | {"machines": listed} | changes).items() if v is not None}


machine_kinds = st.fixed_dictionaries(
    {
        "quantity": st.integers(1, 3),
        "compressor": st.tuples(st.floats(8, 160), st.integers(1, 2), st.none() | st.floats(1.6, 8)),
        "pump": st.none() | st.floats(2, 220),
        "heater": st.none() | st.tuples(st.floats(1, 40), st.booleans()),
        "plate": st.none() | st.floats(20, 300),
        "by_plate_alone": st.booleans(),
    }
)


def given_of(kind: Json) -> Json:
    amps, count, times = kind["compressor"]
    if kind["by_plate_alone"]:
        plate = kind["plate"] or 100.0
        own = {"minimum_circuit_ampacity": q(plate, "A"), "maximum_overcurrent_device": q(1.5 * plate, "A")}
        return own | {"quantity": kind["quantity"]}
    compressor = {"role": "compressor", "quantity": count, "rated_load_current": q(amps, "A")}
    if times is not None:
        compressor["locked_rotor_current"] = q(times * amps, "A")
    motors = [compressor]
    if kind["pump"] is not None:
        motors.append({"role": "pump", "full_load_current": q(kind["pump"], "A")})
    asked: Json = {"quantity": kind["quantity"], "motors": motors}
    if kind["heater"] is not None:
        asked["other_loads"] = [{"name": "heat", "current": q(kind["heater"][0], "A"), "continuous": kind["heater"][1]}]
    return asked


def single(kind: Json) -> list[tuple[float, bool]]:
    """Each motor of a machine: its current, and whether it is a compressor."""
    amps, count, _ = kind["compressor"]
    return [(amps, True)] * count + ([(kind["pump"], False)] if kind["pump"] is not None else [])


def needs(kinds: list[Json], factor: float) -> dict[str, float | None]:
    """Of a group, every single unit and load listed by itself."""
    units = [kind for kind in kinds for _ in range(kind["quantity"])]
    plates = [kind["plate"] or 100.0 for kind in units if kind["by_plate_alone"]]
    known = [kind for kind in units if not kind["by_plate_alone"]]
    motors = [motor for kind in known for motor in single(kind)]
    heat = [kind["heater"] for kind in known if kind["heater"] is not None]
    running = sum(amps for amps, _ in motors) + sum(amps for amps, _ in heat)
    largest, is_compressor = max(motors, default=(0.0, False))
    steps = [kind["compressor"][0] * (kind["compressor"][2] - 1) for kind in known if kind["compressor"][2] is not None]
    found: dict[str, float | None] = {
        "minimum_circuit_ampacity": sum(plates)
        + running
        + 0.25 * largest
        + 0.25 * sum(amps for amps, always in heat if always)
    }
    limits = []
    if motors:
        own: float | None = factor * largest if is_compressor else up(NEC, 2.5 * largest)
        if own is not None:
            limits.append(own + running - largest + sum(plates) / 1.25)
    if plates:
        limits.append(1.5 * max(plates) + running + (sum(plates) - max(plates)) / 1.25)
    found["maximum_overcurrent_calculated"] = max(limits, default=None)
    if not plates:
        found["running_current"] = running
        found["disconnect_minimum_current"] = 1.15 * running
        found["locked_rotor_with_largest_starting"] = running + max(steps) if steps else None
    return found


def agrees(circuit: Json, expected: dict[str, float | None]) -> None:
    for name in ("running_current", "disconnect_minimum_current", "locked_rotor_with_largest_starting"):
        expected.setdefault(name, None)
    for name, value in expected.items():
        there = circuit.get(name)
        assert (there and there["value"]) == (None if value is None else pytest.approx(value)), name
    ampacity, limit = expected["minimum_circuit_ampacity"], expected["maximum_overcurrent_calculated"]
    assert ampacity is not None
    assert circuit["smallest_workable_standard"]["value"] == up(NEC, ampacity)
    if limit is not None:
        assert circuit["maximum_overcurrent_standard"]["value"] == down(limit)
    if (disconnect := expected["disconnect_minimum_current"]) is not None:
        frame = up(FRAMES, disconnect)
        assert circuit.get("disconnect_standard", {}).get("value") == frame


@tries(15)
@given(st.lists(machine_kinds, min_size=1, max_size=3), st.sampled_from([1.75, 2.25]))
def test_a_group_of_unlike_machines(answer_of: Any, kinds: list[Json], factor: float) -> None:
    answer = answer_of(SERVICE, ask(*map(given_of, kinds), overcurrent_factor=factor))
    results = answer["results"]
    if sum(kind["quantity"] for kind in kinds) > 1:
        agrees(results["feeder"], needs(kinds, factor))
        assert f"{sum(kind['quantity'] for kind in kinds)} machines" in said(answer, "own_branch_device")
        if any(not kind["by_plate_alone"] for kind in kinds):
            alike = results["feeder"]["maximum_overcurrent_calculated_at_2_25"]["value"]
            assert alike == pytest.approx(needs(kinds, 2.25)["maximum_overcurrent_calculated"])
    for part, kind in zip(results["machines"], kinds, strict=True):
        if not kind["by_plate_alone"]:
            agrees(part, needs([kind | {"quantity": 1}], factor))
    running = results["feeder"].get("running_current")
    assert ("apparent_power" in results) == (running is not None)


@tries(12)
@given(st.lists(machine_kinds, min_size=3, max_size=5), st.data())
def test_machines_that_cannot_run_together(answer_of: Any, kinds: list[Json], data: Any) -> None:
    """Every set of machines of which no two are interlocked is tried, one after the other."""
    kinds = [kind | {"by_plate_alone": False} for kind in kinds]
    pairs = list(itertools.combinations(range(len(kinds)), 2))
    apart = data.draw(st.lists(st.sampled_from(pairs), min_size=1, unique=True))
    machines = [given_of(kind) for kind in kinds]
    for one, other in apart:
        machines[one].setdefault("interlocked_with", []).append(f"m{other}")
    feeder = answer_of(SERVICE, ask(*machines))["results"]["feeder"]
    free = [
        chosen
        for size in range(1, len(kinds) + 1)
        for chosen in itertools.combinations(range(len(kinds)), size)
        if not any(pair in apart for pair in itertools.combinations(chosen, 2))
    ]
    whole = [chosen for chosen in free if not any(set(chosen) < set(more) for more in free)]
    each = [needs([kinds[place] for place in chosen], 1.75) for chosen in whole]
    for name in ("minimum_circuit_ampacity", "running_current", "disconnect_minimum_current"):
        assert feeder[name]["value"] == pytest.approx(max(found[name] or 0 for found in each)), name
    starts = [start for found in each if (start := found["locked_rotor_with_largest_starting"]) is not None]
    assert feeder.get("locked_rotor_with_largest_starting", {}).get("value") == (
        pytest.approx(max(starts)) if starts else None
    )
    most = feeder["minimum_circuit_ampacity"]["value"]
    governing = [found for found in each if (found["minimum_circuit_ampacity"] or 0) >= most * (1 - 1e-9)]
    assert feeder["maximum_overcurrent_standard"]["value"] == min(
        down(found["maximum_overcurrent_calculated"] or 0) for found in governing
    )


@given(st.lists(st.tuples(st.floats(5, 300), st.integers(1, 3)), min_size=1, max_size=3), st.floats(20, 2000))
@tries(15)
def test_a_group_under_iec(answer_of: Any, plates: list[tuple[float, int]], offered: float) -> None:
    machines = [{"quantity": count, "rated_current": q(amps, "A")} for amps, count in plates]
    sent = ask(*machines, practice="iec", system_voltage=q(400, "V"), frequency=q(50, "Hz"))
    answer = answer_of(SERVICE, sent | {"available": {"breaker_rating": q(offered, "A")}})
    feeder, fit = answer["results"]["feeder"], answer["results"]["fit"]
    current = sum(amps * count for amps, count in plates)
    rating = up(IEC, current)
    assert feeder["minimum_circuit_ampacity"]["value"] == pytest.approx(current)
    assert feeder["running_current"]["value"] == pytest.approx(current)
    assert feeder.get("smallest_workable_standard", {}).get("value") == rating
    assert feeder.get("disconnect_standard", {}).get("value") == rating
    small = offered < (rating or current) * (1 - 1e-9)
    assert fit["verdict"] == ("does_not_fit" if small else "fits"), "only the plate names a greatest device"
    if small:
        least = rating or current
        assert figures(said(answer, "breaker_below_smallest")) == pytest.approx([offered, least, least], rel=1e-4)
    unknown = [f for f in answer["findings"] if f["code"] == "maximum_device_unknown"]
    assert all("maker" in f["do"] and f["references"] == ["iec_60364_4_43"] for f in unknown)
    assert len(unknown) == len(plates)


PLATE = {"minimum_circuit_ampacity": q(61.5, "A"), "maximum_overcurrent_device": q(90, "A")}
MOTORS = {"motors": [{"role": "compressor", "rated_load_current": q(100, "A")}]}  # 125 A, a device of 175 A


@tries(15)
@given(offered=st.integers(10, 400), spare=st.floats(50, 300), count=st.integers(1, 2), full=st.booleans())
def test_what_the_site_offers(answer_of: Any, offered: int, spare: float, count: int, full: bool) -> None:
    """NEC 440.22 and 440.35 (seen as reproduced), UL 489 (from memory) 80 %."""
    available = {
        "breaker_rating": q(offered, "A"),
        "breaker_full_rated": full,
        "supply_current": q(spare + 30, "A"),
        "supply_current_in_use": q(30, "A"),
    }
    answer = answer_of(SERVICE, ask(MOTORS | {"quantity": count}, available=available))
    fit = answer["results"]["fit"]
    ampacity, running, most = (125, 100, 175) if count == 1 else (225, 200, 250)
    least = up(NEC, ampacity)
    assert fit["spare_supply"]["value"] == pytest.approx(spare - ampacity)
    wrong: list[tuple[str, list[Any]]] = []
    if offered > most:
        wrong.append(("breaker_above_maximum", [offered, most, most]))
    if offered < (least or 0):
        wrong.append(("breaker_below_smallest", [offered, least, least]))
    if spare < ampacity:
        wrong.append(("supply_short", [spare, ampacity, ampacity - spare]))
    assert fit["verdict"] == ("does_not_fit" if wrong else "fits")
    assert len(fit["reasons"]) == len(wrong)
    for code, expected in wrong:
        assert figures(said(answer, code)) == pytest.approx(expected, rel=1e-3), code
    near = said(answer, "breaker_near_running_current")
    assert bool(near) == (not full and running > 0.8 * offered)
    if near:
        assert figures(near)[:3] == pytest.approx([running, running / offered, offered], abs=6e-3)
        assert figures(near)[3] == pytest.approx(running / 0.8, rel=1e-4)


def verdict(answer: Json) -> tuple[str, int]:
    fit = answer["results"]["fit"]
    return fit["verdict"], len(fit["reasons"])


def test_what_is_not_known_of_an_offer(answer_of: Any) -> None:
    """Nothing can be said of a device whose limit nobody knows, nor of an offer that was not made at this voltage."""
    plate = {"minimum_circuit_ampacity": q(61.5, "A")}
    breaker = {"breaker_rating": q(80, "A")}
    assert verdict(answer_of(SERVICE, ask(plate, available=breaker))) == ("unknown", 1)
    assert verdict(answer_of(SERVICE, ask(PLATE, available=breaker))) == ("fits", 0)
    unknown = answer_of(SERVICE, ask(plate, available=breaker))
    (found,) = [f for f in unknown["findings"] if f["code"] == "maximum_device_unknown"]
    assert found["references"] == ["nec_440_4"]
    assert "plate" in found["do"]
    supply = answer_of(SERVICE, ask(PLATE, available={"supply_current": q(100, "A")}))
    assert verdict(supply) == ("fits", 0)
    assert supply["results"]["fit"]["spare_supply"]["value"] == pytest.approx(38.5)
    for changes, volts in (({}, "480 V"), ({"system_voltage": q(208, "V")}, "208 V")):
        nothing = answer_of(SERVICE, ask(PLATE, **changes))
        assert verdict(nothing) == ("unknown", 1)
        assert volts in nothing["results"]["fit"]["reasons"][0]
        several = answer_of(SERVICE, ask(PLATE | {"quantity": 2}, feeder_conductors="by_device", **changes))
        assert verdict(several) == ("unknown", 1)
        assert volts in several["results"]["fit"]["reasons"][0]


@pytest.mark.parametrize("practice", ["nec", "iec"])
@pytest.mark.parametrize("count", [1, 2])
@pytest.mark.parametrize("conductors", ["by_load", "by_device", "to_panel"])
def test_a_device_of_a_feeder_may_follow_its_conductors(
    answer_of: Any, practice: str, count: int, conductors: str
) -> None:
    """NEC 430.62(B) (seen as reproduced, 2017): of a feeder to several machines; a panel makes a feeder of any circuit."""
    machine = MOTORS | {"quantity": count, "rated_current": q(100, "A"), "maximum_overcurrent_device": q(175, "A")}
    machine = machine if practice == "iec" else MOTORS | {"quantity": count}
    nec = practice == "nec"
    sent = ask(machine, practice=practice, frequency=q(60 if nec else 50, "Hz"), feeder_conductors=conductors)
    answer = answer_of(SERVICE, sent | {"available": {"breaker_rating": q(600, "A")}})
    follows = conductors == "to_panel" if count == 1 else nec and conductors != "by_load"
    limited = count == 1 or nec
    (code,) = [c for c in ("feeder_device_by_conductors", "breaker_above_maximum") if said(answer, c)] or [""]
    assert code == (("feeder_device_by_conductors" if follows else "breaker_above_maximum") if limited else "")
    assert verdict(answer)[0] == ("does_not_fit" if code == "breaker_above_maximum" else "fits")
    if code == "feeder_device_by_conductors":
        most = 250 if count == 2 else 175
        assert figures(said(answer, code))[:2] == [600, most]
        (found,) = [f for f in answer["findings"] if f["code"] == code]
        assert all(r.startswith(practice) for r in found["references"])


@pytest.mark.parametrize(("volts", "asked_of"), [(240, False), (259, False), (261, True), (480, True), (600, True)])
def test_equipment_is_protected_above_150_volts_to_ground(answer_of: Any, volts: float, asked_of: bool) -> None:
    """NEC 230.95 (2017, seen as quoted): solidly grounded wye, more than 150 V to ground, which is 259.8 V between lines."""
    sent = ask(MOTORS | {"quantity": 9}, system_voltage=q(volts, "V"), feeder_conductors="by_device")
    answer = answer_of(SERVICE, sent)  # 925 A: a device of 1000 A
    assert bool(said(answer, "ground_fault_protection")) == asked_of
    assert volts / math.sqrt(3) > 150 or not asked_of
    if asked_of:
        assert figures(said(answer, "ground_fault_protection"))[0] == 1000
    offered = answer_of(SERVICE, sent | {"available": {"breaker_rating": q(1200, "A")}})
    if asked_of:
        assert figures(said(offered, "ground_fault_protection"))[0] == 1200
        assert figures(said(offered, "arc_energy_reduction"))[0] == 1200
    smaller = answer_of(SERVICE, sent | {"available": {"breaker_rating": q(999, "A")}})
    assert not said(smaller, "ground_fault_protection")


@pytest.mark.parametrize(("rating", "within"), [(1990, True), (2000, True), (7000, False)])
def test_ladders_that_end(answer_of: Any, rating: float, within: bool) -> None:
    """NEC 240.6(A) ends at 6000 A, the frames of safety switches at 1200 A (common practice)."""
    sent = ask(
        {"quantity": 4, **MOTORS, "motors": [{"role": "compressor", "rated_load_current": q(rating / 4.25, "A")}]}
    )
    answer = answer_of(SERVICE, sent)
    text = said(answer, "above_standard_ratings")
    running = 4 * rating / 4.25
    assert "frames end at 1200 A" in text
    assert figures(text)[-1] == 1200
    assert figures(text)[-2] == pytest.approx(1.15 * running, rel=1e-4)
    assert ("no standard rating reaches" in text) == (not within)


def test_interlocks_that_leave_too_many_sets(answer_of: Any) -> None:
    """Derived: n pairs of which one of each runs leave 2^n sets; nine pairs are 512, ten are 1024."""

    def pairs(count: int) -> Json:
        machines = [MOTORS | {"interlocked_with": [f"m{place ^ 1}"]} for place in range(2 * count)]
        return ask(*machines)

    feeder = answer_of(SERVICE, pairs(9))["results"]["feeder"]
    assert feeder["running_current"]["value"] == pytest.approx(900)
    with pytest.raises(Refused) as refused:
        answer_of(SERVICE, pairs(10))
    assert "512" in refused.value.errors[0].detail


def test_a_pair_of_an_example_says_what_it_needs(answer_of: Any) -> None:
    """By hand, 2 x 143.6 A and a quarter of 58 A are 301.7 A, of 480 A that are left: no device does both."""
    answer = answer_of(SERVICE, example(SERVICE))
    reasons = answer["results"]["fit"]["reasons"]
    assert any(figures(reason)[-2:] == pytest.approx([301.7, 300], abs=0.05) for reason in reasons)
    text = said(answer, "overcurrent_factor_unusable")
    assert figures(text)[:3] == pytest.approx([300, 301.7, 350], abs=0.05)
    assert 350 in figures(text)[3:]


@pytest.mark.parametrize(
    ("rated", "within"), [(1.004, True), (1.006, False), (9.96, True), (9.94, False), (100.4, True), (100.6, False)]
)
def test_a_rated_power_is_one_of_the_table(answer_of: Any, rated: float, within: bool) -> None:
    """NEC Table 430.250 (2008, seen) has whole and half horsepower: half a percent off is the same rating in kilowatts."""
    motors = [
        {"role": "compressor", "rated_load_current": q(150, "A")},
        {"role": "pump", "rated_power": q(rated, "hp")},
    ]
    if within:
        running = answer_of(SERVICE, ask({"motors": motors}))["results"]["feeder"]["running_current"]["value"]
        assert running == pytest.approx(150 + {1: 2.1, 10: 14, 100: 124}[round(rated)])
        return
    with pytest.raises(Refused) as refused:
        answer_of(SERVICE, ask({"motors": motors}))
    assert figures(refused.value.errors[0].detail)[0] == pytest.approx(rated, abs=6e-4)


@pytest.mark.parametrize(("times", "within"), [(1.49, False), (1.51, True), (11.9, True), (12.1, False)])
def test_a_locked_rotor_draws_a_plausible_current(answer_of: Any, times: float, within: bool) -> None:
    """Common practice: 1.5 to 12 times what the motor runs on; the refusal says both ends, and how far off it is."""
    compressor = {"role": "compressor", "rated_load_current": q(40, "A"), "locked_rotor_current": q(40 * times, "A")}
    sent = ask({"motors": [compressor]})
    if within:
        starting = answer_of(SERVICE, sent)["results"]["feeder"]["locked_rotor_with_largest_starting"]["value"]
        assert starting == pytest.approx(40 * times)
        return
    with pytest.raises(Refused) as refused:
        answer_of(SERVICE, sent)
    (error,) = refused.value.errors
    assert figures(error.detail) == pytest.approx([40 * times, times, 40], rel=5e-3)
    assert error.allowed
    assert (error.allowed.minimum, error.allowed.maximum) == pytest.approx((60, 480))


@pytest.mark.parametrize(("practice", "wanted"), [("nec", "minimum circuit ampacity"), ("iec", "rated current")])
def test_a_machine_without_a_current_is_asked_for_that_of_its_plate(answer_of: Any, practice: str, wanted: str) -> None:
    with pytest.raises(Refused) as refused:
        answer_of(SERVICE, ask({}, practice=practice))
    (error,) = refused.value.errors
    assert wanted in error.detail


@pytest.mark.parametrize("terms", [5, 6, 7])
def test_a_short_sum_is_written_out(answer_of: Any, terms: int) -> None:
    """By hand: so many fans of 1, 2, 3 ... A beside a compressor of 50 A; seven terms are more than a line holds."""
    fans = [{"role": "fan", "full_load_current": q(amps, "A")} for amps in range(1, terms)]
    machine = {"motors": [{"role": "compressor", "rated_load_current": q(50, "A")}, *fans]}
    (line, *_) = [w for w in answer_of(SERVICE, ask(machine))["working"] if w["symbol"] == "I"]
    assert line["value"] == pytest.approx(50 + sum(range(1, terms)))
    expected = [50.0, *map(float, range(1, terms))] if terms <= 6 else []
    assert figures(line["expression"]) == expected


def test_interlocked_machines_of_which_one_is_known_by_its_plate(answer_of: Any) -> None:
    """Of a plate alone the running current is not known: nor is that of the group, and under nec nor is the disconnect.

    Under iec the disconnector is the next rating above the design current (IEC 60204-1, from memory), which is known.
    """
    plate = {"minimum_circuit_ampacity": q(150, "A"), "maximum_overcurrent_device": q(200, "A")}
    for practice, disconnect in (("nec", None), ("iec", 160)):
        sent = ask(MOTORS, plate | {"interlocked_with": ["m0"]}, practice=practice, frequency=q(50, "Hz"))
        feeder = answer_of(SERVICE, sent)["results"]["feeder"]
        assert feeder["minimum_circuit_ampacity"]["value"] == 150
        assert "running_current" not in feeder
        assert feeder.get("disconnect_minimum_current", {}).get("value") == disconnect
        assert feeder.get("disconnect_standard", {}).get("value") == disconnect
        assert feeder["minimum_circuit_ampacity_source"] == "plate"


@pytest.mark.parametrize(("kinds", "source"), [("mm", "calculated"), ("mp", "plate"), ("pp", "plate")])
def test_what_a_group_under_iec_rests_on(answer_of: Any, kinds: str, source: str) -> None:
    machines = [MOTORS if kind == "m" else {"rated_current": q(80, "A")} for kind in kinds]
    feeder = answer_of(SERVICE, ask(*machines, practice="iec", frequency=q(50, "Hz")))["results"]["feeder"]
    assert feeder["minimum_circuit_ampacity_source"] == source
