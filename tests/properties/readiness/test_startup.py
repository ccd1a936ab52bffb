"""Behaviour of `readiness.startup`: order and duplicates, corrections, losses, findings, refusals, what to do next."""

import random
from typing import Any

import msgspec
import pytest
from hypothesis import given as forall
from hypothesis import strategies as st
from startup_histories import (
    GOOD_VOLTS,
    HOSE_GOOD,
    PLATE,
    ask,
    at,
    base,
    connected_by_the_book,
    generated,
    q,
    seen,
    volts,
)

from coldwright.contract import Refused
from coldwright.contract.evaluation import evaluate
from coldwright.contract.reading import read
from coldwright_readiness.startup import startup
from coldwright_readiness.startup.limits import RULES
from coldwright_readiness.startup.observations import KINDS, AnyObservation, check_observation

History = list[dict[str, Any]]


def verdict_bytes(request: dict[str, Any]) -> bytes:
    """Everything of the answer but the echo of the question."""
    answer = evaluate(startup, read(startup.given, msgspec.json.encode(request)))
    parts = (answer.outcome, answer.results, answer.findings, answer.assumptions, answer.cautions, answer.working)
    return msgspec.json.encode(parts)


@forall(st.integers(0, 10**9), st.randoms(use_true_random=False), st.integers(1, 6))
def test_order_duplicates_and_batches_change_nothing(seed, rng, batches):
    request = generated(seed)
    history = request["observations"]
    split: list[History] = [[] for _ in range(batches)]
    for observation in [*history, *rng.choices(history, k=min(8, len(history)))]:
        split[rng.randrange(batches)].append(observation)
    for batch in split:
        rng.shuffle(batch)
    again = {**request, "observations": [o for batch in split for o in batch]}
    assert verdict_bytes(again) == verdict_bytes(request)


@forall(st.integers(0, 10**9))
def test_what_every_answer_keeps(seed):
    answer = evaluate(startup, read(startup.given, msgspec.json.encode(generated(seed))))
    results = answer.results
    stops = [f for f in answer.findings if f.severity == "stop"]
    assert (results.status == "blocked") == bool(results.blocks)
    assert bool(stops) == bool(results.blocks)
    assert all("May be cleared by: " in f.resolve for f in stops)
    assert {c.code for c in answer.cautions} >= {"false_ready", "no_live_connectors", "own_lock", "local_prevails"}
    assert list(results.blocks) == sorted(results.blocks, key=lambda b: (b.rule, b.because))
    open_steps = {b.clear_by for b in results.blocks}
    if results.status == "ready":
        assert results.next_action.step_id == "start_first_compressor"
        assert "no order to start" in results.next_action.do
    elif results.status == "wait":
        assert results.next_action.step_id == "oil_warm_up"
    else:
        assert results.next_action.step_id in open_steps
    assert results.next_action.step_id not in {m.step_id for m in results.next_action.meanwhile}


def test_five_thousand_observations_are_judged():
    rng = random.Random(5)
    history = []
    for seed in range(400):
        history += generated(seed)["observations"]
    many = [{**o, "id": f"n{i}"} for i, o in enumerate(rng.sample(history, k=5000))]
    results = evaluate(startup, read(startup.given, msgspec.json.encode(ask(many)))).results
    later = {id_ for suspect in results.impossible if suspect.rule == "I1" for id_ in suspect.ids}
    judged = {entry.id.partition("#")[0] for entry in results.timeline}
    assert {o["id"] for o in many} - judged <= later, "only what is stamped after the question is left out"


def test_the_last_of_a_long_chain_of_corrections_counts():
    chain = [
        seen("set_point", "08:59", f"c{i}", value=q(44, "degF"), extra={"supersedes": f"c{i + 1}"}) for i in range(4999)
    ]
    results = evaluate(startup, read(startup.given, msgspec.json.encode(ask(chain)))).results
    assert [entry.id for entry in results.timeline] == ["c0"]


# --- order and corrections ---------------------------------------------------------------------------------------


@pytest.fixture
def results(answer_of):
    def of(history: History, clock: str = "09:06", configuration: dict[str, Any] | None = None) -> dict[str, Any]:
        return answer_of("readiness.startup", ask(history, clock, configuration))["results"]

    return of


def test_two_stories_under_one_id(results):
    around = [seen("area_clear", "09:00", "a", clear=False), seen("area_clear", "09:02", "a", clear=True)]
    told = results([*base(), *around])
    assert told["facts"]["people_clear"]["status"] == "contradicted", (
        "what was seen at 09:01 lies before the second story"
    )
    later = [seen("area_clear", "09:03", "a", clear=False), seen("area_clear", "09:04", "a", clear=True)]
    told = results([*base(), *later])
    assert told["facts"]["people_clear"]["status"] == "failed"
    assert told["contradictory"][0]["ids"] == ["a"]


def test_two_favourable_stories_contradict_what_was_known(results):
    pair = [seen("set_point", "09:02", "p", value=q(44, "degF")), seen("set_point", "09:02", "p", value=q(46, "degF"))]
    told = results([*base(), *pair])
    assert told["facts"]["set_point_safe"]["status"] == "contradicted"
    told = results([*base(), *pair, seen("set_point", "09:03", value=q(45, "degF"))])
    assert told["status"] == "ready"
    only = [o for o in base() if o["kind"] != "set_point"]
    assert results([*only, *pair])["facts"]["set_point_safe"]["status"] == "missing"


def test_a_lock_from_a_fast_clock_counts_now(results):
    told = results([*base(), seen("lock", "11:00", lock_id="L9", state="applied")])
    assert told["facts"]["locks_clear"] == {"status": "failed", "by": ["lock.L9.11:00"], "at": at("09:06")}
    assert [s["rule"] for s in told["impossible"]] == ["I1"]
    assert results([*base(), seen("lock", "11:00", lock_id="L9", state="removed")])["status"] == "ready"
    told = results([*base(), seen("area_clear", "11:00", clear=False)])
    assert told["facts"]["people_clear"]["status"] == "failed"
    told = results([*base(), seen("supply", "11:00", state="off")])
    assert told["status"] == "ready", "anything else from the future is not known yet"


def test_two_minutes_ahead_count(results):
    assert results([*base(), seen("area_clear", "09:08", clear=False)])["status"] == "blocked"
    assert results([*base(), seen("unit_level", "09:08", ok=False)])["status"] == "blocked"
    assert results([*base(), seen("unit_level", "09:08:01", ok=False)])["status"] == "ready"


def test_corrections(results):
    wrong = seen("strainer", "09:02", "s", blown_down=False)
    right = seen("strainer", "09:02", "t", blown_down=True, extra={"supersedes": "s"})
    assert results([*base(), wrong])["status"] == "blocked"
    assert results([*base(), wrong, right])["status"] == "ready"
    other_kind = seen("leak_check", "09:03", "u", result="dry", extra={"supersedes": "s"})
    told = results([*base(), wrong, other_kind])
    assert told["status"] == "blocked"
    assert [(s["rule"], s["ids"]) for s in told["impossible"]] == [("I17", ["s", "u"])]
    newer = seen("strainer", "09:03", "v", blown_down=False, extra={"supersedes": "t"})
    told = results([*base(), wrong, right, newer])
    assert [e["id"] for e in told["timeline"] if e["kind"] == "strainer"] == ["strainer..08:58", "v"]


