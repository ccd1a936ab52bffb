"""A generating set worked out anew by phasors, with each figure of its sentences, from what was given and the rule alone.

Starting current by method: theory (a third, the tap squared), part winding 0.65 (from memory), drives 1.1 times and soft
starters 4 times what runs (common practice). Dip: a constant impedance behind X'd. Fuel: an open chart (seen), by scipy.
NFPA 110 8.4.2 (seen as quoted) 30 %; ISO 3046-1 (from memory) for height and heat; six-pulse spectra: common practice.
"""

import cmath
import itertools
import math
from typing import Any

import numpy as np
import pytest
from fluids.atmosphere import ATMOSPHERE_1976
from hypothesis import assume, given
from hypothesis import strategies as st
from quantity import q
from said import figures, said
from scipy.interpolate import RegularGridInterpolator
from scipy.optimize import brentq
from tries import tries

from coldwright.contract import Refused

pytestmark = pytest.mark.check
SET = "electrical.generator"
Json = dict[str, Any]
ROOT3 = math.sqrt(3)
VOLTS = 480.0
# the page's own cells: rated kW, then L/h at 25, 50, 75 and 100 %
SIZES = [20, 60, 100, 200, 300, 400, 500, 750, 1000, 1500, 2000]
RATES = [
    [2.3, 3.4, 4.9, 6.1], [6.8, 11.0, 14.4, 18.2], [9.8, 15.5, 22.0, 28.0], [17.8, 29.1, 41.6, 54.5],
    [25.7, 42.8, 60.9, 81.4], [33.7, 56.4, 80.6, 108.3], [41.6, 70.0, 99.9, 135.1], [61.7, 103.7, 148.8, 202.1],
    [81.8, 137.8, 197.2, 269.1], [121.9, 205.5, 294.5, 403.1], [162.0, 273.3, 391.7, 537.1],
]  # fmt: skip
CHART = RegularGridInterpolator((SIZES, [0.25, 0.5, 0.75, 1.0]), np.array(RATES))
SPECTRA = {
    "none": {5: 0.65, 7: 0.45, 11: 0.09, 13: 0.07},
    "reactor": {5: 0.35, 7: 0.12, 11: 0.07, 13: 0.05},
    "low_harmonic": {5: 0.03, 7: 0.02, 11: 0.01, 13: 0.01},
}


def chart(rated: float, load: float) -> float:
    if load >= 0.25:
        return float(CHART((rated, load)))
    low, middle = float(CHART((rated, 0.25))), float(CHART((rated, 0.5)))
    return low - (middle - low) * (0.25 - load) / 0.25


def kva_of(amps: float) -> float:
    return ROOT3 * VOLTS * amps / 1000


def phasor(kva: float, factor: float) -> complex:
    return cmath.rect(kva, math.acos(factor))


def dip_of(x: float, start: complex, kva: float) -> float:
    """A constant impedance behind the reactance of the set, per unit of its rating."""
    motor = kva / start.conjugate()
    return 1 - abs(motor / (motor + 1j * x))


def size_for(x: float, start: complex, limit: float) -> float:
    return float(brentq(lambda kva: dip_of(x, start, kva) - limit, abs(start) * 1e-3, abs(start) * 1e3, xtol=1e-9))


def ask(*loads: Json, **changes: Any) -> Json:
    base = {
        "practice": "nec",
        "system_voltage": q(VOLTS, "V"),
        "frequency": q(60, "Hz"),
        "loads": [{"load_id": f"l{place}"} | load for place, load in enumerate(loads)],
        "derating": {"method": "none"},
    }
    return {name: value for name, value in (base | changes).items() if value is not None}


def a_set(kw: float, kva: float, sub: float | None = 0.12, transient: float | None = 0.18) -> Json:
    given_set: Json = {"rated_active_power": q(kw, "kW"), "rated_apparent_power": q(kva, "kVA")}
    given_set |= {} if sub is None else {"subtransient_reactance": sub}
    return given_set | ({} if transient is None else {"transient_reactance": transient})


