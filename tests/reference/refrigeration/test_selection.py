"""Checks of refrigeration.selection: a worked fleet, and every generated fleet against plain enumeration.

The worked fleet's answers were found with scipy.optimize.milp and, independently, by going through every combination
(LIBRARY: scipy 1.17). The enumeration below shares no code with the calculator; larger fleets are compared with SciPy's
integer program, stage by stage, in tests/properties.
"""

import itertools
import json
import math
from functools import lru_cache

import pytest
from hypothesis import event, given, settings
from hypothesis import strategies as st

from coldwright_refrigeration.selection import listing
from coldwright_refrigeration.selection import search as searching
from coldwright_refrigeration.selection import sweep as sweeping

pytestmark = pytest.mark.check
ID = "refrigeration.selection"


def ton(value):
    return {"value": value, "unit": "ton"}


def kw(value):
    return {"value": value, "unit": "kW"}


def gpm(value):
    return {"value": value, "unit": "gpm"}


def m2(value):
    return {"value": value, "unit": "m2"}


def usd(value):
    return {"value": value, "currency": "USD"}


def row(name, count, capacity, power, circuits, least, flow_low, flow_high, ground, haul, hire):
    return {
        "type": name,
        "count_available": count,
        "capacity": ton(capacity),
        "power": kw(power),
        "circuits": circuits,
        "minimum_capacity": ton(least),
        "flow_minimum": gpm(flow_low),
        "flow_maximum": gpm(flow_high),
        "footprint": m2(ground),
        "haul_fraction": haul,
        "hire_cost": usd(hire),
    }


FLEET = [
    row("a30", 4, 27.5, 34, 1, 6.9, 36, 110, 9, 0.25, 900),
    row("b80", 3, 74, 88, 2, 18.5, 96, 290, 20, 0.5, 2000),
    row("c200", 2, 186, 218, 2, 37.2, 240, 720, 42, 1, 4300),
]


def worked(rule, power=450, fleet=FLEET):
    return {
        "design": {"load": ton(180), "flow": gpm(432)},
        "minimum_load": ton(20),
        "redundancy": {"rule": rule},
        "fleet": list(fleet),
        "limits": {"power_available": kw(power), "footprint_available": m2(120)},
        "haul_cost": usd(600),
    }


def test_no_redundancy(answer_of):
    results = answer_of(ID, worked("none"))["results"]
    assert results["best"]["units"] == {"a30": 1, "c200": 1}
    assert results["best"]["cost"] == usd(6400)
    following = [(a["units"], a["cost"]["value"]) for a in results["alternatives"][:2]]
    assert following == [({"a30": 4, "b80": 1}, 6800), ({"a30": 2, "b80": 2}, 7000)]
    (rejected,) = results["rejected"]
    assert (rejected["units"], rejected["cost"], rejected["failed"]) == ({"c200": 1}, usd(4900), ["turndown"])


def test_one_circuit(answer_of):
    best = answer_of(ID, worked("one_circuit"), units="us")["results"]["best"]
    assert best["units"] == {"b80": 3}
    assert best["cost"] == usd(7200)
    assert best["capacity"]["value"] == pytest.approx(222)
    assert best["capacity_after_loss"]["value"] == pytest.approx(185)


def test_one_unit(answer_of):
    results = answer_of(ID, worked("one_unit"), units="us")["results"]
    best = results["best"]
    assert best["units"] == {"a30": 4, "b80": 2}
    assert best["cost"] == usd(8800)
    assert best["capacity"]["value"] == pytest.approx(258)
    assert best["capacity_after_loss"]["value"] == pytest.approx(184)
    assert best["power"]["value"] == pytest.approx(312)
    assert best["hauls"] == 2
    assert answer_of(ID, worked("one_unit"))["results"]["best"]["footprint"]["value"] == pytest.approx(76)
    assert results["binding"] == [{"constraint": "redundancy", "cost_if_relaxed": usd(6400), "saving": usd(2400)}]


def test_infeasible(answer_of):
    answer = answer_of(ID, worked("one_unit", 300))
    results = answer["results"]
    assert results["status"] == "infeasible"
    assert results["infeasible_set"] == ["redundancy", "power_available"]
    assert "best" not in results
    assert (results["alternatives"], results["binding"]) == ([], [])
    assert answer["outcome"] == "unacceptable"


# --- against plain enumeration ------------------------------------------------------------------------------------


def lost(asked, chosen):
    """Capacity lost under the redundancy rule, from the plain text of the rule."""
    units = sorted((r["capacity"]["value"] for r, n in chosen for _ in range(n)), reverse=True)
    match asked["redundancy"]:
        case {"rule": "one_unit"}:
            return sum(units[:1])
        case {"rule": "several_units", "units": k}:
            return sum(units[:k])
        case {"rule": "one_circuit"}:
            return max((r["capacity"]["value"] / r["circuits"] for r, n in chosen if n), default=0)
    return 0


