"""What must hold of `site.weather` whatever the weather, and what it refuses."""

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st
from quantity import q
from site_given import attempt, cautioned, codes

from coldwright.contract import Refused
from coldwright.engine.kept_units import kept_in_units
from coldwright_site.weather import weather

MACHINE = {"mass": q(6000, "kg"), "base_width": q(2.2, "m"), "height": q(2.6, "m"), "length": q(9, "m")}
CRANE = {"chart_wind_speed": q(9.8, "m/s"), "load_mass": q(6, "t"), "load_face_area": q(23.4, "m2")}


def test_a_sentence_says_all_wind_in_one_unit(answer_of):
    """A sentence of gust and limit has mph for both in US units, also where the answer was kept in metric ones."""
    given = {"gust_speed": q(8, "m/s"), "crane": CRANE}
    (metric,), (us,) = (
        [f for f in answer_of("site.weather", given, units=u)["findings"] if f["code"] == "too_windy_to_lift"]
        for u in ("metric", "us")
    )
    assert metric["statement"].count(" m/s") == 2
    assert us["statement"].count(" mph") == 2
    assert "ft/s" not in us["statement"]
    kept = json.loads(kept_in_units(weather, json.dumps(answer_of("site.weather", given)).encode(), "us"))
    assert us["statement"] in [f["statement"] for f in kept["findings"]]


def windy(speed, **more):
    return {"machine": MACHINE, "gust_speed": q(speed, "m/s")} | more


@given(st.floats(0, 120), st.floats(0, 120))
def test_more_wind_never_holds_better(answer_of, one, other):
    slow, fast = sorted((one, other))
    first, second = (answer_of("site.weather", windy(v))["results"] for v in (slow, fast))
    if "overturning_ratio" in first:
        assert second["overturning_ratio"] <= first["overturning_ratio"] * (1 + 1e-12)
        assert second["sliding_ratio"] <= first["sliding_ratio"] * (1 + 1e-12)
    assert second["critical_gust"] == first["critical_gust"]


@given(st.floats(1, 100), st.floats(0.3, 1.5), st.floats(0, 3))
def test_at_the_critical_gust_the_machine_just_holds(answer_of, mass, kz, stand):
    machine = MACHINE | {"mass": q(mass, "t"), "stand_height": q(stand, "m")}
    critical = answer_of("site.weather", {"machine": machine, "exposure_factor": kz})["results"]["critical_gust"]
    if critical["value"] / (3.6 if critical["unit"] == "km/h" else 1) > 120:
        return
    at = answer_of("site.weather", {"machine": machine, "exposure_factor": kz, "gust_speed": critical})
    assert at["results"]["overturning_ratio"] == pytest.approx(1)


@given(st.floats(-60, 60), st.floats(0, 1), st.floats(0, 120), st.booleans())
def test_any_air_gives_an_answer(answer_of, temperature, humidity, wind, sun):
    given = {
        "air_temperature": q(temperature, "degC"),
        "relative_humidity": humidity,
        "wind_speed": q(wind, "m/s"),
        "in_sun": sun,
    }
    answer = attempt(answer_of, "site.weather", given)
    inside = 40 <= temperature * 1.8 + 32 <= 120
    assert answer
    assert ("heat_index" in answer["results"]) == inside
    assert ("heat_index_not_defined" in codes(answer, "note")) != inside
    assert answer["results"]["lift_allowed"] is True


def test_full_sun_moves_the_band_and_not_the_index(answer_of):
    shade = answer_of("site.weather", {"air_temperature": q(88, "degF"), "relative_humidity": 0.5})["results"]
    sun = answer_of("site.weather", {"air_temperature": q(88, "degF"), "relative_humidity": 0.5, "in_sun": True})[
        "results"
    ]
    assert shade["heat_index"] == sun["heat_index"]
    assert (shade["heat_band"], sun["heat_band"]) == ("guarded", "severe")


