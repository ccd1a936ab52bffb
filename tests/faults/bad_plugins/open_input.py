"""Fault: an input that takes fields it does not know, so that a misspelt one is lost."""

from typing import Annotated

from msgspec import Struct
from sound import HoseGiven, HoseResults, hose, plugin_of

from coldwright.contract import Notes, about
from coldwright.contract.quantities import Length, VolumeFlow


class OpenGiven(Struct, frozen=True, kw_only=True):
    """A hose and the flow in it."""

    flow: Annotated[VolumeFlow, about("Flow in the hose.", low=0, high=500, unit="L/s")]
    bore: Annotated[Length, about("Bore of the hose.", low=10, high=500, unit="mm")]


def open_handed(given: OpenGiven, notes: Notes) -> HoseResults:
    """Mean velocity in a hose, whatever else was sent."""
    return hose(HoseGiven(flow=given.flow, bore=given.bore), notes)


plugin = plugin_of(open_handed)
