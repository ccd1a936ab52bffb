"""Behaviour of `readiness.startup`: order and duplicates, corrections, losses, findings, refusals, what to do next."""

import random
from typing import Any

import msgspec
import pytest
from borne_out import not_borne_out
from hypothesis import given as forall
from hypothesis import strategies as st
from msgspec import UNSET
from quantity import q
from startup_histories import GOOD_VOLTS, HOSE_GOOD, PLATE, ask, at, base, connected_by_the_book, generated, seen, volts

from coldwright.contract import Refused
from coldwright.contract.evaluation import evaluate
from coldwright.contract.reading import read
from coldwright_readiness.startup import startup
from coldwright_readiness.startup.limits import RULES
from coldwright_readiness.startup.observation_errors import check_observation
from coldwright_readiness.startup.observations import KINDS, MOST_OBSERVATIONS, AnyObservation

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
    assert (results.status in ("blocked", "stop_now")) == bool(results.blocks)
    assert bool(stops) == bool(results.blocks)
    assert all("May be cleared by: " in f.resolve for f in stops if f.code != "stop_now")
    assert {c.code for c in answer.cautions} >= {"false_ready", "no_live_connectors", "own_lock", "local_prevails"}
    action = results.next_action
    assert 0 < len(action.short) <= 60
    assert action.subject
    assert (results.stop_now is not UNSET) == (results.status == "stop_now")
    if results.status == "ready":
        assert action.step_id == "start_first_compressor"
        assert "no order to start" in action.do
    elif results.status == "wait":
        assert action.step_id == "oil_warm_up"
    elif results.status == "stop_now":
        assert action.do.startswith("Stop compressor 1")
    assert action.step_id not in {m.step_id for m in action.meanwhile}
    assert len(results.lines) == 3


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
    around = [seen("area_clear", "09:00", "a", clear=False), seen("area_clear", "09:04", "a", clear=True)]
    told = results([*base(), *around])
    assert told["facts"]["people_clear"]["status"] == "contradicted", (
        "what was seen at 09:04 is not after the second story"
    )
    later = [seen("area_clear", "09:04", "a", clear=False), seen("area_clear", "09:05", "a", clear=True)]
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
    assert results([*only, *pair])["facts"]["set_point_safe"]["status"] == "missing", "neither proves anything"


def test_what_is_stamped_later_than_now_counts_against_the_start_and_proves_nothing(results):
    told = results([*base(), seen("lock", "11:00", lock_id="L9", state="applied")])
    assert told["facts"]["locks_clear"] == {"status": "failed", "by": ["lock.L9.11:00"], "at": at("11:00")}
    assert "I1" in [s["rule"] for s in told["impossible"]]
    for adverse in (
        seen("area_clear", "11:00", clear=False),
        seen("supply", "11:00", state="off"),
        seen("pump_state", "09:10", pump="machine", state="tripped"),
        seen("flow_switch", "09:10", state="not_made"),
        seen("phase_indicator", "09:10", rotation="reversed"),
    ):
        assert results([*base(), adverse])["status"] == "blocked", adverse["kind"]
    without = [o for o in base() if o["kind"] != "area_clear"]
    assert results([*without, seen("area_clear", "09:07", clear=True)])["status"] == "blocked"
    assert results([*without, seen("area_clear", "09:07", clear=True)], "09:08")["status"] == "ready"


def test_what_was_received_has_been_seen(results):
    ahead = seen("flow_switch", "09:30", "ahead", state="not_made", extra={"received_at": at("09:04")})
    assert results([*base(), ahead])["status"] == "blocked"
    again = seen("flow_switch", "09:05", state="made")
    assert results([*base(), ahead, again])["status"] == "ready", "its interval ends when it was received"
    late = seen("flow_switch", "09:05", "late", state="not_made", extra={"received_at": at("09:40")})
    assert results([*base(), late], "09:12")["facts"]["flow_proven"]["status"] == "failed"


