"""Results of the site family, worked out anew from the published rule by other means, over the whole range."""

import math
from fractions import Fraction
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from quantity import q
from site_given import at

G = 9.80665

pytestmark = pytest.mark.check

# National Weather Service, the heat index equation (Rothfusz, SR 90-23; seen): coefficient of T^i RH^j
ROTHFUSZ = np.array(
    [
        [-42.379, 10.14333127, -5.481717e-2],
        [2.04901523, -0.22475541, 8.5282e-4],
        [-6.83783e-3, 1.22874e-3, -1.99e-6],
    ]
)


def heat_index(t: float, rh: float) -> float:
    """degF. The average of air and the simple form while that is under 80, else the regression and its two adjustments."""
    simple = 0.5 * (t + 61.0 + (t - 68.0) * 1.2 + rh * 0.094)
    if (simple + t) / 2 < 80:
        return (simple + t) / 2
    index = float(np.polynomial.polynomial.polyval2d(t, rh, ROTHFUSZ))
    if rh < 13 and 80 <= t <= 112:
        index -= 0.25 * (13 - rh) * (1 - abs(t - 95) / 17) ** 0.5
    if rh > 85 and 80 <= t <= 87:
        index += 0.02 * (rh - 85) * (87 - t)
    return index


@given(
    st.one_of(st.floats(45, 119), st.floats(80, 112)),
    st.one_of(st.floats(1, 100), st.floats(1, 13), st.floats(85, 100)),
)
def test_heat_index(answer_of: Any, t: float, rh: float) -> None:
    case = {"air_temperature": q(t, "degF"), "relative_humidity": rh / 100}
    found = answer_of("site.weather", case)["results"]["heat_index"]["value"]
    assert found * 1.8 + 32 == pytest.approx(heat_index(t, rh), abs=1e-6)


def test_heat_index_about_its_limits(answer_of: Any) -> None:
    """Just below and above each limit that the equation's adjustments have: 13 and 85 %, 80, 87 and 112 degF."""
    for t in (79.4, 80.6, 86.6, 87.4, 95.0, 111.6, 112.4):
        for rh in (12.5, 13.5, 84.5, 85.5):
            case = {"air_temperature": q(t, "degF"), "relative_humidity": rh / 100}
            found = answer_of("site.weather", case)["results"]["heat_index"]["value"]
            assert found * 1.8 + 32 == pytest.approx(heat_index(t, rh), abs=1e-6)


@given(st.floats(-40, 50), st.floats(3.1, 60))
def test_wind_chill(answer_of: Any, t: float, mph: float) -> None:
    """National Weather Service, 2001 (seen): 35.74 + 0.6215 T - 35.75 V^0.16 + 0.4275 T V^0.16."""
    case = {"air_temperature": q(t, "degF"), "wind_speed": q(mph, "mph")}
    found = answer_of("site.weather", case)["results"]["wind_chill"]["value"]
    root = math.exp(0.16 * math.log(mph))
    assert found * 1.8 + 32 == pytest.approx(35.74 + 0.6215 * t + (0.4275 * t - 35.75) * root, abs=1e-6)


place = st.tuples(st.floats(-40, 40), st.floats(-40, 40), st.floats(0.5, 6))


@given(place, place, st.floats(70, 115), st.sampled_from([1, 2, 4]), st.floats(0.5, 8), st.floats(0.05, 1))
def test_a_source_before_a_wall(
    answer_of: Any, source: Any, receiver: Any, power: float, factor: float, wall: float, reflected: float
) -> None:
    """A point source and its image, as far behind the wall: intensities W Q / (4 pi r^2) added, in W/m2 over 1 pW/m2."""
    away = math.dist(source[:2], receiver[:2])
    if away < 1:
        return
    image = [s + 2 * wall * (s - r) / away for s, r in zip(source[:2], receiver[:2], strict=True)] + [source[2]]
    given_source = {
        "id": "s",
        **{axis: q(at, "m") for axis, at in zip("xyz", source, strict=True)},
        "sound_power_level": q(power, "dBA"),
        "directivity_factor": factor,
        "reflector": {"distance": q(wall, "m"), "reflection": reflected},
    }
    ear = {"id": "r", **{axis: q(at, "m") for axis, at in zip("xyz", receiver, strict=True)}}
    answer = answer_of("site.sound", {"method": "simple", "sources": [given_source], "receivers": [ear]})
    watts = 1e-12 * 10 ** (power / 10) * factor / (4 * math.pi)
    intensity = watts / math.dist(source, receiver) ** 2 + reflected * watts / math.dist(image, receiver) ** 2
    level = answer["results"]["receivers"][0]["level"]["value"]
    assert level == pytest.approx(10 * math.log10(intensity / 1e-12), abs=0.01)


