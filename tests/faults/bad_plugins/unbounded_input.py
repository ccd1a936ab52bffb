"""Fault: an input without a range."""

from typing import Annotated

from sound import HoseGiven, HoseResults, hose, plugin_of

from coldwright.contract import Given, Notes, about
from coldwright.contract.quantities import Length, VolumeFlow


class EndlessGiven(Given, frozen=True, kw_only=True):
    """A hose and the flow in it."""

    flow: Annotated[VolumeFlow, about("Flow in the hose.", low=0, high=500, unit="L/s")]
    bore: Annotated[Length, about("Bore of the hose.")]


def endless(given: EndlessGiven, notes: Notes) -> HoseResults:
    """Mean velocity in a hose of any size."""
    return hose(HoseGiven(flow=given.flow, bore=given.bore), notes)


plugin = plugin_of(endless)