# shares of the locked-rotor current, and multiples of what runs
SHARES = {"across_the_line": 1.0, "part_winding": 0.65, "star_delta": 1 / 3, "autotransformer": 0.65**2}
MULTIPLES = {"soft_start": 4.0, "variable_frequency": 1.1}
loads = st.fixed_dictionaries(
    {
        "amps": st.floats(20, 200),
        "times": st.floats(1.2, 7),
        "factor": st.floats(0.5, 0.99),
        "starting": st.floats(0.15, 0.9),
        "count": st.integers(1, 2),
        "order": st.integers(1, 3),
        "method": st.sampled_from(sorted(SHARES | MULTIPLES)),
        "filter": st.none() | st.sampled_from(sorted(SPECTRA)),
    }
)


def sent_load(load: Json) -> Json:
    nonlinear = {"nonlinear": True, "input_filter": load["filter"]} if load["filter"] else {}
    return nonlinear | {
        "quantity": load["count"],
        "running_current": q(load["amps"], "A"),
        "power_factor": load["factor"],
        "locked_rotor_current": q(load["times"] * load["amps"], "A"),
        "starting_method": load["method"],
        "starting_power_factor": load["starting"],
        "start_order": load["order"],
    }


def start_of(load: Json) -> complex:
    locked, method = load["times"] * load["amps"], load["method"]
    amps = SHARES[method] * locked if method in SHARES else min(MULTIPLES[method] * load["amps"], locked)
    return phasor(kva_of(amps), load["starting"])


