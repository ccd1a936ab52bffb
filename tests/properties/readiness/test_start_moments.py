"""At which second each duration of a start begins to count: asked a second before it, at it, and a second after.

Common practice, no source: the durations are those of the rules, in the words beside each case. All data is invented.
"""

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any, NamedTuple

import pytest
from quantity import q
from start_engine.book import by_the_book, configurations
from start_engine.random_sets import random_set
from startup_histories import ask, at, base, seen, volts

Json = dict[str, Any]
GLYCOL = {"fluid_kind": "propylene_glycol", "loop_turnover_time": q(1, "min")}
NEVER_STOPS = dict(configurations())["site-pump_never_stops-water"]
ON = seen("compressor", "09:06", id="1", state="on")


def later(clock: str, seconds: float) -> str:
    """So many seconds after a time of the day."""
    return (datetime.fromisoformat(at(clock)) + timedelta(seconds=seconds)).strftime("%H:%M:%S")


def without(*kinds: str) -> list[Json]:
    return [o for o in base() if o["kind"] not in kinds]


def blocked_by(rule: str) -> Callable[[Json], bool]:
    return lambda results: rule in {b["rule"] for b in results["blocks"]}


def suspected(rule: str) -> Callable[[Json], bool]:
    return lambda results: rule in {s["rule"] for s in results["impossible"]}


def has_status(status: str) -> Callable[[Json], bool]:
    return lambda results: bool(results["status"] == status)


# --- what is handed in, by the seconds that are tried ---------------------------------------------------------------


def blown_down(seconds: float, **configuration: Any) -> Json:
    """The strainer so long after the flow of the first run was proved."""
    blown = seen("strainer", later("08:52:30", seconds), "blown", blown_down=True)
    return ask([*without("strainer"), blown], configuration=configuration)


def first_run_of(seconds: float) -> Json:
    """The pump of the first run switched off so long after its flow was proved."""
    kept = [o for o in base() if o["id"] not in ("pump_state.machine.08:58", "strainer..08:58")]
    off = seen("pump_state", later("08:52:30", seconds), "off", pump="machine", state="off")
    return ask([*kept, off, seen("strainer", "08:58:10", "blown", blown_down=True)])


def flow_before_the_pump(kind: str, **data: Any) -> Callable[[float], Json]:
    """A sign of flow so long before the pump was first switched on."""
    return lambda seconds: ask([*base(), seen(kind, later("08:52", -seconds), "early", **data)])


def flow_after_the_pump(kind: str, **data: Any) -> Callable[[float], Json]:
    """A sign of flow so long after the pump was switched off."""
    return lambda seconds: ask([*base(), seen(kind, later("08:58", seconds), "late", **data)])


def stamped_ahead(seconds: float) -> Json:
    return ask([*base(), seen("area_clear", later("09:06", seconds), "ahead", clear=True)])


def standing(*readings: tuple[str, float], water: tuple[tuple[str, float], ...] = ()) -> Json:
    """The pump off from 09:10 on, and pressures of the standing loop in kPa; temperatures of its water in degC."""
    rows = [seen("pump_state", "09:10", pump="machine", state="off")]
    rows += [seen("loop_pressure", clock, pump="off", value=q(kpa, "kPa")) for clock, kpa in readings]
    rows += [
        seen("water_temperature", clock, f"w{clock}", entering=q(warm, "degC"), leaving=q(warm, "degC"))
        for clock, warm in water
    ]
    return ask([*base(), *rows], "10:10")


def two_pressures(seconds: float, fell: float) -> Json:
    return standing(("09:13", 310), (later("09:13", seconds), 310 - fell))


def held_after_a_fall(seconds: float) -> Json:
    return standing(("09:13", 310), ("09:16", 304), (later("09:16", seconds), 304))


def cooled_near(before: float, behind: float) -> Json:
    """A fall of 10 kPa in 10 min, while the water cooled by 2 K: read so long before the pair and behind it."""
    water = ((later("09:13", -before), 20.0), (later("09:23", behind), 18.0))
    return standing(("09:13", 310), ("09:23", 300), water=water)


