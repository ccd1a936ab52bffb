"""What must hold of `site.ground` whatever stands on it, and what it refuses."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from quantity import q
from site_given import at, attempt, cautioned, codes

from coldwright.contract import Refused

G = 9.80665
KNOWN = {"services_known": True}


def skid(x=0.0, y=0.0, **more):
    return {
        "contact": "skid",
        "load": q(6000, "kg"),
        "contact_length": q(6, "m"),
        "contact_width": q(2.2, "m"),
        "eccentricity": at(x=x, y=y),
        "soil_class": "sand",
        **KNOWN,
    } | more


def feet(points, x=0.0, y=0.0, **more):
    return {
        "contact": "feet",
        "load": q(8000, "kg"),
        "eccentricity": at(x=x, y=y),
        "feet": [{"id": f"{i}", **at(x=px, y=py), "area": q(0.3, "m2")} for i, (px, py) in enumerate(points)],
        "allowable_bearing_pressure": q(400, "kPa"),
        **KNOWN,
    } | more


def outrigger(**crane):
    return {
        "contact": "outrigger",
        "crane": {
            "mass": q(36, "t"),
            "load_mass": q(7.5, "t"),
            "radius": q(9, "m"),
            "slew_angle": q(30, "deg"),
            "outriggers": [at(x=x, y=y) for x in (-3, 3) for y in (-3, 3)],
        }
        | crane,
        "allowable_bearing_pressure": q(200, "kPa"),
        **KNOWN,
    }


def mat(**more):
    return {
        "contact": "mat",
        "load": q(20, "t"),
        "contact_length": q(0.6, "m"),
        "allowable_bearing_pressure": q(80, "kPa"),
        "mat": {"width": q(1.2, "m"), "thickness": q(0.3, "m"), "mass": q(800, "kg"), "material": "timber"} | more,
        **KNOWN,
    }


RECTANGLE = [(-1, -3), (1, -3), (-1, 3), (1, 3)]
coordinate = st.floats(-5, 5).map(lambda v: round(v, 3))


@given(st.lists(st.tuples(coordinate, coordinate), min_size=3, max_size=6), coordinate, coordinate)
def test_reactions_carry_weight_and_moment(answer_of, points, x, y):
    answer = attempt(answer_of, "site.ground", feet(points, x, y))
    if answer is None:
        return
    reactions = np.array([f["value"] for f in answer["results"]["reactions"]])
    weight = 8 * G
    largest = np.abs(reactions).max() + weight
    assert abs(reactions.sum() - weight) <= 1e-9 * largest
    assert np.abs(reactions @ np.array(points) - weight * np.array((x, y))).max() <= 1e-8 * largest
    if "worst_reaction" in answer["results"]:
        assert answer["results"]["worst_reaction"]["value"] >= reactions.max() - 1e-9 * largest
    else:
        assert "overturns" in codes(answer, "stop")


@given(st.floats(-3.2, 3.2), st.floats(-1.2, 1.2))
def test_pressure_rises_from_the_mean_and_answers_stay_finite(answer_of, x, y):
    answer = answer_of("site.ground", skid(x, y))
    mean = 6 * G / 13.2
    if "overturns" in codes(answer):
        assert "utilisation" not in answer["results"]
        assert abs(x) > 2.99 or abs(y) > 1.09
    else:
        assert answer["results"]["bearing_pressure_maximum"]["value"] >= mean * (1 - 1e-9)
        assert 0 < answer["results"]["contact_length_effective"]["value"] <= 6


@given(st.floats(0, 2.9), st.floats(0, 1.05), st.floats(0, 1))
def test_nearer_to_the_middle_presses_less(answer_of, x, y, share):
    out = answer_of("site.ground", skid(x, y))["results"]["bearing_pressure_maximum"]["value"]
    near = answer_of("site.ground", skid(share * x, share * y))["results"]["bearing_pressure_maximum"]["value"]
    assert near <= out * (1 + 1e-6)


@given(st.floats(0.05, 1), st.floats(0.05, 1))
def test_both_ways_meets_one_way(answer_of, x, y):
    """A second eccentricity of next to nothing changes next to nothing."""
    one = answer_of("site.ground", skid(2.8 * x, 0))["results"]["bearing_pressure_maximum"]["value"]
    both = answer_of("site.ground", skid(2.8 * x, 1e-5 * y))["results"]["bearing_pressure_maximum"]["value"]
    assert both == pytest.approx(one, rel=1e-3)


@given(st.floats(0.2, 4), st.floats(100, 5000), st.floats(20, 1000), st.sampled_from(["timber", "metal"]))
def test_a_mat_keeps_its_allowable_stresses(answer_of, length, bending, shear, material):
    more = {
        "length": q(length, "m"),
        "bending_allowable": q(bending, "kPa"),
        "shear_allowable": q(shear, "kPa"),
        "material": material,
    }
    r = answer_of("site.ground", mat(**more))["results"]
    assert r["mat"]["bending_stress_mpa"] <= bending / 1000 * (1 + 1e-9)
    assert r["mat"]["shear_stress_mpa"] <= shear / 1000 * (1 + 1e-9)
    asked = min(length, r["mat"]["required_length"]["value"])
    effective = r["contact_length_effective"]["value"]
    assert effective <= asked * (1 + 1e-9)
    # and no shorter than the first of these limits makes it
    reached = (
        effective == pytest.approx(asked),
        r["mat"]["bending_stress_mpa"] == pytest.approx(bending / 1000),
        r["mat"]["shear_stress_mpa"] == pytest.approx(shear / 1000),
    )
    assert any(reached)


def test_units_change_nothing(answer_of):
    metric = answer_of("site.ground", skid(0.3, 0.6))["results"]
    us = answer_of(
        "site.ground",
        skid()
        | {
            "load": q(6000 / 0.45359237, "lb"),
            "contact_length": q(6 / 0.3048, "ft"),
            "contact_width": q(2200, "mm"),
            "eccentricity": at("in", x=0.3 / 0.0254, y=0.6 / 0.0254),
        },
    )["results"]
    for name in ("bearing_pressure_maximum", "contact_length_effective", "required_area"):
        assert us[name]["value"] == pytest.approx(metric[name]["value"], rel=1e-7)


def test_wind_leans_to_the_heavier_side(answer_of):
    wind = {"wind_force": q(10, "kN"), "wind_force_height": q(1.2, "m")}
    still = answer_of("site.ground", skid(0, -0.1))["results"]["bearing_pressure_maximum"]["value"]
    windy = answer_of("site.ground", skid(0, -0.1, **wind))["results"]["bearing_pressure_maximum"]["value"]
    moved = answer_of("site.ground", skid(0, -0.1 - 12 / (6 * G)))["results"]["bearing_pressure_maximum"]["value"]
    assert windy > still
    assert windy == pytest.approx(moved, rel=1e-9)


def test_pressure_at_depth(answer_of):
    layer = {"depth": q(1, "m"), "allowable": q(2, "kPa")}
    answer = answer_of("site.ground", skid(depth_check=layer))
    assert answer["results"]["pressure_at_depth"]["value"] == pytest.approx(6 * G / (7 * 3.2))
    assert "weak_layer" in codes(answer, "stop")


def test_pads_give_utilisation(answer_of):
    given = outrigger() | {"contact_length": q(2, "m"), "contact_width": q(1.5, "m")}
    r = answer_of("site.ground", given)["results"]
    assert r["utilisation"] == pytest.approx(r["worst_reaction"]["value"] / 3 / 200)


@pytest.mark.parametrize(
    ("given", "pointer"),
    [
        (skid(soil_class="unprepared"), "#/soil_class"),
        (skid(allowable_bearing_pressure=q(100, "kPa")), "#/soil_class"),
        ({k: v for k, v in skid().items() if k != "soil_class"}, "#/allowable_bearing_pressure"),
        ({k: v for k, v in skid().items() if k != "load"}, "#/load"),
        ({k: v for k, v in skid().items() if k != "contact_width"}, "#/contact_width"),
        (feet([(0, 0), (1, 0)]), "#/feet"),
        (feet([(0, 0), (1, 0), (2, 0)]), "#/feet"),
        (feet([(0, 0), (0, 0), (0, 0)]), "#/feet"),
        (feet([]), "#/feet"),
        (
            feet(RECTANGLE) | {"feet": [{"id": "a", **at(x=i, y=i * i), "area": q(1, "m2")} for i in range(3)]},
            "#/feet/1/id",
        ),
        ({"contact": "outrigger", "soil_class": "sand"}, "#/crane"),
        ({"contact": "mat", "soil_class": "sand", "load": q(1, "t"), "contact_length": q(1, "m")}, "#/mat"),
        (skid(wind_force=q(1, "kN")), "#/wind_force_height"),
        (skid(wind_force_height=q(1, "m")), "#/wind_force"),
        (skid(slope={"x": 2, "y": 0}), "#/slope/x"),
        (skid(contact="raft"), "#/contact"),
    ],
)
def test_refused(answer_of, given, pointer):
    with pytest.raises(Refused) as refused:
        answer_of("site.ground", given)
    assert pointer in [e.pointer for e in refused.value.errors]


def test_outriggers_need_radius_and_slew(answer_of):
    given = outrigger()
    del given["crane"]["radius"], given["crane"]["slew_angle"]
    with pytest.raises(Refused) as refused:
        answer_of("site.ground", given)
    assert [e.pointer for e in refused.value.errors] == ["#/crane/radius", "#/crane/slew_angle"]


def test_unprepared_ground_with_a_persons_figure(answer_of):
    answer = answer_of("site.ground", skid(soil_class="unprepared", allowable_bearing_pressure=q(30, "kPa")))
    assert answer["outcome"] == "acceptable"
    assert cautioned(answer)


@pytest.mark.parametrize(
    ("given", "code", "severity"),
    [
        (skid(feet=[]) | {"mat": mat()["mat"]}, "field_of_another_method", "note"),
        (skid(load=q(200, "t")), "bearing", "stop"),
        (skid(load=q(110, "t")), "bearing", "check"),
        (skid(y=1.1), "overturns", "stop"),
        (feet(RECTANGLE, 1.2, 0), "overturns", "stop"),
        (outrigger(radius=q(30, "m")), "overturns", "stop"),
        (skid(y=0.5), "uplift", "check"),
        (feet(RECTANGLE, 0.9, 2.5), "uplift", "check"),
        (mat(length=q(1, "m")), "mat_shortened", "note"),
        (mat(bending_allowable=q(500, "kPa")), "mat_shortened", "note"),
        (skid(excavation={"depth": q(2, "m"), "distance": q(2.9, "m")}), "excavation", "stop"),
        (skid(services_known=False), "services_unknown", "check"),
        (skid(slope={"x": 0, "y": -0.011}), "slope", "stop"),
    ],
)
def test_findings(to_the_word, given, code, severity):
    assert code in codes(to_the_word("site.ground", given), severity)


def test_level_limit_includes_itself(answer_of):
    assert answer_of("site.ground", skid(slope={"x": 0.01, "y": -0.01}))["results"]["level_ok"] is True
    assert answer_of("site.ground", skid(slope={"x": 0, "y": 0.0101}))["results"]["level_ok"] is False
    assert "level_ok" not in answer_of("site.ground", skid())["results"]


def test_inside_the_kern_is_acceptable(answer_of):
    answer = answer_of("site.ground", skid(0.3, 0.1))
    assert answer["outcome"] == "acceptable"


def test_a_mat_as_long_as_the_ground_asks_for_is_not_a_stop(answer_of):
    answer = answer_of("site.ground", mat())
    assert answer["results"]["utilisation"] == pytest.approx(1)
    assert not codes(answer, "stop")


def test_a_direction_that_is_not_given_is_nought(answer_of):
    one = answer_of("site.ground", skid() | {"eccentricity": at(y=0.2), "slope": {"y": 0.02}})
    both = answer_of("site.ground", skid(0, 0.2, slope={"x": 0, "y": 0.02}))
    assert one["results"] == both["results"]