@tries(15)
@given(
    asked=st.lists(loads, min_size=1, max_size=4),
    room=st.floats(0.7, 4),
    rated=st.floats(0.62, 0.98),
    x=st.tuples(st.floats(0.08, 0.2), st.floats(0.2, 0.4)),
    weak=st.tuples(st.floats(0, 1500), st.floats(20, 50)),
    night=st.floats(0.05, 1),
    average=st.floats(0.5, 1),
    bank=st.none() | st.floats(5, 80),
    limit=st.floats(0.08, 0.45),
    shares=st.tuples(st.floats(0.2, 0.35), st.floats(0.5, 0.9)),
    practice=st.sampled_from(["nec", "iec"]),
    tank=st.floats(100, 6000),
)
def test_a_set_and_its_loads(
    answer_of: Any,
    asked: list[Json],
    room: float,
    rated: float,
    x: tuple[float, float],
    weak: tuple[float, float],
    night: float,
    average: float,
    bank: float | None,
    limit: float,
    shares: tuple[float, float],
    practice: str,
    tank: float,
) -> None:
    running = sum((load["count"] * phasor(kva_of(load["amps"]), load["factor"]) for load in asked), 0j)
    kva = room * abs(running)
    kw = rated * kva
    above, hotter = max(0.0, weak[0] - 500), max(0.0, weak[1] - 30)
    engine = (1 - 0.012 * above / 100) * (1 - 0.015 * hotter / 5)
    alternator = (1 - 0.03 * max(0.0, weak[0] - 1000) / 500) * (1 - 0.03 * max(0.0, weak[1] - 40) / 5)
    left_kva = kva * alternator
    left = min(kw * engine, left_kva)
    low = running.real * night + (bank or 0)
    burning = running.real * average if bank is None else max(running.real * average, low)
    assume(burning / kw > 0.051)
    sent = ask(
        *map(sent_load, asked),
        practice=practice,
        generator=a_set(kw, kva, *x),
        altitude=q(weak[0], "m"),
        ambient_temperature=q(weak[1], "degC"),
        derating={
            "engine_altitude_start": q(500, "m"), "engine_altitude_rate_fraction": 0.012,
            "engine_temperature_start": q(30, "degC"), "engine_temperature_rate_fraction": 0.015,
        },
        lowest_load_fraction=night,
        load_factor=average,
        load_bank_power=None if bank is None else q(bank, "kW"),
        dip_limit_fraction=limit,
        minimum_load_fraction=shares[0],
        maximum_load_fraction=shares[1],
        run_duration=q(50, "h"),
        tank_volume=q(tank, "L"),
        usable_fraction=0.8,
        reserve_duration=q(6, "h"),
    )  # fmt: skip
    answer = answer_of(SET, sent)
    results = answer["results"]
    steps = [
        (order, [load for load in asked if load["order"] == order])
        for order in sorted({load["order"] for load in asked})
    ]
    starts = [sum((load["count"] * start_of(load) for load in members), 0j) for _, members in steps]
    dips = [(dip_of(x[0], start, kva), dip_of(x[1], start, kva)) for start in starts]
    assert [step["start_order"] for step in results["steps"]] == [order for order, _ in steps]
    for step, start, (first, second) in zip(results["steps"], starts, dips, strict=True):
        assert step["starting_apparent_power"]["value"] == pytest.approx(abs(start))
        assert step["starting_power_factor"] == pytest.approx(start.real / abs(start))
        assert step["dip_subtransient_fraction"] == pytest.approx(first)
        assert step["dip_transient_fraction"] == pytest.approx(second)
    worst = max(second for _, second in dips)
    required = max(size_for(x[1], start, limit) for start in starts)
    expected = {
        "running_active_power": running.real,
        "running_apparent_power": abs(running),
        "derated_active_power": left,
        "derated_apparent_power": left_kva,
        "required_apparent_power_for_dip": required,
        "load_bank_power": max(0.0, shares[0] * kw - running.real),
    }
    for name, value in expected.items():
        assert results[name]["value"] == pytest.approx(value, rel=1e-6, abs=1e-9), name
    fractions = {
        "running_power_factor": running.real / abs(running),
        "worst_dip_fraction": worst,
        "engine_factor": engine,
        "alternator_factor": alternator,
        "load_fraction": running.real / left,
        "reduced_load_fraction": low / left,
    }
    for name, value in fractions.items():
        assert results[name] == pytest.approx(value), name
    terminal = results.get("terminal_conductor_minimum_current", {}).get("value")
    assert terminal == (pytest.approx(1.15 * kva * 1000 / ROOT3 / VOLTS) if practice == "nec" else None)
    _fuel(answer, kw, burning, tank)
    _distortion(answer, asked, x[0], kva)
    _powers(answer, running, (kw, kva), (left, left_kva), shares[1], average)
    index = next(place for place, (_, second) in enumerate(dips) if second == worst)
    _dip(answer, steps[index], dips[index][1], min(limit, 0.3), starts[index], (x[1], kva))
    light = low / left < shares[0] - 1e-9
    codes = {f["code"] for f in answer["findings"]}
    by_day = running.real / left < shares[0]
    assert ("light_load" in codes) == (light and by_day)
    assert ("light_load_at_night" in codes) == (light and not by_day)
    assert ("load_near_minimum" in codes) == (not light and low / left < shares[0] + 0.1)
    assert bool(results["light_load_remedies"]) is light
    if light:
        ways, both, units = results["light_load_remedies"], (x[1], limit), max(map(start_of, asked), key=abs)
        _remedies(ways, (kw, kva), (left, left_kva), low, shares[0], running, starts, both, units)
        text = said(answer, "light_load") + said(answer, "light_load_at_night")
        shown = [running.real / left] if by_day else []
        shown += [low / left] if night < 1 or not by_day else []
        assert figures(text)[: len(shown) + 2] == pytest.approx([*shown, shares[0], 50], abs=6e-4)