@given(st.floats(1, 40), st.floats(0, 15))
def test_a_flash_and_its_thunder(answer_of: Any, seconds: float, later: float) -> None:
    """343 m/s of sound in air of 20 degC (from memory); thirty quiet minutes (NWS, seen)."""
    at = "2026-07-14T14:00:00-05:00"
    case = {
        "last_lightning": {"at": at, "flash_to_bang": q(seconds, "s")},
        "evaluated_at": f"2026-07-14T14:{29 + int(later > 7.5) * 2}:00-05:00",
    }
    answer = answer_of("site.weather", case)
    assert answer["results"]["lightning_distance"]["value"] == pytest.approx(0.343 * seconds)
    assert any(f["code"] == "lightning" for f in answer["findings"]) is (later <= 7.5)


three = st.lists(st.tuples(st.floats(0.8, 3), st.floats(-0.4, 0.4), st.floats(0, 1)), min_size=3, max_size=3)


@given(
    three,
    st.lists(st.floats(0.2, 1), min_size=3, max_size=3),
    st.floats(-1, 2),
    st.floats(1.0, 2.0),
    st.sampled_from([("weighed", 1.0), ("data_plate", 1.05), ("estimated", 1.1)]),
    st.floats(0.5, 2),
    st.floats(0, 90),
    st.floats(0.1, 1.5),
)
def test_a_lift_on_three_legs(
    answer_of: Any,
    about: list[tuple[float, float, float]],
    share: list[float],
    height: float,
    dynamic: float,
    known: tuple[str, float],
    hitch: float,
    side: float,
    off: float,
) -> None:
    """Statics of three legs that meet in the hook, by numpy; 5 and 10 % on a mass that is not weighed (common practice);
    shackles pulled sideways (ASME B30.26, seen as quoted); EN 13000's wind limit (from memory).
    """
    picks = np.array([[r * math.cos(a + 2.1 * i), r * math.sin(a + 2.1 * i), z] for i, (r, a, z) in enumerate(about)])
    middle = np.array(share) @ picks / sum(share)
    centre, hook = (*middle.tolist()[:2], height), 5.0
    case = {
        "method": "crane",
        "load_mass": q(5000, "kg"),
        "load_mass_basis": known[0],
        "dynamic_factor": dynamic,
        "rigging_mass": q(300, "kg"),
        "hook_block_mass": q(200, "kg"),
        "pick_points": [{"id": f"{i}", **at(x=x, y=y, z=z)} for i, (x, y, z) in enumerate(picks.tolist())],
        "centre_of_gravity": at(x=centre[0], y=centre[1], z=centre[2]),
        "hook_z": q(hook, "m"),
        "hook_offset": at(x=0.6 * off, y=-0.8 * off),
        "hitch_factor": hitch,
        "leg_rated_load": q(4000, "kg"),
        "shackle_rated_load": q(7000, "kg"),
        "shackle_side_angle": q(side, "deg"),
        "crane_chart_capacity": q(9, "t"),
        "chart_wind_speed": q(9.8, "m/s"),
        "load_face_area": q(14, "m2"),
        "drag_coefficient": 1.5,
    }
    answer = answer_of("site.lift", case)
    results = answer["results"]
    legs = np.array([centre[0], centre[1], hook]) - picks
    lengths = np.linalg.norm(legs, axis=1)
    mass = 5000 * known[1] * dynamic
    pulls = np.linalg.solve((legs / lengths[:, None]).T, [0, 0, mass * G / 1000])
    for leg, length, pull in zip(results["legs"], lengths, pulls, strict=True):
        assert leg["length"]["value"] == pytest.approx(length)
        for which in ("minimum", "maximum", "elastic"):
            assert leg[f"tension_{which}"]["value"] == pytest.approx(pull, rel=1e-7)
        assert leg["utilisation"] == pytest.approx(pull * 1000 / G / 4000 / hitch, rel=1e-7)
    worst = max(pulls)
    assert results["governing_tension"]["value"] == pytest.approx(worst, rel=1e-7)
    assert results["required_leg_rated_load"]["value"] == pytest.approx(worst * 1000 / G / hitch, rel=1e-7)
    factor = np.interp(side, [0, 45, 90], [1, 0.7, 0.5])
    assert results["shackle_utilisation"] == pytest.approx(worst * 1000 / G / 7000 / factor, rel=1e-7)
    assert results["hook_load"]["mass"]["value"] == pytest.approx(mass + 500)
    assert results["capacity_fraction"] == pytest.approx((mass + 500) / 9000)
    limit = min(9.8, 9.8 * math.sqrt(1.2 * 5 / (1.5 * 14)))
    assert results["wind_speed_limit"]["value"] == pytest.approx(limit)
    assert results["tilt_angle"]["value"] == pytest.approx(math.degrees(math.atan(off / (hook - height))))
    over = height - min(picks[:, 2])
    said = [f for f in answer["findings"] if f["code"] == "centre_of_gravity_above_picks"]
    outside = any(f["code"] == "centre_of_gravity_outside_legs" for f in answer["findings"])
    assert bool(said) == (over > 1e-6 and not outside)
    if height > max(picks[:, 2]) + 1e-6:  # within the tetrahedron of hook and picks, by its four shares
        corners = np.vstack([picks, [centre[0] + 0.6 * off, centre[1] - 0.8 * off, hook]])
        shares = np.linalg.solve(np.vstack([corners.T, np.ones(4)]), [*centre, 1])
        assert outside == (min(shares) < 0)
    if said:
        assert f"is {over:.3g} m above the lowest pick" in said[0]["statement"]