def vented_again(seconds: float) -> Json:
    """A pump that cannot stop: the high point vented for the second time."""
    rows = [o for o in by_the_book(NEVER_STOPS) if o["kind"] != "purge"]
    for number, after in enumerate((0.0, seconds)):
        rows.append(
            seen("purge", later("08:40", after), f"v{number}", point="high_point", result="steady_water", pump="on")
        )
    return {"configuration": NEVER_STOPS, "evaluated_at": at("09:06"), "observations": rows}


def drop_meanwhile(kilopascals: float) -> Json:
    """The drop read twice between the ventings: 35 kPa, and so much."""
    rows = by_the_book(NEVER_STOPS)
    rows += [
        seen("evaporator_pressure_drop", clock, value=q(value, "kPa"))
        for clock, value in (("08:45", 35.0), ("08:50", kilopascals))
    ]
    return {"configuration": NEVER_STOPS, "evaluated_at": at("09:06"), "observations": rows}


def mixed_since_the_pump(seconds: float) -> Json:
    """A turn of the loop takes 1 min; the pump went on at 09:02."""
    read = seen("antifreeze_reading", later("09:02", seconds), freeze_point=q(-12, "degC"))
    return ask([*base(), read], "09:12", GLYCOL)


def mixed_since_the_water(seconds: float) -> Json:
    """Water went in at 09:05, the pump being on for three turns before."""
    fill = seen("fill", "09:05:30", "thinned", medium="water", purpose="top_up")
    read = seen("antifreeze_reading", later("09:05:30", seconds), freeze_point=q(-12, "degC"))
    return ask([*base(), fill, read], "09:12", GLYCOL)


def started(seconds: float) -> Json:
    """A compressor so long after the hour of oil heat was over."""
    return ask([*base(), seen("compressor", later("09:05", seconds), "on", id="1", state="on")], "09:20")


def rested(seconds: float) -> Json:
    off = seen("compressor", "09:03", "off", id="1", state="off")
    return ask([*base(), off], later("09:03", seconds), {"anti_recycle": q(3, "min")})


def low_drop_asked(seconds: float) -> Json:
    low = seen("evaporator_pressure_drop", "09:10", value=q(13, "kPa"))
    return ask([*base(), ON, low], later("09:10", seconds))


def low_drop_answered(seconds: float) -> Json:
    low = seen("evaporator_pressure_drop", "09:10", value=q(13, "kPa"))
    good = seen("evaporator_pressure_drop", later("09:10", seconds), "good", value=q(35, "kPa"))
    return ask([*base(), ON, low, good], "09:30")


def low_drop_twice(seconds: float) -> Json:
    lows = [seen("evaporator_pressure_drop", clock, value=q(13, "kPa")) for clock in ("09:10", later("09:10", seconds))]
    return ask([*base(), ON, *lows], "09:12")


def made_twice(seconds: float) -> Json:
    """The switch dropped out, and was seen made twice."""
    rows = [seen("flow_switch", "09:10", state="not_made"), seen("flow_switch", "09:11", state="made")]
    return ask([*base(), ON, *rows, seen("flow_switch", later("09:11", seconds), "again", state="made")], "09:20")


def asked_before_the_heat_is_over(seconds: float) -> Json:
    """Two hours of oil heat, until 10:05; what is looked at right before a start is too old by then."""
    return ask(base(), later("10:05", -seconds), {"warm_up_duration": q(2, "h")})


class Moment(NamedTuple):
    """So long, in seconds, something lasts; whether it is there a second before, at it, and a second after."""

    what: str
    seconds: float
    given: Callable[[float], Json]
    there: Callable[[Json], bool]
    expected: tuple[bool, bool, bool]
    step: float = 1.0