def _fuel(answer: Json, kw: float, burning: float, tank: float) -> None:
    results, load = answer["results"], burning / kw
    if not 20 <= kw <= 2000 or load > 1:
        assert "fuel_rate" not in results
        shown = figures(said(answer, "fuel_not_known"))
        assert shown == [pytest.approx(kw, rel=1e-3), pytest.approx(load, abs=6e-4)]  # shown to a thousandth
        return
    rate = chart(kw, load)
    assert results["fuel_rate"]["value"] == pytest.approx(rate)
    assert results["fuel_total"]["value"] == pytest.approx(50 * rate)
    assert results["time_per_fill"]["value"] == pytest.approx(0.8 * tank / rate)
    (line,) = [line for line in answer["working"] if line["symbol"] == "q"]
    assert figures(line["meaning"]) == pytest.approx([0.08415 * kw + 0.246 * burning], rel=1e-3)
    left = 0.8 * tank / rate - 6
    assert results.get("refuel_interval", {}).get("value") == (pytest.approx(left) if left > 0 else None)
    assert figures(said(answer, "tank_below_reserve")) == ([] if left > 0 else pytest.approx([left + 6, 6], rel=6e-3))


def _distortion(answer: Json, asked: list[Json], x: float, kva: float) -> None:
    drives = [load for load in asked if load["filter"]]
    if not drives:
        assert "harmonic_voltage_fraction" not in answer["results"]
        return
    each = {
        order: order
        * x
        * sum(SPECTRA[load["filter"]][order] * load["count"] * kva_of(load["amps"]) / kva for load in drives)
        for order in (5, 7, 11, 13)
    }
    thd = math.hypot(*each.values())
    assert answer["results"]["harmonic_voltage_fraction"] == pytest.approx(thd)
    text = said(answer, "distortion")
    assert bool(text) == (thd > 0.1)
    if text:
        assert figures(text)[:3] == pytest.approx([thd, thd - 0.1, 0.1], abs=6e-4)
    note = said(answer, "distortion_above_ieee_519")
    assert bool(note) == (0.08 < thd <= 0.1)
    if note:
        assert figures(note)[:2] == pytest.approx([thd, 0.08], abs=6e-4)
    (line,) = [line for line in answer["working"] if line["symbol"] == "THD_v"]
    shown = dict(part.split(": ") for part in line["expression"].split("): ")[1].split(", "))
    assert {int(order): float(value) for order, value in shown.items()} == pytest.approx(each, abs=6e-5)


def _powers(
    answer: Json,
    running: complex,
    rating: tuple[float, float],
    left: tuple[float, float],
    most: float,
    average: float,
) -> None:
    for code, drawn, whole, remains in (
        ("over_active_power", running.real, rating[0], left[0]),
        ("over_apparent_power", abs(running), rating[1], left[1]),
    ):
        text = said(answer, code)
        assert bool(text) == (drawn > remains), code
        if text:
            shown = [drawn, drawn - remains, remains, drawn / remains * whole]
            assert figures(text) == pytest.approx(shown, rel=6e-4, abs=1e-3)
    share = running.real / left[0]
    text = said(answer, "load_above_maximum")
    assert bool(text) == (most < share <= 1)
    if text:
        assert figures(text)[:2] == pytest.approx([share, most], abs=6e-4)
        assert figures(text)[-1] == pytest.approx(share / most * rating[0], rel=6e-4)
    text = said(answer, "average_above_prime")
    assert bool(text) == (share * average > 0.7)
    if text:
        assert figures(text)[:2] == pytest.approx([share * average, 0.7], abs=6e-4)


def _dip(
    answer: Json, step: tuple[int, list[Json]], dip: float, limit: float, start: complex, machine: tuple[float, float]
) -> None:
    found = [f for f in answer["findings"] if f["code"] == "dip"]
    assert bool(found) == (dip > limit)
    if not found:
        return
    (one,) = found
    assert one["severity"] == ("stop" if dip > 0.3 else "check")
    assert one["statement"].startswith(f"Step {step[0]} (")
    shown = figures(one["statement"])
    assert shown[-3:] == pytest.approx([dip, dip - limit, limit], abs=6e-4)
    alone = dip_of(machine[0], max(map(start_of, step[1]), key=abs), machine[1])
    one_by_one = "one at a time" in one["do"]
    assert one_by_one == (alone <= limit)
    assert figures(one["do"])[1 if one_by_one else 0] == pytest.approx(alone, abs=6e-4)
    assert figures(one["do"])[-1] == pytest.approx(size_for(machine[0], start, limit), rel=6e-4)


