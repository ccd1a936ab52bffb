"""Figures in the words of a refusal, and of a load that is too light, each worked out by hand from what was given. Derived."""

import math
from typing import Any, NamedTuple

import pytest
from edges import example
from figures import same_figures
from quantity import q

from coldwright.contract import Refused

pytestmark = pytest.mark.check
Json = dict[str, Any]
SET, SERVICE, FEEDER, TRANSFORMER = (f"electrical.{name}" for name in ("generator", "service", "feeder", "transformer"))


class Case(NamedTuple):
    name: str
    calculator: str
    given: Json
    pointer: str
    figures: tuple[float, ...]
    limits: tuple[float, ...] = ()


def plated(kilowatts: float, kilovoltamperes: float) -> Json:
    return example(
        SET,
        generator__rated_active_power=q(kilowatts, "kW"),
        generator__rated_apparent_power=q(kilovoltamperes, "kVA"),
    )


PLATED = example(
    SERVICE,
    machines=[
        {
            "machine_id": "west",
            "nameplate_voltage": q(460, "V"),
            "minimum_circuit_ampacity": q(52, "A"),
            "maximum_overcurrent_device": q(45, "A"),
        }
    ],
)


def hot(degrees: float, insulation: int) -> Json:
    return example(FEEDER, ambient_temperature=q(degrees, "degC"), insulation_temperature=insulation)


EVERY = (
    # sets are rated at a power factor of 0.6 to 1 (common practice): 240 kW are at least 240 and at most 400 kVA
    Case(
        "more real than apparent",
        SET,
        plated(240, 200),
        "#/generator/rated_apparent_power",
        (240, 200, 1.2),
        (240, 400),
    ),
    Case("less than 0.6", SET, plated(240, 480), "#/generator/rated_apparent_power", (240, 480, 0.5), (240, 400)),
    Case(
        "X\"d above X'd",
        SET,
        example(SET, generator__subtransient_reactance=0.3, generator__transient_reactance=0.21),
        "#/generator/subtransient_reactance",
        (0.3, 0.21),
        (0.21,),
    ),
    Case(
        "a plate that contradicts itself",
        SERVICE,
        PLATED,
        "#/machines/0/maximum_overcurrent_device",
        (45, 52),
        (52,),
    ),
    # Table 310.15(B)(1) ends at 55 degC for 60 degC conductors; nothing is left at their own temperature
    Case("too hot for 60", FEEDER, hot(61.5, 60), "#/ambient_temperature", (61.5, 60), (59,)),
    Case("too hot for 75", FEEDER, hot(69.5, 75), "#/ambient_temperature", (69.5, 75), (59,)),
    Case("no factor", FEEDER, hot(57, 60), "#/ambient_temperature", (57, 60), (55,)),
)


@pytest.mark.parametrize("case", EVERY, ids=[case.name for case in EVERY])
def test_a_refusal_says_what_the_hand_gives(answer_of: Any, case: Case) -> None:
    with pytest.raises(Refused) as refused:
        answer_of(case.calculator, case.given)
    (error,) = [e for e in refused.value.errors if e.pointer == case.pointer]
    same_figures(error.detail, case.figures)
    sides = ("minimum", "above", "maximum", "below")
    limits = [
        bound for side in sides if error.allowed and isinstance(bound := getattr(error.allowed, side), int | float)
    ]
    assert limits == pytest.approx(list(case.limits))


@pytest.mark.parametrize("night", [1.0, 0.5, 0.999])
def test_a_light_load_is_said_of_the_night_too_where_it_is_lighter_then(answer_of: Any, night: float) -> None:
    """A fifth of 300 kVA at 0.85: 51 of 240 kW, and at night so much of that. Where nothing unloads there is no other figure."""
    amps = 0.2 * 300e3 / (math.sqrt(3) * 480)
    load = {
        "load_id": "machine",
        "running_current": q(amps, "A"),
        "locked_rotor_current": q(amps, "A"),
        "start_order": 1,
    }
    answer = answer_of(SET, example(SET, loads=[load], load_factor=night))
    (light,) = [f["statement"] for f in answer["findings"] if f["code"] == "light_load"]
    share = 0.2 * 300 * 0.85 / 240
    first = light.partition(" of the derated power")[0].rpartition(" ")[2]
    assert float(first) == pytest.approx(share, abs=6e-4)
    _, _, after = light.partition("at night ")
    assert bool(after) is (night < 1), light
    if after:
        assert float(after.split()[0].rstrip(".,:")) == pytest.approx(share * night, abs=6e-4)


