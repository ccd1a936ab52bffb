"""The kit finds a figure that does not follow the units asked for, and one that the answer does not hold."""

from collections.abc import Callable
from typing import Annotated, Any

import pytest
from msgspec import UNSET

from coldwright.conformance.wording_rules import check_sentences, held_to_sentences
from coldwright.contract import (
    Calculator,
    Example,
    Given,
    Notes,
    Plugin,
    Results,
    Said,
    about,
    calculator,
    finding,
    say,
    spoken,
)
from coldwright.contract.quantities import Length
from coldwright.contract.sentences import Words


class WordsGiven(Given, frozen=True, kw_only=True):
    """A hose."""

    length: Annotated[Length, about("Its length.", low=0, high=1000, unit="m")]


class WordsResults(Results, frozen=True, kw_only=True):
    """A hose."""

    item: Annotated[str, about("What it is called.")]


class LineResults(Results, frozen=True, kw_only=True):
    """A hose, and why."""

    item: Annotated[str, about("What it is called.")]
    reason: Annotated[str, about("Why.")]
    said: Said = UNSET


def nobody_asked(id_: str) -> Calculator[Any, Any]:
    raise KeyError(id_)


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

    return [fault.rule for fault in check_sentences(words, nobody_asked, tries=0)]


@pytest.mark.parametrize(
    ("template", "faults"),
    [
        ("The hose has {length}.", ["metric_in_us"]),
        ("The hose has 30 m (98.4 ft).", []),
        ("The hose has 98.4 ft (30 m).", []),
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


@pytest.mark.parametrize(
    ("reason", "faults"),
    [
        ("Reaches 30 m.", ["metric_in_us"]),
        ("Reaches 30 m (98.4 ft).", []),
        (say("Reaches {length}.", length=Length(30, "m")), []),
        ("1 x 480 V", []),
    ],
)
def test_a_metric_figure_in_a_text_of_results_is_found(reason: Words, faults: list[str]) -> None:
    @calculator(
        "test.lines",
        version="1.0.0",
        title="Lines",
        examples=(Example("one", "One.", {"length": {"value": 30, "unit": "m"}}),),
    )
    def lines(given: WordsGiven, notes: Notes) -> LineResults:
        """Say why."""
        return LineResults(item="hose of 30 m", **spoken(reason=reason))

    assert [fault.rule for fault in check_sentences(lines, nobody_asked, tries=0)] == faults


@pytest.mark.parametrize(
    ("metres", "faults"),
    [
        (lambda length: length, []),
        (lambda length: 0.9 * length, []),
        (lambda length: length / 0.75, []),
        (lambda length: 2 * length + 7.3, ["figure"]),
        (lambda length: 1000 * length + 1.0, ["figure"]),
        (lambda length: 1000 * length, ["figure"]),
        (lambda _: 300.0, []),
        (lambda _: 301.3456, ["figure"]),
        (lambda length: length - 5.0, []),
    ],
)
def test_a_figure_that_the_answer_does_not_hold_is_found(metres: Callable[[float], float], faults: list[str]) -> None:
    @calculator(
        "test.figures",
        version="1.0.0",
        title="Figures",
        findings=(finding("long", "note", "It is long."),),
        examples=(Example("one", "One.", {"length": {"value": 31.27, "unit": "m"}}),),
    )
    def figures(given: WordsGiven, notes: Notes) -> WordsResults:
        """Say it, beside a limit of 5 m."""
        worked = Length.of(metres(given.length.to("m")), "m")
        notes.note("long", say("It has {worked}; {limit} are usual.", worked=worked, limit=Length(5.0, "m")))
        return WordsResults(item="hose")

    assert [fault.rule for fault in check_sentences(figures, nobody_asked, tries=0)] == faults


def test_what_the_working_shows_is_in_the_answer() -> None:
    @calculator(
        "test.shown",
        version="1.0.0",
        title="Shown",
        findings=(finding("long", "note", "It is long."),),
        examples=(Example("one", "One.", {"length": {"value": 31.27, "unit": "m"}}),),
    )
    def shown(given: WordsGiven, notes: Notes) -> WordsResults:
        """Show it, then say it."""
        worked = Length.of(1.37 * given.length.to("m") + 0.123, "m")
        notes.show("L", "length worked out", "1.37 L + 0.123", worked)
        notes.note("long", say("It has {worked}.", worked=worked))
        return WordsResults(item="hose")

    assert list(check_sentences(shown, nobody_asked)) == []


def test_plugins_of_before_are_not_held_to_it() -> None:
    def made(contract: str) -> Plugin:
        return Plugin(name="x", title="X", contract=contract, calculators=())

    assert not held_to_sentences(made(">=1.0,<2"))
    assert held_to_sentences(made(">=1.2,<2"))
