"""Whole scenes by octave band, worked out anew: ISO 9613-2:1996 (equations from memory) as tables over numpy, the paths over
and round a barrier as a string pulled taut: the upper hull of its edges, source and receiver.
"""

import math
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from quantity import q
from site_given import at, attempt, codes

pytestmark = pytest.mark.check
Json = dict[str, Any]
BANDS = np.array([63, 125, 250, 500, 1000, 2000, 4000, 8000])
WEIGHTS = np.array([-26.2, -16.1, -8.6, -3.2, 0, 1.2, 1.0, -1.1])
"""dB, IEC 61672-1 (from memory)."""
AIR = {(20, 0.7): [0.1, 0.3, 1.1, 2.8, 5.0, 9.0, 22.9, 76.6], (15, 0.2): [0.3, 0.6, 1.2, 2.7, 8.2, 28.2, 88.8, 202]}
"""dB/km, Table 2 (seen in reproductions)."""


def summed(levels: Any) -> Any:
    """Of sounds together, along the first axis."""
    with np.errstate(divide="ignore"):
        return 10 * np.log10((10 ** (np.array(levels, dtype=float) / 10)).sum(axis=0))


def near(height: float, plan: float, soft: float) -> np.ndarray:
    """Table 3, the region of the source or of the receiver."""
    ground = 1 - math.exp(-plan / 50)
    a = 1.5 + 3.0 * math.exp(-0.12 * (height - 5) ** 2) * ground
    a += 5.7 * math.exp(-0.09 * height**2) * (1 - math.exp(-2.8e-6 * plan**2))
    b, c, d = (1.5 + k * math.exp(-m * height**2) * ground for k, m in ((8.6, 0.09), (14.0, 0.46), (5.0, 0.9)))
    return np.array([-1.5, *(soft * x - 1.5 for x in (a, b, c, d)), *[-1.5 * (1 - soft)] * 3])


def taut(points: list[tuple[float, float]]) -> list[float]:
    """Lengths of the pieces of a string over points from the first to the last."""
    kept: list[tuple[float, float]] = []
    for x, y in points:
        while len(kept) > 1 and (kept[-1][0] - kept[-2][0]) * (y - kept[-2][1]) >= (kept[-1][1] - kept[-2][1]) * (
            x - kept[-2][0]
        ):
            kept.pop()
        kept.append((x, y))
    return [math.dist(a, b) for a, b in pairwise(kept)]


def detour(pieces: list[float], straight: float, weather: bool) -> np.ndarray:
    """D_z of the bands: equations 14 to 18."""
    z = max(0.0, sum(pieces) - straight)
    k = 1.0
    if weather and z > 0:
        k = math.exp(-math.sqrt(pieces[0] * pieces[-1] * straight / (2 * z)) / 2000)
    wave: Any = 340 / BANDS
    factor: Any = 1.0
    most = 20.0
    if len(pieces) == 3:
        square = (5 * wave / pieces[1]) ** 2
        factor, most = (1 + square) / (1 / 3 + square), 25.0
    return np.minimum(most, 10 * np.log10(3 + 20 / wave * factor * z * k))


def barred(s: np.ndarray, r: np.ndarray, wall: Any) -> tuple[np.ndarray | None, list[np.ndarray], float | None]:
    """D_z over the top and round the ends, and the longer way; nothing where the line of sight passes."""
    (ends, height, thickness) = wall
    one, other = (np.array(e) for e in ends)
    along = (other - one) / np.linalg.norm(other - one)
    across = np.array([-along[1], along[0]])
    u = [float((p[:2] - one) @ across) for p in (s, r)]
    v = [float((p[:2] - one) @ along) for p in (s, r)]
    crossing = v[0] + (v[1] - v[0]) * u[0] / (u[0] - u[1])
    if u[0] * u[1] > 0 or not 0 <= crossing <= np.linalg.norm(other - one):
        return None, [], None
    side = math.copysign(1, u[0])
    edges = [side * thickness / 2, -side * thickness / 2] if thickness else [0.0]
    span, straight = math.dist(s[:2], r[:2]), math.dist(s, r)
    marks = [span * (u[0] - e) / (u[0] - u[1]) for e in edges]
    top = taut([(0, s[2]), *((m, height) for m in marks), (span, r[2])])
    if len(top) == 1:
        return None, [], None
    sides = []
    for far, way in ((0.0, -1), (float(np.linalg.norm(other - one)), 1)):
        plan = taut([(0, way * v[0]), *((abs(u[0] - e), way * far) for e in edges), (abs(u[0] - u[1]), way * v[1])])
        stretch = math.hypot(sum(plan), r[2] - s[2]) / sum(plan)
        sides.append(detour([p * stretch for p in plan], straight, weather=False))
    return detour(top, straight, weather=True), sides, sum(top) - straight