NO, YES = False, True
MOMENTS = (
    Moment("a first run of 5 min before the strainer", 300, blown_down, blocked_by("R16"), (YES, YES, NO)),
    Moment(
        "a first run of one turn of the loop",
        120,
        lambda s: blown_down(s, loop_turnover_time=q(2, "min")),
        blocked_by("R16"),
        (YES, YES, NO),
    ),
    Moment("a first run of 5 min at the least", 300, first_run_of, blocked_by("R11"), (YES, NO, NO)),
    Moment("a switch made a minute before the pump", 60, flow_before_the_pump("flow_switch", state="made"),
           suspected("I2"), (NO, NO, YES)),
    Moment("a switch made a minute after the pump", 60, flow_after_the_pump("flow_switch", state="made"),
           suspected("I2"), (NO, YES, YES)),
    Moment("a drop a minute before the pump", 60, flow_before_the_pump("evaporator_pressure_drop", value=q(35, "kPa")),
           suspected("I2"), (NO, NO, YES)),
    Moment("a stamp 2 min ahead", 120, stamped_ahead, suspected("I1"), (NO, NO, YES)),
    Moment("pressures 2 min apart", 120, lambda s: two_pressures(s, 5), blocked_by("R10"), (NO, YES, YES)),
    Moment("pressures 30 min apart", 1800, lambda s: two_pressures(s, 30), blocked_by("R10"), (YES, YES, NO)),
    Moment("a pair that holds for 10 min", 600, held_after_a_fall, blocked_by("R10"), (YES, NO, NO)),
    Moment("a pair that holds for 30 min", 1800, held_after_a_fall, blocked_by("R10"), (NO, NO, YES)),
    Moment("water read 5 min before", 300, lambda s: cooled_near(s, 0), blocked_by("R10"), (NO, NO, YES)),
    Moment("water read 5 min behind", 300, lambda s: cooled_near(0, s), blocked_by("R10"), (NO, NO, YES)),
    Moment("ventings 10 min apart", 600, vented_again, blocked_by("R11"), (YES, NO, NO)),
    Moment("a drop within a tenth, kPa", 31.5, drop_meanwhile, blocked_by("R11"), (YES, NO, NO), 0.2),
    Moment("three turns since the pump", 180, mixed_since_the_pump, blocked_by("R13"), (YES, NO, NO)),
    Moment("three turns since the water", 180, mixed_since_the_water, blocked_by("R13"), (YES, NO, NO)),
    Moment("the hour before a compressor", 0, started, suspected("I12"), (YES, NO, NO)),
    Moment("three minutes of rest", 180, rested, has_status("wait"), (YES, NO, NO)),
    Moment("a soft breach without an answer", 300, low_drop_asked, has_status("stop_now"), (NO, NO, YES)),
    Moment("a soft breach with a late answer", 300, low_drop_answered, has_status("stop_now"), (NO, NO, YES)),
    Moment("a soft breach a minute later", 60, low_drop_twice, has_status("stop_now"), (NO, YES, YES)),
    Moment("two good readings a minute apart", 60, made_twice, has_status("stop_now"), (YES, NO, NO)),
    Moment("a long wait", 600, asked_before_the_heat_is_over,
           lambda results: bool(results["next_action"]["step_id"] == "oil_warm_up"), (NO, NO, YES)),
)  # fmt: skip


@pytest.mark.parametrize("moment", MOMENTS, ids=lambda m: m.what)
def test_it_counts_from_its_second_on(answer_of, moment):
    tried = (moment.seconds - moment.step, moment.seconds, moment.seconds + moment.step)
    found = tuple(moment.there(answer_of("readiness.startup", moment.given(s))["results"]) for s in tried)
    assert found == moment.expected


AGES = {
    "people_clear": ("09:04", 10),
    "no_alarm": ("09:01", 15),
    "flow_proven": ("09:03", 15),
    "water_warm": ("09:03", 15),
    "pump_running": ("09:02", 30),
    "voltage_in_limits": ("08:02", 4 * 60),
    "energised": ("08:03", 12 * 60),
    "loop_pressurised": ("08:59", 12 * 60),
}
"""The last record of each fact that ages, and for how many minutes it counts."""


@pytest.mark.parametrize("fact", AGES)
def test_each_fact_is_too_old_a_second_after_its_time(answer_of, fact):
    read, minutes = AGES[fact]
    over = later(read, 60 * minutes)
    fresh = answer_of("readiness.startup", ask(base(), over))["results"]["facts"][fact]
    assert (fresh["status"], fresh["expires_at"]) == ("established", at(over))
    assert answer_of("readiness.startup", ask(base(), later(over, 1)))["results"]["facts"][fact]["status"] == "stale"


