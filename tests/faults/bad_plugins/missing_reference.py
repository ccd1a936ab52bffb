"""Fault: it cites nothing."""

from sound import HoseGiven, HoseResults, hose, plugin_of

from coldwright.contract import Notes


def uncited(given: HoseGiven, notes: Notes) -> HoseResults:
    """Mean velocity in a hose, on nobody's word."""
    results = hose(given, notes)
    notes.cautions.clear()
    return results


plugin = plugin_of(uncited, references=(), hazards=())
