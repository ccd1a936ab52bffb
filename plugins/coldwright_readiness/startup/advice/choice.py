"""Which action comes first, in each of the six states."""

from dataclasses import replace
from functools import lru_cache
from typing import Final

from msgspec.structs import replace as changed

from coldwright_basis.instants import show, whole
from coldwright_readiness.shared.given import Configuration
from coldwright_readiness.shared.steps import procedure_steps
from coldwright_readiness.startup.advice.action import TECHNICIAN, Action, Template, seen, shortened
from coldwright_readiness.startup.advice.by_rule import action_for, case_action
from coldwright_readiness.startup.advice.common import at_its_breaker
from coldwright_readiness.startup.advice.joined import action_of
from coldwright_readiness.startup.advice.loop import filled
from coldwright_readiness.startup.advice.power import swap_leads
from coldwright_readiness.startup.advice.readings import READ_NOW, readings_of, seen_instead, spoken
from coldwright_readiness.startup.evidence.evidence import Evidence
from coldwright_readiness.startup.evidence.known import Against
from coldwright_readiness.startup.evidence.stance import compressor_off, compressor_on
from coldwright_readiness.startup.limits import MINUTE
from coldwright_readiness.startup.rules.connecting import leads_to_swap, locks_on
from coldwright_readiness.startup.rules.loop import AFTER_RUN, VENT_NOW
from coldwright_readiness.startup.rules.power import MAY_BE_LIVE_WORDS
from coldwright_readiness.startup.statements import fact_statement
from coldwright_readiness.startup.stopping import Cause
from coldwright_readiness.startup.verdict import Blocking, Verdict
from coldwright_readiness.startup.watching import FLOW_AFTER_A_MOVE

DANGER: Final = ("I15", "I4", "I13", "I16", "I3")
"""Cases that come before everything else."""
ORDER_OF_ACTION: Final = (
    *DANGER, "R02", "R30", "R03", "R04", "R21", "R22", "R23", "R24", "R25", "R26", "R27", "R28", "R01", "R05", "R06",
    "R07", "I14", "R08", "R09", "R10", "R11", "R12", "R14", "R15", "R16", "R13", "R17", "I10", "I12", "repeated_trips",
    "R29", "R31", "R18", "R19", "R20", "closed",
)  # fmt: skip
SHORT_LIVED: Final = ("R14", "R15", "R18", "R19", "R31")
"""Looked at right before the start: not while the oil still warms for long."""
LINE: Final = 80
"""Most characters of a line of a small screen."""
LONG_WAIT: Final = 10 * MINUTE
_NO_TIMES: Final = dict.fromkeys(("warm_up_duration", "filling", "antifreeze_duration", "staging", "pull_down"), 0)
_NO_ORDER: Final = "This is no order to start: whoever stands at the machine decides."


class Graph:
    """For each step of the whole procedure: everything before it, and what comes right after."""

    def __init__(self, configuration: Configuration) -> None:
        steps = procedure_steps(changed(configuration, second_start=False), _NO_TIMES)
        self.before: dict[str, set[str]] = {}
        for step in steps:  # the table lists every step after those it depends on
            self.before[step.id] = set(step.depends_on).union(*(self.before[d] for d in step.depends_on))
        self.after = {step.id: tuple(s.id for s in steps if step.id in s.depends_on) for step in steps}


@lru_cache(maxsize=64)
def graph_of(configuration: Configuration) -> Graph:
    """The same for each configuration once: a start is asked for again and again."""
    return Graph(configuration)


def next_action(e: Evidence, v: Verdict) -> Action:
    """The one thing to do now."""
    make = {
        "stop_now": _stop, "running": _run_on, "ended": _ended, "ready": _start, "wait": _wait, "blocked": _clear
    }[v.status]  # fmt: skip
    action = at_its_breaker(e, make(e, v))
    return replace(action, short=shortened(action.short))


def ranked(e: Evidence, v: Verdict) -> list[Blocking]:
    """What forbids the start, in the order in which it is best cured."""
    return sorted(v.blocks, key=lambda b: (_rank(e, v, b), b.because))


def _rank(e: Evidence, v: Verdict, block: Blocking) -> tuple[int, int]:
    place = ORDER_OF_ACTION.index
    rule, fact = block.rule, block.fact
    if block.joined is not None:
        return place("R29"), -1  # before what is looked at right before the start
    if fact is None:
        return place(rule), 0
    worst = fact.worst
    subject = "" if worst is None else worst.need.subject
    if rule == "R09" and all(o.need.subject == "fill valve" for o in fact.open) and not filled(e):
        return place("R10"), 1
    if rule == "R10" and not filled(e):
        return place("R09"), 1
    if rule == "R11" and subject.endswith(AFTER_RUN):
        return place("R16"), 1
    if rule == "R11" and not e.limits.pump_stops:
        return place("R15"), 1
    if rule in ("R10", "R12") and not e.limits.pump_stops and filled(e):
        return place("R14"), 1 if rule == "R10" else 2
    if rule == "R16" and subject.startswith("drop"):
        return place("R15"), -1
    locked = v.facts["R01"].status == "failed"
    if rule == "R05" and not locked and worst is not None and worst.need.detail == MAY_BE_LIVE_WORDS:
        return place("R01"), -1
    if rule == "R29" and fact.status == "failed":
        return place("R07"), 1
    if rule == "R14" and _second_purge_due(v):
        return place("R16"), 2
    if rule == "R15" and _second_purge_due(v):
        return place("R16"), 3
    return place(rule), 0