@pytest.mark.parametrize(
    ("degrees", "metres", "field"),
    [(40, 1001, "/altitude"), (41, 1001, "/ambient_temperature"), (41, 999, "/ambient_temperature"), (40, 1000, "")],
)
def test_the_heat_is_named_before_the_height(answer_of: Any, degrees: float, metres: float, field: str) -> None:
    """IEEE C57.12.01 (from memory): 40 degC and 1000 m. The place that the finding names is what is out of them."""
    asked = example(TRANSFORMER, ambient_temperature=q(degrees, "degC"), altitude=q(metres, "m"))
    found = [f["field"] for f in answer_of(TRANSFORMER, asked)["findings"] if f["code"] == "unusual_conditions"]
    assert found == ([field] if field else [])


@pytest.mark.parametrize(
    ("share", "night", "code", "field"),
    [(0.2, 1.0, "light_load", "/generator/rated_active_power"), (0.5, 0.4, "light_load_at_night", "/load_factor")],
)
def test_a_light_load_names_the_set_by_day_and_the_load_at_night(
    answer_of: Any, share: float, night: float, code: str, field: str
) -> None:
    """By day the set is too big; at night the load is too small."""
    amps = share * 300e3 / (math.sqrt(3) * 480)
    load = {
        "load_id": "machine",
        "running_current": q(amps, "A"),
        "locked_rotor_current": q(amps, "A"),
        "start_order": 1,
    }
    findings = answer_of(SET, example(SET, loads=[load], load_factor=night))["findings"]
    assert [f["field"] for f in findings if f["code"].startswith("light_load")] == [field]
    assert code in {f["code"] for f in findings}


@pytest.mark.parametrize(
    ("least", "share", "verdict"),
    [
        (0.3, 0.149, "still too little"),
        (0.3, 0.151, ""),
        (0.58, 0.499, ""),
        (0.58, 0.501, "too much for one"),
    ],
)
def test_one_of_two_halves_carries_the_night_or_not(answer_of: Any, least: float, share: float, verdict: str) -> None:
    """By hand: a half of the set is loaded to twice the share: not below the least load, and not above its own power."""
    amps = share * 240e3 / (math.sqrt(3) * 480 * 0.8)
    load = {"load_id": "m", "running_current": q(amps, "A"), "locked_rotor_current": q(amps, "A"), "start_order": 1}
    asked = example(SET, loads=[load | {"power_factor": 0.8}], load_factor=1, minimum_load_fraction=least)
    ways = answer_of(SET, asked)["results"]["light_load_remedies"]
    (halves,) = [way for way in ways if way["kind"] == "two_sets"]
    assert f"one alone is then loaded to {2 * share:.3f} at night" in halves["statement"]
    assert halves["works"] is (verdict == "")
    for words in ("still too little", "too much for one"):
        assert (words in halves["statement"]) is (words == verdict)


@pytest.mark.parametrize(
    ("metres", "degrees", "field"),
    [
        (1600, 45, "#/altitude"),
        (1400, 45, "#/ambient_temperature"),
        (4000, 40, "#/altitude"),
        (1050, 60, "#/ambient_temperature"),
    ],
)
def test_a_set_that_is_left_too_little_names_what_takes_more(
    answer_of: Any, metres: float, degrees: float, field: str
) -> None:
    """Common practice: steps of 500 m above 1000 m and of 5 K above 40 degC; whichever is more of them is named."""
    rates = {
        "method": "per_step",
        "engine_altitude_start": q(0, "m"),
        "engine_altitude_rate_fraction": 0.05,
        "engine_temperature_start": q(25, "degC"),
        "engine_temperature_rate_fraction": 0.2,
    }
    asked = example(SET, altitude=q(metres, "m"), ambient_temperature=q(degrees, "degC"), derating=rates)
    with pytest.raises(Refused) as refused:
        answer_of(SET, asked)
    (error,) = refused.value.errors
    assert error.pointer == field
    left = max(0.0, 1 - 0.05 * metres / 100) * max(0.0, 1 - 0.2 * (degrees - 25) / 5)
    same_figures(error.detail, (left,))
