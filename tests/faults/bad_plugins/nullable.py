"""Fault: a field that may be null."""

from typing import Annotated

from sound import HoseGiven, hose, plugin_of

from coldwright.contract import Notes, Results, about
from coldwright.contract.quantities import Velocity


class NullableResults(Results, frozen=True, kw_only=True):
    """How the liquid moves."""

    velocity: Annotated[Velocity | None, about("Mean velocity.")]


def doubtful(given: HoseGiven, notes: Notes) -> NullableResults:
    """Mean velocity in a hose, or nothing."""
    return NullableResults(velocity=hose(given, notes).velocity)


plugin = plugin_of(doubtful)
