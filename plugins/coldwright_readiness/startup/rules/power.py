"""R01, R02, R05, R06, R07, R20 and R29: locks, plate, power, rotation, heat of the oil."""

from typing import Final

from msgspec import UNSET

from coldwright_basis.compare import at_most
from coldwright_basis.instants import show, whole
from coldwright_readiness.startup.evidence.evidence import Evidence
from coldwright_readiness.startup.evidence.happened import what_happened
from coldwright_readiness.startup.evidence.known import Against
from coldwright_readiness.startup.evidence.record import Record, after, parted
from coldwright_readiness.startup.evidence.settling import Settlements
from coldwright_readiness.startup.limits import fresh_for
from coldwright_readiness.startup.rules.fact import Fact, Need, judged

MAY_BE_LIVE: frozenset[str] = frozenset({"line_voltage", "phase_indicator", "leads_swapped", "line_connection"})
"""Losses at the machine that say nothing of the source."""
MAY_BE_LIVE_WORDS: Final = "the lines may be live"
HERTZ_OFF: Final = "more than 5 % off the data plate"
LOCKS: Final = "locks at every source"
_ROTATION_WORDS: Final = {
    "reversed": "the rotation is reversed",
    "missing_phase": "a phase is missing",
    "no_indication": "the indicator shows nothing",
}
TOUCHED: frozenset[str] = frozenset({"storm", "line_work", "source_work"})
"""Causes of an outage after which a utility may come back with another rotation."""


def locks_clear(e: Evidence, settled: Settlements) -> Fact:
    """R01: no lock seen since the last loss of supply, and every lock on record taken off by its owner."""
    applied = e.such("lock", lambda d: d.state == "applied")
    looked = Need(
        LOCKS,
        e.such("lock_check", lambda d: d.none_seen),
        e.such("lock_check", lambda d: not d.none_seen),
        [*e.power.lost_by.records, *applied],
        e.doubts("lock_check"),
        fault="a lock was seen",
    )
    needs = [looked]
    for (lock, owner), records in e.subjects("lock").items():
        on = [r for r in records if r.data.state == "applied" and not settled.frees_lock(r)]
        if on or e.doubts("lock", lock, owner):
            off = [r for r in records if r.data.state == "removed"]
            off += [] if on else looked.goods
            name = f"lock {lock} of {owner}" if owner else f"lock {lock} of nobody in particular"
            needs.append(Need(name, off, on, doubts=e.doubts("lock", lock, owner), fault=f"{name} is still on"))
    return judged("R01", needs, e.now)


def supply_matches_plate(e: Evidence) -> Fact:
    """R02: cable, breaker and voltage go with the data plate."""
    plates = e.of("plate_check")
    wrong = {r.id: plate_faults(e, r) for r in plates}
    off = e.such("line_connection", lambda d: d.state == "disconnected")
    need = Need(
        "data plate, cable and breaker",
        [r for r in plates if not wrong[r.id]],
        [r for r in plates if wrong[r.id]],
        [*off, *e.moves],
        e.doubts("plate_check"),
    )
    fact = judged("R02", [need], e.now)
    if fact.status == "failed":
        need.detail = need.fault = "; ".join(wrong[fact.by[0].id])
    return fact


def plate_faults(e: Evidence, plate: Record) -> list[str]:
    """What does not go together, with the numbers."""
    wrong, d = [], plate.data
    if not at_most(d.minimum_circuit_ampacity.si, d.cable_ampacity.si):
        wrong.append(f"the cable carries {d.cable_ampacity}, the machine asks for {d.minimum_circuit_ampacity}")
    if not at_most(d.minimum_circuit_ampacity.si, d.breaker_rating.si):
        wrong.append(f"the breaker of {d.breaker_rating} is below {d.minimum_circuit_ampacity}")
    if not at_most(d.breaker_rating.si, d.maximum_overcurrent_device.si):
        wrong.append(f"the breaker of {d.breaker_rating} is above {d.maximum_overcurrent_device}")
    rated = e.limits.rated_voltage
    if d.rated_voltage is not UNSET and not at_most(abs(d.rated_voltage.si - rated), 0.01 * rated):
        wrong.append(f"the plate says {d.rated_voltage}, the configuration {rated:g} V")
    return wrong


