"""May the start go ahead? Every rule is asked; each says what it objects to."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from . import connection, flow, liquid, loop, people, power, suspicions
from .edits import edits_of, with_edits
from .log import Log, Objection, stands
from .plan import Plan, plan_of
from .running import Running, running
from .sightings import instant, sightings

Rule = Callable[[Log, Plan], Iterator[Objection]]
RULES: tuple[Rule, ...] = (
    people.locks,
    power.supply_and_ground,
    connection.level,
    power.energised,
    power.voltage,
    power.rotation,
    loop.hoses,
    loop.valves,
    loop.pressurised,
    loop.air_out,
    loop.leaks,
    liquid.antifreeze,
    flow.pump_running,
    flow.flow_proven,
    loop.strainer,
    liquid.set_point,
    liquid.water_temperatures,
    people.alarms,
    people.people,
    power.oil_warm,
    connection.machine_checks,
    connection.proved_dead,
    connection.lines,
    connection.measured,
    connection.hands,
    suspicions.flow_without_pump,
    suspicions.live_work,
    suspicions.started_cold,
    suspicions.alive_under_lock,
    suspicions.lock_of_another,
    suspicions.back_feed,
    suspicions.wrong_voltage,
    suspicions.many_resets,
    suspicions.frozen,
    suspicions.rested,
)
OF_WHAT_HAPPENED: tuple[Rule, ...] = (
    suspicions.flow_without_pump,
    suspicions.live_work,
    suspicions.started_cold,
    suspicions.alive_under_lock,
    suspicions.lock_of_another,
    suspicions.back_feed,
    suspicions.wrong_voltage,
    suspicions.many_resets,
    suspicions.frozen,
)
"""They ask what can have been, not what a start rests on: an edit of the plan changes nothing of that."""
SEVERITY = ("ready", "wait", "blocked", "running", "stop_now")


@dataclass(frozen=True)
class Verdict:
    """What the rules allow."""

    status: str
    objections: tuple[Objection, ...]
    running: Running

    @property
    def allowed(self) -> bool:
        """Whether nothing forbids the start."""
        return self.status == "ready"

    @property
    def stop_now(self) -> bool:
        """Whether a compressor must be stopped now."""
        return self.status == "stop_now"

    @property
    def rules(self) -> tuple[str, ...]:
        """Ids of the rules that object, each once."""
        return tuple(dict.fromkeys(o.rule for o in self.objections))


def judge(
    configuration: Mapping[str, Any],
    observations: Sequence[Mapping[str, Any]],
    evaluated_at: str,
    changes: Sequence[Mapping[str, Any]] = (),
) -> Verdict:
    """The verdict on a request of `readiness.startup`, by the other way."""
    plan, now = plan_of(configuration), instant(evaluated_at)
    log = Log(tuple(sightings(observations, evaluated_at)), now, now)
    edits = tuple(edits_of(changes))
    edited = with_edits(log, edits)
    found = tuple(o for rule in RULES for o in rule(log if rule in OF_WHAT_HAPPENED else edited, plan))
    on = running(log, plan, edits)
    return Verdict(_status(log, found, on), found, on)


def _status(log: Log, found: tuple[Objection, ...], on: Running) -> str:
    if on.stop:
        return "stop_now"
    if on.may_run:
        return "running"
    if log.good("closed") and _all_off(log):
        return "ended"
    if any(not o.waits for o in found):
        return "blocked"
    return "wait" if found else "ready"


def _all_off(log: Log) -> bool:
    off = log.good("supply", where=lambda s: s.data["state"] == "off")
    return stands(off, log.all("supply", where=lambda s: s.data["state"] != "off"))
