"""What to do about locks, plate, power, rotation and the heat of the oil."""

from typing import Any, Final

from coldwright_basis.instants import show, whole
from coldwright_readiness.startup.advice import troubles
from coldwright_readiness.startup.advice.action import ELECTRICIAN, TECHNICIAN, Action, Look, Template, seen
from coldwright_readiness.startup.advice.common import again, first_suspect, of_this_machine, row_of, say, supervisor
from coldwright_readiness.startup.evidence.evidence import Evidence
from coldwright_readiness.startup.evidence.known import Against
from coldwright_readiness.startup.rules.connecting import locks_on, why_not_connect
from coldwright_readiness.startup.rules.fact import Fact, Standing
from coldwright_readiness.startup.stopping import PHASE_LOST

PROOF: Final[dict[str, Any]] = dict.fromkeys(("dead", "tester_proved_before", "tester_proved_after"), True)


def locks(e: Evidence, _fact: Fact, s: Standing) -> Action:
    """R01."""
    subject = s.need.subject
    if subject.startswith("lock ") and s.status == "failed":
        applied = s.by[-1]
        lock, owner = applied.data.lock_id, applied.by or "whoever applied it"
        return say(
            "R01",
            f"Its owner {owner} looks at all that was done under lock {lock}, then takes it off; nobody else does. If {owner} "
            f"is not on site: {supervisor(e)} calls {owner}, inspects the source, settles the lock with a record, and tells "
            f"{owner} before {owner} returns.",
            f"Lock {lock} is still on: {owner} takes it off",
            subject,
            seen("lock", by=applied.by, lock_id=lock, state="removed"),
            Template("settled", {"check": "R01", "records": (applied.id,)}, role="supervisor", otherwise=True),
            hands=f"the owner of the lock, {owner}",
        )
    if s.status == "failed":
        return say(
            "R01",
            "A lock was seen. Find whose it is; when its owner has taken it off, look at every source again and record "
            "it.",
            "A lock was seen: find its owner, then look again",
            subject,
            seen("lock_check", none_seen=True),
        )
    return say(
        "R01",
        f"Look{again(s)} at every place where the supply can be locked, at the source and at the machine. Record whether a "
        "lock is on.",
        f"Look{again(s)} for locks at every source",
        subject,
        seen("lock_check", none_seen=True),
        hands=TECHNICIAN,
    )


def plate(_e: Evidence, _fact: Fact, s: Standing) -> Action:
    """R02."""
    if s.status == "failed":
        do = f"Fit what goes with the plate ({s.need.detail}), then read plate, cable and breaker again."
        return say("R02", do, "Fit cable and breaker to the plate, read again", s.need.subject, seen("plate_check"))
    do = "Read the data plate; compare it with the cable and the breaker, and record all four."
    return say("R02", do, f"Read the data plate, cable and breaker{again(s)}", s.need.subject, seen("plate_check"))