def energised(e: Evidence) -> Fact:
    """R05: supply, isolator and control switch on, and a sign of it within twelve hours."""
    p = e.power
    moves = e.moves
    supply = Need(
        "supply",
        p.supply.records_for,
        [*(r for r in p.losses if r.kind != "moved"), *p.gaps],
        moves,
        [*e.doubts("supply"), *e.doubts("line_voltage"), *e.doubts("phase_indicator")],
        fresh=fresh_for("R05"),
        fault="the supply is off",
    )
    switch = Need(
        "control switch",
        e.such("control_switch", lambda d: d.state == "on"),
        p.switched_off,
        moves,
        e.doubts("control_switch"),
        fault="the control switch is off",
    )
    needs = [supply, switch]
    if p.isolator.against or e.doubts("isolator"):
        closed, opened = p.isolator.records_for, p.isolator.against.records
        needs.insert(1, Need("isolator", closed, opened, doubts=e.doubts("isolator"), fault="the isolator is open"))
    fact = judged("R05", needs, e.now)
    last = fact.standings[0].by[0] if fact.standings[0].status == "failed" else None
    if last is not None and last.kind in MAY_BE_LIVE and not source_off(e):
        supply.detail = MAY_BE_LIVE_WORDS
        supply.fault = (
            f"no proper supply since {what_happened(last, e.limits)}, and the source was not seen to go off: "
        )
        supply.fault += MAY_BE_LIVE_WORDS
    elif last is not None:
        supply.fault = what_happened(last, e.limits)
    return fact


def source_off(e: Evidence) -> bool:
    """Whether the source was surely last seen off."""
    lives = Against([*e.power.on, *e.power.signs, *e.power.gaps])
    return any(off.proves and lives.all_before(off) for off in e.power.off)


def voltage_in_limits(e: Evidence) -> Fact:
    """R06: volts, unbalance and, of a generator, hertz, read since the last loss of supply."""
    undoing = [*e.power.lost_by.records, *e.line_work]
    readings = e.of("line_voltage")
    doubts, fresh = e.doubts("line_voltage"), fresh_for("R06")
    good, bad = parted(readings, lambda r: bool(r.volts.good))
    volts = Need("line voltages", good, bad, [r for r in undoing if r.kind != "line_voltage"], doubts, fresh=fresh)
    needs = [volts]
    metered = [r for r in readings if r.data.frequency is not UNSET]
    hertz, off = parted(metered, lambda r: e.limits.frequency_good(r.data))
    if e.limits.configuration.supply_source == "generator":
        needs.append(Need("frequency", hertz, off, undoing, doubts, fresh=fresh, detail=HERTZ_OFF))
    elif off:
        needs.append(Need("frequency", hertz, off, (), doubts, detail=HERTZ_OFF))
    fact = judged("R06", needs, e.now)
    if fact.standings[0].status == "failed":
        volts.detail = volts.fault = voltage_words(e, fact.standings[0].by[0])
    return fact


def voltage_words(e: Evidence, reading: Record) -> str:
    """What is wrong with a reading, with the numbers."""
    d, rated, limit = reading.data, e.limits.rated_voltage, e.limits.configuration.voltage_unbalance_limit
    read = f"{d.v_ab.value:g}/{d.v_bc.value:g}/{d.v_ca.value:g} V"
    wrong = [] if reading.volts.inside else [f"limits {0.9 * rated:.4g} to {1.1 * rated:.4g} V"]
    if not at_most(reading.volts.unbalance, limit):
        wrong.append(f"unbalance {100 * reading.volts.unbalance:.2g} %, at most {100 * limit:.2g} %")
    return f"{read}; {'; '.join(wrong)}"