def test_when_a_batch_was_sent_widens_and_never_shifts(results):
    without = [o for o in base() if o["kind"] != "area_clear"]
    stamps = {"received_at": at("09:05"), "sent_at": at("09:15")}
    clear = seen("area_clear", "09:04", clear=True, extra=stamps)
    assert results([*without, clear])["status"] == "blocked", "by the service's clock it was 08:54"
    stamps = {"received_at": at("09:05"), "sent_at": at("09:07")}
    assert results([*without, {**clear, **stamps}])["status"] == "ready"


def test_records_of_one_boot_are_ordered_by_sequence_whatever_their_uncertainty(results):
    boot = {"device": "p", "boot": "b", "sent_at": at("09:05"), "received_at": at("09:05")}
    spoiled = seen("flow_switch", "09:03:30", "n1", u=60, state="not_made", extra={**boot, "sequence": 1})
    again = seen("flow_switch", "09:04", "n2", u=60, state="made", extra={**boot, "sequence": 2})
    assert results([*base(), spoiled, again])["status"] == "ready"
    assert results([*base(), {**spoiled, "sequence": 3}, again])["status"] == "blocked"
    alone = [{k: v for k, v in o.items() if k not in ("device", "boot", "sequence")} for o in (spoiled, again)]
    assert results([*base(), *alone])["status"] == "blocked", "without a boot each record stands alone"


def test_a_device_whose_clock_nobody_compared_clears_nothing_of_others(results):
    spoiled = seen("flow_switch", "09:03:30", "n1", state="not_made")
    boot = {"device": "p", "boot": "b", "sequence": 1, "received_at": at("09:05:30")}
    again = seen("flow_switch", "09:04", "n2", state="made", extra=boot)
    assert results([*base(), spoiled, again])["status"] == "blocked"
    assert results([*base(), spoiled, {**again, "sent_at": at("09:05:30")}])["status"] == "ready"
    near = seen("area_clear", "09:04:30", "n3", clear=False, extra={**boot, "sequence": 4})
    clear = seen("area_clear", "09:05", "n4", clear=True, extra={**boot, "sequence": 5})
    assert results([*base(), near, clear])["status"] == "ready", "its own it clears"


def test_corrections(results):
    ann = {"by": "ann"}
    wrong = seen("strainer", "09:02", "s", blown_down=False, extra=ann)
    right = seen("strainer", "09:02", "t", blown_down=True, extra={**ann, "supersedes": "s"})
    assert results([*base(), wrong])["status"] == "blocked"
    told = results([*base(), wrong, right])
    assert told["status"] == "ready"
    assert told["superseded"] == [
        {"id": "s", "by_record": "t", "kind": "supersedes", "first_by": "ann", "then_by": "ann"}
    ]
    for other in ({"by": "bo"}, {}, {"by": "bo", "role": "technician"}):
        refused = {**{k: v for k, v in right.items() if k != "by"}, **other}
        told = results([*base(), {**wrong, "at": at("09:03")}, refused])
        assert told["status"] == "blocked"
        assert told["superseded"] == []
        assert told["corrections_refused"][0]["wanted"] == "s"
    assert results([*base(), wrong, {**right, "by": "bo", "role": "supervisor"}])["status"] == "ready"
    other_kind = seen("leak_check", "09:03", "u", result="dry", extra={**ann, "supersedes": "s"})
    told = results([*base(), wrong, other_kind])
    assert told["status"] == "blocked"
    assert ("I17", ["s", "u"]) in [(s["rule"], s["ids"]) for s in told["impossible"]]
    newer = seen("strainer", "09:03", "v", blown_down=False, extra={**ann, "supersedes": "t"})
    told = results([*base(), wrong, right, newer])
    assert [e["id"] for e in told["timeline"] if e["kind"] == "strainer"] == ["strainer..08:58", "v"]


ADVERSE = [
    seen("supply", "09:03", "x", state="off"),
    seen("area_clear", "09:05", "x", clear=False),
    seen("alarm", "09:00", "x", code="HP", state="active"),
]


