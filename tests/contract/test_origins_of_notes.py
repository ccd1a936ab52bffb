"""What a calculator that asks others says of theirs: named as theirs, and led to what the caller sent."""

from typing import Annotated, Any

import pytest

from coldwright.contract import (
    Ask,
    Caution,
    Given,
    Notes,
    Refused,
    Results,
    about,
    calculator,
    finding,
    refuse,
)
from coldwright.contract.answer import Answer
from coldwright.contract.evaluation import evaluate
from coldwright.contract.quantities import Length

LIVE = Caution(code="live", hazard="electrical", statement="It may be live.")
HEAVY = Caution(code="heavy", hazard="lifting", statement="It is heavy.")


class CableGiven(Given, frozen=True, kw_only=True):
    """A cable."""

    length: Annotated[Length, about("Its length.", low=0, high=1000, unit="m")]


class RouteGiven(Given, frozen=True, kw_only=True):
    """A route."""

    cable_length: Annotated[Length, about("Length of the cable.", low=0, high=1e6, unit="m")]


class YardGiven(Given, frozen=True, kw_only=True):
    """A route in a yard."""

    routes: Annotated[RouteGiven, about("Its routes.")]


class LengthResults(Results, frozen=True, kw_only=True):
    """A length."""

    length: Annotated[Length, about("The length.")]


@calculator(
    "test.cable",
    version="1.0.0",
    title="A cable",
    findings=(finding("long", "check", "It is long."), finding("odd", "note", "It is odd.")),
)
def cable(given: CableGiven, notes: Notes) -> LengthResults:
    """A length."""
    if given.length.si == 666:
        raise refuse("/length", "Not that one.", value=given.length)
    notes.check("long", "It is long.", field="/length")
    notes.note("odd", "It is odd.", field="/colour")
    notes.caution(LIVE, HEAVY)
    return LengthResults(length=given.length)


def asker(**how: Any) -> Any:
    @calculator("test.yard", version="1.0.0", title="A yard", uses=("test.cable",))
    def yard(given: YardGiven, notes: Notes, ask: Ask) -> LengthResults:
        """A length."""
        notes.caution(*how.pop("first", ()))
        return ask(cable, CableGiven(length=given.routes.cable_length), **how)

    return yard


def answered(metres: float = 5.0, **how: Any) -> Answer:
    given = YardGiven(routes=RouteGiven(cable_length=Length(metres, "m")))
    return evaluate(asker(**how), given, lookup={"test.cable": cable}.__getitem__)


ORIGIN = {"/length": "/routes/cable_length"}


def test_pointers_lead_to_what_the_caller_sent_or_nowhere() -> None:
    """Rule of the project: a pointer into an input that nobody sent helps nobody."""
    fields = {f.code: msgspec_value(f.field) for f in answered(origin=ORIGIN).findings}
    assert fields == {"long": "/routes/cable_length", "odd": None}
    assert {msgspec_value(f.field) for f in answered().findings} == {None}


def test_a_pointer_below_a_place_is_led_along() -> None:
    origin = {"/": "/nothing", "/length": "/routes/cable_length", "/colour": "/routes"}
    assert [msgspec_value(f.field) for f in answered(origin=origin).findings] == ["/routes/cable_length", "/routes"]


def test_a_refusal_is_led_there_too() -> None:
    with pytest.raises(Refused) as refused:
        answered(666, origin=ORIGIN)
    (error,) = refused.value.errors
    assert (error.pointer, error.detail) == ("#/routes/cable_length", "Not that one. (test.cable asks it.)")
    with pytest.raises(Refused) as refused:
        answered(2000, origin={"/other": "/routes"})
    (error,) = refused.value.errors
    assert error.pointer == "#"
    assert error.detail.startswith("test.cable refuses what it is asked here, at `/length`: ")


def test_cautions_are_named_as_theirs_and_can_be_narrowed() -> None:
    cautions = answered().cautions
    assert [(c.code, c.calculator) for c in cautions] == [("live", "test.cable"), ("heavy", "test.cable")]
    assert [c.code for c in answered(hazards=("lifting",)).cautions] == ["heavy"]
    assert answered(hazards=()).cautions == ()


def test_a_caution_that_both_give_is_listed_once() -> None:
    cautions = answered(first=(LIVE,)).cautions
    assert [(c.code, msgspec_value(c.calculator)) for c in cautions] == [("live", None), ("heavy", "test.cable")]
    other = Caution(code="live", hazard="electrical", statement="Another sentence.")
    assert len(answered(first=(other,)).cautions) == 3


def msgspec_value(value: Any) -> Any:
    """None for what is left out."""
    return value if isinstance(value, str) else None
