"""A compressor on record as running while the flow is lost: the one thing that comes before every other."""

from collections.abc import Mapping
from dataclasses import dataclass

from coldwright_readiness.startup.facts import Evidence, Fact

CODE = "compressor_without_flow"
WHY = "A compressor that cools without flow freezes the evaporator within minutes; a burst one lets water and refrigerant mix."
LAST = "Prove the flow again before any compressor runs."


@dataclass(frozen=True)
class Danger:
    """What was seen, and what to do before anything else."""

    statement: str
    do: str


def compressor_without_flow(e: Evidence, facts: Mapping[str, Fact]) -> Danger | None:
    """A compressor that was not seen to stop, and a pump or a flow that is not as it must be.

    A record that is merely too old is no loss: whoever stands at the machine looks again, and the compressor runs on.
    """
    names = ", ".join(sorted(e.timeline.running))
    lost = _lost(e, facts) if names else ""
    if not lost:
        return None
    statement = f"On record as running: compressor {names}; {lost}."
    after = (
        "Then find why the flow was lost (trip, overload, valve, strainer, air), and look for ice in the evaporator "
        "before liquid is driven through it."
    )
    if _without_power(e):
        first = f"Before power comes back, see that compressor {names} stands and cannot start by itself, and record it off."
    else:
        first = (
            f"Stop compressor {names} first, with the machine's own stop or its control switch and not at the leads; see "
            "that it stands, and record it off."
        )
    return Danger(statement, f"{first} {after}")


def _lost(e: Evidence, facts: Mapping[str, Fact]) -> str:
    pump, flow, valves = facts["R14"], facts["R15"], facts["R09"]
    if valves.reason not in ("", "fill_open"):  # a fill valve left open takes no flow away
        return f"a valve stands wrong ({valves.detail or valves.reason})"
    if pump.status == "stale":
        return _last_seen(e)
    if not pump.established:
        return f"the pump is not seen to run ({pump.detail or pump.status})"
    if flow.status in ("established", "stale"):
        return ""
    words = {"failed": flow.detail, "missing": "no reading of it", "contradicted": "flow was seen without a pump"}
    return f"the flow is not proved ({words.get(flow.status, 'undone by a later event')})"


def _last_seen(e: Evidence) -> str:
    """What the last readings say where the pump's own record is too old to judge by."""
    switch, drop = e.last("flow_switch"), e.last("evaporator_pressure_drop")
    if switch is not None and switch.data.state != "made":
        return "the flow switch was last seen not made"
    if drop is not None and not e.limits.drop_good(drop.data.value.si):
        return f"the drop across the evaporator was last {drop.data.value}, out of its limits"
    return ""


def _without_power(e: Evidence) -> bool:
    t = e.timeline
    return t.source is False or not t.isolator_closed or t.switch is False
