"""A machine that runs: `running`, `stop_now` that never lapses, the way back, and the end. Common practice, no source."""

from typing import Any

import pytest
from quantity import q
from startup_histories import ask, at, base, seen, volts

History = list[dict[str, Any]]
ON = seen("compressor", "09:06", id="1", state="on")
OFF = seen("compressor", "09:12", id="1", state="off")
STOPPED = seen("unit_stop", "09:12:30", state="stopped")


@pytest.fixture
def results(answer_of):
    def of(history: History, clock: str, configuration: dict[str, Any] | None = None) -> dict[str, Any]:
        return answer_of("readiness.startup", ask([*base(), ON, *history], clock, configuration))["results"]

    return of


def test_a_machine_that_runs_well_is_never_red_for_age(results):
    for clock in ("09:07", "09:20", "10:00", "13:30", "23:00"):
        told = results([], clock)
        assert told["status"] == "running"
        assert told["blocks"] == []
        assert told["look_again"] == sorted(told["look_again"], key=lambda x: x["due"])
    assert told["may_start_next"] == {"allowed": False, "reason": "Every compressor is on."}


AT_ONCE = {
    "switch not made": (seen("flow_switch", "09:10", state="not_made"), False),
    "pump tripped": (seen("pump_state", "09:10", pump="machine", state="tripped"), True),
    "pump seen standing": (seen("purge", "09:10", point="coil", result="steady_water", pump="off"), True),
    "drop gone": (seen("evaporator_pressure_drop", "09:10", value=q(1, "kPa")), False),
    "reversed": (seen("phase_indicator", "09:10", rotation="reversed"), True),
    "phase missing": (seen("phase_indicator", "09:10", rotation="missing_phase"), True),
    "voltage far off": (seen("line_voltage", "09:10", **volts(385, 386, 385)), False),
    "unbalanced": (seen("line_voltage", "09:10", **volts(478, 440, 430)), False),
    "water freezing": (seen("water_temperature", "09:10", leaving=q(34, "degF")), False),
    "supply off": (seen("supply", "09:10", state="off"), True),
    "supply interrupted": (seen("supply", "09:10", state="interrupted", duration=q(10, "s")), True),
    "lock": (seen("lock", "09:10", lock_id="L9", state="applied"), True),
    "opened": (seen("loop_opened", "09:10"), True),
    "leaking": (seen("leak_check", "09:10", result="leak"), True),
    "alarm": (seen("alarm", "09:10", code="HP", state="active"), True),
    "somebody at the fans": (seen("area_clear", "09:10", clear=False, where="fans"), False),
    "valve shut": (seen("valve_position", "09:10", valve="return", position="closed"), False),
}


@pytest.mark.parametrize("event", AT_ONCE)
def test_stop_now_at_once_and_for_as_long_as_nothing_clears_it(results, event):
    happened, latched = AT_ONCE[event]
    for clock in ("09:10", "09:11", "09:25", "11:00", "23:59"):
        told = results([happened], clock)
        assert told["status"] == "stop_now", clock
        assert told["stop_now"]["compressors"] == ["1"]
        assert told["next_action"]["do"].startswith("Stop compressor 1")
        assert happened["id"] in {i for c in told["stop_now"]["causes"] for i in c["ids"]}
        assert latched in {c["latched"] for c in told["stop_now"]["causes"] if happened["id"] in c["ids"]}
    unsure = results([{**happened, "time_uncertainty": q(3, "min")}], "09:25")
    assert unsure["status"] == "stop_now"


@pytest.mark.parametrize("event", [e for e in AT_ONCE if AT_ONCE[e][1]])
def test_what_latches_stands_until_compressors_are_off_and_the_unit_is_stopped(results, event):
    happened, _ = AT_ONCE[event]
    good = [
        seen("flow_switch", "09:13", state="made"),
        seen("evaporator_pressure_drop", "09:13", value=q(35, "kPa")),
        seen("flow_switch", "09:14", state="made"),
        seen("evaporator_pressure_drop", "09:14", value=q(35, "kPa")),
        seen("pump_state", "09:13", pump="machine", state="on"),
        seen("supply", "09:13", state="on"),
        seen("phase_indicator", "09:13", rotation="correct"),
    ]
    assert results([happened, *good], "09:20")["status"] == "stop_now"
    told = results([happened, OFF], "09:20")
    if event not in (
        "supply off",
    ):  # that one is itself a stop of the unit, but came before the compressor was seen off
        assert told["status"] == "stop_now"
        assert "may start by itself" in told["next_action"]["do"]
        assert "unit_stop" in [t["kind"] for t in told["next_action"]["record"]]
    assert results([happened, OFF, STOPPED], "09:20")["status"] == "blocked"
    doubtful = {**OFF, "time_uncertainty": q(5, "min")}
    assert results([happened, doubtful, STOPPED], "09:20")["status"] == "stop_now", "not surely off after the cause"