@pytest.mark.parametrize("adverse", ADVERSE, ids=lambda o: o["kind"])
def test_nobody_erases_what_another_saw(results, adverse):
    adverse = {**adverse, "by": "ann"}
    good: dict[str, Any] = {
        "supply": {"state": "on"},
        "area_clear": {"clear": True},
        "alarm": {"code": "HP", "state": "cleared"},
    }
    other = {**adverse, "id": "y", "by": "bo", "data": good[adverse["kind"]], "supersedes": "x"}
    assert results([*base(), adverse, other])["status"] == "blocked"
    withdrawal = seen("withdrawn", "09:05:30", "w", reason="wrong machine", extra={"by": "bo", "supersedes": "x"})
    assert results([*base(), adverse, withdrawal])["status"] == "blocked"
    own = results([*base(), adverse, {**withdrawal, "by": "ann"}])
    assert own["status"] == "blocked", "until a good record after the withdrawal"
    assert [e["id"] for e in own["superseded"]] == ["x"]
    fact = {"supply": "energised", "area_clear": "people_clear", "alarm": "no_alarm"}[adverse["kind"]]
    assert own["facts"][fact]["status"] in ("contradicted", "failed")
    again = {**seen(adverse["kind"], "09:05:50", "z", **good[adverse["kind"]])}
    told = results([*base(), adverse, {**withdrawal, "by": "ann"}, again])
    assert told["facts"][fact]["status"] == "established"


def test_a_mistaken_event_is_taken_back_by_its_author_within_ten_minutes(results):
    fill = seen("fill", "09:03", "f", medium="water", purpose="top_up", extra={"by": "ann"})
    back = seen("withdrawn", "09:05", "w", reason="other machine", extra={"by": "ann", "supersedes": "f"})
    assert results([*base(), fill, back])["status"] == "ready"
    old = {**fill, "at": at("08:50")}
    assert results([*base(), old, back])["superseded"] == []
    assert results([*base(), old, {**back, "by": "bo", "role": "supervisor"}])["superseded"] != []


@pytest.mark.parametrize(("clock", "taken"), [("09:12:59", True), ("09:13:01", False)])
def test_after_ten_minutes_its_author_takes_nothing_back(results, clock, taken):
    fill = seen("fill", "09:03", "f", medium="water", purpose="top_up", extra={"by": "ann"})
    back = seen("withdrawn", clock, "w", reason="other machine", extra={"by": "ann", "supersedes": "f"})
    assert bool(results([*base(), fill, back], "09:20")["superseded"]) == taken


def test_a_withdrawal_taken_back_brings_the_record_back(results):
    off = seen("supply", "09:02", "x", state="off", extra={"by": "ann"})
    back = seen("withdrawn", "09:03", "w", reason="mistake", extra={"by": "ann", "supersedes": "x"})
    no = seen("withdrawn", "09:04", "v", reason="it was right", extra={"by": "ann", "supersedes": "w"})
    told = results([*base(), off, back, no])
    assert told["facts"]["energised"]["status"] == "failed"
    assert [e["id"] for e in told["superseded"]] == ["w"]


def test_only_its_owner_takes_a_lock_off(results):
    lock = seen("lock", "08:40", "k", lock_id="L2", state="applied", extra={"by": "ann"})
    off = seen("lock", "08:50", "m", lock_id="L2", state="removed", extra={"by": "bo"})
    told = results([*base(), lock, off])
    assert {b["rule"] for b in told["blocks"]} >= {"R01", "I16"}
    assert results([*base(), lock, {**off, "by": "ann"}])["facts"]["locks_clear"]["status"] == "established"
    record = seen(
        "settled", "09:05", check="I16", records=["k", "m"], found="owner ill", done="source inspected",
        extra={"by": "cy", "role": "supervisor"},
    )  # fmt: skip
    told = results([*base(), lock, off, record])
    assert told["facts"]["locks_clear"]["status"] == "established"
    assert "I16" not in {b["rule"] for b in told["blocks"]}
    assert "R01" in {b["rule"] for b in results([*base(), lock, off, {**record, "role": "technician"}])["blocks"]}


