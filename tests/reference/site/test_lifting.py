"""Lifts worked out anew: moments as vectors, sets of pulls by enumeration, limits tried on both sides."""

import itertools
import math
from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from quantity import q
from scipy.optimize import brentq
from site_given import at, attempt, codes

from coldwright.contract import Refused

pytestmark = pytest.mark.check
Json = dict[str, Any]
G = 9.80665
ADDED = {"weighed": 1.0, "data_plate": 1.05, "estimated": 1.1}
"""Common practice: what is added for the way in which a mass is known."""


def crane(picks: Any, centre: Any, hook: float, **more: Any) -> Json:
    return {
        "method": "crane",
        "load_mass": q(6000, "kg"),
        "load_mass_basis": "weighed",
        "hook_block_mass": q(200, "kg"),
        "pick_points": [{"id": f"{i}", **at(x=x, y=y, z=z)} for i, (x, y, z) in enumerate(picks)],
        "centre_of_gravity": at(x=centre[0], y=centre[1], z=centre[2]),
        "hook_z": q(hook, "m"),
        **more,
    }


def limits_of(error: Any) -> Any:
    """The range that a refusal names."""
    return error.allowed


def truck(**more: Any) -> Json:
    return {
        "method": "fork_truck",
        "load_mass": q(2000, "kg"),
        "load_mass_basis": "weighed",
        "rated_capacity": q(3500, "kg"),
        "rated_load_centre": q(0.6, "m"),
        "load_centre": q(0.8, "m"),
        "lift_height": q(1, "m"),
        "rated_lift_height": q(3, "m"),
        **more,
    }


@settings(max_examples=min(20, settings().max_examples))
@given(
    st.sampled_from(sorted(ADDED)),
    st.floats(1000, 6000),
    st.tuples(st.floats(0.4, 0.7), st.floats(0.2, 1.4), st.floats(0.2, 0.7)),
    st.tuples(st.floats(50, 400), st.floats(0, 0.5), st.floats(0, 0.3)),
    st.booleans(),
    st.tuples(st.floats(2000, 9000), st.floats(0.5, 2), st.floats(0.3, 1.2), st.floats(0.2, 3)),
    st.tuples(st.floats(-0.2, 0.2), st.floats(0, 0.4)),
    st.floats(1, 2),
)
def test_a_fork_truck(
    answer_of: Any,
    basis: str,
    rated: float,
    centres: Any,
    attachment: Any,
    fitted: bool,
    its: Any,
    way: Any,
    dynamic: float,
) -> None:
    """29 CFR 1910.178 Appendix A, A-5 (seen): the rating times its load centre over that of the load. Statics: moments about
    the front axle as cross products, on a slope and in braking; an attachment weighs and holds the load farther out.
    """
    rated_centre, centre, axle = centres
    own, own_centre, lost = attachment if fitted else (0.0, 0.0, 0.0)
    mass = 2000 * ADDED[basis]
    moment = rated * (axle + rated_centre) - own * (axle + own_centre)
    assume(moment > 10)
    more = {
        "attachment_mass": q(own, "kg"), "attachment_centre": q(own_centre, "m"), "attachment_lost_load": q(lost, "m"),
    } if fitted else {}  # fmt: skip
    asked = truck(
        load_mass_basis=basis,
        rated_capacity=q(rated, "kg"),
        rated_load_centre=q(rated_centre, "m"),
        load_centre=q(centre, "m"),
        front_axle_to_fork_face=q(axle, "m"),
        truck_mass=q(its[0], "kg"),
        truck_cg_behind_front_axle=q(its[1], "m"),
        truck_cg_height=q(its[2], "m"),
        load_cg_height=q(its[3], "m"),
        grade=way[0],
        deceleration=way[1],
        **more,
    )
    answer = answer_of("site.lift", asked)
    results = answer["results"]
    plain = rated * min(1.0, rated_centre / centre)
    by_moment = min(rated, moment / (axle + max(centre, rated_centre) + lost))
    assert results["capacity_at_load_centre"]["value"] == pytest.approx(plain)
    assert results["capacity_with_axle"]["value"] == pytest.approx(by_moment)
    use = mass / min(plain, by_moment)
    assert results["utilisation"] == pytest.approx(use)
    assert ("truck_overloaded" in codes(answer, "stop")) == (use > 1 + 1e-9)
    assert ("attachment_without_plate" in codes(answer, "stop")) == fitted
    slope = math.atan(way[0])
    pull = G * np.array([math.sin(slope) + way[1], -math.cos(slope)])

    def about_the_axle(x: float, z: float, kilograms: float) -> float:
        return -kilograms * (x * pull[1] - z * pull[0])

    tips = about_the_axle(axle + centre + lost, its[3], mass) + about_the_axle(axle + own_centre, its[3], own)
    holds = -about_the_axle(-its[1], its[2], its[0])
    if tips > 0.1:
        ratio = holds / tips
        assert results["stability_ratio"] == pytest.approx(ratio, rel=1e-6, abs=1e-9)
        found = [f["severity"] for f in answer["findings"] if f["code"] == "truck_stability"]
        if min(abs(ratio - 1.4), abs(ratio - 1.15)) > 1e-6:
            assert found == ([] if ratio > 1.4 else ["check"] if ratio > 1.15 else ["stop"])


