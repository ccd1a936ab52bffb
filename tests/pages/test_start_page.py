"""What the page of a start says to the person at the machine: what is left to do, and nothing the record does not show.

Common practice, no source; each case is one that a practitioner stumbled over.
"""

import json
import re
from typing import Any

import pytest
from quantity import q
from startup_histories import ask, base, seen

from coldwright.contract.page import Occasion, Sheet
from coldwright.engine.pages import page_of
from coldwright.registry import Registry
from coldwright.service.people.starts import StartCard, line_of
from coldwright.sheets import lay_out, sources_of
from coldwright.sheets.text import as_text

ON = seen("compressor", "09:06", id="1", state="on")
OFF = seen("compressor", "09:12", id="1", state="off")
LOST = seen("supply", "09:10", state="interrupted", duration=q(10, "s"))
STARTED_LATE = seen("compressor", "10:45", id="1", state="on")
PROGRAMS_STAMP = re.compile(r"\d{4}-\d\d-\d\dT")


@pytest.fixture
def start(answer_of: Any, registry: Registry) -> Any:
    """`start(history, clock)`: the results and the page."""
    served, sources = registry.served["readiness.startup"], sources_of(registry)

    def made(history: list[dict[str, Any]], clock: str, **occasion: Any) -> tuple[dict[str, Any], Sheet]:
        answer = answer_of("readiness.startup", ask(history, clock))
        page = page_of(served.local, json.dumps(answer).encode(), Occasion(id="s1", details=True, **occasion))
        assert page is not None
        return answer["results"], lay_out(page, answer, sources, zone=occasion.get("zone", ""))

    return made


def kinds(results: dict[str, Any]) -> list[str]:
    return [t["kind"] for t in results["next_action"]["record"]]


def test_once_every_compressor_is_off_the_machines_own_stop_is_what_is_left(start: Any) -> None:
    results, sheet = start([*base(), ON, LOST], "09:20")
    assert sheet.verdict == "Stop it now"
    assert results["next_action"]["short"] == "Stop compressor 1 now"
    results, sheet = start([*base(), ON, LOST, OFF], "09:20")
    action = results["next_action"]
    assert results["status"] == "stop_now"
    assert "put the machine's own stop in" in sheet.verdict
    assert action["short"] == "Compressor 1 is off: put the machine's own stop in"
    assert "Put the machine's own stop in now, and record it. Find why the supply was lost" in action["do"]
    assert kinds(results) == ["unit_stop"]
    results, _ = start([*base(), ON, LOST, OFF, seen("unit_stop", "09:21", state="stopped")], "09:22")
    assert results["status"] == "blocked", "what was asked for is enough"


def test_an_off_that_can_be_older_than_the_cause_is_asked_for_once_more(start: Any) -> None:
    results, sheet = start([*base(), ON, LOST, {**OFF, "time_uncertainty": q(5, "min")}], "09:20")
    assert sheet.verdict == "Stop it now"
    assert kinds(results) == ["compressor", "unit_stop"]
    assert "not surely later than the cause" in results["next_action"]["do"]


def test_readings_that_are_missing_are_no_pump_that_stopped(start: Any) -> None:
    results, sheet = start([*base(), STARTED_LATE], "10:50")
    action = results["next_action"]
    assert results["status"] == "stop_now", "the verdict stays"
    assert sheet.verdict == "Stop it, or read it again now"
    assert action["do"].startswith("Stop compressor 1 now, or read at once, and again after a minute: flow, pump")
    assert "why the pump stopped" not in action["do"]
    assert "was 102 min old when compressor 1 went on" in action["why"]
    assert {"pump_state", "flow_switch", "evaporator_pressure_drop"} <= set(kinds(results))
    assert action["record"][-1] == {"kind": "compressor", "data": {"id": "1", "state": "off"}, "otherwise": True}
    tripped = seen("pump_state", "10:46", pump="machine", state="tripped")
    results, sheet = start([*base(), STARTED_LATE, tripped], "10:50")
    assert sheet.verdict == "Stop it now"
    assert results["next_action"]["short"] == "Stop compressor 1 now"


def test_reading_twice_a_minute_apart_as_it_says_lets_it_run(start: Any) -> None:
    results, _ = start([*base(), STARTED_LATE], "10:50")
    made = []
    for clock in ("10:51", "10:52"):
        for number, t in enumerate(t for t in results["next_action"]["record"] if not t.get("otherwise")):
            data = t["data"] or {"value": q(35, "kPa")}
            made.append(seen(t["kind"], clock, f"again-{clock}-{number}", **data))
    assert start([*base(), STARTED_LATE, *made], "10:53")[0]["status"] == "running"


def test_a_machine_that_nobody_looked_at_is_overdue_in_the_headline(start: Any) -> None:
    results, sheet = start([*base(), ON], "09:07")
    assert (sheet.verdict, sheet.tone) == ("Running", "good")
    results, sheet = start([*base(), ON], "10:00")
    assert results["status"] == "running"
    # people were last seen at 09:04 and count for 10 min
    assert sheet.verdict == "Running. OVERDUE 46 min: read flow, pump, water, alarms, people"
    assert sheet.tone == "care", "neither green, nor red for age alone"
    assert results["next_action"]["short"] == "Overdue, read now: flow, pump, water, alarms and people"
    assert {"fact": "flow_proven", "due": "2026-05-04T09:18:00Z"} in results["look_again"], "due, not when it was read"
    assert "09:18 UTC: OVERDUE" in as_text(sheet)


