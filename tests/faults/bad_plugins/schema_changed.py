"""Fault: a field more than at the last release (`schema_changed.json`), and the same version."""

from typing import Annotated

from sound import HoseGiven, HoseResults, hose, plugin_of

from coldwright.contract import Given, Notes, about
from coldwright.contract.quantities import Length, VolumeFlow


class NewGiven(Given, frozen=True, kw_only=True):
    """A hose and the flow in it."""

    flow: Annotated[VolumeFlow, about("Flow in the hose.", low=0, high=500, unit="L/s")]
    bore: Annotated[Length, about("Bore of the hose.", low=10, high=500, unit="mm")]
    spare: Annotated[bool, about("Whether a spare hose lies beside it.")] = False


def extended(given: NewGiven, notes: Notes) -> HoseResults:
    """Mean velocity in a hose, spare or not."""
    return hose(HoseGiven(flow=given.flow, bore=given.bore), notes)


plugin = plugin_of(extended)
