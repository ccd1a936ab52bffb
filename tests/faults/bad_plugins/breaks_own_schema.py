"""Fault: a word among the results that its own schema does not know."""

from typing import Annotated, Literal

from sound import HoseGiven, hose, plugin_of

from coldwright.contract import Notes, Results, about


class WordResults(Results, frozen=True, kw_only=True):
    """How the liquid moves."""

    pace: Annotated[Literal["slow", "fast"], about("Pace of the liquid.")]


def wordy(given: HoseGiven, notes: Notes) -> WordResults:
    """Pace of the liquid in a hose, in a word."""
    return WordResults(pace="brisk" if hose(given, notes).velocity.si > 1 else "slow")


plugin = plugin_of(wordy)
