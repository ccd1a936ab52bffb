"""Distances of a placement at their limits, and ways round what stands there, by another graph library."""

import itertools
import math
from typing import Any

import networkx
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from quantity import q
from shapely import affinity
from site_given import at, codes

pytestmark = pytest.mark.check
Json = dict[str, Any]
FOOT = 0.3048


def corners(shape: Any) -> list[Json]:
    points = (
        [(shape.x, shape.y)]
        if shape.geom_type == "Point"
        else list(shape.coords if shape.geom_type == "LineString" else shape.exterior.coords[:-1])
    )
    return [at(x=float(x), y=float(y)) for x, y in points]


def machine(name: str = "M", length: float = 6.0, width: float = 2.0, **more: Any) -> Json:
    return {"id": name, "length": q(length, "m"), "width": q(width, "m"), "height": q(2.5, "m"), **more}


def thing(kind: str, shape: Any, name: str = "O", **more: Any) -> Json:
    return {"id": name, "kind": kind, "polygon": corners(shape), **more}


ALL_ROUND = ["front", "left", "rear", "right"]
ENGINE = {"engine": True}
DRAWS = {"intake_faces": ["front"]}
WORKED_AT = {"service_faces": ["front"]}
RULES: tuple[tuple[str, Json, str, Json, float, str], ...] = (
    # rule, machine, obstacle, more of it, feet (the family's table), severity
    ("intake_to_wall", DRAWS, "wall", {}, 6, "check"),
    ("intake_to_wall", DRAWS, "tank", {}, 6, "check"),
    ("intake_to_wall", DRAWS, "opening", {}, 6, "check"),
    ("service_access", WORKED_AT, "wall", {}, 4, "check"),
    ("service_access", WORKED_AT, "hydrant", {}, 4, "check"),
    ("service_access", WORKED_AT, "edge", {}, 4, "check"),
    ("discharge_to_intake", {}, "air_intake", {}, 10, "check"),
    ("relief_to_opening", {}, "opening", {}, 20, "check"),
    ("relief_to_opening", {}, "air_intake", {}, 20, "check"),
    ("engine_to_opening", ENGINE, "opening", {}, 5, "stop"),
    ("engine_to_combustible_wall", ENGINE, "combustible_wall", {}, 5, "stop"),
    ("exhaust_to_intake", ENGINE, "air_intake", {}, 25, "stop"),
    ("hydrant", {}, "hydrant", {}, 3, "stop"),
    ("hydrant", ENGINE, "hydrant", {}, 3, "stop"),
    ("fire_lane", {}, "fire_lane", {}, 0, "stop"),
    ("edge", {}, "edge", {"height": q(2, "m")}, 3 / FOOT, "stop"),
    ("power_line", {}, "power_line", {}, 10, "stop"),
    ("power_line", {}, "power_line", {"voltage": q(50000, "V")}, 10, "stop"),
    ("power_line", ENGINE, "power_line", {"voltage": q(50001, "V")}, 15, "stop"),
    (
        "working_space",
        WORKED_AT | {"voltage_to_ground": q(150, "V"), "working_space_condition": 3},
        "wall",
        {},
        3,
        "stop",
    ),
    (
        "working_space",
        WORKED_AT | {"voltage_to_ground": q(151, "V"), "working_space_condition": 3},
        "wall",
        {},
        4,
        "stop",
    ),
    ("working_space", WORKED_AT | {"voltage_to_ground": q(600, "V")}, "wall", {}, 3.5, "stop"),
)


