"""Fault: a velocity as a bare number."""

from typing import Annotated

from sound import HoseGiven, hose, plugin_of

from coldwright.contract import Notes, Results, about


class BareNumberResults(Results, frozen=True, kw_only=True):
    """How the liquid moves."""

    velocity: Annotated[float, about("Mean velocity.")]


def numbers(given: HoseGiven, notes: Notes) -> BareNumberResults:
    """Mean velocity in a hose, in whatever unit."""
    return BareNumberResults(velocity=hose(given, notes).velocity.si)


plugin = plugin_of(numbers)
