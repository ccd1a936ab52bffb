"""How refrigeration.selection behaves: what never changes the choice, findings, refusals, large fleets."""

import copy
import math
import random
from typing import Any

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import Bounds, LinearConstraint, linprog, milp

from coldwright.contract import Refused, tidy
from coldwright_refrigeration.selection import rounding, search
from coldwright_refrigeration.selection import staged as programs
from coldwright_refrigeration.selection.fleet import common_step

ID = "refrigeration.selection"


def kw(value):
    return {"value": value, "unit": "kW"}


def row(name, count, capacity, **more):
    return {
        "type": name,
        "count_available": count,
        "capacity": kw(capacity),
        "power": kw(round(capacity * 0.31, 3)),
        "circuits": 2,
        "minimum_capacity": kw(capacity / 4),
        "flow_minimum": {"value": capacity * 0.02, "unit": "L/s"},
        "flow_maximum": {"value": capacity * 0.08, "unit": "L/s"},
        "footprint": {"value": capacity * 0.07, "unit": "m2"},
        "haul_fraction": 0.5,
        "hire_cost": {"value": round(capacity * 6.3), "currency": "EUR"},
        "mass": {"value": capacity * 12, "unit": "kg"},
    } | more


FLEET = [row("north", 4, 120), row("south", 3, 260), row("west", 2, 600), row("east", 2, 350)]


def ask(load=700, rule="none", fleet=FLEET, **more):
    return {"design": {"load": kw(load)}, "redundancy": {"rule": rule}, "fleet": copy.deepcopy(fleet)} | more


def codes(answer):
    return {f["code"]: f["severity"] for f in answer["findings"]}


def pointers(answer_of, asked):
    with pytest.raises(Refused) as refused:
        answer_of(ID, asked)
    return [e.pointer for e in refused.value.errors]


# --- what never changes the choice --------------------------------------------------------------------------------


@settings(max_examples=30)
@given(
    load=st.integers(50, 1500),
    rule=st.sampled_from(["none", "one_circuit", "one_unit"]),
    order=st.permutations(range(4)),
    objective=st.sampled_from(["hire_cost", "units", "power", "hauls"]),
)
def test_order_of_the_fleet_changes_nothing(answer_of, load, rule, order, objective):
    one = answer_of(ID, ask(load, rule, objective=objective))["results"]
    other = answer_of(ID, ask(load, rule, [FLEET[i] for i in order], objective=objective))["results"]
    assert one == other


@pytest.mark.parametrize("seed", range(3))
def test_order_of_a_large_fleet_changes_nothing(answer_of, seed):
    fleet = large_fleet(60, seed)
    one = answer_of(ID, ask(5000, "one_unit", fleet))["results"]
    random.Random(seed).shuffle(fleet)
    assert answer_of(ID, ask(5000, "one_unit", fleet))["results"] == one


@settings(max_examples=30)
@given(load=st.integers(50, 1500), rule=st.sampled_from(["none", "one_circuit", "one_unit"]))
def test_units_change_nothing(answer_of, load, rule):
    one = answer_of(ID, ask(load, rule))["results"]
    fleet = copy.deepcopy(FLEET)
    for entry in fleet:
        entry["capacity"] = {"value": entry["capacity"]["value"] / 3.5168528420667, "unit": "ton"}
        entry["power"] = {"value": entry["power"]["value"] * 1000, "unit": "W"}
    asked = ask(load, rule, fleet)
    asked["design"]["load"] = {"value": load * 1e-3, "unit": "MW"}
    other = answer_of(ID, asked, units="us")["results"]
    assert [c["units"] for c in other["alternatives"]] == [c["units"] for c in one["alternatives"]]
    assert other.get("best", {}).get("units") == one.get("best", {}).get("units")