def test_a_ring_of_corrections_corrects_nothing(results):
    ring = [
        seen("strainer", "09:02", "r1", blown_down=False, extra={"by": "ann", "supersedes": "r2"}),
        seen("strainer", "09:03", "r2", blown_down=False, extra={"by": "ann", "supersedes": "r1"}),
    ]
    told = results([*base(), *ring])
    assert told["status"] == "blocked"
    assert ("I17", ["r1", "r2"]) in [(s["rule"], s["ids"]) for s in told["impossible"]]


def test_uncertain_times_count_against_the_start(results):
    doubtful = seen("supply", "08:00", "maybe", state="off", u=600)
    told = results([*base(), doubtful])
    assert told["facts"]["energised"]["status"] == "failed", "it may have gone off at 08:10, after everything else"


def test_clock_offset_is_taken_off(results):
    shifted = [{**o, "at": at("10:04"), "clock_offset": q(1, "h")} if o["kind"] == "area_clear" else o for o in base()]
    told = results(shifted)
    assert told["status"] == "ready"
    assert told["facts"]["people_clear"]["at"] == at("09:04")


# --- losses ------------------------------------------------------------------------------------------------------


def test_an_interruption_of_no_length_still_breaks_the_hour(results):
    told = results([*base(), seen("supply", "08:30", "i", state="interrupted")])
    assert told["warm_up_since"] == at("08:30")


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


LOOP = {"leak_free", "loop_pressurised", "purged", "strainer_clear", "flow_proven"}
HEAT = {"oil_warm", "oil_heaters_working", "flow_proven", "water_warm", "pump_running"}
EVENTS = {
    "drain": (seen("drain", "09:05"), LOOP, "V4"),
    "loop_opened": (seen("loop_opened", "09:05", where="strainer"), LOOP, "V4"),
    "control_switch": (seen("control_switch", "09:05", state="off"), HEAT, "V2"),
    "isolator": (seen("isolator", "09:05", state="open"), HEAT | {"voltage_in_limits", "locks_clear"}, "V1"),
    "pump off": (seen("pump_state", "09:05", pump="machine", state="tripped"), {"flow_proven", "water_warm"}, "V8"),
    "fill": (seen("fill", "09:05", medium="water", purpose="top_up"), {"loop_pressurised"}, "V5"),
    "ground off while connecting is asked": (seen("ground", "09:05", connected=False), {"phase_correct"}, "V3"),
}


@pytest.mark.parametrize("event", EVENTS)
def test_what_an_event_undoes(results, event):
    happened, undone, rule = EVENTS[event]
    more = connected_by_the_book() if event.startswith("ground") else []
    told = results([*base(), *more, happened])
    found = {i["fact"] for i in told["invalidated"]}
    assert found == undone
    assert {(i["by"], i["rule"]) for i in told["invalidated"]} == {(happened["id"], rule)}


def test_a_moved_valve_undoes_the_flow_once_the_valves_are_right(results):
    moved = [
        seen("valve_position", "09:04", valve="return", position="partial"),
        seen("valve_position", "09:05", valve="return", position="open"),
    ]
    told = results([*base(), *moved])
    assert [(b["fact"], b["status"]) for b in told["blocks"]] == [("flow_proven", "invalidated")]
    assert told["invalidated"] == [{"fact": "flow_proven", "by": "valve_position.return.09:05", "rule": "V6"}]


def test_a_move_undoes_nearly_everything(results):
    told = results([*base(), seen("moved", "09:05")])
    kept = {name for name, f in told["facts"].items() if f["status"] == "established"}
    assert kept == {"set_point_safe", "no_alarm", "people_clear"}
    assert {i["rule"] for i in told["invalidated"]} == {"V10"}


def test_low_pressure_lets_air_in(results):
    low = seen("loop_pressure", "08:59:30", pump="off", value=q(14, "psi"))
    good = seen("loop_pressure", "09:01:40", pump="off", value=q(45, "psi"))
    told = results([*base(), low, good])
    assert {"fact": "purged", "by": low["id"], "rule": "V8"} in told["invalidated"]


def test_a_pump_seen_standing_must_prove_flow_again(results):
    told = results([*base(), seen("loop_pressure", "09:04", pump="off", value=q(45, "psi"))])
    assert {b["fact"] for b in told["blocks"]} == {"pump_running", "flow_proven", "water_warm"}
    assert "I19" in {s["rule"] for s in told["impossible"]}


