"""Fault: a refusal that names no field of the input."""

from sound import HoseGiven, HoseResults, hose, plugin_of

from coldwright.contract import Notes, refuse


def vague(given: HoseGiven, notes: Notes) -> HoseResults:
    """Mean velocity in a hose, if it pleases."""
    if given.flow.si > 0.1:
        raise refuse("/hose/flow", "The flow is above what this hose can be asked to carry.", value=given.flow)
    return hose(given, notes)


plugin = plugin_of(vague)
