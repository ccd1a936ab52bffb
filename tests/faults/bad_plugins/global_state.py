"""Fault: it remembers every question in a global list, though its answers do not show it."""

from sound import HoseGiven, HoseResults, hose, plugin_of

from coldwright.contract import Notes

asked: list[float] = []


def remembering(given: HoseGiven, notes: Notes) -> HoseResults:
    """Mean velocity in a hose, with a list that grows."""
    asked.append(given.flow.si)
    return hose(given, notes)


plugin = plugin_of(remembering)