def phase_correct(e: Evidence) -> Fact:
    """R07: the rotation read as correct since the leads or the source were touched, or can have been."""
    readings = e.of("phase_indicator")
    undoing = [*e.line_work, *e.moves]
    if e.required or e.of("line_connection"):
        undoing += e.such("ground", lambda d: not d.connected)
    if e.limits.configuration.supply_source == "generator" or e.limits.configuration.transfer_switch:
        undoing += [r for r in e.power.lost_by.records if r.kind != "phase_indicator"]
    else:
        undoing += [r for r in (*e.power.off, *e.power.gaps) if r.data.cause in TOUCHED]
    good = [r for r in readings if r.data.rotation == "correct"]
    bad = [r for r in readings if r.data.rotation != "correct"]
    need = Need("rotation", good, bad, undoing, e.doubts("phase_indicator"))
    fact = judged("R07", [need], e.now)
    if fact.status == "failed":
        fact.reason = fact.by[0].data.rotation
        need.detail = fact.reason.replace("_", " ")
        need.fault = _ROTATION_WORDS[fact.reason]
    return fact


def plain_outages(e: Evidence) -> list[Record]:
    """Losses of a utility's supply after which the rotation was not read again: a check, no more."""
    if e.limits.configuration.supply_source == "generator" or e.limits.configuration.transfer_switch:
        return []
    correct = [r for r in e.of("phase_indicator") if r.proves and r.data.rotation == "correct"]
    first = min((r.earliest for r in correct), default=None)
    if first is None:
        return []
    latest = max(r.earliest for r in correct)
    losses = [r for r in (*e.power.off, *e.power.gaps) if r.data.cause not in TOUCHED]
    return [r for r in losses if r.latest >= latest and r.earliest >= first]


def oil_warm(e: Evidence) -> Fact:
    """R20: supply, isolator, switch, voltage and heaters good without a break for the time of oil heat."""
    p = e.power
    if p.warm_since is not None:
        until = p.warm_since + e.limits.warm_up
        by = () if p.warm_by is None else (p.warm_by,)
        return Fact("R20", forced="established" if until <= e.now else "waiting", records=by, until=until)
    begun = bool(p.heated)
    last = p.lost_by.last
    by = (last,) if begun and last is not None else ()
    return Fact("R20", forced="invalidated" if begun else "missing", records=by, reason=_why_cold(e))


def _why_cold(e: Evidence) -> str:
    """What keeps the oil from warming, in words."""
    gap = max((g.latest for g in e.power.gaps), default=0)
    words = []
    for name, state in e.power.conditions.items():
        if name == "supply" and gap > e.now:
            words.append(f"supply interrupted, on record until {show(whole(gap))}")
        elif not state.holds:
            off = {"supply": "no proper supply", "switch": "control switch off", "isolator": "isolator open"}
            unseen = {"supply": "supply not on record as on", "switch": "control switch not on record as on"}
            known = off.get(name, "voltage too low" if name == "voltage" else f"{name} out of order")
            words.append(known if state.against or name not in unseen else unseen[name])
    return f"nothing warms it now: {'; '.join(words)}"


def oil_heaters_working(e: Evidence) -> Fact:
    """R29: each compressor's heater felt or metered warm in this warm-up."""
    conditions = list(e.power.conditions.values())

    def in_this_warm_up(r: Record) -> bool:
        return all(state.within_spell(r) or _felt_as_it_began(r, state.begun) for state in conditions)

    losses = [state.against.last for state in conditions]
    last_loss = max((r for r in losses if r is not None), key=lambda r: (r.latest, r.id), default=None)
    needs = []
    for compressor in e.limits.compressors:
        records = e.about("oil_heater", compressor)
        needs.append(
            Need(
                f"heater of compressor {compressor}",
                [r for r in records if r.data.working],
                [r for r in records if not r.data.working],
                doubts=e.doubts("oil_heater", compressor),
                admit=in_this_warm_up,
                undone_by=last_loss,
                fault=f"the heater of compressor {compressor} is cold",
                due="feel or meter {} in this warm-up",
            )
        )
    return judged("R29", needs, e.now)


def _felt_as_it_began(r: Record, begun: Record | None) -> bool:
    """A heater seen working by the very record that began the warming anew."""
    return begun is not None and (begun is r or after(r, begun))
