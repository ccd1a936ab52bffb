"""What `refrigeration.room_heat` finds, and what must hold whatever the room."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from quantity import q


def asked(**changes):
    given = {
        "heat_rejected": q(300, "kW"),
        "outdoor_temperature": q(32, "degC"),
        "room_limit": q(46, "degC"),
        "ventilation_flow": q(25000, "L/s"),
        "room_volume": q(20000, "m3"),
    }
    return {k: v for k, v in (given | changes).items() if v is not None}


@pytest.mark.parametrize(
    ("changes", "codes"),
    [
        ({}, set()),
        ({"outdoor_temperature": q(46, "degC")}, {"outside_air_too_warm"}),
        ({"ventilation_flow": q(5000, "L/s")}, {"room_too_hot"}),
        ({"ventilation_flow": q(0, "L/s")}, {"room_too_hot"}),
        ({"ventilation_flow": None}, {"ventilation_not_given"}),
        ({"room_volume": q(500, "m3")}, {"room_heats_fast"}),
        ({"ducted_fraction": 1.0, "ventilation_flow": None, "room_volume": q(50, "m3")}, set()),
    ],
)
def test_findings(to_the_word, changes, codes):
    answer = to_the_word("refrigeration.room_heat", asked(**changes))
    assert {f["code"] for f in answer["findings"]} == codes


@settings(max_examples=25)
@given(
    heat=st.floats(5, 2000),
    outdoor=st.floats(-20, 43),
    share=st.floats(0.3, 3),
    ducted=st.floats(0, 0.9),
    altitude=st.floats(0, 3000),
)
def test_the_flow_that_is_needed_settles_at_the_limit(answer_of, heat, outdoor, share, ducted, altitude):
    """What is needed keeps the limit to the last digit; more keeps it cooler, less is a stop."""
    base = asked(
        heat_rejected=q(heat, "kW"),
        outdoor_temperature=q(outdoor, "degC"),
        ducted_fraction=ducted,
        altitude=q(altitude, "m"),
        ventilation_flow=None,
    )
    needed = answer_of("refrigeration.room_heat", base)["results"]["required_flow"]["value"]
    at = answer_of("refrigeration.room_heat", base | {"ventilation_flow": q(needed, "L/s")})
    assert at["results"]["room_temperature"]["value"] == pytest.approx(46, abs=1e-4)
    moved = answer_of("refrigeration.room_heat", base | {"ventilation_flow": q(needed * share, "L/s")})
    too_hot = "room_too_hot" in {f["code"] for f in moved["findings"]}
    if abs(share - 1) > 1e-6:
        assert too_hot == (share < 1)
        assert ("time_to_limit" in moved["results"]) == too_hot
    if too_hot:
        assert moved["results"]["time_to_limit"]["value"] >= moved["results"]["time_to_limit_shut"]["value"] * 0.999999