@settings(max_examples=30)
@given(load=st.integers(50, 1500), rule=st.sampled_from(["none", "one_circuit", "one_unit"]))
def test_a_further_type_never_costs_more(answer_of, load, rule):
    one = answer_of(ID, ask(load, rule))["results"]
    other = answer_of(ID, ask(load, rule, [*FLEET, row("extra", 1, 430)]))["results"]
    if one["status"] == "optimal":
        assert other["status"] == "optimal"
        assert other["best"]["cost"]["value"] <= one["best"]["cost"]["value"]


@settings(max_examples=30)
@given(load=st.integers(50, 1200), more=st.integers(0, 200))
def test_more_redundancy_and_more_load_never_cost_less(answer_of, load, more):
    costs = []
    for rule, asked_load in (("none", load), ("one_circuit", load), ("one_unit", load), ("one_unit", load + more)):
        results = answer_of(ID, ask(asked_load, rule))["results"]
        costs.append(results["best"]["cost"]["value"] if results["status"] == "optimal" else float("inf"))
    assert costs == sorted(costs)


def test_the_best_stands_first(answer_of):
    results = answer_of(ID, ask(700, "one_unit", alternatives=50))["results"]
    costs = [results["best"]["cost"]["value"], *(a["cost"]["value"] for a in results["alternatives"])]
    assert costs == sorted(costs)
    assert len({str(a["units"]) for a in results["alternatives"]}) == len(results["alternatives"]) == 50
    assert answer_of(ID, ask(700, alternatives=0))["results"]["alternatives"] == []


def test_no_redundancy_no_loss(answer_of):
    assert "capacity_after_loss" not in answer_of(ID, ask())["results"]["best"]


def test_several_units(answer_of):
    best = answer_of(ID, ask(700, redundancy={"rule": "several_units", "units": 2}))["results"]["best"]
    sizes = sorted(
        (r["capacity"]["value"] for r in FLEET for _ in range(best["units"].get(r["type"], 0))), reverse=True
    )
    assert best["capacity_after_loss"]["value"] == pytest.approx(sum(sizes[2:]))
    assert sum(sizes[2:]) >= 700


# --- what rounding may move ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("value", [1e-6, 0.3, 1.0, 7.0, 123456.789, 1e12])
def test_numbers_nearer_than_a_billionth_count_as_equal(value):
    """As `coldwright_basis.compare` says: one part in 1e9."""
    for part, differs in ((0.0, False), (0.9e-9, False), (1.1e-9, True), (0.5, True)):
        assert bool(rounding.below(value * (1 - part), value)) is differs
        assert bool(rounding.above(value * (1 + part), value)) is differs
        assert not rounding.below(value * (1 + part), value)
        assert not rounding.above(value * (1 - part), value)


@pytest.mark.parametrize(("limit", "room"), [(0, 1e-9), (0.2, 1e-9), (-1, 1e-9), (40, 4e-8), (-40, 4e-8), (5e6, 5e-3)])
def test_a_limit_has_room_for_a_billionth_of_it_or_of_one(limit, room):
    assert rounding.roomy(limit) - limit == pytest.approx(room, rel=1e-3, abs=0)


@given(st.integers(-1000, 1000), st.floats(0.01, 0.99))
def test_bounds_round_to_the_whole_number_that_they_leave_open(whole, part):
    """One that is above a whole number by rounding alone does not mean the next one."""
    assert rounding.least_whole(whole + part) == whole + 1
    assert rounding.most_whole(whole + part) == whole
    for sum_of in (whole, whole + 5e-7, whole - 5e-7):
        assert rounding.least_whole(sum_of) == rounding.most_whole(sum_of) == whole
    assert (rounding.least_whole(whole + 2e-6), rounding.most_whole(whole - 2e-6)) == (whole + 1, whole - 1)


@given(st.lists(st.one_of(st.just(0.0), st.floats(1e-9, 1e15)), min_size=1, max_size=5))
def test_what_ranks_is_rounded_as_every_number_of_an_answer(values):
    """Each to its own twelve digits, whatever stands beside it."""
    rounded = rounding.tidied(np.array(values)).tolist()
    assert rounded == pytest.approx([tidy(value) for value in values], rel=1e-15)
    assert rounding.tidied(np.array([0.1 + 0.2])) == rounding.tidied(np.array([0.3]))


