"""What one phone recorded lies apart as its own uptime says, however wrong its clock is; common practice, no source.

All records of the start are of one phone, whose clock nobody knows to better than four minutes.
"""

import copy
from datetime import datetime, timedelta
from typing import Any

import msgspec
import pytest
from quantity import q
from start_engine import judge
from start_engine.book import by_the_book, configurations, seen

from coldwright.contract.evaluation import evaluate
from coldwright.contract.reading import read
from coldwright_readiness.startup import startup

BY_NAME = dict(configurations())
OWN = BY_NAME["site-own_pump-water"]
NEVER_STOPS = BY_NAME["site-pump_never_stops-water"]
ASKED = "2026-05-04T09:09:30Z"  # the hour of oil heat is surely over

Request = dict[str, Any]


def of_one_phone(records: list[dict[str, Any]], unsure: float = 240, **without: bool) -> list[dict[str, Any]]:
    """The same records as a phone makes them, whose clock is off by up to `unsure` seconds."""
    found = copy.deepcopy(sorted(records, key=lambda r: r["at"]))
    booted = datetime.fromisoformat("2026-05-04T06:00:00+00:00")
    for number, record in enumerate(found):
        at = datetime.fromisoformat(record["at"])
        record |= {"device": "phone", "boot": "b1", "sequence": number, "time_uncertainty": q(unsure, "s")}
        record |= {"sent_at": ASKED, "received_at": ASKED}
        if not without.get("uptime"):
            record["uptime"] = q((at - booted).total_seconds(), "s")
    return found


def request(configuration: dict[str, Any], records: list[dict[str, Any]], at: str = ASKED) -> Request:
    return {"configuration": configuration, "observations": records, "evaluated_at": at}


def verdict(given: Request) -> Any:
    return evaluate(startup, read(startup.given, msgspec.json.encode(given))).results


def rules(given: Request) -> set[str]:
    """What forbids; never less than the second engine says."""
    theirs = judge(given["configuration"], given["observations"], given["evaluated_at"])
    found = {block.rule for block in verdict(given).blocks}
    assert {r for r in theirs.rules if r in ("R10", "R11", "R13", "R16")} <= found
    return found


@pytest.mark.parametrize("name", ["site-own_pump-water", "generator-site_pump-water", "site-pump_never_stops-water"])
def test_a_first_run_and_two_vents_are_as_far_apart_as_the_uptime_says(name):
    records = by_the_book(BY_NAME[name])
    for record in records:
        if record["kind"] == "purge" and record["at"] == "2026-05-04T08:40:00Z":
            record["at"] = "2026-05-04T08:45:00Z"
    assert rules(request(BY_NAME[name], of_one_phone(records))) == set()
    assert rules(request(BY_NAME[name], of_one_phone(records, uptime=True))) >= {"R11"}


def test_a_run_that_was_too_short_is_too_short_whatever_the_clock_allows():
    records = [r for r in by_the_book(OWN) if r["kind"] not in ("strainer", "purge") or r["at"] < "2026-05-04T08:50"]
    early = [seen("strainer", "08:57:20", blown_down=True)]
    early += [
        seen("purge", "08:57:25", point=point, result="steady_water", pump="off")
        for point in ("pump_casing", "high_point")
    ]
    assert {"R11", "R16"} <= rules(request(OWN, of_one_phone(records + early)))


def with_a_second_reading(pressure: float) -> list[dict[str, Any]]:
    """By the book, where the pump-off pressure of 45 psi is read once more, 6 min 30 s later."""
    return [*by_the_book(OWN), seen("loop_pressure", "08:51:30", pump="off", value=q(pressure, "psi"))]


def test_a_fall_is_as_fast_as_the_uptime_says():
    slow, fast = with_a_second_reading(44.4), with_a_second_reading(44)
    assert "R10" not in rules(request(OWN, of_one_phone(slow, unsure=90)))
    assert "R10" in rules(request(OWN, of_one_phone(slow, unsure=90, uptime=True)))
    assert "R10" in rules(request(OWN, of_one_phone(fast, unsure=0)))


