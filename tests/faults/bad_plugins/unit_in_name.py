"""Fault: the unit stands in the name of an input."""

from typing import Annotated

from sound import Example, HoseGiven, HoseResults, hose, plugin_of

from coldwright.contract import Given, Notes, about
from coldwright.contract.quantities import Length, VolumeFlow


class NamedUnitGiven(Given, frozen=True, kw_only=True):
    """A hose and the flow in it."""

    flow_gpm: Annotated[float, about("Flow in the hose.", low=0, high=8000)]


def gallons(given: NamedUnitGiven, notes: Notes) -> HoseResults:
    """Mean velocity in a hose of 100 mm."""
    return hose(HoseGiven(flow=VolumeFlow(given.flow_gpm, "gpm"), bore=Length(100.0, "mm")), notes)


plugin = plugin_of(
    gallons, examples=(Example("slow", "A slow one.", {"flow_gpm": 10}), Example("more", "More.", {"flow_gpm": 90}))
)
