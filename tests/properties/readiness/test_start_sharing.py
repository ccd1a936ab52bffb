"""What other starts of one source or loop say: it speaks against a start and never for it. Common practice, no source."""

import random
from typing import Any

import msgspec
import pytest
from hypothesis import given as forall
from hypothesis import strategies as st
from startup_histories import ask, base, generated, seen

from coldwright.contract.evaluation import evaluate
from coldwright.contract.reading import read
from coldwright_readiness.startup import startup

SEVERITY = ("ready", "wait", "blocked", "running", "stop_now")
NAMES = {"source": "panel 3", "loop": "north loop"}


def judge(request: dict[str, Any]) -> Any:
    return evaluate(startup, read(startup.given, msgspec.json.encode(request))).results


def rank(status: str) -> int:
    return SEVERITY.index("ready" if status == "ended" else status)


@forall(st.integers(0, 10**9), st.integers(0, 10**9))
def test_shared_records_never_make_an_answer_milder(seed, other):
    request = generated(seed)
    records = [r | {"id": f"other/{r['id']}"} for r in generated(other)["observations"]]
    shared = random.Random(seed).sample(records, k=min(len(records), 5))
    assert rank(judge(request | {"shared": shared}).status) >= rank(judge(request).status)


def test_a_whole_day_of_another_start_establishes_nothing():
    results = judge(ask([]) | {"shared": base()})
    assert results.status == "blocked"
    assert not any(f.status == "established" for f in results.facts.values())


@pytest.mark.parametrize(
    "good", [o for o in base() if o["kind"] in ("supply", "lock_check", "alarm_check", "area_clear")]
)
def test_a_good_record_of_another_start_stands_in_for_none(good):
    without = [o for o in base() if o["kind"] != good["kind"]]
    assert judge(ask(without) | {"shared": [good]}).status == judge(ask(without)).status


def test_what_is_shared_is_named_only_where_the_set_up_names_its_source_or_loop():
    against = [seen("supply", "09:05", "off", state="off"), seen("drain", "09:05", "drained")]
    assert judge(ask([*base(), *against])).shares == ()
    found = {s.field: set(s.ids) for s in judge(ask([*base(), *against], configuration=NAMES)).shares}
    assert found["source"] == {"off"}
    assert "drained" in found["loop"]


@pytest.mark.parametrize("position", ["open", "closed", "partial"])
@pytest.mark.parametrize("in_flow_path", [True, False])
def test_a_valve_of_the_header_is_named_where_it_does_not_stand_open_in_the_way_of_the_flow(position, in_flow_path):
    valve = {"valve": "other", "label": "header", "in_flow_path": in_flow_path, "position": position}
    named = judge(ask([*base(), seen("valve_position", "09:00", "header", **valve)], configuration=NAMES)).shares
    ids = {id_ for s in named if s.field == "loop" for id_ in s.ids}
    assert ("header" in ids) == (in_flow_path and position != "open")


@pytest.mark.parametrize("own_breaker", [True, False])
@pytest.mark.parametrize("whole_source", [True, False, None])
def test_only_what_says_that_it_is_of_one_breaker_stays_with_a_machine_that_has_one(own_breaker, whole_source):
    said = {} if whole_source is None else {"whole_source": whole_source}
    against = [seen("supply", "09:05", "off", state="off", **said)]
    named = judge(ask([*base(), *against], configuration=NAMES | {"own_breaker": own_breaker})).shares
    kept_apart = own_breaker and whole_source is False
    assert [s.ids for s in named if s.field == "source"] == ([] if kept_apart else [("off",)])


def test_who_works_behind_a_breaker_of_one_machine_is_asked_to_leave_the_others_on():
    reversed_ = [o for o in base() if o["kind"] != "phase_indicator"]
    reversed_.append(seen("phase_indicator", "08:03", rotation="reversed"))
    for own in (False, True):
        action = judge(ask(reversed_, configuration=NAMES | {"own_breaker": own})).next_action
        assert action.short == "Rotation reversed: open the source"
        assert ("leave those of the other machines" in action.do) == own
        assert [t.data.get("whole_source") for t in action.record] == [False if own else None]


def test_a_stop_says_that_another_machine_recorded_it():
    shared = [seen("supply", "09:05", "other/off", state="off")]
    looked = seen("lock_check", "09:05:30", none_seen=True)
    results = judge(ask([*base(), looked], configuration=NAMES) | {"shared": shared})
    assert "the supply was off at 2026-05-04T09:05:00Z, as recorded at another machine" in str(results.blocks)
    assert "whoever recorded it corrects that there" in results.next_action.do
    running = [*base(), seen("compressor", "09:04:30", "on", id="1", state="on")]
    stopped = judge(ask(running, configuration=NAMES) | {"shared": shared})
    assert stopped.status == "stop_now"
    assert ", as recorded at another machine, while a compressor ran." in stopped.next_action.why


