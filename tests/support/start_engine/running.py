"""A compressor on: may it run on, or must it be stopped now? A cause never lapses by age; only later records clear it."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from . import flow, liquid, loop, people, power, units
from .edits import with_edits
from .log import Log, Objection, fails, having, stands
from .plan import MINUTE, Plan
from .pump import pump_stops
from .sightings import Sighting, after, least_between, most_between
from .suspicions import runs, was_cold

Rule = Callable[[Log, Plan], Iterator[Objection]]
NEEDED: tuple[Rule, ...] = (
    people.locks,
    power.supply_and_ground,
    power.energised,
    power.voltage,
    power.rotation,
    loop.hoses,
    loop.valves,
    liquid.antifreeze,
    flow.pump_running,
    flow.flow_proven,
    people.alarms,
)
NEEDED_RULES = {"R01", "R04", "R05", "R06", "R07", "R08", "R09", "R13", "R14", "R15", "R18"}
DANGEROUS_PLACES = {"fans", "leads", "couplings", "open_guards"}


@dataclass(frozen=True)
class Running:
    """What is on or may be, and why it must stop."""

    on: tuple[str, ...]
    stop: tuple[str, ...]

    @property
    def may_run(self) -> bool:
        """On, with nothing against it."""
        return bool(self.on) and not self.stop


def _ons(log: Log) -> list[Sighting]:
    return log.all("compressor", where=runs)


def _offs(log: Log, on: Sighting) -> list[Sighting]:
    return log.good("compressor", where=lambda s: not runs(s) and s.subject == on.subject)


def still_on(log: Log, on: Sighting) -> bool:
    """Whether no `off` surely followed."""
    return not any(after(off, on) for off in _offs(log, on))


def while_on(log: Log, x: Sighting) -> bool:
    """Whether a compressor may have been on when this happened."""
    return any(
        not after(on, x) and not any(after(off, on) and after(x, off) for off in _offs(log, on)) for on in _ons(log)
    )


def _while_still_on(log: Log, x: Sighting) -> bool:
    """Whether a compressor that may be on now may have been on when this happened. Where each `on` is surely followed by an
    `off`, the cause either came before the `off`, which obeyed it, or after it, when nothing ran."""
    return any(still_on(log, on) and not after(on, x) for on in _ons(log))


def _obeyed(log: Log, x: Sighting) -> list[Sighting] | None:
    """An `off` of each compressor surely after every `on` that may have been before the cause; None where one is lacking."""
    found = []
    for subject in {on.subject for on in _ons(log)}:
        ons = [on for on in _ons(log) if on.subject == subject and not after(on, x)]
        if not ons:
            continue
        fit = [off for off in _offs(log, ons[0]) if all(after(off, on) for on in ons)]
        if not fit:
            return None
        found += fit[:1]
    return found


def _kept_from_starting(log: Log, offs: list[Sighting]) -> bool:
    """Whether the unit, its switch or its supply was off when the compressors were."""
    for kind, stopped in (("unit_stop", "stopped"), ("control_switch", "off"), ("supply", "off")):
        others = log.all(kind, where=fails(having(state=stopped)))
        for u in log.good(kind, where=having(state=stopped)):
            if all(after(u, e) or all(after(e, off) for off in offs) for e in others):
                return True
    return False


def _latched(log: Log, x: Sighting) -> bool:
    offs = _obeyed(log, x)
    return offs is None or not _kept_from_starting(log, offs)


def _two_newer(x: Sighting, good: list[Sighting]) -> bool:
    newer = [g for g in good if after(g, x)]
    return any(least_between(a, b) >= MINUTE for a in newer for b in newer)


@dataclass(frozen=True)
class Watch:
    """A reading looked at while running: when it stops at once, when it is to be read again, when it is good."""

    name: str
    kind: str
    good: Callable[[Sighting], bool]
    hard: Callable[[Sighting], bool]
    about: Callable[[Sighting], bool]


def _any(s: Sighting) -> bool:
    return True


def _never(s: Sighting) -> bool:
    return False


def watches(log: Log, plan: Plan) -> list[Watch]:
    """Flow, temperature, voltage and people."""
    low, high = 0.85 * plan.rated_voltage, 1.15 * plan.rated_voltage
    full_low, full_high = 0.9 * plan.rated_voltage, 1.1 * plan.rated_voltage

    def volts_good(s: Sighting) -> bool:
        inside = all(full_low <= v <= full_high for v in power.volts(s)) and power.unbalance(s) <= plan.unbalance
        return inside and power.hertz_good(plan, s) is not False

    def volts_hard(s: Sighting) -> bool:
        return not all(low <= v <= high for v in power.volts(s)) or power.unbalance(s) > 0.05

    found = [
        Watch("switch", "flow_switch", flow.made, lambda s: not flow.made(s), _any),
        Watch(
            "drop",
            "evaporator_pressure_drop",
            lambda s: flow.drop_good(plan, s),
            lambda s: flow.drop(s) < 0.8 * plan.drop_low,
            _any,
        ),
        Watch("flow", "flow", lambda s: flow.flow_good(plan, s), _never, _any),
        Watch("voltage", "line_voltage", volts_good, volts_hard, _any),
        Watch("people", "area_clear", lambda s: bool(s.data["clear"]), _in_danger, _in_danger_or_clear),
    ]
    coldest = liquid.coldest_water(log, plan)
    if coldest is not None:
        found += [_water_watch(side, coldest) for side in ("entering", "leaving")]
    return found


def _water_watch(side: str, coldest: float) -> Watch:
    def read(s: Sighting) -> float:
        return units.celsius(s.data[side])

    return Watch(
        f"{side} water",
        "water_temperature",
        lambda s: read(s) >= coldest - 1e-9,
        lambda s: read(s) < coldest - 2 * 5 / 9 - 1e-9,
        lambda s: side in s.data,
    )


def _in_danger(s: Sighting) -> bool:
    return not s.data["clear"] and s.data.get("where") in DANGEROUS_PLACES


def _in_danger_or_clear(s: Sighting) -> bool:
    return bool(s.data["clear"]) or _in_danger(s)


def _watched(log: Log, plan: Plan) -> Iterator[str]:
    for watch in watches(log, plan):
        readings = log.all(watch.kind, where=watch.about)
        good = [s for s in readings if s.stands and watch.good(s)]
        for x in readings:
            if watch.good(x) or not _while_still_on(log, x) or _two_newer(x, good):
                continue
            if watch.hard(x) or _not_read_again(log, x, readings, good, watch):
                yield f"{watch.name}: {x.id}"


def _not_read_again(log: Log, x: Sighting, readings: list[Sighting], good: list[Sighting], watch: Watch) -> bool:
    """A softer breach: a second one may lie 1 to 5 min later, or 5 min may have gone without a good one."""
    second = [
        y
        for y in readings
        if not watch.good(y) and y is not x and most_between(x, y) >= MINUTE and least_between(x, y) <= 5 * MINUTE
    ]
    if second:
        return True
    again = [g for g in good if after(g, x) and most_between(x, g) <= 5 * MINUTE]
    return not again and log.now_hi - x.lo > 5 * MINUTE


def _latching(log: Log, plan: Plan) -> list[Sighting]:
    causes = power.supply_losses(log, plan) + power.switch_losses(log) + pump_stops(log, plan, plan.pump)
    causes += log.all("phase_indicator", where=lambda s: s.data["rotation"] == "reversed")
    causes += log.all("lock_check", where=having(none_seen=False))
    return causes + log.all("lock", where=having(state="applied"))


def _lasting(log: Log, plan: Plan) -> Iterator[str]:
    """What else stops at once, or undoes what running rests on: cleared by its own newer good record, or by stopping."""
    for x in log.all("loop_opened", "drain"):
        yield from _stands_unless(log, x, [])
    for x in log.all("leak_check", where=lambda s: s.data["result"] != "dry"):
        yield from _stands_unless(log, x, log.good("leak_check", where=lambda s: s.data["result"] == "dry"))
    for x in log.all("alarm", where=having(state="active")):
        cleared = _same(log, x, having(state="cleared"))
        yield from (_softly if x.data.get("warning") else _stands_unless)(log, x, cleared)
    for x in log.all("alarm_check", where=having(none_shown=False)):
        yield from _stands_unless(log, x, log.good("alarm_check", where=having(none_shown=True)))
    if not plan.water:
        for x in liquid.diluted(log):
            yield from _softly(log, x, liquid.good_readings(log, plan))
    for x in log.all("ground", where=lambda s: not s.data["connected"]):
        yield from _stands_unless(log, x, log.good("ground", where=lambda s: bool(s.data["connected"])))
    for x in log.all("hose_connection", where=lambda s: not all(s.data[p] for p in loop.HOSE)):
        yield from _softly(log, x, _same(log, x, lambda s: all(s.data[p] for p in loop.HOSE)))
    places = loop.places(plan) | {"balancing": "not closed", "other": "not closed"}
    for x in log.all("valve_position", where=lambda s: not _in_place(places, s)):
        look_again = _softly if x.data["valve"] == "fill" else _stands_unless
        yield from look_again(log, x, _same(log, x, lambda s: _in_place(places, s)))
    for x in log.all("phase_indicator", where=having(rotation="no_indication")):
        yield from _softly(log, x, log.good("phase_indicator", where=having(rotation="correct")))


def _in_place(places: dict[str, str], s: Sighting) -> bool:
    place, position = places.get(s.data["valve"], ""), s.data["position"]
    if place == "not closed":
        return position != "closed" or (s.data["valve"] == "other" and not s.data.get("in_flow_path"))
    return not place or position == place


def _same(log: Log, x: Sighting, good: Callable[[Sighting], bool]) -> list[Sighting]:
    return log.good(x.kind, where=lambda s: s.subject == x.subject and good(s))


def _softly(log: Log, x: Sighting, good: list[Sighting]) -> Iterator[str]:
    """A softer breach: five minutes to look again."""
    if log.now_hi - x.lo > 5 * MINUTE:
        yield from _stands_unless(log, x, good)


def _stands_unless(log: Log, x: Sighting, good: list[Sighting]) -> Iterator[str]:
    if _while_still_on(log, x) and not stands(good, [x]):
        yield f"{x.kind}: {x.id}"


def _run_starts(log: Log) -> list[Sighting]:
    """Sightings of a compressor on that may be the first since all were off."""
    ons = [on for on in _ons(log) if still_on(log, on)]
    return [on for on in ons if not any(after(on, earlier) for earlier in ons if earlier.proves)]


def _started_wrongly(log: Log, plan: Plan, edits: Sequence[Sighting]) -> Iterator[str]:
    for on in _ons(log):
        if still_on(log, on) and was_cold(log, plan, on) and log.now_lo - on.hi <= 10 * MINUTE:
            yield f"cold: {on.id}"
    for on in _run_starts(log):
        since = with_edits(log, edits, until=on.hi)  # what runs is not stopped by a change on paper
        then = since.as_of(on)
        for rule in NEEDED:
            lacking = {o.rule for o in rule(then, plan)} & NEEDED_RULES
            if lacking and not _established_later(since, plan, rule, on):
                yield f"{', '.join(sorted(lacking))} not established at {on.id}"


def _established_later(log: Log, plan: Plan, rule: Rule, on: Sighting) -> bool:
    """Whether newer good records established it at some instant since, age aside afterwards."""
    twice: tuple[str, ...] = ("line_voltage",) if rule is power.voltage else ()
    if rule is flow.flow_proven:
        twice = ("flow_switch", "evaporator_pressure_drop")
    for watch in watches(log, plan):
        if watch.kind in twice and not _two_newer(on, [s for s in log.good(watch.kind) if watch.good(s)]):
            return False
    instants = {s.hi for s in log.seen if s.hi > on.lo and s.hi >= on.hi} | {log.now_lo}
    return any(not {o.rule for o in rule(log.at(t), plan)} & NEEDED_RULES for t in instants)


def _presumed(log: Log) -> Iterator[str]:
    """Cooling seen, or amps, with no compressor on record: one runs that nobody recorded."""
    cooled = log.all("water_temperature", where=lambda s: _cooling(s) is True)
    amps = log.all("compressor", where=lambda s: runs(s) and s.data["state"] != "on")
    even = log.good("water_temperature", where=lambda s: _cooling(s) is False)
    off = log.good("compressor", where=fails(runs))
    for s in cooled + amps:
        if not _explained(log, s) and not stands(off if s in amps else even + off, [s]):
            yield f"presumed: {s.id}"


def _cooling(s: Sighting) -> bool | None:
    """Leaving more than 1 K below entering; None where both were not read."""
    if "leaving" not in s.data or "entering" not in s.data:
        return None
    return units.celsius(s.data["entering"]) - units.celsius(s.data["leaving"]) > 1


def _explained(log: Log, s: Sighting) -> bool:
    """Whether a compressor was recorded on, surely then or surely later."""
    recorded = log.all("compressor", where=having(state="on"))
    amps = s.kind == "compressor"  # it says `off` itself
    return any(
        after(on, s) or (not amps and after(s, on) and all(after(on, off) or after(off, s) for off in _offs(log, on)))
        for on in recorded
    )


def running(log: Log, plan: Plan, edits: Sequence[Sighting] = ()) -> Running:
    """Every compressor that may be on, and every cause to stop that nothing has cleared."""
    on = tuple(sorted({str(s.data["id"]) for s in _ons(log) if still_on(log, s)}))
    stop = list(_presumed(log))
    if _ons(log):
        stop += [f"{x.kind}: {x.id}" for x in _latching(log, plan) if while_on(log, x) and _latched(log, x)]
        stop += list(_watched(log, plan)) + list(_lasting(log, plan)) + list(_started_wrongly(log, plan, edits))
    return Running(on, tuple(stop))