def at_place(s: Any, r: Any, powers: Any, air: Any, soft: Any, wall: Any) -> tuple[np.ndarray, Any]:
    """Levels of the bands, and D_z over the top."""
    s, r = np.array(s), np.array(r)
    plan, distance = math.dist(s[:2], r[:2]), math.dist(s, r)
    q_factor = max(0.0, 1 - 30 * (s[2] + r[2]) / plan) if plan > 0 else 0.0
    middle = -3 * q_factor * np.array([1.0, *[1 - soft[1]] * 7])
    ground = near(s[2], plan, soft[0]) + near(r[2], plan, soft[2]) + middle
    top, sides, _ = barred(s, r, wall) if wall else (None, [], None)
    bar = 0.0 if top is None else -summed([-np.maximum(0, top - ground), *(-d for d in sides)])
    return powers - 20 * math.log10(distance) - 11 - np.array(air) * distance / 1000 - ground - bar + WEIGHTS, top


place = st.tuples(st.floats(-90, 90), st.floats(-90, 90), st.floats(0, 7)).map(lambda p: tuple(round(c, 3) for c in p))
plan = st.tuples(st.floats(-60, 60), st.floats(-60, 60)).map(lambda p: tuple(round(c, 3) for c in p))
sources = st.tuples(
    place, st.lists(st.integers(60, 115), min_size=8, max_size=8), st.floats(0, 1), st.floats(0, 1),
    st.none() | st.tuples(st.floats(0.5, 9), st.floats(0.05, 1)),
)  # fmt: skip
walls = st.none() | st.tuples(st.tuples(plan, plan), st.floats(1, 12), st.sampled_from([0.0, 0.0, 0.4, 3.0]))


@settings(max_examples=min(20, settings().max_examples))
@given(
    st.lists(sources, min_size=1, max_size=3),
    place,
    st.tuples(st.floats(0, 1), st.floats(0, 1), st.floats(0, 1)),
    walls,
    st.sampled_from(sorted(AIR)),
    st.sampled_from([1, 1, 8]),
)
def test_a_scene_by_octave_band(
    answer_of: Any, every: Any, ear: Any, soft: Any, wall: Any, air: Any, wide: float
) -> None:
    """Every band of every source with its image behind a wall; sums, day and night, margins."""
    ear = (*(wide * c for c in ear[:2]), ear[2])
    asked: Json = {
        "method": "octave",
        "sources": [
            {
                "id": f"s{i}",
                **at(x=s[0], y=s[1], z=s[2]),
                "octave_levels": powers,
                "on_time": {"day": day, "night": night},
            }
            | (
                {}
                if wall_behind is None
                else {"reflector": {"distance": q(wall_behind[0], "m"), "reflection": wall_behind[1]}}
            )
            for i, (s, powers, day, night, wall_behind) in enumerate(every)
        ],
        "receivers": [
            {"id": "R", **at(x=ear[0], y=ear[1], z=ear[2]), "limit_day": q(50, "dBA"), "limit_night": q(40, "dBA")}
        ],
        "ground_factor": dict(zip(("source", "middle", "receiver"), soft, strict=True)),
        "air": {"temperature": q(air[0], "degC"), "humidity": air[1]},
    }
    if wall is not None:
        (one, other), height, thickness = wall
        asked["barrier"] = {
            "edge_height": q(height, "m"), "point_1": at(x=one[0], y=one[1]), "point_2": at(x=other[0], y=other[1]),
            "thickness": q(thickness, "m"),
        }  # fmt: skip
    assume(all(math.dist(s[0][:2], ear[:2]) > 0.5 for s in every))
    if wall is not None:  # a line of sight that touches an end is on either side of it by its last bit
        sights = [shapely.LineString([s[0][:2], ear[:2]]) for s in every]
        assume(all(sight.distance(shapely.Point(end)) > 1e-6 for sight in sights for end in wall[0]))
    answer = attempt(answer_of, "site.sound", asked)
    if answer is None:
        return
    (found,) = answer["results"]["receivers"]
    bands, tops = [], []
    for s, powers, _, _, behind in every:
        direct, top = at_place(s, ear, np.array(powers), AIR[air], soft, wall)
        if behind is not None:
            away = np.array(s[:2]) - np.array(ear[:2])
            image = (*(np.array(s[:2]) + 2 * behind[0] * away / np.linalg.norm(away)), s[2])
            returned, _ = at_place(image, ear, np.array(powers), AIR[air], soft, wall)
            direct = summed([direct, returned + 10 * math.log10(behind[1])])
        bands.append(direct)
        tops.append(top)
    levels = [summed(b) for b in bands]
    assert [row["level"]["value"] for row in found["by_source"]] == pytest.approx(levels, abs=1e-5)
    assert found["by_band"] == pytest.approx(list(summed(bands)), abs=1e-5)
    assert found["level"]["value"] == pytest.approx(summed(levels), abs=1e-5)
    for row, top in zip(found["by_source"], tops, strict=True):
        if top is not None:
            assert row["barrier_top_dz"] == pytest.approx(list(top), abs=1e-5)
    loudest = tops[int(np.argmax(levels))]
    if loudest is not None:
        assert found["barrier_top_dz"] == pytest.approx(list(loudest), abs=1e-5)
    energies = 10 ** (np.array(levels) / 10)
    day, night = (float(energies @ np.array([s[k] for s in every])) for k in (2, 3))
    if day > 0 or night > 0:
        mean = (15 * day + 9 * 10 * night) / 24
        assert found["ldn"]["value"] == pytest.approx(10 * math.log10(mean), abs=1e-5)
    for name, limit, energy in (("margin_day", 50, day), ("margin_night", 40, night)):
        assert (name in found) == (energy > 0)
        if energy > 0:
            margin = limit - 10 * math.log10(energy)
            assert found[name]["value"] == pytest.approx(margin, abs=1e-5)
            severity = {f["severity"] for f in answer["findings"] if f["field"] == f"/receivers/0/limit_{name[7:]}"}
            if min(abs(margin), abs(margin - 3)) > 1e-6:
                assert severity == ({"stop"} if margin < 0 else {"check"} if margin < 3 else set())