@pytest.mark.parametrize(("rule", "own", "kind", "more", "feet", "severity"), RULES)
@pytest.mark.parametrize("turn", [0, 37])
def test_a_distance_at_its_limit(
    answer_of: Any, rule: str, own: Json, kind: str, more: Json, feet: float, severity: str, turn: float
) -> None:
    """Feet of the family's table (NFPA 37, 4.1.4 seen reproduced; ASHRAE 15 and 29 CFR 1926.1408; else common practice):
    a millimetre less is too near, and the margin is what is left.
    """
    for nudge in (-1e-3, 1e-3) if feet else (1e-3,):  # a lane that is crossed is blocked, not near
        away = 3 + feet * FOOT + nudge
        shape = shapely.LineString([(away, -3), (away, 3)]) if kind != "hydrant" else shapely.Point(away, 0.2)
        asked = {
            "machines": [machine(**own)],
            "positions": [{"id": "M", **at(x=5, y=-2), "rotation": q(turn, "deg")}],
            "obstacles": [thing(kind, affinity.translate(affinity.rotate(shape, turn, origin=(0, 0)), 5, -2), **more)],
        }
        answer = answer_of("site.placement", asked)
        (row,) = [c for c in answer["results"]["clearances"] if c["rule"] == rule]
        assert row["required"] == q(pytest.approx(feet * FOOT), "m")
        assert row["margin"]["value"] == pytest.approx(nudge, abs=2e-6)
        assert row["distance"]["value"] == pytest.approx(feet * FOOT + nudge, abs=2e-6)
        found = [f for f in answer["findings"] if f["code"] == "too_near" and f["rule"] == rule]
        assert [f["severity"] for f in found] == [severity] * (nudge < 0)


@pytest.mark.parametrize(("own", "kind", "feet"), [
    ({}, "opening", 20), ({}, "air_intake", 20), ({}, "hydrant", 3), (ENGINE, "opening", 5), (ENGINE, "air_intake", 25),
    (ENGINE, "combustible_wall", 5), (ENGINE, "hydrant", 3), ({}, "tank", 0), ({}, "power_line", 10),
    ({"intake_faces": ALL_ROUND}, "wall", 6), ({"service_faces": ALL_ROUND}, "wall", 4), ({"service_faces": ALL_ROUND}, "edge", 4),
])  # fmt: skip
def test_a_strip_that_just_holds_a_machine_and_what_it_keeps_off(
    answer_of: Any, own: Json, kind: str, feet: float
) -> None:
    """A yard just long enough for a machine of 4 by 2 m behind what it keeps its distance to; 2 cm shorter, and it holds none."""
    for short, holds in ((0.0, True), (0.02, False)):
        deep = feet * FOOT + 2.0 - short + 1e-6
        area = shapely.box(0, 0, 4, deep)
        bar = shapely.LineString([(0, deep), (4, deep)]) if kind != "tank" else shapely.box(0, deep - 1e-3, 4, deep)
        one = machine(length=4.0, **own)
        obstacle = thing(kind, bar)
        asked = {
            "machines": [one], "arrange": True, "obstacles": [obstacle], "work_out_missing": False,
            "area": {"polygon": corners(area), "edges": "open"},
        }  # fmt: skip
        if kind == "tank":
            asked["area"] = {"polygon": corners(shapely.box(0, 0, 4, deep + 1e-3)), "edges": "open"}
            asked["obstacles"] = [thing(kind, shapely.box(0, deep, 4, deep + 1e-3))]
        answer = answer_of("site.placement", asked)
        assert ("positions" in answer["results"] and bool(answer["results"]["positions"])) == holds, short