# --- rows with a machine ------------------------------------------------------------------------------------------

MACHINE: dict[str, Any] = {
    "rating_table": {
        "leaving_liquid_temperature": {"values": [5, 10], "unit": "degC"},
        "ambient_temperature": {"values": [25, 40], "unit": "degC"},
        "capacity": {"values": [[300, 260], [340, 300]], "unit": "kW"},
        "power": {"values": [[80, 100], [82, 104]], "unit": "kW"},
    }
}
DESIGN = {
    "load": kw(500),
    "leaving_liquid_temperature": {"value": 7, "unit": "degC"},
    "ambient_temperature": {"value": 35, "unit": "degC"},
}


def rated(count=4, machine=MACHINE, **more):
    asked = ask(objective="power", fleet=[{"type": "rated", "count_available": count, "machine": machine}], **more)
    return asked | {"design": copy.deepcopy(DESIGN)}


def test_a_row_with_a_machine_is_rated(answer_of):
    alone = answer_of(
        "refrigeration.capacity",
        {
            "machine": MACHINE,
            "conditions": {k: v for k, v in DESIGN.items() if k != "load"},
        },
    )["results"]
    best = answer_of(ID, rated())["results"]["best"]
    assert best["units"] == {"rated": 2}
    assert best["capacity"]["value"] == pytest.approx(2 * alone["capacity"]["value"])
    assert best["power"]["value"] == pytest.approx(2 * alone["power"]["value"])


def test_a_machine_that_cannot_work_there_is_left_out(answer_of):
    asked = rated()
    asked["design"]["ambient_temperature"] = {"value": 44, "unit": "degC"}
    answer = answer_of(ID, asked)
    assert codes(answer) == {"type_left_out": "check", "no_combination": "stop"}
    assert answer["results"]["infeasible_set"] == ["capacity"]
    asked = rated(machine=MACHINE | {"envelope": {"ambient_maximum": {"value": 30, "unit": "degC"}}})
    assert "type_left_out" in codes(answer_of(ID, asked))


def test_a_broken_machine_is_refused_by_its_row(answer_of):
    broken = copy.deepcopy(MACHINE)
    broken["rating_table"]["power"]["values"][0].append(120)
    assert pointers(answer_of, rated(machine=broken)) == ["#/fleet/0/machine/rating_table/power/values/0"]
    asked = rated()
    del asked["design"]["ambient_temperature"]
    assert pointers(answer_of, asked) == ["#/design/ambient_temperature"]


# --- findings -----------------------------------------------------------------------------------------------------


def test_findings(to_the_word):
    thin = to_the_word(ID, ask(237, "one_unit", [row("a", 4, 120)]))
    assert codes(thin)["small_margin_after_loss"] == "check"
    mixed = to_the_word(ID, ask(370, fleet=[row("a", 1, 120), row("b", 1, 260)]))
    assert codes(mixed)["mixed_sizes_in_parallel"] == "check"
    limited = to_the_word(ID, ask(limits={"power_available": kw(900)}))
    assert codes(limited)["power_counts_all_units"] == "check"
    assert codes(limited)["hauls_are_a_lower_bound"] == "note"
    isolated = to_the_word(ID, ask(standby_isolated=True))
    assert codes(isolated)["standby_to_be_isolated"] == "note"


def test_turndown(answer_of):
    fleet = [row("small", 9, 120, hire_cost={"value": 2000, "currency": "EUR"}), row("large", 2, 600)]
    answer = answer_of(ID, ask(500, fleet=fleet, minimum_load=kw(40)))
    assert answer["results"]["best"]["units"] == {"small": 1, "large": 1}
    assert "turndown" in [b["constraint"] for b in answer["results"]["binding"]]
    assert codes(answer)["turndown_costs"] == "check"
    answer = answer_of(ID, ask(500, fleet=fleet[1:], minimum_load=kw(40)))
    assert answer["results"]["infeasible_set"] == ["turndown"]
    assert codes(answer)["turndown_costs"] == "check"
    answer = answer_of(ID, ask(500, "one_unit"))
    assert [b["constraint"] for b in answer["results"]["binding"]] == ["redundancy"]
    assert "turndown_costs" not in codes(answer)


