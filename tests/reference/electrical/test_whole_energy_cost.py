"""Energy and cost worked out anew, every result and every figure of a sentence, from what was given and the rule alone.

Derived: energy is power x time; a month of a bill is 730 h begun; fuel is read on straight lines of the set's own curve;
40 CFR Part 98, Table C-1 (seen): 2.697 kg of carbon dioxide from a litre of diesel fuel.
"""

import itertools
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
COST = "electrical.energy_cost"
Json = dict[str, Any]


def money(value: Any) -> Json:
    return {"value": value, "currency": "EUR"}


def ask(**changes: Any) -> Json:
    base = {"practice": "iec", "active_power": q(100, "kW"), "load_factor": 0.5, "duration": q(1000, "h")}
    return {name: value for name, value in (base | changes).items() if value is not None}


@tries(15)
@given(
    power=st.floats(1, 2000),
    factor=st.floats(0.05, 1),
    hours=st.floats(0.5, 20000),
    price=st.floats(-0.2, 1),
    demand=st.none() | st.tuples(st.floats(-5, 30), st.none() | st.floats(0, 3000)),
    cooling=st.none() | st.floats(10, 1e7),
)
def test_a_bill_of_the_utility(
    answer_of: Any,
    power: float,
    factor: float,
    hours: float,
    price: float,
    demand: tuple[float, float | None] | None,
    cooling: float | None,
) -> None:
    billed = None if demand is None else demand[1]
    sent = ask(
        source="utility",
        active_power=q(power, "kW"),
        load_factor=factor,
        duration=q(hours, "h"),
        energy_price=money(price),
        demand_price=None if demand is None else money(demand[0]),
        demand_power=None if billed is None else q(billed, "kW"),
        cooling_energy=None if cooling is None else q(cooling, "kWh"),
        grid_emission_factor=0.4,
    )
    answer = answer_of(COST, sent)
    results = answer["results"]
    energy = power * factor * hours
    months = max(1, math.ceil(hours / 730 - 1e-12))
    total = energy * price
    assert results["energy"]["value"] == pytest.approx(energy)
    assert results["average_power"]["value"] == pytest.approx(energy / hours)
    assert results["billing_months"] == months
    assert results["energy_cost"] == money(pytest.approx(total))
    assert results["carbon_dioxide_mass"]["value"] == pytest.approx(0.4 * energy)
    if demand is not None:
        charged = demand[0] * (power if billed is None else billed) * months
        assert results["demand_cost"] == money(pytest.approx(charged))
        total += charged
    assert results["total_cost"] == money(pytest.approx(total))
    if cooling is not None:
        assert results["cost_per_cooling_energy"] == money(pytest.approx(total / cooling))
    below_nothing = [p for p in (price, demand[0] if demand else 0) if p < 0]
    assert len([f for f in answer["findings"] if f["code"] == "negative_price"]) == len(below_nothing)


curves = st.lists(st.tuples(st.floats(0.05, 0.3), st.floats(1, 60)), min_size=2, max_size=4)
shares = st.lists(st.tuples(st.floats(0.05, 1), st.floats(1, 200)), min_size=1, max_size=4)


def on_lines(points: list[tuple[float, float]], load: float) -> float:
    pairs = list(itertools.pairwise(points))
    (x, y), (x2, y2) = next((p for p in pairs if load <= p[1][0]), pairs[-1])
    return y + (y2 - y) * (load - x) / (x2 - x)