def _remedies(
    ways: list[Json],
    rating: tuple[float, float],
    left: tuple[float, float],
    low: float,
    least: float,
    running: complex,
    starts: list[complex],
    dips: tuple[float, float],
    unit: complex,
) -> None:
    by_kind = {way["kind"]: way for way in ways}
    x, limit = dips[0], min(dips[1], 0.3)
    bank = least * rating[0] - low
    assert by_kind["load_bank"]["load_bank_power"]["value"] == pytest.approx(bank)
    assert figures(by_kind["load_bank"]["statement"]) == pytest.approx([bank], rel=6e-4)
    halves = by_kind["two_sets"]
    alone = low / (left[0] / 2)
    assert halves["works"] is (least <= alone <= 1)
    assert halves["rated_active_power"]["value"] == pytest.approx(rating[0] / 2)
    assert ("still too little" in halves["statement"]) == (alone < least)
    assert ("too much for one" in halves["statement"]) == (alone > 1)
    sinks = dip_of(x, unit, rating[1] / 2)
    shown = [rating[0] / 2, alone] + ([] if sinks <= limit else [sinks])
    assert figures(halves["statement"]) == pytest.approx(shown, rel=6e-4, abs=6e-4)
    suited = low / least * rating[0] / left[0]
    share = suited / rating[0]
    carries = running.real <= left[0] * share and abs(running) <= left[1] * share
    other = by_kind.get("smaller_set") or by_kind["better_starting_gear"]
    assert other["rated_active_power"]["value"] == pytest.approx(suited)
    kva = rating[1] * share
    worst = max(starts, key=lambda start: dip_of(x, start, kva))
    bears = abs(worst) * kva / size_for(x, worst, limit)
    assert other["starting_apparent_power"]["value"] == pytest.approx(bears, rel=1e-6)
    if not carries:
        assert (other["kind"], other["works"]) == ("smaller_set", False)
        assert figures(other["statement"]) == pytest.approx([suited, running.real, abs(running)], rel=6e-4)
    elif bears >= abs(worst):
        assert (other["kind"], other["works"]) == ("smaller_set", True)
        assert figures(other["statement"]) == pytest.approx([suited], rel=6e-4)
    else:
        assert (other["kind"], other["works"]) == ("better_starting_gear", True)
        shown = [suited, bears, abs(worst)] + ([] if abs(unit) <= bears else [abs(unit), bears / abs(unit)])
        assert figures(other["statement"]) == pytest.approx(shown, rel=6e-4, abs=6e-3)


@tries(15)
@given(
    height=st.floats(-400, 3000),
    heat=st.floats(-20, 55),
    coolant=st.none() | st.floats(10, 90),
    exponents=st.tuples(*(st.none() | st.floats(0.3, 1.4) for _ in range(3))),
    efficiency=st.floats(0.7, 0.95),
)
def test_an_engine_by_powers(
    answer_of: Any,
    height: float,
    heat: float,
    coolant: float | None,
    exponents: tuple[float | None, ...],
    efficiency: float,
) -> None:
    """ISO 3046-1 (from memory) against the standard atmosphere of 1976 by the `fluids` library."""
    names = ("exponent_m", "exponent_n", "exponent_s")
    how: Json = {"method": "iso_3046", "mechanical_efficiency": efficiency}
    how |= {name: value for name, value in zip(names, exponents, strict=True) if value is not None}
    how |= {} if coolant is None else {"charge_coolant_temperature": q(coolant, "degC")}
    sent = ask(
        {"running_current": q(200, "A"), "locked_rotor_current": q(400, "A")},
        generator=a_set(200, 250), derating=how, altitude=q(height, "m"), ambient_temperature=q(heat, "degC"),
    )  # fmt: skip
    m, n, s = (usual if value is None else value for value, usual in zip(exponents, (0.7, 1.2, 1.0), strict=True))
    warm, cold = 298.15 / (heat + 273.15), 298.15 / ((heat if coolant is None else coolant) + 273.15)
    k = (ATMOSPHERE_1976(height).P / 1e5) ** m * warm**n * cold**s
    alpha = min(1.0, k - 0.7 * (1 - k) * (1 / efficiency - 1))
    alternator = (1 - 0.03 * max(0.0, height - 1000) / 500) * (1 - 0.03 * max(0.0, heat - 40) / 5)
    if min(alpha, alternator) < 0.401:
        return
    answer = answer_of(SET, sent)
    assert answer["results"]["engine_factor"] == pytest.approx(alpha, rel=2e-3)
    assert answer["results"]["alternator_factor"] == pytest.approx(alternator)
    assumed = {a["code"]: a for a in answer["assumptions"]}
    assert ("turbocharged_exponents" in assumed) == (None in exponents)
    if None in exponents:
        assert assumed["turbocharged_exponents"]["value"] == pytest.approx([m, n, s])
    assert ("charge_coolant_is_ambient" in assumed) == (coolant is None)