def test_the_way_out_of_a_flow_without_a_pump(results):
    early = seen("flow_switch", "08:46", state="made")
    told = results([*base(), early])
    assert told["facts"]["flow_proven"]["status"] == "contradicted"
    seen_open = seen("flow_switch", "08:47", state="not_made")
    assert results([*base(), early, seen_open])["status"] == "ready"


def test_anti_recycle(results):
    ran = [seen("compressor", "09:04", id="1", state="off")]
    told = results([*base(), *ran])
    assert told["status"] == "wait"
    assert told["waits"] == [{"rule": "anti_recycle", "until": at("09:09")}]
    assert told["earliest_start"] == at("09:09")
    unsure = results([*base(), {**ran[0], "time_uncertainty": q(60, "s")}])
    assert unsure["earliest_start"] == at("09:10"), "the rest counts from the latest instant of the stop"


# --- antifreeze --------------------------------------------------------------------------------------------------

GLYCOL = {"fluid_kind": "propylene_glycol"}


def test_antifreeze(results):
    weak = seen("antifreeze_reading", "09:04", freeze_point=q(-1, "degC"))
    good = seen("antifreeze_reading", "09:05", freeze_point=q(-12, "degC"))
    assert results(base(), configuration=GLYCOL)["facts"]["antifreeze_adequate"]["status"] == "missing"
    told = results([*base(), weak], configuration=GLYCOL)
    assert [b["fact"] for b in told["blocks"]] == ["set_point_safe"], "44 degF less 15 delta_degF is -1.7 degC"
    assert results([*base(), good], configuration=GLYCOL)["status"] == "ready"
    needed = {**GLYCOL, "required_freeze_point": q(-15, "degC")}
    told = results([*base(), good], configuration=needed)
    assert ("antifreeze_adequate", "failed") in [(b["fact"], b["status"]) for b in told["blocks"]]
    still = seen("antifreeze_reading", "08:40", freeze_point=q(-12, "degC"))
    told = results([*base(), still], configuration=GLYCOL)
    assert told["facts"]["antifreeze_adequate"]["status"] == "missing", "a plug of antifreeze is no mixture"
    thinned = results([*base(), good, seen("fill", "09:05:30", medium="water", purpose="top_up")], configuration=GLYCOL)
    assert {"fact": "antifreeze_adequate", "by": "fill..09:05:30", "rule": "V5"} in thinned["invalidated"]


def test_the_freezing_point_that_is_said_is_the_one_read(results):
    told = results([*base(), seen("antifreeze_reading", "09:04", freeze_point=q(-1, "degC"))], configuration=GLYCOL)
    (block,) = told["blocks"]
    assert "44 degF; the mixture freezes at -1.0 degC, margin 15 delta_degF" in str(block)


def test_an_isolator_that_was_opened_and_closed_again_is_closed(results):
    opened, closed = (seen("isolator", clock, state=s) for clock, s in (("07:30", "open"), ("07:31", "closed")))
    assert results([opened, closed, *base()])["status"] == "ready"
    assert "R05" in {b["rule"] for b in results([opened, *base()])["blocks"]}


@pytest.mark.parametrize(
    ("clock", "falls"), [("09:21", False), ("09:21:59", False), ("09:22:01", True), ("09:24", True)]
)
def test_a_pressure_read_soon_after_the_stop_is_no_leak(results, clock, falls):
    """Within 2 min of the stop the loop has not settled: lower than 9 min before proves nothing, of whichever stop."""
    pumps = [
        seen("pump_state", at, pump="machine", state=state)
        for at, state in (("09:10", "off"), ("09:15", "on"), ("09:20", "off"))
    ]
    first = seen("loop_pressure", "09:13", pump="off", value=q(45, "psi"))
    told = results([*base(), *pumps, first, seen("loop_pressure", clock, pump="off", value=q(42, "psi"))], "09:25")
    assert ("R10" in {b["rule"] for b in told["blocks"]}) == falls


