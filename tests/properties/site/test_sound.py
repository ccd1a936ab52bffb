"""What must hold of `site.sound` whatever is heard, and what it refuses."""

import math
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from quantity import q
from site_given import at, attempt, cautioned, codes

from coldwright.contract import Refused

place = st.tuples(st.floats(-300, 300), st.floats(-300, 300), st.floats(0, 12)).map(
    lambda p: tuple(round(c, 2) for c in p)
)
levels = st.lists(st.integers(60, 120), min_size=8, max_size=8)


def source(name, where, **more):
    return {"id": name, **at(x=where[0], y=where[1], z=where[2])} | more


def octave(sources, receiver=(60, 40, 4), ground=0.5, **more):
    return {
        "method": "octave",
        "sources": sources,
        "receivers": [{"id": "R", **at(x=receiver[0], y=receiver[1], z=receiver[2])}],
        "ground_factor": {"source": ground, "middle": ground, "receiver": ground},
        "air": {"temperature": q(20, "degC"), "humidity": 0.7},
        **more,
    }


def simple(level=98.0, distance=10.0, receiver=None, **more):
    return {
        "method": "simple",
        "sources": [source("S", (0, 0, 1), sound_power_level=q(level, "dBA"))],
        "receivers": [{"id": "R", **at(x=distance, y=0, z=1)} | (receiver or {})],
    } | more


def barrier(height=5.0, y=20.0, half=100.0, **more):
    return {"edge_height": q(height, "m"), "point_1": at(x=-half, y=y), "point_2": at(x=half, y=y)} | more


def level_of(answer):
    return answer["results"]["receivers"][0]["level"]["value"]


@settings(max_examples=min(15, settings().max_examples))
@given(place, place, levels, levels, st.sampled_from(["octave", "simple"]))
def test_two_sources_are_never_quieter_than_one(answer_of, first, second, loud, other, method):
    a, b = source("a", first, octave_levels=loud), source("b", second, octave_levels=other)
    if method == "simple":
        a, b = (
            source("a", first, sound_power_level=q(max(loud), "dBA")),
            source("b", second, sound_power_level=q(90, "dBA")),
        )
    one = attempt(answer_of, "site.sound", octave([a]) | {"method": method})
    two = attempt(answer_of, "site.sound", octave([a, b]) | {"method": method})
    if one is not None and two is not None:
        assert level_of(two) >= level_of(one) - 1e-9


@given(place, place, levels, st.floats(0, 1), st.floats(0.5, 20), st.floats(0, 3), st.floats(5, 200))
def test_a_barrier_answers_or_refuses(answer_of, where, receiver, loud, ground, height, thickness, half):
    screen = barrier(height, half=half, thickness=q(thickness, "m"))
    answer = attempt(
        answer_of, "site.sound", octave([source("a", where, octave_levels=loud)], receiver, ground, barrier=screen)
    )
    if answer is not None:
        r = answer["results"]["receivers"][0]
        assert all(0 <= dz <= 25 for dz in r["barrier_top_dz"])
        assert len(r["by_band"]) == 8


@settings(max_examples=min(15, settings().max_examples))
@given(st.floats(3.5, 18), st.floats(1, 5))
def test_a_higher_barrier_takes_no_less_away(answer_of, height, more):
    def top(h):
        given = octave([source("a", (0, 0, 1.5), octave_levels=[90] * 8)], (3, 60, 1.5), barrier=barrier(h))
        return answer_of("site.sound", given)["results"]["receivers"][0]["barrier_top_dz"]

    assert all(b >= a - 1e-9 for a, b in zip(top(height), top(height + more), strict=True))


@settings(max_examples=min(15, settings().max_examples))
@given(st.floats(0.1, 1))
def test_a_wall_behind_never_makes_it_quieter(answer_of, reflection):
    wall = {"distance": q(2, "m"), "reflection": reflection}
    for request in (octave([source("a", (0, 0, 1), octave_levels=[90] * 8)]), simple()):
        before = level_of(answer_of("site.sound", request))
        request["sources"][0]["reflector"] = wall
        after = level_of(answer_of("site.sound", request))
        assert before < after <= before + 3.02


def test_a_wall_that_swallows_all_changes_nothing(answer_of):
    given = simple()
    before = level_of(answer_of("site.sound", given))
    given["sources"][0]["reflector"] = {"distance": q(2, "m"), "reflection": 0}
    assert level_of(answer_of("site.sound", given)) == before