@pytest.mark.parametrize(
    ("height", "heat", "rates", "field", "left"),
    [
        (4000, 40, (0.0201, 0.02), "altitude", 0.397), (4000, 40, (0.0199, 0.02), None, 0.403),
        (1000, 60, (0.01, 0.151), "ambient_temperature", 0.396), (1000, 60, (0.01, 0.149), None, 0.404),
    ],
)  # fmt: skip
def test_little_of_an_engine_is_outside_the_method(
    answer_of: Any, height: float, heat: float, rates: tuple[float, float], field: str | None, left: float
) -> None:
    """By hand: 1 - 30 x 0.0201 is 0.397, 1 - 4 x 0.151 is 0.396; below 0.4 no rule of steps holds."""
    sent = ask(
        {"running_current": q(100, "A")}, generator=a_set(200, 250), altitude=q(height, "m"), ambient_temperature=q(heat, "degC"),
        derating={"engine_altitude_rate_fraction": rates[0], "engine_temperature_rate_fraction": rates[1]},
    )  # fmt: skip
    if field is None:
        assert answer_of(SET, sent)["results"]["engine_factor"] == pytest.approx(left)
        return
    with pytest.raises(Refused) as refused:
        answer_of(SET, sent)
    (error,) = refused.value.errors
    assert error.pointer == f"#/{field}"
    assert figures(error.detail)[0] == pytest.approx(left, abs=6e-4)
    assert error.allowed
    assert error.allowed.minimum == 0.4


@tries(15)
@given(
    sizes=st.lists(st.integers(60, 900), min_size=1, max_size=4, unique=True),
    amps=st.floats(60, 500),
    times=st.floats(1.5, 6),
    night=st.floats(0.2, 1),
)
def test_sets_to_choose_from(answer_of: Any, sizes: list[int], amps: float, times: float, night: float) -> None:
    load = {"running_current": q(amps, "A"), "locked_rotor_current": q(times * amps, "A")}
    sent = ask(load, candidate_sets=[a_set(0.8 * kva, kva) for kva in sizes], lowest_load_fraction=night)
    running, start = phasor(kva_of(amps), 0.85), phasor(kva_of(amps * times), 0.35)
    try:
        answer = answer_of(SET, sent)
    except Refused:
        assert running.real < 0.05 * 0.8 * max(sizes)
        return
    results = answer["results"]
    good = []
    for place, (kva, found) in enumerate(zip(sizes, results["candidates"], strict=True)):
        dip, share = dip_of(0.18, start, kva), running.real / (0.8 * kva)
        wrong = [(running.real, 0.8 * kva)] if share > 1 else []
        wrong += [(abs(running), float(kva))] if abs(running) > kva else []
        wrong += [(dip, 0.2)] if dip > 0.2 else []
        if not wrong:
            good.append((kva, place))
        assert found["holds"] is not bool(wrong)
        wrong += [(share * night, 0.3)] if share * night < 0.3 else []
        assert len(found["reasons"]) == len(wrong)
        for reason, shown in zip(found["reasons"], wrong, strict=True):
            assert figures(reason) == pytest.approx(shown, rel=6e-4, abs=6e-4)
        assert found["worst_dip_fraction"] == pytest.approx(dip)
        assert found["load_fraction"] == pytest.approx(share)
        assert found["reduced_load_fraction"] == pytest.approx(share * night)
    assert results.get("smallest_candidate") == (min(good)[1] if good else None)
    assert bool(said(answer, "no_candidate_holds")) is not bool(good)
    if not good:
        assert said(answer, "no_candidate_holds").startswith(f"None of the {len(sizes)} sets")
        largest = results["candidates"][sizes.index(max(sizes))]["reasons"]
        assert largest[0] in said(answer, "no_candidate_holds")
    else:
        assert results["derated_apparent_power"]["value"] == min(good)[0]
        assumed = {a["code"]: a for a in answer["assumptions"]}["set_chosen"]
        assert assumed["value"] == min(good)[1]
        assert figures(assumed["statement"]) == [min(good)[1], min(good)[0]]


