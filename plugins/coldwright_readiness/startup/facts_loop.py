"""Facts R08 to R17: hoses, valves, pressure, air, leaks, antifreeze, pump, flow, strainer, set point."""

from msgspec import UNSET

from coldwright_basis.freezing import GREATEST_MASS_FRACTION, LEAST_MASS_FRACTION, glycol_freezing_temperature
from coldwright_readiness.startup.facts import Evidence, Fact, events
from coldwright_readiness.startup.limits import MEANING_OF_REASON, at_least, at_most
from coldwright_readiness.startup.order import Record, hose_good
from coldwright_readiness.startup.timeline import Loss
from coldwright_readiness.startup.words import antifreeze_words

RULE_OF_CAUSE = {
    "control_switch": "V2",
    "leads_swapped": "V3",
    "line_connection": "V3",
    "moved": "V10",
    "loop_pressure": "V8",
    "purge": "V8",
}
FREEZE_READINGS_AGREE = 3.0
"""K by which freezing point and strength may differ."""


def opened(e: Evidence) -> list[Loss]:
    """The loop was opened or drained."""
    return events("V4", e.all("loop_opened", "drain"))


def first_fills(e: Evidence) -> list[Loss]:
    """A first fill says that the loop had been empty."""
    return events("V4", (r for r in e.all("fill") if r.data.purpose == "first_fill"))


def hoses_connected(e: Evidence) -> Fact:
    """R08. Opening the loop at a hose undoes what was seen of it."""
    ends = [e.last_of("hose_connection", end) for end in ("machine_inlet", "machine_outlet")]
    undoing = e.move()
    for end in ends:
        if end is not None:
            undoing += [Loss(r, "V4") for r in e.all("loop_opened") if r.index > end.index and _at_hose(r, end)]
    bad = [r.data.end for r in ends if r is not None and not hose_good(r.data)]
    return e.judge("R08", ends, good=not bad, undoing=undoing, detail=f"not in order: {', '.join(bad)}")


def _at_hose(loop_opened: Record, end: Record) -> bool:
    where = "" if loop_opened.data.where is UNSET else loop_opened.data.where.casefold()
    return "hose" in where or end.data.end in where


def valves_set(e: Evidence) -> Fact:
    """R09."""
    last = {valve: e.last_of("valve_position", valve) for valve in e.limits.valves}
    position = {valve: r.data.position for valve, r in last.items() if r is not None}
    reason = wrong_valve(e, position) if len(position) == len(last) else ""
    fact = e.judge(
        "R09", list(last.values()), good=not reason, undoing=e.move(), detail=MEANING_OF_REASON.get(reason, "")
    )
    if fact.status == "failed":
        fact.reason = reason
    return fact


def wrong_valve(e: Evidence, position: dict[str, str]) -> str:
    """The reason why the valves are wrong; empty when they are right."""
    reason = ""
    if e.limits.pump_valves:
        suction, discharge, bypass = (position[v] for v in ("pump_suction", "pump_discharge", "pump_bypass"))
        reason = (
            own_pump_fault(suction, discharge, bypass)
            if e.limits.own_pump
            else idle_pump_fault(suction, discharge, bypass)
        )
    return reason or next((f"{v}_{_other(p)}" for v, p in e.limits.loop_valves.items() if position[v] != p), "")


def _other(position: str) -> str:
    return "closed" if position == "open" else "open"


def own_pump_fault(suction: str, discharge: str, bypass: str) -> str:
    """Valves of a pump that is to run."""
    if discharge != "open":
        return "dead_head"
    if suction != "open":
        return "starved"
    return "" if bypass == "closed" else "short_circuit"


def idle_pump_fault(suction: str, discharge: str, bypass: str) -> str:
    """Valves of a pump that is to stand while the site's pump runs."""
    both_open = suction == discharge == "open"
    if bypass == "open":
        if suction == discharge == "closed":
            return ""
        return "parallel_idle_pump" if both_open else "half_isolated"
    return "through_idle_pump" if both_open else "no_path"


def loop_pressurised(e: Evidence) -> Fact:
    """R10."""
    reading = e.last("loop_pressure", lambda r: r.data.pump == "off")
    undoing = events("V5", e.all("fill", "antifreeze_charge")) + opened(e) + e.move()
    good = reading is not None and e.limits.fill_pressure_good(reading.data.value.si)
    detail = ""
    if reading is not None:
        c, value = e.limits.configuration, reading.data.value
        at_top = (value.si - e.limits.head) / 1000
        detail = (
            f"{value}, limits {c.fill_pressure_minimum} to {c.fill_pressure_maximum}; {at_top:.4g} kPa at the highest "
            f"point, at least {c.high_point_pressure_minimum}"
        )
    fact = e.judge("R10", [reading], good=good, undoing=undoing, detail=detail)
    fact.clear_by = "" if e.all("fill") else "fill_loop"
    if fact.status == "stale":
        fact.do = "Read it again with the pump off; top up or bleed only if it is out of its limits."
    return fact