def test_what_is_read_with_the_pump_off_is_not_asked_of_a_machine_that_runs(start: Any) -> None:
    results, _ = start([*base(), ON], "23:30")
    assert "loop_pressurised" in results["stale"]
    assert "loop_pressurised" not in {x["fact"] for x in results["look_again"]}


FIRST_RUN = [
    o for o in base() if o["at"] < "2026-05-04T08:57" or o["kind"] in ("lock_check", "alarm_check", "set_point")
]
FIRST_RUN = [{**o, "at": "2026-05-04T08:50:00Z"} if o["at"] > "2026-05-04T08:57" else o for o in FIRST_RUN]


def test_nothing_stops_the_pump_meanwhile_that_the_first_run_needs(start: Any) -> None:
    results, _ = start([o for o in FIRST_RUN if o["kind"] != "strainer"], "08:54")
    action = results["next_action"]
    assert "Let it run with the flow proved until 2026-05-04T08:57:31Z. Then blow the strainer down" in action["do"]
    assert "stop the pump and vent the pump casing and the high point again" in action["do"].replace(
        "the high point and the pump casing", "the pump casing and the high point"
    )
    assert "purge_high_point" not in {m["step_id"] for m in action["meanwhile"]}


def test_a_venting_that_proves_nothing_says_how_it_is_done(start: Any) -> None:
    history = [o for o in FIRST_RUN if o["kind"] not in ("purge", "strainer")]
    running = [
        seen("purge", "08:53:30", point=p, result="steady_water", pump="on") for p in ("pump_casing", "high_point")
    ]
    results, _ = start([*history, *running], "08:54")
    (air,) = (b["statement"] for b in results["blocks"] if b["rule"] == "R11")
    assert "vented with the pump on, which proves nothing; vent it again with the pump off" in air


def test_facts_stand_in_words_of_the_trade_and_times_as_a_watch_shows_them(start: Any) -> None:
    odd = {**ON, "at": "2026-05-04T09:05:32.909839271Z"}
    for history, clock in (
        ([*base(), ON], "10:00"),
        ([*base(), odd, LOST], "09:20"),
        ([*base(), seen("control_switch", "09:05:12.123456789", state="off")], "09:06"),
    ):
        for zone in ("", "America/Denver"):
            _, sheet = start(history, clock, zone=zone)
            text = as_text(sheet)
            words = text[: text.index("SETTINGS OF THIS START")]
            assert not PROGRAMS_STAMP.search(words), PROGRAMS_STAMP.search(words)
            facts = words[words.index("EVERY FACT") :].lower()
            for word in ("invalidated", "established", "stale", "contradicted"):
                assert word not in facts, word
            assert "water warm" not in facts
    assert "water above freezing" in facts


def test_a_time_that_is_over_is_no_time_to_wait_for(start: Any) -> None:
    history = [o for o in base() if o["kind"] != "area_clear"]
    results, sheet = start(history, "09:06")
    assert results["status"] == "blocked"
    assert results["earliest_start"] == "2026-05-04T09:06:00Z"
    assert "The time is up; what is listed below remains." in sheet.lead
    _, sheet = start(history, "09:04")
    assert any(line.startswith("Not before 09:05") for line in sheet.lead)


def test_a_line_of_the_yard_has_one_full_stop_and_a_time_that_is_read() -> None:
    text = "The supply was interrupted at 2026-05-04T09:10:00Z, while a compressor ran."
    assert line_of(text, "2026-05-04T09:20:00Z") == "The supply was interrupted at 09:10 UTC, while a compressor ran"


def test_no_line_for_a_small_screen_is_cut_inside_a_time(start: Any) -> None:
    for history in ([*base(), ON, LOST], [*base(), STARTED_LATE]):
        results, _ = start(history, "10:50")
        for line in results["lines"]:
            assert not re.search(r"\d{4}-\d\d-\d\dT[^Z ]*(?: |$|…)", line), line


def test_a_card_without_an_order_begins_with_what_stands_open() -> None:
    card = StartCard("s", "", "m", "Blocked", "blocked", "bad", "Do it", ("Locks: L1", "by: ann"))
    assert card.more == "Locks: L1. By: ann"
    assert card._replace(booking="INV-1").more == "INV-1. Locks: L1. By: ann"
    assert card._replace(booking="INV-1", lines=()).more == "INV-1"


def test_a_rotation_read_before_a_loss_of_the_supply_is_no_bare_ok(start: Any) -> None:
    """A plain outage of a utility undoes nothing, and asks for the reading again: the table says both."""
    lost = seen("supply", "09:02", state="interrupted", duration=q(10, "s"), cause="outage")
    for history, stands in ((base(), "OK"), ([*base(), lost], "OK before the supply was lost: read it again")):
        _, sheet = start(history, "09:20")
        (facts,) = (part for part in sheet.sections if part.title == "Every fact")
        (row,) = (r for b in facts.blocks for r in getattr(b, "rows", ()) if r[0] == "Phase correct")
        assert row[1] == stands


def test_the_times_of_a_start_say_whose_clock_they_are_of(start: Any) -> None:
    _, sheet = start(base(), "09:06", zone="America/Chicago")
    assert "As of 04:06, " in sheet.lead[0]
    assert sheet.lead[0].endswith("Times are those of America/Chicago.")
    _, sheet = start(base(), "09:06")
    assert "As of 09:06 UTC, " in sheet.lead[0]