def flow_needed(asked, chosen):
    """Least flow of the units that are not valved off: the largest one after the other, until they carry the load."""
    units = sorted(
        ((r["capacity"]["value"], -r["flow_minimum"]["value"]) for r, n in chosen for _ in range(n)), reverse=True
    )
    runs, carried = [], 0.0
    for size, minus_flow in units:
        if asked.get("standby_isolated") and carried >= asked["design"]["load"]["value"] - 1e-9:
            break
        runs.append(-minus_flow)
        carried += size
    return math.fsum(runs)


def failures(asked, counts):
    chosen = list(zip(asked["fleet"], counts, strict=True))

    def total(name):
        return math.fsum(n * r[name]["value"] for r, n in chosen)

    load, limits = asked["design"]["load"]["value"], asked["limits"]
    capacity = total("capacity")
    hauls = math.ceil(math.fsum(n * r["haul_fraction"] for r, n in chosen) - 1e-9)
    tests = {
        "capacity": capacity < load - 1e-9,
        "redundancy": asked["redundancy"]["rule"] != "none" and capacity - lost(asked, chosen) < load - 1e-9,
        "turndown": asked["minimum_load"]["value"] > 0
        and not any(n and r["minimum_capacity"]["value"] <= asked["minimum_load"]["value"] for r, n in chosen),
        "flow_minimum": flow_needed(asked, chosen) > asked["design"]["flow"]["value"] + 1e-9,
        "flow_maximum": total("flow_maximum") < asked["design"]["flow"]["value"] - 1e-9,
        "power_available": total("power") > limits["power_available"]["value"] + 1e-9,
        "footprint_available": total("footprint") > limits["footprint_available"]["value"] + 1e-9,
        "hauls_max": hauls > limits.get("hauls_max", 10**6),
        "units_max": sum(counts) > limits.get("units_max", 10**6),
    }
    return [name for name, broken in tests.items() if broken]


def objective(asked, counts):
    chosen = list(zip(asked["fleet"], counts, strict=True))
    hauls = math.ceil(math.fsum(n * r["haul_fraction"] for r, n in chosen) - 1e-9)
    hire = math.fsum(n * r["hire_cost"]["value"] for r, n in chosen) + hauls * asked["haul_cost"]["value"]
    power = math.fsum(n * r["power"]["value"] for r, n in chosen)
    return {"hire_cost": hire, "units": sum(counts), "power": power, "hauls": hauls}[asked["objective"]]


def rank(asked, counts):
    chosen = [(r["type"], -n, n * r["power"]["value"]) for r, n in zip(asked["fleet"], counts, strict=True) if n]
    names = tuple(sorted((name, minus) for name, minus, _ in chosen))
    power = math.fsum(p for *_, p in chosen)
    return round(objective(asked, counts), 6), sum(counts), round(power, 6), names


def named(asked, counts):
    return {r["type"]: n for r, n in zip(asked["fleet"], counts, strict=True) if n}


@lru_cache(maxsize=1)
def judged(text):
    """Every combination that the stock allows by rank, with the rules that it breaks; each fleet is asked several times over."""
    asked = json.loads(text)
    every = itertools.product(*(range(r["count_available"] + 1) for r in asked["fleet"]))
    return sorted(((c, frozenset(failures(asked, c))) for c in every), key=lambda pair: rank(asked, pair[0]))


def enumerated(asked, without=()):
    return [c for c, broken in judged(json.dumps(asked)) if broken <= frozenset(without)]


@st.composite
def orders(draw):
    fleet = []
    for i in range(draw(st.integers(2, 4))):
        size = draw(st.sampled_from([20, 27.5, 40, 74, 80, 110, 186]))
        fleet.append(
            row(
                f"t{i}",
                draw(st.sampled_from([4, 3, 2, 1, 0])),
                size,
                round(size * draw(st.sampled_from([1.05, 1.15, 1.2])), 3),
                draw(st.integers(1, 4)),
                size * 0.25,
                round(size * 1.2, 3),
                size * 4,
                round(size * 0.23, 3),
                draw(st.sampled_from([0.2, 0.25, 0.5, 1.0])),
                draw(st.sampled_from([500, 900, 1000, 2000, 2100.5, 4300])),
            )
        )
    rule = draw(st.sampled_from(["none", "one_circuit", "one_unit", "several_units"]))
    load = draw(st.sampled_from([60, 15, 110, 148, 90, 180]))
    limits = {
        "power_available": kw(load * draw(st.sampled_from([4, 2.5, 1.8, 1.3]))),
        "footprint_available": m2(load * draw(st.sampled_from([1, 0.6, 0.4, 0.3]))),
    }
    if draw(st.integers(0, 3)) == 3:
        limits["units_max"] = draw(st.integers(2, 6))
    if draw(st.integers(0, 3)) == 3:
        limits["hauls_max"] = draw(st.integers(1, 4))
    return {
        "design": {"load": ton(load), "flow": gpm(2.4 * load)},
        "minimum_load": ton(draw(st.sampled_from([0, load * 0.3, load * 0.1]))),
        "redundancy": {"rule": rule} | ({"units": draw(st.integers(1, 3))} if rule == "several_units" else {}),
        "fleet": fleet,
        "limits": limits,
        "haul_cost": usd(draw(st.sampled_from([0, 350, 600]))),
        "objective": draw(st.sampled_from(["hire_cost", "units", "power", "hauls"])),
        "standby_isolated": draw(st.integers(0, 2)) == 2,
    }


