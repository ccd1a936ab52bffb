"""The second engine itself: starts by the book, what was once called ready wrongly, and the definition of uncertain time.

The cases are written from the rules of a start (common practice, no source, unless the rule names one); all data is invented.
"""

import copy
import random
from datetime import timedelta
from typing import Any

import pytest
from quantity import q
from start_engine import SEVERITY, Verdict, judge
from start_engine.book import ASKED, DAY, Configuration, Record, by_the_book, configurations, seen
from start_engine.random_sets import random_set
from start_engine.sightings import EPOCH, instant

BOOKS = dict(configurations())
OWN = BOOKS["site-own_pump-water"]

GENERATOR = BOOKS["generator-own_pump-water"]


def asked(clock: str) -> str:
    return f"{DAY}{clock}Z"


def verdict(*more: Record, at: str = "09:06:00", without: tuple[str, ...] = (), of: Configuration = OWN) -> Verdict:
    """Of a start by the book with records more and less; `without` names ids by their beginning."""
    kept = [r for r in by_the_book(of) if not r["id"].startswith(without or ("no such",))]
    return judge(of, [*kept, *more], asked(at))


def changed(name: str, of: Configuration = OWN, /, **fields: Any) -> Verdict:
    """Of a start by the book with one record changed."""
    records = by_the_book(of)
    record = next(r for r in records if r["id"].startswith(name))
    return judge(of, [record | fields if r is record else r for r in records], ASKED)


@pytest.mark.parametrize(("name", "configuration"), list(configurations()))
def test_a_start_by_the_book_may_go_ahead(name, configuration):
    assert judge(configuration, by_the_book(configuration), ASKED).status == "ready", name


IDLE_ALONE = {
    "supply",  # a voltage shows it on
    "lock",  # on and off go together
    "proved_dead",  # asked for only where seen, or where evidence is required; so are the lines
    "line_connection",
    "fill",  # repressurising is no duty
    "antifreeze_charge",  # the reading tells
    "pump_state",  # its stop is shown by whoever vents
    "flow_switch",  # not made with the pump off: a check asks for it
    "water_temperature",  # not asked for in a mixture, or in the warm
    "loop_pressure",  # of two, the later is enough
}


@pytest.mark.parametrize(("name", "configuration"), list(configurations())[::7])
def test_records_of_the_book_are_needed(name, configuration):
    """A start by the book is no longer one without any of its records, but for those that something else stands in for."""
    records = by_the_book(configuration)
    idle = {
        r["kind"] for r in records if judge(configuration, [o for o in records if o is not r], ASKED).status == "ready"
    }
    assert idle <= IDLE_ALONE, (name, idle - IDLE_ALONE)


# --- what was once ready, or fell back from a stop ---------------------------------------------------------------
def test_the_set_without_the_second_purge_is_blocked_for_that():
    assert verdict(without=("purge.high_point-off.08:58:40", "purge.pump_casing-off.08:58:40")).rules == ("R11",)


@pytest.mark.parametrize(
    ("record", "rule"),
    [
        (seen("set_point", "09:01", value=q(38, "degF")), "R17"),
        (seen("water_temperature", "09:05", leaving=q(0.5, "degC")), "water"),
        (seen("flow", "09:05", value=q(0, "L/s")), "R15"),
        (seen("strainer_pressure_drop", "09:05", value=q(150, "kPa")), "R16"),
        (seen("loop_pressure", "09:05", pump="on", gauge="suction", value=q(0, "psi")), "R10"),
        (seen("loop_pressure", "09:05", pump="on", gauge="discharge", value=q(140, "psi")), "R10"),
        (seen("valve_position", "09:05", valve="fill", position="open"), "R09"),
        (seen("valve_position", "09:05", valve="pump_bypass", position="partial"), "R09"),
        (seen("line_voltage", "09:05", v_ab=q(530, "V"), v_bc=q(530, "V"), v_ca=q(530, "V")), "R06"),
        (seen("line_voltage", "09:05", v_ab=q(478, "V"), v_bc=q(455, "V"), v_ca=q(440, "V")), "R06"),
        (seen("supply", "09:05", state="off"), "R05"),
        (seen("pump_state", "09:05", pump="machine", state="tripped"), "R14"),
        (seen("flow_switch", "09:05", state="not_made"), "R15"),
        (seen("phase_indicator", "09:05", rotation="reversed"), "R07"),
        (seen("purge", "09:05", point="high_point", result="steady_water", pump="off"), "R14"),
        (seen("loop_pressure", "09:05", pump="off", value=q(45, "psi")), "R14"),
        (seen("lock", "09:05", lock_id="L9", state="applied"), "R01"),
        (seen("alarm", "09:05", code="A", state="active"), "R18"),
        (seen("area_clear", "09:05", clear=False), "R19"),
        (seen("oil_heater", "09:05", compressor="1", working=False), "R29"),
        (seen("loop_opened", "09:05"), "R12"),
        (seen("moved", "09:05"), "R08"),
    ],
    ids=lambda value: value["kind"] if isinstance(value, dict) else value,
)
@pytest.mark.parametrize(
    "when",
    [
        {},
        {"time_uncertainty": q(10, "min")},
        {"time_uncertainty": q(2, "h")},
        {"at": asked("09:20:00")},
        {"at": asked("09:20:00"), "received_at": asked("09:05:30")},
    ],
    ids=["sure", "within ten minutes", "within two hours", "ahead of the clock", "received before it was seen"],
)
def test_what_speaks_against_a_start_counts_however_it_is_stamped(record, rule, when):
    assert rule in verdict(record | when).rules


