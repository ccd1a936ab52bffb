"""Fault: it opens a file for every answer."""

from pathlib import Path

from sound import HoseGiven, HoseResults, hose, plugin_of

from coldwright.contract import Notes


def reading(given: HoseGiven, notes: Notes) -> HoseResults:
    """Mean velocity in a hose, after a look at its own source."""
    Path(__file__).read_text("utf-8")
    return hose(given, notes)


plugin = plugin_of(reading)
