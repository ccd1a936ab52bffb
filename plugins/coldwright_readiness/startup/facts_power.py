"""Facts R01 to R07, R18 to R20: locks, plate, level, ground, power, alarms, people, oil."""

from msgspec import UNSET

from coldwright_readiness.shared.instants import in_words, show
from coldwright_readiness.startup.facts import CONNECTION_KINDS, Evidence, Fact, events, origin
from coldwright_readiness.startup.limits import HIGH, LOW, at_least, at_most, unbalance
from coldwright_readiness.startup.order import Record
from coldwright_readiness.startup.timeline import Loss
from coldwright_readiness.startup.words import LOST_LINE, oil_words, power_words, rotation_words


def locks_clear(e: Evidence) -> Fact:
    """R01. Without any record of a lock it holds, unless evidence is asked for."""
    if "lock" not in e.kinds:
        return Fact("R01", "missing" if e.required else "established")
    last = e.last_each("lock")
    applied = [r for r in last if r.data.state == "applied"]
    names = ", ".join(sorted(r.data.lock_id for r in applied))
    return e.judge(
        "R01", applied or last, good=not applied, doubtful=e.doubtful_unseen("lock"), detail=f"applied: {names}"
    )


def supply_matches_plate(e: Evidence) -> Fact:
    """R02."""
    plate = e.last("plate_check")
    wrong = []
    if plate is not None:
        d = plate.data
        if not at_most(d.minimum_circuit_ampacity.si, d.cable_ampacity.si):
            wrong.append(f"the cable carries {d.cable_ampacity}, the machine asks for {d.minimum_circuit_ampacity}")
        if not at_most(d.minimum_circuit_ampacity.si, d.breaker_rating.si):
            wrong.append(f"the breaker of {d.breaker_rating} is below {d.minimum_circuit_ampacity}")
        if not at_most(d.breaker_rating.si, d.maximum_overcurrent_device.si):
            wrong.append(f"the breaker of {d.breaker_rating} is above {d.maximum_overcurrent_device}")
        rated = e.limits.rated_voltage
        if d.rated_voltage is not UNSET and not at_most(abs(d.rated_voltage.si - rated), 0.01 * rated):
            wrong.append(f"the plate says {d.rated_voltage}, the configuration {rated:g} V")
    off = [r for r in e.all("line_connection") if r.data.state == "disconnected"]
    undoing = events("V3", off) + e.move()
    return e.judge("R02", [plate], good=not wrong, undoing=undoing, detail="; ".join(wrong))


def level(e: Evidence) -> Fact:
    """R03."""
    last = e.last("unit_level")
    return e.judge("R03", [last], good=last is not None and last.data.ok, undoing=e.move(), detail="not level")


def ground_connected(e: Evidence) -> Fact:
    """R04."""
    last = e.last("ground")
    good = last is not None and last.data.connected
    return e.judge("R04", [last], good=good, undoing=e.move(), detail="not connected")


def energised(e: Evidence) -> Fact:
    """R05."""
    fact = _power(e)
    power_words(e, fact)
    return fact


def _power(e: Evidence) -> Fact:
    t = e.timeline
    switch, isolator = e.last("control_switch"), e.last("isolator")
    sign = t.signs_of_life[-1] if t.signs_of_life else None
    seen = max((r for r in (e.last("supply"), sign) if r is not None), key=lambda r: r.index, default=None)
    if t.supply is None or t.switch is None or switch is None or seen is None:
        known = [r for r in (seen, switch) if r is not None]
        return Fact("R05", "missing", known, clear_by="energise" if t.supply is not True else "control_switch_on")
    for record in (seen, switch):
        if e.moved is not None and e.moved.index > record.index:
            return Fact("R05", "invalidated", [seen, switch], Loss(e.moved, "V10"))
    limit = 12 * 3600 * 10**9
    if sign is not None and e.age(sign) > limit:
        detail = f"last sign of life {in_words(e.age(sign))} ago, at most {in_words(limit)}"
        return Fact("R05", "stale", [sign], detail=detail, clear_by="check_phase_and_voltage")
    if not t.isolator_closed and isolator is not None:
        return Fact("R05", "failed", [isolator], detail="isolator open")
    if not t.supply:
        return _supply_lost(t.losses[-1].record, source_on=t.source is True)
    if not t.switch:
        return Fact("R05", "failed", [switch], detail="control switch off", clear_by="control_switch_on")
    for kind, decided_by in (("supply", seen), ("control_switch", switch), ("isolator", isolator)):
        place = t.ordered.doubtful.get((kind, ()))
        if place is not None and (decided_by is None or place > decided_by.key):
            step = "control_switch_on" if kind == "control_switch" else "energise"
            return Fact("R05", "contradicted", [] if decided_by is None else [decided_by], clear_by=step)
    return Fact("R05", "established", [seen, switch])


