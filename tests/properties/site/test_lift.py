"""What must hold of `site.lift` whatever the load, and what it refuses."""

import itertools
import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from quantity import q
from site_given import at, attempt, cautioned, codes

from coldwright.contract import Refused

G = 9.80665
length = st.floats(-5, 5, allow_nan=False).map(lambda v: round(v, 3))


def crane(picks, centre, hook, mass=6000.0, **more):
    return {
        "method": "crane",
        "load_mass": q(mass, "kg"),
        "load_mass_basis": "weighed",
        "hook_block_mass": q(200, "kg"),
        "pick_points": [{"id": f"{i}", **at(x=x, y=y, z=z)} for i, (x, y, z) in enumerate(picks)],
        "centre_of_gravity": at(x=centre[0], y=centre[1], z=centre[2]),
        "hook_z": q(hook, "m"),
        **more,
    }


def truck(**more):
    return {
        "method": "fork_truck",
        "load_mass": q(1000, "kg"),
        "load_mass_basis": "weighed",
        "rated_capacity": q(2500, "kg"),
        "rated_load_centre": q(0.5, "m"),
        "load_centre": q(0.8, "m"),
        "lift_height": q(1, "m"),
        "rated_lift_height": q(3, "m"),
        **more,
    }


FOUR = [(-2, -1, 0), (2, -1, 0), (2, 1, 0), (-2, 1, 0)]
RECTANGLE = st.tuples(st.floats(0.5, 4), st.floats(0.5, 2), st.floats(-0.8, 0.8), st.floats(-0.8, 0.8))


def pulls(answer, which):
    return np.array([leg[f"tension_{which}"]["value"] for leg in answer["results"]["legs"]])


def exact_greatest(picks, centre, hook, weight):
    """Greatest pull of any leg over all sets of three legs that hold the load: the corners of the programme."""
    vectors = np.array([np.subtract((centre[0], centre[1], hook), p) for p in picks])
    units = (vectors / np.linalg.norm(vectors, axis=1)[:, None]).T
    best = 0.0
    for three in itertools.combinations(range(len(picks)), 3):
        try:
            t = np.linalg.solve(units[:, three], (0, 0, weight))
        except np.linalg.LinAlgError:
            continue
        if t.min() >= -1e-12 * weight:
            best = max(best, t.max())
    return best


@given(RECTANGLE, st.floats(1, 8), st.floats(100, 90000))
def test_pulls_balance_the_weight_in_force_and_moment(answer_of, shape, hook, mass):
    half, side, ex, ey = shape
    picks = [(-half, -side, 0), (half, -side, 0), (half, side, 0), (-half, side, 0)]
    centre = (ex * half, ey * side, -0.5)
    answer = answer_of("site.lift", crane(picks, centre, hook, mass))
    weight = mass * G / 1000
    force, moment = np.zeros(3), np.zeros(3)
    for pull, pick in zip(pulls(answer, "elastic"), picks, strict=True):
        to_hook = np.subtract((centre[0], centre[1], hook), pick)
        vector = pull * to_hook / np.linalg.norm(to_hook)
        force += vector
        moment += np.cross(np.subtract(pick, centre), vector)
    assert np.abs(force - (0, 0, weight)).max() <= 1e-9 * weight
    assert np.abs(moment).max() <= 1e-9 * weight * 10


@given(RECTANGLE, st.floats(1, 8))
def test_governing_pull_is_never_below_the_exact_bound(answer_of, shape, hook):
    half, side, ex, ey = shape
    picks = [(-half, -side, 0), (half, -side, 0.1), (half, side, 0), (-half, side, 0.2)]
    centre = (ex * half, ey * side, -0.5)
    answer = answer_of("site.lift", crane(picks, centre, hook))
    bound = exact_greatest(picks, centre, hook, 6000 * G / 1000)
    governing = answer["results"]["governing_tension"]["value"]
    assert governing == pytest.approx(bound, rel=1e-8)
    assert governing >= bound * (1 - 1e-11)
    assert (pulls(answer, "minimum") <= pulls(answer, "elastic") + 1e-9).all()
    assert (pulls(answer, "elastic") <= pulls(answer, "maximum") + 1e-9).all()


@given(RECTANGLE, st.floats(1, 8), st.floats(0.1, 0.99), st.sampled_from([2, 3, 4]))
def test_a_flatter_sling_never_pulls_less(answer_of, shape, hook, lower, count):
    half, side, ex, ey = shape
    if count == 2:
        picks, centre = [(-half, 0, 0), (half, 0, 0)], (ex * half, 0, -0.5)
    elif count == 3:
        picks, centre = [(-half, -side, 0), (half, -side, 0), (0, side, 0)], (0, ey * side * 0.5, -0.5)
    else:
        picks = [(-half, -side, 0), (half, -side, 0), (half, side, 0), (-half, side, 0)]
        centre = (ex * half, ey * side, -0.5)
    steep = answer_of("site.lift", crane(picks, centre, hook))["results"]["governing_tension"]["value"]
    flat = answer_of("site.lift", crane(picks, centre, hook * lower))["results"]["governing_tension"]["value"]
    assert flat >= steep * (1 - 1e-9)


