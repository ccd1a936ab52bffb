"""`site.lift` held against published and independently computed figures."""

import math

import numpy as np
import pytest
from quantity import q
from scipy.optimize import linprog
from site_given import at, codes

pytestmark = pytest.mark.check
G = 9.80665


def crane(load: dict, picks: list, centre: tuple, hook: float, unit: str = "m", **more: object) -> dict:
    return {
        "method": "crane",
        "load_mass": load,
        "load_mass_basis": "weighed",
        "pick_points": [{"id": f"{i}", **at(unit, x=x, y=y, z=z)} for i, (x, y, z) in enumerate(picks)],
        "centre_of_gravity": at(unit, x=centre[0], y=centre[1], z=centre[2]),
        "hook_z": q(hook, unit),
        **more,
    }


def kilonewton(value: float) -> dict:
    """The mass that weighs so much."""
    return q(value * 1000 / G, "kg")


def tensions(answer: dict, which: str) -> list[float]:
    return [leg[f"tension_{which}"]["value"] for leg in answer["results"]["legs"]]


FOUR = [(-2, -1, 0), (2, -1, 0), (2, 1, 0), (-2, 1, 0)]


def test_two_legs_off_centre(answer_of):
    # University course page on rigging: T1 = W D2 S1/(H (D1 + D2)) (seen); the figures follow from it (derived).
    a = answer_of("site.lift", crane(q(4000, "lb"), [(-2, 0, 0), (10, 0, 0)], (0, 0, -1), 3, "ft"), units="us")
    first, second = a["results"]["legs"]
    assert first["tension_maximum"]["unit"] == "lbf"
    assert first["tension_maximum"]["value"] == pytest.approx(4006, rel=1e-3)
    assert second["tension_maximum"]["value"] == pytest.approx(2320, rel=1e-3)
    assert (first["length"]["value"], second["length"]["value"]) == pytest.approx((3.606, 10.440), abs=1e-3)


@pytest.mark.parametrize(("degrees", "factor"), [(60, 1.155), (45, 1.414), (30, 2.000)])
def test_pull_of_a_leg_at_an_angle(answer_of, degrees, factor):
    # Toolbox-talk table: legs of 1000 lb lift 866, 707 and 500 lb each (seen); 1/sin (derived).
    height = 2 * math.tan(math.radians(degrees))
    a = answer_of("site.lift", crane(kilonewton(20), [(-2, 0, 0), (2, 0, 0)], (0, 0, -1), height))
    assert a["results"]["governing_tension"]["value"] == pytest.approx(10 * factor, rel=5e-4)
    assert a["results"]["legs"][0]["angle_from_horizontal"]["value"] == pytest.approx(degrees)


def test_four_legs_centred(answer_of):
    # Equilibrium (derived), bounds by scipy 1.17.1 linprog (library); two legs may carry all: US Navy manual (seen).
    a = answer_of("site.lift", crane(kilonewton(50), FOUR, (0, 0, -1), 3))
    assert tensions(a, "minimum") == pytest.approx([0] * 4, abs=1e-9)
    assert tensions(a, "maximum") == pytest.approx([31.18] * 4, abs=0.005)
    assert tensions(a, "elastic") == pytest.approx([15.59] * 4, abs=0.005)
    assert a["results"]["legs"][2]["angle_from_horizontal"]["value"] == pytest.approx(53.30, abs=0.005)


def test_four_legs_off_centre(answer_of):
    # scipy 1.17.1 linprog (library).
    a = answer_of("site.lift", crane(kilonewton(50), FOUR, (0.4, 0.1, -1), 3))
    assert tensions(a, "maximum") == pytest.approx([26.64, 26.80, 32.24, 26.31], abs=0.005)
    assert tensions(a, "minimum") == pytest.approx([0, 2.98, 8.79, 0], abs=0.005)
    assert a["results"]["governing_tension"]["value"] == pytest.approx(32.24, abs=0.005)