@pytest.mark.parametrize("way", ["x", "y"])
@pytest.mark.parametrize("asking", [(), ("left",), ("front",), ("rear",), ("right",)])
@pytest.mark.parametrize("serviced", [False, True])
def test_two_machines_in_a_strip_that_just_holds_them(answer_of: Any, way: str, asking: Any, serviced: bool) -> None:
    """Walls at 0.6 m, 6 ft before what draws air, 4 ft before a panel; between two of them as the nearer sides ask: the
    shortest strip of all turns of both holds them, and one 2 cm shorter does not.
    """
    sizes = ((3.0, 1.4), (2.2, 1.4))
    role = "service_faces" if serviced else "intake_faces"
    asked_for: Json = {role: list(asking)} if asking else {}
    rows = [machine(f"m{i}", *size, **asked_for) for i, size in enumerate(sizes)]
    before = (4 if serviced else 6) * FOOT
    ring = ("front", "left", "rear", "right")

    def sides(quarters: int) -> list[bool]:
        """Whether what looks to +x, +y, -x, -y asks for room, turned so."""
        return [ring[(k - quarters) % 4] in asking for k in range(4)]

    along, across = (0, 1) if way == "x" else (1, 0)

    def solid(asks: bool) -> float:
        return max(0.6, before) if asks else 0.6

    def between(one: bool, other: bool) -> float:
        if serviced or not (one or other):
            return max(0.6, before) if one or other else 0.6
        return 10 * FOOT if one and other else 6 * FOOT

    width = 2.0 + (solid(True) if set(asking) & {"left", "right"} else 0.6) + 1e-6
    best = math.inf
    for first, second in itertools.permutations(range(2)):
        for turns in itertools.product(range(4), repeat=2):
            half = [(sizes[m][t % 2], sizes[m][1 - t % 2]) for m, t in zip((first, second), turns, strict=True)]
            seen = [sides(t) for t in turns]
            wide = max(h[across] + solid(s[across]) + solid(s[across + 2]) for h, s in zip(half, seen, strict=True))
            if wide > width:
                continue
            run = solid(seen[0][along + 2]) + half[0][along] + between(seen[0][along], seen[1][along + 2])
            best = min(best, run + half[1][along] + solid(seen[1][along]))
    for short, holds in ((0.0, True), (0.02, False)):
        length = best + 1e-6 - short
        size = (length, width) if way == "x" else (width, length)
        asked = {
            "machines": rows, "arrange": True, "work_out_missing": False,
            "area": {"length": q(size[0], "m"), "width": q(size[1], "m")},
        }  # fmt: skip
        answer = answer_of("site.placement", asked)
        assert bool(answer["results"].get("positions")) == holds, (short, best)
        if holds:
            assert not [f for f in answer["findings"] if f["code"] in ("too_near", "overlap", "outside_area")]


@pytest.mark.parametrize(("size", "faces", "turn", "middle"), [
    ((14.0, 5.0), ["front"], 0, (3.6, 1.6)), ((14.0, 5.0), ["rear"], 180, (3.6, 1.6)),
    ((5.0, 14.0), ["front"], 90, (1.6, 3.6)), ((5.0, 14.0), ["rear"], -90, (1.6, 3.6)),
])  # fmt: skip
def test_nearest_to_the_corner_of_the_ways_to_stand(
    answer_of: Any, size: Any, faces: Any, turn: float, middle: Any
) -> None:
    """As the calculator says: from a corner of the area. 6 by 2 m that draws air at one end stands with the other towards it."""
    asked = {
        "machines": [machine(intake_faces=faces)], "arrange": True,
        "area": {"length": q(size[0], "m"), "width": q(size[1], "m")},
    }  # fmt: skip
    (place,) = answer_of("site.placement", asked)["results"]["positions"]
    assert abs(place["rotation"]["value"]) == pytest.approx(abs(turn))
    assert place["rotation"]["value"] % 360 == pytest.approx(turn % 360)
    assert (place["x"]["value"], place["y"]["value"]) == pytest.approx(middle, abs=1e-6)


@pytest.mark.parametrize("slant", [20, 30, 75, 110])
def test_machines_stand_along_the_longest_sides(answer_of: Any, slant: float) -> None:
    """A yard with two long slanting sides and two short upright ones: both machines stand along the long ones."""
    run, rise = 40 * math.cos(math.radians(slant)), 40 * math.sin(math.radians(slant))
    ends = (0, 16) if abs(run) > 12 else (16, 0)
    area = shapely.Polygon([(0, 0), (run, rise), (run + ends[0], rise + ends[1]), ends])
    area = area if area.exterior.is_ccw else area.reverse()
    asked = {
        "machines": [machine("a"), machine("b", 5.0)], "arrange": True, "area": {"polygon": corners(area)},
    }  # fmt: skip
    places = answer_of("site.placement", asked)["results"]["positions"]
    assert [place["rotation"]["value"] % 90 for place in places] == pytest.approx([slant % 90] * 2, abs=1e-6)


