"""The next action of a start: it can be done, is the right one, names its subject, and never contradicts the record.

Common practice, no source; the cases are those that technicians were led astray by.
"""

from typing import Any

import pytest
from quantity import q
from startup_histories import PLATE, ask, base, connected_by_the_book, seen, volts

History = list[dict[str, Any]]
GOOD = volts(478, 481, 476)
PROVED = connected_by_the_book()[0]
EVIDENCE = {"require_connection_evidence": True}


@pytest.fixture
def results(answer_of):
    def of(history: History, clock: str = "09:06", configuration: dict[str, Any] | None = None) -> dict[str, Any]:
        return answer_of("readiness.startup", ask(history, clock, configuration))["results"]

    return of


@pytest.fixture
def action(results):
    def of(history: History, clock: str = "09:06", configuration: dict[str, Any] | None = None) -> dict[str, Any]:
        return results(history, clock, configuration)["next_action"]

    return of


def kinds(action: dict[str, Any]) -> list[str]:
    return [t["kind"] for t in action["record"]]


def test_nothing_is_called_wrong_that_nobody_looked_at(action):
    first = action([], "07:00")
    assert first["step_id"] == "read_data_plate"
    for word in ("wrong", "fit", "good again", "lock"):
        assert word not in first["do"].lower()
    assert "not on record" in first["why"]


REVERSED = [
    seen("unit_level", "07:00", ok=True),
    seen("plate_check", "07:05", **PLATE),
    seen("ground", "07:20", connected=True),
    seen("lock_check", "07:50", none_seen=True),
    seen("supply", "08:00", state="on"),
    seen("line_voltage", "08:02", **GOOD),
    seen("phase_indicator", "08:03", rotation="reversed"),
]


def test_a_reversed_rotation_is_cured_step_by_step(results):
    """Open, lock, prove dead, swap, take the lock off, look for locks, close, read again: no step twice, none left out."""
    steps: list[tuple[str, History]] = [
        ("Open the source", [seen("supply", "08:05", state="off", cause="switched")]),
        ("Lock the open source", [seen("lock", "08:06", lock_id="L1", state="applied", tagged=True)]),
        ("Prove the tester, prove the lines dead", [seen("proved_dead", "08:08", **PROVED["data"])]),
        ("Swap two leads at the source", [seen("leads_swapped", "08:12", where="source")]),
        ("Its owner ann looks at all", [seen("lock", "08:14", lock_id="L1", state="removed")]),
        ("Look again at every place", [seen("lock_check", "08:15", none_seen=True)]),
        ("See that the work on the lines is done", [seen("supply", "08:16", state="on")]),
    ]
    history = list(REVERSED)
    for number, (words, done) in enumerate(steps):
        told = results(history, f"08:{16 + number}")
        assert words in told["next_action"]["do"], (words, told["next_action"]["do"])
        assert "control switch on" not in told["next_action"]["do"]
        assert told.get("may_energise", True) is (number >= len(steps) - 2), "not before swap and lock are done with"
        history += done
    told = results([*history, seen("control_switch", "08:17", state="on")], "08:30")
    assert told["next_action"]["do"].startswith("Measure the three line voltages")


def test_reversed_with_a_compressor_running_stops_it_first(action):
    told = action(
        [
            *base(),
            seen("compressor", "09:05", id="1", state="on"),
            seen("phase_indicator", "09:05:30", rotation="reversed"),
        ]
    )
    assert told["do"].startswith("Stop compressor 1 now. With the machine's own stop")
    assert "never at the leads" in told["do"]


def test_locked_and_proved_dead_with_work_to_do_is_not_sent_to_take_the_lock_off(action):
    history = [
        seen("unit_level", "07:00", ok=True),
        seen("plate_check", "07:05", **PLATE),
        seen("supply", "07:05", state="off"),
        seen("lock", "07:06", lock_id="L1", state="applied", tagged=True),
        PROVED,
    ]
    told = action(history, "07:12", EVIDENCE)
    assert told["step_id"] == "connect_ground"
    assert "off" not in told["short"]
    told = action([*history, seen("ground", "07:13", connected=True)], "07:14", EVIDENCE)
    assert told["do"].startswith("Connect the machine end, then the source end: ground first")
    assert "line_connection" in kinds(told)


def test_a_loss_of_supply_asks_for_its_cause_before_anything_is_closed(action):
    history = [*base(), seen("supply", "09:03", state="off", cause="trip"), seen("lock_check", "09:04", none_seen=True)]
    told = action(history)
    assert told["do"].startswith("Ask why the supply went off")
    assert told["do"].index("look for the fault") < told["do"].index("close the source")
    assert told["causes"][0]["look_at"].startswith("Breaker tripped")


def test_a_pump_trip_asks_for_its_cause_first(action):
    told = action([*base(), seen("pump_state", "09:05", pump="machine", state="tripped")])
    assert told["step_id"] == "start_pump"
    assert told["do"].index("cause") < told["do"].index("start it")
    assert len(told["causes"]) >= 3


def test_a_site_pump_that_cannot_stop_is_proved_another_way(action):
    site = {"pump_mode": "site_pump", "site_pump_stops": False}
    valves = [("pump_suction", "closed"), ("pump_discharge", "closed"), ("pump_bypass", "open")]
    history = [o for o in base() if o["at"] < "2026-05-04T08:30" and not o["data"].get("valve", "").startswith("pump")]
    history += [seen("valve_position", "08:15", valve=v, position=p) for v, p in valves]
    history.append(seen("lock_check", "07:50", none_seen=True))
    history += [
        seen("valve_position", "08:20", valve="fill", position="closed"),
        seen("pump_state", "08:21", pump="site", state="on"),
    ]
    told = action(history, "08:30", site)
    assert "this pump cannot be stopped" in told["do"]
    assert {"kind": "loop_pressure", "data": {"pump": "on", "gauge": "suction"}} in told["record"]