@given(st.floats(0.1, 3), st.floats(0.1, 3), st.booleans(), st.floats(0, 300))
def test_a_longer_load_centre_never_lifts_more(answer_of, one, other, with_axle, attachment):
    near, far = sorted((one, other))
    more = {"front_axle_to_fork_face": q(0.4, "m"), "attachment_mass": q(attachment, "kg")} if with_axle else {}
    first = answer_of("site.lift", truck(load_centre=q(near, "m"), **more))["results"]
    second = answer_of("site.lift", truck(load_centre=q(far, "m"), **more))["results"]
    for name in ("capacity_at_load_centre", "capacity_with_axle"):
        if name in first:
            assert second[name]["value"] <= first[name]["value"] * (1 + 1e-12)
    assert second["utilisation"] >= first["utilisation"] * (1 - 1e-12)
    assert second["capacity_at_load_centre"]["value"] <= 2500


def test_units_change_nothing(answer_of):
    metric = answer_of("site.lift", crane(FOUR, (0.4, 0.1, -1), 3))
    feet = [tuple(c / 0.3048 for c in p) for p in FOUR]
    us = answer_of(
        "site.lift",
        {
            "method": "crane",
            "load_mass": q(6000 / 0.45359237, "lb"),
            "load_mass_basis": "weighed",
            "hook_block_mass": q(0.2, "t"),
            "pick_points": [{"id": f"{i}", **at("ft", x=x, y=y, z=z)} for i, (x, y, z) in enumerate(feet)],
            "centre_of_gravity": at("in", x=0.4 / 0.0254, y=0.1 / 0.0254, z=-1 / 0.0254),
            "hook_z": q(3000, "mm"),
        },
    )
    assert pulls(us, "maximum") == pytest.approx(pulls(metric, "maximum"), rel=1e-9)
    assert us["results"]["hook_load"]["force"]["value"] == pytest.approx(
        metric["results"]["hook_load"]["force"]["value"], rel=1e-9
    )


def test_every_lift_defers_to_chart_permit_and_competent_person(answer_of):
    assert cautioned(answer_of("site.lift", crane(FOUR, (0, 0, -1), 3)))
    assert cautioned(answer_of("site.lift", truck()))


@given(st.data())
def test_any_four_picks_give_an_answer_or_a_refusal(answer_of, data):
    picks = [data.draw(st.tuples(length, length, st.floats(-1, 1))) for _ in range(data.draw(st.integers(1, 4)))]
    centre = data.draw(st.tuples(length, length, st.floats(-3, 3)))
    offset = data.draw(st.tuples(length, length))
    given = crane(picks, centre, data.draw(st.floats(0, 8)), hook_offset=at(x=offset[0], y=offset[1]))
    answer = attempt(answer_of, "site.lift", given)
    if answer is None:
        return
    if "governing_tension" in answer["results"]:
        assert answer["results"]["governing_tension"]["value"] > 0
    else:
        assert "no_equilibrium" in codes(answer, "stop")


@pytest.mark.parametrize(
    ("more", "pointer"),
    [
        ({"hook_z": q(-0.5, "m")}, "#/hook_z"),
        ({"pick_points": [{"id": "a", **at(x=0, y=0, z=0)}, {"id": "a", **at(x=1, y=0, z=0)}]}, "#/pick_points/1/id"),
        ({"pick_points": [{"id": "a", **at(x=0, y=0, z=0)}, {"id": "b", **at(x=0, y=0, z=1)}]}, "#/pick_points"),
        ({"pick_points": [{"id": f"{i}", **at(x=i, y=0, z=0)} for i in range(-1, 2)]}, "#/pick_points"),
        ({"pick_points": [{"id": f"{i}", **at(x=i, y=i, z=0)} for i in range(-1, 3)]}, "#/pick_points"),
        ({"pick_points": [{"id": f"{i}", **at(x=i, y=1, z=0)} for i in (-1, 1)]}, "#/centre_of_gravity"),
        ({"pick_points": [{"id": f"{i}", **at(x=i, y=0, z=0)} for i in range(5)]}, "#/pick_points"),
        ({"shackle_side_angle": q(91, "deg")}, "#/shackle_side_angle"),
        ({"load_mass": q(0, "kg")}, "#/load_mass"),
        ({"dynamic_factor": 0.9}, "#/dynamic_factor"),
        ({"drag_coefficient": 1.1}, "#/drag_coefficient"),
        (
            {"spreader": {"span": q(4, "m"), "hook_offset": q(2, "m"), "bridle_height": q(2, "m")}},
            "#/spreader/hook_offset",
        ),
        ({"power_line": {"voltage": q(1.1e6, "V"), "distance": q(40, "m")}}, "#/power_line/voltage"),
    ],
)
def test_refused(answer_of, more, pointer):
    with pytest.raises(Refused) as refused:
        answer_of("site.lift", crane(FOUR, (0, 0, -1), 3) | more)
    assert pointer in [e.pointer for e in refused.value.errors]