@pytest.mark.parametrize(("limit", "below", "above"), [(1.4, "check", None), (1.15, "stop", "check")])
def test_where_a_truck_may_tip(answer_of: Any, limit: float, below: str, above: str | None) -> None:
    """Common practice: 1.4 is usual, and 1.15 the least. 2 t at 0.45 + 0.8 m; the truck's mass for just that ratio."""
    for nudge, severity in ((0.998, below), (1.002, above)):
        asked = truck(
            front_axle_to_fork_face=q(0.45, "m"),
            truck_mass=q(limit * nudge * 2000 * 1.25 / 1.5, "kg"),
            truck_cg_behind_front_axle=q(1.5, "m"),
            truck_cg_height=q(0.9, "m"),
            load_cg_height=q(0.8, "m"),
        )
        found = [f["severity"] for f in answer_of("site.lift", asked)["findings"] if f["code"] == "truck_stability"]
        assert found == [severity] * (severity is not None)


def test_the_plate_of_an_attachment_governs(answer_of: Any) -> None:
    """The domain's rule: where the truck's plate gives a capacity with the attachment, that is what the load is compared with,
    be it above or below what the moments come to.
    """
    for plate in (1500, 2600):
        asked = truck(
            attachment_mass=q(150, "kg"), attachment_plate_capacity=q(plate, "kg"), front_axle_to_fork_face=q(0.4, "m")
        )
        answer = answer_of("site.lift", asked)
        assert answer["results"]["utilisation"] == pytest.approx(2000 / plate)
        assert "attachment_without_plate" not in codes(answer)
    for one in ({"attachment_mass": q(1, "kg")}, {"attachment_lost_load": q(0.01, "m")}):
        assert "attachment_without_plate" in codes(answer_of("site.lift", truck(**one)), "stop")


@pytest.mark.parametrize(("height", "high"), [(2.99, False), (3, False), (3.01, True)])
def test_a_lift_to_the_rated_height(answer_of: Any, height: float, high: bool) -> None:
    answer = answer_of("site.lift", truck(lift_height=q(height, "m")))
    assert ("lift_too_high" in codes(answer, "stop")) == high
    assert ("utilisation" in answer["results"]) != high
    for gone in ("lift_height", "rated_lift_height"):
        lacks = answer_of("site.lift", {k: v for k, v in truck().items() if k != gone})
        (found,) = [f for f in lacks["findings"] if f["code"] == "lift_height_not_given"]
        assert (found["field"], found["resolve"]) == (f"/{gone}", f"Give `{gone}`.")


@pytest.mark.parametrize(("degrees", "severity"), [(4.99, None), (5.01, "check"), (9.99, "check"), (10.01, "stop")])
def test_where_a_load_hangs_too_far_out_of_level(answer_of: Any, degrees: float, severity: str | None) -> None:
    """Common practice: 5 deg asks and 10 deg forbids; the hook brought to within tan 5 deg of its height is enough."""
    off = 4 * math.tan(math.radians(degrees))
    asked = crane(
        [(-2, -1, 0), (2, -1, 0), (2, 1, 0), (-2, 1, 0)], (0, 0, -1), 3, hook_offset=at(x=0.6 * off, y=0.8 * off)
    )
    found = [f for f in answer_of("site.lift", asked)["findings"] if f["code"] == "tilt"]
    assert [f["severity"] for f in found] == [severity] * (severity is not None)
    if found:
        assert found[0]["statement"] == f"The load will hang {degrees:.1f} deg out of level."
        assert found[0]["resolve"] == f"Bring the hook within {4 * math.tan(math.radians(5)):.2f} m of the plumb line."