def _second_purge_due(v: Verdict) -> bool:
    """The first run is over and blown down, and the pump stands for the second venting: vent before it starts again."""
    air, strainer = v.facts["R11"], v.facts["R16"]
    second = not air.established and all(
        o.need.subject.endswith(AFTER_RUN) and (o.need.detail == VENT_NOW or o.status == "failed") for o in air.open
    )
    return second and strainer.established


def _clear(e: Evidence, v: Verdict) -> Action:
    order = ranked(e, v)
    if not order:
        return action_for(e, v.facts["R20"])
    if leads_to_swap(e, v.facts) and order[0].rule not in DANGER:
        return swap_leads(e)
    warm = v.waits.get("R20", 0)
    if warm - e.now > LONG_WAIT and all(b.rule in SHORT_LIVED and _only_to_be_read_again(b) for b in order):
        return _wait(e, v)
    first = order[0]
    if first.joined is not None:
        return action_of(first.joined, first.title)
    if first.case is not None:
        return case_action(e, [b.case for b in order if b.case is not None and b.rule == first.rule])
    if first.fact is None:
        return Action("start_verdict", first.statement, "Open a start of its own.", "This start is closed", "start")
    action = action_for(e, first.fact)
    return replace(action, why=f"{fact_statement(first.fact, e.limits)} {action.why}")


def _only_to_be_read_again(block: Blocking) -> bool:
    fact = block.fact
    if fact is None:
        return False
    return fact.status == "stale" or (block.rule in ("R18", "R19", "R31") and fact.status == "missing")


def meanwhile(e: Evidence, v: Verdict, action: Action) -> list[tuple[str, str]]:
    """Other open steps that need not wait for this one."""
    if v.status != "blocked":
        return []
    graph = graph_of(e.limits.configuration)
    unmet = {b.clear_by for b in v.blocks}
    swap = leads_to_swap(e, v.facts)
    beside: dict[str, str] = {}
    for block in ranked(e, v):
        step = block.clear_by
        if (swap and block.rule == "R07") or _undoes(e, action, block):
            continue
        if step not in {action.step_id, *beside} and not graph.before.get(step, set()) & unmet:
            beside[step] = block.statement
    return list(beside.items())


def _undoes(e: Evidence, action: Action, block: Blocking) -> bool:
    """Whether clearing it would stop a pump that runs while the action leaves it on."""
    if block.fact is None or not e.pumping.run.holds or _stops_the_pump(action):
        return False
    return _stops_the_pump(action_for(e, block.fact))


def _stops_the_pump(action: Action) -> bool:
    return any(
        t.data.get("pump") == "off" or (t.kind == "pump_state" and t.data["state"] == "off") for t in action.record
    )


def unlocks(e: Evidence, action: Action) -> tuple[str, ...]:
    """Steps that come next once it is done."""
    return graph_of(e.limits.configuration).after.get(action.step_id, ())


def _start(e: Evidence, _v: Verdict) -> Action:
    first = e.limits.compressors[0]
    do = f"Look at the gauges and round the machine once more, then start compressor {first} alone. {_NO_ORDER}"
    record = (seen("compressor", id=first, state="on"),)
    why = "Nothing on record forbids the start."
    return Action(
        "start_first_compressor",
        why,
        do,
        f"Look round once more, then start compressor {first}",
        f"compressor {first}",
        record,
    )


def _wait(_e: Evidence, v: Verdict) -> Action:
    until = max(v.waits.values())
    over = show(whole(until))
    why = f"Only time is missing, until {over}." if v.status == "wait" else f"The oil warms until {over}."
    do = (
        "Leave breaker and control switch on: a break starts the time of oil heat anew. Look at flow, alarms and "
        "people right before the start."
    )
    return Action(
        "oil_warm_up",
        why,
        do,
        f"Wait until {over}, breaker and switch on",
        "oil heat",
        (),
        "time alone",
        not_before=until,
    )


def _ended(_e: Evidence, _v: Verdict) -> Action:
    return Action(
        "handover",
        "This start is over: the machine is off and was closed out.",
        "Nothing more is to be done here; the next start is one of its own.",
        "This start is over",
        "start",
    )


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
        "With the machine's own stop or its control switch, never at the leads. See that it stands, and record each "
        "compressor as off."
    )