def test_only_its_owner_corrects_a_lock(results):
    lock = seen("lock", "09:00", "k", lock_id="L2", state="applied", extra={"by": "ann"})
    off = seen("lock", "08:00", "m", lock_id="L2", state="removed", extra={"by": "bo", "supersedes": "k"})
    assert results([*base(), lock, off])["status"] == "blocked"
    assert results([*base(), lock, {**off, "by": "ann"}])["status"] == "ready"
    nameless = {k: v for k, v in off.items() if k != "by"}
    assert results([*base(), lock, nameless])["status"] == "blocked"


def test_a_ring_of_corrections_corrects_nothing(results):
    ring = [
        seen("strainer", "09:02", "r1", blown_down=False, extra={"supersedes": "r2"}),
        seen("strainer", "09:03", "r2", blown_down=False, extra={"supersedes": "r1"}),
    ]
    told = results([*base(), *ring])
    assert told["status"] == "blocked"
    assert [(s["rule"], s["ids"]) for s in told["impossible"]] == [("I17", ["r1", "r2"])]


def test_uncertain_times_count_against_the_start(results):
    doubtful = seen("supply", "08:00", "maybe", state="off", u=600)
    told = results([*base(), doubtful])
    assert told["facts"]["energised"]["status"] == "failed", "it may have gone off at 08:10, after everything else"


def test_clock_offset_is_taken_off(results):
    shifted = [{**o, "at": at("10:01"), "clock_offset": q(1, "h")} if o["kind"] == "area_clear" else o for o in base()]
    told = results(shifted)
    assert told["status"] == "ready"
    assert told["facts"]["people_clear"]["at"] == at("09:01")


# --- losses ------------------------------------------------------------------------------------------------------


def test_an_interruption_of_no_length_still_breaks_the_hour(results):
    told = results([*base(), seen("supply", "08:30", "i", state="interrupted")])
    assert told["warm_up_since"] == at("08:30")
    assert [e["id"] for e in told["timeline"] if e["id"].startswith("i")] == ["i", "i", "i#pump"]


def test_in_the_middle_of_an_interruption(results):
    told = results([*base(), seen("supply", "09:00", "i", state="interrupted", duration=q(10, "min"))])
    assert told["facts"]["energised"]["status"] == "failed"
    assert "earliest_start" not in told
    later = results([*base(), seen("supply", "09:00", "i", state="interrupted", duration=q(10, "min"))], "09:11")
    assert later["warm_up_since"] == at("09:10")


def test_low_voltage_does_not_warm(results):
    low = seen("line_voltage", "08:20", **volts(400, 405, 402))
    good = seen("line_voltage", "08:30", **GOOD_VOLTS)
    told = results([*base(), low])
    assert told["facts"]["oil_warm"]["status"] == "invalidated"
    assert results([*base(), low, good])["warm_up_since"] == at("08:30")


EVENTS = {
    "drain": (
        seen("drain", "09:02"),
        {"loop_pressurised": "V4", "purged": "V4", "leak_free": "V4", "strainer_clear": "V4", "flow_proven": "V4"},
    ),
    "loop_opened": (
        seen("loop_opened", "09:02", where="strainer"),
        {"loop_pressurised": "V4", "purged": "V4", "leak_free": "V4", "strainer_clear": "V4", "flow_proven": "V4"},
    ),
    "control_switch": (
        seen("control_switch", "09:02", state="off"),
        {"oil_warm": "V2", "flow_proven": "V2"},
    ),
    "isolator": (
        seen("isolator", "09:02", state="open"),
        {"oil_warm": "V1", "voltage_in_limits": "V1", "flow_proven": "V1"},
    ),
    "pump off": (seen("pump_state", "09:02", pump="machine", state="tripped"), {"flow_proven": "V8"}),
    "ground off while connecting is asked": (
        seen("ground", "09:02", connected=False),
        {"phase_correct": "V3"},
    ),
}


@pytest.mark.parametrize("event", EVENTS)
def test_what_an_event_undoes(results, event):
    happened, undone = EVENTS[event]
    more = connected_by_the_book() if event.startswith("ground") else []
    told = results([*base(), *more, happened])
    assert {i["fact"]: i["rule"] for i in told["invalidated"]} == undone
    assert {i["by"] for i in told["invalidated"]} == {happened["id"]}


def test_a_moved_valve_undoes_the_flow_once_the_valves_are_right(results):
    moved = [
        seen("valve_position", "09:02", valve="return", position="partial"),
        seen("valve_position", "09:03", valve="return", position="open"),
    ]
    told = results([*base(), *moved])
    assert [(b["fact"], b["status"]) for b in told["blocks"]] == [("flow_proven", "invalidated")]
    assert told["invalidated"] == [{"fact": "flow_proven", "by": "valve_position.return.09:03", "rule": "V6"}]


def test_a_move_undoes_nearly_everything(results):
    told = results([*base(), seen("moved", "09:02")])
    kept = {name for name, f in told["facts"].items() if f["status"] == "established"}
    assert kept == {"locks_clear", "set_point_safe", "no_alarm", "people_clear"}
    assert {i["rule"] for i in told["invalidated"]} == {"V10"}


def test_low_pressure_lets_air_in(results):
    low = seen("loop_pressure", "08:47", pump="off", value=q(14, "psi"))
    good = seen("loop_pressure", "08:49", pump="off", value=q(45, "psi"))
    told = results([*base(), low, good])
    assert {"fact": "purged", "by": low["id"], "rule": "V5"} in told["invalidated"]


def test_a_pump_seen_standing_must_prove_flow_again(results):
    told = results([*base(), seen("loop_pressure", "09:02", pump="off", value=q(45, "psi"))])
    assert {b["fact"] for b in told["blocks"]} == {"pump_running", "flow_proven"}
    assert "loop_pressure.off.09:02#pump" in {e["id"] for e in told["timeline"]}


def test_the_way_out_of_a_flow_without_a_pump(results):
    early = seen("flow_switch", "08:46", state="made")
    told = results([*base(), early])
    assert told["facts"]["flow_proven"]["status"] == "contradicted"
    seen_open = seen("flow_switch", "08:47", state="not_made")
    assert results([*base(), early, seen_open])["status"] == "ready"


def test_anti_recycle(results):
    ran = [seen("compressor", "09:03", id="1", state="off")]
    told = results([*base(), *ran])
    assert told["status"] == "wait"
    assert told["waits"] == [{"rule": "anti_recycle", "until": at("09:08")}]
    assert told["earliest_start"] == at("09:08")


# --- antifreeze --------------------------------------------------------------------------------------------------