ends = st.tuples(st.floats(-3, 3), st.floats(-3, 3), st.floats(-1, 1))


@settings(max_examples=min(20, settings().max_examples))
@given(ends, ends, st.floats(0.1, 0.9), st.floats(-2, 1.5), st.floats(-0.009, 0.009))
def test_a_load_on_two_legs(answer_of: Any, one: Any, other: Any, share: float, below: float, off: float) -> None:
    """Statics of two pulls in one upright plane; it turns over where its centre of gravity is above the line of the picks."""
    first, second = np.array(one), np.array(other)
    along = second - first
    span = math.hypot(*along[:2])
    assume(span > 0.5)
    foot = first + share * along
    aside = np.array([-along[1], along[0]]) / span
    centre = np.array([*(foot[:2] + off * span * aside), foot[2] + below])
    hook = np.array([*foot[:2], 5.0])
    answer = answer_of("site.lift", crane([one, other], centre.tolist(), 5.0))
    legs = [hook - first, hook - second]
    level = along[:2] / span
    pulls = np.linalg.solve(
        np.array([[leg[:2] @ level / np.linalg.norm(leg), leg[2] / np.linalg.norm(leg)] for leg in legs]).T, [0, 6 * G]
    )
    for row, leg, pull in zip(answer["results"]["legs"], legs, pulls, strict=True):
        assert row["length"]["value"] == pytest.approx(np.linalg.norm(leg))
        assert row["angle_from_horizontal"]["value"] == pytest.approx(
            math.degrees(math.atan2(leg[2], math.hypot(*leg[:2]))), abs=1e-6
        )
        for which in ("minimum", "maximum", "elastic"):
            assert row[f"tension_{which}"]["value"] == pytest.approx(pull, rel=1e-7)
    found = [f for f in answer["findings"] if f["code"] == "centre_of_gravity_above_picks"]
    assert [f["severity"] for f in found] == ["stop"] * (below > 1e-6)
    if found:
        assert found[0]["statement"].startswith(f"The centre of gravity is {below:.3g} m above the line")


@pytest.mark.parametrize(
    ("off", "span", "taken"), [(0.0099, 1, True), (0.0101, 1, False), (0.0396, 4, True), (0.0404, 4, False)]
)
def test_how_far_off_the_line_of_two_picks(answer_of: Any, off: float, span: float, taken: bool) -> None:
    """The family's own limit: a hundredth of the span; beyond it is refused with just that limit."""
    asked = crane([(-span / 4, 1, 0), (span * 3 / 4, 1, 0)], (0, 1 - off, -1), 4)
    if taken:
        assert answer_of("site.lift", asked)["results"]["legs"]
        return
    with pytest.raises(Refused) as refused:
        answer_of("site.lift", asked)
    (error,) = refused.value.errors
    assert error.pointer == "#/centre_of_gravity"
    assert limits_of(error).maximum == pytest.approx(span / 100)
    assert f"{off:.3g} m" in error.detail


@pytest.mark.parametrize(("given_length", "taken"), [(4.951, True), (4.949, False), (5.049, True), (5.051, False)])
def test_a_leg_is_as_long_as_its_ends_are_apart(answer_of: Any, given_length: float, taken: bool) -> None:
    """The family's own limit: a hundredth of the length. 3, 4, 5 between pick and hook."""
    asked = crane([(-3, 0, 0), (3, 0, 0)], (0, 0, -1), 4)
    asked["pick_points"][1]["leg_length"] = q(given_length, "m")
    if taken:
        assert answer_of("site.lift", asked)["results"]["legs"][1]["length"]["value"] == pytest.approx(5)
        return
    with pytest.raises(Refused) as refused:
        answer_of("site.lift", asked)
    (error,) = refused.value.errors
    assert error.pointer == "#/pick_points/1/leg_length"
    assert (limits_of(error).minimum, limits_of(error).maximum) == pytest.approx((4.95, 5.05))


@pytest.mark.parametrize("highest", [0.0, 1.0])
def test_a_hook_as_high_as_a_pick_is_refused(answer_of: Any, highest: float) -> None:
    picks = [(-2, 0, 0), (2, 0, highest)]
    assert answer_of("site.lift", crane(picks, (0, 0, -1), highest + 0.01))["results"]["legs"]
    with pytest.raises(Refused) as refused:
        answer_of("site.lift", crane(picks, (0, 0, -1), highest))
    (error,) = refused.value.errors
    assert (error.pointer, limits_of(error).above) == ("#/hook_z", highest)


