"""Fault: it takes the number and forgets the unit."""

from sound import HoseGiven, HoseResults, hose, plugin_of

from coldwright.contract import Notes
from coldwright.contract.quantities import Velocity


def careless(given: HoseGiven, notes: Notes) -> HoseResults:
    """Mean velocity in a hose, for people who only know L/s."""
    results = hose(given, notes)
    return HoseResults(area=results.area, velocity=Velocity.of(given.flow.value / 1000 / results.area.si, "m/s"))


plugin = plugin_of(careless)
