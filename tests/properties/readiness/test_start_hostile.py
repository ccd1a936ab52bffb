"""Histories written by hand to mislead: each advice is obeyed to the letter, and none is wrong, circular or dangerous.

Common practice, no source. All invented.
"""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from quantity import q
from startup_histories import GOOD_VOLTS, HOSE_GOOD, ask, base, seen

History = list[dict[str, Any]]
Results = Callable[..., dict[str, Any]]
ON = seen("compressor", "09:06", "on", id="1", state="on")
CANNOT_STOP = {"pump_mode": "site_pump", "site_pump_stops": False}


@pytest.fixture
def results(answer_of) -> Results:
    def of(history: History, clock: str = "09:06", configuration: dict[str, Any] | None = None) -> dict[str, Any]:
        return answer_of("readiness.startup", ask(history, clock, configuration))["results"]

    return of


def templates(action: dict[str, Any]) -> list[tuple[str, Any]]:
    return [(t["kind"], t["data"].get("state", t["data"].get("pump"))) for t in action["record"]]


def rules(told: dict[str, Any]) -> set[str]:
    return {b["rule"] for b in told["blocks"]}


def by(person: str, role: str) -> dict[str, Any]:
    return {"extra": {"by": person, "role": role}}


def obeyed(results: Results, history: History, at: datetime, steps: int) -> list[str]:
    """Follows the advice with a good reading each time, never before it counts; the short form of each."""
    values = {
        "line_voltage": GOOD_VOLTS, "loop_pressure": {"value": q(45, "psi")}, "evaporator_pressure_drop": {"value": q(35, "kPa")},
        "water_temperature": {"entering": q(54, "degF"), "leaving": q(54, "degF")},
    }  # fmt: skip
    said = []
    for _ in range(steps):
        told = results(history, at.strftime("%H:%M:%S"))
        action = told["next_action"]
        said.append(action["short"])
        if told["status"] in ("ready", "wait"):
            return said
        if "not_before" in action:
            at = max(at, datetime.fromisoformat(action["not_before"]))
        for template in action["record"]:
            at += timedelta(seconds=20)
            data = values.get(template["kind"], {}) | template["data"]
            made = seen(template["kind"], at.strftime("%H:%M:%S"), f"o{len(history)}", **data)
            history.append(made | {k: template[k] for k in ("by", "role") if k in template})
        at += timedelta(seconds=10)
    raise AssertionError(f"not there: {said}")


def test_a_trip_has_a_cause_whatever_was_read_with_the_pump_off_since(results):
    tripped = [
        *base(),
        seen("pump_state", "09:04", "trip", pump="machine", state="tripped"),
        seen("loop_pressure", "09:05", "p", pump="off", value=q(45, "psi")),
    ]
    action = results(tripped)["next_action"]
    assert action["short"] == "Pump tripped: find the cause before a restart"
    switched_off = [*tripped, seen("pump_state", "09:05:30", "off", pump="machine", state="off")]
    assert results(switched_off)["next_action"]["short"] == action["short"]
    started = [*switched_off, seen("pump_state", "09:05:50", "again", pump="machine", state="on")]
    assert "trip" not in results(started)["next_action"]["short"]


def test_what_is_looked_for_during_an_interruption_is_not_asked_for_again_and_again(results):
    gap = seen("supply", "08:50", "gap", state="interrupted", duration=q(30, "min"), cause="storm")
    action = results([*base(), gap])["next_action"]
    assert action["short"] == "Supply interrupted: find out why"
    assert action["not_before"] == "2026-05-04T09:20:00Z"


def test_a_fall_of_pressure_is_cured_by_two_readings_each_asked_for_when_it_counts(results):
    fell = [
        seen("loop_pressure", f"08:{m}", f"p{m}", pump="off", value=q(v, "psi"))
        for m, v in ((46, 46), (49, 43), (51, 41))
    ]
    said = obeyed(results, [*base(), *fell], datetime(2026, 5, 4, 9, 6, tzinfo=UTC), 12)
    assert said[:3] == [
        "Pressure falls: pump off, find the leak",
        "Pressure falls: find the leak, read twice",
        "Read the pressure again, 10 min after the first",
    ]