@pytest.mark.parametrize(("length", "width", "walls", "across", "proved"), [
    (6.0, 2.2, "walls", 3.39, True), (6.0, 2.2, "walls", 3.41, False),
    (6.0, 2.2, "open", 2.19, True), (6.0, 2.2, "open", 2.21, False),
    (2.4, 2.0, "walls", 2.39, True), (2.4, 2.0, "walls", 2.41, False),
    (2.0, 2.4, "walls", 2.39, True), (2.0, 2.4, "walls", 2.41, False),
])  # fmt: skip
@pytest.mark.parametrize("turn", [0, 30, -17])
def test_a_strip_too_narrow_at_any_slant(
    answer_of: Any, length: float, width: float, walls: str, across: float, proved: bool, turn: float
) -> None:
    """Geometry: between walls a machine takes its width and 0.6 m twice, or its length where that is less; turned or not."""
    area = affinity.rotate(shapely.box(0, 0, 30, across), turn, origin=(0, 0))
    asked = {
        "machines": [machine(length=length, width=width, intake_faces=["left", "right", "front", "rear"])],
        "arrange": True, "work_out_missing": False, "area": {"polygon": corners(area), "edges": walls},
    }  # fmt: skip
    results = answer_of("site.placement", asked)["results"]
    if walls == "open" and not proved:
        assert results["positions"]
    else:
        assert results["missing"]["proved"] is proved


@pytest.mark.parametrize(("spare", "proved"), [(0.01, False), (-0.01, True)])
def test_less_ground_than_machines(answer_of: Any, spare: float, proved: bool) -> None:
    """Areas added: three of 6 by 2 m take 36 m2."""
    rows = [machine(f"m{i}") for i in range(3)]
    asked = {
        "machines": rows, "arrange": True, "work_out_missing": False,
        "area": {"length": q(6, "m"), "width": q(6 + spare, "m"), "edges": "open"},
    }  # fmt: skip
    assert answer_of("site.placement", asked)["results"]["missing"]["proved"] is proved


def test_what_lacks_more_than_sixty_metres_is_not_counted(answer_of: Any) -> None:
    """As the calculator says: an area is lengthened by some 60 m at most. Two of 35 m and three gaps of 0.6 m: 71.8 m."""
    for length, lacks in ((10.0, 61.8), (4.0, None)):
        rows = [machine(f"m{i}", 35.0) for i in range(2)]
        asked = {"machines": rows, "arrange": True, "area": {"length": q(length, "m"), "width": q(3.3, "m")}}
        missing = answer_of("site.placement", asked)["results"]["missing"]
        assert missing.get("along_x") == (None if lacks is None else q(lacks, "m"))


boxes = st.tuples(st.integers(-60, 60), st.integers(-60, 60), st.integers(3, 60), st.integers(3, 60)).map(
    lambda b: shapely.box(b[0] / 5, b[1] / 5, (b[0] + b[2]) / 5, (b[1] + b[3]) / 5)
)
SOLID = ("wall", "combustible_wall", "engine", "tank", "edge")


