"""What presses on the ground below skids, feet and mats, by means of its own: integrals over the base, roots sought anew."""

import math
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from quantity import q
from scipy.optimize import brentq, root
from site_given import at, attempt, codes

from coldwright.contract import Refused

pytestmark = pytest.mark.check
Json = dict[str, Any]
G = 9.80665


def skid(length: float, width: float, e: tuple[float, float], **more: Any) -> Json:
    return {
        "contact": "skid",
        "load": q(6000, "kg"),
        "contact_length": q(length, "m"),
        "contact_width": q(width, "m"),
        "eccentricity": at(x=e[0], y=e[1]),
        "allowable_bearing_pressure": q(200, "kPa"),
        **more,
    }


def across(height: Any, slope: float, width: float) -> tuple[Any, Any]:
    """Force and moment about the edge of a strip whose pressure falls from `height` by `slope` a metre, nought where it
    would pull.
    """
    height = np.maximum(height, 0.0)
    far = np.minimum(width, height / slope)
    return height * far - slope * far**2 / 2, height * far**2 / 2 - slope * far**3 / 3


def pressed(length: float, width: float, dx: float, dy: float) -> tuple[float, float, float]:
    """Greatest pressure of a unit weight dx and dy from two edges, and how far from the corner each edge bears.

    Strips across the base are summed by Gauss, part by part between the kinks; the plane is sought by its slopes.
    """
    node, weight = np.polynomial.legendre.leggauss(24)

    def sums(top: float, a: float, b: float) -> tuple[float, float, float]:
        kinks = [0.0, min(length, top / a), length]
        if 0 < (kink := (top - b * width) / a) < kinks[1]:
            kinks.insert(1, kink)
        total = np.zeros(3)
        for low, high in pairwise(kinks):
            x = (low + high) / 2 + (high - low) / 2 * node
            force, moment = across(top - a * x, b, width)
            total += np.array([force, force * x, moment]) @ weight * (high - low) / 2
        return float(total[0]), float(total[1]), float(total[2])

    def lack(logs: np.ndarray) -> list[float]:
        force, mx, my = sums(*np.exp(logs))
        return [force - 1, mx / dx - force, my / dy - force]

    start = 3 / (8 * dx * dy)
    first = np.log([start, start / min(4 * dx, length), start / min(4 * dy, width)])
    found = root(lack, first, method="hybr", options={"xtol": 1e-12})
    if not found.success or max(np.abs(lack(found.x))) > 1e-9:
        found = root(lack, first, method="lm", options={"xtol": 1e-14, "ftol": 1e-14})
    assert max(np.abs(lack(found.x))) < 1e-8
    top, a, b = np.exp(found.x)
    return float(top), min(length, top / a), min(width, top / b)


def agrees(answer_of: Any, length: float, width: float, e: tuple[float, float]) -> None:
    top, reach_x, reach_y = pressed(length, width, length / 2 - abs(e[0]), width / 2 - abs(e[1]))
    answer = answer_of("site.ground", skid(length, width, e))
    results = answer["results"]
    assert results["bearing_pressure_maximum"]["value"] == pytest.approx(6 * G * top, rel=1e-6)
    assert results["bearing_pressure_minimum"]["value"] == 0
    leads_x = abs(e[0]) / length > abs(e[1]) / width
    reach = reach_x if leads_x else reach_y
    assert results["contact_length_effective"]["value"] == pytest.approx(reach, rel=1e-5)
    assert "uplift" in codes(answer, "check")
    words = {line["meaning"] for line in answer["working"] if line["symbol"] == "q_max"}.pop()
    corner = reach_x < length * (1 - 1e-9) and reach_y < width * (1 - 1e-9)
    if abs(reach_x / length - 1) > 1e-3 and abs(reach_y / width - 1) > 1e-3:
        assert ("triangle" in words) == corner


@settings(max_examples=min(20, settings().max_examples))
@given(
    st.floats(1.2, 7), st.floats(1.2, 7), st.floats(0.02, 0.48), st.floats(0.02, 0.48), st.sampled_from([(1, 1), (-1, 1), (1, -1)])
)  # fmt: skip
def test_a_base_eccentric_both_ways(answer_of: Any, length: float, width: float, x: float, y: float, way: Any) -> None:
    """Equilibrium on soil without tension: force and both moments, the plane of pressure sought by its slopes."""
    assume(6 * x + 6 * y > 1.02)
    assume(abs(x - y) > 1e-3)
    agrees(answer_of, length, width, (way[0] * x * length, way[1] * y * width))


