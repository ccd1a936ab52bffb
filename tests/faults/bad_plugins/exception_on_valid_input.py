"""Fault: an exception that is no refusal, at the end of the range."""

from sound import HoseGiven, HoseResults, hose, plugin_of

from coldwright.contract import Notes


class SurpriseError(Exception):
    """Nothing that the contract knows."""


def fragile(given: HoseGiven, notes: Notes) -> HoseResults:
    """Mean velocity in a hose, as long as there is any."""
    if given.flow.si == 0:
        raise SurpriseError("nobody thought of still water")
    return hose(given, notes)


plugin = plugin_of(fragile)