def purged(e: Evidence) -> Fact:
    """R11."""
    points = [e.last_of("purge", point) for point in e.limits.purge_points]
    low = (r for r in e.all("loop_pressure") if r.data.pump == "off" and not e.limits.high_point_good(r.data.value.si))
    undoing = opened(e) + first_fills(e) + events("V5", low) + e.move()
    bad = [r.data.point for r in points if r is not None and (r.adverse or r.data.pump != "off")]
    fact = e.judge("R11", points, good=not bad, undoing=undoing, detail=f"no steady liquid, pump off: {', '.join(bad)}")
    done = {r.data.point for r in fact.records if fact.status == "missing"}
    if e.limits.own_pump and (bad[:1] == ["pump_casing"] or (fact.status == "missing" and "pump_casing" not in done)):
        fact.clear_by = "purge_pump_casing"
    return fact


def leak_free(e: Evidence) -> Fact:
    """R12."""
    last = e.last("leak_check")
    good = last is not None and last.data.result == "dry"
    detail = "" if last is None else last.data.result
    return e.judge("R12", [last], good=good, undoing=opened(e) + first_fills(e) + e.move(), detail=detail)


def antifreeze_adequate(e: Evidence) -> Fact:
    """R13, for a glycol."""
    reading, run, from_when = usable_freeze_reading(e)
    undoing = e.move() + events("V7", e.all("antifreeze_charge", "drain"))
    for fill in e.all("fill"):
        if fill.data.medium != "mixed":
            undoing.append(Loss(fill, "V5" if fill.data.medium == "water" else "V7"))
    needed = e.limits.configuration.required_freeze_point
    good, detail = True, ""
    if reading is not None and needed is not UNSET:
        freezes = freezing_point(e, reading)
        good = at_most(freezes, needed.si)
        detail = f"freezes at {freezes - 273.15:.2f} degC, the weather asks for {needed}"
    fact = e.judge("R13", [reading], good=good, undoing=undoing, detail=detail)
    antifreeze_words(fact, e.all("antifreeze_reading"), run, from_when)
    return fact


def usable_freeze_reading(e: Evidence) -> tuple[Record | None, Record | None, int | None]:
    """The last reading from a running loop that had time to mix; the present run; and from when a reading counts."""
    usable = None
    run: Record | None = None
    changed: Record | None = None
    for record in e.timeline.records:
        if record.kind == "pump_state" and record.data.pump == e.limits.pump_in_use:
            run = (run or record) if record.data.state == "on" else None
        elif record.kind in ("fill", "antifreeze_charge", "drain"):
            changed = record
        elif record.kind == "antifreeze_reading" and run is not None and _mixed(e, record, run, changed):
            usable = record
    return usable, run, None if run is None else _mixed_from(e, run, changed)


def _mixed(e: Evidence, reading: Record, run: Record, changed: Record | None) -> bool:
    begin = _mixed_from(e, run, changed)
    return begin is None or reading.earliest >= begin


def _mixed_from(e: Evidence, run: Record, changed: Record | None) -> int | None:
    """When the loop has gone round three times; None where its time is not known."""
    if e.limits.turnover is UNSET:
        return None
    since = run.latest if changed is None else max(run.latest, changed.latest)
    return since + 3 * e.limits.turnover


def freezing_point(e: Evidence, reading: Record) -> float:
    """K: as read, or the worse one where the strength, read too, says something else."""
    read: float = reading.data.freeze_point.si
    by_strength = freezing_by_strength(e, reading)
    if by_strength is not None and abs(by_strength - read) > FREEZE_READINGS_AGREE:
        return max(by_strength, read)
    return read


def freezing_by_strength(e: Evidence, reading: Record) -> float | None:
    """K, by the freezing line of the glycol; None without a strength, or with one outside the line."""
    strength = reading.data.mass_fraction
    if strength is UNSET or not e.limits.glycol or not LEAST_MASS_FRACTION <= strength <= GREATEST_MASS_FRACTION:
        return None
    return glycol_freezing_temperature(e.limits.configuration.fluid_kind, strength)