def test_three_legs(answer_of):
    # numpy linear solution (library).
    a = answer_of("site.lift", crane(kilonewton(60), [(-2, -1, 0), (-2, 1, 0), (2, 0, 0)], (-0.5, 0.1, -1), 3))
    for which in ("minimum", "maximum", "elastic"):
        assert tensions(a, which) == pytest.approx([18.53, 25.18, 29.30], abs=0.005)


def test_bounds_against_another_way_of_setting_the_programme(answer_of):
    """Bounds from the six equations of force and moment on the load, as against pulls through the hook."""
    picks = [(-1.9, -1.1, 0.2), (2.2, -0.9, 0), (2.1, 1.2, 0.1), (-2, 1, 0)]
    centre, hook = (0.3, -0.05, -0.6), 4.0
    a = answer_of("site.lift", crane(kilonewton(80), picks, centre, hook))
    columns = []
    for pick in picks:
        pull = np.array([centre[0], centre[1], hook]) - pick
        pull /= np.linalg.norm(pull)
        columns.append([*pull, *np.cross(np.array(pick) - centre, pull)])
    for index in range(4):
        cost = np.zeros(4)
        cost[index] = -1
        answer = linprog(cost, A_eq=np.array(columns).T, b_eq=[0, 0, 80, 0, 0, 0], bounds=(0, None))
        assert tensions(a, "maximum")[index] == pytest.approx(-answer.fun, rel=1e-9)


def test_spreader(answer_of):
    # Moments about the ends (derived).
    spreader = {"span": q(4, "m"), "hook_offset": q(0.2, "m"), "bridle_height": q(2.3, "m")}
    given = {"method": "crane", "load_mass": kilonewton(60), "load_mass_basis": "weighed", "spreader": spreader}
    r = answer_of("site.lift", given)["results"]["spreader"]
    assert (r["drop_a"]["value"], r["drop_b"]["value"]) == pytest.approx((27, 33), abs=0.005)
    assert (r["top_leg_a"]["value"], r["top_leg_b"]["value"]) == pytest.approx((37.36, 41.90), abs=0.005)
    assert r["compression"]["value"] == pytest.approx(25.83, abs=0.005)


def test_tilt(answer_of):
    # atan(e / h_p) (derived).
    a = answer_of("site.lift", crane(kilonewton(50), FOUR, (0, 0, -0.2), 3, hook_offset=at(x=0.09, y=0.12)))
    assert a["results"]["tilt_angle"]["value"] == pytest.approx(2.68, abs=0.005)


def test_hook_load(answer_of):
    # Sum of the parts, 5 % on a data plate's mass (common practice, no source).
    given = {
        "method": "crane",
        "load_mass": q(6000, "kg"),
        "load_mass_basis": "data_plate",
        "rigging_mass": q(350, "kg"),
        "hook_block_mass": q(250, "kg"),
    }
    r = answer_of("site.lift", given)["results"]
    assert r["hook_load"]["mass"] == q(6900, "kg")
    assert r["hook_load"]["force"]["value"] == pytest.approx(67.67, abs=0.005)
    assert r["legs"] == []


def test_wind_limit(answer_of):
    # EN 13000 / FEM 5.016, v = v_chart sqrt(1.2 m / (cw A)) (memory); figure derived.
    given = {
        "method": "crane",
        "load_mass": q(6, "t"),
        "load_mass_basis": "estimated",
        "chart_wind_speed": q(9.8, "m/s"),
        "load_face_area": q(23.4, "m2"),
    }
    r = answer_of("site.lift", given)["results"]
    assert r["wind_speed_limit"]["value"] == pytest.approx(4.77, abs=0.005)


