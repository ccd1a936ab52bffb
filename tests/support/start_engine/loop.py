"""The loop: hoses, valves, filling, pressure, air, leaks, strainer (R08 to R12, R16)."""

from collections.abc import Iterator

from . import units
from .flow import FirstRun, made, runs
from .log import Log, Objection, each_last_good, has, having, stands, surely_after_all
from .plan import HOUR, MINUTE, Plan
from .pump import pump_stops
from .sightings import Sighting, after, least_between, most_between

HOSE = ("connected", "lever_locked", "gasket_seen", "direction_ok", "strain_free")
FALL = 7.0  # kPa in ten minutes
STRAINER_USUAL, STRAINER_MOST = 35.0, 70.0  # kPa


def hoses(log: Log, plan: Plan) -> Iterator[Objection]:
    """R08: both ends of the machine, all five points."""
    for end in ("machine_inlet", "machine_outlet"):
        mine = log.all("hose_connection", where=having(end=end))
        good = [s for s in mine if s.stands and all(s.data[p] for p in HOSE)]
        bad = [s for s in mine if not all(s.data[p] for p in HOSE)]
        if not stands(good, bad + log.all("moved")):
            yield Objection("R08", f"hose at {end} not surely right")
    others = log.all("hose_connection", where=having(end="other"))
    if not each_last_good(others, lambda s: all(s.data[p] for p in HOSE)):
        yield Objection("R08", "another hose end may be wrong")


def places(plan: Plan) -> dict[str, str]:
    """Where each valve must stand (A2.5)."""
    line = {"supply": "open", "return": "open", "fill": "closed", "drain": "closed"}
    if plan.own_pump:
        return {"pump_suction": "open", "pump_discharge": "open", "pump_bypass": "closed"} | line
    if plan.pump_fitted:
        return {"pump_suction": "closed", "pump_discharge": "closed", "pump_bypass": "open"} | line
    return line


def valves(log: Log, plan: Plan) -> Iterator[Objection]:
    """R09: every valve in its place; another one blocks only in the flow path and closed."""
    for valve, place in places(plan).items():
        mine = log.all("valve_position", where=having(valve=valve))
        good = [s for s in mine if s.stands and s.data["position"] == place]
        bad = [s for s in mine if s.data["position"] != place]
        if not stands(good, bad + log.all("moved") + log.edits("R09")):
            yield Objection("R09", f"valve {valve} not surely {place}")
    balancing = log.all("valve_position", where=having(valve="balancing"))
    if not each_last_good(balancing, lambda s: bool(s.data["position"] != "closed")):
        yield Objection("R09", "the balancing valve may be closed")
    others = log.all("valve_position", where=having(valve="other"))
    if not each_last_good(others, lambda s: not (s.data.get("in_flow_path") and s.data["position"] == "closed")):
        yield Objection("R09", "another valve in the flow path is closed")


def pump_off(s: Sighting) -> bool:
    """Read with the pump off."""
    return bool(s.data["pump"] == "off")


def pressure(s: Sighting) -> float:
    """kPa gauge."""
    return units.kilopascals(s.data["value"])


def high_point_kept(plan: Plan, s: Sighting) -> bool:
    """Whether this pressure still reaches the highest point."""
    return pressure(s) - plan.head >= plan.high_point_low


def _static(plan: Plan, s: Sighting) -> bool:
    """Whether this reading tells the pressure that R10 asks for: pump off, or, where it cannot stop, at the suction."""
    return gauge(s) != "other" and (pump_off(s) or (not plan.pump_stops and gauge(s) == "suction"))


def gauge(s: Sighting) -> str:
    """Which gauge was read."""
    return str(s.data.get("gauge", "suction"))


def in_band(plan: Plan, s: Sighting) -> bool:
    """Pressure of the filled loop within its band, and at the highest point."""
    return _static(plan, s) and plan.fill_low <= pressure(s) <= plan.fill_high and high_point_kept(plan, s)


def filling_starts(log: Log, plan: Plan) -> list[Sighting]:
    """A filling begins at the latest first fill, opening, drain, move, or loss of pressure at the highest point."""
    starts = log.all("fill", where=lambda s: s.data["purpose"] == "first_fill")
    starts += log.all("loop_opened", "drain", "moved")
    return starts + log.all("loop_pressure", where=lambda s: pump_off(s) and not high_point_kept(plan, s))


def changes_of_content(log: Log) -> list[Sighting]:
    """Whatever lets something in or out."""
    return log.all("fill", "antifreeze_charge", "loop_opened", "drain", "moved")


def left_open(log: Log) -> list[Sighting]:
    """A fill or drain valve that stands open lets liquid in or out, whoever records it or not."""
    return [s for v in ("fill", "drain") for s in log.all("valve_position", where=having(valve=v)) if not _shut(s)]