def _supply_lost(cause: Record, *, source_on: bool) -> Fact:
    """The machine has no proper supply; a source that nobody saw go off may keep the lines live all the same."""
    if not source_on:
        return Fact("R05", "failed", [cause], detail="no supply")
    words = f"no proper supply since {origin(cause).id}, and the source was not seen to go off: the lines may be live"
    search = LOST_LINE if origin(cause).kind in ("phase_indicator", "line_voltage") else "look at the work"
    return Fact(
        "R05",
        "failed",
        [cause],
        detail=words,
        do=f"Take every line for live. Open the source, lock it, prove it dead, {search}; "
        "then close the source and the control switch. The time of oil heat begins then.",
    )


def voltage_in_limits(e: Evidence) -> Fact:
    """R06."""
    reading = e.last("line_voltage")
    wrong = voltage_faults(e, reading) if reading is not None else []
    undoing = [*e.timeline.losses, *events("V3", e.all("line_connection")), *e.move()]
    return e.judge("R06", [reading], good=not wrong, undoing=undoing, detail="; ".join(wrong))


def voltage_faults(e: Evidence, reading: Record) -> list[str]:
    """What is wrong with a reading, with the numbers."""
    wrong = []
    c = e.limits.configuration
    d = reading.data
    lines = e.limits.lines(d)
    if not (at_least(min(lines), LOW) and at_most(max(lines), HIGH)):
        rated = e.limits.rated_voltage
        wrong.append(
            f"{d.v_ab.value:g}/{d.v_bc.value:g}/{d.v_ca.value:g} V, outside {LOW * rated:g} to {HIGH * rated:g} V"
        )
    if not at_most(unbalance(d), c.voltage_unbalance_limit):
        wrong.append(f"unbalance {unbalance(d):.4f}, at most {c.voltage_unbalance_limit:g}")
    metered = frequency_reading(e, reading)
    if metered is not None and c.rated_frequency is not UNSET:
        hertz, rated = metered.data.frequency.si, c.rated_frequency.si
        if not at_most(abs(hertz - rated), 0.05 * rated):
            wrong.append(f"{hertz:g} Hz, more than 5 % from {rated:g} Hz")
    return wrong


def frequency_reading(e: Evidence, reading: Record) -> Record | None:
    """The last reading with hertz since the last loss of supply, up to `reading`."""
    since = max((loss.record.index for loss in e.timeline.losses if loss.record.index < reading.index), default=-1)
    return e.last("line_voltage", lambda r: since < r.index <= reading.index and r.data.frequency is not UNSET)


def phase_correct(e: Evidence) -> Fact:
    """R07."""
    last = e.last("phase_indicator")
    undoing = events("V3", e.all("leads_swapped", "line_connection")) + e.move()
    if e.required or "line_connection" in e.kinds:
        undoing += events("V3", (r for r in e.all("ground") if not r.data.connected))
    good = last is not None and last.data.rotation == "correct"
    detail = "" if last is None else last.data.rotation.replace("_", " ")
    fact = e.judge("R07", [last], good=good, undoing=undoing, detail=detail)
    rotation_words(fact)
    return fact


def no_alarm(e: Evidence) -> Fact:
    """R18."""
    if "alarm" not in e.kinds:
        return Fact("R18", "established")
    last = e.last_each("alarm")
    active = [r for r in last if r.data.state == "active"]
    codes = ", ".join(sorted(r.data.code for r in active))
    return e.judge(
        "R18", active or last, good=not active, doubtful=e.doubtful_unseen("alarm"), detail=f"active: {codes}"
    )


def people_clear(e: Evidence) -> Fact:
    """R19."""
    last = e.last("area_clear")
    return e.judge("R19", [last], good=last is not None and last.data.clear, detail="somebody is near")


def oil_warm(e: Evidence) -> Fact:
    """R20."""
    t = e.timeline
    if t.warm_since is not None:
        until = t.warm_since + e.limits.warm_up
        begun = [t.warm_ups[-1].begun_by]
        if until <= e.evaluated_at:
            return Fact("R20", "established", begun)
        return Fact("R20", "waiting", begun, detail=f"{in_words(until - e.evaluated_at)} to go, until {show(until)}")
    fact = Fact("R20", "missing")
    if t.warm_ups:
        fact = Fact("R20", "invalidated", [t.warm_ups[-1].begun_by], t.warm_ups[-1].end)
    oil_words(e, fact)
    return fact


def asks_for_connection(e: Evidence) -> bool:
    """Whether anything of connecting and energising is asked at all."""
    return e.required or bool(e.kinds & CONNECTION_KINDS)