@pytest.mark.parametrize(
    ("x", "y"), [(0.22, 0.3), (0.3, 0.22), (0.2, 0.49), (0.49, 0.2), (0.249, 0.3), (0.251, 0.26), (0.13, 0.4999), (0.1, 0.49999)]
)  # fmt: skip
def test_a_base_that_bears_to_its_far_edge_or_just_not(answer_of: Any, x: float, y: float) -> None:
    """The same about the limits of the triangle, a quarter of the side, and close to an edge."""
    agrees(answer_of, 6, 2.2, (x * 6, y * 2.2))
    agrees(answer_of, 2.2, 6, (x * 2.2, y * 6))


@settings(max_examples=min(20, settings().max_examples))
@given(st.floats(0.5, 9), st.floats(0.5, 9), st.floats(0, 0.16), st.floats(0, 0.16))
def test_a_base_inside_the_kern(answer_of: Any, length: float, width: float, x: float, y: float) -> None:
    """Navier: W/A (1 +- 6 e/l +- 6 e/b); all of it bears, and of its sides that counts which the weight leans to more."""
    assume(6 * x + 6 * y < 0.999)
    assume(abs(x - y) > 1e-6)
    answer = answer_of("site.ground", skid(length, width, (-x * length, y * width)))
    mean, bend = 6 * G / length / width, 6 * x + 6 * y
    results = answer["results"]
    assert results["bearing_pressure_maximum"]["value"] == pytest.approx(mean * (1 + bend), rel=1e-7)
    assert results["bearing_pressure_minimum"]["value"] == pytest.approx(mean * (1 - bend), abs=1e-7 * mean)
    assert results["contact_length_effective"]["value"] == pytest.approx(length if x > y else width)
    assert "uplift" not in codes(answer)


@pytest.mark.parametrize(("length", "width", "e"), [(6, 2.2, (1.4, 0)), (6, 2.2, (0, 0.6)), (2.2, 6, (0.6, 0))])
def test_the_layer_below_a_base_that_lifts(answer_of: Any, length: float, width: float, e: tuple[float, float]) -> None:
    """Spread 2 to 1 (common practice): the weight over what bears, each side longer by the depth."""
    layer = {"depth": q(1.5, "m"), "allowable": q(500, "kPa")}
    results = answer_of("site.ground", skid(length, width, e, depth_check=layer))["results"]
    bears = [3 * (side / 2 - off) if off else side for side, off in zip((length, width), e, strict=True)]
    assert results["pressure_at_depth"]["value"] == pytest.approx(6 * G / (bears[0] + 1.5) / (bears[1] + 1.5))


def below_a_foot(material: str, **more: Any) -> Json:
    return {
        "contact": "mat",
        "load": q(300e3 / G, "kg"),
        "contact_length": q(0.5, "m"),
        "allowable_bearing_pressure": q(40, "kPa"),
        "mat": {"width": q(1.2, "m"), "thickness": q(0.3, "m"), "mass": q(40e3 / G, "kg"), "material": material} | more,
        "depth_check": {"depth": q(2, "m"), "allowable": q(500, "kPa")},
    }


@pytest.mark.parametrize("material", ["timber", "metal"])
@settings(max_examples=min(20, settings().max_examples))
@given(bending=st.floats(300, 30000), shear=st.floats(20, 900))
def test_the_longest_mat_that_its_strength_allows(answer_of: Any, material: str, bending: float, shear: float) -> None:
    """D. Duerr, Effective Bearing Length of Crane Mats, 2010, equations 1 to 8 (seen), the length sought as a root: what the
    ground asks for, or where bending 6 M/(B d2) or shear 1.5 V/(B d) of the part beyond the foot is used up.
    """

    def over(length: float) -> float:
        out = max(0.0, (length - 0.5) / 2)
        moment = 300 / length * out**2 / 2
        cut = 300 / length * max(0.0, out - (0.3 if material == "timber" else 0.0))
        return max(6 * moment / (1.2 * 0.3**2) / bending, 1.5 * cut / (1.2 * 0.3) / shear) - 1

    asked = 340 / 40 / 1.2
    effective = asked if over(asked) <= 0 else brentq(over, 0.5, asked, xtol=1e-12)
    answer = answer_of(
        "site.ground", below_a_foot(material, bending_allowable=q(bending, "kPa"), shear_allowable=q(shear, "kPa"))
    )
    results = answer["results"]
    assert results["contact_length_effective"]["value"] == pytest.approx(effective, rel=1e-6)
    assert results["bearing_pressure_maximum"]["value"] == pytest.approx(340 / effective / 1.2, rel=1e-6)
    assert results["bearing_pressure_minimum"]["value"] == pytest.approx(340 / effective / 1.2, rel=1e-6)
    assert results["pressure_at_depth"]["value"] == pytest.approx(340 / (effective + 2) / (1.2 + 2), rel=1e-6)
    assert ("mat_shortened" in codes(answer)) == (effective < asked * (1 - 1e-9))
    said = {line["symbol"]: line["expression"] for line in answer["working"]}["V"]
    assert ("- d" in said) == (material == "timber")


