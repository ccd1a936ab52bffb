"""Sentences with quantities in them: one template, written in the units of the answer."""

from typing import Annotated, Any

import msgspec
import pytest
from msgspec import UNSET

from coldwright.contract import Defect, Given, Notes, Results, Said, about, calculator, finding, joined, say, spoken
from coldwright.contract.answer import in_units, to_json
from coldwright.contract.evaluation import evaluate
from coldwright.contract.quantities import (
    Duration,
    Length,
    Power,
    Speed,
    Temperature,
    Velocity,
    Voltage,
    Volume,
    VolumeFlow,
)
from coldwright.contract.sentences import in_both
from coldwright.engine.kept_units import kept_in_units


class LengthGiven(Given, frozen=True, kw_only=True):
    """A hose."""

    length: Annotated[Length, about("Length of the hose.", low=0, high=1000, unit="m")] = Length(30.48, "m")


class WindGiven(Given, frozen=True, kw_only=True):
    """Wind over water."""

    wind: Annotated[Speed, about("Of the wind.", low=0, high=40, unit="m/s")] = Speed(3, "m/s")
    water: Annotated[Velocity, about("Of the water.", low=0, high=40, unit="m/s")] = Velocity(3, "m/s")


class WindResults(Results, frozen=True, kw_only=True):
    """How it blows."""

    gust: Annotated[Speed, about("Gust.")]


class Line(Results, frozen=True, kw_only=True):
    """A line of a list."""

    item: Annotated[str, about("What.")]
    reason: Annotated[str, about("Why.")]
    near: Annotated[tuple[str, ...], about("What is near.")] = ()
    said: Said = UNSET


class LengthResults(Results, frozen=True, kw_only=True):
    """What is said of it."""

    twice: Annotated[Length, about("Both ways.")]
    lines: Annotated[tuple[Line, ...], about("What to bring.")]


@calculator(
    "test.sentence",
    version="1.0.0",
    title="A sentence",
    findings=(finding("long", "check", "The hose is long."), finding("asked", "note", "Somebody asked.")),
)
def sentence(given: LengthGiven, notes: Notes) -> LengthResults:
    """Say how long a hose is."""
    notes.check(
        "long",
        say("The hose of {length} is long.", length=given.length),
        why=say("It weighs with {volume:.1f} in it.", volume=Volume(100, "L")),
        do="Shorten it.",
        cleared_by="the crew",
    )
    notes.note("asked", "An old text.", resolve="An old way out.")
    notes.assume("bore", say("The bore is {bore}.", bore=Length(76.2, "mm")), value=Length(76.2, "mm"), basis="default")
    near = ("Nothing.", say("{length} of it.", length=given.length))
    lines = (
        Line(item="hose", **spoken(reason=say("Reaches {length}.", length=given.length), near=near)),
        Line(item="valve", **spoken(reason="Shuts it.")),
    )
    return LengthResults(twice=Length.of(2 * given.length.si, "m"), lines=lines)


def told(units: str) -> Any:
    answer = evaluate(sentence, LengthGiven())
    return msgspec.json.decode(to_json(in_units(answer, units)))  # type: ignore[arg-type]


def test_quantities_in_sentences_follow_the_units_of_the_answer() -> None:
    """Derived: 30.48 m = 100 ft, 100 L = 26.417 US gal, 76.2 mm = 3 in, by the definitions of foot and gallon."""
    metric, us = told("metric"), told("us")
    assert metric["findings"][0]["statement"] == "The hose of 30.48 m is long."
    assert us["findings"][0]["statement"] == "The hose of 100 ft is long."
    assert metric["findings"][0]["why"] == "It weighs with 100.0 L in it."
    assert us["findings"][0]["why"] == "It weighs with 26.4 gal in it."
    assert us["results"]["twice"] == {"value": 200, "unit": "ft"}
    assumed = {a["code"]: a["statement"] for a in us["assumptions"]}
    assert assumed["bore"] == "The bore is 3 in."
    assert assumed["default:/length"] == "`length` is 100 ft, the default. Length of the hose."


def test_texts_of_results_follow_the_units_too_and_keep_their_template() -> None:
    """Derived: 30.48 m = 100 ft."""
    metric, us = (told(units)["results"]["lines"] for units in ("metric", "us"))
    assert (metric[0]["reason"], us[0]["reason"]) == ("Reaches 30.48 m.", "Reaches 100 ft.")
    assert (metric[0]["near"], us[0]["near"]) == (["Nothing.", "30.48 m of it."], ["Nothing.", "100 ft of it."])
    assert metric[0]["said"] == us[0]["said"]
    assert metric[0]["said"].keys() == {"reason", "near/1"}
    assert metric[1] == us[1] == {"item": "valve", "reason": "Shuts it.", "near": []}


