"""What to do about stand, ground, pump, flow, alarms, people, items and water."""

from typing import Any

from coldwright_readiness.startup.advice import troubles
from coldwright_readiness.startup.advice.action import Action, Look, seen
from coldwright_readiness.startup.advice.common import again, first_suspect, say
from coldwright_readiness.startup.evidence.evidence import Evidence
from coldwright_readiness.startup.rules.fact import Fact, Standing
from coldwright_readiness.startup.rules.flow import READ_BEFORE_START


def level(_e: Evidence, _fact: Fact, s: Standing) -> Action:
    """R03."""
    do = (
        "Level it both ways and chock the wheels, then look again."
        if s.status == "failed"
        else "See whether it stands level both ways and is chocked."
    )
    return say(
        "R03",
        do,
        "Level and chock the machine" if s.status == "failed" else f"See that it stands level{again(s)}",
        s.need.subject,
        seen("unit_level", ok=True),
    )


def ground(e: Evidence, _fact: Fact, s: Standing) -> Action:
    """R04."""
    earth, why = e.limits.earth, str(e.limits.rules["R04"]["why"])
    if s.status == "failed":
        do = f"Open the source, lock it, prove it dead, connect the {earth} first, at both ends; then record it."
        short = f"Dead and locked: connect the {earth} first"
    else:
        do = f"See that the {s.need.subject} is connected at both ends; if it is not: open, lock and prove dead first."
        short = f"See that the {earth} is connected{again(s)}"
    return say("R04", do, short, s.need.subject, seen("ground", connected=True), why=why)


def pump(e: Evidence, fact: Fact, s: Standing) -> Action:
    """R14."""
    which = e.limits.pump_in_use
    on = seen("pump_state", pump=which, state="on")
    who = "" if e.limits.own_pump else " (the site starts it)"
    if fact.reason == "tripped":
        do = (
            f"The {which}'s pump tripped: find the cause and cure it before it is started again; then start it and "
            "record it."
        )
        return say(
            "R14", do, "Pump tripped: find the cause before a restart", s.need.subject, on, causes=troubles.PUMP_TRIP
        )
    if s.status == "stale":
        return say("R14", "See that the pump runs, and record it.", "See that the pump runs", s.need.subject, on)
    if not e.limits.pump_stops:
        do = "See that the site's pump runs: look at its pressures and noise; record it."
        return say("R14", do, "See that the site's pump runs", s.need.subject, on)
    return say(
        "R14",
        f"Start the {which}'s pump{who}; look at its turning, current and noise; record it.",
        f"Start the {which}'s pump{who}",
        s.need.subject,
        on,
    )


def flow(e: Evidence, fact: Fact, s: Standing) -> Action:
    """R15."""
    made, drop = seen("flow_switch", state="made"), seen("evaporator_pressure_drop")
    if (
        s.status == "contradicted"
        and s.undone is not None
        and s.undone.kind == ("flow_switch" if "switch" in s.need.subject else "evaporator_pressure_drop")
    ):
        zero = (
            seen("flow_switch", state="not_made")
            if "switch" in s.need.subject
            else seen("evaporator_pressure_drop", value={"value": 0.0, "unit": "kPa"})
        )
        if not e.limits.pump_stops:
            do = (
                f"It showed flow without a pump. This pump cannot be stopped: shut the machine's return valve, see the "
                f"{s.need.subject} show none, and record both; then open it again and prove the flow."
            )
            shut, opened = (seen("valve_position", valve="return", position=p) for p in ("closed", "open"))
            short = f"Return valve shut: see the {s.need.subject} show none"
            return say("R15", do, short, s.need.subject, shut, zero, opened)
        do = (
            f"It showed flow without a pump. Stop the pump and see the {s.need.subject} show none; record it; then "
            "start again and prove the flow."
        )
        return say(
            "R15",
            do,
            f"Pump off: see the {s.need.subject} show none",
            s.need.subject,
            seen("pump_state", pump=e.limits.pump_in_use, state="off"),
            zero,
        )
    records = {"flow switch": made, "drop across the evaporator": drop, "flow": seen("flow")}
    wanted = tuple(records[o.need.subject] for o in fact.open if o.need.subject in records)
    if s.status == "failed" and s.need.detail != READ_BEFORE_START:
        causes: tuple[Look, ...] = troubles.NO_FLOW
        if s.need.subject.startswith("drop") and s.by:
            causes = troubles.LOW_DROP if s.by[0].data.value.si < e.limits.least_drop else troubles.HIGH_DROP
        if causes is not troubles.HIGH_DROP and not _strainer_read_since(e, s):
            wanted = (seen("strainer_pressure_drop"), *wanted)
        wrong = s.need.fault or f"{s.need.subject}: {s.need.detail}"
        do = f"{wrong[0].upper()}{wrong[1:]}. {first_suspect(causes)} Then read again with the pump running."
        return say(
            "R15",
            do,
            f"{s.need.subject[0].upper()}{s.need.subject[1:]} wrong: find the cause",
            s.need.subject,
            *wanted,
            causes=causes,
        )
    do = f"With the pump running, see the switch made and read the drop{again(s)}, and record both."
    return say("R15", do, f"See the switch made, read the drop{again(s)}", s.need.subject, *(wanted or (made, drop)))