READINGS: dict[str, tuple[str, dict[str, Any]]] = {
    "switch not made": ("flow_switch", {"state": "made"}),
    "drop gone": ("evaporator_pressure_drop", {"value": q(35, "kPa")}),
    "voltage far off": ("line_voltage", volts(478, 481, 476)),
    "water freezing": ("water_temperature", {"leaving": q(45, "degF"), "entering": q(45, "degF")}),
    "somebody at the fans": ("area_clear", {"clear": True}),
}


@pytest.mark.parametrize("event", READINGS)
def test_readings_clear_a_stop_twice_a_minute_apart(results, event):
    kind, data = READINGS[event]
    happened = AT_ONCE[event][0]
    first, soon, later = (seen(kind, clock, f"g{clock}", **data) for clock in ("09:11", "09:11:30", "09:12"))
    assert results([happened, first], "09:20")["status"] == "stop_now"
    assert results([happened, first, soon], "09:20")["status"] == "stop_now"
    assert results([happened, first, later], "09:20")["status"] == "running"
    assert results([happened, first, {**later, "time_uncertainty": q(40, "s")}], "09:20")["status"] == "stop_now"


def test_a_softer_breach_asks_for_the_reading_again(results):
    low = seen("evaporator_pressure_drop", "09:10", value=q(13, "kPa"))
    told = results([low], "09:12")
    assert told["status"] == "running"
    assert told["next_action"]["do"].startswith("Read again at once: evaporator drop")
    assert told["look_again"][0] == {"fact": "people_clear", "due": at("09:14")}
    assert {"fact": "evaporator drop", "due": at("09:15")} in told["look_again"]
    assert results([low], "09:16")["status"] == "stop_now", "none within five minutes"
    second = seen("evaporator_pressure_drop", "09:12", value=q(14, "kPa"))
    assert results([low, second], "09:12:30")["status"] == "stop_now", "a second one"
    good = seen("evaporator_pressure_drop", "09:13", value=q(35, "kPa"))
    assert results([low, good], "09:40")["status"] == "running"
    warning = seen("alarm", "09:10", code="W", state="active", warning=True)
    assert results([warning], "09:12")["status"] == "running"


def test_started_while_something_lacked(answer_of):
    for kind in ("lock_check", "alarm_check", "ground", "flow_switch", "evaporator_pressure_drop", "phase_indicator"):
        history = [o for o in base() if o["kind"] != kind]
        told = answer_of("readiness.startup", ask([*history, ON], "09:07"))["results"]
        assert told["status"] == "stop_now", kind
        assert "went on" in told["stop_now"]["causes"][0]["statement"]


def test_a_cold_start_stops_for_ten_minutes_and_is_then_the_owners(answer_of):
    early = seen("compressor", "09:04:30", id="1", state="on")
    for clock, status in (("09:05", "stop_now"), ("09:14", "stop_now"), ("09:15", "running")):
        told = answer_of("readiness.startup", ask([*base(), early], clock))["results"]
        assert told["status"] == status
        assert [c["code"] for c in told["open_checks"]] == ["I12"]
        assert "owner" in told["open_checks"][0]["role"]
    late = answer_of("readiness.startup", ask([*base(), early, {**OFF, "at": at("09:20")}], "09:30"))["results"]
    assert "I12" in {b["rule"] for b in late["blocks"]}


def test_running_is_presumed_from_colder_water_behind_the_evaporator(answer_of):
    def told(*more: dict[str, Any]) -> str:
        return answer_of("readiness.startup", ask([*base(), *more], "09:06"))["results"]["status"]

    cooled = seen("water_temperature", "09:05", leaving=q(50, "degF"), entering=q(54, "degF"))
    assert told(cooled) == "stop_now"
    assert told(cooled, seen("compressor", "09:05:30", id="1", state="off")) == "wait", "it rests"
    assert told(seen("compressor", "09:05", id="1", state="off", current=q(80, "A"))) == "stop_now"