def test_mass_and_hauls(answer_of):
    answer = answer_of(ID, ask(1000, limits={"mass_max": {"value": 5, "unit": "t"}}))
    assert answer["results"]["infeasible_set"] == ["capacity", "mass_max"]
    answer = answer_of(ID, ask(1000, limits={"hauls_max": 0}))
    assert answer["results"]["infeasible_set"] == ["capacity", "hauls_max"]


def test_standby_units_valved_off(answer_of):
    """With a spare unit the least flow of all is above the design flow, of the running ones it is not."""
    fleet = [row("a", 4, 120, flow_minimum={"value": 4, "unit": "L/s"})]
    asked = ask(240, "one_unit", fleet)
    asked["design"]["flow"] = {"value": 9, "unit": "L/s"}
    assert answer_of(ID, asked)["results"]["infeasible_set"] == ["redundancy", "flow_minimum"]
    assert answer_of(ID, asked | {"standby_isolated": True})["results"]["best"]["units"] == {"a": 3}


def test_flow_from_the_temperature_difference(answer_of):
    asked = ask(500)
    asked["design"]["temperature_difference"] = {"value": 5, "unit": "delta_degC"}
    answer = answer_of(ID, asked)
    (flow,) = [w["value"] for w in answer["working"] if w["symbol"] == "F"]
    assert flow == pytest.approx(500 / (4.19 * 5), rel=0.01)


@pytest.mark.parametrize("leaving", [None, 7, 30])
def test_flow_is_that_of_the_mean_temperature(answer_of, leaving):
    """LIBRARY: CoolProp, water at 101.325 kPa: half of the difference above the leaving water, or at 10 degC."""
    asked = ask(500)
    asked["design"]["temperature_difference"] = {"value": 20, "unit": "delta_degC"}
    if leaving is not None:
        asked["design"]["leaving_liquid_temperature"] = {"value": leaving, "unit": "degC"}
    (flow,) = [w["value"] for w in answer_of(ID, asked)["working"] if w["symbol"] == "F"]
    mean = 283.15 if leaving is None else 273.15 + leaving + 10
    heat = PropsSI("D", "T", mean, "P", 101325, "Water") * PropsSI("C", "T", mean, "P", 101325, "Water")
    assert flow == pytest.approx(500e3 / (heat * 20) * 1000, rel=4e-4)


@given(st.lists(st.integers(0, 10**7), min_size=1, max_size=5), st.sampled_from([1, 10, 1000]))
def test_sums_of_costs_differ_by_their_common_step(amounts, parts):
    """The greatest common divisor, by fractions; a cost of less than a thousandth has none that is known."""
    costs = [amount / parts for amount in amounts]
    step = math.gcd(*amounts)
    assert common_step(costs) == pytest.approx(step / parts, rel=1e-12, abs=0)
    assert common_step([*costs, 0.0005]) == 0.0


def test_a_margin_of_less_than_three_in_a_hundred_is_thin(answer_of):
    """Three of 120 kW less one: 240 kW for the load."""
    fleet = [row("a", 3, 120)]
    for load, is_thin in ((240 / 1.0295, True), (240 / 1.0305, False)):
        assert ("small_margin_after_loss" in codes(answer_of(ID, ask(load, "one_unit", fleet)))) is is_thin


# --- refusals -----------------------------------------------------------------------------------------------------