def screened(height: float, thickness: float = 0.0, **more: Any) -> Json:
    return {
        "method": "octave",
        "sources": [{"id": "S", **at(x=-20, y=3, z=1.5), "octave_levels": [90] * 8}],
        "receivers": [{"id": "R", **at(x=35, y=-8, z=2)}],
        "ground_factor": {"source": 0.2, "middle": 0.5, "receiver": 0.9},
        "air": {"temperature": q(20, "degC"), "humidity": 0.7},
        "barrier": {
            "edge_height": q(height, "m"), "point_1": at(x=0, y=-30), "point_2": at(x=4, y=25), "thickness": q(thickness, "m"),
        },
    } | more  # fmt: skip


@pytest.mark.parametrize("height", [2.0, 5.0, 40.0])
@pytest.mark.parametrize("thickness", [0.0, 2.0])
def test_the_working_of_a_screened_source(answer_of: Any, height: float, thickness: float) -> None:
    """What the working shows of the loudest source: the longer way over the top, its weather factor, and every band."""
    answer = answer_of("site.sound", screened(height, thickness))
    wall = (((0, -30), (4, 25)), height, thickness)
    soft = (0.2, 0.5, 0.9)
    bands, top = at_place((-20, 3, 1.5), (35, -8, 2), np.array([90] * 8), AIR[20, 0.7], soft, wall)
    shown = {line["symbol"]: line["value"] for line in answer["working"]}
    _, _, longer = barred(np.array((-20, 3, 1.5)), np.array((35, -8, 2)), wall)
    assert top is not None
    assert shown["z"] == pytest.approx(longer, abs=1e-6)
    assert [shown[f"L_{hertz}"] for hertz in BANDS] == pytest.approx(list(bands), abs=1e-5)
    assert shown["A_div"] == pytest.approx(20 * math.log10(math.dist((-20, 3, 1.5), (35, -8, 2))) + 11)
    (found,) = answer["results"]["receivers"]
    assert max(found["barrier_top_dz"]) == pytest.approx(float(max(top)))
    if height == 40:
        assert max(found["barrier_top_dz"]) == (25 if thickness else 20)
    k = [line for line in answer["working"] if line["symbol"] == "K_met"]
    wave, square = 340 / 500, (5 * 340 / 500 / thickness) ** 2 if thickness else math.inf
    both = (1 + square) / (1 / 3 + square) if thickness else 1
    if height == 2.0 and not thickness:  # where 20 and 25 dB do not cut it off: equation 14 solved for it
        ratio = (10 ** (found["barrier_top_dz"][3] / 10) - 3) * wave / 20 / both / longer
        assert k[0]["value"] == pytest.approx(ratio, rel=1e-6)