def hold_against_enumeration(answer_of, asked):
    answer = answer_of(ID, asked)
    results = answer["results"]
    assert "list_cut_short" not in {f["code"] for f in answer["findings"]}
    good = enumerated(asked)
    event("feasible" if good else "infeasible")
    if not good:
        assert results["status"] == "infeasible"
        conflict = results["infeasible_set"]
        names = set(rules_in_force(asked))
        assert conflict
        assert not enumerated(asked, names - set(conflict)), "the set conflicts"
        for word in conflict:
            kept = set(conflict) - {word}
            assert enumerated(asked, names - kept), "and without any one of it does not"
        for smaller in itertools.combinations(sorted(names), len(conflict) - 1):
            assert enumerated(asked, names - set(smaller)), "nor does any smaller set"
        return
    assert results["status"] == "optimal"
    listed = [results["best"], *results["alternatives"]]
    expected = [named(asked, c) for c in good[: len(listed)]]
    assert [entry["units"] for entry in listed] == expected
    assert len(listed) == min(6, len(good))
    check_binding(asked, results, good)
    check_rejected(asked, results, good)


def rules_in_force(asked):
    limits = [name for name in ("hauls_max", "units_max") if name in asked["limits"]]
    words = ["capacity", "redundancy", "turndown", "flow_minimum", "flow_maximum"]
    return [*words, "power_available", "footprint_available", *limits]


def check_binding(asked, results, good):
    best = objective(asked, good[0])
    expected = {}
    for word in rules_in_force(asked):
        if word == "capacity" and asked["redundancy"]["rule"] != "none":
            continue  # the redundancy rule asks for the capacity as well
        lowest = objective(asked, enumerated(asked, {word})[0])
        if lowest < best - 1e-6:
            expected[word] = lowest
    found = {b["constraint"]: b["cost_if_relaxed"] for b in results["binding"]}
    found = {word: value["value"] if isinstance(value, dict) else value for word, value in found.items()}
    assert found == pytest.approx(expected)


def rejected(asked, good):
    best = objective(asked, good[0])
    fails = [c for c, broken in judged(json.dumps(asked)) if broken and "capacity" not in broken]
    return [c for c in fails if objective(asked, c) < best - 1e-6]


def check_rejected(asked, results, good):
    bad = rejected(asked, good)
    assert [entry["units"] for entry in results["rejected"]] == [named(asked, c) for c in bad[:20]]
    for entry, counts in zip(results["rejected"], bad, strict=False):
        assert entry["failed"] == failures(asked, counts)


LONG = 20_000


@pytest.fixture(scope="session")
def by_sweeps(answer_of):
    """Answers found one type after the other, also where every combination would be written out."""

    def ask(calculator, asked, parts=sweeping.PARTS):
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(searching, "MOST_WRITTEN_OUT", 0)
            patch.setattr(sweeping, "PARTS", parts)
            for effort in ("LIST", "BESIDE"):
                patch.setattr(searching, effort, LONG)
            return answer_of(calculator, asked)

    return ask


@pytest.fixture(scope="session")
def by_programs(answer_of):
    """Answers by linear programs, also where every combination would be written out or swept."""

    def ask(calculator, asked, most=None):
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(searching, "MOST_WRITTEN_OUT", 0)
            patch.setattr(searching, "MOST_KINDS", 0)
            for effort in ("LIST", "BESIDE"):
                patch.setattr(searching, effort, LONG)
            if most is not None:
                patch.setattr(listing, "MOST_LISTED", most)
            return answer_of(calculator, asked)

    return ask


@settings(max_examples=60)
@given(asked=orders())
def test_every_fleet_against_enumeration(answer_of, asked):
    hold_against_enumeration(answer_of, asked)


@settings(max_examples=80)
@given(asked=orders())
def test_every_fleet_one_type_after_the_other_against_enumeration(by_sweeps, asked):
    hold_against_enumeration(by_sweeps, asked)