corner = st.tuples(st.floats(0.6, 3), st.floats(0.5, 2), st.floats(-0.5, 0.5))


@settings(max_examples=min(20, settings().max_examples))
@given(st.tuples(corner, corner, corner, corner), st.floats(-0.8, 0.8), st.floats(-0.8, 0.8), st.floats(1.5, 7))
def test_four_unlike_legs(answer_of: Any, quarters: Any, x: float, y: float, hook: float) -> None:
    """The pulls of legs alike in stiffness per length are those of least energy sum T^2 L that hold the load and push nowhere:
    sought by leaving out none or one leg. Bounds: every set of three legs that holds it.
    """
    signs = ((-1, -1), (1, -1), (1, 1), (-1, 1))
    picks = np.array([[sx * a, sy * b, z] for (sx, sy), (a, b, z) in zip(signs, quarters, strict=True)])
    centre = (x * float(picks[:, 0].max()) * 0.5, y * float(picks[:, 1].max()) * 0.5, -1.0)
    vectors = np.array([centre[0], centre[1], hook]) - picks
    lengths = np.linalg.norm(vectors, axis=1)
    units = (vectors / lengths[:, None]).T
    load = np.array([0, 0, 6 * G])
    answer = answer_of("site.lift", crane(picks.tolist(), centre, hook))
    found: list[tuple[float, Any]] = []
    corners = []
    for kept in ([0, 1, 2, 3], *map(list, itertools.combinations(range(4), 3))):
        some, stiff = units[:, kept], np.diag(1 / lengths[kept])
        gram = some @ stiff @ some.T
        if abs(np.linalg.det(gram)) < 1e-12:
            continue
        pulls = np.zeros(4)
        pulls[kept] = stiff @ some.T @ np.linalg.solve(gram, load)
        if pulls.min() >= -1e-9:
            found.append((float(pulls**2 @ lengths), pulls))
            corners += [pulls] if len(kept) == 3 else []
    if not found:
        assert "no_equilibrium" in codes(answer, "stop")
        return
    legs = answer["results"]["legs"]
    least, most = np.min(corners, axis=0), np.max(corners, axis=0)
    best = min(found, key=lambda f: f[0])[1]
    for which, expected in (("minimum", least), ("maximum", most), ("elastic", best)):
        shown = [leg[f"tension_{which}"]["value"] for leg in legs]
        assert shown == pytest.approx(list(np.maximum(expected, 0)), rel=1e-6, abs=1e-6)
    words = {line["symbol"]: line for line in answer["working"]}
    for index, leg in enumerate(legs):
        line = words[f"T_{index}"]
        assert line["value"] == pytest.approx(leg["tension_maximum"]["value"])
        said = [
            float(part.split()[0])
            for part in (line["meaning"].split("least ")[1], line["meaning"].split("elastic ")[1])
        ]
        assert said == pytest.approx(
            [leg["tension_minimum"]["value"], leg["tension_elastic"]["value"]], rel=1e-4, abs=1e-8
        )
        assert line["expression"] == f"greatest T with sum T u = (0, 0, {6 * G:.5g} kN), no T below 0"
        way = [float(part) for part in words[f"S_{index}"]["meaning"].split("(")[1].rstrip(")").split(",")]
        assert way == pytest.approx(list(units[:, index]), abs=5.1e-5)