def _strainer_read_since(e: Evidence, s: Standing) -> bool:
    """Whether the drop across the strainer was read after the flow was seen lost."""
    return any(r.earliest >= s.by[0].earliest for r in e.of("strainer_pressure_drop")) if s.by else False


def alarms(_e: Evidence, _fact: Fact, s: Standing) -> Action:
    """R18."""
    if s.need.subject.startswith("alarm "):
        code = s.need.subject.removeprefix("alarm ")
        return say(
            "R18",
            f"Find the cause of alarm {code}, cure it, then reset it once and record it.",
            f"Alarm {code}: find the cause, reset once",
            s.need.subject,
            seen("alarm", code=code, state="cleared"),
            causes=troubles.ALARM,
        )
    if s.status == "failed":
        return say(
            "R18",
            "An alarm is shown: record it, find the cause, cure it, reset once, look again.",
            "Alarm shown: find the cause, look again",
            s.need.subject,
            seen("alarm_check", none_shown=True),
            causes=troubles.ALARM,
        )
    return say(
        "R18",
        f"Look{again(s)} at the controller's list of alarms and record whether it shows none.",
        f"Look{again(s)} whether an alarm is shown",
        s.need.subject,
        seen("alarm_check", none_shown=True),
    )


def people(_e: Evidence, _fact: Fact, s: Standing) -> Action:
    """R19."""
    do = (
        "Have everybody leave fans, leads and couplings, close the guards; then look round and record that it is clear."
        if s.status == "failed"
        else "Look round the machine: nobody at fans, leads or couplings, guards on; record it."
    )
    return say("R19", do, "Look round: is everybody clear?", s.need.subject, seen("area_clear", clear=True))


def items(e: Evidence, _fact: Fact, s: Standing) -> Action:
    """R30."""
    subject = next(
        (k for k in e.by_subject("machine_check") if k[-1].replace("_", " ") == s.need.subject), (s.need.subject,)
    )
    data: dict[str, Any] = {"item": subject[0], "ok": True, **({"label": subject[1]} if len(subject) > 1 else {})}
    return say(
        "R30",
        f"Put it right and record it: {s.need.subject}.",
        f"Put right: {s.need.subject}",
        s.need.subject,
        seen("machine_check", **data),
    )


def water(_e: Evidence, _fact: Fact, s: Standing) -> Action:
    """R31."""
    read = seen("water_temperature")
    if s.status == "failed":
        do = (
            f"Circulate and put load on, no compressor ({s.need.detail}). Below 34 degF (1 degC) look for ice in the evaporator "
            "first. Then read both sides again."
        )
        return say(
            "R31", do, "Water too cold: circulate, load on, read again", s.need.subject, read, causes=troubles.COLD
        )
    return say(
        "R31",
        f"With the pump running, read the entering and the leaving temperature{again(s)}.",
        f"Read entering and leaving water{again(s)}",
        s.need.subject,
        read,
    )