@settings(max_examples=60)
@given(asked=orders(), parts=st.lists(st.sampled_from([1, 2, 3, 5, 9, 20]), min_size=1, max_size=3))
def test_sweeps_that_leave_most_parts_out_against_enumeration(by_sweeps, asked, parts):
    """What is said to be proved is right however little is kept; and a list that is cut says so."""
    hold_ties_against_enumeration(lambda calculator, body: by_sweeps(calculator, body, tuple(parts)), asked)


@settings(max_examples=60)
@given(asked=orders())
def test_every_fleet_by_linear_programs_against_enumeration(by_programs, asked):
    hold_against_enumeration(by_programs, asked)


@pytest.fixture(scope="session")
def by_stages(answer_of):
    """Answers whose list is ended at once, so that integer programs in stages say what is best."""

    def ask(calculator, asked):
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(searching, "MOST_WRITTEN_OUT", 0)
            patch.setattr(searching, "MOST_KINDS", 0)
            patch.setattr(searching, "LIST", 0)
            for effort in ("BESIDE",):
                patch.setattr(searching, effort, LONG)
            return answer_of(calculator, asked)

    return ask


def hold_best_against_enumeration(answer_of, asked):
    results = answer_of(ID, asked)["results"]
    good = enumerated(asked)
    assert results["status"] == ("optimal" if good else "infeasible")
    if good:
        assert results["best"]["units"] == named(asked, good[0])
        check_binding(asked, results, good)


@settings(max_examples=80)
@given(asked=orders())
def test_every_best_by_integer_programs_in_stages_against_enumeration(by_stages, asked):
    hold_best_against_enumeration(by_stages, asked)


@pytest.fixture(scope="session")
def by_ties(answer_of):
    """Answers found as those of a large fleet are, of which many combinations tie, after a sweep that keeps next to nothing."""

    def ask(calculator, asked, nodes=20_000, parts=2):
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(searching, "MOST_WRITTEN_OUT", 0)
            patch.setattr(searching, "MOST_KINDS", 0)
            patch.setattr(searching, "FEW_VALUES", 1e9)
            patch.setattr(searching, "TIED_NODES", nodes)
            if not nodes:
                patch.setattr(listing, "MOST_LISTED", 1)
            patch.setattr(sweeping, "PARTS", (parts,))
            for effort in ("LIST", "BESIDE"):
                patch.setattr(searching, effort, LONG)
            return answer_of(calculator, asked)

    return ask


def hold_ties_against_enumeration(answer_of, asked):
    """The best as it is, and lists that are whole, or say which is not and what nothing is below that it lacks."""
    hold_best_against_enumeration(answer_of, asked)
    if not (good := enumerated(asked)):
        return
    answer = answer_of(ID, asked)
    results, cut = answer["results"], [f["statement"] for f in answer["findings"] if f["code"] == "list_cut_short"]
    bounds = {text.split("`")[1]: float(text.split("less than ")[1].split()[0]) for text in cut}
    event(f"cut: {sorted(bounds)}")
    listed = [results["best"]["units"], *(entry["units"] for entry in results["alternatives"])]
    if "alternatives" in bounds:
        assert bounds["alternatives"] >= objective(asked, good[0]) * (1 - 1e-4), "the best is proved"
        hold_cut_list(asked, listed, good, bounds["alternatives"])
    else:
        assert listed == [named(asked, c) for c in good[:6]]
    if "rejected" in bounds:
        hold_cut_list(
            asked, [entry["units"] for entry in results["rejected"]], rejected(asked, good), bounds["rejected"]
        )
    else:
        check_rejected(asked, results, good)


def hold_cut_list(asked, listed, every, bound):
    """All that is listed belongs there, in order, and nothing that is not is below the bound, as it is printed."""
    names = [named(asked, counts) for counts in every]
    places = [names.index(units) for units in listed]
    assert places == sorted(set(places))
    lacking = [counts for place, counts in enumerate(every) if place not in places]
    assert all(objective(asked, counts) >= bound * (1 - 1e-4) for counts in lacking)


@st.composite
def ties(draw):
    """Few hires, so that many combinations cost the same; and mostly something that keeps the rules."""
    asked = draw(orders())
    for entry in asked["fleet"]:
        entry["hire_cost"] = usd(draw(st.sampled_from([1000, 2000])))
        entry["count_available"] = max(entry["count_available"], 2)
    load = draw(st.sampled_from([15, 60, 90, 110]))
    asked["design"] = {"load": ton(load), "flow": gpm(2.4 * load)}
    asked["minimum_load"] = ton(0)
    asked["limits"]["power_available"] = kw(load * draw(st.sampled_from([5, 4, 2.5])))
    asked["limits"]["footprint_available"] = m2(load)
    return asked | {
        "objective": draw(st.sampled_from(["hire_cost", "hire_cost", "hire_cost", "units", "power", "hauls"]))
    }