def test_the_fill_valve_is_open_while_the_loop_is_filled(action):
    history = [o for o in base() if o["at"] < "2026-05-04T08:16"]
    history.append(seen("valve_position", "08:15:30", valve="fill", position="open"))
    history.append(seen("lock_check", "07:50", none_seen=True))
    told = action(history, "08:16")
    assert told["step_id"] == "fill_loop"


def test_a_switch_that_is_not_made_says_what_to_look_at_first(action):
    low = [
        seen("flow_switch", "09:04", state="not_made"),
        seen("evaporator_pressure_drop", "09:04", value=q(4, "kPa")),
    ]
    told = action([*base(), *low])
    assert told["causes"][0]["look_at"] == "Strainer clogged"
    assert kinds(told)[0] == "strainer_pressure_drop"
    told = action([*base(), *low, seen("strainer_pressure_drop", "09:05", value=q(60, "kPa"))])
    assert told["step_id"] == "blow_down_strainer"


def test_an_opened_strainer_is_closed_and_filled_before_anybody_looks_for_leaks(action):
    told = action([*base(), seen("loop_opened", "09:05", where="strainer")])
    assert told["do"].startswith("Close up what was opened")
    assert kinds(told)[-3:] == ["fill", "valve_position", "loop_pressure"]
    assert "leak" not in told["short"]


def test_a_lock_of_somebody_who_left_has_a_second_way(action):
    lock = seen("lock", "07:50", "l9", lock_id="L9", state="applied", extra={"by": "ash"})
    off = [seen("supply", "07:45", state="off")]
    history = [o for o in base() if o["kind"] not in ("line_voltage", "phase_indicator", "supply")]
    told = action([*history, *off, lock], "08:30")
    assert told["subject"] == "lock L9 of ash"
    own, other = told["record"][:2]
    assert (own["kind"], own["by"], own["data"]["state"]) == ("lock", "ash", "removed")
    assert (other["kind"], other["otherwise"]) == ("settled", True)
    assert other["data"] == {"check": "R01", "records": ["l9"]}


def test_every_action_of_a_day_is_short_and_names_its_subject(results):
    done: History = []
    for observation in sorted(base(), key=lambda o: o["at"]):
        done.append(observation)
        told = results(done, observation["at"][11:19])["next_action"]
        assert 0 < len(told["short"]) <= 60
        assert told["subject"]


OPEN_CHECKS = {
    "I12": [seen("compressor", "08:50", id="1", state="on"), seen("compressor", "08:51", id="1", state="off")],
    "I10": [
        seen("water_temperature", "09:04", leaving=q(-1, "degC")),
        seen("water_temperature", "09:05", leaving=q(8, "degC"), entering=q(8, "degC")),
    ],
    "I14": [seen("line_voltage", "08:01", **volts(530, 531, 529))],
    "I15": [
        seen("lock", "08:01", lock_id="L9", state="applied"),
        seen("lock", "08:58", lock_id="L9", state="removed"),
    ],
    "I16": [
        seen("lock", "07:10", lock_id="L9", state="applied", extra={"by": "ash"}),
        seen("lock", "07:30", lock_id="L9", state="removed", extra={"by": "bo"}),
    ],
    "repeated_trips": [
        seen("alarm", clock + second, code="HP", state=state)
        for clock in ("08:10", "08:20", "08:30")
        for second, state in ((":00", "active"), (":30", "cleared"))
    ],
}


@pytest.mark.parametrize("check", OPEN_CHECKS)
def test_a_check_whose_text_forbids_a_start_forbids_it_until_a_record_settles_it(results, check):
    history = [*base(), *OPEN_CHECKS[check]]
    told = results(history, "09:10" if check == "I12" else "09:06")
    assert told["status"] == "blocked"
    assert check in {b["rule"] for b in told["blocks"]}
    ids = sorted({i for c in told["open_checks"] if c["code"] == check for i in c["ids"]})
    settling = [t["data"] for t in told["next_action"]["record"] if t["kind"] == "settled"]
    assert [d for d in settling if d["check"] != check] or settling == [{"check": check, "records": ids}]
    role = next(c["role"][0] for c in told["open_checks"] if c["code"] == check)
    record = seen(
        "settled",
        "09:05:30",
        "s",
        found="looked",
        done="put right",
        extra={"by": "cy", "role": role},
        check=check,
        records=ids,
    )
    after = results([*history, record], "09:10" if check == "I12" else "09:06")
    assert check not in {b["rule"] for b in after["blocks"]}
    fewer = {**record, "data": {**record["data"], "records": ["something else"]}}
    assert check in {b["rule"] for b in results([*history, fewer])["blocks"]}
    unqualified = {**record, "role": "lift_team"}
    assert check in {b["rule"] for b in results([*history, unqualified])["blocks"]}
    taken_back = seen("withdrawn", "09:05:40", "w", reason="too early", extra={"by": "cy", "supersedes": "s"})
    assert check in {b["rule"] for b in results([*history, record, taken_back])["blocks"]}


def test_what_was_found_wrong_is_recorded_by_its_own_label(action):
    """What is told to be recorded can be recorded: an item that is none of the list needs its label."""
    wrong = seen("machine_check", "09:02", item="other", label="belt guard", ok=False)
    told = action([*base(), wrong])
    assert {"kind": "machine_check", "data": {"item": "other", "label": "belt guard", "ok": True}} in told["record"]
    listed = action([*base(), seen("machine_check", "09:02", item="refrigerant_valves_open", ok=False)])
    assert {"kind": "machine_check", "data": {"item": "refrigerant_valves_open", "ok": True}} in listed["record"]