def test_dry_air_is_less(answer_of):
    dry = answer_of("site.weather", {"air_temperature": q(95, "degF"), "relative_humidity": 0.05}, units="us")
    assert any("less" in w["meaning"] and "dry" in w["meaning"] for w in dry["working"])


@pytest.mark.parametrize(
    ("stamps", "resume"),
    [
        ({"last_thunder_at": "2026-01-31T23:45:00+02:00"}, "2026-01-31T22:15:00Z"),
        ({"last_thunder_at": "2026-01-31T10:00:00.250Z"}, "2026-01-31T10:30:00.25Z"),
        ({"last_lightning": {"at": "2026-01-31T10:00:00.000Z"}}, "2026-01-31T10:30:00Z"),
        (
            {"last_thunder_at": "2026-01-31T10:00:00Z", "last_lightning": {"at": "2026-01-31T12:00:00+01:00"}},
            "2026-01-31T11:30:00Z",
        ),
        (
            {
                "last_thunder_at": "2026-01-31T10:00:00.123456789Z",
                "last_lightning": {"at": "2026-01-31T10:00:00.1234Z"},
            },
            "2026-01-31T10:30:00.123456789Z",
        ),
    ],
)
def test_resume(answer_of, stamps, resume):
    answer = answer_of("site.weather", stamps | {"evaluated_at": "2026-01-31T10:05:00Z"})
    assert answer["results"]["resume_at"] == resume
    assert answer["results"]["lift_allowed"] is False
    assert "lightning" in codes(answer, "stop")


def test_thirty_minutes_are_enough(answer_of):
    answer = answer_of(
        "site.weather", {"last_thunder_at": "2026-01-31T10:00:00Z", "evaluated_at": "2026-01-31T10:30:00.0Z"}
    )
    assert answer["results"]["lift_allowed"] is True
    assert answer["outcome"] == "acceptable"
    assert answer["given"]["evaluated_at"] == "2026-01-31T10:30:00.0Z"


def test_distance_of_the_flash(answer_of):
    given = {
        "last_lightning": {"at": "2026-01-31T10:00:00Z", "flash_to_bang": q(10, "s")},
        "evaluated_at": "2026-01-31T12:00:00Z",
    }
    r = answer_of("site.weather", given)["results"]
    assert r["lightning_distance"]["value"] * (1000 if r["lightning_distance"]["unit"] == "km" else 1) == pytest.approx(
        3430
    )


def test_units_change_nothing(answer_of):
    metric = answer_of("site.weather", windy(30, crane=CRANE))["results"]
    us = answer_of(
        "site.weather",
        {
            "machine": {
                "mass": q(6000 / 0.45359237, "lb"),
                "base_width": q(2.2 / 0.3048, "ft"),
                "height": q(2600, "mm"),
                "length": q(9 / 0.0254, "in"),
            },
            "gust_speed": q(108, "km/h"),
            "crane": CRANE | {"load_face_area": q(23.4 / 0.3048**2, "ft2")},
        },
    )["results"]
    assert us["overturning_ratio"] == pytest.approx(metric["overturning_ratio"])
    assert us["wind_speed_limit"]["value"] == pytest.approx(metric["wind_speed_limit"]["value"])


def test_anchors_leave_the_ratios_and_soften_the_stop(answer_of):
    free, tied = (answer_of("site.weather", windy(60, anchored=a)) for a in (False, True))
    assert free["results"]["overturning_ratio"] == tied["results"]["overturning_ratio"] < 1
    assert codes(free, "stop") == {"overturning", "sliding"}
    assert codes(tied, "check") == {"overturning", "sliding"}
    assert not codes(tied, "stop")


def test_still_air_leaves_the_ratios_out(answer_of):
    answer = answer_of("site.weather", windy(0))
    assert answer["results"]["wind_force"]["value"] == 0
    assert "overturning_ratio" not in answer["results"]
    assert answer["outcome"] == "acceptable"