def test_refusals(answer_of):
    assert pointers(answer_of, ask(fleet=[])) == ["#/fleet"]
    assert pointers(answer_of, ask(0)) == ["#/design/load"]
    assert pointers(answer_of, ask(fleet=[row("a", -1, 100)])) == ["#/fleet/0/count_available"]
    assert pointers(answer_of, ask(minimum_load=kw(701))) == ["#/minimum_load"]
    assert pointers(answer_of, ask(haul_cost={"value": 1, "currency": "USD"})) == ["#/haul_cost/currency"]
    assert pointers(answer_of, ask(fleet=[row("a", 1, 100), row("a", 1, 200)])) == ["#/fleet/1/type"]
    assert pointers(answer_of, ask(rule="several_units")) == ["#/redundancy/units"]
    assert pointers(answer_of, ask(redundancy={"rule": "one_unit", "units": 2})) == ["#/redundancy/units"]
    rich = [row("a", 50, 100, hire_cost={"value": 1e11, "currency": "EUR"})]
    assert pointers(answer_of, ask(fleet=rich)) == ["#/fleet/0/hire_cost/value"]
    assert pointers(answer_of, ask(haul_cost={"value": 1e12, "currency": "EUR"})) == ["#/haul_cost/value"]
    for hire, haul, refused in (
        (1e11, 0, None),
        (1.01e11, 0, "#/fleet/0/hire_cost/value"),
        (4e10, 1e11, None),  # ten units in five hauls, and one haul more
        (4.1e10, 1e11, "#/haul_cost/value"),
        (5.1e10, 0.95e11, "#/fleet/0/hire_cost/value"),
    ):
        asked = ask(100, fleet=[row("a", 10, 100, hire_cost={"value": hire, "currency": "EUR"})])
        asked["haul_cost"] = {"value": haul, "currency": "EUR"}
        if refused:
            assert pointers(answer_of, asked) == [refused]
        else:
            assert answer_of(ID, asked)["results"]["best"]["units"] == {"a": 1}
    both = ask()
    both["design"] |= {
        "flow": {"value": 20, "unit": "L/s"},
        "temperature_difference": {"value": 5, "unit": "delta_degC"},
    }
    assert pointers(answer_of, both) == ["#/design/flow"]
    crossed = [row("a", 1, 100, flow_minimum={"value": 9, "unit": "L/s"}, minimum_capacity=kw(101))]
    assert pointers(answer_of, ask(fleet=crossed)) == ["#/fleet/0/minimum_capacity", "#/fleet/0/flow_minimum"]
    assert pointers(answer_of, ask(fleet=[row("a", 1, 100, machine=MACHINE)]))[0] == "#/fleet/0/capacity"


@pytest.mark.parametrize(
    ("missing", "more"),
    [
        ("hire_cost", {}),
        ("power", {"objective": "power"}),
        ("haul_fraction", {"objective": "hauls"}),
        ("haul_fraction", {"limits": {"hauls_max": 3}}),
        ("haul_fraction", {"haul_cost": {"value": 5, "currency": "EUR"}}),
        ("circuits", {"redundancy": {"rule": "one_circuit"}}),
        ("minimum_capacity", {"minimum_load": kw(50)}),
        ("flow_minimum", {"design": {"load": kw(700), "flow": {"value": 30, "unit": "L/s"}}}),
        ("flow_maximum", {"design": {"load": kw(700), "flow": {"value": 30, "unit": "L/s"}}}),
        ("power", {"limits": {"power_available": kw(500)}}),
        ("footprint", {"limits": {"footprint_available": {"value": 500, "unit": "m2"}}}),
        ("mass", {"limits": {"mass_max": {"value": 500, "unit": "t"}}}),
    ],
)
def test_a_field_is_needed_only_where_it_is_used(answer_of, missing, more):
    fleet = copy.deepcopy(FLEET)
    del fleet[1][missing]
    assert pointers(answer_of, ask(fleet=fleet) | more) == [f"#/fleet/1/{missing}"]
    if missing != "hire_cost":
        assert answer_of(ID, ask(fleet=fleet))["results"]["status"] == "optimal"
    else:
        results = answer_of(ID, ask(fleet=fleet, objective="units"))["results"]
        assert results["status"] == "optimal"