def test_what_was_put_right_again_is_not_shared():
    right = [
        seen("lock", "09:00", "on", lock_id="L7", state="applied"),
        seen("lock", "09:01", "gone", lock_id="L7", state="removed"),
        seen("valve_position", "09:02", "open", valve="drain", position="open"),
        seen("valve_position", "09:03", "shut", valve="drain", position="closed"),
        seen("leak_check", "08:51", "weeps", result="weep"),
        seen("leak_check", "08:57", "dry", result="dry"),
    ]
    named = {i for s in judge(ask([*base(), *right], configuration=NAMES)).shares for i in s.ids}
    assert not named & {"on", "gone", "open", "shut", "weeps", "dry"}


def test_what_came_from_others_goes_to_nobody_else():
    shared = [
        seen("supply", "09:05", "other/off", state="off"),
        seen("lock", "09:05", "other/on", lock_id="L1", state="applied"),
    ]
    results = judge(ask(base(), configuration=NAMES) | {"shared": shared})
    assert not [i for s in results.shares for i in s.ids if i.startswith("other/")]
    assert not [i for i in results.carries if i.startswith("other/")]


@pytest.mark.parametrize("kind", ["observations", "carried"])
def test_a_record_of_ones_own_under_the_same_id_hides_nothing(kind):
    shared = [seen("supply", "09:05", "other/off", state="off")]
    own = seen("supply", "09:05", "other/off", state="on")
    records = base()
    request = ask([*records, own] if kind == "observations" else records) | {"shared": shared}
    request |= {"carried": [own]} if kind == "carried" else {}
    assert judge(request).status == "blocked"


SHARED = {
    "source": (
        seen("supply", "09:05", "x", state="off"),
        seen("supply", "09:00", "x", state="interrupted", duration={"value": 5, "unit": "s"}),
        seen("transfer_interlock", "09:00", "x", ok=False),
        seen("lock_check", "09:05", "x", none_seen=False),
        seen("lock", "09:05", "x", lock_id="L8", state="applied"),
        seen("area_clear", "09:05", "x", clear=False, where="leads"),
        seen("area_clear", "09:05", "x", clear=False, where="open_guards"),
    ),
    "loop": (
        seen("leak_check", "09:05", "x", result="weep"),
        seen("pump_state", "09:05", "x", pump="site", state="off"),
        seen("valve_position", "09:05", "x", valve="fill", position="open"),
        seen("valve_position", "09:05", "x", valve="drain", position="partial"),
        seen("loop_opened", "09:05", "x"),
        seen("antifreeze_charge", "09:05", "x"),
        seen("fill", "09:05", "x", medium="water", purpose="top_up"),
    ),
    "": (
        seen("supply", "09:05", "x", state="on"),
        seen("control_switch", "09:05", "x", state="off"),
        seen("area_clear", "09:05", "x", clear=False, where="fans"),
        seen("pump_state", "09:05", "x", pump="machine", state="off"),
        seen("valve_position", "09:05", "x", valve="return", position="closed"),
        seen("leak_check", "09:05", "x", result="dry"),
    ),
}
"""What others must hear of, by the source or the loop that they share, and what concerns one machine alone."""


@pytest.mark.parametrize(
    ("field", "record"),
    [(f, r) for f, many in SHARED.items() for r in many],
    ids=lambda v: v if isinstance(v, str) else v["kind"],
)
def test_what_others_of_the_same_source_or_loop_hear_of(field, record):
    shares = judge(ask([*base(), record], configuration=NAMES)).shares
    assert [s.field for s in shares if "x" in s.ids] == ([field] if field else [])


@pytest.mark.parametrize(
    ("bad", "good"),
    [
        (seen("transfer_interlock", "09:00", "x", ok=False), seen("transfer_interlock", "09:01", ok=True)),
        (seen("lock_check", "09:04", "x", none_seen=False), seen("lock_check", "09:05", none_seen=True)),
        (
            seen("lock", "09:04", "x", lock_id="L8", state="applied"),
            seen("lock", "09:05", lock_id="L8", state="removed"),
        ),
        (seen("area_clear", "09:04:10", "x", clear=False, where="leads"), seen("area_clear", "09:05", clear=True)),
        (seen("leak_check", "09:04", "x", result="leak"), seen("leak_check", "09:05", result="dry")),
        (
            seen("valve_position", "09:04", "x", valve="fill", position="open"),
            seen("valve_position", "09:05", valve="fill", position="closed"),
        ),
    ],
    ids=lambda record: record["kind"],
)
def test_what_stands_no_more_is_not_named_to_others(bad, good):
    for more, named in (([bad], True), ([bad, good], False)):
        shares = judge(ask([*base(), *more], configuration=NAMES)).shares
        assert any("x" in s.ids for s in shares) == named


@pytest.mark.parametrize("clocks", [("07:30", "09:05"), ("09:05", "07:30")])
def test_of_a_record_that_comes_by_two_ways_the_later_counts(clocks):
    shared = [seen("supply", clock, "same", state="off") for clock in clocks]
    assert judge(ask(base()) | {"shared": shared}).status == "blocked"
    assert judge(ask(base()) | {"shared": [seen("supply", "07:30", "same", state="off")]}).status == "ready"
