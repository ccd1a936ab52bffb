"""Fault: it throws dice, whose outcome hardly ever shows."""

import random

from sound import HoseGiven, HoseResults, hose, plugin_of

from coldwright.contract import Notes


def lucky(given: HoseGiven, notes: Notes) -> HoseResults:
    """Mean velocity in a hose, and a finding once in a blue moon."""
    if random.uniform(0, 1) > 0.999999999:
        notes.check("fast", "Bad luck.")
    return hose(given, notes)


plugin = plugin_of(lucky)