@pytest.mark.parametrize(
    ("sub", "transient", "taken"),
    [
        (None, None, (0.12, 0.18)), (None, 0.1, (0.1, 0.1)), (0.25, None, (0.25, 0.25)),
        (0.09, None, (0.09, 0.18)), (None, 0.3, (0.12, 0.3)),
    ],
)  # fmt: skip
def test_reactances_that_are_usual(
    answer_of: Any, sub: float | None, transient: float | None, taken: tuple[float, float]
) -> None:
    """Common practice: X"d 0.12 and X'd 0.18; the first is never above the second."""
    load = {"running_current": q(100, "A"), "locked_rotor_current": q(400, "A")}
    answer = answer_of(SET, ask(load, generator=a_set(200, 250, sub, transient)))
    (step,) = answer["results"]["steps"]
    start = phasor(kva_of(400), 0.35)
    assert step["dip_subtransient_fraction"] == pytest.approx(dip_of(taken[0], start, 250))
    assert step["dip_transient_fraction"] == pytest.approx(dip_of(taken[1], start, 250))
    text = said(answer, "reactance_assumed")
    assert ('X"d' in text) == (sub is None)
    assert ("X'd" in text) == (transient is None)


@pytest.mark.parametrize(
    ("share", "factor", "pointer"),
    [(0.0499, 1.0, "#/loads"), (0.04, 1.0, "#/loads"), (0.5, 0.09, "#/load_factor"), (0.5, 0.1, None)],
)
def test_a_set_that_would_idle(answer_of: Any, share: float, factor: float, pointer: str | None) -> None:
    """Fuel curves begin at 5 % of the rating. The factor that a refusal allows is taken, and a little less is not."""
    amps = share * 200 / (ROOT3 * VOLTS * 0.85) * 1000
    sent = ask({"running_current": q(amps, "A")}, generator=a_set(200, 250), load_factor=factor)
    if pointer is None:
        assert answer_of(SET, sent)["results"]["fuel_rate"]["value"] == pytest.approx(chart(200, share * factor))
        return
    with pytest.raises(Refused) as refused:
        answer_of(SET, sent)
    (error,) = refused.value.errors
    assert error.pointer == pointer
    assert figures(error.detail) == pytest.approx([share * factor, 0.05], rel=6e-3)
    if pointer == "#/load_factor":
        assert error.allowed
        least = error.allowed.minimum
        assert isinstance(least, float)
        assert least == pytest.approx(0.1)
        answer_of(SET, sent | {"load_factor": least})
        with pytest.raises(Refused):
            answer_of(SET, sent | {"load_factor": least * (1 - 1e-6)})