@settings(max_examples=min(20, settings().max_examples))
@given(
    st.lists(st.tuples(boxes, st.sampled_from(SOLID), st.sampled_from([None, None, 2.49, 2.5])), min_size=1, max_size=5),
    st.lists(st.tuples(boxes, st.sampled_from(["walkway", "fire_lane"])), max_size=2),
    st.tuples(st.integers(-80, 80), st.integers(-80, 80)), st.tuples(st.integers(-80, 80), st.integers(-80, 80)),
)  # fmt: skip
def test_the_shortest_way_along_and_across(answer_of: Any, solids: Any, ways: Any, start: Any, end: Any) -> None:
    """Dijkstra by networkx over the lines 0.3 m outside of what stands there (2.5 m of headroom lets a way through below), and
    the places where it crosses a way.
    """
    ends = [(start[0] / 5 + 0.013, start[1] / 5 + 0.017), (end[0] / 5 - 0.011, end[1] / 5 - 0.019)]
    bars = [shape for shape, _, free in solids if free != 2.5]
    if math.dist(*ends) < 0.5 or any(bar.distance(shapely.MultiPoint(ends)) < 2e-3 for bar in bars):
        return
    xs = sorted({e[0] for e in ends} | {v for b in bars for v in (b.bounds[0] - 0.3, b.bounds[2] + 0.3)})
    ys = sorted({e[1] for e in ends} | {v for b in bars for v in (b.bounds[1] - 0.3, b.bounds[3] + 0.3)})
    net = networkx.Graph()
    for i, x in enumerate(xs):
        for j, y in enumerate(ys):
            for other in [(far, y) for far in xs[i + 1 : i + 2]] + [(x, far) for far in ys[j + 1 : j + 2]]:
                line = shapely.LineString([(x, y), other])
                if not any(line.intersects(bar) for bar in bars):
                    net.add_edge((x, y), other, weight=line.length)
    found = all(e in net for e in ends) and networkx.has_path(net, *ends)
    asked = {
        "obstacles": [
            thing(kind, shape, f"s{i}", **({} if free is None else {"underside": q(free, "m")}))
            for i, (shape, kind, free) in enumerate(solids)
        ]
        + [thing(kind, shape, f"w{i}") for i, (shape, kind) in enumerate(ways)],
        "hose_route": {"from": at(x=ends[0][0], y=ends[0][1]), "to": at(x=ends[1][0], y=ends[1][1])},
    }
    answer = answer_of("site.placement", asked)
    assert ("hose_length_needed" in answer["results"]) == found
    assert ("route_blocked" in codes(answer, "check")) != found
    if found:
        length = networkx.shortest_path_length(net, *ends, weight="weight")
        assert answer["results"]["hose_length_needed"]["value"] == pytest.approx(length, abs=0.01)


@pytest.mark.parametrize(("run", "short"), [(10.01, None), (9.99, "0.0"), (7.4, "2.6")])
def test_hose_that_is_too_short(answer_of: Any, run: float, short: str | None) -> None:
    """Along and across from (0, 0) to (7, 3): 10 m."""
    asked = {"hose_route": {"from": at(x=0, y=0), "to": at(x=7, y=3)}, "hose_run": q(run, "m")}
    found = [f for f in answer_of("site.placement", asked)["findings"] if f["code"] == "too_short"]
    assert [f["resolve"].split(" m more")[0] for f in found] == ([] if short is None else [short])


@pytest.mark.parametrize(("apart", "shared"), [(0.0, True), (0.5, False)])
def test_hose_and_cable_in_one_channel(answer_of: Any, apart: float, shared: bool) -> None:
    """Both across one path: in one place where they run on one line."""
    path = thing("walkway", shapely.box(3, -5, 5, 5), "path")
    asked = {
        "obstacles": [path],
        "hose_route": {"from": at(x=0, y=0), "to": at(x=9, y=0)},
        "cable_route": {"from": at(x=-1, y=apart), "to": at(x=8, y=apart)},
    }
    assert ("one_ramp_channel" in codes(answer_of("site.placement", asked), "check")) == shared


@pytest.mark.parametrize(("wide", "narrow"), [(20.01, False), (19.99, True)])
@pytest.mark.parametrize(("free", "low"), [(13.51, False), (13.49, True), (None, False)])
def test_a_fire_lane(answer_of: Any, wide: float, narrow: bool, free: float | None, low: bool) -> None:
    """International Fire Code (from memory): 20 ft wide and 13 ft 6 in high."""
    lane = affinity.rotate(shapely.box(0, 0, 50, wide * FOOT), 23, origin=(0, 0))
    every = [thing("fire_lane", lane, "lane")]
    if free is not None:
        every.append(
            thing(
                "wall",
                affinity.rotate(shapely.box(20, -1, 21, 9), 23, origin=(0, 0)),
                "bridge",
                underside=q(free, "ft"),
            )
        )
    answer = answer_of("site.placement", {"obstacles": every})
    assert ("fire_lane_narrow" in codes(answer, "check")) == narrow
    assert ("fire_lane_low" in codes(answer, "stop")) == low