@settings(max_examples=60)
@given(asked=ties())
def test_every_fleet_of_many_ties_against_enumeration(by_ties, asked):
    hold_ties_against_enumeration(by_ties, asked)


@settings(max_examples=25)
@given(asked=ties())
def test_ties_that_are_not_listed_against_enumeration(by_ties, asked):
    """The best is proved by integer programs, names too, and what a rule costs; the lists say what they lack."""
    hold_ties_against_enumeration(lambda calculator, body: by_ties(calculator, body, 0, 1), asked)


@pytest.mark.nightly
@settings(max_examples=2000)
@given(asked=ties())
def test_two_thousand_fleets_of_many_ties_against_enumeration(by_ties, asked):
    hold_ties_against_enumeration(by_ties, asked)


@pytest.mark.nightly
@settings(max_examples=2000)
@given(asked=orders())
def test_two_thousand_bests_by_integer_programs_in_stages_against_enumeration(by_stages, asked):
    hold_best_against_enumeration(by_stages, asked)


@settings(max_examples=40)
@given(asked=orders(), most=st.sampled_from([12, 40, 120]))
def test_nodes_that_are_split_against_enumeration(by_programs, asked, most):
    """Where few combinations are written out at once, nearly every node is split before it is."""
    hold_against_enumeration(lambda calculator, body: by_programs(calculator, body, most), asked)


@st.composite
def alike(draw):
    """Two sizes alone, so that a search divides by the units of a size."""
    asked = draw(orders())
    for entry in asked["fleet"]:
        size = draw(st.sampled_from([40, 40, 80]))
        entry |= {"capacity": ton(size), "count_available": draw(st.integers(1, 4)), "power": kw(size * 1.15)}
        entry["minimum_capacity"] = ton(size / 4)
    return asked


@settings(max_examples=20)
@given(asked=alike(), most=st.sampled_from([1, 3, 8]))
def test_nodes_that_are_split_by_the_units_of_a_size_against_enumeration(by_programs, asked, most):
    """Where next to nothing is written out at once."""
    hold_against_enumeration(lambda calculator, body: by_programs(calculator, body, most), asked)


def test_a_combination_between_two_ranges_of_hauls_counts_once(by_programs):
    """Found by the two thousand: five shares of 0.2 are one haul, and stood in the range of two hauls as well."""
    fleet = [row("t0", 4, 20, 21, 1, 5, 24, 80, 4.6, 0.2, 500), row("t1", 4, 40, 42, 3, 10, 48, 160, 9.2, 0.2, 2000)]
    asked = {
        "design": {"load": ton(110), "flow": gpm(264)},
        "minimum_load": ton(0),
        "redundancy": {"rule": "one_circuit"},
        "fleet": fleet,
        "limits": {"power_available": kw(440), "footprint_available": m2(110)},
        "haul_cost": usd(350),
        "objective": "hire_cost",
    }
    results = by_programs(ID, asked)["results"]
    listed = [entry["units"] for entry in (results["best"], *results["alternatives"])]
    assert listed == [named(asked, counts) for counts in enumerated(asked)[:6]]


# what is wanted, units that may be lost, and of each type the count, capacity, power, circuits, share of a haul and hire
ODD = [
    (
        120, {"rule": "none"}, "hire_cost",
        [
            (4, 40, 46, 1, 0.2, 0.01312), (4, 20, 23, 1, 0.2, 0.00741), (3, 60, 70, 2, 0.5, 0.02173),
            (3, 50, 60, 2, 0.5, 0.09173), (3, 30, 35, 1, 0.5, 0.01053),
        ],
    ),
    (80, {"rule": "several_units", "units": 2}, "units", [(3, 80, 88, 3, 0.5, 2000), (3, 60, 72, 2, 1, 500)]),
    (80, {"rule": "several_units", "units": 2}, "hire_cost", [(3, 60, 72, 2, 0.25, 0), (3, 40, 48, 1, 0.25, 500.0066)]),
    (
        80, {"rule": "one_unit"}, "hire_cost",
        [(3, 40, 44, 2, 0.5, 0), (2, 80, 92, 2, 1, 500.1621), (4, 60, 66, 3, 0.2, 900.1116)],
    ),
    (80, {"rule": "one_circuit"}, "hire_cost", [(4, 60, 69, 1, 0.2, 0), (2, 60, 66, 2, 1, 1100.3313)]),
    (
        80, {"rule": "one_unit"}, "hire_cost",
        [(4, 60, 72, 2, 0.25, 0), (4, 40, 48, 1, 0.25, 0), (2, 80, 92, 1, 0.25, 500.0066)],
    ),
    (
        80, {"rule": "several_units", "units": 2}, "power",
        [(3, 60, 73.5398223686, 1, 0.2, 500), (3, 40, 51.1209433481, 1, 0.25, 500)],
    ),
]  # fmt: skip