def test_a_switch_seen_open_before_the_pump_was_started_is_no_fault(results):
    seen_open = [
        *base(),
        seen("pump_state", "09:04", "off", pump="machine", state="off"),
        seen("flow_switch", "09:04:30", "none", state="not_made"),
        seen("evaporator_pressure_drop", "09:04:30", "zero", value=q(0, "kPa")),
        seen("pump_state", "09:05", "again", pump="machine", state="on"),
    ]
    told = results(seen_open)
    assert told["next_action"]["short"] == "See the switch made, read the drop"
    assert told["next_action"]["causes"] == []
    flow = next(b["statement"] for b in told["blocks"] if b["rule"] == "R15")
    assert "before the pump was started" in flow
    lost = [*seen_open, seen("flow_switch", "09:05:30", "lost", state="not_made")]
    assert results(lost)["next_action"]["short"] == "Flow switch wrong: find the cause"


@pytest.mark.parametrize("valve", ["fill", "drain"])
def test_a_valve_that_lets_liquid_in_or_out_has_the_pressure_read_again(results, valve):
    moved = [
        *base(),
        seen("valve_position", "09:04", "open", valve=valve, position="open"),
        seen("valve_position", "09:05", "shut", valve=valve, position="closed"),
    ]
    told = results(moved)
    assert rules(told) == {"R10"}
    assert f"the {valve} valve was not closed at" in told["blocks"][0]["statement"]


@pytest.mark.parametrize(
    "wrong",
    [
        seen("hose_connection", "09:05", "lever", end="machine_inlet", **{**HOSE_GOOD, "lever_locked": False}),
        seen("loop_opened", "09:05", "burst", where="hose at machine inlet"),
    ],
)
def test_no_hand_at_a_coupling_while_the_pump_runs(results, wrong):
    action = results([*base(), wrong])["next_action"]
    assert action["do"].startswith("Stop the pump first.")
    assert templates(action)[0] == ("pump_state", "off")
    unstopped = results([wrong, seen("pump_state", "09:00", "site", pump="site", state="on")], "09:06", CANNOT_STOP)
    assert "off" not in {state for _, state in templates(unstopped["next_action"])}


def test_a_drained_loop_is_filled_with_the_pump_off(results):
    action = results([*base(), seen("drain", "09:05", "gone")])["next_action"]
    assert action["short"] == "Pump off: fill the loop"
    assert [kind for kind, _ in templates(action)] == ["pump_state", "fill"]


def test_ice_is_looked_for_before_liquid_is_driven_through_the_evaporator(results):
    cold = [
        *base(),
        seen("water_temperature", "09:04", "ice", entering=q(31.5, "degF"), leaving=q(31, "degF")),
        seen("pump_state", "09:05", "off", pump="machine", state="off"),
    ]
    told = results(cold)
    assert {"I10", "R14"} <= rules(told)
    assert told["next_action"]["subject"] == "evaporator"


def test_nobody_works_on_lines_that_a_second_source_can_feed(results):
    set_up = {"require_connection_evidence": True, "transfer_switch": True}
    early = [o for o in base() if o["at"] < "2026-05-04T07:30:00Z" and o["kind"] != "lock"]
    apart = seen("transfer_interlock", "07:25", "apart", ok=False, **by("kim", "electrician"))
    assert results([*early, apart], "07:30", set_up)["next_action"]["short"] == "Put the transfer equipment right"


def test_work_at_the_leads_is_under_a_lock_of_ones_own(results):
    history = [o for o in base() if o["at"] < "2026-05-04T08:03:00Z"] + [
        seen("phase_indicator", "08:03", rotation="reversed"),
        seen("supply", "08:10", "off", state="off", cause="switched"),
        seen("lock", "08:11", "l5", lock_id="L5", state="applied", **by("ash", "site")),
    ]
    proof = results(history, "08:15")["next_action"]
    assert "a lock of their own on (on record: L5 of ash)" in proof["do"]
    proved = seen("proved_dead", "08:16", dead=True, tester_proved_before=True, tester_proved_after=True)
    swap = results([*history, proved], "08:17")["next_action"]
    assert swap["short"] == "Swap two leads at the source"
    assert "a lock of their own on (on record: L5 of ash)" in swap["do"]