def test_a_good_record_wholly_after_its_arrival_proves_nothing():
    assert changed("area_clear", at=asked("09:06:01")).rules == ("R19",)
    assert changed("area_clear", received_at=asked("09:03:00")).rules == ("R19",)


def test_falling_pressure_with_the_pump_off():
    """44, 42, 40.2 psi in five minutes; held for ten minutes afterwards it is cleared."""
    falling = [
        seen("loop_pressure", clock, pump="off", value=q(value, "psi"))
        for clock, value in (("09:05", 44), ("09:07:30", 42), ("09:10", 40.2))
    ]
    assert "R10" in verdict(*falling, at="09:11:00").rules
    held = seen("loop_pressure", "09:20:30", pump="off", value=q(40.2, "psi"))
    assert "R10" not in verdict(*falling, held, at="09:21:00").rules


def test_a_leak_check_before_there_was_pressure():
    assert changed("leak_check", at=asked("08:40:00")).rules == ("R12",)


def test_a_strainer_blown_down_before_the_fill_or_before_the_first_run():
    assert changed("strainer", at=asked("08:12:00")).rules == ("R16",)
    assert changed("strainer", at=asked("08:55:00")).rules == ("R16",)


def test_a_generator_is_read_in_hertz_after_its_last_start():
    voltage = seen("line_voltage", "08:02", v_ab=q(478, "V"), v_bc=q(481, "V"), v_ca=q(476, "V"))
    assert verdict(voltage, without=("line_voltage",), of=GENERATOR).rules == ("R06",)


def test_an_outage_of_a_generator_asks_for_rotation_again():
    outage = [seen("supply", "08:01", state="off"), seen("supply", "08:01:30", state="on")]
    assert verdict(*outage, of=GENERATOR, at="09:06:00").status == "ready"  # rotation was read at 08:03
    late = [seen("supply", "08:04", state="off"), seen("supply", "08:04:30", state="on")]
    read = seen("line_voltage", "08:04:40", v_ab=q(478, "V"), v_bc=q(481, "V"), v_ca=q(476, "V"), frequency=q(60, "Hz"))
    assert "R07" in verdict(*late, read, of=GENERATOR).rules
    assert "R07" not in verdict(*late, read).rules
    assert "R07" in verdict(late[0] | {"data": {"state": "off", "cause": "storm"}}, late[1], read).rules


def test_three_resets_of_one_alarm_are_settled_by_a_cause():
    alarms = [
        seen("alarm", f"08:{minute}", code="A", state=state)
        for minute, state in (
            (10, "active"),
            (11, "cleared"),
            (20, "active"),
            (21, "cleared"),
            (30, "active"),
            (31, "cleared"),
        )
    ]
    assert verdict(*alarms).rules == ("repeated_trips",)
    ids = [a["id"] for a in alarms]
    cause = seen(
        "settled",
        "09:05",
        "ash",
        "supervisor",
        check="repeated_trips",
        records=ids,
        found="loose plug",
        done="pushed home",
    )
    assert verdict(*alarms, cause).status == "ready"