def power(e: Evidence, _fact: Fact, s: Standing) -> Action:
    """R05."""
    subject = s.need.subject
    begins = "the time of oil heat begins then"
    if s.status == "contradicted":
        return _see_what_is_on(subject)
    opened = s.by[0] if s.status == "failed" and s.by and s.by[0].kind == "isolator" else None
    if subject == "control switch":
        return say(
            "R05",
            f"Put the control switch on and record it; {begins}.",
            "Put the control switch on",
            subject,
            seen("control_switch", state="on"),
            step="control_switch_on",
            hands=TECHNICIAN,
        )
    if subject == "isolator" or opened is not None:
        return say(
            "R05",
            f"See why the isolator is open and that nobody works behind it; close it and record it; {begins}.",
            "Close the isolator, if nobody works behind it",
            "isolator",
            seen("isolator", state="closed"),
        )
    gap = max((g.latest for g in e.power.gaps), default=0)
    if gap > e.now:
        do = (
            f"The supply is interrupted, on record until {show(whole(gap))}. Find out why, see that it is back and stays, "
            "read the volts. Close nothing that another opened."
        )
        return say(
            "R05",
            do,
            "Supply interrupted: find out why",
            subject,
            seen("supply", state="on"),
            not_before=gap,
            causes=troubles.LOST_SUPPLY,
        )
    if s.status == "stale":
        do = "Read the volts or the rotation at the machine and record it. Open and close nothing for that."
        return say(
            "R05",
            do,
            "Read the volts at the machine again",
            subject,
            seen("line_voltage"),
            step="check_phase_and_voltage",
        )
    if s.status in ("failed", "invalidated"):
        last = s.by[0] if s.status == "failed" and s.by else s.undone
        kind = "" if last is None else last.kind
        if kind in ("phase_indicator", "line_voltage"):
            do = (
                "Take every line for live. Open the source, lock it, prove it dead, find the lost fuse, pole or "
                "conductor; then close it, record it, and read volts and rotation."
            )
            return say(
                "R05",
                do,
                "A line is lost: open, lock, find it",
                subject,
                seen("supply", state="on"),
                causes=troubles.LOST_SUPPLY,
            )
        if kind == "moved":
            do = (
                "The machine was moved: see that its cable is whole and connected and that nobody is at the leads; then close "
                f"the source and record it; {begins}."
            )
            return say("R05", do, "Moved: see its cable, then close the source", subject, seen("supply", state="on"))
        if kind in ("leads_swapped", "line_connection"):
            do = (
                "See that the work on the lines is done and nobody is at the leads; then close the source and record "
                f"it; {begins}."
            )
            return say(
                "R05", do, "Work done, nobody at the leads: close the source", subject, seen("supply", state="on")
            )
        do = (
            "Ask why the supply went off. After a trip look for the fault before anything is closed. Only when the cause is "
            f"known and cured, and no lock is on: close the source and record it; {begins}."
        )
        if last is not None and last.foreign:
            do += (
                " It was recorded at another machine of this source: if that machine's own breaker alone was opened, whoever "
                "recorded it corrects that there."
            )
        return say(
            "R05",
            do,
            "Find out why the supply went off, then close it",
            subject,
            seen("supply", state="on"),
            causes=troubles.LOST_SUPPLY,
        )
    do = f"Close the source and record it; {begins} once the control switch is on too."
    step = "start_generator" if e.limits.configuration.supply_source == "generator" else "energise"
    return say("R05", do, "Close the source", subject, seen("supply", state="on"), step=step)


def _see_what_is_on(subject: str) -> Action:
    """Records of it do not agree: nobody closes anything before it was looked at."""
    if subject == "supply":
        do = "The records of the supply do not agree. Read the volts at the machine and record them; close nothing for that."
        return say("R05", do, "Read the volts at the machine again", subject, seen("line_voltage"))
    kind, state = ("isolator", "closed") if subject == "isolator" else ("control_switch", "on")
    do = f"The records of the {subject} do not agree. See how it stands and record it."
    return say("R05", do, f"See how the {subject} stands", subject, seen(kind, state=state), hands=TECHNICIAN)


def voltage(e: Evidence, _fact: Fact, s: Standing) -> Action:
    """R06."""
    causes: tuple[Look, ...] = ()
    if s.status == "failed":
        causes = _voltage_causes(e, s)
        do = (
            f"Find the cause first ({s.need.detail}). {first_suspect(causes)} Then measure all three at the machine's "
            "terminals again."
        )
        return say(
            "R06",
            do,
            "Voltage out of limits: find the cause, read again",
            s.need.subject,
            seen("line_voltage"),
            causes=causes,
        )
    hertz = " and the hertz" if e.limits.configuration.supply_source == "generator" else ""
    do = f"Measure the three line voltages{hertz} at the machine's terminals{again(s)}."
    return say("R06", do, f"Read the line voltages{hertz}{again(s)}", s.need.subject, seen("line_voltage"))


def _voltage_causes(e: Evidence, s: Standing) -> tuple[Look, ...]:
    volts = s.by[0].volts
    if s.need.subject == "frequency":
        return troubles.HERTZ
    if not volts.not_low:
        return troubles.LOW_VOLTAGE
    return troubles.UNBALANCED if volts.inside else troubles.high_voltage(e.limits.earth)


def rotation(e: Evidence, fact: Fact, s: Standing) -> Action:
    """R07."""
    read = seen("phase_indicator", rotation="correct")
    if fact.reason == "missing_phase" and s.status == "failed" and _volts_right_since(e, s):
        do = "The three line voltages are right since: read the rotation at the machine. Change no leads before it was read."
        return say("R07", do, "Volts are right: read the rotation again", s.need.subject, read)
    if fact.reason == "missing_phase" and s.status == "failed":
        do = (
            "Take every line for live. Open the source, lock it, prove it dead, find the lost fuse, pole or conductor; "
            "then close it and read volts and rotation. A swap of leads cures nothing."
        )
        return say(
            "R07",
            do,
            "A phase is missing: open, lock, find it",
            s.need.subject,
            read,
            why=PHASE_LOST,
            causes=troubles.LOST_SUPPLY,
        )
    if fact.reason == "no_indication" and s.status == "failed":
        why = "An indicator that shows nothing proves neither that the lines are dead nor that they are right."
        do = (
            "Take every line for live. See that the indicator works and is on all three lines, measure the volts, read "
            "it again. Swap no leads before it reads."
        )
        return say("R07", do, "Indicator shows nothing: check it, read again", s.need.subject, read, why=why)
    once_more = bool(again(s)) or s.status == "failed"
    counts = " again: what was read before does not count any more" if once_more else ""
    do = f"Read the rotation at the machine{counts}. Change no leads before it was read."
    return say(
        "R07",
        do,
        "Read the rotation at the machine" + (" again" if once_more else ""),
        s.need.subject,
        read,
    )