def test_nothing_asked(answer_of):
    answer = answer_of("site.weather", {})
    assert answer["results"] == {"lift_allowed": True}
    assert cautioned(answer)


@pytest.mark.parametrize(
    ("given", "pointer"),
    [
        ({"relative_humidity": 1.1}, "#/relative_humidity"),
        ({"relative_humidity": -0.1}, "#/relative_humidity"),
        ({"gust_speed": q(-1, "m/s")}, "#/gust_speed"),
        ({"gust_speed": q(121, "m/s")}, "#/gust_speed"),
        ({"machine": MACHINE | {"cg_offset": q(1.1, "m")}}, "#/machine/cg_offset"),
        ({"last_thunder_at": "2026-01-31T10:00:00Z"}, "#/evaluated_at"),
        ({"last_lightning": {"at": "2026-01-31T10:00:00Z"}}, "#/evaluated_at"),
        ({"evaluated_at": "2026-01-31T10:00:00"}, "#/evaluated_at"),
        ({"evaluated_at": "2026-02-30T10:00:00Z"}, "#/evaluated_at"),
        ({"last_thunder_at": "2026-02-29T10:00:00Z", "evaluated_at": "2026-03-01T10:00:00Z"}, "#/last_thunder_at"),
        ({"gust_is": "mean"}, "#/gust_is"),
    ],
)
def test_refused(answer_of, given, pointer):
    with pytest.raises(Refused) as refused:
        answer_of("site.weather", given)
    assert pointer in [e.pointer for e in refused.value.errors]


def air(temperature, humidity=0.5, **more):
    return {"air_temperature": q(temperature, "degF"), "relative_humidity": humidity} | more


@pytest.mark.parametrize(
    ("given", "code", "severity"),
    [
        (windy(45), "overturning", "check"),
        (windy(55), "overturning", "stop"),
        (windy(32), "sliding", "check"),
        (windy(40), "sliding", "stop"),
        ({"gust_speed": q(5, "m/s"), "crane": CRANE}, "too_windy_to_lift", "stop"),
        ({"storm_warning": True}, "storm_warning", "stop"),
        (windy(40), "wind_not_judged", "note"),
        ({"crane": CRANE}, "wind_not_judged", "note"),
        ({"storm_warning": True}, "wind_not_judged", "note"),
        (air(88), "heat", "note"),
        (air(96), "heat", "check"),
        (air(96, work_rate="heavy"), "heat", "check"),
        (air(39), "heat_index_not_defined", "note"),
        (air(80, in_sun=True), "sun_counted", "note"),
        ({"air_temperature": q(60, "degF"), "wind_speed": q(10, "mph")}, "wind_chill_not_defined", "note"),
        ({"air_temperature": q(40, "degF"), "wind_speed": q(3, "mph")}, "wind_chill_not_defined", "note"),
        ({"air_temperature": q(10, "degF"), "wind_speed": q(20, "mph")}, "cold", "check"),
    ],
)
def test_findings(to_the_word, given, code, severity):
    assert code in codes(to_the_word("site.weather", given), severity)


@pytest.mark.parametrize(("heat", "now", "before"), [
    (75, "normal", "lower"), (90, "guarded", "moderate"), (95, "severe", "high"), (104, "extreme", "very_high"),
])  # fmt: skip
def test_major_1_answers_the_same_with_its_own_names(answer_of, heat, now, before):
    given = {"air_temperature": {"value": heat, "unit": "degF"}, "relative_humidity": 0.5, "in_sun": False}
    new, old = answer_of("site.weather", given), answer_of("site.weather@1", given)
    assert (new["results"].pop("heat_band"), old["results"].pop("heat_band")) == (now, before)
    assert new["results"] == old["results"]
    assert [f["code"] for f in new["findings"]] == [f["code"] for f in old["findings"]]
