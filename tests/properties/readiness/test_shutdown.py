"""Behaviour of `readiness.shutdown`: which steps, in which order; frost; refusals."""

import math
from typing import Any

import networkx as nx
import pytest
from hypothesis import given as forall
from hypothesis import strategies as st
from quantity import q

from coldwright.contract import Refused
from coldwright_readiness.shutdown import shutdown

WATER_SIDE = ["relieve_pressure", "drain_low_points", "blow_down"]
TOP = ["notify_site", "stop_load", "stop_compressors", "run_pump_on", "stop_pump", "close_site_valves"]
ISOLATED = [*TOP, "control_switch_off", "open_source", "lock_source", "prove_dead"]


def stop(reason: str = "off_hire", configuration: dict[str, Any] | None = None, **more: Any) -> dict[str, Any]:
    base = {"supply_source": "site", "pump_mode": "own_pump", "fluid_kind": "water", **(configuration or {})}
    return {"configuration": base, "reason": reason, **more}


SLUG: dict[str, Any] = {"lay_up": "antifreeze", "antifreeze": "propylene_glycol"}


@pytest.mark.parametrize(
    ("given", "ids"),
    [
        (stop("overnight"), TOP),
        (stop("winter_standby"), TOP),
        (stop("winter_standby", lay_up="kept_running"), TOP[:3]),
        (stop("emergency"), ISOLATED),
        (stop("winter_standby", lay_up="drained"), [*ISOLATED, *WATER_SIDE]),
        (stop("overnight", **SLUG), [*ISOLATED, *WATER_SIDE, "circulate_slug", "read_slug"]),
    ],
)
def test_which_steps(answer_of, given, ids):
    results = answer_of("readiness.shutdown", given)["results"]
    assert [s["id"] for s in results["steps"]] == ids
    assert results["critical_path"][-1] == ids[-1]


def test_off_hire(answer_of):
    results = answer_of("readiness.shutdown", stop())["results"]
    steps = {s["id"]: s for s in results["steps"]}
    assert len(steps) == 24
    assert results["lay_up"] == "drained"
    assert steps["disconnect_hoses"]["depends_on"] == ["relieve_pressure", "blow_down"]
    assert steps["lift"]["duration"] == q(45, "min")
    assert results["total_time"] == q(26 + 5 + 5 + 30 + 20 + 20 + 5 + 10 + 5 + 45 + 20 + 5, "min")
    slug = {s["id"]: s for s in answer_of("readiness.shutdown", stop(**SLUG))["results"]["steps"]}
    assert len(slug) == 26
    assert slug["disconnect_hoses"]["depends_on"] == ["relieve_pressure", "read_slug"]


@pytest.mark.parametrize("reason", ["off_hire", "overnight", "winter_standby", "emergency"])
@pytest.mark.parametrize("lay_up", ["drained", "antifreeze", "kept_running", "stays_filled"])
@pytest.mark.parametrize("lifted_by", ["crane", "fork_truck", "stays_on_trailer"])
def test_every_graph(answer_of, reason, lay_up, lifted_by):
    given = stop(reason, {"lifted_by": lifted_by}, lay_up=lay_up, antifreeze="ethylene_glycol")
    if reason == "off_hire" and lay_up == "kept_running":
        with pytest.raises(Refused) as refused:
            answer_of("readiness.shutdown", given)
        assert refused.value.errors[0].pointer == "#/lay_up"
        return
    results = answer_of("readiness.shutdown", given)["results"]
    graph = nx.DiGraph()
    for s in results["steps"]:
        graph.add_node(s["id"])
        graph.add_edges_from((d, s["id"], {"weight": s["duration"]["value"]}) for d in s["depends_on"])
    assert nx.is_directed_acyclic_graph(graph)
    assert len(graph) == len(results["steps"])
    last = results["steps"][-1]["id"]
    before = nx.ancestors(graph, last) | {last}
    longest = nx.dag_longest_path_length(graph.subgraph(before)) + 5  # notify_site itself takes 5 min
    assert results["total_time"]["value"] == pytest.approx(longest)
    for first, then in (
        ("stop_compressors", "stop_pump"),
        ("prove_dead", "disconnect_lines"),
        ("disconnect_lines", "disconnect_ground"),
        ("relieve_pressure", "disconnect_hoses"),
    ):
        if then in graph:
            assert nx.has_path(graph, first, then)


FOUND = {
    ("people_first", "stop"): stop("emergency"),
    ("keep_power_on", "check"): stop("winter_standby"),
    ("first_ice", "check"): stop(
        "overnight",
        ambient_minimum=q(-5, "degC"),
        hose_inside_diameter=q(4, "in"),
        water_temperature=q(45, "degF"),
    ),
    ("first_ice", "note"): stop(
        ambient_minimum=q(-5, "degC"), hose_inside_diameter=q(4, "in"), water_temperature=q(0, "degC")
    ),
    ("antifreeze_not_needed", "note"): stop(**SLUG, ambient_minimum=q(5, "degC"), residual_volume=q(10, "L")),
    ("strength_not_known", "check"): stop(**SLUG),
    ("input_not_used", "note"): stop("overnight", residual_volume=q(10, "L")),
    ("residual_unprotected", "stop"): stop(residual_volume=q(15, "L"), ambient_minimum=q(-20, "degC")),
    ("frost_while_filled", "check"): stop("overnight", ambient_minimum=q(-6, "degC")),
}


