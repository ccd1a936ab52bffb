"""Which action comes first, in each of the six states."""

from functools import lru_cache
from typing import Final

from msgspec.structs import replace

from coldwright_basis.instants import show, whole
from coldwright_readiness.shared.given import Configuration
from coldwright_readiness.shared.steps import procedure_steps
from coldwright_readiness.startup.advice.action import ELECTRICIAN, NO_ORDER, Action, seen, shortened
from coldwright_readiness.startup.advice.by_rule import action_for, case_action
from coldwright_readiness.startup.advice.common import at_its_breaker, of_this_machine
from coldwright_readiness.startup.advice.joined import action_of
from coldwright_readiness.startup.advice.loop import filled
from coldwright_readiness.startup.advice.power import swap_leads
from coldwright_readiness.startup.advice.run_on import run_on
from coldwright_readiness.startup.advice.stop import named, stop
from coldwright_readiness.startup.evidence.evidence import Evidence
from coldwright_readiness.startup.evidence.known import Following
from coldwright_readiness.startup.evidence.record import ALWAYS, Record
from coldwright_readiness.startup.limits import MINUTE
from coldwright_readiness.startup.rules.connecting import leads_to_swap, locks_on
from coldwright_readiness.startup.rules.fact import Fact
from coldwright_readiness.startup.rules.loop import AFTER_RUN, VENT_NOW
from coldwright_readiness.startup.rules.power import MAY_BE_LIVE_WORDS
from coldwright_readiness.startup.statements import fact_statement
from coldwright_readiness.startup.verdict import Blocking, Verdict

DANGER: Final = ("I15", "I4", "I13", "I16", "I3")
"""Cases that come before everything else."""
ORDER_OF_ACTION: Final = (
    *DANGER, "R02", "R30", "R03", "R04", "R21", "R22", "R23", "R24", "R25", "R26", "R27", "R28", "R01", "R05", "R06",
    "R07", "I14", "R08", "R09", "R10", "R11", "R12", "I10", "R14", "R15", "R16", "R13", "R17", "I12", "repeated_trips",
    "R29", "R31", "R18", "R19", "R20", "closed",
)  # fmt: skip
SHORT_LIVED: Final = ("R14", "R15", "R18", "R19", "R31")
"""Looked at right before the start: not while the oil still warms for long."""
LINE: Final = 80
"""Most characters of a line of a small screen."""
LONG_WAIT: Final = 10 * MINUTE
_NO_TIMES: Final = dict.fromkeys(("warm_up_duration", "filling", "antifreeze_duration", "staging", "pull_down"), 0)


class Graph:
    """For each step of the whole procedure: everything before it, and what comes right after."""

    def __init__(self, configuration: Configuration) -> None:
        steps = procedure_steps(replace(configuration, second_start=False), _NO_TIMES)
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
        "stop_now": stop, "running": run_on, "ended": _ended, "ready": _start, "wait": _wait, "blocked": _clear
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
    if rule == "R27" and fact.status == "failed":
        return place("R21"), -1  # nobody works on lines that a second source can feed
    if rule == "R05" and _power_before_locks(e, v, fact):
        return place("R01"), -1
    if rule == "R29" and fact.status == "failed":
        return place("R07"), 1
    if rule == "R14" and _second_purge_due(v):
        return place("R16"), 2
    if rule == "R15" and _second_purge_due(v):
        return place("R16"), 3
    return place(rule), 0


def _power_before_locks(e: Evidence, v: Verdict, power: Fact) -> bool:
    """While an interruption lasts, a look for locks proves nothing yet; where lines may be live, they come first."""
    if any(gap.latest > e.now for gap in e.power.gaps):
        return True
    worst = power.worst
    return v.facts["R01"].status != "failed" and worst is not None and worst.need.detail == MAY_BE_LIVE_WORDS


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
    if v.closed is not None and order[0].rule not in DANGER:
        return _close_out(e, v.closed)
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


def _close_out(e: Evidence, closed: Record) -> Action:
    """Closed, and the supply not seen off since the machine was last alive."""
    why = f"This start was closed at {show(closed.at)}, and its supply is not on record as off."
    do = (
        "Open the source and record it. The next start of the machine is one of its own. If it was closed by mistake, "
        "whoever did that takes it back."
    )
    record = (seen("supply", state="off", cause="switched", **of_this_machine(e)),)
    return Action("lock_source", why, do, "Start closed: open the source, record it", "source", record, ELECTRICIAN)


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
    first, why = e.limits.compressors[0], "Nothing on record forbids the start."
    look, start = "Look at the gauges and round the machine once more", f"start compressor {first} alone. {NO_ORDER}"
    subject, record = f"compressor {first}", seen("compressor", id=first, state="on")
    if not stop_is_in(e):
        short = f"Look round once more, then start compressor {first}"
        return Action("start_first_compressor", why, f"{look}, then {start}", short, subject, (record,))
    do = f"{look}. Take the machine's own stop out and record it, then {start}"
    short = f"Look round, take the stop out, start compressor {first}"
    return Action("start_first_compressor", why, do, short, subject, (seen("unit_stop", state="enabled"), record))


def stop_is_in(e: Evidence) -> bool:
    """Whether the machine's own stop was put in, and surely not taken out since."""
    out = Following(e.such("unit_stop", lambda d: d.state == "enabled"))
    return any(out.end_of(r) == ALWAYS for r in e.such("unit_stop", lambda d: d.state == "stopped"))


def _wait(_e: Evidence, v: Verdict) -> Action:
    until = max(v.waits.values())
    over = show(whole(until))
    why = f"Only time is missing, until {over}." if v.status == "wait" else f"The oil warms until {over}."
    if "R20" not in v.waits:
        do = (
            "Let the compressor rest until then: starting too often burns its windings. Leave breaker and control switch on. "
            "Look at flow, alarms and people right before the start."
        )
        short, subject = f"Wait until {over}: the compressor rests", "rest of the compressor"
        return Action("start_verdict", why, do, short, subject, (), "time alone", not_before=until)
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