@settings(max_examples=min(20, settings().max_examples))
@given(st.floats(1, 12), st.floats(-0.49, 0.49), st.floats(0.3, 6), st.floats(0, 3000))
def test_a_spreader(answer_of: Any, span: float, share: float, height: float, own: float) -> None:
    """Statics: the drops by moments about the ends, the bridle by the triangle of forces at each end."""
    offset = share * span
    a, b = span / 2 + offset, span / 2 - offset
    asked = {
        "method": "crane",
        "load_mass": q(6000, "kg"),
        "load_mass_basis": "weighed",
        "dynamic_factor": 1.2,
        "spreader": {
            "span": q(span, "m"),
            "hook_offset": q(offset, "m"),
            "bridle_height": q(height, "m"),
            "mass": q(own, "kg"),
        },
    }
    answer = answer_of("site.lift", asked)
    spreader = {name: force["value"] for name, force in answer["results"]["spreader"].items()}
    weight = 7.2 * G
    drops = np.linalg.solve(np.array([[1.0, 1.0], [a, -b]]), np.array([weight, 0.0]))
    slopes = [math.atan2(height, arm) for arm in (a, b)]
    tops = [drop / math.sin(slope) for drop, slope in zip(drops, slopes, strict=True)]
    expected = {
        "drop_a": drops[0], "drop_b": drops[1], "top_leg_a": tops[0], "top_leg_b": tops[1],
        "compression": tops[1] * math.cos(slopes[1]),
    }  # fmt: skip
    assert spreader == pytest.approx(expected)
    shown = {line["symbol"]: line["value"] for line in answer["working"]}
    lines = dict(zip(("R_A", "R_B", "T_A", "T_B", "C"), expected.values(), strict=True))
    assert {symbol: shown[symbol] for symbol in lines} == pytest.approx(lines)
    assert [shown["beta_a"], shown["beta_b"]] == pytest.approx([math.degrees(s) for s in slopes])
    flat = [("stop" if s < 30 else "check" if s < 45 else "note") for s in map(math.degrees, slopes) if s < 60]
    if all(min(abs(math.degrees(s) - limit) for limit in (30, 45, 60)) > 1e-6 for s in slopes):
        assert [f["severity"] for f in answer["findings"] if f["code"] == "leg_angle"] == flat
    assert ("spreader_mass_above" in {a["code"] for a in answer["assumptions"]}) == (own > 0)
    assert shown["W"] == pytest.approx(weight)


@pytest.mark.parametrize("share", [0.499, 0.5, 0.501, -0.5])
def test_a_hook_at_the_end_of_a_spreader_is_refused(answer_of: Any, share: float) -> None:
    spreader = {"span": q(4, "m"), "hook_offset": q(4 * share, "m"), "bridle_height": q(2, "m")}
    asked = {"method": "crane", "load_mass": q(6, "t"), "load_mass_basis": "weighed", "spreader": spreader}
    if abs(share) < 0.5:
        assert answer_of("site.lift", asked)["results"]["spreader"]
        return
    with pytest.raises(Refused) as refused:
        answer_of("site.lift", asked)
    (error,) = refused.value.errors
    assert (limits_of(error).above, limits_of(error).below) == (-2, 2)


@pytest.mark.parametrize(("share", "times"), [(0.95, "1.06"), (1.08, "1.20")])
def test_gear_that_leaves_a_tenth(answer_of: Any, share: float, times: str) -> None:
    """A leg that is used to 0.95 of its rating is used to 0.9 of one 1.06 times as high."""
    asked = crane([(0, 0, 1)], (0, 0, 0), 5, leg_rated_load=q(6000 / share, "kg"))
    (found,) = [f for f in answer_of("site.lift", asked)["findings"] if f["code"] == "leg_use"]
    assert found["resolve"].startswith(f"Gear rated at least {times} times as high")


@pytest.mark.parametrize("expected", [{"expected_wind": q(5, "m/s")}, {"expected_gust": q(7, "m/s")}])
def test_a_gust_that_is_expected(answer_of: Any, expected: Json) -> None:
    """EN 13000 (from memory): a gust is (10 / 10)^0.14 + 0.4 = 1.4 times the mean wind 10 m up; the stronger counts."""
    face = {"chart_wind_speed": q(9.8, "m/s"), "load_face_area": q(14, "m2")}
    limit = 9.8 * math.sqrt(1.2 * 6 / 1.3 / 14)
    lift = crane([(0, 0, 1)], (0, 0, 0), 5, **face)
    answer = answer_of("site.lift", lift | expected)
    assert answer["results"]["expected_gust"]["value"] == pytest.approx(7)
    (found,) = [f for f in answer["findings"] if f["code"] == "wind_above_limit"]
    assert f"{7 - limit:.3g} m/s above the {limit:.3g} m/s" in found["statement"]
    both = answer_of("site.lift", lift | {"expected_wind": q(4, "m/s"), "expected_gust": q(limit, "m/s")})
    assert both["results"]["expected_gust"]["value"] == pytest.approx(max(5.6, limit))
    assert "wind_above_limit" not in codes(both)
    assert "wind_above_limit" in codes(answer_of("site.lift", lift | {"expected_gust": q(limit + 0.001, "m/s")}))
    bare = answer_of("site.lift", crane([(0, 0, 1)], (0, 0, 0), 5) | expected)
    assert "wind_not_compared" in codes(bare, "note")