def test_until_a_verdict_is_asked_for_again_it_says_the_same(answer_of):
    """`valid_until` is the first second at which time alone may have changed what is said."""
    reached = 0
    for seed in range(5000, 5036):
        request = random_set(seed)
        results = answer_of("readiness.startup", request)["results"]
        if "valid_until" not in results:
            continue
        until = datetime.fromisoformat(results["valid_until"])
        before = (until - timedelta(seconds=1)).isoformat().replace("+00:00", "Z")
        if any(request["evaluated_at"] <= o["at"] for o in request["observations"]) or before < request["evaluated_at"]:
            continue  # what is stamped ahead comes to be believed as time passes
        reached += 1
        again = answer_of("readiness.startup", request | {"evaluated_at": before})["results"]
        assert again["meaning"] == results["meaning"], seed
    assert reached > 15


VALID_UNTIL = {
    "people seen clear": (ask(base()), "09:14:01"),
    "oil heat": (ask(base(), "09:04:30"), "09:05"),
    "a breach to be read again": (low_drop_asked(30), "09:14:01"),
    "a breach to be read again, before all else": (
        ask([*base(), ON, seen("evaporator_pressure_drop", "09:07", value=q(13, "kPa"))], "09:07:30"),
        "09:12:01",
    ),
    "a start with cold oil": (
        ask([*base(), seen("compressor", "09:04:30", id="1", state="on")], "09:05"),
        "09:14:01",
    ),
    "cold oil, people seen later": (
        ask(
            [
                *base(),
                seen("compressor", "09:04:30", id="1", state="on"),
                *(seen(kind, "09:07", f"{kind}2", **{word: True}) for kind, word in (("area_clear", "clear"),)),
            ],
            "09:08",
        ),
        "09:14:31",
    ),
    "an interruption that lasts": (
        ask([*base(), seen("supply", "09:00", "i", state="interrupted", duration=q(8, "min"))], "09:06:30"),
        "09:08",
    ),
}


@pytest.mark.parametrize("case", VALID_UNTIL)
def test_when_it_is_to_be_asked_again(answer_of, case):
    given, until = VALID_UNTIL[case]
    results = answer_of("readiness.startup", given)["results"]
    assert results["valid_until"] == at(until)
    asked_again = answer_of("readiness.startup", given | {"evaluated_at": at(until)})["results"]
    assert asked_again["meaning"] != results["meaning"]


# --- advice that waits ------------------------------------------------------------------------------------------------

LOOKED = seen("lock_check", "08:10", "looked", none_seen=True)
ADVISED: dict[str, tuple[Json, str, str, Json]] = {
    "the strainer after the first run": (
        ask([LOOKED, *(o for o in without("strainer") if o["at"] < at("08:53"))], "08:53"),
        "R16", "strainer", {"blown_down": True},
    ),
    "the mixture after three turns": (
        ask(base(), "09:04", GLYCOL), "R13", "antifreeze_reading", {"freeze_point": q(-12, "degC")},
    ),
    "the high point for the second time": (
        {
            "configuration": NEVER_STOPS, "evaluated_at": at("08:48:30"),
            "observations": [
                LOOKED, seen("strainer", "08:48:20", blown_down=True), seen("leak_check", "08:38", result="dry"),
                *(o for o in by_the_book(NEVER_STOPS) if o["at"] < at("08:46")),
            ],
        },
        "R11", "purge", {"point": "high_point", "result": "steady_water", "pump": "on"},
    ),
    "the pressure that holds": (
        standing(("09:13", 310), ("09:16", 304)) | {"evaluated_at": at("09:20")},
        "R10", "loop_pressure", {"pump": "off", "value": q(304, "kPa")},
    ),
}  # fmt: skip
"""What was done, the rule that is open, and the record that its advice has wait."""


@pytest.mark.parametrize("what", ADVISED)
def test_what_is_done_when_the_advice_says_counts_and_before_it_does_not(answer_of, what):
    request, rule, kind, data = ADVISED[what]
    action = answer_of("readiness.startup", request)["results"]["next_action"]
    assert kind in {t["kind"] for t in action["record"]}, action["short"]
    due = datetime.fromisoformat(action["not_before"])
    for seconds, counts in ((-2, False), (0, True)):
        moment = due + timedelta(seconds=seconds)
        done = seen(kind, moment.strftime("%H:%M:%S"), "done", **data)
        asked = (moment + timedelta(seconds=5)).isoformat().replace("+00:00", "Z")
        again = request | {"evaluated_at": asked, "observations": [*request["observations"], done]}
        rules = {b["rule"] for b in answer_of("readiness.startup", again)["results"]["blocks"]}
        assert (rule not in rules) == counts, (seconds, action["short"])