def test_a_lost_phase_that_was_found_is_not_looked_for_again(results):
    found = [
        *base(),
        seen("phase_indicator", "09:04", "lost", rotation="missing_phase"),
        seen("supply", "09:05", "back", state="on"),
        seen("lock_check", "09:05:10", "looked", none_seen=True),
        seen("line_voltage", "09:05:20", "volts", **GOOD_VOLTS),
    ]
    assert results(found)["next_action"]["short"] == "Volts are right: read the rotation again"


def test_a_moved_machine_is_not_asked_why_its_supply_went_off(results):
    moved = [
        *base(),
        seen("moved", "09:04", "moved"),
        *(o | {"id": f"again-{o['id']}", "at": "2026-05-04T09:05:00Z"} for o in base()
          if o["kind"] in ("unit_level", "plate_check", "ground", "lock_check")),
    ]  # fmt: skip
    action = results(moved)["next_action"]
    assert action["short"] == "Moved: see its cable, then close the source"


def test_a_rest_of_the_compressor_is_not_called_oil_heat(results):
    rested = [*base(), seen("compressor", "09:04:30", "off", id="1", state="off")]
    told = results(rested)
    assert (told["status"], told["next_action"]["subject"]) == ("wait", "rest of the compressor")
    assert "oil" not in told["next_action"]["do"]


def test_a_stop_that_was_put_in_comes_out_before_the_start(results):
    stopped = seen("unit_stop", "09:04:30", "in", state="stopped")
    told = results([*base(), stopped])
    assert told["status"] == "ready"
    assert templates(told["next_action"]) == [("unit_stop", "enabled"), ("compressor", "on")]
    out = seen("unit_stop", "09:05", "out", state="enabled")
    assert templates(results([*base(), stopped, out])["next_action"]) == [("compressor", "on")]


def test_a_start_that_was_closed_while_it_runs_is_asked_about_and_comes_to_its_end(results):
    history = [*base(), ON, seen("closed", "09:10", "closed", reason="swap")]
    told = results(history, "09:11")
    assert told["status"] == "running"
    assert told["next_action"]["short"] == "Closed, yet compressor 1 on: see what runs"
    history.append(seen("compressor", "09:11", "stands", id="1", state="off"))
    told = results(history, "09:12")
    assert told["status"] == "blocked"
    assert told["next_action"]["short"] == "Start closed: open the source, record it"
    history.append(seen("supply", "09:12", "opened", state="off", cause="switched"))
    assert results(history, "09:13")["status"] == "ended"


def test_a_stop_says_why_in_words_of_its_own_cause(results):
    amps = results([*base(), seen("compressor", "09:05", "amps", id="1", state="off", current=q(80, "A"))])
    assert "runs without a record is watched by nobody" in amps["next_action"]["why"]
    lost = results([*base(), ON, seen("phase_indicator", "09:20", "lost", rotation="missing_phase")], "09:21")
    assert "On two lines a motor does not turn" in lost["next_action"]["why"]
    assert "backwards" not in lost["next_action"]["why"]


def test_a_pump_that_cannot_be_stopped_is_never_said_to_be_off(results):
    connected = [
        o for o in base() if o["at"] < "2026-05-04T08:16:00Z" and not o["id"].startswith("valve_position.pump")
    ]
    connected.append(seen("lock_check", "08:15", "looked", none_seen=True))
    pump = seen("pump_state", "08:16", "site", pump="site", state="on")
    idle = [
        seen("valve_position", "08:15", valve=f"pump_{v}", position=p)
        for v, p in (("suction", "closed"), ("discharge", "closed"), ("bypass", "open"))
    ]
    shut = seen("valve_position", "08:15", "shut", valve="fill", position="closed")
    filling = results([*connected, *idle, shut, pump], "08:17", CANNOT_STOP)["next_action"]
    assert filling["short"] == "Fill the loop"
    assert "pump off" not in filling["do"]
    filled = [*connected, *idle, shut, pump, seen("fill", "08:18", medium="water", purpose="first_fill")]
    reading = results(filled, "08:19", CANNOT_STOP)["next_action"]
    assert reading["short"] == "Read the pressure, pump on, suction"
    assert "off" not in reading["subject"]
    not_on = results([o for o in filled if o is not pump], "08:19", CANNOT_STOP)["next_action"]
    assert not_on["short"] == "See that the site's pump runs"