@given(st.lists(st.floats(-3, 3), min_size=4, max_size=4), st.floats(0.5, 6))
def test_a_load_on_one_lug(answer_of: Any, plan: list[float], above: float) -> None:
    """Geometry: it hangs with its centre of gravity plumb below the lug, wherever the frame of the places begins."""
    x, y, to_x, to_y = plan
    case = {
        "method": "crane",
        "load_mass": q(1000, "kg"),
        "load_mass_basis": "weighed",
        "pick_points": [{"id": "lug", **at(x=to_x, y=to_y, z=1 + above)}],
        "centre_of_gravity": at(x=x, y=y, z=1),
        "hook_z": q(12, "m"),
    }
    tilt = answer_of("site.lift", case)["results"]["tilt_angle"]["value"]
    assert tilt == pytest.approx(math.degrees(math.atan2(math.hypot(to_x - x, to_y - y), above)), abs=1e-9)


def test_the_bridge_formula_over_its_range(answer_of: Any) -> None:
    """23 CFR 658.17 (seen): 500 (L N / (N - 1) + 12 N + 36) to the nearest 500 lb, at most 80,000 lb and 20,000 lb an
    axle; two axles within 8 ft 34,000 lb. In fractions, so that nothing is lost by rounding.
    """
    every = [(Fraction(801 + 277 * step, 100), axles) for axles in range(2, 10) for step in range(65)]
    for begin in range(0, len(every), 100):
        some = every[begin : begin + 100]
        groups = [{"span": q(float(feet), "ft"), "axles": axles, "mass": q(1000, "lb")} for feet, axles in some]
        answer = answer_of("site.transport", {"axle_groups": groups}, units="us")
        limits = [limit["limit"]["value"] for limit in answer["results"]["axle_group_limits"]]
        for (feet, axles), limit in zip(some, limits, strict=True):
            exact = feet * axles / (axles - 1) + 12 * axles + 36
            nearest = 500 * math.floor(exact + Fraction(1, 2))
            assert limit == pytest.approx(min(nearest, 80_000, 20_000 * axles)), (feet, axles)


