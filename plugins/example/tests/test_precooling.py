"""Published checks and properties of `evaporative.precooling`."""

from collections.abc import Callable
from typing import Any

import pytest
from coldwright.contract import Refused

from coldwright_evaporative import plugin

precooling = plugin.calculators[0]
Answer = dict[str, Any]
AnswerOf = Callable[..., Answer]


def celsius(value: float) -> dict[str, Any]:
    return {"value": value, "unit": "degC"}


def case(**changes: Any) -> dict[str, Any]:
    given = {
        "dry_bulb": celsius(40),
        "wet_bulb": celsius(20),
        "air_flow": {"value": 10, "unit": "m3/s"},
        "method": "wetted_media",
        "saturation_effectiveness_fraction": 0.8,
    }
    return {k: v for k, v in (given | changes).items() if v is not None}


def codes(answer: Answer) -> set[str]:
    return {f["code"] for f in answer["findings"]}


# --- checks against sources ----------------------------------------------------------------------------------------
def test_state_of_the_entering_air(answer_of: AnswerOf) -> None:
    """ASHRAE Handbook Fundamentals 2017, chapter 1, example 1: 40 degC, wet bulb 20 degC, 101.325 kPa: W = 6.5 g/kg
    and 0.896 m3/kg, read from the chart. Seen as quoted in PsychroLib's own tests (seen_reproduced)."""
    answer = answer_of(precooling, case())
    assert answer["results"]["outdoor_humidity_ratio"] == pytest.approx(0.0065, abs=0.0001)
    # evaporation = V / v (W2 - W1), with the Handbook's volume for v
    gained = answer["results"]["entering_humidity_ratio"] - answer["results"]["outdoor_humidity_ratio"]
    assert answer["results"]["evaporation"]["value"] / 60 == pytest.approx(10 / 0.896 * gained, rel=0.01)


def test_saturated_air(answer_of: AnswerOf) -> None:
    """ASHRAE Handbook Fundamentals 2017, chapter 1, table 2: saturated air of 25 degC holds 20.173 g/kg. Seen as quoted
    in PsychroLib's own tests (seen_reproduced), with its own tolerance for the formula against the table."""
    answer = answer_of(precooling, case(dry_bulb=celsius(25), wet_bulb=celsius(25)))
    assert answer["results"]["outdoor_humidity_ratio"] == pytest.approx(0.020173, rel=0.005)
    assert "wet_coil" in codes(answer)


def test_effectiveness(answer_of: AnswerOf) -> None:
    """Equation 9.8.6 of the handbook's direct evaporative cooler (seen_reproduced): 40 - 0.8 (40 - 20) = 24."""
    results = answer_of(precooling, case())["results"]
    assert results["entering_air"] == {"value": 24, "unit": "degC"}
    assert results["reduction"] == {"value": 16, "unit": "delta_degC"}


@pytest.mark.parametrize(("cycles", "carryover", "blowdown"), [(3, 0, 0.5), (5, 0, 0.25), (3, 0.2, 0.3), (3, 0.7, 0)])
def test_blowdown(answer_of: AnswerOf, cycles: float, carryover: float, blowdown: float) -> None:
    """J. McDonald, CSTN, July 2003 (seen_reproduced): blowdown = evaporation / (cycles - 1), drift counted in it."""
    given = case(cycles_of_concentration=cycles, carryover_fraction=carryover)
    answer = answer_of(precooling, given)
    evaporation = answer["results"]["evaporation"]["value"]
    assert answer["results"]["blowdown"]["value"] == pytest.approx(blowdown * evaporation)
    assert answer["results"]["feed"]["value"] == pytest.approx((1 + carryover + blowdown) * evaporation)
    assert ("cycles_not_reached" in codes(answer)) == (blowdown == 0)


def test_heat_balance(answer_of: AnswerOf) -> None:
    """Derived: what the air loses in sensible heat, the water takes as latent heat (2,450 kJ/kg at 20 degC and 1.02
    kJ/kg.K of moist air, from memory): about 16 x 1.02 / 2450 = 6.7 g for each kg of dry air."""
    results = answer_of(precooling, case())["results"]
    gained = results["entering_humidity_ratio"] - results["outdoor_humidity_ratio"]
    assert gained == pytest.approx(16 * 1.02 / 2450, rel=0.02)


@pytest.mark.parametrize(("water", "found"), [(19.9, False), (20, True), (45, True), (45.1, False)])
def test_growth_temperature(answer_of: AnswerOf, water: float, found: bool) -> None:
    """World Health Organization: growth up to 45 degC, cold water ideally below 20 degC (seen_reproduced)."""
    assert ("growth_temperature" in codes(answer_of(precooling, case(water_temperature=celsius(water))))) == found