def test_the_next_compressor_is_an_answer_of_its_own(answer_of):
    two = {"compressors": 2}
    history = [*base(), seen("oil_heater", "08:51", compressor="2", working=True), ON]
    soon = answer_of("readiness.startup", ask(history, "09:07", two))["results"]
    assert soon["may_start_next"] == {"allowed": False, "reason": "The starts are spaced out.", "at": at("09:11")}
    later = answer_of("readiness.startup", ask(history, "09:12", two))["results"]
    assert later["may_start_next"]["allowed"] is True
    aged = answer_of("readiness.startup", ask(history, "09:30", two))["results"]
    assert aged["may_start_next"]["allowed"] is False


def test_the_end(answer_of):
    def told(*more: dict[str, Any]) -> str:
        return answer_of("readiness.startup", ask([*base(), ON, *more], "09:30"))["results"]["status"]

    closed = seen("closed", "09:20", reason="off_hire")
    dead = seen("supply", "09:15", state="off", cause="switched")
    assert told(OFF, STOPPED, dead, closed) == "ended"
    assert told(OFF, STOPPED, closed) == "blocked", "the supply is on"
    assert told(dead, closed) == "stop_now", "nobody saw the compressor off"
    assert told(OFF, STOPPED, dead, closed, seen("line_voltage", "09:25", **volts(478, 481, 476))) == "blocked"


LACKING: dict[str, tuple[tuple[str, ...], list[tuple[str, dict[str, Any]]]]] = {
    "flow": (
        ("flow_switch", "evaporator_pressure_drop"),
        [("flow_switch", {"state": "made"}), ("evaporator_pressure_drop", {"value": q(35, "kPa")})],
    ),
    "volts": (("line_voltage",), [("line_voltage", volts(478, 481, 476))]),
}


@pytest.mark.parametrize("what", LACKING)
@pytest.mark.parametrize(
    ("clocks", "status"),
    [
        ((), "stop_now"),
        (("09:07",), "stop_now"),
        (("09:07", "09:07:59"), "stop_now"),
        (("09:07", "09:08"), "running"),
        (("09:07", "09:07:30", "09:08"), "running"),
    ],
)
def test_what_was_not_read_before_the_start_is_made_good_by_two_readings_a_minute_apart(
    answer_of, what, clocks, status
):
    kinds, readings = LACKING[what]
    unread = [o for o in base() if o["kind"] not in kinds]
    since = [seen(kind, clock, f"{kind}{clock}", **data) for clock in clocks for kind, data in readings]
    told = answer_of("readiness.startup", ask([*unread, ON, *since], "09:09"))["results"]
    assert told["status"] == status


@pytest.mark.parametrize("kind", ["ground", "alarm_check", "lock_check"])
def test_what_was_not_seen_before_the_start_is_made_good_by_being_seen(answer_of, kind):
    unseen = [o for o in base() if o["kind"] != kind]
    (good,) = [o for o in base() if o["kind"] == kind]
    assert answer_of("readiness.startup", ask([*unseen, ON], "09:09"))["results"]["status"] == "stop_now"
    later = good | {"id": "later", "at": at("09:08")}
    assert answer_of("readiness.startup", ask([*unseen, ON, later], "09:09"))["results"]["status"] == "running"
    before = good | {"id": "before", "at": at("09:06")}
    assert answer_of("readiness.startup", ask([*unseen, ON, before], "09:09"))["results"]["status"] == "stop_now", (
        "a tie"
    )


def test_a_compressor_on_that_was_taken_back_is_looked_at(answer_of):
    """A mistake, or not: until somebody sees it off, nobody knows what runs."""
    on = seen("compressor", "09:03", "on", id="1", state="on", extra={"by": "ann"})
    back = seen("withdrawn", "09:04", "back", reason="wrong machine", extra={"by": "ann", "supersedes": "on"})

    def told(*more: dict[str, Any], clock: str = "09:12") -> dict[str, Any]:
        again = [o | {"id": f"again-{o['id']}", "at": at("09:11")} for o in base() if o["at"] >= at("09:03")]
        again.append(seen("alarm_check", "09:11", none_shown=True))
        return answer_of("readiness.startup", ask([*base(), *again, *more], clock))["results"]

    taken_back = told(on, back)
    assert taken_back["status"] == "stop_now"
    assert "which was taken back" in taken_back["stop_now"]["causes"][0]["statement"]
    assert told(on, back, seen("compressor", "09:05", "off", id="1", state="off"))["status"] == "ready"
    off = on | {"data": {"id": "1", "state": "off"}}
    assert told(off, back)["status"] == "ready", "what said off speaks against nothing"