@pytest.mark.parametrize("way", [(1, 0), (-1, 0), (0, 1), (0, -1)])
@pytest.mark.parametrize(("nudge", "outside"), [(0.99, False), (1.01, True)])
def test_a_load_that_leans_out_of_its_legs(answer_of: Any, way: Any, nudge: float, outside: bool) -> None:
    """Geometry: at b above the picks the legs have come in by b/H of their way to the hook; picks of 4 by 2 m, 0.7 m up."""
    height, below_hook, half = 1.2, 2.8, (2.0, 1.0)[way[1] != 0]
    off = half * below_hook / height * nudge
    picks = [(-2, -1, 0.7), (2, -1, 0.7), (2, 1, 0.7), (-2, 1, 0.7)]
    asked = crane(
        picks, (0, 0, 0.7 + height), 0.7 + height + below_hook, hook_offset=at(x=way[0] * off, y=way[1] * off)
    )
    found = codes(answer_of("site.lift", asked))
    assert ("centre_of_gravity_outside_legs" in found) == outside
    assert ("centre_of_gravity_above_picks" in found) != outside


def test_forks_for_a_deep_load(answer_of: Any) -> None:
    """Common practice: two thirds of the depth lie on the forks."""
    (found,) = [
        f
        for f in answer_of("site.lift", truck(fork_length=q(1.2, "m"), load_depth=q(2.1, "m")))["findings"]
        if f["code"] == "fork_cover"
    ]
    assert found["statement"] == "The forks reach under 0.57 of the load's depth."
    assert found["resolve"].startswith("Forks of 1.40 m or longer")


def test_an_attachment_that_leaves_nothing_names_what_it_may_weigh(answer_of: Any) -> None:
    """Moments: 3,500 kg at 0.4 + 0.6 m against an attachment at 0.4 + 0.3 m: 5,000 kg."""
    for mass, taken in ((4999, True), (5001, False)):
        more = {
            "attachment_mass": q(mass, "kg"),
            "attachment_centre": q(0.3, "m"),
            "front_axle_to_fork_face": q(0.4, "m"),
        }
        if taken:
            assert answer_of("site.lift", truck(**more))["results"]["capacity_with_axle"]["value"] < 1
            continue
        with pytest.raises(Refused) as refused:
            answer_of("site.lift", truck(**more))
        (error,) = refused.value.errors
        assert limits_of(error).below == pytest.approx(5000)


@pytest.mark.parametrize(
    ("share", "code"), [(0.76, "written_plan"), (0.92, "critical_lift"), (1.05, "crane_overloaded")]
)
def test_a_chart_that_is_enough(answer_of: Any, share: float, code: str) -> None:
    """Common practice: 0.75 of the chart without a plan, 0.9 with one."""
    hook = 6200
    asked = crane([(0, 0, 1)], (0, 0, 0), 5, crane_chart_capacity=q(hook / share, "kg"))
    (found,) = [f for f in answer_of("site.lift", asked)["findings"] if f["code"] == code]
    enough = hook / {"written_plan": 0.75, "critical_lift": 0.9}.get(code, 1)
    assert f"{enough:.0f} kg" in found["resolve"]


@pytest.mark.parametrize(("nudge", "taken"), [(1.03, True), (0.97, False)])
@pytest.mark.parametrize("wide", [0.5, 3.0])
def test_legs_that_lie_nearly_in_one_plane(answer_of: Any, nudge: float, taken: bool, wide: float) -> None:
    """The family's own limit: least over greatest singular value of the legs' unit vectors, a ten-thousandth."""

    def case(off: float) -> tuple[list[tuple[float, float, float]], tuple[float, float, float]]:
        return [(-wide, 0.0, 0.0), (wide, 0.0, 0.0), (0.1, off, 0.0)], (0.0, off / 3, -1.0)

    def ratio(off: float) -> float:
        picks, centre = case(off)
        legs = np.array([centre[0], centre[1], 3.0]) - np.array(picks)
        values = np.linalg.svd((legs / np.linalg.norm(legs, axis=1)[:, None]).T, compute_uv=False)
        return float(values[-1] / values[0])

    picks, centre = case(brentq(lambda off: ratio(off) - 1e-4 * nudge, 1e-7, 0.5, xtol=1e-12))
    assert (attempt(answer_of, "site.lift", crane(picks, centre, 3.0)) is not None) == taken
