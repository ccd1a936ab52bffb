"""What to do about hoses, valves, pressure, air, leaks, mixture, strainer and set point."""

from typing import Any, Final

from coldwright_basis.instants import show, whole
from coldwright_readiness.startup.advice import troubles
from coldwright_readiness.startup.advice.action import Action, Template, seen
from coldwright_readiness.startup.advice.common import again, pump_off, say
from coldwright_readiness.startup.evidence.evidence import Evidence
from coldwright_readiness.startup.evidence.record import after
from coldwright_readiness.startup.rules.fact import Fact, Standing
from coldwright_readiness.startup.rules.falling import next_of_pair
from coldwright_readiness.startup.rules.loop import AFTER_RUN, PURGES_APART, VENT_NOW, reason_words
from coldwright_readiness.startup.rules.mixture import TURNOVERS
from coldwright_readiness.startup.words import from_to

HOSE: Final[dict[str, Any]] = dict.fromkeys(
    ("connected", "lever_locked", "gasket_seen", "direction_ok", "strain_free"), True
)


def hoses(e: Evidence, _fact: Fact, s: Standing) -> Action:
    """R08."""
    end = s.need.subject.replace(" ", "_")
    rest, first = _at_rest(e) if s.status in ("failed", "invalidated") else ("", ())
    if s.status == "failed":
        do = (
            f"{rest}Make the coupling at the {s.need.subject} good ({s.need.detail}); open nothing before a vent shows zero "
            "pressure. Look at all five points again."
        )
        return say(
            "R08",
            do,
            f"{'Pump off: make' if first else 'Make'} the hose at {s.need.subject} good",
            s.need.subject,
            *first,
            seen("hose_connection", end=end, **HOSE),
        )
    do = (
        f"{rest}Connect the hose at the {s.need.subject}; check gasket, levers, pins, direction, strain, and record it."
    )
    return say(
        "R08",
        do,
        f"{'Pump off: connect' if first else 'Connect'} and check the hose at {s.need.subject}",
        s.need.subject,
        *first,
        seen("hose_connection", end=end, **HOSE),
    )


def _at_rest(e: Evidence) -> tuple[str, tuple[Template, ...]]:
    """What comes before a hand at a coupling while a pump runs."""
    if not e.pumping.run.holds:
        return "", ()
    if e.limits.pump_stops:
        return "Stop the pump first. ", pump_off(e)
    return "Shut the machine's supply and return valves first, since the pump cannot be stopped. ", ()


def valves(e: Evidence, fact: Fact, s: Standing) -> Action:
    """R09."""
    name = s.need.subject.removesuffix(" valve")
    key = name.replace(" ", "_")
    known = key in e.limits.valves or key == "balancing"
    position = s.need.detail
    data = (
        {"valve": key, "position": position}
        if known
        else {"valve": "other", "label": name, "in_flow_path": True, "position": position}
    )
    what = f"{'Set' if s.status == 'failed' else 'See'} the {s.need.subject} {position}"
    words = f" {reason_words(fact.reason)}" if fact.reason else ""
    return say("R09", f"{what}, and record it.{words}", what, s.need.subject, seen("valve_position", **data))


def pressure(e: Evidence, _fact: Fact, s: Standing) -> Action:
    """R10."""
    c = e.limits.configuration
    stops = e.limits.pump_stops
    reading = seen("loop_pressure", pump="off" if stops else "on", gauge="suction")
    first = pump_off(e) if stops else ()
    medium = "mixed" if e.limits.glycol else "water"
    limits = from_to(c.fill_pressure_minimum, c.fill_pressure_maximum)
    way = (
        "with the pump off"
        if stops
        else "at the suction gauge; this pump cannot be stopped, so it is read with the pump on"
    )
    if s.need.detail.startswith("falling"):
        return _falling(e, s, first)
    if s.need.subject.endswith("pump on"):
        gauge = s.by[0].data.gauge if s.by else "suction"
        starved = s.by and s.by[0].data.value.si < c.rated_pressure.si
        what = "stop the pump, it is starved" if starved else "stop the pump and let pressure off"
        if not stops:
            what = f"have whoever runs the site's pump bring the pressure {'up' if starved else 'down'}"
        do = f"{s.need.detail}: {what}; find why, fill to {limits}, and read {way}."
        return say(
            "R10",
            do,
            f"{'Pump off: pressure' if stops else 'Pressure'} wrong at the {gauge} gauge",
            s.need.subject,
            *first,
            reading,
            causes=troubles.STARVED if starved else troubles.OVER_PRESSURE,
        )
    if not filled(e):
        still = "pump off" if stops else "read at the suction gauge since the pump cannot be stopped"
        do = (
            f"{'Stop the pump. ' if first else ''}Fill the loop to {limits}, {still}, gauge in sight, with a backflow preventer "
            "on a potable supply; record it."
        )
        return say(
            "R10",
            do,
            "Pump off: fill the loop" if first else "Fill the loop",
            "loop",
            *first,
            seen("fill", medium="water" if not e.limits.glycol else "mixed", purpose="first_fill"),
            step="fill_loop",
        )
    shut = seen("valve_position", valve="fill", position="closed")
    if s.status == "invalidated" and s.undone is not None and s.undone.kind in ("loop_opened", "drain"):
        do = (
            f"Close up what was opened: strainer cover, coupling or drain. Then fill to {limits}, shut the fill valve and read "
            f"the pressure {way}."
        )
        fill = seen("fill", medium=medium, purpose="repressurise")
        return say("R10", do, "Close up the loop, fill, read the pressure", s.need.subject, *first, fill, shut, reading)
    if s.status == "failed":
        low = bool(s.by) and s.by[0].data.value.si < c.fill_pressure_maximum.si
        fill = seen("fill", medium=medium, purpose="repressurise")
        do = f"{'Top up' if low else 'Bleed down'} to {limits} ({s.by[0].data.value if s.by else ''}), then read again {way}."
        short = "Top up, read the pressure again" if low else "Bleed it, read the pressure again"
        return say("R10", do, short, s.need.subject, *first, *((fill, shut) if low else ()), reading)
    do = f"Read the pressure {way}: {limits}. Top up or bleed only if it is out of that."
    return say(
        "R10", do, f"Read the pressure, pump {'off' if stops else 'on, suction'}", s.need.subject, *first, reading
    )