def test_a_standing_loop_is_read_two_minutes_after_the_stop(answer_of):
    """The first of the pair that clears a fall, where something was let out since."""
    fell = [("08:45:30", 310.0), ("08:47:40", 300.0)]
    rows = [LOOKED, *(o for o in base() if o["at"] < at("08:45:10"))]
    rows += [seen("loop_pressure", clock, pump="off", value=q(kpa, "kPa")) for clock, kpa in fell]
    rows += [
        seen("purge", "08:48:30", "vented", point="coil", result="steady_water", pump="off"),
        seen("pump_state", "08:52", pump="machine", state="on"),
        seen("pump_state", "08:53", pump="machine", state="off"),
    ]
    action = answer_of("readiness.startup", ask(rows, "08:53:20"))["results"]["next_action"]
    assert action["not_before"] == at("08:55")


def test_the_time_that_is_missing_is_that_to_the_earliest_start(answer_of):
    waits = 0
    for seed in range(5100, 5130):
        request = random_set(seed)
        results = answer_of("readiness.startup", request)["results"]
        if "earliest_start" in results:
            missing = datetime.fromisoformat(results["earliest_start"]) - datetime.fromisoformat(
                request["evaluated_at"]
            )
            shown = results["next_action"]["time_to_earliest_start"]
            assert shown["value"] * {"s": 1, "min": 60, "h": 3600}[shown["unit"]] == pytest.approx(
                missing.total_seconds(), abs=1e-3
            )
            waits += missing > timedelta(0)
        else:
            assert "time_to_earliest_start" not in results["next_action"]
    assert waits > 0


def test_a_reading_of_the_very_second_of_the_pumps_start_proves_no_first_run(answer_of):
    rows = without("flow_switch", "evaporator_pressure_drop")
    for kind, data in (("flow_switch", {"state": "made"}), ("evaporator_pressure_drop", {"value": q(35, "kPa")})):
        rows += [seen(kind, "08:52", f"{kind}1", **data), seen(kind, "09:03", f"{kind}2", **data)]
    told = answer_of("readiness.startup", ask(rows))["results"]
    assert {b["rule"] for b in told["blocks"]} == {"R11", "R16"}
    just_after = [
        o | {"at": at("08:52:00.000000001")} if o["at"] == at("08:52") and o["kind"] != "pump_state" else o
        for o in rows
    ]
    assert answer_of("readiness.startup", ask(just_after))["results"]["status"] == "ready"


def test_the_voltage_out_of_limits_counts_though_it_is_the_last_of_two(answer_of):
    told = answer_of("readiness.startup", ask([*base(), seen("line_voltage", "08:30", **volts(530, 531, 529))]))
    assert "I14" in {b["rule"] for b in told["results"]["blocks"]}


def test_a_valve_seen_where_it_stood_already_was_not_moved(answer_of):
    """A move is another position than the one before: the first record is none, nor is the same seen again."""
    rows = [
        *base(),
        seen("valve_position", "08:10", "earlier", valve="return", position="partial"),
        seen("valve_position", "09:04", "again", valve="return", position="open"),
    ]
    assert answer_of("readiness.startup", ask(rows))["results"]["status"] == "ready"
    first = seen("valve_position", "09:04", "first", valve="balancing", position="open")
    assert answer_of("readiness.startup", ask([*base(), first]))["results"]["status"] == "ready"


def test_a_doubt_that_is_merely_possible_is_cured_by_the_reading_taken_again(answer_of):
    """A switch made at 08:51, give or take 90 s, may have been made before the pump was on; at 09:03 it was not."""
    early = seen("flow_switch", "08:51", "early", u=90, state="made")
    told = answer_of("readiness.startup", ask([*base(), early]))["results"]
    assert "I2" in {s["rule"] for s in told["impossible"]}
    assert told["status"] == "ready"
    never = [o for o in base() if o["kind"] != "flow_switch"]
    told = answer_of("readiness.startup", ask([*never, early]))["results"]
    assert told["status"] == "blocked"