# --- large fleets -------------------------------------------------------------------------------------------------


def large_fleet(types, seed):
    rng = random.Random(seed)
    fleet = []
    for i in range(types):
        size = round(rng.uniform(70, 1400), 1)
        hire = {"value": round(size * rng.uniform(5, 9)), "currency": "EUR"}
        fleet.append(row(f"type {i:03}", rng.randrange(6), size, hire_cost=hire, power=kw(round(size * 0.31, 1))))
    return fleet


@pytest.mark.parametrize("rule", ["none", "one_circuit", "one_unit"])
def test_two_hundred_types_and_forty_machines(answer_of, rule):
    """The largest fleet that is aimed at is answered; `tests/benchmarks` tells how quickly."""
    fleet = large_fleet(200, 7)
    asked = ask(36000, rule, fleet, haul_cost={"value": 600, "currency": "EUR"})
    results = answer_of(ID, asked)["results"]
    assert results["status"] == "optimal"
    assert 30 <= sum(results["best"]["units"].values()) <= 60


@pytest.mark.parametrize("rule", ["none", "one_unit"])
def test_lists_of_a_large_fleet_are_complete(answer_of, rule):
    asked = ask(36000, rule, large_fleet(200, 8), haul_cost={"value": 600, "currency": "EUR"})
    answer = answer_of(ID, asked)
    assert "list_cut_short" not in codes(answer)
    assert len(answer["results"]["alternatives"]) == 5


def staged(fleet, load, most_power, stages):
    """SciPy's integer program, one criterion after the other, each held at its least for the next."""
    size, count = (np.array([r[name]["value"] for r in fleet]) for name in ("capacity", "power"))
    stock = np.array([r["count_available"] for r in fleet])
    columns = {"power": count, "units": np.ones(len(fleet)), "hire": np.array([r["hire_cost"]["value"] for r in fleet])}
    rows = [LinearConstraint(size, load), LinearConstraint(count, -np.inf, most_power)]
    least = []
    for name in stages:
        found = milp(
            columns[name],
            integrality=np.ones(len(fleet)),
            bounds=Bounds(0, stock),
            constraints=rows,
            options={"mip_rel_gap": 0},
        )
        assert found.status == 0
        least.append(float(columns[name] @ np.round(found.x)))
        rows.append(LinearConstraint(columns[name], -np.inf, least[-1] + 1e-4))
    return least


@pytest.mark.parametrize("types", [40, pytest.param(120, marks=pytest.mark.nightly)])
@pytest.mark.parametrize(
    ("objective", "stages"),
    [("units", ("units", "power")), ("power", ("power", "units")), ("hire_cost", ("hire", "units", "power"))],
)
def test_large_fleets_against_an_integer_program_in_stages(answer_of, types, objective, stages):
    """LIBRARY: scipy.optimize.milp. The tie-breakers too: least power among the fewest units, and so on."""
    fleet, load = large_fleet(types, types), types * 250.0
    for entry in fleet:  # power that does not go with capacity, so that the criteria pull apart
        entry["power"] = kw(round(entry["power"]["value"] * (1 + 0.2 * math.sin(entry["capacity"]["value"])), 1))
    asked = ask(load, fleet=fleet, objective=objective, limits={"power_available": kw(load * 0.36)})
    answer = answer_of(ID, asked)
    assert answer["results"]["status"] == "optimal"
    best = answer["results"]["best"]
    found = {"units": sum(best["units"].values()), "power": best["power"]["value"], "hire": best["cost"]["value"]}
    expected = staged(fleet, load, load * 0.36, stages)
    assert [found[name] for name in stages] == pytest.approx(expected, abs=2e-3)