def _falling(e: Evidence, s: Standing, first: tuple[Template, ...]) -> Action:
    """Pump off, tight, then a pair of readings that holds: each is asked for when it counts."""
    gauge = s.by[0].data.gauge if s.by else "suction"
    reading = seen("loop_pressure", pump="off", gauge=gauge)
    do = "The pressure falls with the pump off: find where the liquid goes and make it tight. "
    pair = "on the same gauge at least 10 min apart, pump off and nothing let in or out between"
    more: dict[str, Any] = {"step": "leak_check", "causes": troubles.FALLING}
    if first:
        do += f"Stop the pump; from 2 min after that read the pressure twice, {pair}."
        return say("R10", do, "Pressure falls: pump off, find the leak", s.need.subject, *first, **more)
    due = next_of_pair(e, gauge)
    if due.begun:
        do = f"Read the pressure once more: two readings {pair}."
        short = "Read the pressure again, 10 min after the first"
    else:
        do += f"Then read the pressure twice, {pair}. Record the first now."
        short = "Pressure falls: find the leak, read twice"
    return say("R10", do, short, s.need.subject, reading, **more, not_before=due.at)


def filled(e: Evidence) -> bool:
    """Whether a filling is on record, and something was put in since the loop was last empty."""
    if not e.pumping.filling:
        return False
    fills = [r for r in e.of("fill") if r.proves]
    openings = [r for r in e.pumping.openings if r.kind != "moved"]
    return bool(fills) and all(any(after(f, o) for f in fills) or not _emptied(o) for o in openings)


def _emptied(opened: Any) -> bool:
    return bool(opened.kind == "drain")


def air(e: Evidence, fact: Fact, s: Standing) -> Action:
    """R11."""
    p = e.pumping
    subject = s.need.subject
    points = [
        q for q in e.limits.purge_points if any(o.need.subject.startswith(q.replace("_", " ")) for o in fact.open)
    ]
    point = next((q for q in points if subject.startswith(q.replace("_", " "))), points[0])
    if not e.limits.pump_stops:
        steady = seen("purge", point=point, result="steady_water", pump="on")
        earlier = [
            r
            for r in e.about("purge", point)
            if r.proves and r.data.result == "steady_water" and p.filling.all_before(r)
        ]
        wait = min((r.latest for r in earlier), default=None)
        name = point.replace("_", " ")
        do = (
            f"This pump cannot be stopped: vent the {name} until steady, and again at least 10 min later, with the switch "
            "unbroken and the drop alike meanwhile."
        )
        short = f"Vent the {name} twice, 10 min apart"
        if wait is not None:
            do = f"Vent the {name} once more until steady, 10 min after the first time; the switch unbroken and the drop alike."
            short = f"Vent the {name} again, 10 min after the first"
        return say(
            "R11",
            do,
            short,
            subject,
            steady,
            not_before=None if wait is None else wait + PURGES_APART + 1,
        )
    step = "purge_pump_casing" if point == "pump_casing" else "purge_high_point"
    vent = seen("purge", point=point, result="steady_water", pump="off")
    causes = troubles.SPITTING if s.status == "failed" else ()
    if subject.endswith(AFTER_RUN) and s.need.detail != VENT_NOW and p.proved and p.proved[-1].end > e.now:
        over = max(p.proved[-1].begin, p.filling.latest) + e.limits.first_run + 1
        do = (
            f"Let it run with the flow proved until {show(whole(over))}; then stop the pump and vent the "
            f"{point.replace('_', ' ')}."
        )
        short = f"Let it run, then vent the {point.replace('_', ' ')}"
        return say("R11", do, short, subject, *pump_off(e), vent, step="second_purge", not_before=over)
    if subject.endswith(AFTER_RUN):
        step = "second_purge"
        do = (
            f"Stop the pump and vent the {point.replace('_', ' ')} once more until the liquid comes steadily: the "
            "first run carries air up there."
        )
        return say(
            "R11",
            do,
            f"Pump off: vent the {point.replace('_', ' ')} once more",
            subject,
            *pump_off(e),
            vent,
            step=step,
            causes=causes,
        )
    do = (
        f"With the pump off, vent the {point.replace('_', ' ')} until the liquid comes steadily; bring the pressure "
        "back if it fell."
    )
    return say(
        "R11",
        do,
        f"Vent the {point.replace('_', ' ')}, pump off",
        subject,
        *pump_off(e),
        vent,
        step=step,
        causes=causes,
    )


