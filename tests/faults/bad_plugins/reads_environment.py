"""Fault: a setting of the machine decides."""

import os

from sound import HoseGiven, HoseResults, hose, plugin_of

from coldwright.contract import Notes


def local(given: HoseGiven, notes: Notes) -> HoseResults:
    """Mean velocity in a hose, with a limit from the machine's settings."""
    if os.environ.get("TRIAL_LIMIT"):
        notes.check("fast", "A local limit stands in the settings.")
    return hose(given, notes)


plugin = plugin_of(local)
