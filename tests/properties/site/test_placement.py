"""What must hold of `site.placement` whatever the plan, and what it refuses."""

import math
import re
from typing import Any
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from quantity import q
from site_given import at, attempt, cautioned, codes

from coldwright.contract import Refused

SVG = "{http://www.w3.org/2000/svg}"


def corners(*points):
    return [at(x=x, y=y) for x, y in points]


def box(left, low, right, high):
    return corners((left, low), (right, low), (right, high), (left, high))


def machine(name="M", **more):
    return {
        "id": name,
        "length": q(6, "m"),
        "width": q(2, "m"),
        "height": q(2.5, "m"),
        "intake_faces": ["left", "right"],
        "service_faces": ["front"],
    } | more


def place(name: str = "M", x: float = 0.0, y: float = 0.0, turn: float = 0.0) -> dict[str, Any]:
    return {"id": name, **at(x=x, y=y), "rotation": q(turn, "deg")}


def obstacle(kind, polygon, name="O", **more):
    return {"id": name, "kind": kind, "polygon": polygon} | more


def scene(*obstacles, machines=(), positions=None, **more):
    return {
        "machines": list(machines) or [machine()],
        "positions": [place()] if positions is None else list(positions),
        "obstacles": list(obstacles),
        **more,
    }


def route(start, end):
    return {"from": at(x=start[0], y=start[1]), "to": at(x=end[0], y=end[1])}


def entries(answer, rule):
    return [c for c in answer["results"]["clearances"] if c["rule"] == rule]


def turned(points, angle, dx, dy):
    c, s = math.cos(angle), math.sin(angle)
    return [(c * x - s * y + dx, s * x + c * y + dy) for x, y in points]


@settings(max_examples=30)
@given(st.floats(1.05, 8), st.floats(-180, 180), st.floats(-50, 50), st.floats(-50, 50))
def test_turning_and_moving_everything_changes_no_distance(answer_of, gap, degrees, dx, dy):
    wall = [(-5, gap), (5, gap), (5, gap + 1), (-5, gap + 1)]
    door = [(3.5, -4), (4.5, -4), (4.5, -3), (3.5, -3)]
    still = scene(obstacle("wall", corners(*wall), "W"), obstacle("opening", corners(*door), "D"))
    angle = math.radians(degrees)
    moved = scene(
        obstacle("wall", corners(*turned(wall, angle, dx, dy)), "W"),
        obstacle("opening", corners(*turned(door, angle, dx, dy)), "D"),
        positions=[place("M", dx, dy, degrees)],
    )
    first, second = (answer_of("site.placement", s)["results"]["clearances"] for s in (still, moved))
    assert [c["rule"] for c in first] == [c["rule"] for c in second]
    for a, b in zip(first, second, strict=True):
        assert a["distance"]["value"] == pytest.approx(b["distance"]["value"], abs=1e-6)


@given(st.floats(1.2, 9), st.floats(0.01, 5))
def test_farther_apart_never_has_less_margin(answer_of, gap, more):
    def margin(y):
        answer = answer_of("site.placement", scene(obstacle("wall", box(-4, y, 4, y + 0.3))))
        return answer["results"]["smallest_margin"]["value"]

    assert margin(gap + more) > margin(gap)


def test_a_strip_is_as_wide_as_its_side(answer_of):
    """A wall beside the strip is nearer in plan than one before the side, and isn't before it."""
    answer = answer_of("site.placement", scene(obstacle("wall", box(3.5, 1.2, 4, 4))))
    assert entries(answer, "intake_to_wall") == []
    answer = answer_of("site.placement", scene(obstacle("wall", box(2.5, 2.2, 4, 4))))
    assert [c["distance"]["value"] for c in entries(answer, "intake_to_wall")] == [pytest.approx(1.2)]


def test_two_machines_face_each_other_once(answer_of):
    pair = scene(machines=[machine("A"), machine("B")], positions=[place("A"), place("B", 0, 5)])
    found = entries(answer_of("site.placement", pair), "intake_to_intake")
    assert [(c["pair"], c["distance"]["value"], c["required"]["value"]) for c in found] == [
        (["A", "B"], pytest.approx(3), pytest.approx(3.048))
    ]


