"""R14 and R15: the pump in use runs, and liquid flows through the evaporator."""

from functools import cache
from typing import Final

from msgspec import UNSET

from coldwright.contract.quantities import VolumeFlow
from coldwright_readiness.startup.evidence.evidence import Evidence
from coldwright_readiness.startup.evidence.known import Following
from coldwright_readiness.startup.evidence.record import ALWAYS, Record, after
from coldwright_readiness.startup.limits import fresh_for
from coldwright_readiness.startup.rules.fact import Fact, Need, judged
from coldwright_readiness.startup.words import from_to, in_unit_of

READ_BEFORE_START: Final = "read before the pump was started"


def pump_running(e: Evidence) -> Fact:
    """R14: the pump in use was last seen on, within half an hour."""
    pump, p = e.limits.pump_in_use, e.pumping
    need = Need(
        f"the {'machine' if e.limits.own_pump else 'site'}'s pump",
        p.on[pump],
        [*p.off[pump], *p.at_rest],
        [r for r in p.losses(pump) if r.kind not in ("loop_pressure", "purge")],
        e.doubts("pump_state", pump),
        fresh=fresh_for("R14"),
    )
    fact = judged("R14", [need], e.now)
    if fact.status != "failed":
        return fact
    started = Following(p.on[pump])
    tripped = any(r.data.state == "tripped" and started.end_of(r) == ALWAYS for r in p.off[pump])
    if tripped or fact.by[0].kind == "pump_state":  # a trip has a cause, whatever was read since
        need.detail = fact.reason = "tripped" if tripped else fact.by[0].data.state
        need.fault = f"{need.subject} tripped" if fact.reason == "tripped" else f"{need.subject} is off"
    else:
        need.fault = f"{need.subject} was seen standing: something was read with the pump off"
    return fact


def flow_proven(e: Evidence, unproved_instruments: list[Record]) -> Fact:
    """R15: switch made and drop within limits since the pump was last started, and no flow read under its least.

    `unproved_instruments`: readings of a flow without a pump whose instrument was not cleared since.
    """
    p = e.pumping
    undoing = [*p.openings, *p.moved_valves]
    in_run, stopped_by, fresh = cache(p.run.within_spell), p.run.against.last, fresh_for("R15")

    def need(subject: str, kind: str, good: list[Record], bad: list[Record]) -> Need:
        return Need(
            subject,
            good,
            bad,
            undoing,
            [*e.doubts(kind), *(r for r in unproved_instruments if r.kind == kind)],
            in_run,
            stopped_by,
            fresh,
        )

    switch = need("flow switch", "flow_switch", p.switch.records_for, p.switch.against.records)
    switch.detail, switch.fault = "not made", "the flow switch is not made"
    drop = need("drop across the evaporator", "evaporator_pressure_drop", p.drop.records_for, p.drop.against.records)
    needs = [switch, drop]
    if p.low_flow:
        good = p.flows[0]
        flow = Need("flow", good, p.low_flow, doubts=e.doubts("flow"))
        read = p.low_flow[-1].data.value
        least = VolumeFlow.from_si(e.limits.least_flow, "m3/s")
        flow.detail = f"{read}, at least {in_unit_of(least, read)}" if e.limits.least_flow else f"{read}"
        needs.append(flow)
    fact = judged("R15", needs, e.now)
    begun = p.run.begun
    for s in fact.standings:
        if s.status == "failed" and begun is not None and all(after(begun, r) for r in s.by):
            s.need.detail = READ_BEFORE_START
            s.need.fault = f"the {s.need.subject} showed no proper flow when last read, before the pump was started"
    shown = next((s for s in fact.standings if s.need is drop and s.status == "failed"), None)
    c = e.limits.configuration
    low, high = c.evaporator_pressure_drop_minimum, c.evaporator_pressure_drop_maximum
    if shown is not None and drop.detail != READ_BEFORE_START and low is not UNSET and high is not UNSET:
        drop.detail = f"{shown.by[0].data.value}, limits {from_to(low, high)}"
    return fact