def test_every_declared_finding_is_tried():
    assert set(FOUND) == {(k.code, s) for k in shutdown.findings.values() for s in k.severities}


@pytest.mark.parametrize("finding", FOUND, ids=lambda f: "-".join(f))
def test_finding(to_the_word, finding):
    answer = to_the_word("readiness.shutdown", FOUND[finding])
    assert finding in {(f["code"], f["severity"]) for f in answer["findings"]}


def test_frost_is_told_with_or_without_a_hose_and_never_against_the_steps(answer_of):
    bare = answer_of("readiness.shutdown", stop("overnight", ambient_minimum=q(-6, "degC")))
    assert bare["outcome"] == "conditional"
    whole = answer_of("readiness.shutdown", FOUND["first_ice", "check"])
    assert whole["results"]["steps"][-1]["id"] == "close_site_valves"
    (ice,) = [f for f in whole["findings"] if f["code"] == "first_ice"]
    assert "the pump stands still" in ice["resolve"]
    dry = answer_of("readiness.shutdown", stop(residual_volume=q(0, "L"), ambient_minimum=q(-20, "degC")))
    warm = answer_of("readiness.shutdown", stop("overnight", residual_volume=q(9, "L"), ambient_minimum=q(0, "degC")))
    for answer in (dry, warm):
        assert not {"residual_unprotected", "frost_while_filled"} & {f["code"] for f in answer["findings"]}


def test_people_come_first(answer_of):
    answer = answer_of("readiness.shutdown", stop("emergency"))
    assert answer["cautions"][0]["code"] == "people_first"
    assert answer["outcome"] == "unacceptable"


def test_warm_air_needs_no_antifreeze(answer_of):
    results = answer_of("readiness.shutdown", FOUND["antifreeze_not_needed", "note"])["results"]
    assert results["required_mass_fraction"] == 0
    assert results["antifreeze_mass"]["value"] == 0
    assert results["recovered_volume"]["value"] == pytest.approx(10, rel=0.002)


def test_glycol_has_no_clock_of_frost(answer_of):
    given = FOUND["first_ice", "check"]
    glycol = {**given, "configuration": {**given["configuration"], "fluid_kind": "ethylene_glycol"}}
    assert "time_to_first_ice" not in answer_of("readiness.shutdown", glycol)["results"]


@forall(st.floats(-30, -0.1), st.floats(0.1, 30), st.floats(0.01, 0.5))
def test_frost_clock_grows_with_bore_and_warmth(answer_of, air, warm, bore):
    def clock(t0: float, diameter: float) -> float:
        given = stop(
            "overnight",
            ambient_minimum=q(air, "degC"),
            water_temperature=q(t0, "degC"),
            hose_inside_diameter=q(diameter, "m"),
        )
        return answer_of("readiness.shutdown", given)["results"]["time_to_first_ice"]["value"]

    assert clock(warm, 2 * bore) == pytest.approx(2 * clock(warm, bore), rel=1e-9)
    assert clock(warm + 1, bore) > clock(warm, bore)


@pytest.mark.parametrize(
    ("given", "pointer"),
    [
        (stop(lay_up="kept_running"), "#/lay_up"),
        (stop(lay_up="antifreeze"), "#/antifreeze"),
        (stop(**SLUG, ambient_minimum=q(-59, "degC")), "#/ambient_minimum"),
        (stop(**SLUG, ambient_minimum=q(-20, "degC"), slug_mass_fraction=0.4), "#/slug_mass_fraction"),
        (stop(configuration={"circuits": 2}), "#/configuration/circuits"),
        (stop(water_temperature=q(-1, "degC")), "#/water_temperature"),
        (stop("lunch"), "#/reason"),
    ],
)
def test_refused(answer_of, given, pointer):
    with pytest.raises(Refused) as refused:
        answer_of("readiness.shutdown", given)
    assert pointer in [e.pointer for e in refused.value.errors]


def test_durations_of_the_callers_own_take_the_place_of_the_usual_ones(answer_of):
    usual = answer_of("readiness.shutdown", stop())["results"]
    own = answer_of("readiness.shutdown", stop(step_durations={"drain_low_points": q(90, "min")}))["results"]
    assert own["total_time"]["value"] - usual["total_time"]["value"] == 60  # on the longest path, 30 min before
    other = [s for s in own["steps"] if s["id"] != "drain_low_points"]
    assert [s["duration"] for s in other] == [s["duration"] for s in usual["steps"] if s["id"] != "drain_low_points"]


