"""What cannot be as recorded (I2, I4, I10, I12, I13, I15, I16, three resets): it forbids if any order of events raises it."""

from collections.abc import Iterator

from . import units
from .flow import drop, made
from .log import Log, Objection, has, having
from .people import settled
from .plan import HOUR, MINUTE, Plan
from .power import alive, supply_may_be_on, volts, warm_up_parts
from .pump import pump_stops
from .sightings import Sighting, after, least_between, most_between

STILL = 2.0  # kPa: no more than this without flow


def runs(s: Sighting) -> bool:
    """A compressor seen on, or drawing current."""
    return bool(s.data["state"] == "on") or ("current" in s.data and units.plain(s.data["current"]) > 0)


def flow_without_pump(log: Log, plan: Plan) -> Iterator[Objection]:
    """I2: a switch made, or a drop, with no pump on within a minute of it."""
    if not log.all("pump_state"):
        return
    made_seen = log.all("flow_switch", where=made)
    still_switch = log.good("flow_switch", where=lambda s: not made(s))
    drops = log.all("evaporator_pressure_drop", where=lambda s: drop(s) > STILL)
    still_drop = log.good("evaporator_pressure_drop", where=lambda s: drop(s) <= STILL)
    for flowing, still in ((made_seen, still_switch), (drops, still_drop)):
        raised = {s: _no_pump_near(log, plan, s) for s in flowing}
        for s, how in raised.items():
            if how == "no":
                continue
            again = [o for o in flowing if o.proves and raised[o] == "no" and after(o, s)] if how == "may be" else []
            none_flowed = (o for o in still if _surely_standing(log, plan, o) or _surely_shut(log, plan, o))
            if not again and not any(after(o, s) for o in none_flowed):
                yield Objection("I2", f"{s.kind} shows flow with no pump surely on")
                return


def _no_pump_near(log: Log, plan: Plan, s: Sighting) -> str:
    """`no`: a pump surely ran within the minute; `surely`: none can have; else `may be`."""
    none_can = True
    for pump in ("machine", "site"):
        stops = pump_stops(log, plan, pump)
        for on in log.all("pump_state", where=having(pump=pump, state="on")):
            if on.proves and _surely_near(on, stops, s):
                return "no"
            too_late = least_between(s, on) > MINUTE
            stopped = any(after(x, on) and least_between(x, s) > MINUTE for x in stops)
            none_can = none_can and (too_late or stopped)
    return "surely" if none_can else "may be"


def _surely_near(on: Sighting, stops: list[Sighting], s: Sighting) -> bool:
    if most_between(s, on) > MINUTE:
        return False
    if most_between(on, s) <= MINUTE:
        return True
    return all(after(on, x) or most_between(x, s) < MINUTE for x in stops)


def _surely_standing(log: Log, plan: Plan, moment: Sighting) -> bool:
    """Whether no pump can have been on at that moment."""
    for pump in ("machine", "site"):
        stops = pump_stops(log, plan, pump)
        for on in log.all("pump_state", where=having(pump=pump, state="on")):
            if not after(on, moment) and not any(after(x, on) and after(moment, x) for x in stops):
                return False
    return True


def _surely_shut(log: Log, plan: Plan, moment: Sighting) -> bool:
    """A pump that cannot stop: whether a valve of the evaporator was closed at that moment in every order of events."""
    if plan.pump_stops:
        return False
    for valve in ("supply", "return"):
        closed = log.good("valve_position", where=having(valve=valve, position="closed"))
        others = [s for s in log.all("valve_position", where=having(valve=valve)) if s.data["position"] != "closed"]
        if any(after(moment, c) and all(after(c, o) or after(o, moment) for o in others) for c in closed):
            return True
    return False


def live_work(log: Log, plan: Plan) -> Iterator[Objection]:
    """I4, I13: leads swapped, lines made or broken with the supply perhaps on; stands until a later `off`."""
    off = log.good("supply", where=lambda s: s.data["state"] == "off")
    for kind, rule in (("leads_swapped", "I4"), ("line_connection", "I13")):
        for work in log.all(kind):
            if supply_may_be_on(log, plan, work) and not any(after(o, work) for o in off):
                yield Objection(rule, f"{kind} with the supply perhaps on")


def started_cold(log: Log, plan: Plan) -> Iterator[Objection]:
    """I12: a compressor on before its oil was surely warm, until it is settled."""
    for on in log.all("compressor", where=runs):
        if was_cold(log, plan, on) and not settled(log, "I12", on):
            yield Objection("I12", f"compressor {on.data['id']} may have been started cold")


def was_cold(log: Log, plan: Plan, on: Sighting) -> bool:
    """Whether the warm-up may not have been over when it went on."""
    return not all(part.held_for(plan.warm_up, on) for part in warm_up_parts(log.as_of(on), plan))


def _seen_again(log: Log, plan: Plan, sign: Sighting, under: list[Sighting]) -> bool:
    """Whether a suspicion that is merely possible is cured: the reading taken again, surely afterwards and surely free of it."""
    signs = log.good(sign.kind, where=lambda s: alive(plan, s))
    return any(after(again, sign) and again not in under for again in signs)