@pytest.mark.parametrize(
    ("valve", "status"),
    [
        ({"valve": "other", "label": "riser", "in_flow_path": True, "position": "closed"}, "stop_now"),
        ({"valve": "other", "label": "gauge cock", "in_flow_path": False, "position": "closed"}, "running"),
        ({"valve": "balancing", "position": "closed"}, "stop_now"),
        ({"valve": "balancing", "position": "partial"}, "running"),
        ({"valve": "return", "position": "closed"}, "stop_now"),
        ({"valve": "vent", "position": "open"}, "running"),
    ],
)
def test_a_valve_that_shuts_the_flow_stops_a_machine_and_another_does_not(results, valve, status):
    assert results([seen("valve_position", "09:08", "v", **valve)], "09:09")["status"] == status


OUT = seen("unit_stop", "09:11:30", "out", state="enabled")
RELEASES: dict[str, tuple[History, str]] = {
    "off, then stopped": ([OFF, STOPPED], "blocked"),
    "stopped, then seen off": ([seen("unit_stop", "09:11", "in", state="stopped"), OFF], "blocked"),
    "stopped, taken out, then seen off": ([seen("unit_stop", "09:11", "in", state="stopped"), OUT, OFF], "stop_now"),
    "stopped before the cause": ([seen("unit_stop", "09:09", "in", state="stopped"), OFF], "blocked"),
    "stopped and out before the cause": (
        [seen("unit_stop", "09:08", "in", state="stopped"), seen("unit_stop", "09:09", "out", state="enabled"), OFF],
        "stop_now",
    ),
    "seen off before the cause": ([OFF | {"at": at("09:09")}], "blocked"),
    "may have been off before it": ([OFF | {"at": at("09:10"), "time_uncertainty": q(30, "s")}, STOPPED], "stop_now"),
    "switch off, then seen off": ([seen("control_switch", "09:11", state="off"), OFF], "blocked"),
    "off and on again": ([OFF, STOPPED, seen("compressor", "09:13", "again", id="1", state="on")], "stop_now"),
    "stopped, and out again later": ([OFF, STOPPED, OUT | {"at": at("09:13")}], "blocked"),
}
"""What is recorded after, or before, a pump that tripped at 09:10; whether it answers the stop."""


@pytest.mark.parametrize("what", RELEASES)
def test_a_latched_stop_ends_with_every_compressor_off_and_the_unit_kept_from_starting(results, what):
    history, status = RELEASES[what]
    tripped = seen("pump_state", "09:10", pump="machine", state="tripped")
    assert results([tripped, *history], "09:20")["status"] == status


def by_uptime(kind: str, clock: str, up: float, number: int, **data: Any) -> dict[str, Any]:
    """A record of a phone whose stamps are not sure by two minutes, and whose uptime says how far apart they lie."""
    phone = {"device": "p", "boot": "b", "sequence": number, "uptime": q(up, "s")}
    arrival = {"sent_at": at("09:19"), "received_at": at("09:19")}
    return seen(kind, clock, f"{kind}{number}", u=120, extra=phone | arrival, **data)


@pytest.mark.parametrize(("apart", "clears"), [(59.0, False), (60.0, True), (90.0, True)])
def test_two_good_readings_of_one_phone_are_as_far_apart_as_its_uptime_says(results, apart, clears):
    opened = seen("flow_switch", "09:08", state="not_made")
    good = [
        by_uptime("flow_switch", "09:12", 4000, 1, state="made"),
        by_uptime("flow_switch", "09:13", 4000 + apart, 2, state="made"),
    ]
    assert results([opened, *good], "09:20")["status"] == ("running" if clears else "stop_now")


@pytest.mark.parametrize(("apart", "stops"), [(59.0, False), (60.0, True)])
def test_two_soft_breaches_of_one_phone_are_as_far_apart_as_its_uptime_says(results, apart, stops):
    low = [
        by_uptime("evaporator_pressure_drop", "09:12", 4000, 1, value=q(13, "kPa")),
        by_uptime("evaporator_pressure_drop", "09:12:30", 4000 + apart, 2, value=q(13, "kPa")),
    ]
    good = [
        seen("evaporator_pressure_drop", clock, f"g{clock}", value=q(35, "kPa")) for clock in ("09:14:31",)
    ]  # fmt: skip
    assert results([*low, *good], "09:14:40")["status"] == ("stop_now" if stops else "running")
