"""What to do about a fact, and who may, where the table's one sentence does not fit what was observed."""

from coldwright_readiness.shared.instants import show
from coldwright_readiness.startup.facts import Evidence, Fact
from coldwright_readiness.startup.limits import RULES
from coldwright_readiness.startup.order import Record

ELECTRICIAN = "a qualified electrical person"
TECHNICIAN = "the technician at the machine"
_DEAD_FIRST = "Take every line for live. Open the source, lock it, prove it dead"
LOST_LINE = "find the lost fuse, pole or conductor"


def rotation_words(fact: Fact) -> None:
    """R07: a swap of leads cures only a reversed rotation that was read."""
    seen = fact.detail if fact.status == "failed" else fact.status
    match seen:
        case "reversed":
            fact.do = (
                "Open the source, lock it, prove it dead, swap two leads at the source, close it again and read the "
                "indicator anew. Never live."
            )
        case "missing phase":
            fact.why = "On two lines a motor does not turn, or burns, and the third may be live all the same."
            fact.do = f"{_DEAD_FIRST}, {LOST_LINE}; then close it and read volts and indicator. A swap of leads cures nothing."
        case "no indication":
            fact.why = "An indicator that shows nothing proves neither that the lines are dead nor that they are right."
            fact.do = (
                "Take every line for live. See that the indicator works and is on all three lines, and measure the volts. "
                "If a line is lost: open the source, lock it, prove it dead, find why. Swap no leads before it reads."
            )
        case "missing" | "invalidated" | "contradicted":
            again = "" if seen == "missing" else " again: what was read before does not count any more"
            fact.do = f"Read the indicator at the machine{again}. Change no leads before it was read."


def oil_words(e: Evidence, fact: Fact) -> None:
    """R20 while nothing warms the oil: time alone clears nothing then."""
    t = e.timeline
    causes = []
    if not t.isolator_closed:
        causes.append("isolator open")
    if t.gap_until is not None and t.gap_until > e.evaluated_at:
        causes.append(f"supply interrupted, on record until {show(t.gap_until)}")
    elif t.supply is not True and t.isolator_closed:
        causes.append("supply not on record as on" if t.supply is None else "no proper supply")
    by_hand = not causes and t.switch is not True
    if t.switch is not True:
        causes.append("control switch not on record as on" if t.switch is None else "control switch off")
    if not t.voltage_good:
        causes.append("voltage too low")
    if t.cold_heaters:
        causes.append(f"heater out of order: {', '.join(sorted(t.cold_heaters))}")
    fact.detail = f"nothing warms it now: {'; '.join(causes)}"
    fact.do = (
        "Time alone does not clear this. Put right what keeps the oil from warming, in the order of the other rules; the "
        "whole time of oil heat begins then."
    )
    only_switch = by_hand and len(causes) == 1
    fact.cleared_by = f"{TECHNICIAN if only_switch else ELECTRICIAN}, and then time"


def power_words(e: Evidence, fact: Fact) -> None:
    """R05: close only what is open."""
    t = e.timeline
    begins = "the time of oil heat begins then"
    if fact.status == "stale":
        fact.do = (
            "Look again: read the volts or the rotation at the machine and record it. Open and close nothing for that; "
            "the last record says that the source is closed."
        )
    elif fact.status == "contradicted":
        fact.do = "Look again, and record what is so under a new id."
    elif fact.status == "failed" and t.gap_until is not None and t.gap_until > e.evaluated_at:
        fact.do = (
            f"The supply is interrupted, on record until {show(t.gap_until)}. Find out why, see that it is back and stays, "
            f"read the volts, see that the control switch is on; {begins}. Close nothing that another opened."
        )
    elif fact.step == "control_switch_on":
        fact.do = f"Put the control switch on and record it; {begins}."
        fact.cleared_by = TECHNICIAN


def antifreeze_words(fact: Fact, readings: list[Record], run: Record | None, from_when: int | None) -> None:
    """R13: too weak asks for concentrate, too early for time."""
    counts = "" if from_when is None else f" A reading counts from {show(from_when)} on."
    if fact.status == "failed":
        fact.do = (
            "Add concentrate (`hydronic.antifreeze` tells how much), let the loop go round three times, then read the "
            "freezing point again. Time and another reading alone make it no stronger."
        )
        return
    if fact.status not in ("missing", "invalidated"):
        return
    if fact.status == "missing" and readings:
        last = readings[-1]
        if last.pump_on:
            fact.detail = f"{last.id} came too early, before the loop had gone round three times"
        else:
            fact.detail = f"{last.id} was taken while the pump in use was not on: what stood there is not the mixture"
    if run is None:
        counts = " The pump in use must run for it."
    fact.do = f"{RULES['R13']['resolve']}{counts}"
