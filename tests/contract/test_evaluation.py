"""The way of one calculation: notes, defaults, digest, asking, units, defects."""

import dataclasses
from typing import Annotated

import pytest
from msgspec import UNSET, UnsetType

from coldwright.contract import (
    Ask,
    Calculator,
    Caution,
    Defect,
    Given,
    Notes,
    Refused,
    Results,
    about,
    calculator,
    finding,
)
from coldwright.contract.answer import in_units, to_json
from coldwright.contract.evaluation import digest, evaluate
from coldwright.contract.quantities import Length, Power, Temperature

CAUTION = Caution(code="hot", hazard="thermal", statement="It is hot.")


class HeatGiven(Given, frozen=True, kw_only=True):
    """Heat."""

    power: Annotated[Power, about("Power.", low=0, high=1e6, unit="kW")]
    share: Annotated[float, about("Share.", low=0, high=1, basis="common_practice", references=("habit",))] = 0.5
    lengths: Annotated[tuple[Length, ...], about("Lengths.", max_length=3)] = ()


class HeatResults(Results, frozen=True, kw_only=True):
    """Heat."""

    cooling: Annotated[Power, about("Cooling.", us="ton")]
    electric: Annotated[Power, about("Electric.")]
    bore: Annotated[Length, about("Bore.")]
    maybe: Annotated[Temperature, about("Maybe.")] | UnsetType = UNSET


@calculator(
    "trial.heat",
    version="1.2.0",
    title="Heat",
    findings=(finding("much", ("check", "stop"), "Much."),),
    hazards=("thermal",),
)
def heat(given: HeatGiven, notes: Notes) -> HeatResults:
    """Half of it."""
    cooling = Power.of(given.power.to("kW") * given.share, "kW")
    notes.show("Q", "cooling", "P s", cooling)
    notes.caution(CAUTION)
    if cooling.value > 100:
        notes.finding("stop" if cooling.value > 1000 else "check", "much", f"{cooling} is much.")
    return HeatResults(cooling=cooling, electric=cooling, bore=Length.of(50, "mm"), maybe=Temperature.of(10, "degC"))


@calculator("trial.twice", version="1.0.0", title="Twice", uses=("trial.heat",))
def twice(given: HeatGiven, notes: Notes, ask: Ask) -> HeatResults:
    """Asks."""
    notes.caution(CAUTION)
    quiet, apart = ask.apart(heat, given)
    assert apart.cautions
    assert quiet == ask(heat, given)
    return quiet


def lookup(wanted: str) -> Calculator[HeatGiven, HeatResults]:
    return {"trial.heat": heat}[wanted]


def kilowatts(value: float) -> HeatGiven:
    return HeatGiven(power=Power.of(value, "kW"))


@pytest.mark.parametrize(("power", "outcome"), [(10, "acceptable"), (300, "conditional"), (3000, "unacceptable")])
def test_the_outcome_is_what_the_findings_come_to(power: float, outcome: str) -> None:
    assert evaluate(heat, kilowatts(power)).outcome == outcome


def test_a_default_is_listed_with_its_ground() -> None:
    (assumption,) = evaluate(heat, kilowatts(10)).assumptions
    assert (assumption.code, assumption.value, assumption.basis, assumption.references) == (
        "default:/share", 0.5, "common_practice", ("habit",),
    )  # fmt: skip
    other = HeatGiven(power=Power.of(10, "kW"), share=0.25)
    assert evaluate(heat, other).assumptions == ()


def test_the_digest_is_the_identity_of_the_question() -> None:
    assert digest(heat, kilowatts(10)) == digest(heat, kilowatts(10.0))
    assert digest(heat, kilowatts(10)) != digest(heat, kilowatts(11))
    assert digest(dataclasses.replace(heat, version="1.3.0"), kilowatts(10)) != digest(heat, kilowatts(10))


def test_us_units_change_the_spelling_and_nothing_else() -> None:
    metric = evaluate(heat, kilowatts(10))
    us = in_units(metric, "us")
    assert us.digest == metric.digest
    assert us.given == metric.given
    assert us.results.cooling.unit == "ton"
    assert us.results.electric.unit == "kW"
    assert us.results.bore.unit == "in"
    assert us.results.maybe.unit == "degF"
    assert us.results.cooling.si == pytest.approx(metric.results.cooling.si, rel=1e-11)
    assert us.results.maybe.value == pytest.approx(50)


def test_what_is_not_known_is_left_out_and_nothing_is_null() -> None:
    body = to_json(evaluate(heat, kilowatts(10)))
    assert b"null" not in body
    assert b'"field"' not in body


def test_asked_notes_stand_under_their_own_id() -> None:
    answer = evaluate(twice, kilowatts(300), lookup=lookup)
    (found,) = answer.findings
    assert (found.code, found.calculator) == ("much", "trial.heat")
    assert [w.calculator for w in answer.working] == ["trial.heat"]
    assert answer.cautions == (CAUTION,)


def test_asking_what_is_not_declared_is_a_defect() -> None:
    @calculator("trial.sly", version="1.0.0", title="Sly", uses=("trial.other",))
    def sly(given: HeatGiven, _notes: Notes, ask: Ask) -> HeatResults:
        return ask(heat, given)

    with pytest.raises(Defect, match="does not declare"):
        evaluate(sly, kilowatts(1), lookup=lookup)


def test_an_asked_calculator_refuses_what_it_would_refuse_from_outside() -> None:
    @calculator("trial.rash", version="1.0.0", title="Rash", uses=("trial.heat",))
    def rash(_given: HeatGiven, _notes: Notes, ask: Ask) -> HeatResults:
        return ask(heat, HeatGiven(power=Power.of(-5, "kW")))

    with pytest.raises(Refused):
        evaluate(rash, kilowatts(1), lookup=lookup)


@pytest.mark.parametrize("bad", [float("nan"), float("inf")])
def test_a_number_that_is_not_finite_never_leaves(bad: float) -> None:
    @calculator("trial.bad", version="1.0.0", title="Bad")
    def through_quantity(given: HeatGiven, _notes: Notes) -> HeatResults:
        return HeatResults(cooling=Power.of(bad, "kW"), electric=given.power, bore=Length.of(1, "m"))

    with pytest.raises(Defect):
        evaluate(through_quantity, kilowatts(1))

    @calculator("trial.worse", version="1.0.0", title="Worse")
    def around_quantity(given: HeatGiven, _notes: Notes) -> HeatResults:
        return HeatResults(cooling=Power(value=bad, unit="kW"), electric=given.power, bore=Length.of(1, "m"))

    with pytest.raises(Defect):
        to_json(evaluate(around_quantity, kilowatts(1)))


def test_an_undeclared_finding_is_a_defect() -> None:
    @calculator("trial.loud", version="1.0.0", title="Loud")
    def loud(_given: HeatGiven, notes: Notes) -> HeatResults:
        notes.stop("surprise", "Boo.")
        raise AssertionError

    with pytest.raises(Defect, match="surprise"):
        evaluate(loud, kilowatts(1))


def test_an_arithmetic_slip_is_a_defect_of_the_calculator() -> None:
    @calculator("trial.slip", version="1.0.0", title="Slip")
    def slip(given: HeatGiven, _notes: Notes) -> HeatResults:
        return HeatResults(cooling=given.power, electric=given.power, bore=Length.of(1 / 0, "m"))

    with pytest.raises(Defect, match="ZeroDivisionError"):
        evaluate(slip, kilowatts(1))