def test_the_blank_side_of_another_machine_may_be_nearer(answer_of):
    pair = scene(
        machines=[machine("A"), machine("B", intake_faces=["front"])], positions=[place("A"), place("B", 0, 5)]
    )
    answer = answer_of("site.placement", pair)
    assert entries(answer, "intake_to_intake") == []
    assert entries(answer, "intake_to_machine")[0]["required"]["value"] == pytest.approx(1.8288)


def test_makers_distances_go_before_the_usual_ones(answer_of):
    wall = obstacle("wall", box(-4, 2.5, 4, 3))
    usual, own = (
        answer_of("site.placement", scene(wall, **more))
        for more in ({}, {"clearances": {"intake_to_wall": q(1.2, "m")}})
    )
    assert "too_near" in codes(usual, "check")
    assert "too_near" not in codes(own)


def test_without_positions_no_distance(answer_of):
    given = scene(obstacle("wall", box(-4, 1, 4, 3)))
    del given["positions"]
    answer = answer_of("site.placement", given)
    assert answer["results"]["clearances"] == []
    assert "smallest_margin" not in answer["results"]
    assert answer["outcome"] == "acceptable"
    assert cautioned(answer)


def test_stand(answer_of):
    answer = answer_of("site.placement", {"snow_depth": q(0.5, "m"), "flood_level": q(20, "in")})
    assert answer["results"]["stand_height"]["value"] == pytest.approx(0.508 + 0.3)
    assert answer_of("site.placement", {})["results"]["stand_height"]["value"] == pytest.approx(0.3)


def test_walls_on_two_sides_make_a_well(answer_of):
    walls = [
        obstacle("wall", box(-4, 3, 4, 3.2), "N", height=q(5, "m")),
        obstacle("wall", box(-4, -3.2, 4, -3), "S", height=q(5, "m")),
    ]
    given = scene(*walls, machines=[machine(air_flow=q(60, "m3/s"))], discharge_area=q(8, "m2"))
    r = answer_of("site.placement", given)["results"]
    assert r["inlet_velocity"]["value"] == pytest.approx(60 / (6 * 6.4 - 8))
    low = [w | {"height": q(2, "m")} for w in walls]
    assert "inlet_velocity" not in answer_of("site.placement", given | {"obstacles": low})["results"]
    assert "inlet_velocity" not in answer_of("site.placement", given | {"obstacles": walls[:1]})["results"]


@given(st.floats(-20, 20), st.floats(-20, 20), st.floats(-20, 20), st.floats(-20, 20))
def test_a_free_route_is_as_long_as_its_two_legs(answer_of, x1, y1, x2, y2):
    answer = attempt(answer_of, "site.placement", {"hose_route": route((x1, y1), (x2, y2))})
    if answer is None:
        assert math.hypot(x2 - x1, y2 - y1) < 0.001
        return
    r = answer["results"]
    assert r["hose_length_needed"]["value"] == pytest.approx(abs(x2 - x1) + abs(y2 - y1), abs=1e-6)


def test_a_route_goes_round_a_wall(answer_of):
    wall = obstacle("wall", box(-5, 4, 2, 5))
    given = {"obstacles": [wall], "cable_route": route((0, 0), (0, 10))}
    r = answer_of("site.placement", given)["results"]
    assert r["cable_length_needed"]["value"] == pytest.approx(10 + 2 * 2.3)


def test_a_route_does_not_run_through_what_it_starts_at(answer_of):
    hall = obstacle("wall", box(-5, 0, 5, 6))
    r = answer_of("site.placement", {"obstacles": [hall], "hose_route": route((0, 0), (0, 10))})["results"]
    assert r["hose_length_needed"]["value"] == pytest.approx(10 + 2 * 5, abs=0.7)


def test_crossings_are_counted(answer_of):
    ways = [
        obstacle("walkway", box(3, -20, 5, 20), "path"),
        obstacle("fire_lane", box(8, -20, 15, 20), "lane"),
        obstacle("walkway", box(-9, 8, -6, 9), "elsewhere"),
        obstacle("walkway", corners((17, -9), (17, 9)), "line"),
    ]
    answer = answer_of("site.placement", {"obstacles": ways, "hose_route": route((0, 0), (20, 1))})
    assert [(c["route"], c["obstacle"], c["x"]["value"]) for c in answer["results"]["crossings"]] == [
        ("hose", "path", pytest.approx(4)),
        ("hose", "lane", pytest.approx(11.5)),
        ("hose", "line", pytest.approx(17)),
    ]
    assert "ramp_needed" in codes(answer, "note")


