"""The kit finds a sentence that says metric figures where US units are asked for."""

from typing import Annotated

import pytest

from coldwright.conformance.wording_rules import check_sentences, held_to_sentences
from coldwright.contract import Example, Given, Notes, Plugin, Results, about, calculator, finding, say
from coldwright.contract.quantities import Length


class WordsGiven(Given, frozen=True, kw_only=True):
    """A hose."""

    length: Annotated[Length, about("Its length.", low=0, high=1000, unit="m")]


class WordsResults(Results, frozen=True, kw_only=True):
    """A hose."""

    item: Annotated[str, about("What it is called.")]


def told(template: str, *, as_value: bool) -> list[str]:
    @calculator(
        "test.words",
        version="1.0.0",
        title="Words",
        findings=(finding("long", "note", "It is long."),),
        examples=(Example("one", "One.", {"length": {"value": 30, "unit": "m"}}),),
    )
    def words(given: WordsGiven, notes: Notes) -> WordsResults:
        """Say it."""
        sentence = say(template, length=given.length)
        notes.note("long", sentence if as_value else sentence.text())
        return WordsResults(item="hose of 30 m")

    return [fault.rule for fault in check_sentences(words, {}.__getitem__)]


@pytest.mark.parametrize(
    ("template", "faults"),
    [
        ("The hose has {length}.", ["metric_in_us"]),
        ("The hose has 30 m (98.4 ft).", []),
        ("Missing: 1 x hose of 30 m.", []),
        ("It takes 30 min at 480 V.", []),
        ("Air at 12.5 degC.", ["metric_in_us"]),
        ("It holds 3 kg/m3 of it", ["metric_in_us"]),
    ],
)
def test_a_metric_figure_alone_is_found(template: str, faults: list[str]) -> None:
    assert told(template, as_value=False) == faults


def test_a_quantity_that_is_given_as_a_value_follows_the_units() -> None:
    assert told("The hose has {length}.", as_value=True) == []


def test_plugins_of_before_are_not_held_to_it() -> None:
    def made(contract: str) -> Plugin:
        return Plugin(name="x", title="X", contract=contract, calculators=())

    assert not held_to_sentences(made(">=1.0,<2"))
    assert held_to_sentences(made(">=1.2,<2"))