@pytest.mark.parametrize(("rules", "cited", "not_cited"), [
    ("us", {"ibc_1806_2"}, {"en_1997_1", "bs_8004_1986"}), ("europe", {"en_1997_1", "bs_8004_1986"}, {"ibc_1806_2"}),
])  # fmt: skip
def test_whose_values_are_cited(answer_of: Any, rules: str, cited: set[str], not_cited: set[str]) -> None:
    """A value of a class of soil names the rules that it was asked by, in what is taken and in what is found."""
    asked = skid(6, 2.2, (0, 0), soil_class="sand", rules=rules, load=q(125, "t"))
    del asked["allowable_bearing_pressure"]
    answer = answer_of("site.ground", asked)
    (taken,) = [a for a in answer["assumptions"] if a["code"] == "presumptive_bearing"]
    (found,) = [f for f in answer["findings"] if f["code"] == "bearing"]
    for note in (taken, found):
        named = {r if isinstance(r, str) else r["id"] for r in note["references"]}
        assert named & cited
        assert not named & not_cited
    assert {r if isinstance(r, str) else r["id"] for r in taken["references"]} == cited


@pytest.mark.parametrize(("tonnes", "times"), [(110, 1.067), (140, 1.358)])
def test_the_area_that_leaves_a_fifth_of_what_the_ground_bears(answer_of: Any, tonnes: float, times: float) -> None:
    """6 by 2.2 m of sand at 2,000 psf (95.76 kPa) bear 128.9 t: with 110 t 0.853 is used, so 1.067 times the area leaves 0.8."""
    asked = skid(6, 2.2, (0, 0), soil_class="sand", load=q(tonnes, "t"))
    del asked["allowable_bearing_pressure"]
    answer = answer_of("site.ground", asked)
    use = tonnes * G / (6 * 2.2) / (2000 * 4.4482216152605 / 0.09290304 / 1e3)
    assert use / 0.8 == pytest.approx(times, abs=5e-4)
    (found,) = [f for f in answer["findings"] if f["code"] == "bearing"]
    assert found["resolve"].startswith(f"{times:.2f} times the bearing area")


def test_a_foot_that_is_pressed_hardest_is_not_the_one_that_carries_most(answer_of: Any) -> None:
    """Statics: on three feet each share is its own; a small plate below a light corner may press the ground hardest."""
    points, areas = ((0.0, 0.0), (4.0, 0.0), (0.0, 3.0)), (0.5, 0.05, 0.4)
    centre = (0.8, 0.9)
    shares = np.linalg.solve(np.vstack([np.ones(3), np.array(points).T]), [1.0, *centre])
    asked = {
        "contact": "feet",
        "load": q(5, "t"),
        "eccentricity": at(x=centre[0], y=centre[1]),
        "feet": [
            {"id": f"{i}", **at(x=x, y=y), "area": q(area, "m2")}
            for i, ((x, y), area) in enumerate(zip(points, areas, strict=True))
        ],
        "allowable_bearing_pressure": q(300, "kPa"),
        "depth_check": {"depth": q(1, "m"), "allowable": q(500, "kPa")},
    }
    results = answer_of("site.ground", asked)["results"]
    forces = shares * 5 * G
    pressures = forces / areas
    assert [f["value"] for f in results["reactions"]] == pytest.approx(list(forces))
    assert results["bearing_pressure_maximum"]["value"] == pytest.approx(max(pressures))
    assert results["bearing_pressure_minimum"]["value"] == pytest.approx(min(pressures))
    assert results["worst_reaction"]["value"] == pytest.approx(max(forces))
    assert results["required_area"]["value"] == pytest.approx(max(forces) / 300)
    hardest = int(np.argmax(pressures))
    assert hardest != int(np.argmax(forces))
    side = math.sqrt(areas[hardest]) + 1
    assert results["pressure_at_depth"]["value"] == pytest.approx(forces[hardest] / side**2)