def test_mixing_takes_three_turns(results):
    reading = seen("antifreeze_reading", "09:05", freeze_point=q(-12, "degC"))
    slow = {**GLYCOL, "loop_turnover_time": q(2, "min")}
    told = results([*base(), reading], configuration=slow)
    assert told["facts"]["antifreeze_adequate"]["status"] == "missing", "the pump ran for 3 min, 6 are needed"
    assert told["next_action"]["not_before"].startswith(at("09:08")[:16])
    fast = {**GLYCOL, "loop_turnover_time": q(1, "min")}
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
    history = [o for o in base() if not o["data"].get("valve", "").startswith("pump")]
    history = [{**o, "data": {**o["data"], "pump": "site"}} if o["kind"] == "pump_state" else o for o in history]
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
    metered = {**volts(478, 481, 476), "frequency": q(60, "Hz")}
    rows += [seen("line_voltage", "08:04", **metered)]
    configuration = {
        "require_connection_evidence": True, "supply_source": "generator", "rated_frequency": q(60, "Hz")
    }  # fmt: skip
    told = results([*base(), *rows], configuration=configuration)
    assert told["status"] == "ready"
    assert told["may_energise"] is True
    assert len(told["facts"]) == 21 + 8


# --- findings ----------------------------------------------------------------------------------------------------


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


def changed(kind: str, clock: str, **data: Any) -> History:
    return [*base(), seen(kind, clock, **data)]


def dropping(*kinds: str) -> History:
    return [o for o in base() if o["kind"] not in kinds]


