"""For each fact that is not established: the action that can be done about it now; and for each case that forbids."""

from collections.abc import Callable
from typing import Any, Final

from coldwright_readiness.startup.advice import connecting as of_lines
from coldwright_readiness.startup.advice import loop as of_loop
from coldwright_readiness.startup.advice import machine as of_machine
from coldwright_readiness.startup.advice import power as of_power
from coldwright_readiness.startup.advice.action import ELECTRICIAN, TECHNICIAN, Action, seen
from coldwright_readiness.startup.advice.common import of_this_machine, row_of, supervisor
from coldwright_readiness.startup.checks.case import Case
from coldwright_readiness.startup.evidence.evidence import Evidence
from coldwright_readiness.startup.evidence.settling import WHO_SETTLES
from coldwright_readiness.startup.rules.fact import Fact, Standing


def action_for(e: Evidence, fact: Fact) -> Action:
    """What to do about a fact that is not established."""
    worst = fact.worst
    make = _ACTIONS[fact.rule]
    return make(e, fact, worst if worst is not None else Standing(_NOTHING, fact.status))


def case_action(e: Evidence, cases: list[Case]) -> Action:
    """What to do about cases of one rule that forbid: their present cure, or the one record that settles them all."""
    case = cases[0]
    row = row_of(case.rule)
    step = str(row.get("clear_by", "start_verdict"))
    why = f"{case.statement} {row['why']}"
    if case.rule in ("I4", "I13"):
        do = "Open the source, lock it, prove it dead, look at the connection; record the source off."
        record = (seen("supply", state="off", cause="switched", **of_this_machine(e)),)
        short = "Open the source, look at the connection"
        return Action(step, why, do, short, "connection at the source", record, str(row["cleared_by"]))
    roles = WHO_SETTLES[case.rule]
    ids = tuple(sorted({id_ for c in cases for id_ in c.ids}))
    settle = seen("settled", role=roles[0], check=case.rule, records=ids)
    do = f"{row['resolve']} Then record what was found and done, for these records: {', '.join(ids)}."
    short, subject = _CHECKS[case.rule]
    hands = [supervisor(e) if role == "supervisor" else _WHO[role] for role in roles]
    return Action(step, why, do, short, subject, (settle,), " or ".join(hands))


_WHO: Final = {
    "electrician": ELECTRICIAN,
    "technician": TECHNICIAN,
    "owner": "the owner of the machine",
}
_CHECKS: Final[dict[str, tuple[str, str]]] = {
    "I3": ("Voltage after off: find what feeds, settle it", "voltage at the machine"),
    "I10": ("Water was below freezing: look for ice damage", "evaporator"),
    "I12": ("Started cold: ask the machine's owner", "compressor started with cold oil"),
    "I14": ("Wrong voltage seen: inspect the machine", "heaters, control transformer, pump"),
    "I15": ("Alive under a lock: find every source", "sources of the machine"),
    "I16": ("Another's lock removed: ask its owner", "lock taken off by another"),
    "repeated_trips": ("Same trip again: find the cause first", "alarm that comes back"),
}
_NOTHING: Any = None
_ACTIONS: Final[dict[str, Callable[[Evidence, Fact, Standing], Action]]] = {
    "R01": of_power.locks,
    "R02": of_power.plate,
    "R03": of_machine.level,
    "R04": of_machine.ground,
    "R05": of_power.power,
    "R06": of_power.voltage,
    "R07": of_power.rotation,
    "R08": of_loop.hoses,
    "R09": of_loop.valves,
    "R10": of_loop.pressure,
    "R11": of_loop.air,
    "R12": of_loop.leaks,
    "R13": of_loop.mixture,
    "R14": of_machine.pump,
    "R15": of_machine.flow,
    "R16": of_loop.strainer,
    "R17": of_loop.set_point,
    "R18": of_machine.alarms,
    "R19": of_machine.people,
    "R20": of_power.oil,
    "R21": of_lines.connecting,
    "R22": of_lines.connecting,
    "R23": of_lines.connecting,
    "R24": of_lines.connecting,
    "R25": of_lines.connecting,
    "R26": of_lines.connecting,
    "R27": of_lines.transfer,
    "R28": of_lines.connecting,
    "R29": of_power.heaters,
    "R30": of_machine.items,
    "R31": of_machine.water,
}