@given(st.integers(3, 30), st.floats(100, 9000), st.floats(0.1, 0.7), st.floats(30, 90))
def test_straps_that_just_hold(answer_of: Any, number: int, mass: float, friction: float, angle: float) -> None:
    """EN 12195-1 (seen in reproduction): (0.8 - mu) m g 1.25 is held by n straps of 2 mu sin(a) F. With the F that makes it
    n to the last bit, n are enough; a thousandth less, and it takes one more.
    """
    slides = (0.8 - friction) * mass * 9.81 * 1.25
    pull = slides / (2 * friction * math.sin(math.radians(angle)) * number) / 1000
    if not 0.51 < pull < 50:
        return
    piece = {
        "id": "i",
        "length": q(4, "m"),
        "width": q(2, "m"),
        "height": q(1, "m"),
        "mass": q(mass, "kg"),
        "unload": "crane",
    }
    deck = {
        "id": "v",
        "deck_length": q(13, "m"),
        "deck_width": q(2.5, "m"),
        "deck_height": q(1, "m"),
        "payload": q(20, "t"),
    }
    for tension, least in ((pull, number), (pull * 0.999, number + 1)):
        straps = {"tension": q(tension, "kN"), "angle": q(angle, "deg"), "friction": friction}
        case = {"items": [piece], "vehicles": [deck], "rules": "europe", "lashing": straps}
        (ties,) = answer_of("site.transport", case)["results"]["loads"][0]["tie_downs"]
        assert ties["minimum_number"] == least


SIDES_OUT = {"front": (1, 0), "rear": (-1, 0), "left": (0, 1), "right": (0, -1)}


@pytest.mark.parametrize("face", SIDES_OUT)
@pytest.mark.parametrize("half", [-1, 1])
def test_half_a_wall_before_a_side(answer_of: Any, face: str, half: int) -> None:
    """Geometry: a wall before either half of a side that draws air is as far from it as it stands, 1.3 m."""
    out_x, out_y = SIDES_OUT[face]
    away = (3 if out_x else 1) + 1.3
    beside = [half * at_ for at_ in (0.2, 0.8)]
    ends = [(out_x * away + out_y * b, out_y * away + out_x * b) for b in beside]
    machine = {"id": "M", "length": q(6, "m"), "width": q(2, "m"), "height": q(2.5, "m"), "intake_faces": [face]}
    case = {
        "machines": [machine],
        "positions": [{"id": "M", **at(x=0, y=0), "rotation": q(0, "deg")}],
        "obstacles": [{"id": "W", "kind": "wall", "polygon": [at(x=x, y=y) for x, y in ends]}],
    }
    gaps = [c for c in answer_of("site.placement", case)["results"]["clearances"] if c["rule"] == "intake_to_wall"]
    assert [gap["distance"]["value"] for gap in gaps] == [pytest.approx(1.3)]


@given(st.floats(100, 3000), st.floats(1000, 20000))
def test_a_spreader_hangs_on_the_hook_as_well(answer_of: Any, own: float, load: float) -> None:
    """Statics: the hook bears load, block, rigging and spreader; half of the spreader pulls upright at each of its ends."""
    case = {
        "method": "crane",
        "load_mass": q(load, "kg"),
        "load_mass_basis": "weighed",
        "rigging_mass": q(150, "kg"),
        "hook_block_mass": q(250, "kg"),
        "spreader": {"span": q(4, "m"), "bridle_height": q(2.5, "m"), "mass": q(own, "kg")},
    }
    answer = answer_of("site.lift", case)
    assert answer["results"]["hook_load"]["mass"]["value"] == pytest.approx(load + 400 + own)
    (said,) = [a["statement"] for a in answer["assumptions"] if a["code"] == "spreader_mass_above"]
    each = float(said.split("about ")[1].split(" kN")[0])
    assert each == pytest.approx(own * G / 2000, rel=6e-3)