coordinate = st.floats(-15, 15).map(lambda v: round(v, 2))
KINDS = ["wall", "combustible_wall", "opening", "air_intake", "engine", "hydrant", "fire_lane", "edge", "power_line",
         "cable", "walkway", "tank"]  # fmt: skip


@settings(max_examples=60)
@given(st.data())
def test_any_plan_gives_an_answer_or_a_refusal(answer_of, data):
    point = st.tuples(coordinate, coordinate)
    standing = st.tuples(coordinate, coordinate, st.floats(-360, 360))
    obstacles = [
        obstacle(
            data.draw(st.sampled_from(KINDS)), corners(*data.draw(st.lists(point, min_size=1, max_size=4))), f"o{i}"
        )
        | ({"height": q(data.draw(st.floats(0, 9)), "m")} if data.draw(st.booleans()) else {})
        | ({"underside": q(data.draw(st.floats(0, 9)), "m")} if data.draw(st.booleans()) else {})
        for i in range(data.draw(st.integers(0, 5)))
    ]
    names = ["A", "B"][: data.draw(st.integers(0, 2))]
    given = {
        "machines": [machine(n, air_flow=q(20, "m3/s"), voltage_to_ground=q(277, "V")) for n in names],
        "positions": [place(n, *data.draw(standing)) for n in names],
        "obstacles": obstacles,
        "hose_route": route(data.draw(point), data.draw(point)),
        "cable_route": route(data.draw(point), data.draw(point)),
        "drawing": True,
    }
    answer = attempt(answer_of, "site.placement", given)
    if answer is not None and "plan_svg" in answer["results"]:
        ElementTree.fromstring(answer["results"]["plan_svg"])


def test_drawing_shows_what_is_there_and_escapes_names(answer_of):
    nasty = '<script>alert("&")</script>'
    given = scene(
        obstacle("wall", box(-4, 2, 4, 3), nasty),
        obstacle("walkway", box(-9, -9, -8, 9), "path"),
        hose_route=route((-3, 0), (-12, 0)),
        drawing=True,
    )
    answer = answer_of("site.placement", given)
    svg = answer["results"]["plan_svg"]
    assert svg == answer_of("site.placement", given)["results"]["plan_svg"]
    assert "<script" not in svg
    root = ElementTree.fromstring(svg)
    texts = [e.text or "" for e in root.iter(f"{SVG}text")]
    assert nasty[:25] + "…" in texts
    assert {"M", "path", "Legend", "R", "1"} <= set(texts)
    assert any(t.startswith("M – ") and t.endswith(": 1.00 / 1.83") for t in texts)
    assert any("1 : " in t for t in texts)
    assert (root.get("width"), root.get("height")) == ("297mm", "210mm")
    assert not {e.tag for e in root.iter()} & {f"{SVG}script", f"{SVG}foreignObject", f"{SVG}image", f"{SVG}a"}


def test_drawing_is_to_scale(answer_of):
    svg = answer_of("site.placement", scene(drawing=True))["results"]["plan_svg"]
    root = ElementTree.fromstring(svg)
    texts = [e.text or "" for e in root.iter(f"{SVG}text")]
    scale = int(next(t for t in texts if "1 : " in t).split("1 : ")[1].split()[0])
    path = next(e.get("d", "") for e in root.iter(f"{SVG}path") if e.get("stroke-width") == "0.8")
    points = [tuple(map(float, p.split())) for p in path.strip("MZ ").replace("M ", "").split(" L ")]
    across = max(x for x, _ in points) - min(x for x, _ in points)
    assert across == pytest.approx(6000 / scale, abs=0.02)


def test_a_drawing_is_in_feet_where_the_sizes_of_the_machines_are(answer_of):
    """Its bar against the scale that stands beside it: an inch of paper is 25.4 mm, a foot 304.8 mm, by definition."""
    given = scene(drawing=True)
    for machine in given["machines"]:
        for side in ("length", "width"):
            machine[side] = q(machine[side]["value"] / 0.3048, "ft")
    svg = answer_of("site.placement", given)["results"]["plan_svg"]
    root = ElementTree.fromstring(svg)
    texts = [e.text or "" for e in root.iter(f"{SVG}text")]
    assert not [t for t in texts if re.search(r"\d m\b|in m$", t)], texts
    assert any(re.fullmatch(r"\d+ ft( \d+ in)? x \d+ ft( \d+ in)?", t) for t in texts)
    words = next(t for t in texts if " 1 in is " in t)
    feet_to_an_inch = float(words.split(" 1 in is ")[1].split()[0])
    bars = [e for e in root.iter(f"{SVG}rect") if e.get("height") == "1.6"]
    length = sum(float(e.get("width", "")) for e in bars)
    assert length == pytest.approx(float(words.split()[0]) / feet_to_an_inch * 25.4, abs=0.05)