@pytest.mark.parametrize(
    ("rated", "load_centre", "expected"),
    [
        (3000, 30, 2400),  # 29 CFR 1910.178 Appendix A, A-5 (seen)
        (5000, 28, 4286),  # OSHA powered-industrial-truck eTool, load composition (seen as reprinted, printed 4285)
    ],
)
def test_truck_at_a_longer_load_centre(answer_of, rated, load_centre, expected):
    given = {
        "method": "fork_truck",
        "load_mass": q(2000, "lb"),
        "load_mass_basis": "weighed",
        "rated_capacity": q(rated, "lb"),
        "rated_load_centre": q(24, "in"),
        "load_centre": q(load_centre, "in"),
    }
    r = answer_of("site.lift", given, units="us")["results"]
    assert r["capacity_at_load_centre"]["value"] == pytest.approx(expected, abs=1)


@pytest.mark.parametrize(("grade", "deceleration", "ratio"), [(0, 0, 2.000), (0.05, 0.10, 1.671)])
def test_truck_stability(answer_of, grade, deceleration, ratio):
    # Moments about the front axle (derived).
    given = {
        "method": "fork_truck",
        "load_mass": q(4000, "kg"),
        "load_mass_basis": "weighed",
        "rated_capacity": q(5000, "kg"),
        "rated_load_centre": q(0.6, "m"),
        "load_centre": q(0.9, "m"),
        "front_axle_to_fork_face": q(0.45, "m"),
        "truck_mass": q(7200, "kg"),
        "truck_cg_behind_front_axle": q(1.5, "m"),
        "truck_cg_height": q(0.9, "m"),
        "load_cg_height": q(0.8, "m"),
        "grade": grade,
        "deceleration": deceleration,
    }
    assert answer_of("site.lift", given)["results"]["stability_ratio"] == pytest.approx(ratio, abs=5e-4)


@pytest.mark.parametrize(("degrees", "factor"), [(0, 1.0), (45, 0.70), (90, 0.50), (22.5, 0.85), (67.5, 0.60)])
def test_shackle_pulled_sideways(answer_of, degrees, factor):
    # Training slides on ASME B30.26 (seen); linear between (derived).
    given = crane(
        q(1000, "kg"),
        [(0, 0, 1)],
        (0, 0, 0),
        3,
        shackle_rated_load=q(2000, "kg"),
        shackle_side_angle=q(degrees, "deg"),
    )
    assert answer_of("site.lift", given)["results"]["shackle_utilisation"] == pytest.approx(0.5 / factor)


@pytest.mark.parametrize(
    ("kilovolt", "feet"), [(50, 10), (50.1, 15), (200, 15), (350, 20), (500, 25), (750, 35), (1000, 45)]
)
def test_power_line(answer_of, kilovolt, feet):
    # 29 CFR 1926.1408 Table A (seen).
    def found(distance: float) -> set[str]:
        line = {"voltage": q(kilovolt * 1000, "V"), "distance": q(distance, "ft")}
        given = {"method": "crane", "load_mass": q(1, "t"), "load_mass_basis": "weighed", "power_line": line}
        return codes(answer_of("site.lift", given), "stop")

    assert found(feet - 0.01) == {"power_line"}
    assert found(feet) == set()


@pytest.mark.parametrize(("height", "half"), [(6, 2), (3, 4), (5, 5)])
def test_bridle_of_the_seabees(answer_of, height, half):
    """Seen: NAVEDTRA 14251, Steelworker, volume 1, chapter 6: a bridle lifts SWL (single vertical) x H / L x 2, by two
    legs whatever their number. So a load at that limit pulls each leg of length L with just its own SWL. Ours: as it.
    """
    length, own = math.hypot(height, half), 10.0
    load = own * height / length * 2
    two = answer_of("site.lift", crane(kilonewton(load), [(-half, 0, 0), (half, 0, 0)], (0, 0, -1), height))
    assert two["results"]["governing_tension"]["value"] == pytest.approx(own, rel=1e-6)
    assert two["results"]["legs"][0]["length"]["value"] == pytest.approx(length)
    across = half / math.sqrt(2)
    corners = [(-across, -across, 0), (across, -across, 0), (across, across, 0), (-across, across, 0)]
    four = answer_of("site.lift", crane(kilonewton(load), corners, (0, 0, -1), height))
    assert four["results"]["governing_tension"]["value"] == pytest.approx(own, rel=1e-6)