@pytest.mark.parametrize(
    ("load", "field", "shown"),
    [
        ({"locked_rotor_current": q(99, "A")}, "locked_rotor_current", [99, 100]),
        ({"locked_rotor_current": q(300, "A"), "starting_current_factor": 0.33}, "starting_current_factor", [99, 100]),
    ],
)
def test_no_motor_starts_on_less_than_it_runs_on(answer_of: Any, load: Json, field: str, shown: list[float]) -> None:
    sent = ask({"running_current": q(100, "A")} | load, generator=a_set(200, 250))
    with pytest.raises(Refused) as refused:
        answer_of(SET, sent)
    (error,) = refused.value.errors
    assert error.pointer == f"#/loads/0/{field}"
    assert figures(error.detail) == pytest.approx([kva_of(amps) for amps in shown], rel=6e-4)


@pytest.mark.parametrize(
    ("method", "torque"),
    [("star_delta", 0.33), ("part_winding", 0.45), ("autotransformer", None), ("soft_start", None)],
)
@pytest.mark.parametrize("unloaded", [True, False])
def test_methods_that_leave_little_torque(answer_of: Any, method: str, torque: float | None, unloaded: bool) -> None:
    """Theory: a third in star; part winding about 0.45 (from memory). Another word for a drive: its harmonics."""
    load = {"running_current": q(100, "A"), "locked_rotor_current": q(400, "A"), "starting_method": method}
    answer = answer_of(SET, ask(load | {"starts_unloaded": unloaded}, generator=a_set(200, 250)))
    shown = figures(said(answer, "reduced_starting_torque"))
    assert shown == ([] if unloaded or torque is None else [torque])
    drive = load | {"starting_method": "variable_frequency", "nonlinear": unloaded}
    linear = answer_of(SET, ask(drive, generator=a_set(200, 250)))
    assert bool(said(linear, "drive_taken_as_linear")) is not unloaded
    assert not said(answer, "drive_taken_as_linear")


@pytest.mark.parametrize(
    ("gallons", "practice", "plan"), [(1321, "nec", True), (1319, "nec", False), (5000, "iec", False)]
)
def test_a_tank_that_needs_a_plan(answer_of: Any, gallons: float, practice: str, plan: bool) -> None:
    """40 CFR 112.1(d)(2) (seen): 1320 gal in all, 4997 L."""
    load = {"running_current": q(100, "A")}
    answer = answer_of(SET, ask(load, generator=a_set(200, 250), tank_volume=q(gallons, "gal"), practice=practice))
    text = said(answer, "spill_plan")
    assert bool(text) == plan
    if plan:
        assert figures(text.replace(",", ""))[-1] == pytest.approx(4997, abs=1)


def test_a_load_bank_alone_keeps_a_set_that_has_no_load_at_night(answer_of: Any) -> None:
    """Nothing is small enough for no load: a thousandth of the rating is where other sets are no longer proposed."""
    for share, kinds in ((0.0, 1), (0.00098, 1), (0.00102, 3), (0.1, 3)):
        night = share * 200 / (0.85 * kva_of(160))
        sent = ask(
            {"running_current": q(160, "A")}, generator=a_set(200, 250), lowest_load_fraction=night, run_duration=q(2, "h"),
        )  # fmt: skip
        assert len(answer_of(SET, sent)["results"]["light_load_remedies"]) == kinds


def test_the_average_of_many_days_is_in_the_working(answer_of: Any) -> None:
    """By hand, short forms beside the exact ones: X s / (1 + X s), and S X (1 - d) / d for a rating."""
    loads = [{"running_current": q(100, "A"), "locked_rotor_current": q(400, "A")}]
    answer = answer_of(SET, ask(*loads, generator=a_set(200, 250), dip_limit_fraction=0.25))
    start = kva_of(400)
    (line,) = [line for line in answer["working"] if line["symbol"] == "S_d"]
    assert figures(line["meaning"])[-1] == pytest.approx(start * 0.18 * 0.75 / 0.25, rel=6e-4)
    assert figures(line["meaning"])[0] == 0.25
    short = [line["meaning"] for line in answer["working"] if "short form" in line["meaning"]]
    both = [figures(text)[-1] for text in short if "S_d" not in text]
    for x in (0.12, 0.18):
        s = x * start / 250
        assert any(
            number == pytest.approx(s / (1 + s), abs=6e-5) for number in itertools.chain(both, *map(figures, short))
        )
