"""Fault: the answer depends on how often it was asked before."""

import itertools

from sound import HoseGiven, HoseResults, hose, plugin_of

from coldwright.contract import Notes
from coldwright.contract.quantities import Area

_drift = itertools.count()


def drifting(given: HoseGiven, notes: Notes) -> HoseResults:
    """Mean velocity in a hose, with an area that grows with every question."""
    results = hose(given, notes)
    return HoseResults(area=Area.of(results.area.value + next(_drift), "m2"), velocity=results.velocity)


plugin = plugin_of(drifting)