GLYCOL = {"fluid_kind": "propylene_glycol"}


def test_antifreeze(results):
    weak = seen("antifreeze_reading", "09:01", freeze_point=q(-1, "degC"))
    good = seen("antifreeze_reading", "09:02", freeze_point=q(-12, "degC"))
    assert results(base(), configuration=GLYCOL)["facts"]["antifreeze_adequate"]["status"] == "missing"
    told = results([*base(), weak], configuration=GLYCOL)
    assert [b["fact"] for b in told["blocks"]] == ["set_point_safe"], "44 degF less 15 delta_degF is -1.7 degC"
    assert results([*base(), good], configuration=GLYCOL)["status"] == "ready"
    needed = {**GLYCOL, "required_freeze_point": q(-15, "degC")}
    told = results([*base(), good], configuration=needed)
    assert [(b["fact"], b["status"]) for b in told["blocks"]] == [("antifreeze_adequate", "failed")]
    still = seen("antifreeze_reading", "08:40", freeze_point=q(-12, "degC"))
    told = results([*base(), still], configuration=GLYCOL)
    assert told["facts"]["antifreeze_adequate"]["status"] == "missing", "a plug of antifreeze is no mixture"
    thinned = results([*base(), good, seen("fill", "09:03", medium="water", purpose="top_up")], configuration=GLYCOL)
    assert {"fact": "antifreeze_adequate", "by": "fill..09:03", "rule": "V5"} in thinned["invalidated"]


def test_mixing_takes_three_turns(results):
    reading = seen("antifreeze_reading", "09:02", freeze_point=q(-12, "degC"))
    slow = {**GLYCOL, "loop_turnover_time": q(4, "min")}
    told = results([*base(), reading], configuration=slow)
    assert told["facts"]["antifreeze_adequate"]["status"] == "missing", "the pump ran for 10 min, 12 are needed"
    fast = {**GLYCOL, "loop_turnover_time": q(3, "min")}
    assert results([*base(), reading], configuration=fast)["status"] == "ready"


# --- valves ------------------------------------------------------------------------------------------------------

VALVES = [
    ("own_pump", "open", "open", "closed", None),
    ("own_pump", "open", "open", "open", "short_circuit"),
    ("own_pump", "open", "open", "partial", "short_circuit"),
    ("own_pump", "open", "closed", "open", "dead_head"),
    ("own_pump", "closed", "closed", "closed", "dead_head"),
    ("own_pump", "partial", "open", "closed", "starved"),
    ("site_pump", "closed", "closed", "open", None),
    ("site_pump", "open", "open", "open", "parallel_idle_pump"),
    ("site_pump", "open", "open", "closed", "through_idle_pump"),
    ("site_pump", "open", "closed", "open", "half_isolated"),
    ("site_pump", "closed", "open", "open", "half_isolated"),
    ("site_pump", "partial", "closed", "open", "half_isolated"),
    ("site_pump", "closed", "closed", "closed", "no_path"),
    ("site_pump", "open", "closed", "partial", "no_path"),
]


@pytest.mark.parametrize(("mode", "suction", "discharge", "bypass", "reason"), VALVES)
def test_valve_table(results, mode, suction, discharge, bypass, reason):
    history = [o for o in base() if o["kind"] != "valve_position" or not o["data"]["valve"].startswith("pump")]
    for valve, position in (("pump_suction", suction), ("pump_discharge", discharge), ("pump_bypass", bypass)):
        history.append(seen("valve_position", "08:15", valve=valve, position=position))
    fact = results(history, configuration={"pump_mode": mode})["facts"]["valves_set"]
    assert fact.get("reason") == reason
    assert fact["status"] == ("failed" if reason else "established")


@pytest.mark.parametrize(
    ("valve", "position", "reason"),
    [
        ("supply", "closed", "supply_closed"),
        ("return", "partial", "return_closed"),
        ("fill", "open", "fill_open"),
        ("drain", "partial", "drain_open"),
    ],
)
def test_loop_valves(results, valve, position, reason):
    told = results([*base(), seen("valve_position", "09:02", valve=valve, position=position)])
    assert told["facts"]["valves_set"]["reason"] == reason


def test_a_machine_without_a_pump_is_not_asked_for_its_valves(results):
    history = [o for o in base() if not o["data"].get("valve", "").startswith("pump") and o["kind"] != "pump_state"]
    history.append(seen("pump_state", "08:52", pump="site", state="on"))
    assert results(history, configuration={"pump_mode": "site_pump", "pump_fitted": False})["status"] == "ready"


# --- connecting --------------------------------------------------------------------------------------------------


def test_may_connect(results):
    history = [
        seen("supply", "07:00", state="off"),
        seen("lock", "07:05", lock_id="L1", state="applied", tagged=True),
        connected_by_the_book()[0],
    ]
    assert results(history, "07:12")["may_connect"] is True
    untagged = [history[0], seen("lock", "07:05", lock_id="L1", state="applied", tagged=False), history[2]]
    assert results(untagged, "07:12")["may_connect"] is False
    assert results(history[1:], "07:12")["may_connect"] is False, "the supply is not known to be off"
    alive = [*history, seen("phase_indicator", "07:11", rotation="correct")]
    assert results(alive, "07:12")["may_connect"] is False


def test_work_needs_lock_and_tag(results):
    no_lock = [o for o in base() if o["kind"] != "lock"]
    told = results([*no_lock, *connected_by_the_book()])
    assert told["facts"]["proved_dead"]["status"] == "failed"
    tagless = [*no_lock, seen("lock", "07:06", lock_id="L1", state="applied", tagged=False)]
    tagless.append(seen("lock", "07:40", lock_id="L1", state="removed"))
    assert results([*tagless, *connected_by_the_book()])["facts"]["proved_dead"]["status"] == "failed"


def test_qualified_hands(results):
    rows = connected_by_the_book()
    rows[0] |= {"by": "ann", "role": "electrician"}
    told = results([*base(), *rows])
    assert told["facts"]["qualified_hands"]["status"] == "failed", "the others do not say who"
    named = [{**o, "by": "ann"} for o in rows]
    assert results([*base(), *named])["status"] == "ready"
    named[1]["role"] = "technician"
    assert results([*base(), *named])["facts"]["qualified_hands"]["status"] == "failed"


def test_reconnecting_asks_for_new_readings(results):
    rows = [
        *base(),
        *connected_by_the_book(),
        seen("earth_continuity", "07:30", resistance=q(0.2, "ohm")),
        seen(
            "insulation_test",
            "07:12",
            resistance=q(50, "Mohm"),
            test_voltage=q(500, "V"),
            electronics_disconnected=True,
        ),
        seen(
            "cable_route",
            "07:30",
            **dict.fromkeys(("ramps_fitted", "off_water", "strain_relieved", "surplus_uncoiled"), True),
        ),
    ]
    assert results(rows)["status"] == "ready"
    off = seen(
        "line_connection", "09:03", end="machine", state="disconnected", order=["line_1", "line_2", "line_3", "ground"]
    )
    undone = {i["fact"]: i["rule"] for i in results([*rows, off])["invalidated"]}
    assert (
        undone.items()
        >= {
            "supply_matches_plate": "V3",
            "ground_continuity": "V3",
            "insulation_good": "V3",
            "voltage_in_limits": "V3",
            "phase_correct": "V3",
            "oil_warm": "V3",
        }.items()
    )