def _volts_right_since(e: Evidence, s: Standing) -> bool:
    """Whether all three lines were read as they should be since a phase was seen missing."""
    missing = Against(s.need.failing)
    return any(r.proves and r.volts.good and missing.all_before(r) for r in e.of("line_voltage"))


def oil(e: Evidence, fact: Fact, _s: Standing) -> Action:
    """R20 while nothing warms the oil."""
    return say(
        "R20",
        f"Time alone does not clear this. Put right what keeps the oil from warming ({fact.reason}); the whole time of oil heat "
        "begins then.",
        "Nothing warms the oil: see supply and switch",
        "oil heat",
        seen("control_switch", state="on"),
        hands=who_warms_the_oil(e),
    )


def who_warms_the_oil(e: Evidence) -> str:
    """The technician where only the switch is off."""
    off = [name for name, state in e.power.conditions.items() if not state.holds]
    return f"{TECHNICIAN if off == ['switch'] else ELECTRICIAN}, and then time"


def heaters(_e: Evidence, fact: Fact, s: Standing) -> Action:
    """R29."""
    names = [o.need.subject.removeprefix("heater of compressor ") for o in fact.open]
    first = s.need.subject.removeprefix("heater of compressor ")
    if s.status == "failed":
        return say(
            "R29",
            f"The heater of compressor {first} is cold: have it repaired; the time of oil heat begins then.",
            f"Heater of compressor {first} is cold: repair it",
            s.need.subject,
            seen("oil_heater", compressor=first, working=True),
            causes=troubles.COLD_HEATER,
        )
    do = f"Feel or meter the oil heater of each compressor ({', '.join(names)}) and record it."
    return say(
        "R29",
        do,
        "Feel the oil heater of each compressor",
        s.need.subject,
        *(seen("oil_heater", compressor=n, working=True) for n in names),
        hands=TECHNICIAN,
    )


def _locks(e: Evidence) -> str:
    """Those that are on, with whose they are."""
    on = sorted({(r.data.lock_id, r.by or "nobody in particular") for r in locks_on(e, surely=False)})
    return ", ".join(f"{lock} of {owner}" for lock, owner in on[:3])


def swap_leads(e: Evidence) -> Action:
    """A reversed rotation: open, lock, prove dead, swap, and only then close again; one thing at a time."""
    why = str(row_of("R07")["why"])
    reasons = why_not_connect(e)
    hands = ELECTRICIAN
    if any("supply" in r for r in reasons):
        return Action(
            "lock_source",
            why,
            "The rotation is reversed. Open the source; nothing is swapped live.",
            "Rotation reversed: open the source",
            "source",
            (seen("supply", state="off", cause="switched", **of_this_machine(e)),),
            hands,
            troubles.REVERSED,
        )
    if any("lock" in r for r in reasons):
        return Action(
            "lock_source",
            why,
            "Lock the open source, with your own lock and tag.",
            "Lock and tag the open source",
            "source",
            (seen("lock", state="applied", tagged=True, **of_this_machine(e)),),
            hands,
        )
    own = f"Whoever works there has a lock of their own on (on record: {_locks(e)})."
    if reasons:
        return Action(
            "prove_dead",
            why,
            f"{own} Prove the tester, prove the lines dead, prove the tester again.",
            "Prove the lines dead, tester tried twice",
            "lines",
            (seen("proved_dead", role="electrician", **PROOF),),
            hands,
        )
    return Action(
        "connect_lines",
        why,
        f"{own} Swap two leads at the source, then see that covers are on and record it. A lock comes off only after that.",
        "Swap two leads at the source",
        "two leads at the source",
        (seen("leads_swapped", where="source"),),
        hands,
        troubles.REVERSED,
    )
