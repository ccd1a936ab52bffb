"""Published checks of `readiness.procedure`, and its passes against networkx."""

from itertools import product
from typing import Any

import networkx as nx
import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import given as forall
from hypothesis import strategies as st
from quantity import q

from coldwright.contract import Refused
from coldwright.contract.reading import convert
from coldwright_readiness.shared.given import PullDown
from coldwright_readiness.shared.pull_down import pull_down_seconds
from coldwright_readiness.shared.schedule import Timing, critical_path, parallel_groups, timings
from coldwright_readiness.shared.steps import Step

pytestmark = pytest.mark.check

BASE = {"supply_source": "site", "pump_mode": "own_pump", "fluid_kind": "water", "compressors": 2}


def minutes(value: float) -> dict[str, Any]:
    return {"value": value, "unit": "min"}


def given(configuration: dict[str, Any] | None = None, **more: Any) -> dict[str, Any]:
    plan = {
        "configuration": {**BASE, **(configuration or {})},
        "fill_duration": minutes(30),
        "pull_down_duration": minutes(30),
    }
    return {**plan, **more}


E1_T1_L1 = [
    {"id": "e1", "roles": ["electrician"]},
    {"id": "t1", "roles": ["technician"]},
    {"id": "l1", "roles": ["lift_team"]},
]
A1_L1 = [{"id": "a1", "roles": ["electrician", "technician"]}, {"id": "l1", "roles": ["lift_team"]}]


# Derived: critical path method on the table of steps, common practice minutes; figures worked by hand, run with networkx.
@pytest.mark.parametrize(
    ("plan", "first", "cold", "warm_up_slack", "steps"),
    [
        (given(), 189, 221, 10, 35),
        (given(fill_duration=minutes(120)), 279, 311, 100, 35),
        (given({"second_start": True}), 67, 99, 0, 13),
        (
            given(
                {"pump_mode": "site_pump", "lifted_by": "fork_truck", "compressors": 1},
                fill_duration=minutes(20),
                pull_down_duration=minutes(20),
            ),
            154,
            176,
            0,
            33,
        ),
        (
            given({"fluid_kind": "propylene_glycol"}, fill_duration=minutes(60), antifreeze_duration=minutes(30)),
            254,
            286,
            75,
            37,
        ),
    ],
)
def test_times(answer_of, plan, first, cold, warm_up_slack, steps):
    results = answer_of("readiness.procedure", plan)["results"]
    assert results["time_to_first_compressor"] == minutes(first)
    assert results["time_to_cold_water"] == minutes(cold)
    assert results["warm_up_slack"] == minutes(warm_up_slack)
    assert results["step_count"] == len(results["steps"]) == steps


def test_base_graph_and_path(answer_of):
    results = answer_of("readiness.procedure", given())["results"]
    assert sum(len(s["depends_on"]) for s in results["steps"]) == 42
    assert results["critical_path"] == [
        "arrival_inspection", "ground_check", "place_machine", "level_and_chock", "lay_hoses", "connect_hoses",
        "check_strainer", "set_valves", "fill_loop", "purge_pump_casing", "purge_high_point", "repressurise",
        "start_pump", "prove_flow", "blow_down_strainer", "second_purge", "prove_flow_again", "start_verdict",
        "start_first_compressor", "cold_water",
    ]  # fmt: skip
    length = {s["id"]: s["duration"]["value"] for s in results["steps"]}
    beside = {"ground_check", "set_valves"}  # each as long as its neighbour on the path
    assert sum(length[i] for i in results["critical_path"] if i not in beside) == 221


def test_paths_that_run_through_the_power(answer_of):
    second = answer_of("readiness.procedure", given({"second_start": True}))["results"]
    assert second["critical_path"] == [
        "check_phase_and_voltage", "control_switch_on", "oil_warm_up", "start_verdict", "start_first_compressor",
        "cold_water",
    ]  # fmt: skip
    plan = given({"pump_mode": "site_pump", "lifted_by": "fork_truck", "compressors": 1}, fill_duration=minutes(20))
    site = answer_of("readiness.procedure", plan)["results"]
    assert {"lay_cables", "connect_ground", "connect_lines", "energise", "oil_warm_up"} <= set(site["critical_path"])
    assert "fill_loop" not in site["critical_path"]