def test_all_evidence_by_qualified_hands(results):
    who = {"by": "ann", "role": "electrician"}
    rows = [
        *({**o, **who} for o in connected_by_the_book()),
        seen("earth_continuity", "07:30", resistance=q(0.2, "ohm"), extra=who),
        seen(
            "insulation_test",
            "07:12",
            resistance=q(50, "Mohm"),
            test_voltage=q(500, "V"),
            electronics_disconnected=True,
            extra=who,
        ),
        seen("cable_route", "07:30", ramps_fitted=True, off_water=True, strain_relieved=True, surplus_uncoiled=True),
        seen("transfer_interlock", "07:50", ok=True, extra=who),
    ]
    configuration = {"require_connection_evidence": True, "supply_source": "generator"}
    told = results([*base(), *rows], configuration=configuration)
    assert told["status"] == "ready"
    assert told["may_energise"] is True
    assert len(told["facts"]) == 19 + 8


# --- what to do next ---------------------------------------------------------------------------------------------


def test_next_action_follows_the_order_of_facts(results):
    done: History = []
    steps = []
    for observation in sorted(base(), key=lambda o: o["at"]):
        done.append(observation)
        step = results(done, observation["at"][11:19])["next_action"]["step_id"]
        if step not in steps[-1:]:
            steps.append(step)
    assert steps == [
        "read_data_plate", "connect_ground", "inspect_and_unlock", "energise",
        "control_switch_on", "connect_hoses", "set_valves", "repressurise", "leak_check", "start_pump", "prove_flow",
        "start_verdict", "oil_warm_up",
    ]  # fmt: skip


def test_parallel_work_is_shown_while_the_oil_warms(results):
    early = [o for o in base() if o["at"] <= at("08:10")]
    action = results(early, "08:12")["next_action"]
    assert action["step_id"] == "set_valves"
    assert action["time_to_earliest_start"] == {"value": 53.0, "unit": "min"}
    assert "fill_loop" not in {m["step_id"] for m in action["meanwhile"]}, "valves come before filling"
    assert "enter_set_point" in {m["step_id"] for m in action["meanwhile"]}


def test_a_live_swap_goes_first(results):
    action = results([*base(), seen("leads_swapped", "08:20")])["next_action"]
    assert action["step_id"] == "lock_source"
    assert action["done_by"] == "a qualified electrical person"


# --- findings ----------------------------------------------------------------------------------------------------


LEFT_LIVE = {
    "a lost line": seen("line_voltage", "09:02", **volts(478, 200, 210)),
    "a lost phase": seen("phase_indicator", "09:02", rotation="missing_phase"),
    "leads swapped live": seen("leads_swapped", "08:20"),
}


@pytest.mark.parametrize("event", LEFT_LIVE)
def test_nobody_is_told_that_lines_are_dead_which_may_be_live(answer_of, event):
    answer = answer_of("readiness.startup", ask([*base(), LEFT_LIVE[event]]))
    power = next(f for f in answer["findings"] if f["code"] == "R05")
    assert "may be live" in power["statement"]
    assert power["resolve"].startswith("Take every line for live.")
    action = answer["results"]["next_action"]
    assert "prove it dead" in action["do"]
    assert not action["do"].startswith("Close")
    off = answer_of("readiness.startup", ask([*base(), LEFT_LIVE[event], seen("supply", "09:03", state="off")]))
    assert "no supply." in next(f for f in off["findings"] if f["code"] == "R05")["statement"]


def test_a_lock_on_a_live_line_is_not_simply_taken_off(results):
    lock, alive = seen("lock", "09:00", lock_id="L9", state="applied"), seen("line_voltage", "09:02", **GOOD_VOLTS)
    action = results([*base(), lock, alive])["next_action"]
    assert action["step_id"] == "inspect_and_unlock"
    assert action["do"].startswith("Find every source; open and lock each.")
    assert "voltage while lock L9 was on" in action["why"]
    assert action["done_by"].startswith("a qualified electrical person")


FLOW_LOST = {
    "pump tripped": seen("pump_state", "09:05", pump="machine", state="tripped"),
    "pump off": seen("pump_state", "09:05", pump="machine", state="off"),
    "switch open": seen("flow_switch", "09:05", state="not_made"),
    "drop too small": seen("evaporator_pressure_drop", "09:05", value=q(3, "kPa")),
    "valve closed": seen("valve_position", "09:05", valve="return", position="closed"),
    "seen standing": seen("purge", "09:05", point="high_point", result="steady_water", pump="off"),
    "phase lost": seen("phase_indicator", "09:05", rotation="missing_phase"),
}


@pytest.mark.parametrize("event", FLOW_LOST)
def test_a_running_compressor_is_stopped_before_anything_else(answer_of, event):
    told = answer_of("readiness.startup", ask([*base(), RUNNING, FLOW_LOST[event]]))
    action = told["results"]["next_action"]
    assert action["do"].startswith("Stop compressor C1 first")
    words = ("find why the flow was lost", "look for ice", "Only then: ", "Prove the flow again")
    assert [action["do"].index(w) for w in words] == sorted(action["do"].index(w) for w in words)
    assert action["done_by"].startswith("the technician at the machine")
    stop = next(f for f in told["findings"] if f["code"] == "compressor_without_flow")
    assert "C1" in stop["statement"]
    assert stop["statement"] in action["why"]
    without = answer_of("readiness.startup", ask([*base(), FLOW_LOST[event]]))
    for name in ("status", "blocks", "facts"):
        assert told["results"][name] == without["results"][name]
    assert action["step_id"] == without["results"]["next_action"]["step_id"]
    assert "compressor_without_flow" not in {f["code"] for f in without["findings"]}


def test_a_compressor_seen_off_or_running_with_flow_is_let_be(answer_of):
    off = seen("compressor", "09:05:30", id="C1", state="off")
    stopped = answer_of("readiness.startup", ask([*base(), RUNNING, FLOW_LOST["pump tripped"], off]))
    running = answer_of("readiness.startup", ask([*base(), RUNNING]))
    too_old = answer_of("readiness.startup", ask([*base(), RUNNING], "09:40"))
    assert too_old["results"]["facts"]["pump_running"]["status"] == "stale"
    for answer in (stopped, running, too_old):
        assert "compressor_without_flow" not in {f["code"] for f in answer["findings"]}
    lost = answer_of("readiness.startup", ask([*base(), RUNNING, FLOW_LOST["switch open"]], "09:40"))
    assert "compressor_without_flow" in {f["code"] for f in lost["findings"]}, (
        "the pump's record is old, the switch is open"
    )