def few_sizes(types, seed):
    """Three sizes with one price each, whose power differs a little from type to type: ties wherever one looks."""
    rng = random.Random(seed)
    fleet = []
    for i in range(types):
        size, price = rng.choice([(134, 1150), (327, 2450), (812, 5300)])
        power = kw(round(size * rng.uniform(0.28, 0.34), 1))
        hire = {"value": price, "currency": "EUR"}
        fleet.append(row(f"type {i:03}", rng.randrange(1, 4), size, power=power, hire_cost=hire))
    return fleet


@pytest.mark.parametrize(("objective", "stages"), [("units", ("units", "power")), ("power", ("power", "units"))])
def test_fleets_of_few_sizes_against_an_integer_program_in_stages(answer_of, objective, stages):
    """LIBRARY: scipy.optimize.milp. Types of one size take each other's place in every bound."""
    fleet, load = few_sizes(40, 3), 8000.0
    answer = answer_of(ID, ask(load, fleet=fleet, objective=objective, limits={"power_available": kw(3200)}))
    assert answer["results"]["status"] == "optimal"
    best = answer["results"]["best"]
    found = {"units": sum(best["units"].values()), "power": best["power"]["value"]}
    assert [found[name] for name in stages] == pytest.approx(staged(fleet, load, 3200.0, stages), abs=2e-3)


@pytest.mark.parametrize("objective", ["units", "power", "hauls"])
def test_fleets_of_few_sizes_are_proved_with_a_spare_unit_too(answer_of, objective):
    answer = answer_of(ID, ask(8000, "one_unit", few_sizes(40, 3), objective=objective))
    assert answer["results"]["status"] == "optimal"
    assert "list_cut_short" not in codes(answer)


def test_a_search_that_is_ended_says_so_and_how_far_it_came(answer_of, monkeypatch):
    fleet = large_fleet(200, 7)
    for entry in fleet:
        entry["power"] = kw(round(entry["power"]["value"] * (1 + 0.1 * math.sin(entry["capacity"]["value"])), 1))
    asked = ask(36000, "one_unit", fleet, objective="power")
    proved = answer_of(ID, asked)["results"]
    assert proved["status"] == "optimal"
    assert "proven_bound" not in proved
    monkeypatch.setattr(search, "LIST", 4)
    monkeypatch.setattr(programs, "MOST_BRANCHES", 0)
    ended = answer_of(ID, asked)
    assert ended["results"]["status"] == "not_proved"
    assert codes(ended)["not_proved"] == "check"
    bound, best = ended["results"]["proven_bound"]["value"], ended["results"]["best"]["power"]["value"]
    assert bound <= proved["best"]["power"]["value"] <= best
    assert best - bound < 0.01 * best
    monkeypatch.setattr(search, "LIST", 0)
    nothing = answer_of(ID, asked)
    assert nothing["results"]["status"] == "not_proved"
    assert nothing["outcome"] == "unacceptable"
    assert "best" not in nothing["results"]


def test_what_is_proved_is_no_less_than_with_fractions(answer_of, monkeypatch):
    """LIBRARY: scipy.optimize.linprog. The bound of a search that is ended holds all rules, those of the limits too."""
    fleet, load = large_fleet(200, 7), 36000
    for entry in fleet:
        entry["power"] = kw(round(entry["power"]["value"] * (1 + 0.1 * math.sin(entry["capacity"]["value"])), 1))
    monkeypatch.setattr(programs, "MOST_BRANCHES", 0)
    results = answer_of(ID, ask(load, "none", fleet, limits={"power_available": kw(load * 0.29)}))["results"]
    assert results["status"] == "not_proved"
    size, power, cost = (np.array([r[m]["value"] for r in fleet]) for m in ("capacity", "power", "hire_cost"))
    fractions = linprog(
        cost,
        A_ub=[-size, power],
        b_ub=[-load, load * 0.29],
        bounds=[(0, r["count_available"]) for r in fleet],
    )
    assert fractions.fun * (1 - 1e-6) <= results["proven_bound"]["value"] <= results["best"]["cost"]["value"]