def test_no_drawing_unless_asked(answer_of):
    assert "plan_svg" not in answer_of("site.placement", scene())["results"]
    empty = answer_of("site.placement", {"drawing": True})
    assert "plan_svg" not in empty["results"]
    assert "nothing_to_draw" in codes(empty, "note")


def test_units_change_nothing(answer_of):
    metric = answer_of("site.placement", scene(obstacle("wall", box(-4, 2, 4, 3))))["results"]["clearances"]
    feet = scene(
        {
            "id": "O",
            "kind": "wall",
            "polygon": [at("ft", x=x / 0.3048, y=y / 0.3048) for x, y in ((-4, 2), (4, 2), (4, 3), (-4, 3))],
        },
        machines=[machine(length=q(6000, "mm"), width=q(2 / 0.0254, "in"))],
    )
    us = answer_of("site.placement", feet)["results"]["clearances"]
    assert [c["margin"]["value"] for c in us] == pytest.approx([c["margin"]["value"] for c in metric], abs=1e-9)


HOT = machine(air_flow=q(20, "m3/s"), heat_rejected=q(400, "kW"), ambient_limit=q(40, "degC"))


@pytest.mark.parametrize(
    ("given", "pointer"),
    [
        (scene(obstacle("wall", box(0, 5, 1, 6), "M")), "#/obstacles/0/id"),
        (scene(machines=[machine(), machine()]), "#/machines/1/id"),
        (scene(positions=[place("N")]), "#/positions/0/id"),
        (scene(positions=[place(), place()]), "#/positions/1/id"),
        (scene(obstacle("wall", corners((0, 0), (1, 1), (1, 0), (0, 1)))), "#/obstacles/0/polygon"),
        (scene(obstacle("wall", corners((0, 0), (1, 1), (2, 2)))), "#/obstacles/0/polygon"),
        (scene(obstacle("wall", [])), "#/obstacles/0/polygon"),
        (scene(obstacle("hedge", box(0, 5, 1, 6))), "#/obstacles/0/kind"),
        ({"hose_route": route((1, 1), (1, 1))}, "#/hose_route/to"),
        (scene(recirculation_fraction=1), "#/recirculation_fraction"),
        (scene(machines=[machine(voltage_to_ground=q(601, "V"))]), "#/machines/0/voltage_to_ground"),
        (scene(machines=[machine(intake_faces=["top"])]), "#/machines/0/intake_faces/0"),
        (
            {"machines": [HOT], "pit": {"area": q(8, "m2"), "depth": q(2, "m")}, "discharge_area": q(8, "m2")},
            "#/discharge_area",
        ),
    ],
)
def test_refused(answer_of, given, pointer):
    with pytest.raises(Refused) as refused:
        answer_of("site.placement", given)
    assert pointer in [e.pointer for e in refused.value.errors]


def pit(area, **more):
    return {"machines": [HOT], "pit": {"area": q(area, "m2"), "depth": q(2, "m")}} | more