def test_a_compressor_that_runs_is_not_to_be_started_again(answer_of):
    results = answer_of("readiness.startup", ask([*base(), RUNNING]))["results"]
    action = results["next_action"]
    assert results["status"] == "ready"
    assert action["why"].startswith("Compressor C1 is on record as running, and nothing on record forbids it")
    assert "See that compressor C1 runs smoothly" in action["do"]
    assert "no order to start another" in action["do"]
    stopped = answer_of("readiness.startup", ask([*base(), RUNNING, seen("compressor", "09:05", id="C1", state="off")]))
    assert "running" not in stopped["results"]["next_action"]["why"]
    doubtful = answer_of("readiness.startup", ask([*base(), *GROUND_OFF, RUNNING]))["results"]["next_action"]
    assert doubtful["do"].startswith("Before it runs on, or another starts: ")
    assert "Open the source, lock it" in doubtful["do"]


@pytest.mark.parametrize(
    "event",
    [
        seen("supply", "09:05", state="off"),
        seen("isolator", "09:05", state="open"),
        seen("control_switch", "09:05", state="off"),
    ],
    ids=lambda e: e["kind"],
)
def test_a_compressor_that_lost_its_power_must_not_start_by_itself(results, event):
    action = results([*base(), RUNNING, event])["next_action"]
    assert action["do"].startswith("Before power comes back, see that compressor C1 stands and cannot start by itself")


@pytest.mark.parametrize(
    ("rotation", "asked", "not_asked"),
    [
        ("missing_phase", "find the lost fuse, pole or conductor", "swap two leads"),
        ("reversed", "prove it dead, swap two leads at the source", "fuse"),
        ("no_indication", "See that the indicator works", "swap two leads"),
    ],
)
def test_the_cure_of_a_rotation_is_that_of_what_was_read(answer_of, rotation, asked, not_asked):
    history = [
        *base(),
        seen("phase_indicator", "09:02", rotation=rotation),
        seen("line_voltage", "09:03", **GOOD_VOLTS),
    ]
    answer = answer_of("readiness.startup", ask(history))
    stop = next(f for f in answer["findings"] if f["code"] == "R07")
    action = answer["results"]["next_action"]
    for text in (stop["resolve"], action["do"]):
        assert asked in text
        assert not_asked not in text
    assert action["step_id"] == "check_phase_and_voltage"
    assert ("backwards" in action["why"]) == (rotation == "reversed")


@pytest.mark.parametrize(
    "history",
    [
        [o for o in base() if o["kind"] != "phase_indicator"],
        [
            *base(),
            seen("supply", "08:06", state="off"),
            seen("leads_swapped", "08:07"),
            seen("supply", "08:08", state="on"),
        ],
    ],
    ids=["never read", "swapped since"],
)
def test_without_a_reading_the_indicator_is_read_first(answer_of, history):
    answer = answer_of("readiness.startup", ask(history))
    stop = next(f for f in answer["findings"] if f["code"] == "R07")
    assert stop["resolve"].startswith("Read the indicator at the machine")
    assert "swap two" not in stop["resolve"]


NOT_WARMING = {
    "switch off": ([seen("control_switch", "09:03", state="off")], "control switch off", "the technician"),
    "supply off": ([seen("supply", "09:03", state="off")], "no proper supply", "a qualified"),
    "isolator open": ([seen("isolator", "09:03", state="open")], "isolator open", "a qualified"),
    "low voltage": ([seen("line_voltage", "09:03", **volts(400, 401, 400))], "voltage too low", "a qualified"),
    "heater": ([seen("oil_heater", "09:03", compressor="C1", working=False)], "heater out of order: C1", "a qualified"),
    "interruption": ([seen("supply", "09:03", state="interrupted", duration=q(10, "min"))], "09:13:00Z", "a qualified"),
}


@pytest.mark.parametrize("case", NOT_WARMING)
def test_time_alone_does_not_warm_oil_that_nothing_heats(answer_of, case):
    events, cause, who = NOT_WARMING[case]
    answer = answer_of("readiness.startup", ask([*base(), *events]))
    block = next(b for b in answer["results"]["blocks"] if b["rule"] == "R20")
    stop = next(f for f in answer["findings"] if f["code"] == "R20")
    assert cause in stop["statement"]
    assert block["cleared_by"].startswith(who)
    assert block["cleared_by"] in stop["resolve"]
    assert stop["resolve"].startswith("Time alone does not clear this.")


def test_nothing_on_record_does_not_warm_the_oil(answer_of):
    answer = answer_of("readiness.startup", ask([]))
    stop = next(f for f in answer["findings"] if f["code"] == "R20")
    assert "supply not on record as on; control switch not on record as on" in stop["statement"]
    assert next(b for b in answer["results"]["blocks"] if b["rule"] == "R20")["cleared_by"] != "time alone"


def test_an_old_sign_of_life_asks_for_a_look_and_not_for_closing(answer_of):
    answer = answer_of("readiness.startup", ask(base(), "20:30"))
    assert answer["results"]["facts"]["energised"]["status"] == "stale"
    assert answer["results"]["next_action"]["do"].startswith("Look again")
    assert "Close the source" not in answer["results"]["next_action"]["do"]


def test_a_mixture_that_is_too_weak_asks_for_concentrate(results):
    weather = {**GLYCOL, "required_freeze_point": q(-15, "degC")}
    weak = seen("antifreeze_reading", "09:02", freeze_point=q(-12, "degC"))
    action = results([*base(), weak], configuration=weather)["next_action"]
    assert action["step_id"] == "read_antifreeze"
    assert action["do"].startswith("Add concentrate (`hydronic.antifreeze` tells how much)")


def test_a_reading_that_came_too_early_is_told_from_when_one_counts(results):
    slow = {**GLYCOL, "loop_turnover_time": q(5, "min")}
    early = seen("antifreeze_reading", "09:02", "early", freeze_point=q(-12, "degC"))
    action = results([*base(), early], configuration=slow)["next_action"]
    assert "early came too early" in action["why"]
    assert "A reading counts from 2026-05-04T09:07:00Z on." in action["do"]
    standing = seen("antifreeze_reading", "08:50", "still", freeze_point=q(-12, "degC"))
    action = results([*base(), standing], configuration=slow)["next_action"]
    assert "still was taken while the pump in use was not on" in action["why"]


PLATE_READ = [seen("unit_level", "07:00", ok=True), seen("plate_check", "07:05", **PLATE)]
L1_ON = seen("lock", "07:06", lock_id="L1", state="applied", extra={"by": "ann"})
PROVED = connected_by_the_book()[0]
NAMED = {"require_connection_evidence": True}