@pytest.mark.parametrize(("load", "redundancy", "objective", "types"), ODD)
def test_costs_without_a_common_step_against_enumeration(by_sweeps, by_programs, load, redundancy, objective, types):
    """Hires and powers that are no multiples of one amount, types that cost nothing, two units lost: none counts twice."""
    asked = {
        "design": {"load": ton(load), "flow": gpm(2.4 * load)},
        "minimum_load": ton(0),
        "redundancy": redundancy,
        "fleet": [
            row(f"t{i}", count, size, power, circuits, size / 4, size * 0.3, size * 4, size * 0.23, haul, hire)
            for i, (count, size, power, circuits, haul, hire) in enumerate(types)
        ],
        "limits": {"power_available": kw(6 * load), "footprint_available": m2(2 * load)},
        "haul_cost": usd(0),
        "objective": objective,
    }
    good = enumerated(asked)
    for ask in (by_sweeps, by_programs):
        results = ask(ID, asked)["results"]
        listed = [entry["units"] for entry in (results["best"], *results["alternatives"])]
        assert listed == [named(asked, counts) for counts in good[:6]]
        check_binding(asked, results, good)
        check_rejected(asked, results, good)


@pytest.mark.parametrize("cents", [0, 0.0066])
def test_what_a_limit_costs_where_cheaper_fleets_break_two_against_enumeration(
    answer_of, by_sweeps, by_programs, by_ties, cents
):
    """More than twenty cheaper combinations break both limits; only dearer ones break one of them alone."""
    heavy, wide = 100, 20
    types = [("b0", heavy, wide, 100), ("b1", heavy, wide, 110), ("b2", heavy, wide, 120)]
    types += [("p", heavy, 9, 300), ("f", 44, wide, 310), ("g", 44, 9, 900)]
    asked = {
        "design": {"load": ton(80), "flow": gpm(192)},
        "minimum_load": ton(0),
        "redundancy": {"rule": "none"},
        "fleet": [
            row(name, 2, 40, kilowatts, 2, 10, 12, 160, m, 0.25, hire + cents) for name, kilowatts, m, hire in types
        ],
        "limits": {"power_available": kw(90), "footprint_available": m2(18)},
        "haul_cost": usd(0),
        "objective": "hire_cost",
    }
    good = enumerated(asked)
    assert len(rejected(asked, good)) > 20
    for ask in (answer_of, by_sweeps, by_programs, by_ties):
        check_binding(asked, ask(ID, asked)["results"], good)
    for parts in (1, 3, 9, 20):
        check_binding(asked, by_ties(ID, asked, 0, parts)["results"], good)


def test_ties_between_types_that_differ_by_their_hauls_alone(answer_of, by_sweeps, by_programs):
    """Found by the two thousand: a type without stock lent its name to one that stands later, and with it the tie."""
    fleet = [
        row("t0", 0, 20, 21, 1, 5, 24, 80, 4.6, 0.2, 500),
        row("t1", 4, 20, 21, 1, 5, 24, 80, 4.6, 0.25, 500),
        row("t2", 4, 20, 21, 1, 5, 24, 80, 4.6, 0.2, 500),
    ]
    asked = {
        "design": {"load": ton(60), "flow": gpm(144)},
        "minimum_load": ton(0),
        "redundancy": {"rule": "none"},
        "fleet": fleet,
        "limits": {"power_available": kw(240), "footprint_available": m2(60)},
        "haul_cost": usd(0),
        "objective": "hire_cost",
    }
    expected = [named(asked, counts) for counts in enumerated(asked)[:6]]
    for ask in (answer_of, by_sweeps, by_programs):
        results = ask(ID, asked)["results"]
        assert [entry["units"] for entry in (results["best"], *results["alternatives"])] == expected


WAYS = ["answer_of", "by_sweeps", "by_programs"]
"""In which a choice is found; each must say the same."""


def plain(fleet, load, **more):
    """Rules that nothing breaks but what a test adds."""
    asked = {
        "design": {"load": ton(load), "flow": gpm(2.4 * load)},
        "minimum_load": ton(0),
        "redundancy": {"rule": "none"},
        "fleet": fleet,
        "limits": {"power_available": kw(1e5), "footprint_available": m2(1e4)},
        "haul_cost": usd(0),
        "objective": "hire_cost",
    }
    return asked | more


def machine(name, count, size, hire, **more):
    return row(name, count, size, 30, 2, size / 4, size * 0.1, size * 9, 5, 0.5, hire) | more


def listed(results):
    return [entry["units"] for entry in (results["best"], *results["alternatives"])]


