"""Clocks of phones that are wrong, or are set while people work: what is `ready` is ready as it really was.

Common practice, no source: the order in which a device counts its records is sure, its stamps are not. The truth of each
random start is judged by the second engine, which never hears of the phones. All data is invented.
"""

from collections import Counter
from typing import Any

import msgspec
import pytest
from start_engine import SEVERITY, judge
from startup_histories import ask, at, base, seen
from wrong_clocks import STORIES, told_by_phones

from coldwright.contract.evaluation import evaluate
from coldwright.contract.reading import read
from coldwright_readiness.startup import startup

Json = dict[str, Any]
PHONE = {"device": "phone", "boot": "b1"}


def results(request: Json) -> Any:
    return evaluate(startup, read(startup.given, msgspec.json.encode(request))).results


def compare(seeds: range) -> None:
    ready = Counter[str]()
    for seed in seeds:
        story, told, truth = told_by_phones(seed)
        ours = results(told).status
        theirs = judge(truth["configuration"], truth["observations"], truth["evaluated_at"]).status
        ready[story] += ours == "ready"
        if "ended" not in (ours, theirs):
            assert SEVERITY.index(ours) >= SEVERITY.index(theirs), (seed, story, ours, theirs)
    assert ready["right"] > len(seeds) // 100


def test_what_phones_tell_is_never_milder_than_the_truth():
    compare(range(90))


@pytest.mark.nightly
@pytest.mark.parametrize("block", range(4))
def test_what_phones_tell_is_never_milder_than_the_truth_at_night(block):
    compare(range(1000 + 2500 * block, 3500 + 2500 * block))


def test_every_story_of_a_clock_is_told():
    assert {told_by_phones(seed)[0] for seed in range(40)} == set(STORIES)


# --- a clock that was set back by an hour, in a boot that was compared before ------------------------------------------


def counted(number: int, received: str, **more: str) -> Json:
    return {"extra": PHONE | {"sequence": number, "received_at": at(received)} | {n: at(c) for n, c in more.items()}}


BEFORE = seen("unit_level", "09:03:30", "n1", ok=True, **counted(1, "09:03:35", sent_at="09:03:35"))


def status(*more: Json, without: str = "", clock: str = "09:06") -> str:
    return str(results(ask([*(o for o in base() if o["kind"] != without), *more], clock)).status)


@pytest.mark.parametrize("sent", [{}, {"sent_at": "09:05"}], ids=["unsaid", "by a clock set right again"])
def test_what_was_made_after_something_is_not_an_hour_older_than_it(sent):
    """Seen after 09:03:30 by the count of the phone, stamped 08:04:30: another phone's reading of 09:03 does not clear it."""
    lost = seen("flow_switch", "08:04:30", "n2", state="not_made", **counted(2, "09:05", **sent))
    assert status(BEFORE) == "ready"
    assert status(BEFORE, lost) == "blocked"
    again = seen("flow_switch", "09:05:30", "again", state="made")
    told = results(ask([*base(), BEFORE, lost, again]))
    assert told.facts["flow_proven"].status == "established", "surely after it was received"


def test_what_is_stamped_later_than_something_made_after_it_proves_nothing():
    """The clock was an hour ahead, and was set right: how long ago people were clear nobody knows."""
    clear = seen("area_clear", "09:04", "n1", clear=True, **counted(1, "09:05", sent_at="09:05"))
    after = seen("unit_level", "09:03", "n2", ok=True, **counted(2, "09:05", sent_at="09:05"))
    assert status(clear, without="area_clear") == "ready"
    told = results(ask([*(o for o in base() if o["kind"] != "area_clear"), clear, after]))
    assert told.facts["people_clear"].status == "missing"
    (said,) = [s for s in told.impossible if s.rule == "I1"]
    assert (said.ids, "made after it" in said.statement) == (("n1",), True)


