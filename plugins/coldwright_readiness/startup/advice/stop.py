"""What to do about a machine that must be stopped: it first, then what keeps it from starting by itself, then the cause."""

from coldwright_readiness.startup.advice.action import TECHNICIAN, Action, Template, seen, shortened
from coldwright_readiness.startup.advice.by_rule import action_for
from coldwright_readiness.startup.advice.readings import READ_NOW, readings_of, seen_instead, spoken
from coldwright_readiness.startup.evidence.evidence import Evidence
from coldwright_readiness.startup.evidence.known import Against
from coldwright_readiness.startup.evidence.stance import compressor_off, compressor_on
from coldwright_readiness.startup.stopping import Cause, why_of
from coldwright_readiness.startup.verdict import Verdict


def named(compressors: tuple[str, ...]) -> str:
    """`compressor 1`, `compressors 1 and 2`."""
    if len(compressors) == 1:
        return f"compressor {compressors[0]}"
    return f"compressors {', '.join(compressors[:-1])} and {compressors[-1]}"


def how_to_stop(e: Evidence) -> str:
    """With what a machine is stopped."""
    if without_power(e):
        return (
            "Before power comes back, see that nothing can start by itself: the unit stopped, or its control switch off; "
            "record that and each compressor as off."
        )
    return (
        "With the machine's own stop or its control switch, never at the leads. See that it has stopped, and record each "
        "compressor as off."
    )


def without_power(e: Evidence) -> bool:
    """Whether the source was seen off, and not on again."""
    return bool(e.power.off) and not e.power.supply.holds


def stop(e: Evidence, v: Verdict) -> Action:
    runs = v.runs
    if runs.unread:
        return _stop_or_read(e, v)
    if runs.may_start_by_itself and not runs.presumed and not without_power(e) and _all_off_since(e, v):
        return _stop_the_unit(e, v)
    names = runs.compressors or tuple(sorted({r.data.id for r in e.of("compressor")}, key=int)) or e.limits.compressors
    causes = " ".join(c.statement for c in runs.causes[:3])
    latched = any(c.latched for c in runs.causes)
    if runs.may_start_by_itself:
        causes = f"{causes} It may start by itself."
    then = [how_to_stop(e)]
    short = f"Stop {named(names)} now"
    if runs.may_start_by_itself and not runs.presumed:
        then.insert(0, "The off on record is not surely later than the cause: record it once more.")
        short = f"{named(names)[0].upper()}{named(names)[1:]}: record off once more, stop unit"
    if latched and not without_power(e):
        then.append("Then stop the unit itself and record that: it may start by itself.")
    lead = runs.causes[0]
    then.append(_after_the_stop(lead))
    record: list[Template] = [seen("compressor", id=name, state="off") for name in names]
    if latched:
        record.append(seen("unit_stop", state="stopped"))
    why = f"{causes} {why_of(lead, e.limits.rules)}"
    do = f"Stop {named(names)} now. {' '.join(then)}"
    return Action("start_first_compressor", why, do, short, named(names), tuple(record), TECHNICIAN)


def _all_off_since(e: Evidence, v: Verdict) -> bool:
    """Whether every compressor that was ever on is recorded as off surely after every cause of the stop."""
    causes = Against([r for c in v.runs.causes for r in c.records])
    return all(
        any(r.proves and compressor_off(r.data) and causes.all_before(r) for r in records)
        for records in e.by_subject("compressor").values()
        if any(compressor_on(r.data) for r in records)
    )


def _stop_the_unit(e: Evidence, v: Verdict) -> Action:
    """Every compressor is recorded as off: what is left is the machine's own stop."""
    names = tuple(sorted({r.data.id for r in e.of("compressor") if compressor_on(r.data)}, key=int))
    lead, one = v.runs.causes[0], len(names) == 1
    subject = named(names)
    do = (
        f"Stop {subject} from starting again: {'it is' if one else 'they are'} recorded as off, but may start by itself. "
        f"Put the machine's own stop in now, and record it. {_after_the_stop(lead)}"
    )
    return Action(
        "start_first_compressor",
        f"{' '.join(c.statement for c in v.runs.causes[:3])} {why_of(lead, e.limits.rules)}",
        do if one else do.replace("by itself", "by themselves"),
        f"{'Compressor ' + names[0] + ' is' if one else 'Compressors are'} off: put the machine's own stop in",
        subject,
        (seen("unit_stop", state="stopped"),),
        TECHNICIAN,
    )


def _stop_or_read(e: Evidence, v: Verdict) -> Action:
    """Nothing was seen wrong with a machine that runs; what it may run on was not read, or too long ago."""
    subject = named(v.runs.compressors)
    causes = v.runs.causes
    lacking = {c.code for c in causes}
    rules = tuple(rule for rule in READ_NOW if rule in lacking)
    what = spoken(tuple(READ_NOW[rule][0] for rule in rules))
    record: list[Template] = []
    for rule in rules:
        fact = v.facts[rule]
        record += readings_of(e, rule) or (() if fact.established else action_for(e, fact).record)
    record += [seen_instead("compressor", id=name, state="off") for name in v.runs.compressors]
    return Action(
        "start_first_compressor",
        f"{' '.join(c.statement for c in causes[:3])} {e.limits.rules[causes[0].code]['why']}",
        (
            f"Stop {subject} now, or read at once, and again after a minute: {what}. Anything not in order, or no "
            f"reading: stop it. {how_to_stop(e)}"
        ),
        shortened(f"Read now, twice, or stop: {what}"),
        subject,
        tuple(record),
        TECHNICIAN,
    )


def _after_the_stop(cause: Cause) -> str:
    return {
        "R15": (
            "Keep the pump on if it runs; find why the flow was lost (strainer, valve, air, trip) and look for ice "
            "before liquid is driven through the evaporator."
        ),
        "R05": "Find why the supply was lost before anything is closed.",
        "R06": "Find what is wrong with the voltage before it runs again.",
        "R09": "Set the valve, then prove the flow again.",
        "R12": "Find where the liquid goes; open nothing under pressure.",
        "R19": "Have everybody leave fans, leads and couplings, close the guards, look round again.",
        "running_presumed": "See what runs, and record each compressor as on or off.",
        "R14": "Find why the pump stopped; look for ice in the evaporator before liquid is driven through it.",
        "R31": "Keep the pump on and put load on; look for ice first if it was below 34 degF (1 degC).",
        "R07": "Then open the source, lock it, prove it dead; nothing is swapped live.",
        "R01": "Leave the source alone: somebody may be at the leads.",
        "R18": "Find the cause of the alarm before it is reset, once.",
        "I12": "Call the owner of the machine before it runs again.",
    }.get(cause.code, "Then find the cause before it runs again.")