@pytest.mark.parametrize("way", [*WAYS, "by_ties"])
def test_names_settle_thousands_of_ties(way, request):
    """Any seven of fourteen machines do, at one hire: of 3432 ways the first is by the order of the names."""
    names = [f"t{i:02}" for i in range(14)]
    fleet = [machine(name, 1, 100 + i, 1000) for i, name in enumerate(names)]
    no_list = (0, 1) if way == "by_ties" else ()
    results = request.getfixturevalue(way)(ID, plain(fleet, 700), *no_list)["results"]
    first = [dict.fromkeys(some, 1) for some in itertools.islice(itertools.combinations(names, 7), 6)]
    assert results["best"]["units"] == first[0]
    assert listed(results) == first or no_list


@pytest.mark.parametrize("way", [*WAYS, "by_stages", "by_ties"])
def test_names_settle_ties_between_types_that_are_alike(way, request):
    """`a` and `c` are one machine by all but their names, `b` needs less ground: `a` with `b` comes before `a` with `c`."""
    fleet = [machine("a", 1, 100, 1000), machine("b", 2, 100, 1000, footprint=m2(4)), machine("c", 1, 100, 1000)]
    for alternatives in (0, 5):
        asked = plain(fleet, 200, alternatives=alternatives)
        assert request.getfixturevalue(way)(ID, asked)["results"]["best"]["units"] == {"a": 1, "b": 1}


@pytest.mark.parametrize("way", [*WAYS, "by_stages"])
def test_a_dear_type_hides_no_cheap_one(way, request):
    """Three at 0.4 cost less than one at 1.4, also beside a type at a hundred thousand million."""
    fleet = [machine("one", 1, 90, 1.4), machine("three", 3, 30, 0.4), machine("dear", 3, 300, 1e11)]
    for alternatives in (0, 5):
        results = request.getfixturevalue(way)(ID, plain(fleet, 90, alternatives=alternatives))["results"]
        assert results["best"]["units"] == {"three": 3}
        assert results["best"]["cost"] == usd(1.2)


@pytest.mark.parametrize("way", [*WAYS, "by_stages"])
@pytest.mark.parametrize(("part", "is_less"), [(5e-10, False), (2e-9, True)])
@pytest.mark.parametrize("hire", [1000, 0.25])
def test_what_costs_less_by_a_billionth_costs_the_same(way, part, is_less, hire, request):
    """Nearer than one part in 1e9 counts as equal: so a limit costs nothing, and nothing cheaper was rejected."""
    fleet = [machine("kept", 1, 100, hire), machine("over", 1, 100, hire * (1 - part), power=kw(60))]
    asked = plain(fleet, 100, limits={"power_available": kw(50)})
    results = request.getfixturevalue(way)(ID, asked)["results"]
    assert results["best"]["units"] == {"kept": 1}
    if way != "by_stages":  # which lists nothing
        assert [entry["units"] for entry in results["rejected"]] == ([{"over": 1}] if is_less else [])
    assert [entry["constraint"] for entry in results["binding"]] == (["power_available"] if is_less else [])


AT_LIMIT = {
    "capacity": lambda at: {"design": {"load": kw(3 * 70.1 * at)}},
    "redundancy": lambda at: {"design": {"load": kw(2 * 70.1 * at)}, "redundancy": {"rule": "one_unit"}},
    "circuit": lambda at: {"design": {"load": kw(2.5 * 70.1 * at)}, "redundancy": {"rule": "one_circuit"}},
    "turndown": lambda at: {"minimum_load": kw(17.525 / at)},
    "flow_minimum": lambda at: {"design": {"load": kw(70), "flow": {"value": 1.1 / at, "unit": "L/s"}}},
    "flow_maximum": lambda at: {"design": {"load": kw(70), "flow": {"value": 3 * 17.1 * at, "unit": "L/s"}}},
    "power_available": lambda at: {"limits": {"power_available": kw(3 * 22.1 / at)}},
    "footprint_available": lambda at: {"limits": {"footprint_available": m2(3 * 7.1 / at)}},
    "mass_max": lambda at: {"limits": {"mass_max": {"value": 3 * 910.7 / at, "unit": "kg"}}},
}


@pytest.mark.parametrize("way", [*WAYS, "by_stages"])
@pytest.mark.parametrize("rule", AT_LIMIT)
@pytest.mark.parametrize(("part", "is_kept"), [(5e-10, True), (2e-9, False)])
def test_a_rule_is_met_within_a_billionth_of_its_limit(way, rule, part, is_kept, request):
    """All three machines, or one of them: half a part in 1e9 beyond the limit keeps it, two parts break it."""
    one_by_one = rule in ("turndown", "flow_minimum")
    fleet = [
        {
            "type": "m",
            "count_available": 3,
            "capacity": kw(70.1),
            "circuits": 2,
            "minimum_capacity": kw(17.525),
            "flow_minimum": {"value": 1.1, "unit": "L/s"},
            "flow_maximum": {"value": 17.1, "unit": "L/s"},
            "power": kw(22.1),
            "footprint": m2(7.1),
            "haul_fraction": 0.2,
            "mass": {"value": 910.7, "unit": "kg"},
            "hire_cost": usd(700),
        }
    ]
    asked = {"design": {"load": kw(70 if one_by_one else 210)}, "fleet": fleet} | AT_LIMIT[rule](1 + part)
    results = request.getfixturevalue(way)(ID, asked)["results"]
    assert results["status"] == ("optimal" if is_kept else "infeasible")
    if is_kept and rule != "flow_maximum":
        assert results["best"]["units"] == {"m": 1 if one_by_one else 3}