# Derived: list scheduling, worked by hand.
@pytest.mark.parametrize(("crew", "first", "cold", "end"), [(E1_T1_L1, 206, 238, 253), (A1_L1, 259, 291, 306)])
def test_crew(answer_of, crew, first, cold, end):
    plan = answer_of("readiness.procedure", given(crew=crew))["results"]["crew_schedule"]
    assert plan["time_to_first_compressor"] == minutes(first)
    assert plan["time_to_cold_water"] == minutes(cold)
    assert max(s["finish"]["value"] for s in plan["steps"]) == end


def configurations() -> list[dict[str, Any]]:
    return [
        {
            "supply_source": source,
            "pump_mode": pump,
            "fluid_kind": fluid,
            "compressors": compressors,
            "lifted_by": lift,
            "second_start": second,
            "pump_fitted": fitted,
        }
        for source, pump, fluid, compressors, lift, second, fitted in product(
            ["site", "generator"],
            ["own_pump", "site_pump"],
            ["water", "propylene_glycol"],
            [1, 3],
            ["crane", "fork_truck", "stays_on_trailer"],
            [False, True],
            [True, False],
        )
        if fitted or pump == "site_pump"
    ]


def plan_of(configuration: dict[str, Any], **more: Any) -> dict[str, Any]:
    return given(configuration, antifreeze_duration=minutes(25), **more)


def graph_of(results: dict[str, Any]) -> nx.DiGraph:
    graph = nx.DiGraph()
    for step in results["steps"]:
        graph.add_node(step["id"], length=step["duration"]["value"])
        graph.add_edges_from((before, step["id"]) for before in step["depends_on"])
    return graph


def longest_to(graph: nx.DiGraph, node: str) -> float:
    """Longest path that ends with `node`, durations of the nodes as lengths of the edges out of them."""
    weighted = nx.DiGraph()
    weighted.add_node(node)
    for n in graph.subgraph(nx.ancestors(graph, node) | {node}):
        weighted.add_edge(("in", n), ("out", n), weight=graph.nodes[n]["length"])
    weighted.add_edges_from((("out", a), ("in", b), {"weight": 0}) for a, b in graph.edges if ("in", b) in weighted)
    return nx.dag_longest_path_length(weighted)


@pytest.mark.parametrize("configuration", configurations())
def test_every_configuration_against_networkx(answer_of, configuration):
    results = answer_of("readiness.procedure", plan_of(configuration))["results"]
    graph = graph_of(results)
    assert nx.is_directed_acyclic_graph(graph)
    assert set(graph) == {s["id"] for s in results["steps"]}, "every step that is depended on is there"
    for step in results["steps"]:
        assert step["earliest_finish"]["value"] == pytest.approx(longest_to(graph, step["id"]), abs=1e-9)
    total = results["time_to_cold_water"]["value"]
    needed = nx.ancestors(graph, "cold_water") | {"cold_water"}
    for step in results["steps"]:
        if step["id"] not in needed:
            assert "slack" not in step
            assert not step["critical"]
            continue
        after = graph.subgraph((nx.descendants(graph, step["id"]) | {step["id"]}) & needed)
        through = step["earliest_start"]["value"] + longest_to(after, "cold_water")
        assert step["slack"]["value"] == pytest.approx(total - through, abs=1e-9)
        assert step["critical"] == (abs(total - through) < 1e-9)


def minute_by_minute(results: dict[str, Any], crew: list[dict[str, Any]]) -> dict[str, tuple[int, str]]:
    """The same schedule by another way: a clock of one minute and ranks from networkx."""
    graph = graph_of(results)
    reverse = graph.reverse()
    rank = {n: longest_to(reverse, n) for n in graph}
    role = {s["id"]: s["role"] for s in results["steps"]}
    begun: dict[str, tuple[int, str]] = {}
    for clock in range(2000):
        over = {i for i, (start, _) in begun.items() if start + graph.nodes[i]["length"] <= clock}
        busy = {person for i, (_, person) in begun.items() if i not in over}
        for step in sorted(set(graph) - set(begun), key=lambda i: (-rank[i], i)):
            if not set(graph.predecessors(step)) <= over:
                continue
            if role[step] == "none":
                begun[step] = (clock, "")
                continue
            able = [p for p in crew if role[step] in p["roles"] and p["id"] not in busy]
            if able:
                person = min(able, key=lambda p: (len(p["roles"]), p["id"]))["id"]
                busy.add(person)
                begun[step] = (clock, person)
    return begun