def test_the_lock_of_another():
    on = seen("lock", "07:50", "kim", lock_id="L7", state="applied")
    off = seen("lock", "07:55", "lee", lock_id="L7", state="removed")
    assert set(verdict(on, off).rules) == {"R01", "I16"}


def test_nobody_erases_what_another_saw():
    off = seen("supply", "09:05", "kim", state="off")
    mistake = seen("withdrawn", "09:05:30", "lee", reason="no") | {"supersedes": off["id"]}
    assert "R05" in verdict(off, mistake).rules
    own = seen("withdrawn", "09:05:30", "kim", reason="wrong machine") | {"supersedes": off["id"]}
    assert "R05" in verdict(off, own).rules  # contradicted until it is looked at again
    again = seen("supply", "09:05:40", "kim", state="on")
    after = verdict(off, own, again)
    assert "R05" not in after.rules
    replaced = seen("supply", "09:05:30", "kim", state="on") | {"supersedes": off["id"]}
    assert verdict(off, replaced).status == "ready"


def test_two_contents_under_one_id_count_against_and_never_for():
    clear = next(r for r in by_the_book(OWN) if r["kind"] == "area_clear")
    assert verdict(clear | {"data": {"clear": False}}).rules == ("R19",)
    assert verdict(clear | {"data": {"clear": True}, "by": "kim"}).rules == ("R19",)


# --- running -----------------------------------------------------------------------------------------------------
ON = seen("compressor", "09:06", id="1", state="on")


def test_a_machine_that_runs_well_is_not_red_for_age():
    assert verdict(ON, at="09:07:00").status == "running"
    assert verdict(ON, at="15:00:00").status == "running"


@pytest.mark.parametrize(
    "record",
    [
        seen("flow_switch", "09:08", state="not_made"),
        seen("evaporator_pressure_drop", "09:08", value=q(1, "kPa")),
        seen("pump_state", "09:08", pump="machine", state="tripped"),
        seen("supply", "09:08", state="off"),
        seen("phase_indicator", "09:08", rotation="reversed"),
        seen("lock", "09:08", lock_id="L9", state="applied"),
        seen("loop_opened", "09:08"),
        seen("leak_check", "09:08", result="leak"),
        seen("alarm", "09:08", code="A", state="active"),
        seen("area_clear", "09:08", clear=False, where="fans"),
        seen("water_temperature", "09:08", leaving=q(33, "degF")),
        seen("line_voltage", "09:08", v_ab=q(380, "V"), v_bc=q(380, "V"), v_ca=q(380, "V")),
    ],
    ids=lambda record: record["kind"],
)
@pytest.mark.parametrize("clock", ["09:08:30", "09:25:00", "21:00:00"])
def test_a_stop_never_lapses(record, clock):
    assert verdict(ON, record, at=clock).status == "stop_now"


def test_two_good_readings_a_minute_apart_clear_flow():
    bad = seen("flow_switch", "09:08", state="not_made")
    one = seen("flow_switch", "09:09", state="made")
    two = seen("flow_switch", "09:10", state="made")
    assert verdict(ON, bad, one, at="09:11:00").status == "stop_now"
    assert verdict(ON, bad, one, two, at="09:11:00").status == "running"


def test_a_pump_trip_latches_until_off_and_kept_from_starting():
    bad = seen("pump_state", "09:08", pump="machine", state="tripped")
    again = [seen("pump_state", "09:09", pump="machine", state="on"), seen("flow_switch", "09:10", state="made")]
    off = seen("compressor", "09:11", id="1", state="off")
    stopped = seen("unit_stop", "09:11:10", state="stopped")
    assert verdict(ON, bad, *again, at="09:12:00").status == "stop_now"
    assert verdict(ON, bad, *again, off, at="09:12:00").status == "stop_now"
    assert verdict(ON, bad, *again, off, stopped, at="09:12:00").status == "blocked"


def test_a_softer_breach_asks_for_the_reading_again():
    low = seen("line_voltage", "09:08", v_ab=q(405, "V"), v_bc=q(405, "V"), v_ca=q(405, "V"))
    good = seen("line_voltage", "09:10", v_ab=q(470, "V"), v_bc=q(470, "V"), v_ca=q(470, "V"))
    assert verdict(ON, low, at="09:09:00").status == "running"
    assert verdict(ON, low, at="09:14:00").status == "stop_now"
    assert verdict(ON, low, good, at="09:20:00").status == "running"