@tries(15)
@given(steps=curves, rated=st.floats(20, 3000), filled=shares, idle=st.floats(0, 50), cooling=st.floats(10, 1e6))
def test_fuel_of_a_set_by_its_own_curve(
    answer_of: Any,
    steps: list[tuple[float, float]],
    rated: float,
    filled: list[tuple[float, float]],
    idle: float,
    cooling: float,
) -> None:
    """By bins, and at the average load of one bin alone."""
    loads = list(itertools.accumulate(share for share, _ in steps))
    rates = list(itertools.accumulate(rise for _, rise in steps))
    points = list(zip(loads, rates, strict=True))
    filled = [(min(load, points[-1][0], 1.0), hours) for load, hours in filled]
    expected = [on_lines(points, load) for load, _ in filled]
    machine = {
        "rated_active_power": q(rated, "kW"),
        "fuel_curve": [{"load_fraction": x, "fuel_rate": q(y, "L/h")} for x, y in points],
    }
    hours = sum(time for _, time in filled) + idle
    common = {
        "source": "generator",
        "generator": machine,
        "fuel_price": money(1.4),
        "cooling_energy": q(cooling, "kWh"),
    }
    sent = ask(
        **common,
        active_power=q(0.9 * rated, "kW"),
        load_factor=None,
        duration=q(hours, "h"),
        bins=[{"load_fraction": load, "hours": q(time, "h")} for load, time in filled],
    )
    if points[-1][0] > 1.1 or min(expected) <= 0:
        with pytest.raises(Refused):
            answer_of(COST, sent)
        return
    answer = answer_of(COST, sent)
    volume = sum(rate * time for rate, (_, time) in zip(expected, filled, strict=True))
    energy = sum(load * rated * time for load, time in filled)
    _of_a_set(answer, rated, hours, energy, volume, cooling)
    load, rate = filled[0][0], expected[0]
    lines = [line for line in answer["working"] if line["meaning"] == "Fuel in this bin"]
    assert [line["symbol"] for line in lines] == [f"V_{place}" for place in range(1, len(filled) + 1)]
    assert lines[0]["value"] == pytest.approx(rate * filled[0][1])
    assert bool(said(answer, "hours_not_filled")) == (idle > 1.5e-6 * hours) or idle < 1e-3
    power = load * rated / 0.8
    sent = ask(**common, active_power=q(power, "kW"), load_factor=0.8, duration=q(hours, "h"))
    steady = answer_of(COST, sent)
    _of_a_set(steady, rated, hours, load * rated * hours, rate * hours, cooling)
    assert bool(said(steady, "set_too_small")) == (power > rated)
    if power > rated * 1.001:
        assert figures(said(steady, "set_too_small")) == pytest.approx([power, power / rated, rated, power], rel=5e-3)
    assert figures(said(steady, "average_load_in_fuel_curve")) == pytest.approx([load], rel=5e-3)
    (line,) = [line for line in steady["working"] if line["symbol"] == "q"]
    assert figures(line["expression"])[0] == pytest.approx(load, rel=1e-3)


def _of_a_set(answer: Json, rated: float, hours: float, energy: float, volume: float, cooling: float) -> None:
    results = answer["results"]
    load = energy / hours / rated
    assert results["energy"]["value"] == pytest.approx(energy)
    assert results["average_power"]["value"] == pytest.approx(energy / hours)
    assert results["load_fraction"] == pytest.approx(load)
    assert results["fuel_rate"]["value"] == pytest.approx(volume / hours)
    assert results["fuel_volume"]["value"] == pytest.approx(volume)
    assert results["fuel_cost"] == results["total_cost"] == money(pytest.approx(1.4 * volume))
    assert results["carbon_dioxide_mass"]["value"] == pytest.approx(2.697 * volume)
    assert results["cost_per_cooling_energy"] == money(pytest.approx(1.4 * volume / cooling))
    light = said(answer, "light_load")
    assert bool(light) == (load < 0.3)
    if light:  # NFPA 110 8.4.2 (seen as quoted): at least 30 % of the plate, so the set that suits is the load over 0.3
        assert figures(light) == pytest.approx([load, 0.3, load * rated / 0.3], rel=5e-3)


