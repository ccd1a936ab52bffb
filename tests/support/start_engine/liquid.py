"""The liquid: antifreeze, set point, temperatures (R13, R17, R31 here `water`)."""

from collections.abc import Iterator

from . import units
from .log import Log, Objection, has, surely_after_all
from .plan import MINUTE, Plan
from .pump import present_run, pump_stops, surely_on_at, surely_since_start
from .sightings import Sighting, after, least_between

FREEZING = 0.0


def freeze_point(s: Sighting) -> float:
    """degC."""
    return units.celsius(s.data["freeze_point"])


def diluted(log: Log) -> list[Sighting]:
    """Whatever changes the mixture."""
    fills = log.all("fill", where=lambda s: s.data["medium"] in ("water", "antifreeze"))
    return fills + log.all("antifreeze_charge", "drain", "moved")


def good_readings(log: Log, plan: Plan) -> list[Sighting]:
    """Readings of the mixture as it goes round: pump surely on, nothing let in since, mixed for three turns."""
    against = diluted(log)
    found = surely_after_all([s for s in log.good("antifreeze_reading") if surely_on_at(log, plan, s)], against)
    if plan.turnover is None:
        return found
    turns = 3 * plan.turnover
    return [s for s in found if all(least_between(x, s) >= turns for x in against) and _run_for(log, plan, s, turns)]


def _run_for(log: Log, plan: Plan, s: Sighting, turns: int) -> bool:
    stops = pump_stops(log, plan, plan.pump)
    ons = log.good("pump_state", where=lambda o: o.data["pump"] == plan.pump and o.data["state"] == "on")
    return any(least_between(on, s) >= turns and all(after(on, x) or after(x, s) for x in stops) for on in ons)


def may_be_last(found: list[Sighting]) -> list[Sighting]:
    """Those that nothing else surely follows."""
    return [s for s in found if not any(o.proves and after(o, s) for o in found if o is not s)]


def antifreeze(log: Log, plan: Plan) -> Iterator[Objection]:
    """R13, mixtures only."""
    if plan.water:
        return
    usable = surely_after_all(good_readings(log, plan), log.edits("R13"))
    if not usable:
        yield Objection("R13", "mixture not read in circulation since it was last changed")
        return
    limit = plan.required_freeze_point
    if limit is not None:
        weak = [s for s in log.all("antifreeze_reading") if freeze_point(s) > limit]
        if not surely_after_all([s for s in usable if freeze_point(s) <= limit], weak):
            yield Objection("R13", "mixture too weak for the frost to come")


def set_point(log: Log, plan: Plan) -> Iterator[Objection]:
    """R17: of all set points and mixtures that may be the last, none too low for the other."""
    points = log.all("set_point")
    last = may_be_last(points)
    if not surely_after_all([s for s in last if s.stands], log.edits("R17")):
        yield Objection("R17", "no set point")
        return
    lowest = min(units.celsius(s.data["value"]) for s in last)
    if plan.water:
        if lowest < plan.set_point_low:
            yield Objection("R17", "set point may be too low for plain water")
        return
    mixtures = surely_after_all(good_readings(log, plan), log.edits("R17"))
    weakest = [freeze_point(s) for s in may_be_last(log.all("antifreeze_reading"))]
    if not mixtures or max(weakest) > lowest - plan.freeze_margin + 1e-9:
        yield Objection("R17", "set point not surely far enough above the freezing point")


def coldest_water(log: Log, plan: Plan) -> float | None:
    """Least temperature of either side at which a compressor may start, degC; None where it is not known."""
    if plan.water:
        usual = min(units.fahrenheit(38), plan.set_point_low - 2 * 5 / 9)
        return max(units.fahrenheit(35), usual)
    read = [freeze_point(s) for s in may_be_last(log.all("antifreeze_reading"))]
    return max(read) + 5 * 5 / 9 if read else None


def water_temperatures(log: Log, plan: Plan) -> Iterator[Objection]:
    """Both sides read since the pump started and warm enough; asked for where plain water may meet frost."""
    limit = coldest_water(log, plan)
    asked = plan.water and (plan.coldest_ambient is None or plan.coldest_ambient < 4)
    run = present_run(log, plan)
    for side in ("entering", "leaving"):
        read = log.all("water_temperature", where=has(side))
        cold = [s for s in read if limit is not None and units.celsius(s.data[side]) < limit - 1e-9]
        warm = [s for s in read if s.proves and s not in cold]
        undone = cold + log.edits("water")
        if cold and not surely_after_all(warm, undone):
            yield Objection("water", f"{side} water may be too cold")
        fresh = [s for s in surely_after_all(warm, undone) if surely_since_start(s, run)]
        if asked and not log.not_older(fresh, 15 * MINUTE):
            yield Objection("water", f"{side} water not surely read since the pump started")