def test_a_screen_in_the_simple_method_is_not_counted_and_said(answer_of: Any) -> None:
    """Kurze and Anderson (from memory): 5 + 20 log10(sqrt(2 pi N) / tanh sqrt(2 pi N)), N = 2 z f / c, at most 24 dB."""
    for height in (1.8, 4.0, 60.0):
        asked = screened(height, method="simple")
        asked["sources"][0]["sound_power_level"] = q(95, "dBA")
        answer = answer_of("site.sound", asked)
        _, _, longer = barred(np.array((-20, 3, 1.5)), np.array((35, -8, 2)), (((0, -30), (4, 25)), height, 0.0))
        assert longer is not None
        root = np.sqrt(2 * math.pi * 2 * longer * BANDS / 340)
        expected = np.minimum(24, 5 + 20 * np.log10(root / np.tanh(root)))
        (found,) = answer["results"]["receivers"]
        assert found["barrier_quick_look"] == pytest.approx(list(expected), abs=1e-6)
        assert "barrier_not_counted" in codes(answer, "note")
        free = {k: v for k, v in asked.items() if k != "barrier"}
        (bare,) = answer_of("site.sound", free)["results"]["receivers"]
        assert found["level"] == bare["level"]


def test_a_source_straight_below_its_receiver_with_a_wall_behind(answer_of: Any) -> None:
    """Geometry: whichever way the wall stands, its image is twice as far aside: 6 m beside, 8 m up, 10 m away."""
    source = {"id": "S", **at(x=3, y=4, z=0), "sound_power_level": q(100, "dBA"), "directivity_factor": 1}
    source["reflector"] = {"distance": q(3, "m"), "reflection": 1}
    asked = {"method": "simple", "sources": [source], "receivers": [{"id": "R", **at(x=3, y=4, z=8)}]}
    (found,) = answer_of("site.sound", asked)["results"]["receivers"]
    expected = 100 - 10.99 + 10 * math.log10(1 / 64 + 1 / 100)
    assert found["level"]["value"] == pytest.approx(expected, abs=1e-9)


@settings(max_examples=min(20, settings().max_examples))
@given(st.floats(30, 120), st.floats(0.2, 30))
def test_what_is_left_of_a_reading(answer_of: Any, background: float, above: float) -> None:
    """Energies: the reading less the background."""
    ear = {
        "id": "R",
        **at(x=0, y=0, z=0),
        "measured_level": q(background + above, "dBA"),
        "background": q(background, "dBA"),
    }
    (found,) = answer_of("site.sound", {"method": "simple", "receivers": [ear]})["results"]["receivers"]
    expected = 10 * math.log10(10 ** ((background + above) / 10) - 10 ** (background / 10))
    assert found["measured_source_level"]["value"] == pytest.approx(expected, abs=1e-6)


@settings(max_examples=min(20, settings().max_examples))
@given(
    st.lists(st.tuples(st.floats(75, 110), st.floats(1, 8)), min_size=1, max_size=3),
    st.floats(35, 70),
    st.floats(30, 60),
)
def test_where_the_stricter_limit_is_met(answer_of: Any, every: Any, day: float, night: float) -> None:
    """Spreading from one spot, 20 log10 r + 11: at that distance all sources together come to the stricter limit."""
    sources = [
        {"id": f"{i}", **at(x=5 * i, y=0, z=1), "sound_power_level": q(power, "dBA"), "directivity_factor": factor}
        for i, (power, factor) in enumerate(every)
    ]
    ear = {"id": "R", **at(x=0, y=40, z=1), "limit_day": q(day, "dBA"), "limit_night": q(night, "dBA")}
    answer = answer_of("site.sound", {"method": "simple", "sources": sources, "receivers": [ear]})
    (found,) = answer["results"]["receivers"]
    together = 10 * math.log10(sum(factor * 10 ** (power / 10) for power, factor in every))
    distance = found["distance_for_limit"]["value"]
    assert together - 20 * math.log10(distance) - 11 == pytest.approx(min(day, night), abs=1e-6)
    levels = [row["level"]["value"] for row in found["by_source"]]
    shown = {line["symbol"]: line["value"] for line in answer["working"]}
    assert [shown[f"L_{i}_R"] for i in range(len(every))] == pytest.approx(levels)
    assert shown["L_R"] == pytest.approx(found["level"]["value"])
    assert shown["Ldn_R"] == pytest.approx(found["ldn"]["value"])
    assert shown["r_R"] == pytest.approx(distance)