@pytest.mark.parametrize("crew", [E1_T1_L1, A1_L1, [*E1_T1_L1, *A1_L1]])
@pytest.mark.parametrize("configuration", configurations()[::7])
def test_crew_against_a_clock(answer_of, configuration, crew):
    people = list({p["id"]: p for p in crew}.values())
    results = answer_of("readiness.procedure", plan_of(configuration, crew=people))["results"]
    mine = {s["id"]: (s["start"]["value"], s.get("person", "")) for s in results["crew_schedule"]["steps"]}
    assert mine == minute_by_minute(results, people)


# Common practice, no source: a start-up takes only this order, see `readiness.startup`.
@pytest.mark.parametrize(
    ("configuration", "purge", "again"),
    [
        ({}, "Stop the pump, then vent the casing and high point again", "start the pump"),
        ({"pump_mode": "site_pump"}, "Stop the pump, then vent the high point again", "start the pump"),
        ({"pump_mode": "site_pump", "site_pump_stops": False}, "Vent the high point twice, 10 min apart", ""),
    ],
)
def test_the_pump_stands_while_air_is_let_out(answer_of, configuration, purge, again):
    steps = {s["id"]: s for s in answer_of("readiness.procedure", given(configuration))["results"]["steps"]}
    assert steps["second_purge"]["title"] == purge
    assert steps["prove_flow_again"]["title"].startswith("Bring the pressure back")
    assert ("start the pump" in steps["prove_flow_again"]["title"]) == bool(again)
    assert "full standing pressure" in steps["leak_check"]["title"]
    assert "with the pump on" in steps["leak_check"]["acceptance"]


# activity: (duration, what it follows, early start, early finish, late start, late finish)
PROTOTYPE = {
    "A": (6, "", 0, 6, 0, 6),
    "B": (2, "A", 6, 8, 6, 8),
    "C": (2, "A", 6, 8, 7, 9),
    "D": (3, "B", 8, 11, 8, 11),
    "E": (4, "DF", 11, 15, 11, 15),
    "F": (2, "C", 8, 10, 9, 11),
    "G": (1, "E", 15, 16, 15, 16),
}
NINE = {
    "A": (3, "", 0, 3, 0, 3),
    "B": (5, "A", 3, 8, 3, 8),
    "C": (8, "A", 3, 11, 7, 15),
    "D": (10, "B", 8, 18, 8, 18),
    "E": (5, "B", 8, 13, 17, 22),
    "F": (7, "C", 11, 18, 15, 22),
    "G": (12, "D", 18, 30, 18, 30),
    "H": (8, "EF", 18, 26, 22, 30),
    "I": (3, "GH", 30, 33, 30, 33),
}


@pytest.mark.parametrize(("network", "goal", "critical"), [(PROTOTYPE, "G", "ABDEG"), (NINE, "I", "ABDGI")])
def test_networks_of_two_courses(
    network: dict[str, tuple[int, str, int, int, int, int]], goal: str, critical: str
) -> None:
    """Seen: a course sheet on the critical path, "Example 1" (seven activities, 16 h, slack of 1 h for C and F); a course
    assignment, "Example 3. CPM" (nine activities, 33 days, A-B-D-G-I). Ours: every start, finish and slack as printed.
    """
    steps = [
        Step(name, name, "none", duration, tuple(before), "", "", "", "", ())
        for name, (duration, before, *_) in network.items()
    ]
    found = timings(steps, goal)
    for name, (_, _, early_start, early_finish, late_start, late_finish) in network.items():
        assert (found[name].start, found[name].finish) == (early_start, early_finish)
        assert found[name].slack == late_start - early_start == late_finish - early_finish
    assert "".join(critical_path(found)) == critical


