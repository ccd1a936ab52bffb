"""Fault: its notes cite a source that it does not list."""

from sound import HoseGiven, HoseResults, hose, plugin_of

from coldwright.contract import Notes


def hearsay(given: HoseGiven, notes: Notes) -> HoseResults:
    """Mean velocity in a hose, with a source that cannot be looked up."""
    notes.assume("full", "The hose is full.", basis="handbook", references=("some_handbook",))
    return hose(given, notes)


plugin = plugin_of(hearsay)