def test_a_lock_stays_on_until_ground_and_lines_are_connected(results):
    told = results([*PLATE_READ, L1_ON, PROVED], "07:12", NAMED)
    action = told["next_action"]
    assert action["step_id"] == "inspect_and_unlock"
    assert action["do"].startswith("The lock stays on until: ")
    assert "the ground is connected" in action["do"]
    assert "line 1, line 2 and line 3 are connected at the source and the machine, and looked at" in action["do"]
    assert "Work on the lines may not begin yet: no record of the supply off." in action["do"]
    assert "nobody else does" in action["do"]
    off = [seen("supply", "07:04", state="off"), *PLATE_READ, L1_ON, PROVED]
    told = results(off, "07:12", NAMED)
    assert told["may_connect"] is True
    assert "Work on the lines may begin under it." in told["next_action"]["do"]
    one_end = results([*off, connected_by_the_book()[1]], "07:16", NAMED)
    assert "are connected at the machine, and" in one_end["next_action"]["do"]


def test_a_lock_stays_on_lines_that_were_taken_off(results):
    off = seen(
        "line_connection", "07:11", end="source", state="disconnected", order=["line_1", "line_2", "line_3", "ground"]
    )
    action = results([*PLATE_READ, L1_ON, PROVED, off], "07:12")["next_action"]
    assert action["step_id"] == "inspect_and_unlock"
    assert "are connected at the source and the machine" in action["do"]


@pytest.mark.parametrize(
    ("history", "reason"),
    [
        ([seen("supply", "07:11", state="on"), PROVED], "the supply was last seen on"),
        ([seen("supply", "07:04", state="off")], "not proved dead"),
        (
            [seen("proved_dead", "07:10", dead=True, tester_proved_before=True, tester_proved_after=False)],
            "is not complete",
        ),
        (
            [seen("line_voltage", "07:11", **GOOD_VOLTS), seen("supply", "07:11:30", state="off"), PROVED],
            "not proved dead since the last power",
        ),
    ],
)
def test_why_work_on_the_lines_may_not_begin(results, history, reason):
    told = results([*PLATE_READ, L1_ON, *history], "07:12", NAMED)
    assert told["may_connect"] is False
    assert reason in told["next_action"]["do"]


def test_without_a_lock_the_rules_of_the_lines_say_so(answer_of):
    answer = answer_of("readiness.startup", ask([*PLATE_READ, PROVED], "07:12", NAMED))
    assert answer["results"]["may_connect"] is False
    ground = next(f for f in answer["findings"] if f["code"] == "R04")
    assert "may not begin yet: no record of the supply off; no tagged lock is on." in ground["resolve"]


def test_a_lock_over_finished_work_is_its_owners_to_take_off(results):
    action = results(
        [*base(), LOCKED, seen("lock", "07:51", lock_id="L2", state="applied", extra={"by": "ann"})], "07:59"
    )
    assert action["next_action"]["do"].startswith("Its owner takes it off")


def resets(*clocks: str, code: str = "HP") -> History:
    """An alarm that comes at each of these times and is reset half a minute later."""
    return [
        o
        for clock in clocks
        for o in (
            seen("alarm", clock, code=code, state="active"),
            seen("alarm", f"{clock}:30", code=code, state="cleared"),
        )
    ]


COLD_START = [
    seen("compressor", "08:50", id="C1", state="on"),
    seen("compressor", "08:51", id="C1", state="off"),
]
ICE = [
    seen("water_temperature", "09:02", leaving=q(-1, "degC")),
    seen("water_temperature", "09:03", leaving=q(8, "degC")),
]
GROUND_OFF = [seen("ground", "09:03", connected=False), seen("ground", "09:04", connected=True)]
OPEN_CHECKS = {
    "cold oil": (COLD_START, "I12", "Call the owner of the machine"),
    "ice": (ICE, "I10", "look for ice damage"),
    "ground": (GROUND_OFF, "I13", "Open the source, lock it"),
    "trips": (resets("09:02", "09:03", "09:04"), "repeated_trips", "cause of alarm HP"),
}


@pytest.mark.parametrize("case", OPEN_CHECKS)
@pytest.mark.parametrize("hour", ["over", "not over"])
def test_open_checks_come_before_a_start(answer_of, case, hour):
    events, code, asked = OPEN_CHECKS[case]
    slow = {"warm_up_duration": q(2, "h")} if hour == "not over" else {}
    answer = answer_of("readiness.startup", ask([*base(), *events], configuration=slow))
    status, action = answer["results"]["status"], answer["results"]["next_action"]
    assert (status, action["step_id"]) == (
        ("ready", "start_first_compressor") if hour == "over" else ("wait", "oil_warm_up")
    )
    found = next(f for f in answer["findings"] if f["code"] == code)
    assert found["statement"] in action["why"]
    assert action["why"].startswith("Nothing on record forbids the start")
    assert "but first: " in action["why"]
    assert action["do"].startswith("Before any start: ")
    assert asked in action["do"].partition("Only then: " if hour == "over" else "Where this asks")[0]


def test_the_gravest_check_is_named_first_and_none_is_left_out(results):
    action = results([*base(), *COLD_START, *ICE, *GROUND_OFF, *resets("09:02", "09:03", "09:04")])["next_action"]
    places = [
        action["do"].index(asked) for _, _, asked in (OPEN_CHECKS[c] for c in ("ground", "ice", "cold oil", "trips"))
    ]
    assert places == sorted(places)
    assert "And 1 more, among the findings." in action["why"]
    assert action["done_by"].startswith("a qualified electrical person, then ")


def test_without_open_checks_nothing_comes_first(results):
    assert results(base())["next_action"]["why"] == "Nothing on record forbids the start."
    assert results(base(), "09:02")["next_action"]["done_by"] == "time alone"


@pytest.mark.parametrize(
    ("alarms", "told"),
    [
        (resets("08:05", "08:30", "09:04"), True),
        (resets("07:59", "08:30", "09:04"), False),
        (resets("09:02", "09:03"), False),
        ([*resets("09:02", "09:03"), *resets("09:04", code="LP")], False),
        ([*resets("09:02"), seen("alarm", "09:03", code="HP", state="cleared")], False),
    ],
)
def test_three_resets_of_one_alarm_in_an_hour(answer_of, alarms, told):
    answer = answer_of("readiness.startup", ask([*base(), *alarms]))
    assert answer["results"]["status"] == "ready"
    assert ("repeated_trips" in {f["code"] for f in answer["findings"]}) is told


def changed(kind: str, clock: str, **data: Any) -> History:
    return [*base(), seen(kind, clock, **data)]


def dropping(*kinds: str) -> History:
    return [o for o in base() if o["kind"] not in kinds]