@pytest.mark.parametrize(("kind", "gap", "code"), [
    ("opening", 0.0, "exit_blocked"), ("opening", 0.001, None), ("walkway", -0.001, "exit_blocked"), ("walkway", 0.0, None),
    ("fire_lane", -0.001, "fire_lane_blocked"), ("fire_lane", 0.0, None), ("wall", -0.001, "overlap"), ("wall", 0.0, None),
    ("cable", -0.001, "overlap"), ("cable", 0.001, None),
])  # fmt: skip
def test_what_stands_in_the_way(answer_of: Any, kind: str, gap: float, code: str | None) -> None:
    """A door is blocked by what only touches it; a way, a wall or a cable by what stands in it."""
    asked = {
        "machines": [machine()],
        "positions": [{"id": "M", **at(x=0, y=0)}],
        "obstacles": [thing(kind, shapely.box(3 + gap, -1, 5, 1))],
    }
    found = codes(answer_of("site.placement", asked), "stop") & {"exit_blocked", "fire_lane_blocked", "overlap"}
    assert found == (set() if code is None else {code})


@pytest.mark.parametrize(("apart", "overlap"), [(1.999, True), (2.0, False)])
def test_two_machines_in_each_other(answer_of: Any, apart: float, overlap: bool) -> None:
    asked = {
        "machines": [machine("a"), machine("b")],
        "positions": [{"id": "a", **at(x=0, y=0)}, {"id": "b", **at(x=1, y=apart)}],
    }
    assert ("overlap" in codes(answer_of("site.placement", asked), "stop")) == overlap


@pytest.mark.parametrize(("free", "above"), [(2.5, True), (2.49, False)])
@pytest.mark.parametrize("discharge", ["up", "side"])
def test_what_hangs_over_a_machine(answer_of: Any, free: float, above: bool, discharge: str) -> None:
    """A roof 2.5 m up hangs over a machine of 2.5 m; a lower one stands in it."""
    asked = {
        "machines": [machine(discharge=discharge)],
        "positions": [{"id": "M", **at(x=0, y=0)}],
        "obstacles": [thing("wall", shapely.box(1, -1, 5, 1), underside=q(free, "m"))],
    }
    found = codes(answer_of("site.placement", asked))
    assert ("discharge_under_overhang" in found) == (above and discharge == "up")
    assert ("overlap" in found) != above


@pytest.mark.parametrize(("high", "well"), [(2.51, True), (2.5, False)])
@pytest.mark.parametrize("turn", [0, 25])
def test_a_well_between_walls(answer_of: Any, high: float, well: bool, turn: float) -> None:
    """Geometry: two machines between unlike walls; the well is the hull of machines and of the walls before their sides,
    which is as wide as they are and as deep as the walls are apart.
    """

    def turned(shape: Any) -> Any:
        return affinity.rotate(shape, turn, origin=(0, 0))

    walls = [turned(shapely.box(-20, 3, 20, 4)), turned(shapely.box(-20, -3.5, 20, -2.5))]
    places = [turned(shapely.Point(x, 0)) for x in (-4.0, 4.0)]
    asked = {
        "machines": [machine(n, air_flow=q(20, "m3/s"), heat_rejected=q(200, "kW")) for n in "ab"]
        + [machine("c", engine=True)],
        "positions": [
            {"id": n, **at(x=float(p.x), y=float(p.y)), "rotation": q(turn, "deg")}
            for n, p in zip("ab", places, strict=True)
        ],
        "obstacles": [thing("wall", w, f"w{i}", height=q(high, "m")) for i, w in enumerate(walls)],
        "discharge_area": q(10, "m2"),
        "ambient": q(30, "degC"),
        "recirculation_fraction": 0.2,
    }
    results = answer_of("site.placement", asked)["results"]
    if well:  # to the far side of what of the walls lies before a side: 14 m across, from -3.5 to 4 m
        assert results["inlet_velocity"]["value"] == pytest.approx(40 / (14 * 7.5 - 10), rel=1e-5)
    else:
        assert "inlet_velocity" not in results
    rise = 400e3 / (1.15 * 40 * 1006)
    assert results["recirculated_air_temperature"]["value"] == pytest.approx(30 + 0.2 * rise / 0.8)


