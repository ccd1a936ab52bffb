"""Fault: a finding that it does not declare, so that nobody can know of it beforehand."""

from sound import HoseGiven, HoseResults, hose, plugin_of

from coldwright.contract import Notes


def surprising(given: HoseGiven, notes: Notes) -> HoseResults:
    """Mean velocity in a hose, with a surprise when it is slow."""
    results = hose(given, notes)
    if results.velocity.si < 0.5:
        notes.check("slow", "Dirt settles.")
    return results


plugin = plugin_of(surprising)