def test_a_cold_start_is_stopped_and_later_a_check():
    cold = ON | {"at": asked("08:40:00")}
    assert verdict(cold, at="08:45:00").status == "stop_now"


def test_cooling_with_nothing_on_record_presumes_one_running():
    cooled = seen("water_temperature", "09:05", entering=q(54, "degF"), leaving=q(44, "degF"))
    assert verdict(cooled).status == "stop_now"


# --- the definition of uncertain time ------------------------------------------------------------------------------
def judged(request: dict[str, Any]) -> Verdict:
    return judge(request["configuration"], request["observations"], request["evaluated_at"])


def wider(request: dict[str, Any], rng: random.Random) -> dict[str, Any]:
    """The same with one or a few records less surely timed; those that do not lie in the future."""
    again = copy.deepcopy(request)
    asked_at = instant(request["evaluated_at"])
    past = [
        r
        for r in again["observations"]
        if "device" not in r
        and instant(r["at"]) <= min(asked_at, instant(r.get("received_at", request["evaluated_at"])))
    ]
    chosen = {r["id"] for r in rng.sample(past, min(len(past), rng.choice([1, 1, 3])))}
    for record in past:
        if record["id"] in chosen:
            before = record.get("time_uncertainty", q(0, "s"))["value"]
            record["time_uncertainty"] = q(before + 60 * (1 + len(record["id"]) % 20), "s")
    return again


@pytest.mark.parametrize("block", range(4))
def test_adding_uncertainty_is_never_milder(block):
    for seed in range(block * 100, block * 100 + 100):
        request = random_set(seed)
        less = judged(wider(request, random.Random(seed)))
        if "ended" not in (less.status, judged(request).status):
            assert SEVERITY.index(less.status) >= SEVERITY.index(judged(request).status), seed


def placed(request: dict[str, Any], rng: random.Random) -> dict[str, Any]:
    """One way in which it may really have been: each record at an instant of its interval, known exactly."""
    again = copy.deepcopy(request)
    spots: dict[str, float] = {}
    for record in again["observations"]:
        bound = min(instant(request["evaluated_at"]), instant(record.get("received_at", request["evaluated_at"])))
        offset = record.pop("clock_offset", q(0, "s"))["value"]
        u = record.pop("time_uncertainty", q(0, "s"))["value"] * 1_000_000
        t = instant(record["at"]) - int(offset * 1_000_000)
        if t - u > bound:
            record["at"] = _stamp(int(t))
            continue
        spot = spots.setdefault(record["id"], rng.choice([0.0, 1.0, rng.random()]))
        record["at"] = _stamp(round(t - u + spot * (min(t + u, bound) - (t - u))))
    return again


def _stamp(microseconds: int) -> str:
    return (EPOCH + timedelta(microseconds=microseconds)).isoformat().replace("+00:00", "Z")


def test_what_is_allowed_is_allowed_however_the_records_really_lay():
    allowed = 0
    for seed in range(300):
        request = random_set(seed)
        if any("device" in r for r in request["observations"]) or not judged(request).allowed:
            continue
        allowed += 1
        for turn in range(4):
            assert judged(placed(request, random.Random(seed * 10 + turn))).allowed, (seed, turn)
    assert allowed > 50


def test_order_and_repetition_change_nothing():
    for seed in range(100):
        request = random_set(seed)
        shuffled = random.Random(seed).sample(request["observations"], len(request["observations"]))
        again = judged(request | {"observations": [*shuffled, *shuffled[:5]]})
        assert (again.status, set(again.rules)) == (judged(request).status, set(judged(request).rules))


def test_random_sets_reach_every_rule_and_every_status():
    verdicts = [judged(random_set(seed)) for seed in range(600)]
    rules = {rule for v in verdicts for rule in v.rules}
    expected = {f"R{n:02d}" for n in range(1, 31)} - {"R20"} | {
        "R20",
        "I2",
        "I3",
        "I4",
        "I12",
        "I13",
        "I14",
        "I15",
        "I16",
        "water",
        "repeated_trips",
    }
    assert rules >= expected
    assert {v.status for v in verdicts} >= set(SEVERITY)