@forall(st.lists(st.floats(20, 300), min_size=2, max_size=4), st.floats(1, 5000), st.floats(10, 45), st.floats(0, 150))
def test_a_loop_is_cooled_compressor_after_compressor(
    capacities: list[float], ua: float, driving: float, load: float
) -> None:
    """First law, in steps of 5 s: stored heat falls by what runs less what comes in; water by CoolProp."""
    state = ("T", 273.15 + 17.5, "P", 4e5, "Water")
    stored = 4 * PropsSI("D", *state) * PropsSI("C", *state)
    loop = {
        "leaving_temperature": q(25, "degC"),
        "set_point": q(10, "degC"),
        "loop_volume": q(4, "m3"),
        "compressors": [{"id": f"c{i}", "capacity": q(kw, "kW")} for i, kw in enumerate(capacities)],
    }
    by_model: dict[str, Any] = {"load_model": {"ua": ua, "driving_temperature": q(driving, "degC")}}
    for asked, by_difference, steady in ((by_model, ua, 0.0), ({"load": q(load, "kW")}, 0.0, load * 1e3)):
        temperature, time = 25.0, 0
        while temperature > 10 and time < 20_000 and temperature < 60:
            runs = sum(capacities[: 1 + time // 300]) * 1e3
            temperature += 5 * (steady + by_difference * (driving - temperature) - runs) / stored
            time += 5
        if temperature <= 10:
            found = pull_down_seconds(convert(PullDown, loop | asked), "water", "", 300.0)
            assert found == pytest.approx(time, rel=0.02, abs=10)


@pytest.mark.parametrize(("hours", "told"), [(7.36, "7.3 h"), (0.99, "0.9 h"), (10.4, "10 h"), (33.99, "33 h")])
def test_a_set_is_refuelled_before_it_runs_dry(answer_of, hours, told):
    """Common practice: never rounded up; tenths up to ten hours, whole hours above."""
    plan = given({"supply_source": "generator"}, refuel_interval=q(hours, "h"))
    (step,) = [s for s in answer_of("readiness.procedure", plan)["results"]["steps"] if s["id"] == "agree_refuelling"]
    assert f"every {told} at the latest" in step["acceptance"]


@pytest.mark.parametrize(
    ("told", "words"),
    [
        (q(60, "min"), "for 1 h;"),
        (q(120, "min"), "for 2 h;"),
        (q(90, "min"), "for 90 min;"),
        (q(3, "h"), "for 3 h;"),
        (q(1.5, "h"), "for 1.5 h;"),
    ],
)
def test_oil_heat_is_said_in_whole_hours_where_it_is_such(answer_of, told, words):
    steps = answer_of("readiness.procedure", given({"warm_up_duration": told}))["results"]["steps"]
    assert any(words in step["acceptance"] for step in steps)


def test_a_loop_is_cooled_as_its_liquid_is_under_its_pressure():
    """IAPWS-IF97, by CoolProp: under the 4 bar of a filled loop (common practice) water holds 1e-4 less heat than under one."""
    density, heat = (PropsSI(name, "T", 288.15, "P", 4e5, "IF97::Water") for name in "DC")
    plan = {"loop_volume": q(3, "m3"), "leaving_temperature": q(23, "degC"), "set_point": q(7, "degC")}
    one = {"compressors": [{"id": "1", "capacity": q(150, "kW")}]}
    found = pull_down_seconds(convert(PullDown, plan | one), "water", "", 300.0)
    assert found == pytest.approx(3 * density * heat * 16 / 150e3, rel=5e-7)


@pytest.mark.parametrize("share", [0.2, 0.35])
def test_a_set_point_that_would_freeze_is_refused_with_the_point_at_which_it_does(answer_of, share):
    """CoolProp's own freezing line of propylene glycol."""
    freezes = PropsSI("T_FREEZE", "T", 280, "P", 1e5, f"INCOMP::MPG[{share}]") - 273.15
    pull_down = {
        "loop_volume": q(2, "m3"), "leaving_temperature": q(20, "degC"), "set_point": q(freezes - 1, "degC"),
        "mass_fraction": share, "compressors": [{"id": str(n), "capacity": q(100, "kW")} for n in (1, 2)],
    }  # fmt: skip
    plan = given({"fluid_kind": "propylene_glycol"}, pull_down=pull_down, antifreeze_duration=minutes(10))
    del plan["pull_down_duration"]
    with pytest.raises(Refused) as refused:
        answer_of("readiness.procedure", plan)
    (said,) = [e.detail for e in refused.value.errors if e.pointer.endswith("set_point")]
    assert float(said.split("liquid, ")[1].split(" ")[0]) == pytest.approx(freezes, abs=0.0051)


@forall(st.lists(st.tuples(st.integers(0, 12), st.integers(1, 6)), min_size=0, max_size=7))
def test_what_runs_at_the_same_time_by_looking_at_every_minute(spans):
    """Every set of steps that some minute sees at work together, none that lies within another, in order of time."""
    timing = {f"s{n}": Timing(start, start + lasts, None) for n, (start, lasts) in enumerate(spans)}
    seen_at = [frozenset(i for i, t in timing.items() if t.start <= minute < t.finish) for minute in range(20)]
    widest = [group for group in seen_at if len(group) > 1 and not any(group < other for other in seen_at)]
    assert parallel_groups(timing) == [sorted(group) for group in dict.fromkeys(widest)]