def test_stamps_of_one_second_and_of_another_boot_are_in_order():
    pair = [
        seen("area_clear", "09:04", "n1", clear=True, **counted(1, "09:05", sent_at="09:05")),
        seen("unit_level", "09:04", "n2", ok=True, **counted(2, "09:05", sent_at="09:05")),
    ]
    assert status(*pair, without="area_clear") == "ready"
    earlier = pair[1] | {"at": at("09:03"), "boot": "b2"}
    assert status(pair[0], earlier, without="area_clear") == "ready", "each boot counts by itself"


def test_an_uptime_says_how_far_the_clock_was_set():
    """Where the uptime spaces the records, a set clock makes them less sure by as much, and no more."""
    records = []
    for number, (clock, up, kind, data) in enumerate(
        [
            ("07:00", 0.0, "unit_level", {"ok": True}),
            ("08:04", 3840.0, "area_clear", {"clear": True}),
            ("08:04:30", 7470.0, "area_clear", {"clear": True}),
        ]
    ):
        one = seen(kind, clock, f"n{number}", **data, **counted(number, "09:05:30", sent_at="09:05:30"))
        records.append(one | {"uptime": {"value": up, "unit": "s"}})
    assert status(*records, without="area_clear") == "blocked", "the last may have been made at 08:04:30"
    opened = seen("area_clear", "09:04", "other", clear=False)
    assert status(opened, seen("area_clear", "09:05", "seen", clear=True)) == "ready"
    assert status(*records, opened, without="area_clear") == "blocked"


# --- the hour in which clocks change -----------------------------------------------------------------------------------


def test_the_hour_that_is_there_twice_is_told_apart_by_its_offset():
    """Europe, 25 October 2026: 02:30 comes twice, at +02:00 and an hour later at +01:00 (Directive 2000/84/EC, from memory)."""
    night = [o | {"at": o["at"].replace("2026-05-04T", "2026-10-25T")} for o in base()]
    shift = {"09": "01", "08": "00", "07": "23"}  # 09:04Z becomes 01:04Z, which is 02:04 at +01:00

    def moved(text: str) -> str:
        hour = text[11:13]
        day = "24" if hour == "07" else "25"
        return f"2026-10-{day}T{shift[hour]}{text[13:]}"

    records = [o | {"at": moved(o["at"])} for o in night]
    asked = ask(records) | {"evaluated_at": "2026-10-25T01:06:00Z"}
    assert results(asked).status == "ready"
    local = [
        o | {"at": o["at"].replace("T01:", "T02:").replace("Z", "+01:00")} if "T01:" in o["at"] else o for o in records
    ]
    assert results(asked | {"observations": local}).status == "ready"
    first_time = [o | {"at": o["at"].replace("+01:00", "+02:00")} if o["kind"] == "area_clear" else o for o in local]
    assert results(asked | {"observations": first_time}).facts["people_clear"].status == "stale", "an hour before"


@pytest.mark.parametrize(("read", "counts"), [("09:03:00", False), ("09:05:00", False), ("09:05:01", True)])
def test_what_was_taken_back_is_in_doubt_until_something_good_is_received_later(read, counts):
    """By the rules of evidence. Ann takes her 'off' back at 09:02:30, and that arrives at 09:05: who read the volts before did
    not know of it."""
    off = seen("supply", "09:02", "off", state="off", extra={"by": "ann", "received_at": at("09:02:05")})
    back = seen(
        "withdrawn", "09:02:30", "back", reason="another machine",
        extra={"by": "ann", "supersedes": "off", "received_at": at("09:05")},
    )  # fmt: skip
    volts_read = {
        "v_ab": {"value": 478, "unit": "V"},
        "v_bc": {"value": 481, "unit": "V"},
        "v_ca": {"value": 476, "unit": "V"},
    }
    good = seen("line_voltage", read, "good", extra={"received_at": at(read)}, **volts_read)
    told = results(ask([*base(), off, back, good]))
    assert (told.facts["energised"].status == "established") == counts
    request = ask([*base(), off, back, good])
    assert (
        "R05" not in judge(request["configuration"], request["observations"], request["evaluated_at"]).rules
    ) == counts