STARTED = seen("compressor", "09:05", id="1", state="on")
LOCKED = seen("lock", "07:50", lock_id="L2", state="applied", extra={"by": "ann"})
JOINED = {
    "calculator": "permit.start",
    "title": "Permit",
    "blocks": [
        {"code": "no_permit", "statement": "None.", "do": "Get it.", "short": "Get it", "cleared_by": "the office"}
    ],
}
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
    ("R11", "stop"): ask(changed("purge", "09:01", point="high_point", result="spitting", pump="off")),
    ("R12", "stop"): ask(changed("leak_check", "09:00", result="weep")),
    ("R13", "stop"): ask(base(), configuration=GLYCOL),
    ("R14", "stop"): ask(changed("pump_state", "09:02", pump="machine", state="off")),
    ("R15", "stop"): ask(changed("evaporator_pressure_drop", "09:04", value=q(70, "kPa"))),
    ("R16", "stop"): ask(dropping("strainer")),
    ("R17", "stop"): ask(dropping("set_point")),
    ("R18", "stop"): ask(changed("alarm", "09:00", code="HP", state="active")),
    ("R19", "stop"): ask(changed("area_clear", "09:05", clear=False)),
    ("R20", "check"): ask(base(), "09:04"),
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
    ("R31", "stop"): ask(changed("water_temperature", "09:05", leaving=q(0.5, "degC"))),
    ("I3", "stop"): ask([*changed("supply", "08:30", state="off"), seen("line_voltage", "08:35", **GOOD_VOLTS)]),
    ("I3", "check"): ask(
        [*changed("supply", "08:30", state="off"), seen("line_voltage", "08:35", **GOOD_VOLTS), STARTED]
    ),
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
    ("I10", "check"): ask([*changed("water_temperature", "09:05", leaving=q(-1, "degC")), STARTED]),
    ("I11", "check"): ask(
        [*base(), seen("strainer", "09:02", "s", blown_down=True), seen("flow", "09:02", "s", value=q(9, "L/s"))]
    ),
    ("I12", "check"): ask(changed("compressor", "08:50", id="1", state="on")),
    ("I12", "stop"): ask(
        [*changed("compressor", "08:50", id="1", state="on"), seen("compressor", "08:51", id="1", state="off")]
    ),
    ("I13", "stop"): ask(changed("line_connection", "08:30", **connected_by_the_book()[2]["data"])),
    ("I13", "check"): ask([*changed("ground", "08:30", connected=False), seen("ground", "08:31", connected=True)]),
    ("I14", "stop"): ask(
        [*changed("line_voltage", "08:10", **volts(510, 511, 509)), seen("line_voltage", "08:20", **GOOD_VOLTS)]
    ),
    ("I14", "check"): ask(
        [
            *changed("line_voltage", "08:10", **volts(510, 511, 509)),
            seen("line_voltage", "08:20", **GOOD_VOLTS),
            STARTED,
        ]
    ),
    ("I15", "stop"): ask([*base(), LOCKED]),
    ("I15", "check"): ask([*base(), LOCKED, seen("lock", "09:00", lock_id="L2", state="removed"), STARTED]),
    ("I16", "stop"): ask([*base(), LOCKED, seen("lock", "07:55", lock_id="L2", state="removed", extra={"by": "bo"})]),
    ("I16", "check"): ask(
        [*base(), LOCKED, seen("lock", "07:55", lock_id="L2", state="removed", extra={"by": "bo"}), STARTED]
    ),
    ("I17", "check"): ask(
        [*base(), seen("strainer", "09:02", blown_down=True, extra={"supersedes": "area_clear..09:04"})]
    ),
    ("I18", "check"): ask(changed("plate_check", "09:00", **{**PLATE, "cable_ampacity": q(340, "A")})),
    ("I19", "check"): ask(changed("purge", "09:05", point="high_point", result="steady_water", pump="off")),
    ("N1", "check"): ask(base(), configuration={"required_freeze_point": q(-5, "degC")}),
    ("stop_now", "stop"): ask([*base(), STARTED, seen("pump_state", "09:06", pump="machine", state="tripped")]),
    ("read_again", "check"): ask([*base(), STARTED, seen("evaporator_pressure_drop", "09:05:30", value=q(14, "kPa"))]),
    ("repeated_trips", "stop"): ask([*base(), *resets("08:02", "08:43", "08:59")]),
    ("repeated_trips", "check"): ask([*base(), *resets("08:02", "08:43", "08:59"), STARTED]),
    ("closed", "stop"): ask([*base(), seen("closed", "09:05", reason="swap")]),
    ("switch_not_seen_open", "check"): ask(base()),
    ("rotation_after_outage", "check"): ask(
        [*changed("supply", "08:30", state="off"), seen("supply", "08:31", state="on")]
    ),
    ("joined_block", "stop"): ask(base()) | {"joined": [JOINED]},
    ("anti_recycle", "check"): ask(changed("compressor", "09:03", id="1", state="off")),
    ("supply_on_inferred", "note"): ask(dropping("supply")),
    ("not_observed", "note"): ask([*base(), *connected_by_the_book()]),
    ("two_pumps", "check"): ask(changed("pump_state", "09:02", pump="site", state="on")),
    ("rated_voltage_assumed", "check"): ask(base(), configuration={"rated_voltage": None}),
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
    ("read_in_other_words", "note"): ask(
        changed("valve_position", "08:20", valve="riser cock", position="open", extra={"received_at": at("09:00")})
    ),
    ("input_not_used", "note"): ask(changed("supply", "09:02", state="on", duration=q(5, "s"))),
}


OF_THE_RULES = [q(2, "delta_degF"), 414.0, q(506, "V")]
"""What stands in a sentence and comes from a rule alone: how much colder than its set point water may be, and a tenth below and
above the 460 V that are assumed where no plate is given.
"""


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
        assert answer["results"]["status"] in ("blocked", "stop_now")
    assert list(not_borne_out(answer | {"given": [FOUND[finding], OF_THE_RULES]})) == []


@pytest.mark.parametrize(("standing", "short"), [(False, "Level and chock"), (None, "See that it stands level")])
def test_what_was_seen_wrong_is_mended_and_what_was_not_seen_is_looked_at(results, standing, short):
    rows = [o for o in base() if o["kind"] != "unit_level"]
    rows += [] if standing is None else [seen("unit_level", "09:00", ok=standing)]
    assert results(rows)["next_action"]["short"].startswith(short)


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
    ({"observations": [seen("drain", "09:00", f"n{i}") for i in range(MOST_OBSERVATIONS + 1)]}, "#/observations"),
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
    assert len(KINDS) == len(set(KINDS)) == 47
    assert msgspec.json.schema_components([AnyObservation])