@pytest.mark.parametrize(("velocity", "severity"), [(1.99, None), (2.01, "check"), (2.99, "check"), (3.01, "stop")])
def test_air_down_into_a_pit(answer_of: Any, velocity: float, severity: str | None) -> None:
    """Common practice: 2 m/s and never 3; 30 m3/s want 15 m2 beside the discharges."""
    asked = {
        "machines": [machine(air_flow=q(30, "m3/s"))],
        "pit": {"area": q(30 / velocity + 4, "m2"), "depth": q(3, "m")},
        "discharge_area": q(4, "m2"),
    }
    found = [f for f in answer_of("site.placement", asked)["findings"] if f["code"] == "inlet_velocity"]
    assert [f["severity"] for f in found] == [severity] * (severity is not None)
    for f in found:
        assert f["resolve"].startswith("A free area of 15.0 m2")
        assert f["why"].startswith("Above 2 m/s")
        assert "above 3 m/s" in f["why"]


@pytest.mark.parametrize(("limit", "warm"), [(30.0, True), (33.9, True), (34.1, False)])
def test_air_that_is_too_warm(answer_of: Any, limit: float, warm: bool) -> None:
    """Heat balance: 300 kW into 30 m3/s of 1.15 kg/m3 and 1,006 J/(kg K) are 8.64 K; 0.316 of it turns back: 34.0 degC."""
    asked = {
        "machines": [machine(air_flow=q(30, "m3/s"), heat_rejected=q(300, "kW"), ambient_limit=q(limit, "degC"))],
        "ambient": q(30, "degC"),
        "recirculation_fraction": 0.3165,
    }
    answer = answer_of("site.placement", asked)
    assert answer["results"]["recirculated_air_temperature"]["value"] == pytest.approx(34.0, abs=0.02)
    assert ("too_warm" in codes(answer, "stop")) == warm


@pytest.mark.parametrize(("snow", "flood"), [(0.4, 0.1), (0.1, 0.4), (0, 0)])
def test_a_stand_above_snow_and_flood(answer_of: Any, snow: float, flood: float) -> None:
    """Common practice: 0.3 m above the higher of the two."""
    results = answer_of("site.placement", {"snow_depth": q(snow, "m"), "flood_level": q(flood, "m")})["results"]
    assert results["stand_height"]["value"] == pytest.approx(max(snow, flood) + 0.3)


@pytest.mark.parametrize(("path", "crosses"), [((4, -1, 5, 1), False), ((-1, 4, 1, 5), False), ((4, -1, 5, 20), True)])
@pytest.mark.parametrize("kind", ["walkway", "fire_lane"])
def test_of_equal_ways_the_freer(answer_of: Any, path: Any, crosses: bool, kind: str) -> None:
    """Two ways of 16 m and one bend: a path that crosses one of them is not crossed, one across both is, and costs nothing."""
    asked = {
        "obstacles": [thing(kind, shapely.box(*path), "path")],
        "hose_route": {"from": at(x=0, y=0), "to": at(x=9, y=7)},
    }
    results = answer_of("site.placement", asked)["results"]
    assert bool(results["crossings"]) == crosses
    assert results["hose_length_needed"]["value"] == pytest.approx(16, abs=1e-6)