def without_power(e: Evidence) -> bool:
    """Whether the source was seen off, and not on again."""
    return bool(e.power.off) and not e.power.supply.holds


def _stop(e: Evidence, v: Verdict) -> Action:
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
    why = f"{causes} {e.limits.rules.get(lead.code, e.limits.rules['R15'])['why']}"
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
        f"{' '.join(c.statement for c in v.runs.causes[:3])} {e.limits.rules.get(lead.code, e.limits.rules['R15'])['why']}",
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


def _run_on(e: Evidence, v: Verdict) -> Action:
    names = named(v.runs.compressors)
    if v.runs.asks:
        ask = v.runs.asks[0]
        kind, data = _reading(e, ask.subject)
        last = max(ask.records, key=lambda r: (r.latest, r.id))
        why = (
            f"Out of limits or out of place: {ask.subject}, at {show(last.at)}. Another such reading, or none by "
            f"{show(whole(ask.due))}, is a reason to stop the machine."
        )
        return Action(
            "cold_water",
            why,
            f"Read again at once: {ask.subject}.",
            f"Read again at once: {ask.subject}",
            ask.subject,
            (Template(kind, data),),
            TECHNICIAN,
        )
    overdue = _overdue(v)
    if overdue:
        what = spoken(overdue)
        return Action(
            "cold_water",
            f"{what[0].upper()}{what[1:]}: the last record is too old; nothing on record is against it.",
            f"Read again now: {what}. Watch {names}: amps, oil, sound; and that the water gets cold. {_NO_ORDER}",
            shortened(f"Overdue, read now: {what}"),
            names,
            tuple(t for rule in _overdue_rules(v) for t in readings_of(e, rule)),
            TECHNICIAN,
        )
    are = "is" if len(v.runs.compressors) == 1 else "are"
    why = f"{names[0].upper()}{names[1:]} {are} on, and nothing on record is against it."
    do = f"Watch {names}: amps, oil, sound; that the flow stays; and that the water gets cold. {_NO_ORDER}"
    return Action(
        "cold_water",
        why,
        do,
        f"Watch {names}: flow, oil, amps, water",
        names,
        (seen("flow_switch", state="made"), seen("evaporator_pressure_drop"), seen("water_temperature")),
        TECHNICIAN,
    )


def _overdue_rules(v: Verdict) -> tuple[str, ...]:
    """Rules whose last reading is too old, the most pressing first."""
    late = {f.rule for f in v.facts.values() if f.status == "stale"}
    return tuple(rule for rule in READ_NOW if rule in late)


def _overdue(v: Verdict) -> tuple[str, ...]:
    return tuple(READ_NOW[rule][0] for rule in _overdue_rules(v))


def _reading(e: Evidence, subject: str) -> tuple[str, dict[str, object]]:
    kinds: dict[str, tuple[str, dict[str, object]]] = {
        "flow switch": ("flow_switch", {"state": "made"}),
        FLOW_AFTER_A_MOVE: ("flow_switch", {"state": "made"}),
        "evaporator drop": ("evaporator_pressure_drop", {}),
        "flow": ("flow", {}),
        "line voltages": ("line_voltage", {}),
        "people": ("area_clear", {"clear": True}),
        "rotation": ("phase_indicator", {"rotation": "correct"}),
        "mixture": ("antifreeze_reading", {}),
    }
    if subject in kinds:
        return kinds[subject]
    if subject.endswith("temperature"):
        return "water_temperature", {}
    if subject.endswith("valve"):
        name = subject.removesuffix(" valve")
        key = name.replace(" ", "_")
        if key in e.limits.valves or key == "balancing":
            return "valve_position", {"valve": key, "position": e.limits.valves.get(key, "open")}
        return "valve_position", {"valve": "other", "label": name, "in_flow_path": True, "position": "open"}
    if subject.startswith("hose"):
        return "hose_connection", {"end": subject.removeprefix("hose at ").replace(" ", "_")}
    return "alarm", {"code": subject.removeprefix("alarm "), "state": "cleared"}


def lines_of(e: Evidence, v: Verdict, action: Action) -> tuple[str, ...]:
    """Three short lines for a small screen."""
    second = {
        "blocked": f"{len(v.blocks)} open",
        "wait": "only time is missing",
        "ready": "nothing on record forbids it",
        "running": f"{named(v.runs.compressors)} on" if v.runs.compressors else "",
        "stop_now": v.runs.causes[0].statement if v.runs.causes else "",
        "ended": "machine off, start closed",
    }[v.status]
    applied = ", ".join(sorted({r.data.lock_id for r in locks_on(e, surely=False)}))
    third = f"lock on: {applied}" if applied else f"by: {action.done_by}"
    return action.short, shortened(second, LINE), shortened(third, LINE)