def _shut(s: Sighting) -> bool:
    return bool(s.data["position"] == "closed")


def let_in_or_out(log: Log) -> list[Sighting]:
    """That, and what leaves by a vent or a blow-down."""
    return changes_of_content(log) + log.all("purge", "strainer")


def pressurised(log: Log, plan: Plan) -> Iterator[Objection]:
    """R10."""
    bad = log.all("loop_pressure", where=lambda s: _static(plan, s) and not in_band(plan, s))
    wrong_running = log.all("loop_pressure", where=lambda s: not pump_off(s) and not running_pressure_good(plan, s))
    over = log.all("loop_pressure", where=lambda s: pressure(s) > plan.rated_pressure)
    good = log.good("loop_pressure", where=lambda s: in_band(plan, s))
    undone = changes_of_content(log) + left_open(log) + log.edits("R10")
    if not log.not_older(surely_after_all(good, bad + over + undone), 12 * HOUR):
        yield Objection("R10", "no pressure in the band surely since the last change of content")
    for s in wrong_running:
        again = [
            g
            for g in log.good("loop_pressure")
            if in_band(plan, g) or (not pump_off(g) and gauge(g) == gauge(s) and running_pressure_good(plan, g))
        ]
        if not stands(again, [s, *log.edits("R10")]):
            yield Objection("R10", f"pressure with the pump on out of its limits at the {gauge(s)} gauge")


def running_pressure_good(plan: Plan, s: Sighting) -> bool:
    """With the pump on: enough at the suction, not too much anywhere."""
    enough = gauge(s) != "suction" or pressure(s) >= plan.suction_low
    return enough and pressure(s) <= plan.rated_pressure


def not_falling(log: Log, plan: Plan) -> Iterator[Objection]:
    """No pair of pump-off readings on one gauge that may show the pressure falling, or a later steady pair."""
    readings = log.all("loop_pressure", where=pump_off)
    for first in readings:
        for last in readings:
            falling = first is not last and gauge(first) == gauge(last) and _may_fall(log, plan, first, last)
            if falling and not _steady_since(log, plan, first, last):
                yield Objection("R10", "the pressure may be falling")
                return


def _may_fall(log: Log, plan: Plan, first: Sighting, last: Sighting) -> bool:
    lost = pressure(first) - pressure(last)
    longest = most_between(first, last)
    if lost <= 0 or longest < 2 * MINUTE or after(first, last):
        return False
    shortest = max(least_between(first, last), 2 * MINUTE)
    if shortest > 30 * MINUTE or lost * 10 * MINUTE <= FALL * shortest:
        return False
    if _surely_between(let_in_or_out(log), first, last) or _surely_too_soon(log, plan, first, last):
        return False
    return not _cooled_between(log, first, last)


def _surely_between(events: list[Sighting], first: Sighting, last: Sighting) -> bool:
    return any(after(e, first) and after(last, e) for e in events)


def _surely_too_soon(log: Log, plan: Plan, *pair: Sighting) -> bool:
    """Within 2 min of the pump's stop in every order: not yet at rest."""
    stops = [s for s in pump_stops(log, plan, plan.pump) if s.kind == "pump_state"]
    return any(most_between(stop, p) < 2 * MINUTE and not after(stop, p) for stop in stops for p in pair)


def _cooled_between(log: Log, first: Sighting, last: Sighting) -> bool:
    """The water surely cooled by more than 1 K meanwhile, on one side of the machine."""
    for side in ("entering", "leaving"):
        read = [s for s in log.good("water_temperature", where=has(side)) if not after(first, s) and not after(s, last)]
        for early in read:
            for late in read:
                fell = units.celsius(early.data[side]) - units.celsius(late.data[side])
                if after(late, early) and fell > 1:
                    return True
    return False


def _steady_since(log: Log, plan: Plan, first: Sighting, last: Sighting) -> bool:
    readings = log.good("loop_pressure", where=lambda s: pump_off(s) and gauge(s) == gauge(first))
    for c in readings:
        for d in readings:
            long_enough = least_between(c, d) >= 10 * MINUTE
            if not long_enough or not after(c, first) or not (d is last or after(d, last)):
                continue
            steady = pressure(c) - pressure(d) <= FALL * most_between(c, d) / (10 * MINUTE)
            between = any(not after(c, e) and not after(e, d) for e in let_in_or_out(log))
            if steady and not between:
                return True
    return False


def this_filling(log: Log, plan: Plan, found: list[Sighting]) -> list[Sighting]:
    """Those surely of the present filling; none where nothing was ever filled."""
    starts = filling_starts(log, plan)
    return surely_after_all(found, starts) if starts else []


