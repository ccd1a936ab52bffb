"""Checks of `evaporative.stage` and of the second major of `evaporative.precooling`."""

from collections.abc import Callable
from typing import Any

import pytest
from coldwright.contract import Refused

from coldwright_evaporative.precooling import precooling
from coldwright_evaporative.precooling_2 import MEASURED, measured_precooling
from coldwright_evaporative.stage import PLAN, stage

AnswerOf = Callable[..., dict[str, Any]]


def test_heat_balance_of_the_air(answer_of: AnswerOf) -> None:
    """Derived: 600 kW in air of 1.127 kg/m3 (ideal gas, 40 degC, 101.325 kPa) and 1.006 kJ/kg.K (from memory) at 10 K."""
    results = answer_of(stage, PLAN)["results"]
    assert results["air_flow"]["value"] == pytest.approx(600 / (1.127 * 1.006 * 10), rel=0.02)


def test_water_for_heat(answer_of: AnswerOf) -> None:
    """Derived: what is fed in ten hours over the heat of ten hours."""
    results = answer_of(stage, PLAN)["results"]
    assert results["water_for_heat"]["value"] == pytest.approx(results["water_per_day"]["value"] * 1000 / (600 * 10))
    us = answer_of(stage, PLAN, units="us")["results"]["water_for_heat"]
    assert us == {"value": pytest.approx(results["water_for_heat"]["value"] / 3.785411784), "unit": "gal/kWh"}


def test_the_stage_is_the_one_that_is_asked_alone(answer_of: AnswerOf) -> None:
    results = answer_of(stage, PLAN)["results"]
    alone = answer_of(
        precooling,
        {
            "dry_bulb": {"value": 40, "unit": "degC"},
            "relative_humidity_fraction": 0.3,
            "air_flow": results["air_flow"],
            "method": "wetted_media",
            "saturation_effectiveness_fraction": 0.7,
        },
    )["results"]
    assert results["entering_air"] == alone["entering_air"]
    assert results["by_effectiveness"]["columns"][0]["values"][4] == pytest.approx(alone["entering_air"]["value"])


def test_whose_words_these_are_and_where_they_point(answer_of: AnswerOf) -> None:
    answer = answer_of(stage, PLAN)
    own = [f for f in answer["findings"] if "calculator" not in f]
    assert [(f["code"], f["field"]) for f in own] == [("worth_a_stage", "/order/site/design_ambient_temperature")]
    theirs = {f["calculator"]: f.get("field", "") for f in answer["findings"] if "calculator" in f}
    assert set(theirs) <= {"refrigeration.air_side", "site.ground", "evaporative.precooling"}
    assert all(pointer.startswith(("/order/", "/energy/")) for pointer in theirs.values() if pointer)
    assert {c["hazard"] for c in answer["cautions"] if "calculator" in c} <= {"environment"}


def test_a_climate_that_the_table_does_not_have(answer_of: AnswerOf) -> None:
    with pytest.raises(Refused) as refused:
        answer_of(stage, PLAN | {"climate": "moon"})
    (error,) = refused.value.errors
    assert error.allowed.one_of == ("desert", "inland", "coast", "tropics")


def test_the_second_major_takes_no_guess(answer_of: AnswerOf) -> None:
    given = dict(precooling.examples[0].given)
    given.pop("water_temperature", None)
    with pytest.raises(Refused) as refused:
        answer_of(measured_precooling, given)
    assert [e.pointer for e in refused.value.errors] == ["#/water_temperature"]
    both = given | MEASURED
    assert answer_of(measured_precooling, both)["results"] == answer_of(precooling, both)["results"]