RUNNING = seen("compressor", "09:04", id="C1", state="on")
LOCKED = seen("lock", "07:50", lock_id="L2", state="applied", extra={"by": "ann"})
FOUND: dict[tuple[str, str], dict[str, Any]] = {
    ("R01", "stop"): ask([*base(), LOCKED]),
    ("R02", "stop"): ask(changed("plate_check", "09:00", **{**PLATE, "cable_ampacity": q(300, "A")})),
    ("R03", "stop"): ask(changed("unit_level", "09:00", ok=False)),
    ("R04", "stop"): ask(changed("ground", "09:00", connected=False)),
    ("R05", "stop"): ask(changed("supply", "09:00", state="off")),
    ("R06", "stop"): ask(changed("line_voltage", "09:00", **volts(478, 440, 478))),
    ("R07", "stop"): ask(changed("phase_indicator", "09:00", rotation="reversed")),
    ("R08", "stop"): ask(
        changed("hose_connection", "09:00", end="machine_inlet", **{**HOSE_GOOD, "gasket_seen": False})
    ),
    ("R09", "stop"): ask(changed("valve_position", "09:00", valve="drain", position="open")),
    ("R10", "stop"): ask(changed("loop_pressure", "08:50", pump="off", value=q(39, "psi"))),
    ("R11", "stop"): ask(changed("purge", "08:50", point="high_point", result="spitting", pump="off")),
    ("R12", "stop"): ask(changed("leak_check", "09:00", result="weep")),
    ("R13", "stop"): ask(base(), configuration=GLYCOL),
    ("R14", "stop"): ask(changed("pump_state", "09:02", pump="machine", state="off")),
    ("R15", "stop"): ask(changed("evaporator_pressure_drop", "09:02", value=q(70, "kPa"))),
    ("R16", "stop"): ask(dropping("strainer")),
    ("R17", "stop"): ask(dropping("set_point")),
    ("R18", "stop"): ask(changed("alarm", "09:00", code="HP", state="active")),
    ("R19", "stop"): ask(changed("area_clear", "09:03", clear=False)),
    ("R20", "check"): ask(base(), "09:02"),
    ("R20", "stop"): ask(changed("control_switch", "09:03", state="off")),
    ("R21", "stop"): ask(base(), configuration={"require_connection_evidence": True}),
    ("R22", "stop"): ask(base(), configuration={"require_connection_evidence": True}),
    ("R23", "stop"): ask(base(), configuration={"require_connection_evidence": True}),
    ("R24", "stop"): ask(changed("earth_continuity", "09:00", resistance=q(1.2, "ohm"))),
    ("R25", "stop"): ask(
        changed(
            "insulation_test",
            "07:30",
            resistance=q(0.4, "Mohm"),
            test_voltage=q(500, "V"),
            electronics_disconnected=True,
        )
    ),
    ("R26", "stop"): ask(
        changed("cable_route", "09:00", ramps_fitted=False, off_water=True, strain_relieved=True, surplus_uncoiled=True)
    ),
    ("R27", "stop"): ask(changed("transfer_interlock", "09:00", ok=False)),
    ("R28", "stop"): ask(base(), configuration={"require_connection_evidence": True}),
    ("R29", "stop"): ask(changed("oil_heater", "09:00", compressor="1", working=False)),
    ("R30", "stop"): ask(changed("machine_check", "09:00", item="guards_on", ok=False)),
    ("I1", "check"): ask(changed("fill", "12:00", medium="water", purpose="top_up")),
    ("I2", "stop"): ask(changed("flow_switch", "08:46", state="made")),
    ("I2", "check"): ask(
        [*changed("flow_switch", "08:46", state="made"), seen("flow_switch", "08:47", state="not_made")]
    ),
    ("I3", "check"): ask([*changed("supply", "08:30", state="off"), seen("line_voltage", "08:35", **GOOD_VOLTS)]),
    ("I4", "stop"): ask(changed("leads_swapped", "08:20")),
    ("I4", "check"): ask([*changed("leads_swapped", "08:20"), seen("supply", "08:21", state="off")]),
    ("I5", "check"): ask(changed("loop_pressure", "08:50", pump="off", value=q(47, "psi"))),
    ("I6", "check"): ask(dropping("fill")),
    ("I7", "check"): ask(
        changed("antifreeze_reading", "09:02", freeze_point=q(-20, "degC"), mass_fraction=0.3), configuration=GLYCOL
    ),
    ("I8", "check"): ask(
        changed("flow", "09:01", value=q(20, "L/s")),
        configuration={
            "evaporator_reference_flow": q(10, "L/s"),
            "evaporator_reference_pressure_drop": q(30, "kPa"),
        },
    ),
    ("I9", "check"): ask(changed("water_temperature", "09:02", leaving=q(7, "degC"), entering=q(12, "degC"))),
    ("I10", "stop"): ask(changed("water_temperature", "09:02", leaving=q(-1, "degC"))),
    ("I10", "check"): ask(
        [
            *changed("water_temperature", "09:02", leaving=q(-1, "degC")),
            seen("water_temperature", "09:03", leaving=q(8, "degC")),
        ]
    ),
    ("I11", "check"): ask(
        [*base(), seen("strainer", "09:02", "s", blown_down=True), seen("flow", "09:02", "s", value=q(9, "L/s"))]
    ),
    ("I12", "check"): ask(changed("compressor", "08:50", id="1", state="on")),
    ("I13", "stop"): ask(changed("line_connection", "08:30", **connected_by_the_book()[2]["data"])),
    ("I13", "check"): ask([*changed("ground", "08:30", connected=False), seen("ground", "08:31", connected=True)]),
    ("I14", "check"): ask(
        [*changed("line_voltage", "08:10", **volts(510, 511, 509)), seen("line_voltage", "08:20", **GOOD_VOLTS)]
    ),
    ("I15", "stop"): ask([*base(), LOCKED]),
    ("I15", "check"): ask([*base(), LOCKED, seen("lock", "09:00", lock_id="L2", state="removed")]),
    ("I16", "check"): ask([*base(), LOCKED, seen("lock", "07:55", lock_id="L2", state="removed", extra={"by": "bo"})]),
    ("I17", "check"): ask(
        [*base(), seen("strainer", "09:02", blown_down=True, extra={"supersedes": "area_clear..09:01"})]
    ),
    ("I18", "check"): ask(changed("plate_check", "09:00", **{**PLATE, "cable_ampacity": q(340, "A")})),
    ("I19", "check"): ask(changed("purge", "09:02", point="high_point", result="steady_water", pump="off")),
    ("N1", "check"): ask(base(), configuration={"required_freeze_point": q(-5, "degC")}),
    ("compressor_without_flow", "stop"): ask(
        [*base(), RUNNING, seen("pump_state", "09:05", pump="machine", state="tripped")]
    ),
    ("repeated_trips", "check"): ask([*base(), *resets("09:02", "09:03", "09:04")]),
    ("anti_recycle", "check"): ask(changed("compressor", "09:03", id="1", state="off")),
    ("supply_on_inferred", "note"): ask(dropping("supply")),
    ("not_observed", "note"): ask(base()),
    ("two_pumps", "check"): ask(changed("pump_state", "09:02", pump="site", state="on")),
    ("rated_voltage_assumed", "check"): ask(base(), configuration={"rated_voltage": None}),
    ("frequency_not_observed", "note"): ask(base(), configuration={"supply_source": "generator"}),
    ("mixing_time_not_known", "note"): ask(base(), configuration=GLYCOL),
    ("drop_limits_for_this_fluid", "note"): ask(base(), configuration=GLYCOL),
    ("warm_up_default", "note"): ask(base(), configuration={"warm_up_duration": None}),
    ("set_point_low_for_water", "check"): ask(
        changed("set_point", "09:02", value=q(38, "degF")), configuration={"set_point_minimum_water": q(36, "degF")}
    ),
    ("fill_pressure_cannot_reach_high_point", "stop"): ask(base(), configuration={"high_point_rise": q(40, "m")}),
    ("disconnect_order", "check"): ask(
        changed(
            "line_connection",
            "09:02",
            end="source",
            state="disconnected",
            order=["ground", "line_1", "line_2", "line_3"],
        )
    ),
    ("input_not_used", "note"): ask(changed("supply", "09:02", state="on", duration=q(5, "s"))),
}