def pump_running(e: Evidence) -> Fact:
    """R14."""
    seen = e.last_of("pump_state", e.limits.pump_in_use)
    last = e.timeline.pumps.get(e.limits.pump_in_use)
    if seen is None or last is None:
        return Fact("R14", "missing")
    undoing = e.move() if e.moved is not None and e.moved.index > seen.index else []
    if undoing:
        return Fact("R14", "invalidated", [seen], undoing[0])
    detail = "put off by " + last.cause.kind.replace("_", " ") if last.cause is not None else f"{last.data.state}"
    return e.judge("R14", [last], good=last.data.state == "on", detail=detail)


def flow_proven(e: Evidence, pump: Fact, valves: Fact, *, impossible: bool) -> Fact:
    """R15. `impossible`: a flow without a pump was seen, and its instrument has not been cleared since."""
    switch, drop = e.last("flow_switch"), e.last("evaporator_pressure_drop")
    if switch is None or drop is None:
        return Fact("R15", "missing", [r for r in (switch, drop) if r is not None])
    records = [switch, drop]
    if not pump.established:
        return Fact("R15", "invalidated", records, _pump_loss(e, pump), detail="the pump is not seen to run")
    undoing = opened(e) + e.move() + _run_begins(e, min(switch.index, drop.index))
    if valves.established:
        undoing += events("V6", valve_moves(e)[-1:])
    good = switch.data.state == "made" and e.limits.drop_good(drop.data.value.si)
    c = e.limits.configuration
    detail = (
        f"flow switch {switch.data.state.replace('_', ' ')}; drop {drop.data.value}, limits "
        f"{c.evaporator_pressure_drop_minimum} to {c.evaporator_pressure_drop_maximum}"
    )
    return e.judge("R15", records, good=good, undoing=undoing, doubtful=impossible, detail=detail)


def _pump_loss(e: Evidence, pump: Fact) -> Loss | None:
    if pump.undone is not None:
        return pump.undone
    last = e.timeline.pumps.get(e.limits.pump_in_use)
    return None if last is None or pump.status == "missing" else _put_off_by(last)


def _put_off_by(record: Record) -> Loss:
    """A pump's record with the reset event behind it."""
    return Loss(record, "V8" if record.cause is None else RULE_OF_CAUSE.get(record.cause.kind, "V1"))


def _run_begins(e: Evidence, first: int) -> list[Loss]:
    """What ended the run before the present one, if the older reading (at index `first`) is not of the present run."""
    begin: Record | None = None
    before: Record | None = None
    for record in e.timeline.records:
        if record.kind == "pump_state" and record.data.pump == e.limits.pump_in_use:
            if record.data.state != "on":
                begin, before = None, record
            elif begin is None:
                begin = record
    if begin is None or begin.index < first:
        return []
    return [_put_off_by(before if before is not None and before.index > first else begin)]


def valve_moves(e: Evidence) -> list[Record]:
    """Records at which a valve on the way of the flow stands differently from before."""
    moves, before = [], dict[str, str]()
    for record in e.all("valve_position"):
        valve, position = record.data.valve, record.data.position
        if valve in e.limits.flow_valves and before.get(valve, position) != position:
            moves.append(record)
        before[valve] = position
    return moves


def strainer_clear(e: Evidence) -> Fact:
    """R16."""
    last = e.last("strainer")
    good = last is not None and last.data.blown_down
    return e.judge("R16", [last], good=good, undoing=opened(e) + e.move(), detail="not blown down")


def set_point_safe(e: Evidence, antifreeze: Fact | None) -> Fact:
    """R17."""
    c = e.limits.configuration
    last = e.last("set_point")
    if antifreeze is None:
        good = last is not None and at_least(last.data.value.si, c.set_point_minimum_water.si)
        detail = "" if last is None else f"{last.data.value}, at least {c.set_point_minimum_water}"
        return e.judge("R17", [last], good=good, detail=detail)
    if antifreeze.status in ("missing", "invalidated"):
        if last is None:
            return Fact("R17", "missing", clear_by="enter_set_point")
        first = "Read the freezing point of the mixture first: the set point is judged by it."
        return Fact("R17", "missing", [last], clear_by="read_antifreeze", do=first)
    reading = antifreeze.records[0]
    good, detail = False, ""
    if last is not None:
        freezes = freezing_point(e, reading)
        good = at_most(freezes, last.data.value.si - c.freeze_margin.si)
        detail = (
            f"set point {last.data.value}, the mixture freezes at {freezes - 273.15:.2f} degC, margin {c.freeze_margin}"
        )
    return e.judge("R17", [last, reading], good=good, detail=detail)