def test_limits_that_a_refusal_names(answer_of: Any) -> None:
    """Each limit that a refusal allows is taken, and a little beyond it is not."""

    def allowed(sent: Json) -> Any:
        with pytest.raises(Refused) as refused:
            answer_of(COST, sent)
        return refused.value.errors[0].allowed

    bare = ask(source="utility", energy_price=money(0.1), load_factor=None)
    assert allowed(bare).maximum == 1
    answer_of(COST, bare | {"load_factor": 1})
    with pytest.raises(Refused):
        answer_of(COST, bare | {"load_factor": 1.001})
    dear = ask(source="utility", load_factor=1)  # 100 MWh
    assert allowed(dear | {"energy_price": money(1.05e7)}).maximum == 1e12
    answer_of(COST, dear | {"energy_price": money(0.99e7)})
    answer_of(COST, dear | {"energy_price": money(-0.99e7)})
    with pytest.raises(Refused):
        answer_of(COST, dear | {"energy_price": money(-1.01e7)})
    free = ask(source="generator", generator={"rated_active_power": q(150, "kW")})
    assert allowed(free | {"fuel_price": money(-0.001)}).minimum == 0
    assert answer_of(COST, free | {"fuel_price": money(0)})["results"]["fuel_cost"]["value"] == 0
    for size, within in ((20, True), (19.9, False), (2000, True), (2001, False)):  # the chart ends there
        small = ask(
            source="generator", active_power=q(size / 2, "kW"), load_factor=1,
            generator={"rated_active_power": q(size, "kW")},
        )  # fmt: skip
        if within:
            answer_of(COST, small)
        else:
            assert (allowed(small).minimum, allowed(small).maximum) == (20, 2000)
    idling = ask(source="generator", generator={"rated_active_power": q(150, "kW")}, load_factor=1)
    for load, within in ((0.0501, True), (0.0499, False), (1.0, True), (1.001, False)):
        sent = idling | {"active_power": q(150 * load, "kW")}
        if within:
            answer_of(COST, sent)
        else:
            assert (allowed(sent).minimum, allowed(sent).maximum) == (0.05, 1)


@pytest.mark.parametrize(
    ("hours", "count", "said_of"),
    [(333.333, 3, False), (333.332, 3, True), (333.3334, 3, False), (999.9991, 1, False), (999.99895, 1, True)],
)
def test_thirds_of_a_time_that_people_round(answer_of: Any, hours: float, count: int, said_of: bool) -> None:
    """Common practice: three thirds of 1000 h, written to three places, fill it; more than a millionth short do not."""
    bins = [{"load_fraction": 0.5, "hours": q(hours, "h")}] * count
    sent = ask(source="generator", generator={"rated_active_power": q(150, "kW")}, load_factor=None, bins=bins)
    answer = answer_of(COST, sent)
    assert bool(said(answer, "hours_not_filled")) == said_of
    if said_of:
        assert figures(said(answer, "hours_not_filled")) == pytest.approx([count * hours, 1000], rel=1e-6)


@pytest.mark.parametrize(("hours", "within"), [(1000.0009, True), (1000.00105, False)])
def test_bins_that_overfill_a_time(answer_of: Any, hours: float, within: bool) -> None:
    bins = [{"load_fraction": 0.5, "hours": q(hours, "h")}]
    sent = ask(source="generator", generator={"rated_active_power": q(150, "kW")}, load_factor=None, bins=bins)
    if within:
        answer_of(COST, sent)
        return
    with pytest.raises(Refused) as refused:
        answer_of(COST, sent)
    (error,) = refused.value.errors
    assert figures(error.detail) == pytest.approx([hours], rel=1e-5)
    assert error.allowed
    assert error.allowed.maximum == pytest.approx(1000)


def test_a_plant_above_its_set(answer_of: Any) -> None:
    """By hand: 180 kW on a set of 150 kW is 1.2 times its rating, however low the average."""
    sent = ask(source="generator", generator={"rated_active_power": q(150, "kW")}, active_power=q(180, "kW"))
    assert figures(said(answer_of(COST, sent), "set_too_small")) == [180, 1.2, 150, 180]


@pytest.mark.parametrize("source", ["utility", "generator"])
def test_an_engine_brings_its_own_caution(answer_of: Any, source: str) -> None:
    """OSHA 29 CFR 1910.1000 (from memory): carbon monoxide, where an engine runs and nowhere else."""
    sent = ask(source=source, energy_price=money(0.1), generator={"rated_active_power": q(150, "kW")})
    codes = {caution["code"] for caution in answer_of(COST, sent)["cautions"]}
    assert ("exhaust_and_fuel" in codes) == (source == "generator")