# --- properties ----------------------------------------------------------------------------------------------------
def test_humidity_and_wet_bulb_say_the_same(answer_of: AnswerOf) -> None:
    by_humidity = answer_of(precooling, case(wet_bulb=None, relative_humidity_fraction=0.2))
    wet_bulb = by_humidity["results"]["wet_bulb"]
    by_wet_bulb = answer_of(precooling, case(wet_bulb=wet_bulb))
    assert by_wet_bulb["results"]["feed"]["value"] == pytest.approx(by_humidity["results"]["feed"]["value"], rel=1e-3)


def test_saturated_air_gains_nothing_and_takes_no_water(answer_of: AnswerOf) -> None:
    answer = answer_of(precooling, case(wet_bulb=celsius(40)))
    assert answer["results"]["reduction"]["value"] == 0
    assert answer["results"]["feed"]["value"] == pytest.approx(0, abs=1e-9)
    assert "little_gain" in codes(answer)


def test_more_effectiveness_cools_more_and_takes_more(answer_of: AnswerOf) -> None:
    some = [answer_of(precooling, case(saturation_effectiveness_fraction=e))["results"] for e in (0.3, 0.6, 0.9)]
    assert sorted(some, key=lambda r: -r["entering_air"]["value"]) == some
    assert sorted(some, key=lambda r: r["evaporation"]["value"]) == some
    assert all(r["entering_air"]["value"] >= r["wet_bulb"]["value"] for r in some)


def test_design_air_tells_what_would_reach_it(answer_of: AnswerOf) -> None:
    missed = answer_of(precooling, case(saturation_effectiveness_fraction=0.2, design_air=celsius(30)))
    assert missed["results"]["margin_to_design"]["value"] == pytest.approx(-6)
    assert missed["results"]["needed_effectiveness_fraction"] == pytest.approx(0.5)
    assert missed["outcome"] == "conditional"
    (found,) = [f for f in missed["findings"] if f["code"] == "above_design"]
    assert found["resolve"] == "An effectiveness of 0.50 would just reach it."
    reached = answer_of(precooling, case(saturation_effectiveness_fraction=0.5001, design_air=celsius(30)))
    assert "above_design" not in codes(reached)
    hopeless = answer_of(precooling, case(design_air=celsius(18)))
    assert "needed_effectiveness_fraction" not in hopeless["results"]
    assert "above_design" in codes(hopeless)


def test_cold_air_must_not_be_wetted(answer_of: AnswerOf) -> None:
    answer = answer_of(precooling, case(dry_bulb=celsius(8), wet_bulb=celsius(3)))
    assert answer["outcome"] == "unacceptable"
    assert "freezing" in codes(answer)


def test_spray_face_and_day(answer_of: AnswerOf) -> None:
    given = case(method="spray", face_area={"value": 2, "unit": "m2"}, operation={"value": 10, "unit": "h"})
    answer = answer_of(precooling, given)
    assert {"aerosol", "fast_face"} <= codes(answer)
    assert answer["results"]["face_velocity"]["value"] == 5
    assert answer["results"]["water_per_day"]["value"] == pytest.approx(answer["results"]["feed"]["value"] * 0.6)


@pytest.mark.parametrize(
    ("changes", "pointer"),
    [
        ({"wet_bulb": None}, "#/wet_bulb"),
        ({"relative_humidity_fraction": 0.3}, "#/wet_bulb"),
        ({"wet_bulb": celsius(40), "dry_bulb": celsius(39)}, "#/wet_bulb"),
        ({"wet_bulb": celsius(2)}, "#/wet_bulb"),
        ({"saturation_effectiveness_fraction": 1}, "#/saturation_effectiveness_fraction"),
        ({"dry_bulb": celsius(60)}, "#/dry_bulb"),
        ({"cycles_of_concentration": 1}, "#/cycles_of_concentration"),
    ],
)
def test_refusals(answer_of: AnswerOf, changes: dict[str, Any], pointer: str) -> None:
    with pytest.raises(Refused) as refused:
        answer_of(precooling, case(**changes))
    assert [e.pointer for e in refused.value.errors] == [pointer]


def test_every_finding_was_seen_above() -> None:
    assert precooling.findings.keys() == {
        *("freezing", "little_gain", "growth_temperature", "aerosol"),
        *("wet_coil", "fast_face", "above_design", "cycles_not_reached"),
    }