def test_leg_lengths_that_do_not_fit_are_refused(answer_of):
    """The course's own example: 4 and 14 ft of leg over 2 and 10 ft do not meet 3 ft above the load."""
    picks = [
        {"id": "1", **at("ft", x=-2, y=0, z=0), "leg_length": q(4, "ft")},
        {"id": "2", **at("ft", x=10, y=0, z=0), "leg_length": q(14, "ft")},
    ]
    with pytest.raises(Refused) as refused:
        answer_of("site.lift", crane([], (0, 0, -1), 0.9144) | {"pick_points": picks})
    assert refused.value.errors[0].pointer == "#/pick_points/0/leg_length"


def test_picks_centre_and_hook_come_together(answer_of):
    whole = crane(FOUR, (0, 0, -1), 3)
    for gone in ("pick_points", "centre_of_gravity", "hook_z"):
        with pytest.raises(Refused) as refused:
            answer_of("site.lift", {k: v for k, v in whole.items() if k != gone})
        assert [e.pointer for e in refused.value.errors] == [f"#/{gone}"]


def test_a_truck_needs_its_plate(answer_of):
    with pytest.raises(Refused) as refused:
        answer_of("site.lift", {"method": "fork_truck", "load_mass": q(1, "t"), "load_mass_basis": "weighed"})
    assert {e.pointer for e in refused.value.errors} == {"#/rated_capacity", "#/rated_load_centre", "#/load_centre"}


def test_an_attachment_that_leaves_nothing_is_refused(answer_of):
    more = {"front_axle_to_fork_face": q(0.4, "m"), "attachment_mass": q(9000, "kg")}
    with pytest.raises(Refused) as refused:
        answer_of("site.lift", truck(**more))
    assert refused.value.errors[0].pointer == "#/attachment_mass"


RATED = {"crane_chart_capacity": q(9, "t")}
TWO = [(-2, 0, 0), (2, 0, 0)]


@pytest.mark.parametrize(
    ("given", "code", "severity"),
    [
        (crane(FOUR, (0, 0, -1), 3, hook_block_mass=q(0, "kg")), "hook_block_not_given", "check"),
        (crane(FOUR, (0, 0, -1), 3), "no_chart", "check"),
        (crane(FOUR, (0, 0, -1), 3, crane_chart_capacity=q(6, "t")), "crane_overloaded", "stop"),
        (crane(FOUR, (0, 0, -1), 3, crane_chart_capacity=q(6.8, "t")), "critical_lift", "check"),
        (crane(FOUR, (0, 0, -1), 3, crane_chart_capacity=q(8, "t")), "written_plan", "check"),
        (crane(TWO, (0, 0, -1), 1.1, **RATED), "leg_angle", "stop"),
        (crane(TWO, (0, 0, -1), 1.9, **RATED), "leg_angle", "check"),
        (crane(TWO, (0, 0, -1), 3, **RATED), "leg_angle", "note"),
        (crane(FOUR, (2.5, 0, -1), 3), "no_equilibrium", "stop"),
        (crane(TWO, (2.5, 0, -1), 3), "no_equilibrium", "stop"),
        (crane(FOUR, (0, 0, -1), 3, leg_rated_load=q(3000, "kg")), "leg_use", "stop"),
        (crane(FOUR, (0, 0, -1), 3, leg_rated_load=q(4000, "kg")), "leg_use", "check"),
        (crane(FOUR, (0, 0, -1), 3, shackle_rated_load=q(3000, "kg")), "shackle_use", "stop"),
        (crane(FOUR, (0, 0, -1), 3, shackle_rated_load=q(4000, "kg")), "shackle_use", "check"),
        (crane(FOUR, (0, 0, 3.5), 3), "turns_over", "stop"),
        (crane([(0, 0, 0)], (0, 0, 0.5), 3), "turns_over", "stop"),
        (crane(TWO, (0, 0, 0.2), 3), "centre_of_gravity_above_picks", "stop"),
        (crane(FOUR, (0, 0, 0.2), 4), "centre_of_gravity_above_picks", "check"),
        (crane(FOUR, (0, 0.9, 3), 4, hook_offset=at(x=0, y=-3)), "centre_of_gravity_outside_legs", "stop"),
        (crane([(0.02, 0, 2)], (0, 0, 0), 5), "lug_not_plumb", "note"),
        (crane(FOUR, (0, 0, -1), 3, hook_offset=at(x=0.4, y=0)), "tilt", "check"),
        (crane(FOUR, (0, 0, -1), 3, hook_offset=at(x=0.8, y=0)), "tilt", "stop"),
        (
            crane(FOUR, (0, 0, -1), 3, power_line={"voltage": q(11000, "V"), "distance": q(3, "m")}),
            "power_line",
            "stop",
        ),
        (crane(FOUR, (0, 0, -1), 3, grade=0.1), "field_of_another_method", "note"),
        (truck(hitch_factor=2), "field_of_another_method", "note"),
        ({k: v for k, v in truck().items() if k != "lift_height"}, "lift_height_not_given", "check"),
        (truck(lift_height=q(3.1, "m")), "lift_too_high", "stop"),
        (truck(load_mass=q(2000, "kg")), "truck_overloaded", "stop"),
        (truck(attachment_mass=q(100, "kg")), "attachment_without_plate", "stop"),
        (truck(fork_length=q(1, "m"), load_depth=q(1.6, "m")), "fork_cover", "check"),
    ],
)
def test_findings(to_the_word, given, code, severity):
    assert code in codes(to_the_word("site.lift", given), severity)