def leaks(_e: Evidence, _fact: Fact, s: Standing) -> Action:
    """R12."""
    dry = seen("leak_check", result="dry")
    if s.status == "failed":
        return say(
            "R12",
            f"Make it tight: {s.need.fault}. Open nothing under pressure. Then look again, at filling pressure.",
            "Make it tight, look for leaks again",
            s.need.subject,
            dry,
        )
    return say(
        "R12",
        "Look at every joint at filling pressure, and record what you find.",
        f"Look for leaks{again(s)}",
        s.need.subject,
        dry,
    )


def mixture(e: Evidence, _fact: Fact, s: Standing) -> Action:
    """R13."""
    read = seen("antifreeze_reading")
    if s.status == "failed":
        do = (
            "Add concentrate (the office works out how much), let the loop go round three times, then read the "
            "freezing point again. Time alone makes it no stronger."
        )
        return say(
            "R13",
            do,
            "Mixture too weak: add concentrate, read again",
            s.need.subject,
            seen("antifreeze_charge"),
            read,
            causes=troubles.WEAK,
        )
    wait = None
    if e.limits.turnover is not None and e.pumping.run.begun is not None:
        changes = [
            r.latest for r in (*e.such("fill", lambda d: d.medium != "mixed"), *e.of("antifreeze_charge", "drain"))
        ]
        wait = max([e.pumping.run.begun.latest, *changes]) + TURNOVERS * e.limits.turnover + 1
    do = "With the pump running and after the loop has gone round three times, read the freezing point."
    return say("R13", do, f"Read the freezing point{again(s)}", s.need.subject, read, not_before=wait)


def strainer(e: Evidence, _fact: Fact, s: Standing) -> Action:
    """R16."""
    blown = seen("strainer", blown_down=True)
    if s.need.subject.startswith("drop"):
        shut = "stop the pump" if e.limits.pump_stops else "shut the machine's valves"
        do = (
            f"The strainer is clogged ({s.need.detail}): blow it down until clear, or {shut} and clean it; then "
            "read its drop again with the flow proved."
        )
        again_read = seen("strainer_pressure_drop")
        return say("R16", do, "Blow down the clogged strainer, read its drop", s.need.subject, blown, again_read)
    proved = e.pumping.proved[-1] if e.pumping.proved else None
    if not e.pumping.run_over_at(e.now) and proved is not None and proved.end > e.now:
        over = max(proved.begin, e.pumping.filling.latest) + e.limits.first_run + 1
        do = (
            f"Let it run with the flow proved until {show(whole(over))}. Then blow the strainer down until the liquid is "
            "clear" + (f", stop the pump and vent {_vents(e)} again." if e.limits.pump_stops else ".")
        )
        return say("R16", do, "Let it run, then blow the strainer down", s.need.subject, blown, not_before=over)
    return say("R16", "Blow it down until the liquid is clear.", "Blow the strainer down", s.need.subject, blown)


def _vents(e: Evidence) -> str:
    return " and ".join(f"the {point.replace('_', ' ')}" for point in e.limits.purge_points)


def set_point(e: Evidence, fact: Fact, s: Standing) -> Action:
    """R17."""
    if fact.reason == "mixture":
        return say(
            "R17",
            "Read the freezing point of the mixture first: the set point is judged by it.",
            "Read the freezing point first",
            s.need.subject,
            seen("antifreeze_reading"),
            step="read_antifreeze",
        )
    if s.status == "failed" and e.limits.glycol:
        do = (
            f"The mixture is too weak for this set point ({s.need.detail}): add antifreeze (the office works out how "
            "much) and let it mix, or raise the set point if the plan allows it."
        )
        other = Template("set_point", {}, otherwise=True)
        return say("R17", do, "Mixture too weak: add antifreeze", s.need.subject, seen("antifreeze_charge"), other)
    if s.status == "failed":
        return say(
            "R17", f"Raise the set point ({s.need.detail}).", "Raise the set point", s.need.subject, seen("set_point")
        )
    return say(
        "R17",
        "Enter the set point of the plan and record what the controller shows.",
        "Enter and record the set point",
        s.need.subject,
        seen("set_point"),
    )