def test_what_to_do_and_who_may_clear_it_stand_apart_and_together() -> None:
    new, old = told("metric")["findings"]
    assert (new["do"], new["cleared_by"]) == ("Shorten it.", "the crew")
    assert new["resolve"] == "Shorten it. Cleared by: the crew."
    assert (old["do"], old["resolve"]) == ("An old way out.", "An old way out.")
    assert "cleared_by" not in old


def test_what_a_caller_sent_is_never_read_as_a_template() -> None:
    shown = say("{name} carries {load}.", name="{load.__class__} {0}", load=Power(2, "kW"))
    assert shown.text() == "{load.__class__} {0} carries 2 kW."


def test_sentences_and_lists_stand_in_sentences() -> None:
    inner = say("{at}", at=Temperature(10, "degC"))
    whole = say("{first}, then {all}", first=inner, all=[Duration(5, "min"), Length(1, "m")])
    assert whole.text("us") == "50 degF, then 5 min, 3.2808 ft"
    assert joined([inner, inner]).text() == "10 degC; 10 degC"
    braces = say("{{x}} {at}", at=1)
    assert say("{inner}", inner=braces).text() == braces.text() == "{x} 1"


def test_a_place_without_a_value_is_a_defect_of_the_calculator() -> None:
    with pytest.raises(Defect, match="has a place that nothing was given for"):
        say("{missing}")


def test_a_kept_answer_says_its_sentences_in_other_units_too() -> None:
    answer = evaluate(sentence, LengthGiven())
    kept = msgspec.json.decode(kept_in_units(sentence, to_json(answer), "us"))
    assert kept == msgspec.json.decode(to_json(in_units(answer, "us")))


def test_a_kept_wind_is_no_flow_of_water() -> None:
    """Both are kept in m/s. What US answers say it in tells them apart, as does the field whose default it is."""
    said = say("Gusts to {gust:us=mph}, water at {water}.", gust=Speed(10, "m/s"), water=Velocity(2, "m/s"))

    @calculator("test.wind", version="1.0.0", title="Wind", findings=(finding("windy", "note", "It blows."),))
    def wind(given: WindGiven, notes: Notes) -> WindResults:
        """Say how it blows."""
        notes.note("windy", said)
        return WindResults(gust=given.wind)

    answer = evaluate(wind, WindGiven())
    kept = msgspec.json.decode(kept_in_units(wind, to_json(answer), "us"))
    assert kept == msgspec.json.decode(to_json(in_units(answer, "us")))
    assert kept["findings"][0]["statement"] == "Gusts to 22.369 mph, water at 6.5617 ft/s."
    units = {a["code"].rsplit("/", 1)[-1]: a["value"]["unit"] for a in kept["assumptions"]}
    assert units == {"wind": "mph", "water": "ft/s"}


def test_a_quoted_text_has_its_quantities_in_both_systems() -> None:
    one = say(
        "{flow:.1f} at {volts} in {hoses}.",
        flow=VolumeFlow(6.6, "L/s"),
        volts=Voltage(480, "V"),
        hoses=[Length(30, "m")],
    )
    assert in_both(one) == "6.6 L/s (104.6 gpm) at 480 V in 30 m (98.425 ft)."
    assert in_both("Plain.") == "Plain."


def test_a_place_may_say_in_which_unit_us_answers_say_it() -> None:
    """Cooling in tons, of 12,000 Btu/h each (3.516853 kW, NIST SP 811, B.8, from memory), and motors in kW."""
    load = Power(351.6853, "kW")
    said = say("{load:us=ton}, {exact:.6g us=ton}, {motor}", load=load, exact=load, motor=Power(80, "kW"))
    assert said.text() == "351.69 kW, 351.685 kW, 80 kW"
    assert said.text("us") == "100 ton, 100 ton, 80 kW"
    assert in_both(said) == "351.69 kW (100 ton), 351.685 kW (100 ton), 80 kW"
    around = say("So {inner}.", inner=said)
    assert around.text("us") == "So 100 ton, 100 ton, 80 kW."
    kept = msgspec.json.decode(msgspec.json.encode(said))
    assert kept["template"] == "{load:us=ton}, {exact:.6g us=ton}, {motor}", "a kept answer says it the same way"


def test_a_large_quantity_is_written_without_a_power_of_ten() -> None:
    far = say("At most {far}, {rate:.3g} of it.", far=Length.of(480, "km"), rate=Power.of(1234567, "W"))
    assert far.text() == "At most 480 km, 1230000 W of it."
    assert far.text("us") == "At most 1574800 ft, 1230000 W of it."
