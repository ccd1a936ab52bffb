"""Fault: it reads the clock, and says it where nobody compares."""

from datetime import UTC, datetime

from sound import HoseGiven, HoseResults, hose, plugin_of

from coldwright.contract import Notes


def timely(given: HoseGiven, notes: Notes) -> HoseResults:
    """Mean velocity in a hose, with a word on the season."""
    if datetime.now(UTC).year < 2000:
        notes.check("fast", "The clock is wrong.")
    return hose(given, notes)


plugin = plugin_of(timely)