@pytest.mark.parametrize(
    ("durations", "pointer"),
    [({"coffee": q(5, "min")}, "#/step_durations/coffee"), ({"lift": q(-1, "min")}, "#/step_durations/lift")],
)
def test_durations_of_steps_that_are_not_there_are_refused(answer_of, durations, pointer):
    with pytest.raises(Refused) as refused:
        answer_of("readiness.shutdown", stop(step_durations=durations))
    assert [e.pointer for e in refused.value.errors] == [pointer]


def test_one_crew_goes_from_machine_to_machine(answer_of):
    one = {s["id"]: s["duration"]["value"] for s in answer_of("readiness.shutdown", stop())["results"]["steps"]}
    three = answer_of("readiness.shutdown", stop(machines=3))["results"]["steps"]
    longer = {s["id"] for s in three if s["duration"]["value"] > one[s["id"]]}
    assert longer == {
        "disconnect_lines", "disconnect_ground", "disconnect_hoses", "secure_panels", "lift", "tie_down",
    }  # fmt: skip
    assert all(s["duration"]["value"] == 3 * one[s["id"]] for s in three if s["id"] in longer)


@pytest.mark.parametrize(
    ("lay_up", "unused"),
    [
        ("antifreeze", set()),
        ("drained", {"/antifreeze", "/slug_mass_fraction"}),
        ("stays_filled", {"/antifreeze", "/slug_mass_fraction", "/residual_volume"}),
    ],
)
def test_what_a_lay_up_does_not_use_is_said(answer_of, lay_up, unused):
    given = stop(
        "overnight", lay_up=lay_up, antifreeze="propylene_glycol", slug_mass_fraction=0.6, residual_volume=q(9, "L")
    )
    found = answer_of("readiness.shutdown", given)["findings"]
    assert {f["field"] for f in found if f["code"] == "input_not_used"} == unused
    bare = answer_of("readiness.shutdown", stop("overnight", lay_up="drained"))["findings"]
    assert "input_not_used" not in {f["code"] for f in bare}
    (about,) = [
        f["statement"] for f in found if f.get("field") == "/residual_volume" and f["code"] == "input_not_used"
    ] or [""]
    assert about == "" or "drained, or with antifreeze" in about


SET: dict[str, Any] = {"supply_source": "generator"}


def test_a_set_that_came_along_goes_back(answer_of):
    plain = answer_of("readiness.shutdown", stop(configuration=SET))["results"]["steps"]
    brought = answer_of("readiness.shutdown", stop(configuration=SET, generator_brought=True))["results"]["steps"]
    more = [s["id"] for s in brought if s["id"] not in {p["id"] for p in plain}]
    assert more
    last = brought[-1]
    graph = nx.DiGraph([(d, s["id"]) for s in brought for d in s["depends_on"]])
    assert all(nx.has_path(graph, step, last["id"]) for step in more)


@pytest.mark.parametrize(
    ("air", "water", "ice", "frost"),
    [(-0.05, 5, True, True), (0, 5, False, False), (0.05, 5, False, False), (-10, 0, True, True)],
)
def test_frost_begins_below_the_freezing_point(answer_of, air, water, ice, frost):
    given = stop(
        "overnight",
        ambient_minimum=q(air, "degC"),
        hose_inside_diameter=q(0.1, "m"),
        water_temperature=q(water, "degC"),
    )
    answer = answer_of("readiness.shutdown", given)
    assert ("time_to_first_ice" in answer["results"]) == ice
    assert ("frost_while_filled" in {f["code"] for f in answer["findings"]}) == frost
    if ice:
        expected = 4.2e6 * 0.1 / 40 * math.log((water - air) / -air)
        assert answer["results"]["time_to_first_ice"]["value"] == pytest.approx(expected, rel=1e-6, abs=1e-6)
    with_glycol = given | {"configuration": given["configuration"] | {"fluid_kind": "ethylene_glycol"}}
    assert "frost_while_filled" not in {f["code"] for f in answer_of("readiness.shutdown", with_glycol)["findings"]}


@pytest.mark.parametrize("reason", ["off_hire", "winter_standby", "overnight", "emergency"])
@pytest.mark.parametrize("lay_up", ["drained", "stays_filled"])
def test_which_findings_belong_to_which_stop(answer_of, reason, lay_up):
    answer = answer_of("readiness.shutdown", stop(reason, lay_up=lay_up))
    codes = {f["code"] for f in answer["findings"]}
    assert ("people_first" in codes) == (reason == "emergency")
    assert ("keep_power_on" in codes) == (reason == "winter_standby" and lay_up == "stays_filled")
    given = {"lay_up": lay_up} if lay_up == "stays_filled" or reason != "off_hire" else {}
    assert answer_of("readiness.shutdown", stop(reason, **given))["results"]["lay_up"] == lay_up