def test_line_of_sight_above_the_edge(answer_of):
    given = octave([source("a", (0, 0, 6), octave_levels=[90] * 8)], (3, 60, 6), barrier=barrier(4))
    bare = octave([source("a", (0, 0, 6), octave_levels=[90] * 8)], (3, 60, 6))
    r = answer_of("site.sound", given)["results"]["receivers"][0]
    assert r["barrier_top_dz"] == [0] * 8
    assert r["level"] == answer_of("site.sound", bare)["results"]["receivers"][0]["level"]


def test_a_line_that_misses_the_barrier_in_plan(answer_of):
    given = octave([source("a", (200, 0, 1), octave_levels=[90] * 8)], (200, 60, 1), barrier=barrier(9))
    assert answer_of("site.sound", given)["results"]["receivers"][0]["barrier_top_dz"] == []


def test_side_paths_let_more_through_a_short_barrier(answer_of):
    short, long = (
        octave(
            [source("a", (0, 0, 1), octave_levels=[90] * 8)],
            (0, 40, 1),
            barrier=barrier(8, half=half, thickness=q(t, "m")),
        )
        for half, t in ((4, 0), (400, 0))
    )
    assert level_of(answer_of("site.sound", short)) > level_of(answer_of("site.sound", long)) + 1


def test_an_edge_that_a_taut_string_does_not_touch_counts_as_none(answer_of):
    """Seen from high up only the nearer edge of a thick barrier is in the way of a low source."""
    where, receiver = (0, 19, 1), (0, 200, 60)
    thick = octave(
        [source("a", where, octave_levels=[90] * 8)], receiver, barrier=barrier(6, y=24, thickness=q(4, "m"))
    )
    thin = octave([source("a", where, octave_levels=[90] * 8)], receiver, barrier=barrier(6, y=22))
    tops = [answer_of("site.sound", g)["results"]["receivers"][0]["barrier_top_dz"] for g in (thick, thin)]
    assert tops[0] == pytest.approx(tops[1])
    assert min(tops[0]) > 4.7


def test_units_change_nothing(answer_of):
    metric = answer_of("site.sound", octave([source("a", (10, -4, 2), octave_levels=[90] * 8)]))
    feet = octave([{"id": "a", **at("ft", x=10 / 0.3048, y=-4 / 0.3048, z=2 / 0.3048), "octave_levels": [90] * 8}])
    feet["air"] = {"temperature": q(68, "degF"), "humidity": 0.7}
    assert level_of(answer_of("site.sound", feet)) == pytest.approx(level_of(metric), abs=1e-9)


@settings(max_examples=min(15, settings().max_examples))
@given(
    st.lists(st.tuples(st.floats(0, 120), st.floats(0.01, 2)), min_size=1, max_size=10),
    st.sampled_from(["osha", "niosh"]),
)
def test_a_longer_day_never_has_a_smaller_dose(answer_of, stays, rule):
    day = [{"level": q(level, "dBA"), "duration": q(hours, "h")} for level, hours in stays]
    doses = [
        answer_of("site.sound", {"method": "simple", "rule": rule, "exposure": day[:n]})["results"]["exposure"]["dose"]
        for n in (max(1, len(day) - 1), len(day))
    ]
    assert doses[1] >= doses[0] * (1 - 1e-12)


def test_quiet_stays_do_not_enter_the_osha_dose(answer_of):
    quiet = {"method": "simple", "exposure": [{"level": q(79.9, "dBA"), "duration": q(8, "h")}]}
    osha = answer_of("site.sound", quiet)["results"]["exposure"]
    assert osha["dose"] == 0
    assert "twa" not in osha
    assert answer_of("site.sound", quiet | {"rule": "niosh"})["results"]["exposure"]["dose"] > 0.3


def test_margins_follow_the_time_that_a_source_runs(answer_of):
    limits = {"limit_day": q(75, "dBA"), "limit_night": q(68, "dBA")}
    given = simple(receiver=limits)
    given["sources"][0]["on_time"] = {"day": 0.5, "night": 0}
    r = answer_of("site.sound", given)["results"]["receivers"][0]
    assert r["margin_day"]["unit"] == "dB"
    assert r["margin_day"]["value"] == pytest.approx(75 - (r["level"]["value"] - 3.0103), abs=1e-4)
    assert "margin_night" not in r


def test_background(answer_of):
    given = simple(receiver={"measured_level": q(60, "dBA"), "background": q(55, "dBA")})
    r = answer_of("site.sound", given)["results"]["receivers"][0]
    assert r["measured_source_level"]["value"] == pytest.approx(58.35, abs=0.01)
    given = simple(receiver={"measured_level": q(55, "dBA"), "background": q(55, "dBA")})
    answer = answer_of("site.sound", given)
    assert "measured_source_level" not in answer["results"]["receivers"][0]
    assert "background_close" in codes(answer, "check")


