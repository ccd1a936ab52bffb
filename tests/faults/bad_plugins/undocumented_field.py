"""Fault: a field of the results says nothing of itself."""

from typing import Annotated

from msgspec import Meta
from sound import HoseGiven, hose, plugin_of

from coldwright.contract import Notes, Results
from coldwright.contract.quantities import Velocity


class BareResults(Results, frozen=True, kw_only=True):
    """How the liquid moves."""

    velocity: Annotated[Velocity, Meta(title="v")]


def bare(given: HoseGiven, notes: Notes) -> BareResults:
    """Mean velocity in a hose, without a word about it."""
    return BareResults(velocity=hose(given, notes).velocity)


plugin = plugin_of(bare)