@pytest.mark.parametrize("way", [*WAYS, "by_stages"])
def test_ten_hauls_against_enumeration(way, request):
    """Whole hauls, shares that make one only together, and a share that is next to nothing: it is a haul by itself."""
    fleet = [machine("a", 14, 40, 900, haul_fraction=1.0), machine("b", 3, 20, 500, haul_fraction=0.2)]
    asked = plain(fleet, 420, objective="hauls")
    results = request.getfixturevalue(way)(ID, asked)["results"]
    good = enumerated(asked)
    assert results["best"]["units"] == named(asked, good[0])
    assert results["best"]["hauls"] == objective(asked, good[0]) == 10
    tiny = plain([machine("a", 1, 40, 900, haul_fraction=1e-10)], 40, objective="hauls")
    assert request.getfixturevalue(way)(ID, tiny)["results"]["best"]["hauls"] == 1


def test_ties_with_hauls_are_listed_against_enumeration(by_ties):
    """Four machines of three types in two hauls, at one hire: the list is whole, and so is that of three hauls."""
    fleet = [machine(name, 3, 40, 1000, power=kw(30 + i)) for i, name in enumerate("abc")]
    for load in (160, 200):
        asked = plain(fleet, load, haul_cost=usd(350))
        answer = by_ties(ID, asked)
        assert "list_cut_short" not in {finding["code"] for finding in answer["findings"]}
        assert listed(answer["results"]) == [named(asked, counts) for counts in enumerated(asked)[:6]]


FREE = [machine("a", 6, 40, 0, haul_fraction=0.4), machine("b", 3, 70, 0, haul_fraction=0.7, power=kw(90))]


@pytest.mark.parametrize("way", [*WAYS, "by_ties"])
@pytest.mark.parametrize("haul_cost", [350, 0])
def test_free_hire_against_enumeration(way, haul_cost, request):
    """Hauls alone cost something, or nothing does: units and power settle it."""
    asked = plain(FREE, 180, haul_cost=usd(haul_cost))
    asked["limits"]["power_available"] = kw(190)
    good = enumerated(asked)
    results = request.getfixturevalue(way)(ID, asked)["results"]
    assert listed(results) == [named(asked, counts) for counts in good[:6]]
    check_binding(asked, results, good)
    check_rejected(asked, results, good)


@pytest.mark.parametrize("nodes", [1, 2, 5])
def test_a_search_by_hauls_that_is_ended_says_no_less_than_the_hauls_that_fractions_need(answer_of, monkeypatch, nodes):
    """By hand: 180 tons at 0.4 hauls for 40 are 1.8 hauls, and so two at 350; what needs little power makes three."""
    lean = machine("c", 3, 60, 0, haul_fraction=1.0, power=kw(20))
    asked = plain([*FREE, lean], 180, haul_cost=usd(350), limits={"power_available": kw(130)})
    for name in ("MOST_WRITTEN_OUT", "MOST_KINDS"):
        monkeypatch.setattr(searching, name, 0)
    monkeypatch.setattr(searching, "LIST", nodes)
    answer = answer_of(ID, asked)
    bounds = [w["value"] for w in answer["working"] if "`rejected` lacks" in w["meaning"]]
    assert answer["results"]["best"]["cost"] == usd(1050)
    assert bounds == [700] if nodes == 1 else set(bounds) <= {700, 1050}


@pytest.mark.nightly
@settings(max_examples=2000)
@given(asked=orders())
def test_two_thousand_fleets_by_linear_programs_against_enumeration(by_programs, asked):
    hold_against_enumeration(by_programs, asked)


@pytest.mark.nightly
@settings(max_examples=2000)
@given(asked=orders())
def test_two_thousand_fleets_one_type_after_the_other_against_enumeration(by_sweeps, asked):
    hold_against_enumeration(by_sweeps, asked)


@pytest.mark.nightly
@settings(max_examples=2000)
@given(asked=orders(), parts=st.lists(st.sampled_from([1, 2, 3, 5, 9, 20]), min_size=1, max_size=3))
def test_two_thousand_sweeps_that_leave_most_parts_out_against_enumeration(by_sweeps, asked, parts):
    hold_ties_against_enumeration(lambda calculator, body: by_sweeps(calculator, body, tuple(parts)), asked)