@pytest.mark.parametrize(("mass", "severity"), [(4500, "check"), (6500, "stop")])
def test_truck_that_may_tip(answer_of, mass, severity):
    given = truck(
        load_mass=q(mass, "kg"),
        front_axle_to_fork_face=q(0.45, "m"),
        truck_mass=q(5000, "kg"),
        truck_cg_behind_front_axle=q(1.5, "m"),
        truck_cg_height=q(0.9, "m"),
        load_cg_height=q(0.8, "m"),
    )
    answer = answer_of("site.lift", given)
    assert "truck_stability" in codes(answer, severity)
    assert answer["outcome"] == "unacceptable"  # overloaded too


def test_too_high_gives_no_capacity(answer_of):
    results = answer_of("site.lift", truck(lift_height=q(4, "m")))["results"]
    assert not {"capacity_at_load_centre", "capacity_with_axle", "utilisation"} & results.keys()


def test_a_good_lift_is_acceptable(answer_of):
    answer = answer_of("site.lift", crane(FOUR, (0, 0, -1), 5, **RATED, leg_rated_load=q(5, "t")))
    assert answer["outcome"] == "acceptable"


def test_load_inside_the_rated_centre_gets_no_more_than_the_plate(answer_of):
    results = answer_of("site.lift", truck(load_centre=q(0.3, "m"), front_axle_to_fork_face=q(0.4, "m")))["results"]
    assert results["capacity_at_load_centre"]["value"] == results["capacity_with_axle"]["value"] == 2500


@given(st.floats(0, 2), st.floats(0.5, 6))
def test_single_lug_hangs_by_its_own_offset(answer_of, off, above):
    assume(math.degrees(math.atan2(off, above)) < 80)
    answer = answer_of("site.lift", crane([(off, 0, above)], (0, 0, 0), above + 3))
    assert answer["results"]["tilt_angle"]["value"] == pytest.approx(math.degrees(math.atan2(off, above)))
    assert answer["results"]["governing_tension"]["value"] == pytest.approx(6000 * G / 1000)


@pytest.mark.parametrize(("degrees", "severities"), [(30, ["check", "check"]), (45, ["note", "note"]), (60, [])])
def test_a_leg_at_a_limit_is_on_its_steep_side(answer_of, degrees, severities):
    """tan 45 deg is not 1 to the last bit, and a limit belongs to what is steeper."""
    given = crane(TWO, (0, 0, -1), 2 * math.tan(math.radians(degrees)), **RATED)
    found = [f["severity"] for f in answer_of("site.lift", given)["findings"] if f["code"] == "leg_angle"]
    assert found == severities


def test_gear_used_to_its_limit_is_not_overloaded(answer_of):
    """6000 kg x 1.1 is not 6600 to the last bit."""
    full = crane(FOUR, (0, 0, -1), 5, hook_block_mass=q(0, "kg"), crane_chart_capacity=q(6600, "kg"))
    answer = answer_of("site.lift", full | {"load_mass_basis": "estimated"})
    assert answer["results"]["capacity_fraction"] == 1
    assert "crane_overloaded" not in codes(answer)
    plate = {"rated_capacity": q(3000, "lb"), "rated_load_centre": q(24, "in")}
    answer = answer_of("site.lift", truck(**plate, load_mass=q(2400, "lb"), load_centre=q(30, "in")))
    assert answer["results"]["utilisation"] == 1
    assert "truck_overloaded" not in codes(answer)