@settings(max_examples=min(20, settings().max_examples))
@given(
    st.lists(st.tuples(st.floats(70, 120), st.floats(0.1, 5)), min_size=1, max_size=4),
    st.sampled_from(["osha", "niosh"]),
)
def test_a_workers_day(answer_of: Any, stays: Any, rule: str) -> None:
    """29 CFR 1910.95 Appendix A (seen): C/T with T = 8 / 2^((L - 90) / 5), from 80 dBA, average 16.61 log10 D + 90.
    NIOSH 98-126 (seen as quoted): 85 dBA, 3 dB, average 10 log10 D + 85.
    """
    day = [{"level": q(level, "dBA"), "duration": q(hours, "h")} for level, hours in stays]
    answer = answer_of("site.sound", {"method": "simple", "rule": rule, "exposure": day})
    found = answer["results"]["exposure"]
    base, step, least, slope = {"osha": (90, 5, 80, 16.61), "niosh": (85, 3, 0, 10)}[rule]
    allowed = [8 * 0.5 ** ((level - base) / step) for level, _ in stays]
    dose = sum(hours / time for (level, hours), time in zip(stays, allowed, strict=True) if level >= least)
    assert [time["value"] for time in found["allowed_time"]] == pytest.approx(allowed)
    assert found["dose"] == pytest.approx(dose)
    if dose > 0:
        assert found["twa"]["value"] == pytest.approx(base + slope * math.log10(dose))
    shown = {line["symbol"]: line["value"] for line in answer["working"]}
    assert shown["D"] == pytest.approx(found["dose"])
    if dose > 0:
        assert shown["TWA"] == pytest.approx(found["twa"]["value"])
    assert ("above_115" in codes(answer, "stop")) == (max(level for level, _ in stays) > 115)


@pytest.mark.parametrize(("hours", "taken"), [(12, True), (12.01, False)])
def test_a_day_has_24_hours(answer_of: Any, hours: float, taken: bool) -> None:
    day = [{"level": q(82, "dBA"), "duration": q(hours, "h")}] * 2
    assert (attempt(answer_of, "site.sound", {"method": "simple", "exposure": day}) is not None) == taken


@pytest.mark.parametrize(("apart", "taken"), [(0.101, True), (0.099, False)])
def test_a_receiver_in_its_source_is_refused(answer_of: Any, apart: float, taken: bool) -> None:
    """The family's own limit: a decimetre."""
    source = {"id": "S", **at(x=1, y=1, z=1), "sound_power_level": q(90, "dBA")}
    ear = {"id": "R", **at(x=1, y=1 + 0.6 * apart, z=1 + 0.8 * apart)}
    asked = {"method": "simple", "sources": [source], "receivers": [ear]}
    assert (attempt(answer_of, "site.sound", asked) is not None) == taken


@pytest.mark.parametrize(("side", "apart", "taken"), [
    (1, 1.01, True), (1, 0.99, False), (-1, 1.01, True), (-1, 0.99, False),
])  # fmt: skip
def test_a_source_in_a_thick_barrier_is_refused(answer_of: Any, side: int, apart: float, taken: bool) -> None:
    """Geometry: a barrier of 2 m reaches 1 m to either side of its centre line."""
    asked = screened(5, 2)
    asked["barrier"] |= {"point_1": at(x=0, y=-30), "point_2": at(x=0, y=30)}
    asked["sources"][0] |= at(x=side * apart, y=0)
    asked["receivers"][0] |= at(x=-side * 30, y=2)
    assert (attempt(answer_of, "site.sound", asked) is not None) == taken
    asked["sources"][0], asked["receivers"][0] = (
        asked["sources"][0] | at(x=-side * 30, y=2),
        asked["receivers"][0] | at(x=side * apart, y=0),
    )
    assert (attempt(answer_of, "site.sound", asked) is not None) == taken


@pytest.mark.parametrize(("length", "taken"), [(0.011, True), (0.009, False)])
def test_a_barrier_has_two_ends(answer_of: Any, length: float, taken: bool) -> None:
    """The family's own limit: a centimetre."""
    asked = screened(5)
    asked["barrier"] |= {"point_1": at(x=0, y=0), "point_2": at(x=0.6 * length, y=0.8 * length)}
    assert (attempt(answer_of, "site.sound", asked) is not None) == taken