def first_runs(log: Log, plan: Plan) -> list[FirstRun]:
    """Runs surely of the present filling."""
    starts = filling_starts(log, plan)
    return [r for r in runs(log, plan) if starts and all(after(p, x) for p in r.proof for x in starts)]


def steady(s: Sighting) -> bool:
    """Water without air."""
    return bool(s.data["result"] == "steady_water")


def air_out(log: Log, plan: Plan) -> Iterator[Objection]:
    """R11: steady at every point once before and once after a first run, pump off; no falling pressure."""
    yield from not_falling(log, plan)
    for point in plan.purge_points:
        mine = log.all("purge", where=having(point=point))
        proof = [s for s in mine if s.proves and steady(s) and (pump_off(s) or not plan.pump_stops)]
        bad = [s for s in mine if not steady(s) or (not pump_off(s) and plan.pump_stops)]
        last = [s for s in surely_after_all(this_filling(log, plan, proof), bad) if s.stands]
        kept = surely_after_all(this_filling(log, plan, proof), log.edits("R11"))
        last = surely_after_all(last, log.edits("R11"))
        if plan.pump_stops:
            done = any(
                after(run.on, before) and run.surely_over_before(late)
                for run in first_runs(log, plan)
                for before in kept
                for late in last
            )
        else:
            done = any(_steady_with_pump(log, early, late) for early in kept for late in last)
        if not done:
            yield Objection("R11", f"air not surely out at {point}")


def _steady_with_pump(log: Log, early: Sighting, late: Sighting) -> bool:
    """Where the pump cannot stop: steady twice 10 min apart, switch unbroken and drop within 10 % meanwhile."""
    if least_between(early, late) < 10 * MINUTE:
        return False

    def meanwhile(s: Sighting) -> bool:
        return not after(early, s) and not after(s, late)

    if log.all("flow_switch", where=lambda s: meanwhile(s) and not made(s)):
        return False
    drops = [pressure(s) for s in log.all("evaporator_pressure_drop", where=meanwhile)]
    return not drops or max(drops) - min(drops) <= 0.1 * max(drops)


def leaks(log: Log, plan: Plan) -> Iterator[Objection]:
    """R12: dry, after a pressure in the band on this filling, and after the last opening."""
    pressed = this_filling(log, plan, log.then("loop_pressure", where=lambda s: in_band(plan, s)))
    wet = log.all("leak_check", where=lambda s: s.data["result"] != "dry")
    dry = log.good("leak_check", where=lambda s: s.data["result"] == "dry")
    pressed = surely_after_all(pressed, log.edits("R10"))
    sound = surely_after_all(dry, wet + filling_starts(log, plan) + log.edits("R12"))
    if not any(after(s, p) for s in sound for p in pressed):
        yield Objection("R12", "not surely dry under pressure on this filling")


def strainer(log: Log, plan: Plan) -> Iterator[Objection]:
    """R16: blown down after a first run on this filling; its own drop within its limit."""
    bad = log.all("strainer", where=lambda s: not s.data["blown_down"])
    blown = surely_after_all(this_filling(log, plan, log.good("strainer", where=lambda s: s.data["blown_down"])), bad)
    blown = surely_after_all(blown, log.edits("R16"))
    if not any(run.surely_over_before(s) for s in blown for run in first_runs(log, plan)):
        yield Objection("R16", "strainer not surely blown down after a first run on this filling")
    flowing = [s for s in log.good("strainer_pressure_drop") if _with_flow(log, plan, s)]
    clean = [pressure(s) for s in flowing if any(after(s, b) for b in blown)]
    limit = min(STRAINER_MOST, max(STRAINER_USUAL, 2 * min(clean))) if clean else STRAINER_USUAL
    clogged = log.all("strainer_pressure_drop", where=lambda s: pressure(s) > limit)
    clear = [s for s in flowing if pressure(s) <= limit]
    if clogged and not stands(clear, clogged):
        yield Objection("R16", "drop of the strainer above its limit")


def _with_flow(log: Log, plan: Plan, reading: Sighting) -> bool:
    """Whether flow was surely proved when this was read."""
    stops = pump_stops(log, plan, plan.pump)
    stops += log.all("flow_switch", where=lambda s: not made(s))
    ons = log.good("pump_state", where=lambda s: s.data["pump"] == plan.pump and s.data["state"] == "on")
    proofs = surely_after_all(log.good("flow_switch", where=made), log.edits("R15"))
    drops = log.good("evaporator_pressure_drop", where=lambda s: plan.drop_low <= pressure(s) <= plan.drop_high)
    drops = surely_after_all(drops, log.edits("R15"))
    for on in ons:
        if not after(reading, on) or not all(after(on, x) or after(x, reading) for x in stops):
            continue
        if any(after(p, on) and not after(p, reading) for p in proofs) and any(
            after(d, on) and not after(d, reading) for d in drops
        ):
            return True
    return False