def test_stamps_that_the_uptime_does_not_explain_prove_no_more_than_it_does():
    """The clock was put forward during the first run: by its stamps the run took 5 min 20 s, by the uptime 4 min 50 s."""
    records = of_one_phone(by_the_book(OWN), unsure=0)
    assert rules(request(OWN, records)) == set()
    for record in records:
        if record["at"] > "2026-05-04T08:57":
            record["uptime"] = q(record["uptime"]["value"] - 30, "s")
    assert rules(request(OWN, records)) == {"R16"}


def test_a_phone_whose_clock_nobody_compared_clears_nothing_that_another_recorded():
    mine = of_one_phone(by_the_book(OWN), unsure=0)
    for record in mine:
        for name in ("sent_at", "time_uncertainty"):
            del record[name]
    opened = seen("loop_opened", "08:20", by="kim", where="strainer")
    assert rules(request(OWN, [*mine, opened])) >= {"R10", "R11", "R12", "R15", "R16"}


@pytest.mark.parametrize(("unsure", "counts"), [(20, True), (240, False)])
def test_what_another_recorded_is_less_sure_by_as_much_as_the_phones_clock(unsure, counts):
    """The switch seen open by another at 08:58:30: by the phone's time up to twice its error earlier; the run ends at 08:57:30."""
    records = by_the_book(OWN)
    other = next(r for r in records if r["kind"] == "flow_switch" and r["data"]["state"] == "not_made")
    mine = of_one_phone([r for r in records if r is not other], unsure=unsure)
    assert (rules(request(OWN, [*mine, other])) & {"R11", "R16"} == set()) == counts
    alone = of_one_phone([r for r in records if r is not other], unsure=unsure, uptime=True)
    assert rules(request(OWN, [*alone, other])) & {"R11", "R16"}


@pytest.mark.parametrize("ahead", [30, -30, 300])
def test_each_record_may_have_been_when_its_uptime_says_and_when_its_stamp_does(ahead):
    """The clock was put forward, or back, at 08:57: each record holds both its stamp and what the rest make of its uptime."""
    records = of_one_phone(by_the_book(OWN), unsure=0)
    for record in records:
        if record["at"] > "2026-05-04T08:57":
            record["uptime"] = q(record["uptime"]["value"] - ahead, "s")
    asked = datetime.fromisoformat(ASKED)
    timeline = {entry.id: entry for entry in verdict(request(OWN, records)).timeline}
    for record in records:
        stamp = datetime.fromisoformat(record["at"])
        shift = timedelta(seconds=-ahead if record["at"] > "2026-05-04T08:57" else ahead)
        low, high = sorted((stamp, stamp + shift))
        entry = timeline[record["id"]]
        assert datetime.fromisoformat(entry.earliest) == low, record["id"]
        width = (min(high, asked) - low).total_seconds() / 2
        assert entry.uncertainty.to("s") == pytest.approx(width), record["id"]


def test_two_records_of_one_count_are_in_no_order():
    """A phone that counts an on and an off alike says not which was first: the compressor may run, whatever the stamps say."""
    same = {"device": "p", "boot": "b", "sent_at": "2026-05-04T09:12:00Z", "received_at": "2026-05-04T09:12:00Z"}
    on = seen("compressor", "09:06", id="1", state="on") | same | {"sequence": 7}
    off = seen("compressor", "09:10", id="1", state="off") | same
    for sequence, status in ((7, "running"), (8, "wait")):
        given = request(OWN, [*by_the_book(OWN), on, off | {"sequence": sequence}], "2026-05-04T09:12:30Z")
        assert verdict(given).status == status
        assert judge(given["configuration"], given["observations"], given["evaluated_at"]).status == status