@pytest.mark.parametrize(("nudge", "taken"), [(1.03, True), (0.97, False)])
@pytest.mark.parametrize("wide", [0.5, 4.0])
def test_feet_that_stand_nearly_on_one_line(answer_of: Any, nudge: float, taken: bool, wide: float) -> None:
    """The family's own limit: least over greatest singular value of their places about their middle, a ten-thousandth."""

    def plan(off: float) -> Any:
        return np.array([[-wide, 0.0], [wide, 0.0], [0.1, off]])

    def ratio(off: float) -> float:
        values = np.linalg.svd(plan(off) - plan(off).mean(axis=0), compute_uv=False)
        return float(values[-1] / values[0])

    off = brentq(lambda off: ratio(off) - 1e-4 * nudge, 1e-7, 0.5, xtol=1e-12)
    asked = {
        "contact": "feet",
        "load": q(5, "t"),
        "eccentricity": at(x=0.0, y=off / 3),
        "feet": [{"id": f"{i}", **at(x=x, y=y), "area": q(0.2, "m2")} for i, (x, y) in enumerate(plan(off).tolist())],
        "allowable_bearing_pressure": q(300, "kPa"),
    }
    assert (attempt(answer_of, "site.ground", asked) is not None) == taken


@pytest.mark.parametrize("count", [2, 3])
def test_a_load_stands_on_three_feet_at_least(answer_of: Any, count: int) -> None:
    places = [(0.0, 0.0), (3.0, 0.0), (0.0, 2.0)][:count]
    asked = {
        "contact": "feet",
        "load": q(5.1, "t"),
        "eccentricity": at(x=0.5, y=0.5),
        "feet": [{"id": f"{i}", **at(x=x, y=y), "area": q(0.2, "m2")} for i, (x, y) in enumerate(places)],
        "allowable_bearing_pressure": q(300, "kPa"),
    }
    if count == 3:
        answer = answer_of("site.ground", asked)
        lines = [line for line in answer["working"] if line["symbol"].startswith("R_")]
        for index, (line, force) in enumerate(zip(lines, answer["results"]["reactions"], strict=True)):
            assert line["meaning"].startswith(f"Reaction of point {index + 1} on")
            assert float(line["meaning"].split("up to ")[1].split()[0]) == pytest.approx(force["value"], rel=1e-4)
            assert f"sum R = W {5.1 * G:.6g} kN at (0.5, 0.5) m" in line["expression"]
        return
    with pytest.raises(Refused) as refused:
        answer_of("site.ground", asked)
    (error,) = refused.value.errors
    limits: Any = error.allowed
    assert limits.minimum == 3


@pytest.mark.parametrize("e", [(1.2, 0.3), (0.7, 0.5), (-1.6, 0.4), (0.4, -0.7)])
@pytest.mark.parametrize("turned", [False, True])
def test_the_layer_below_a_base_that_lifts_both_ways(answer_of: Any, e: tuple[float, float], turned: bool) -> None:
    """Spread 2 to 1 (common practice) from as far as the base bears the way that the weight leans to more, by its side."""
    sides = (6.0, 2.2)
    _, *reach = pressed(*sides, 3 - abs(e[0]), 1.1 - abs(e[1]))
    leads = 0 if abs(e[0]) / 6 > abs(e[1]) / 2.2 else 1
    area = math.prod((reach[k] if k == leads else sides[k]) + 1.5 for k in (0, 1))
    layer = {"depth": q(1.5, "m"), "allowable": q(500, "kPa")}
    asked = skid(2.2, 6, e[::-1], depth_check=layer) if turned else skid(6, 2.2, e, depth_check=layer)
    assert answer_of("site.ground", asked)["results"]["pressure_at_depth"]["value"] == pytest.approx(
        6 * G / area, rel=1e-5
    )
