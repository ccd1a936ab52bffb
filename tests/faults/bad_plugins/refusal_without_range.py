"""Fault: a refusal that says neither what would be taken nor why."""

from sound import HoseGiven, HoseResults, hose, plugin_of

from coldwright.contract import Notes, refuse


def curt(given: HoseGiven, notes: Notes) -> HoseResults:
    """Mean velocity in a hose, if it pleases."""
    if given.flow.si > 0.1:
        raise refuse("/flow", "Bad flow.")
    return hose(given, notes)


plugin = plugin_of(curt)
