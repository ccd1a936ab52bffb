"""The pump in use: when it surely began to run, and whatever may have stopped it."""

from .log import Log, surely_after_all
from .plan import Plan
from .power import supply_losses, switch_losses
from .sightings import Sighting, after


def pump_stops(log: Log, plan: Plan, pump: str) -> list[Sighting]:
    """Off or tripped; seen standing by whoever read or vented with the pump off; for the machine's own, any loss of its feed."""
    stops = log.all("pump_state", where=lambda s: s.data["pump"] == pump and s.data["state"] != "on")
    if pump == plan.pump:
        stops += log.edits("R14")
        stops += log.all("loop_pressure", "purge", where=lambda s: s.data["pump"] == "off")
    if pump == "machine":
        stops += supply_losses(log, plan) + switch_losses(log)
    return stops


def pump_ons(log: Log, pump: str) -> list[Sighting]:
    """Seen on, by a sighting that proves."""
    return log.good("pump_state", where=lambda s: s.data["pump"] == pump and s.data["state"] == "on")


def present_run(log: Log, plan: Plan) -> list[Sighting]:
    """Sightings of the pump in use on, surely after all that may have stopped it."""
    return surely_after_all(pump_ons(log, plan.pump), pump_stops(log, plan, plan.pump))


def surely_since_start(reading: Sighting, run: list[Sighting]) -> bool:
    """Whether the reading came surely after the run had begun."""
    return any(after(reading, on) for on in run)


def surely_on_at(log: Log, plan: Plan, moment: Sighting) -> bool:
    """Whether the pump in use ran at that moment in every order of events."""
    stops = pump_stops(log, plan, plan.pump)
    return any(
        after(moment, on) and all(after(on, x) or after(x, moment) for x in stops if x is not moment)
        for on in pump_ons(log, plan.pump)
    )
