"""Flow: proved now (R14, R15), and proved for the five minutes of a first run (on which purge and strainer rest)."""

from collections.abc import Iterator
from dataclasses import dataclass

from . import units
from .log import Log, Objection, having, surely_after_all
from .plan import MINUTE, Plan
from .pump import present_run, pump_stops, surely_since_start
from .sightings import Sighting, after, least_between

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
    """Whatever undoes a proof of flow beside the pump's stop: loop opened, drained, a valve of the path moved, the plan edited."""
    return log.all("loop_opened", "drain", "moved") + moves(log, FLOW_VALVES) + log.edits("R15")


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
        if not before_run and not surely_after_all(again, [low, *log.edits("R15")]):
            yield Objection("R15", "a flow was read that is too low")


def _usable(
    log: Log, run: list[Sighting], good: list[Sighting], breaks: list[Sighting], bad: list[Sighting]
) -> list[Sighting]:
    fit = surely_after_all([g for g in good if surely_since_start(g, run)], breaks + bad)
    return log.not_older(fit, QUARTER)


@dataclass(frozen=True)
class FirstRun:
    """Flow proved with the pump on: who began it, what proved it, and for how long it must have gone on."""

    on: Sighting
    proof: tuple[Sighting, ...]
    lasts: int

    def surely_over_before(self, later: Sighting) -> bool:
        """Whether the run had surely lasted its time when this came; the very instant at which it was over is not after."""
        return all(least_between(begun, later) > self.lasts for begun in (self.on, *self.proof))

    def not_touched_by(self, later: Sighting) -> bool:
        """Whether this surely came no sooner than the run was over."""
        return all(least_between(begun, later) >= self.lasts for begun in (self.on, *self.proof))


def runs(log: Log, plan: Plan) -> list[FirstRun]:
    """Every run of the pump in use in which flow was proved, with nothing against it for the time that a first run takes."""
    stops = pump_stops(log, plan, plan.pump) + log.all("pump_state", where=lambda s: s.twofold)
    breaks = flow_breaks(log, plan)
    breaks += log.all("flow_switch", where=lambda s: s.twofold or not made(s))
    breaks += log.all("evaporator_pressure_drop", where=lambda s: s.twofold or not drop_good(plan, s))
    breaks += log.all("flow", where=lambda s: not flow_good(plan, s))
    edits = log.edits("R14", "R15", "first_run")  # a run that was over rests on them no less
    readings = surely_after_all(log.then("evaporator_pressure_drop", where=lambda s: drop_good(plan, s)), edits)
    found = []
    for on in surely_after_all(log.then("pump_state", where=having(pump=plan.pump, state="on")), log.edits("R14")):
        for switch in surely_after_all(log.then("flow_switch", where=made), edits):
            for reading in readings:
                run = FirstRun(on, (switch, reading), _first_run_time(plan))
                if _unbroken(run, stops, breaks):
                    found.append(run)
    return found


def _first_run_time(plan: Plan) -> int:
    """One turnover of the loop where it is known, else 5 min."""
    return plan.turnover if plan.turnover is not None else 5 * MINUTE


def _unbroken(run: FirstRun, stops: list[Sighting], breaks: list[Sighting]) -> bool:
    """Proved with the pump surely on, and nothing against it until it is over."""
    if not all(after(p, run.on) for p in run.proof):
        return False
    if not all(after(run.on, x) or run.not_touched_by(x) for x in stops):
        return False
    return all(all(after(p, x) for p in run.proof) or run.not_touched_by(x) for x in breaks)
