"""The digest of an answer covers what was asked for it."""

import dataclasses
from typing import Annotated, Any

from coldwright.contract import Ask, Given, Notes, Results, about, calculator
from coldwright.contract.evaluation import Asking, digest, evaluate
from coldwright.contract.quantities import Power
from coldwright.contract.reading import read


class LoadGiven(Given, frozen=True, kw_only=True):
    """A load."""

    load: Annotated[Power, about("The load.", low=0, high=1000, unit="kW")]


class LoadResults(Results, frozen=True, kw_only=True):
    """A load."""

    load: Annotated[Power, about("The load.")]


@calculator("test.bottom", version="1.0.0", title="Asked by the one in the middle")
def bottom(given: LoadGiven, notes: Notes) -> LoadResults:
    """The load."""
    return LoadResults(load=given.load)


@calculator("test.middle", version="1.0.0", title="Asks the bottom", uses=("test.bottom",))
def middle(given: LoadGiven, notes: Notes, ask: Ask) -> LoadResults:
    """The load."""
    return ask(bottom, given)


@calculator("test.top", version="1.0.0", title="Asks the middle", uses=("test.middle",))
def top(given: LoadGiven, notes: Notes, ask: Ask) -> LoadResults:
    """The load."""
    return ask(middle, given)


def answered(**changed: Any) -> str:
    known = {"test.bottom": bottom, "test.middle": middle} | changed
    return evaluate(top, LoadGiven(load=Power(5, "kW")), lookup=known.__getitem__).digest


def test_a_new_version_two_questions_down_is_another_digest() -> None:
    """Rule of the project: an answer is identified by all that it rests on."""
    assert answered() == answered()
    assert answered(**{"test.bottom": dataclasses.replace(bottom, version="1.0.1")}) != answered()
    assert answered(**{"test.middle": dataclasses.replace(middle, version="1.0.1")}) != answered()


def test_who_asks_nobody_keeps_the_digest_of_the_question() -> None:
    given = LoadGiven(load=Power(5, "kW"))
    assert evaluate(bottom, given).digest == digest(bottom, given)
    assert answered() != digest(top, given)


def test_the_distribution_and_its_version_are_covered_of_those_asked_too() -> None:
    """Rule of the project: a new release that says the same version of a calculator is not taken for the old one."""
    known, given = {"test.bottom": bottom, "test.middle": middle}, LoadGiven(load=Power(5, "kW"))

    def released(own: str, below: str) -> str:
        return evaluate(
            top, given, plugin="p", plugin_version=own, lookup=known.__getitem__, origin=lambda name: f"{name} {below}"
        ).digest

    assert released("1.0", "1.0") == released("1.0", "1.0")
    assert len({released("1.0", "1.0"), released("1.1", "1.0"), released("1.0", "1.1")}) == 3


def test_a_whole_number_in_the_code_makes_no_other_question_than_the_one_that_is_sent() -> None:
    def asked(number: float) -> set[str]:
        asking = Asking(middle, Notes({}), {"test.bottom": bottom}.__getitem__)
        asking(bottom, LoadGiven(load=Power(number, "kW")))
        return asking.asked

    sent = read(LoadGiven, b'{"load": {"value": 5, "unit": "kW"}}')
    assert asked(5) == asked(5.0) == {digest(bottom, sent)}