def test_distance_at_which_the_limit_is_met(answer_of):
    near = simple(receiver={"limit_day": q(60, "dBA"), "limit_night": q(50, "dBA")})
    r = answer_of("site.sound", near)["results"]["receivers"][0]
    met = simple(distance=r["distance_for_limit"]["value"])
    assert level_of(answer_of("site.sound", met)) == pytest.approx(50, abs=0.02)


def test_no_source_no_level(answer_of):
    answer = answer_of("site.sound", {"method": "simple", "receivers": [{"id": "R", **at(x=0, y=0, z=0)}]})
    assert answer["results"]["receivers"] == [
        {"id": "R", "by_source": [], "by_band": [], "barrier_top_dz": [], "barrier_quick_look": []}
    ]
    assert cautioned(answer)


def test_very_far_stays_finite(answer_of):
    given = octave([source("a", (-5000, -5000, 0), octave_levels=[-100] * 8)], (5000, 5000, 300))
    given["air"] = {"temperature": q(15, "degC"), "humidity": 0.2}
    bands = answer_of("site.sound", given)["results"]["receivers"][0]["by_band"]
    assert bands[7] < -2000


OCTAVE = octave([source("a", (0, 0, 1), octave_levels=[90] * 8)])


@pytest.mark.parametrize(
    ("given", "pointer"),
    [
        (OCTAVE | {"method": "simple"}, "#/sources/0/sound_power_level"),
        (simple() | {"method": "octave"}, "#/sources/0/octave_levels"),
        ({k: v for k, v in OCTAVE.items() if k != "air"}, "#/air"),
        ({k: v for k, v in OCTAVE.items() if k != "ground_factor"}, "#/ground_factor"),
        (OCTAVE | {"air": {"temperature": q(20, "degC"), "humidity": 0.5}}, "#/air"),
        (OCTAVE | {"air": {"temperature": q(20, "degC"), "humidity": 70}}, "#/air/humidity"),
        (octave([source("a", (0, 0, 1), octave_levels=[90] * 7)]), "#/sources/0/octave_levels"),
        (octave([source("a", (60, 40, 4), octave_levels=[90] * 8)]), "#/receivers/0"),
        (octave([source("a", (0, 0, 1), octave_levels=[90] * 8)] * 2), "#/sources/1/id"),
        (OCTAVE | {"receivers": OCTAVE["receivers"] * 2}, "#/receivers/1/id"),
        (OCTAVE | {"barrier": barrier() | {"point_2": at(x=-100, y=20)}}, "#/barrier/point_2"),
        (octave([source("a", (0, 20, 1), octave_levels=[90] * 8)], barrier=barrier()), "#/receivers/0"),
        (octave([source("a", (0, 0, -1), octave_levels=[90] * 8)]), "#/sources/0/z"),
        ({"method": "simple", "exposure": [{"level": q(80, "dBA"), "duration": q(13, "h")}] * 2}, "#/exposure"),
    ],
)
def test_refused(answer_of, given, pointer):
    with pytest.raises(Refused) as refused:
        answer_of("site.sound", given)
    assert pointer in [e.pointer for e in refused.value.errors]


@pytest.mark.parametrize("celsius", [10, 15, 20, 30])
def test_air_beside_the_six_pairs_is_other_air(answer_of, celsius):
    """ISO 9613-2:1996, Table 2 has no rows between its rows; a temperature in degF is the same air."""
    humidity = 0.2 if celsius == 15 else 0.7
    for unit, value in (("degC", celsius), ("degF", celsius * 9 / 5 + 32)):
        answer_of("site.sound", OCTAVE | {"air": {"temperature": q(value, unit), "humidity": humidity}})
    for air in ((celsius * (1 + 1e-6), humidity), (celsius, humidity * (1 - 1e-6))):
        with pytest.raises(Refused) as refused:
            answer_of("site.sound", OCTAVE | {"air": {"temperature": q(air[0], "degC"), "humidity": air[1]}})
        assert [e.pointer for e in refused.value.errors] == ["#/air"]


def test_refused_air_names_the_six_pairs(answer_of):
    with pytest.raises(Refused) as refused:
        answer_of("site.sound", OCTAVE | {"air": {"temperature": q(0, "degC"), "humidity": 0.7}})
    assert refused.value.errors[0].allowed
    assert refused.value.errors[0].allowed.one_of
    assert len(refused.value.errors[0].allowed.one_of) == 6