@pytest.mark.parametrize(
    ("given", "code", "severity"),
    [
        (scene(obstacle("wall", box(-4, 2, 4, 3))), "too_near", "check"),
        (scene(obstacle("air_intake", box(0, 3, 1, 4))), "too_near", "check"),
        (scene(obstacle("opening", box(0, 6, 1, 7))), "too_near", "check"),
        (scene(obstacle("hydrant", corners((0, 1.8)))), "too_near", "stop"),
        (scene(obstacle("power_line", corners((-9, 4), (9, 4)))), "too_near", "stop"),
        (scene(obstacle("power_line", corners((-9, 5), (9, 5)), voltage=q(60000, "V"))), "too_near", "stop"),
        (scene(obstacle("edge", box(-9, 3, 9, 4), height=q(1.5, "m"))), "too_near", "stop"),
        (
            scene(obstacle("engine", box(20, 0, 22, 1), "E"), obstacle("combustible_wall", box(20, 2, 22, 3))),
            "too_near",
            "stop",
        ),
        (
            scene(obstacle("engine", box(20, 0, 22, 1), "E"), obstacle("air_intake", box(20, 8, 22, 9))),
            "too_near",
            "stop",
        ),
        (
            scene(obstacle("wall", box(4, -2, 5, 2)), machines=[machine(voltage_to_ground=q(277, "V"))]),
            "too_near",
            "stop",
        ),
        (scene(obstacle("wall", box(2, 0, 5, 2))), "overlap", "stop"),
        (scene(obstacle("cable", corners((-9, 0), (9, 0)))), "overlap", "stop"),
        (scene(machines=[machine("A"), machine("B")], positions=[place("A"), place("B", 1, 1)]), "overlap", "stop"),
        (scene(obstacle("walkway", box(2, 0, 5, 2))), "exit_blocked", "stop"),
        (scene(obstacle("opening", corners((3, -0.5), (3, 0.5)))), "exit_blocked", "stop"),
        (scene(obstacle("fire_lane", box(2, 0, 12, 12))), "fire_lane_blocked", "stop"),
        (
            scene(obstacle("tank", box(9, 9, 10, 10), "T"), obstacle("fire_lane", box(8, 8, 20, 20))),
            "fire_lane_blocked",
            "stop",
        ),
        (scene(obstacle("fire_lane", box(10, 10, 40, 15))), "fire_lane_narrow", "check"),
        (
            scene(
                obstacle("fire_lane", box(10, 10, 40, 20)),
                obstacle("wall", box(10, 10, 12, 20), "bridge", underside=q(4, "m")),
            ),
            "fire_lane_low",
            "stop",
        ),
        (scene(obstacle("edge", box(-9, 3, 9, 4))), "edge_depth_not_given", "check"),
        (scene(obstacle("wall", box(-1, -1, 1, 1), underside=q(4, "m"))), "discharge_under_overhang", "check"),
        (pit(20) | {"machines": [HOT, machine("N")]}, "air_flow_not_given", "note"),
        (pit(8), "inlet_velocity", "check"),
        (pit(6), "inlet_velocity", "stop"),
        ({"machines": [HOT], "ambient": q(38, "degC"), "recirculation_fraction": 0.2}, "too_warm", "stop"),
        (
            {"hose_route": route((0, 0), (9, 0)), "obstacles": [obstacle("walkway", box(3, -1, 4, 1))]},
            "ramp_needed",
            "note",
        ),
        ({"hose_route": route((0, 0), (9, 0)), "hose_run": q(8, "m")}, "too_short", "check"),
        (
            {
                "hose_route": route((0, 0), (9, 0)),
                "cable_route": route((1, 0), (8, 0)),
                "obstacles": [obstacle("walkway", box(3, -1, 4, 1))],
            },
            "one_ramp_channel",
            "check",
        ),
        (
            {
                "hose_route": route((0, 0), (9, 0)),
                "obstacles": [
                    obstacle("wall", box(-2, -2, 2, -1), "S"),
                    obstacle("wall", box(-2, 1, 2, 2), "N"),
                    obstacle("wall", box(-2, -2, -1, 2), "W"),
                    obstacle("wall", box(1, -2, 2, 2), "E"),
                ],
            },
            "route_blocked",
            "check",
        ),
        ({"drawing": True}, "nothing_to_draw", "note"),
    ],
)
def test_findings(to_the_word, given, code, severity):
    assert code in codes(to_the_word("site.placement", given), severity)


def test_a_roof_high_above_is_not_in_the_way(answer_of):
    answer = answer_of("site.placement", scene(obstacle("wall", box(-4, -4, 4, 4), underside=q(4, "m"))))
    assert codes(answer) == {"discharge_under_overhang"}
    sideways = scene(obstacle("wall", box(-4, -4, 4, 4), underside=q(4, "m")), machines=[machine(discharge="side")])
    assert codes(answer_of("site.placement", sideways)) == set()


def test_exhaust_is_warned_of_where_an_engine_stands(answer_of):
    def warned(given):
        return "engine_exhaust" in {c["code"] for c in answer_of("site.placement", given)["cautions"]}

    assert not warned(scene())
    assert warned(scene(machines=[machine(engine=True)]))
    assert warned(scene(obstacle("engine", box(20, 0, 22, 2))))
