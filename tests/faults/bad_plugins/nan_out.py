"""Fault: not a number comes out, where there is no flow."""

import math

from sound import HoseGiven, HoseResults, hose, plugin_of

from coldwright.contract import Notes
from coldwright.contract.quantities import Velocity


def undefined(given: HoseGiven, notes: Notes) -> HoseResults:
    """Mean velocity in a hose, undefined when it stands still."""
    results = hose(given, notes)
    speed = results.velocity.value if given.flow.value else math.nan
    return HoseResults(area=results.area, velocity=Velocity(speed, "m/s"))


plugin = plugin_of(undefined)