def test_every_declared_finding_is_tried():
    declared = {(k.code, severity) for k in startup.findings.values() for severity in k.severities}
    assert set(FOUND) == declared


@pytest.mark.parametrize("finding", FOUND, ids=lambda f: f"{f[0]}-{f[1]}")
def test_finding(answer_of, finding):
    answer = answer_of("readiness.startup", FOUND[finding])
    found = {(f["code"], f["severity"]): f for f in answer["findings"]}
    assert finding in found
    assert found[finding].get("rule", finding[0]) in {*RULES, finding[0]}
    if finding[1] == "stop":
        assert answer["outcome"] == "unacceptable"
        assert answer["results"]["status"] == "blocked"


def test_default_set_point_limit_is_the_trades_forty(results):
    exact = results(changed("set_point", "09:02", value=q(4.4, "degC")))
    assert exact["status"] == "ready"
    given = {"set_point_minimum_water": q(40, "degF")}
    told = results(changed("set_point", "09:02", value=q(4.4, "degC")), configuration=given)
    assert told["status"] == "blocked", "a value that the caller gives is exact"


# --- refusals ----------------------------------------------------------------------------------------------------

BAD = [
    ({"evaluated_at": "2026-05-04T09:06:00"}, "#/evaluated_at"),
    ({"evaluated_at": "2026-02-29T09:06:00Z"}, "#/evaluated_at"),
    ({"observations": [seen("ghost", "09:00")]}, "#/observations/0/kind"),
    ({"observations": [seen("ground", "09:00", connected=True, loose=1)]}, "#/observations/0/data/loose"),
    ({"observations": [seen("ground", "09:00")]}, "#/observations/0/data/connected"),
    ({"observations": [{**seen("drain", "09:00"), "at": "2026-04-31T00:00:00Z"}]}, "#/observations/0/at"),
    (
        {"observations": [{**seen("drain", "09:00"), "time_uncertainty": q(-1, "s")}]},
        "#/observations/0/time_uncertainty",
    ),
    ({"observations": [seen("line_voltage", "09:00", **volts(1001, 1, 1))]}, "#/observations/0/data/v_ab"),
    ({"observations": [seen("line_voltage", "09:00", **volts(-1, 1, 1))]}, "#/observations/0/data/v_ab"),
    (
        {"observations": [seen("loop_pressure", "09:00", pump="off", value=q(-102, "kPa"))]},
        "#/observations/0/data/value",
    ),
    ({"observations": [seen("set_point", "09:00", value=q(121, "degC"))]}, "#/observations/0/data/value"),
    ({"observations": [seen("set_point", "09:00", value=q(-61, "degC"))]}, "#/observations/0/data/value"),
    (
        {"observations": [seen("antifreeze_reading", "09:00", freeze_point=q(-5, "degC"), mass_fraction=1.2)]},
        "#/observations/0/data/mass_fraction",
    ),
    (
        {"observations": [seen("supply", "09:00", state="interrupted", duration=q(-1, "s"))]},
        "#/observations/0/data/duration",
    ),
    ({"observations": [seen("water_temperature", "09:00")]}, "#/observations/0/data/leaving"),
    (
        {"observations": [seen("line_connection", "09:00", end="source", state="connected", order=["ground"])]},
        "#/observations/0/data/fully_mated",
    ),
    (
        {
            "observations": [
                seen("line_connection", "09:00", end="source", state="disconnected", order=["ground"], covers_on=True)
            ]
        },
        "#/observations/0/data/covers_on",
    ),
    (
        {
            "observations": [
                seen("line_connection", "09:00", end="source", state="disconnected", order=["ground", "ground"])
            ]
        },
        "#/observations/0/data/order",
    ),
    ({"observations": [seen("drain", "09:00", f"n{i}") for i in range(5001)]}, "#/observations"),
]


@pytest.mark.parametrize(("wrong", "pointer"), BAD)
def test_refused(answer_of, wrong, pointer):
    with pytest.raises(Refused) as refused:
        answer_of("readiness.startup", {**ask(base()), **wrong})
    assert pointer in [e.pointer for e in refused.value.errors]


@pytest.mark.parametrize(
    ("configuration", "pointer"),
    [
        ({"evaporator_pressure_drop_minimum": None}, "#/configuration/evaporator_pressure_drop_minimum"),
        ({"evaporator_pressure_drop_maximum": None}, "#/configuration/evaporator_pressure_drop_maximum"),
        ({"evaporator_pressure_drop_maximum": q(10, "kPa")}, "#/configuration/evaporator_pressure_drop_minimum"),
        ({"warm_up_duration": q(59, "min")}, "#/configuration/warm_up_duration"),
        ({"set_point_minimum_water": q(34.9, "degF")}, "#/configuration/set_point_minimum_water"),
        ({"pump_fitted": False}, "#/configuration/pump_fitted"),
        ({"evaporator_reference_flow": q(10, "L/s")}, "#/configuration/evaporator_reference_pressure_drop"),
        ({"voltage_unbalance_limit": 0.06}, "#/configuration/voltage_unbalance_limit"),
        ({"anti_recycle": q(-1, "min")}, "#/configuration/anti_recycle"),
    ],
)
def test_refused_configuration(answer_of, configuration, pointer):
    with pytest.raises(Refused) as refused:
        answer_of("readiness.startup", ask(base(), configuration=configuration))
    assert pointer in [e.pointer for e in refused.value.errors]


def test_one_observation_by_itself():
    kept = check_observation(base()[0])
    assert kept.id == "unit_level..07:00"
    for wrong, pointer in (
        ({**base()[0], "kind": "ghost"}, "#/kind"),
        ({**base()[0], "data": {"ok": True, "x": 1}}, "#/data/x"),
        ({**base()[0], "at": "2026-05-04T07:00:00"}, "#/at"),
        ({**base()[0], "at": "2026-02-30T07:00:00Z"}, "#/at"),
        ({k: v for k, v in base()[0].items() if k != "id"}, "#/id"),
    ):
        with pytest.raises(Refused) as refused:
            check_observation(wrong)
        assert [e.pointer for e in refused.value.errors] == [pointer]


def test_every_kind_is_in_the_union():
    assert len(KINDS) == len(set(KINDS)) == 40
    assert msgspec.json.schema_components([AnyObservation])