def stay(level, hours=1.0, rule="osha"):
    return {"method": "simple", "rule": rule, "exposure": [{"level": q(level, "dBA"), "duration": q(hours, "h")}]}


DIRECTED = octave([source("a", (0, 0, 1), octave_levels=[90] * 8, directivity_factor=4)])
BIG = simple()
BIG["sources"][0]["largest_side"] = q(6, "m")


@pytest.mark.parametrize(
    ("given", "code", "severity"),
    [
        (simple(receiver={"limit_day": q(69, "dBA")}), "over_limit", "stop"),
        (simple(receiver={"limit_night": q(69, "dBA")}), "over_limit", "stop"),
        (simple(receiver={"limit_day": q(72, "dBA")}), "limit_close", "check"),
        (BIG, "near_field", "check"),
        (simple(receiver={"measured_level": q(62, "dBA"), "background": q(60, "dBA")}), "background_close", "check"),
        (simple(barrier=barrier()), "barrier_not_counted", "note"),
        (DIRECTED, "field_of_another_method", "note"),
        (simple(air=OCTAVE["air"]), "field_of_another_method", "note"),
        (stay(116, 0.01), "above_115", "stop"),
        (stay(116, 0.01, "niosh"), "above_115", "stop"),
        (stay(91, 8), "osha_dose", "stop"),
        (stay(85, 8), "hearing_conservation", "check"),
        (stay(86, 8, "niosh"), "niosh_dose", "note"),
    ],
)
def test_findings(to_the_word, given, code, severity):
    assert code in codes(to_the_word("site.sound", given), severity)


def _turned(x: float, y: float, degrees: float) -> tuple[float, float]:
    angle = math.radians(degrees)
    return 40 + x * math.cos(angle) - y * math.sin(angle), -25 + x * math.sin(angle) + y * math.cos(angle)


@pytest.mark.parametrize("degrees", [17.0, 90.0, 133.0, 251.0])
@pytest.mark.parametrize("thickness", [0.0, 3.0])
def test_a_scene_that_is_turned_sounds_the_same(answer_of: Any, degrees: float, thickness: float) -> None:
    """A law: no direction is special. Source, receiver and barrier turned and shifted together keep every level."""

    def levels(turn: Any) -> Any:
        def place(x: float, y: float, z: float | None = None) -> dict[str, Any]:
            x, y = turn(x, y)
            return at(x=x, y=y) | ({} if z is None else at(z=z))

        asked = {
            "method": "octave",
            "sources": [{"id": "S", **place(0, -12, 1.5), "octave_levels": [93] * 8}],
            "receivers": [{"id": "R", **place(9, 31, 2)}],
            "ground_factor": {"source": 0.5, "middle": 0.5, "receiver": 0.5},
            "air": {"temperature": q(20, "degC"), "humidity": 0.7},
            "barrier": {
                "edge_height": q(4, "m"),
                "point_1": place(-14, -2),
                "point_2": place(22, 5),
                "thickness": q(thickness, "m"),
            },
        }
        (receiver,) = answer_of("site.sound", asked)["results"]["receivers"]
        return [receiver["level"]["value"], *receiver["barrier_top_dz"], *receiver["by_band"]]

    straight = levels(lambda x, y: (x, y))
    assert straight[1] > 5
    assert levels(lambda x, y: _turned(x, y, degrees)) == pytest.approx(straight, abs=1e-6)


def test_the_working_of_a_band_is_its_level(answer_of: Any) -> None:
    """ISO 9613-2, equation 3: what the working adds up for each band, without a barrier, is the level of that band."""
    asked = {
        "method": "octave",
        "sources": [{"id": "S", **at(x=10, y=10, z=1), "octave_levels": [93] * 8}],
        "receivers": [{"id": "R", **at(x=200, y=50, z=4)}],
        "ground_factor": {"source": 0.5, "middle": 0.5, "receiver": 0.5},
        "air": {"temperature": q(20, "degC"), "humidity": 0.7},
    }
    answer = answer_of("site.sound", asked)
    (receiver,) = answer["results"]["receivers"]
    shown = {w["symbol"]: w["value"] for w in answer["working"]}
    bands = [shown[f"L_{hertz}"] for hertz in (63, 125, 250, 500, 1000, 2000, 4000, 8000)]
    assert bands == pytest.approx(receiver["by_band"], abs=1e-6)
