"""Flow: proved now (R14, R15), and proved for the five minutes of a first run (on which purge and strainer rest)."""

from collections.abc import Iterator
from dataclasses import dataclass

from . import units
from .log import Log, Objection, having, surely_after_all
from .plan import MINUTE, Plan
from .pump import present_run, pump_stops, surely_since_start
from .sightings import Sighting, after

QUARTER = 15 * MINUTE
HALF_HOUR = 30 * MINUTE
FLOW_VALVES = {"pump_suction", "pump_discharge", "pump_bypass", "supply", "return"}


def made(s: Sighting) -> bool:
    """Switch made."""
    return bool(s.data["state"] == "made")


def drop(s: Sighting) -> float:
    """Drop across the evaporator, kPa."""
    return units.kilopascals(s.data["value"])


def drop_good(plan: Plan, s: Sighting) -> bool:
    """Within the maker's limits."""
    return plan.drop_low <= drop(s) <= plan.drop_high


def flow_good(plan: Plan, s: Sighting) -> bool:
    """Not under the least flow; nothing flowing is never enough."""
    value = units.litres_per_second(s.data["value"])
    return value > 0 and value >= plan.flow_low


def moves(log: Log, valves: set[str]) -> list[Sighting]:
    """Sightings of these valves that may be a move: a position unlike one that may have come just before."""
    seen = log.all("valve_position", where=lambda s: s.data["valve"] in valves)
    return [s for s in seen if any(_may_follow(seen, s, before) for before in seen)]


def _may_follow(seen: list[Sighting], s: Sighting, before: Sighting) -> bool:
    if s.subject != before.subject or s.data["position"] == before.data["position"] or after(before, s):
        return False
    same = [m for m in seen if m.subject == s.subject and m.data["position"] == s.data["position"] and m is not s]
    return not any(after(m, before) and after(s, m) for m in same)


def flow_breaks(log: Log, plan: Plan) -> list[Sighting]:
    """Whatever undoes a proof of flow beside the pump's stop: loop opened, drained, a valve of the path moved."""
    return log.all("loop_opened", "drain", "moved") + moves(log, FLOW_VALVES)


def pump_running(log: Log, plan: Plan) -> Iterator[Objection]:
    """R14."""
    if not log.not_older(present_run(log, plan), HALF_HOUR):
        yield Objection("R14", "pump in use not surely on, seen in the last 30 min")


def flow_proven(log: Log, plan: Plan) -> Iterator[Objection]:
    """R15: switch made and drop in limits, both surely since the present start, lately; any flow read is enough."""
    run = present_run(log, plan)
    breaks = flow_breaks(log, plan)
    switch = _usable(
        log, run, log.good("flow_switch", where=made), breaks, log.all("flow_switch", where=lambda s: not made(s))
    )
    if not switch:
        yield Objection("R15", "switch not surely seen made since the pump started")
    bad_drops = log.all("evaporator_pressure_drop", where=lambda s: not drop_good(plan, s))
    good_drops = log.good("evaporator_pressure_drop", where=lambda s: drop_good(plan, s))
    if not _usable(log, run, good_drops, breaks, bad_drops):
        yield Objection("R15", "drop not surely read within limits since the pump started")
    for low in log.all("flow", where=lambda s: not flow_good(plan, s)):
        again = log.good("flow", where=lambda s: flow_good(plan, s))
        before_run = bool(run) and all(after(on, low) for on in run)
        if not before_run and not surely_after_all(again, [low]):
            yield Objection("R15", "a flow was read that is too low")


def _usable(
    log: Log, run: list[Sighting], good: list[Sighting], breaks: list[Sighting], bad: list[Sighting]
) -> list[Sighting]:
    fit = surely_after_all([g for g in good if surely_since_start(g, run)], breaks + bad)
    return log.not_older(fit, QUARTER)


@dataclass(frozen=True)
class FirstRun:
    """Flow proved with the pump on: who began it, and the instant at which its five minutes were surely over."""

    on: Sighting
    over: int
    proof: tuple[Sighting, ...]


def runs(log: Log, plan: Plan) -> list[FirstRun]:
    """Every run of the pump in use in which flow was proved and then held for 5 min with nothing against it."""
    stops = pump_stops(log, plan, plan.pump) + log.all("pump_state", where=lambda s: s.twofold)
    breaks = flow_breaks(log, plan)
    breaks += log.all("flow_switch", where=lambda s: s.twofold or not made(s))
    breaks += log.all("evaporator_pressure_drop", where=lambda s: s.twofold or not drop_good(plan, s))
    breaks += log.all("flow", where=lambda s: not flow_good(plan, s))
    readings = log.then("evaporator_pressure_drop", where=lambda s: drop_good(plan, s))
    found = []
    for on in log.then("pump_state", where=having(pump=plan.pump, state="on")):
        for switch in log.then("flow_switch", where=made):
            for reading in readings:
                run = FirstRun(on, max(on.hi, switch.hi, reading.hi) + _first_run_time(plan), (switch, reading))
                if run.over <= log.now_lo and _unbroken(run, stops, breaks):
                    found.append(run)
    return found


def _first_run_time(plan: Plan) -> int:
    """One turnover of the loop where it is known, else 5 min."""
    return plan.turnover if plan.turnover is not None else 5 * MINUTE


def _unbroken(run: FirstRun, stops: list[Sighting], breaks: list[Sighting]) -> bool:
    """Proved with the pump surely on, and nothing against it until it is over."""
    if not all(after(p, run.on) for p in run.proof):
        return False
    if not all(after(run.on, x) or x.lo >= run.over for x in stops):
        return False
    return all(all(after(p, x) for p in run.proof) or x.lo >= run.over for x in breaks)
