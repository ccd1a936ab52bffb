"""Time in `readiness.startup`: more uncertainty never makes an answer milder, a failed fact never goes stale.

Common practice, no source; the definition is the project's own: a set that is ready is ready for every placement of every
record inside its interval.
"""

import random
from typing import Any

import msgspec
import pytest
from hypothesis import given as forall
from hypothesis import strategies as st
from quantity import q
from startup_histories import ask, at, base, generated, seen, volts

from coldwright.contract.evaluation import evaluate
from coldwright.contract.reading import read
from coldwright_readiness.startup import startup

SEVERITY = ("ready", "wait", "blocked", "running", "stop_now")
NEVER_MILDER = {"ended": "ready"}


def judge(request: dict[str, Any]) -> Any:
    return evaluate(startup, read(startup.given, msgspec.json.encode(request))).results


def rank(status: str) -> int:
    return SEVERITY.index(NEVER_MILDER.get(status, status))


def widened(request: dict[str, Any], rng: random.Random) -> dict[str, Any]:
    """The same set with one or several records of less certain time."""
    records = [dict(o) for o in request["observations"]]
    past = [o for o in records if o["at"] <= request["evaluated_at"] and not o.get("clock_offset")]
    for record in rng.sample(past, k=min(len(past), rng.choice([1, 1, 2, 5]))):
        more = rng.choice([30, 300, 1800, 7200])
        before = record.get("time_uncertainty", {"value": 0})["value"]
        record["time_uncertainty"] = q(before + more, "s")
    return {**request, "observations": records}


@forall(st.integers(0, 10**9))
def test_more_uncertainty_never_makes_an_answer_milder(seed):
    request = generated(seed)
    rng = random.Random(seed)
    before, after = judge(request), judge(widened(request, rng))
    assert rank(after.status) >= rank(before.status), (before.status, after.status)


WRONG = {
    "set_point": seen("set_point", "09:01", value=q(38, "degF")),
    "bypass moved": seen("valve_position", "09:04", valve="pump_bypass", position="open"),
    "purge": seen("purge", "09:01", point="high_point", result="spitting", pump="off"),
    "pressure": seen("loop_pressure", "09:01", pump="off", value=q(20, "psi")),
    "plate": seen(
        "plate_check",
        "08:00",
        minimum_circuit_ampacity=q(310, "A"),
        maximum_overcurrent_device=q(400, "A"),
        cable_ampacity=q(380, "A"),
        breaker_rating=q(500, "A"),
    ),
    "too much voltage": seen("line_voltage", "08:30", **volts(530, 531, 529)),
    "unbalance": seen("line_voltage", "08:30", **volts(478, 455, 440)),
    "frozen water": seen("water_temperature", "09:04", leaving=q(-1, "degC")),
    "supply off": seen("supply", "08:59", state="off"),
    "not level": seen("unit_level", "08:59", ok=False),
}


@pytest.mark.parametrize("what", WRONG)
@pytest.mark.parametrize("minutes", [0, 1, 5, 10, 30, 600])
def test_what_blocks_blocks_whatever_its_uncertainty(what, minutes):
    """Each of these was once made ready by declaring that its time is not sure."""
    wrong = {**WRONG[what], "time_uncertainty": q(minutes, "min")}
    assert judge(ask([*base(), wrong])).status == "blocked"


AGED = {
    "supply off": (seen("supply", "09:05", state="off"), "energised"),
    "volts": (seen("line_voltage", "09:05", **volts(400, 402, 401)), "voltage_in_limits"),
    "pressure": (seen("loop_pressure", "09:05", pump="off", value=q(10, "psi")), "loop_pressurised"),
    "pump": (seen("pump_state", "09:05", pump="machine", state="tripped"), "pump_running"),
    "switch": (seen("flow_switch", "09:05", state="not_made"), "flow_proven"),
    "drop": (seen("evaporator_pressure_drop", "09:05", value=q(1, "kPa")), "flow_proven"),
    "alarm": (seen("alarm", "09:05", code="HP", state="active"), "no_alarm"),
    "people": (seen("area_clear", "09:05", clear=False), "people_clear"),
    "water": (seen("water_temperature", "09:05", leaving=q(0.5, "degC")), "water_warm"),
}


@pytest.mark.parametrize("what", AGED)
@pytest.mark.parametrize("clock", ["09:06", "09:40", "14:00", "23:50"])
def test_what_failed_never_becomes_stale(what, clock):
    record, fact = AGED[what]
    results = judge(ask([*base(), record], clock))
    assert results.facts[fact].status in ("failed", "invalidated")
    assert fact not in results.stale


def test_ties_count_against_the_start():
    tie = [seen("flow_switch", "09:03", "no", state="not_made")]
    assert judge(ask([*base(), *tie])).status == "blocked"


def test_a_reading_counts_from_its_earliest_instant():
    unsure = [{**o, "time_uncertainty": q(9, "min")} if o["kind"] == "area_clear" else o for o in base()]
    assert judge(ask(unsure)).status == "blocked", "it may be eleven minutes old"


def test_the_warm_up_begins_at_the_latest_instant_of_what_made_it_good():
    unsure = [{**o, "time_uncertainty": q(60, "s")} if o["kind"] == "control_switch" else o for o in base()]
    results = judge(ask(unsure, "09:05:30"))
    assert (results.warm_up_since, results.warm_up_until) == (at("08:06"), at("09:06"))


def test_the_meaning_moves_with_records_and_not_with_the_clock():
    slow = {"warm_up_duration": q(12, "h")}
    meanings: dict[Any, Any] = {}
    for hour in range(9, 17):
        for minute in range(6, 60, 9):
            results = judge(ask(base(), f"{hour:02d}:{minute:02d}", slow))
            meanings.setdefault(results.meaning, results.stale)
    assert len(meanings) <= 1 + max(len(stale) for stale in meanings.values()), "one for each fact that aged"
    first = judge(ask(base(), "09:06", slow))
    assert first.valid_until == at("09:14:01"), "people were seen clear at 09:04"


@forall(st.integers(0, 10**9))
def test_whatever_makes_an_answer_more_severe_is_known_to_speak_against_a_start(seed):
    """By definition: only its author, or a supervisor, takes such a record back."""
    rng = random.Random(seed)
    request = generated(seed)
    one = {**rng.choice(request["observations"] or base()), "id": "one", "at": at("09:05:30")}
    for name in ("supersedes", "clock_offset", "time_uncertainty"):
        one.pop(name, None)
    before, after = judge(ask(base())), judge(ask([*base(), one]))
    worse = {name for name, f in before.facts.items() if f.status == "established"} - {
        name for name, f in after.facts.items() if f.status == "established"
    }
    entry = next(t for t in after.timeline if t.id == "one")
    if worse or rank(after.status) > rank(before.status):
        assert entry.adverse, (one["kind"], worse)