def alive_under_lock(log: Log, plan: Plan) -> Iterator[Objection]:
    """I15: voltage or phases alive while a lock was perhaps on."""
    signs = log.all("line_voltage", "phase_indicator", where=lambda s: alive(plan, s))
    removed = log.all("lock", where=having(state="removed"))
    for applied in log.all("lock", where=lambda s: s.data["state"] == "applied" and s.taken_back is None):
        mine = [r for r in removed if r.subject == applied.subject]
        off_before = [
            s for s in signs if any(r.proves and after(r, applied) and after(s, r) for r in mine) or after(applied, s)
        ]
        under = [s for s in signs if s not in off_before]
        for sign in under:
            surely = applied.proves and after(sign, applied) and all(after(r, sign) or after(applied, r) for r in mine)
            cured = not surely and _seen_again(log, plan, sign, under)
            if not cured and not settled(log, "I15", sign):
                yield Objection("I15", f"alive under lock {applied.data['lock_id']}")


def lock_of_another(log: Log, plan: Plan) -> Iterator[Objection]:
    """I16: a lock removed by another than who applied it."""
    for applied in log.all("lock", where=having(state="applied")):
        for removed in log.all("lock", where=having(state="removed", lock_id=applied.data["lock_id"])):
            another = applied.by and removed.by and applied.by != removed.by
            own = any(
                o.subject == applied.subject and o.by == applied.by and after(o, applied) and after(removed, o)
                for o in log.good("lock", where=having(state="removed"))
            )
            if another and not own and not after(applied, removed) and not settled(log, "I16", removed):
                yield Objection("I16", f"lock {applied.data['lock_id']} removed by another")


def back_feed(log: Log, plan: Plan) -> Iterator[Objection]:
    """I3: alive after the supply went off with no `on` surely between."""
    signs = log.all("line_voltage", "phase_indicator", where=lambda s: alive(plan, s))
    ons = log.all("supply", where=lambda s: s.data["state"] in ("on", "interrupted"))
    for off in log.all("supply", where=having(state="off")):
        explained = [
            s for s in signs if after(off, s) or any(on.proves and after(on, off) and after(s, on) for on in ons)
        ]
        under = [s for s in signs if s not in explained]
        for sign in under:
            surely = off.proves and after(sign, off) and all(after(on, sign) or after(off, on) for on in ons)
            cured = not surely and _seen_again(log, plan, sign, under)
            if not cured and not settled(log, "I3", sign):
                yield Objection("I3", f"{sign.kind} alive with the supply off")


def wrong_voltage(log: Log, plan: Plan) -> Iterator[Objection]:
    """I14: a voltage outside 0.9 to 1.1 of rated was on the machine: heaters, control transformer and pump saw it."""
    low, high = 0.9 * plan.rated_voltage, 1.1 * plan.rated_voltage
    for s in log.all("line_voltage"):
        on_it = max(volts(s)) >= 0.5 * plan.rated_voltage
        if on_it and not all(low <= v <= high for v in volts(s)) and not settled(log, "I14", s):
            yield Objection("I14", "a wrong voltage was on the machine")


def many_resets(log: Log, plan: Plan) -> Iterator[Objection]:
    """Three resets of one alarm that may lie within 24 h: no more before a cause."""
    cleared = log.all("alarm", where=lambda s: s.data["state"] == "cleared")
    for code in sorted({s.data["code"] for s in cleared}):
        mine = [s for s in cleared if s.data["code"] == code and _was_active(log, s)]
        for first in mine:
            near = [s for s in mine if least_between(first, s) <= 24 * HOUR and not after(first, s)]
            if len(near) >= 3 and not settled(log, "repeated_trips", *near):
                yield Objection("repeated_trips", f"alarm {code} reset three times")
                return


def _was_active(log: Log, cleared: Sighting) -> bool:
    """Whether it may have been active before, with no other reset surely between: else it is no reset."""
    others = [o for o in log.good("alarm", where=having(state="cleared")) if o.subject == cleared.subject]
    return any(
        a.subject == cleared.subject
        and not after(a, cleared)
        and not any(after(o, a) and after(cleared, o) for o in others)
        for a in log.all("alarm", where=having(state="active"))
    )


def rested(log: Log, plan: Plan) -> Iterator[Objection]:
    """Each compressor's rest counts from the latest instant of its off; none may be on."""
    for off in log.all("compressor", where=lambda s: not runs(s)):
        if max([off.hi, *(e.hi for e in log.edits("anti_recycle"))]) + plan.rest > log.now_lo:
            yield Objection("anti_recycle", f"compressor {off.data['id']} rests", waits=True)


def frozen(log: Log, plan: Plan) -> Iterator[Objection]:
    """I10 with plain water: a side last read below 0 degC. (Temperatures have a rule of their own; this one has no setting.)"""
    if not plan.water:
        return
    for side in ("entering", "leaving"):
        read = log.all("water_temperature", where=has(side))
        ice = [s for s in read if units.celsius(s.data[side]) < 0]
        if ice and not any(all(after(g, x) for x in ice) for g in read if g.proves and g not in ice):
            yield Objection("I10", f"{side} water below freezing")
