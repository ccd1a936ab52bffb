"""Places that `site.placement` looks for: inside, apart, every distance kept; compared by shapely, on shapes built anew.

Distances: the usual ones of the family's table in feet (common practice, no source), 0.6 m before blank sides.
"""

from typing import Any

import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely import affinity

FOOT = 0.3048
TO_WALL, TO_INTAKE, TO_BLANK, SERVICE, BLANK = 6 * FOOT, 10 * FOOT, 6 * FOOT, 4 * FOOT, 0.6
ENOUGH = 1e-5
SIDES = ("front", "left", "rear", "right")


def m(value: float) -> dict[str, Any]:
    """Metres."""
    return {"value": value, "unit": "m"}


def machine(name: str, length: float, width: float, intakes: Any = ("left", "right"), **more: Any) -> dict[str, Any]:
    """A machine with its panel in front."""
    return {
        "id": name,
        "length": m(length),
        "width": m(width),
        "height": m(2.4),
        "intake_faces": list(intakes),
        "service_faces": ["front"],
        **more,
    }


def corners(shape: Any) -> list[dict[str, Any]]:
    """Of a polygon."""
    return [{"x": m(x), "y": m(y)} for x, y in list(shape.exterior.coords)[:-1]]


def stands(row: dict[str, Any], place: dict[str, Any], *, grown: dict[str, float] | None = None) -> Any:
    """The body of a machine where it was placed, each side moved out by so much."""
    out = grown or {}
    a, b = row["length"]["value"] / 2, row["width"]["value"] / 2
    box = shapely.box(
        -a - out.get("rear", 0), -b - out.get("right", 0), a + out.get("front", 0), b + out.get("left", 0)
    )
    turned = affinity.rotate(box, place["rotation"]["value"], origin=(0, 0))
    return affinity.translate(turned, place["x"]["value"], place["y"]["value"])


def judged(rows: list[dict[str, Any]], places: list[dict[str, Any]], area: Any, obstacles: list[Any]) -> None:
    """Inside, apart, and clear before every side."""
    bodies = [stands(r, p) for r, p in zip(rows, places, strict=True)]
    for i, body in enumerate(bodies):
        assert area.buffer(ENOUGH).covers(body)
        assert all(body.intersection(o).area < ENOUGH for o in obstacles)
        assert all(body.intersection(other).area < ENOUGH for other in bodies[i + 1 :])
        assert all(body.distance(other) > BLANK - ENOUGH for other in bodies[i + 1 :])
    for i, (row, place) in enumerate(zip(rows, places, strict=True)):
        for side in SIDES:
            intake, service = side in row["intake_faces"], side in row["service_faces"]
            solid = max(TO_WALL if intake else 0, SERVICE if service else 0, BLANK) - ENOUGH
            strip = stands(row, place, grown={side: solid}).difference(bodies[i].buffer(ENOUGH))
            assert area.buffer(ENOUGH).covers(strip), side
            if intake or service:
                assert not any(strip.buffer(-ENOUGH).intersects(o) for o in obstacles), side
            machines = max(TO_BLANK if intake else 0, SERVICE if service else 0, BLANK) - ENOUGH
            near = stands(row, place, grown={side: machines}).difference(bodies[i].buffer(ENOUGH))
            far = stands(row, place, grown={side: TO_INTAKE - ENOUGH}).difference(bodies[i].buffer(ENOUGH))
            for j, other in enumerate(bodies):
                if j == i:
                    continue
                assert not near.buffer(-ENOUGH).intersects(other), side
                if intake and far.buffer(-ENOUGH).intersects(other):
                    assert not _faces_back(rows[j], places[j], bodies[i], far), "intake to intake"


def _faces_back(row: dict[str, Any], place: dict[str, Any], body: Any, strip: Any) -> bool:
    """Whether the machine's own intake looks straight at the body, nearer than two intakes may be."""
    mine = stands(row, place)
    for side in row["intake_faces"]:
        reach = stands(row, place, grown={side: TO_INTAKE - ENOUGH}).difference(mine.buffer(ENOUGH)).buffer(-ENOUGH)
        if reach.intersects(body) and strip.intersects(mine):
            return True
    return False


SIZES = st.tuples(st.floats(1.5, 7).map(lambda v: round(v, 2)), st.floats(0.9, 2.4).map(lambda v: round(v, 2)))


@st.composite
def yards(draw: Any) -> tuple[Any, list[Any], list[dict[str, Any]]]:
    """An L-shape, perhaps turned, with a tank in it at times, and unlike machines."""
    length, width = draw(st.integers(9, 34)), draw(st.integers(9, 30))
    notch_x, notch_y = draw(st.integers(1, length - 4)), draw(st.integers(1, width - 4))
    shape = shapely.box(0, 0, length, width).difference(shapely.box(length - notch_x, width - notch_y, 50, 50))
    tanks = []
    if draw(st.booleans()):
        x, y = draw(st.integers(0, length - 3)), draw(st.integers(0, width - 3))
        tanks.append(shapely.box(x, y, x + 1.5, y + 1))
    turn = draw(st.sampled_from([0, 0, 0, 90, 30, -17]))
    shape, *tanks = (affinity.rotate(s, turn, origin=(0, 0)) for s in (shape, *tanks))
    sizes = draw(st.lists(SIZES, min_size=1, max_size=5))
    sides = draw(st.sampled_from([("left", "right"), ("left", "right"), ("rear",), ("left",), ()]))
    return shape, tanks, [machine(f"m{i}", length, width, intakes=sides) for i, (length, width) in enumerate(sizes)]


@settings(max_examples=min(60, settings().max_examples))
@given(yard=yards())
def test_machines_stand_inside_apart_and_clear(answer_of: Any, yard: tuple[Any, list[Any], list[Any]]) -> None:
    shape, tanks, rows = yard
    document: dict[str, Any] = {
        "machines": rows,
        "arrange": True,
        "area": {"polygon": corners(shape)},
        "obstacles": [
            {"id": f"tank {i}", "kind": "tank", "height": m(3), "polygon": corners(t)} for i, t in enumerate(tanks)
        ],
    }
    answer = answer_of("site.placement", document)
    places = answer["results"].get("positions", [])
    codes = {f["code"] for f in answer["findings"]}
    if not places:
        assert "area_too_small" in codes
        return
    near = [f["statement"] for f in answer["findings"] if f["code"] == "too_near"]
    assert not near, (near, places)
    assert not {"area_too_small", "outside_area", "overlap"} & codes
    judged(rows, places, shape, tanks)


@given(sizes=st.lists(SIZES, min_size=1, max_size=8))
def test_the_least_rectangle_holds_them_all(answer_of: Any, sizes: list[tuple[float, float]]) -> None:
    rows = [machine(f"m{i}", *size) for i, size in enumerate(sizes)]
    results = answer_of("site.placement", {"machines": rows, "arrange": True})["results"]
    least = results["least_area"]
    places = sorted(results["positions"], key=lambda p: p["id"])
    judged(rows, places, shapely.box(0, 0, least["length"]["value"], least["width"]["value"]), [])
    taken = sum(a * b for a, b in sizes)
    assert least["length"]["value"] * least["width"]["value"] > taken


@settings(max_examples=min(5, settings().max_examples))
@given(size=SIZES, width=st.floats(2.2, 4.5), count=st.integers(1, 2))
def test_what_is_missing_is_what_has_to_be_added(
    answer_of: Any, size: tuple[float, float], width: float, count: int
) -> None:
    """With it the machines find their places, with 2 cm less they find none."""
    rows = [machine(f"m{i}", *size) for i in range(count)]

    def tried(length: float, across: float) -> dict[str, Any]:
        area = {"length": m(length), "width": m(across)}
        answer: dict[str, Any] = answer_of("site.placement", {"machines": rows, "arrange": True, "area": area})
        return answer["results"]

    results = tried(8, width)
    assume("missing" in results)
    for name, grown in (("along_x", (1, 0)), ("along_y", (0, 1))):
        if name in results["missing"]:
            lack = results["missing"][name]["value"]
            assert tried(8 + lack * grown[0], width + lack * grown[1]).get("positions")
            short = lack - 0.02
            assert not tried(8 + short * grown[0], width + short * grown[1]).get("positions")


def test_one_machine_by_hand(answer_of: Any) -> None:
    """6.0 by 2.2 m, air at both long sides, panel in front: 6 ft at each long side, 4 ft in front, 0.6 m behind."""
    one = [machine("one", 6, 2.2)]
    needed = (6 + 4 * FOOT + 0.6, 2.2 + 2 * 6 * FOOT)
    least = answer_of("site.placement", {"machines": one, "arrange": True})["results"]["least_area"]
    assert (least["length"]["value"], least["width"]["value"]) == pytest.approx(needed)
    tight = {"machines": one, "arrange": True, "area": {"length": m(7.9), "width": m(5)}}
    answer = answer_of("site.placement", tight)
    (stop,) = [f for f in answer["findings"] if f["code"] == "area_too_small"]
    assert stop["severity"] == "stop"
    assert answer["results"]["missing"] == {"along_y": m(0.86), "proved": False}  # 5.8576 - 5 to the next centimetre
    assert "0.86 m along y" in stop["statement"]


def test_metres_that_are_missing_by_hand(answer_of: Any) -> None:
    """The same machine asks for 7.819 by 5.858 m whichever way it stands: an area of 3 by 6.2 m lacks 4.82 m along x, or
    2.86 m where it is 9 m wide; however far it reaches along y, it stays too narrow.
    """
    for width, lacks in ((6.2, 4.82), (9.0, 2.86)):
        area = {"length": m(3), "width": m(width)}
        answer = answer_of("site.placement", {"machines": [machine("one", 6, 2.2)], "arrange": True, "area": area})
        assert answer["results"]["missing"] == {"along_x": m(lacks), "proved": True}


def plain(name: str, length: float, width: float) -> dict[str, Any]:
    """A machine that asks for nothing but 0.6 m round it."""
    return machine(name, length, width, intakes=(), service_faces=[])


def test_a_yard_that_is_full_to_the_brim(answer_of: Any) -> None:
    """Four of 2.4 by 1.4 m, round about: with 0.6 m beside each, 3 + 2 m one way and the other, and 0.6 m at the end.

    Each at its first free place they do not find it; a centimetre less holds them no more.
    """
    rows = [plain(f"m{i}", 2.4, 1.4) for i in range(4)]
    area = shapely.box(0, 0, 5.6, 5.6)
    answer = answer_of("site.placement", {"machines": rows, "arrange": True, "area": {"polygon": corners(area)}})
    judged(rows, answer["results"]["positions"], area, [])
    assert answer["findings"] == []
    less = {"machines": rows, "arrange": True, "area": {"length": m(5.59), "width": m(5.6)}}
    answer = answer_of("site.placement", less)
    assert answer["results"]["missing"]["along_x"] == m(0.01)
    assert not answer["results"]["missing"]["proved"]
    (stop,) = [f for f in answer["findings"] if f["code"] == "area_too_small"]
    assert "that none exists is not proved" in stop["statement"]


@pytest.mark.parametrize(
    ("count", "length", "width", "proved"),
    [
        (1, 7.9, 5, False),  # lacks the air's distance alone
        (1, 20, 2.1, True),  # narrower than the machine is wide
        (1, 20, 3.3, True),  # 2.2 m and 0.6 m to walk through on both sides
        (1, 20, 3.5, False),
        (6, 8, 9, True),  # 6 x 13.2 m2 on 72 m2
        (5, 8, 9, False),
    ],
)
def test_what_is_proved_too_small(answer_of: Any, count: int, length: float, width: float, proved: bool) -> None:
    rows = [machine(f"m{i}", 6, 2.2) for i in range(count)]
    document = {"machines": rows, "arrange": True, "area": {"length": m(length), "width": m(width)}}
    answer = answer_of("site.placement", document | {"work_out_missing": False})
    assert answer["results"]["missing"]["proved"] == proved
    (stop,) = [f for f in answer["findings"] if f["code"] == "area_too_small"]
    assert ("is not proved" in stop["statement"]) != proved


@st.composite
def tight(draw: Any) -> tuple[Any, list[dict[str, Any]]]:
    """A rectangle that is cut into four, cut by cut, and a machine that fills each with 0.6 m round it."""

    def cut(x: float, y: float, pieces: int) -> list[tuple[float, float]]:
        if pieces == 1:
            return [(x, y)]
        first = draw(st.integers(1, pieces - 1))
        at = draw(st.integers(35, 65)) / 100
        if x > y:
            return cut(x * at, y, first) + cut(x - x * at, y, pieces - first)
        return cut(x, y * at, first) + cut(x, y - y * at, pieces - first)

    length, width = draw(st.integers(6, 12)), draw(st.integers(6, 12))
    sizes = [tuple(sorted((x, y), reverse=True)) for x, y in cut(length, width, 4)]
    rows = [plain(f"m{i}", round(x - 0.601, 3), round(y - 0.601, 3)) for i, (x, y) in enumerate(sizes)]
    assume(all(r["width"]["value"] > 0.3 for r in rows))
    return shapely.box(0, 0, length + 0.6, width + 0.6), rows


@settings(max_examples=min(20, settings().max_examples))
@given(yard=tight())
def test_four_machines_that_fill_their_yard_are_found(answer_of: Any, yard: tuple[Any, list[dict[str, Any]]]) -> None:
    area, rows = yard
    document = {"machines": rows, "arrange": True, "area": {"polygon": corners(area)}}
    places = answer_of("site.placement", document)["results"].get("positions", [])
    assert places
    judged(rows, places, area, [])


@settings(max_examples=min(8, settings().max_examples))
@given(
    base=st.floats(10, 16), height=st.floats(5, 9), lean=st.floats(0.3, 0.7), deep=st.floats(0.35, 0.5),
    spare=st.floats(0.55, 0.9),
)  # fmt: skip
def test_in_a_yard_without_a_right_angle_places_are_tried_every_half_metre(
    answer_of: Any, base: float, height: float, lean: float, deep: float, spare: float
) -> None:
    """A triangle, and a machine with half a metre to spare beside 0.6 m round it on one side: by similar triangles."""
    width = round(height * deep - 1.2, 3)
    length = round(base * (1 - deep) - spare - 1.2, 3)
    assume(length > width)
    area = shapely.Polygon([(0, 0), (base, 0), (base * lean, height)])
    rows = [plain("one", length, width)]
    document = {"machines": rows, "arrange": True, "area": {"polygon": corners(area)}, "work_out_missing": False}
    places = answer_of("site.placement", document)["results"].get("positions", [])
    assert places
    judged(rows, places, area, [])


def test_a_door_keeps_machines_away(answer_of: Any) -> None:
    """A refrigerant relief stays 20 ft from an opening (ASHRAE 15), and nothing stands before a door."""
    door = shapely.LineString([(0, 4), (0, 5)])
    document: dict[str, Any] = {
        "machines": [machine("one", 6, 2.2)],
        "arrange": True,
        "area": {"length": m(20), "width": m(9)},
        "obstacles": [{"id": "door", "kind": "opening", "polygon": [{"x": m(0), "y": m(4)}, {"x": m(0), "y": m(5)}]}],
    }
    answer = answer_of("site.placement", document)
    (place,) = answer["results"]["positions"]
    assert stands(document["machines"][0], place).distance(door) > 20 * FOOT - ENOUGH
    assert answer["findings"] == []


def test_roads_stay_free(answer_of: Any) -> None:
    lane = shapely.box(0, 0, 30, 7)
    document: dict[str, Any] = {
        "machines": [machine("one", 6, 2.2), machine("two", 4, 2)],
        "arrange": True,
        "area": {"length": m(30), "width": m(14)},
        "obstacles": [{"id": "lane", "kind": "fire_lane", "polygon": corners(lane)}],
    }
    answer = answer_of("site.placement", document)
    for row, place in zip(document["machines"], answer["results"]["positions"], strict=True):
        assert stands(row, place).intersection(lane).area < ENOUGH
    assert not {f["severity"] for f in answer["findings"]} & {"stop", "check"}


def test_an_engine_keeps_its_own_distances(answer_of: Any) -> None:
    """5 ft from an opening (NFPA 37), 25 ft from an air intake (common practice); a machine of refrigerant 20 ft."""
    things = [
        {"id": "door", "kind": "opening", "polygon": [{"x": m(0), "y": m(0)}, {"x": m(1), "y": m(0)}]},
        {"id": "louvre", "kind": "air_intake", "polygon": [{"x": m(24), "y": m(0)}, {"x": m(25), "y": m(0)}]},
    ]
    one = machine("set", 3, 1.2, intakes=("rear",), engine=True)
    document = {"machines": [one], "arrange": True, "area": {"length": m(25), "width": m(6)}, "obstacles": things}
    answer = answer_of("site.placement", document)
    (place,) = answer["results"]["positions"]
    body = stands(one, place)
    assert 5 * FOOT - ENOUGH < body.distance(shapely.LineString([(0, 0), (1, 0)])) < 20 * FOOT
    assert body.distance(shapely.LineString([(24, 0), (25, 0)])) > 25 * FOOT - ENOUGH
    assert answer["findings"] == []


def test_routes_lead_from_the_machines_to_load_and_supply(answer_of: Any) -> None:
    """By hand: one machine in the corner, its panel end at x = 6.6, its blank end at x = 0.6, its middle at y = 2.9288."""
    document: dict[str, Any] = {
        "machines": [machine("one", 6, 2.2)],
        "arrange": True,
        "area": {"length": m(12), "width": m(7)},
        "load_point": {"x": m(0), "y": m(6.5)},
        "supply_point": {"x": m(12), "y": m(0.5)},
    }
    results = answer_of("site.placement", document)["results"]
    middle = 6 * FOOT + 1.1
    assert results["hose_length_needed"]["value"] == pytest.approx(0.6 + 6.5 - middle, abs=1e-6)
    assert results["cable_length_needed"]["value"] == pytest.approx(12 - 6.6 + middle - 0.5, abs=1e-6)


@pytest.mark.parametrize(
    ("more", "pointer"),
    [
        ({"area": {"length": m(5)}}, "#/area/width"),
        ({"area": {"length": m(5), "width": m(5), "polygon": corners(shapely.box(0, 0, 1, 1))}}, "#/area/polygon"),
        ({"area": {"polygon": [{"x": m(0), "y": m(0)}, {"x": m(1), "y": m(1)}]}}, "#/area/polygon"),
        ({"machines": []}, "#/machines"),
        ({"positions": [{"id": "one", "x": m(1), "y": m(1)}]}, "#/arrange"),
        ({"obstacles": [{"id": "t", "kind": "tank", "polygon": corners(shapely.box(0, 0, 1, 1))}]}, "#/area"),
    ],
)
def test_what_contradicts_itself_is_refused(answer_of: Any, more: dict[str, Any], pointer: str) -> None:
    from coldwright.contract import Refused

    document = {"machines": [machine("one", 6, 2.2)], "arrange": True} | more
    with pytest.raises(Refused) as refused:
        answer_of("site.placement", document)
    assert [e.pointer for e in refused.value.errors] == [pointer]


def test_a_machine_beyond_the_area_is_a_stop(answer_of: Any) -> None:
    document: dict[str, Any] = {
        "machines": [machine("one", 6, 2.2)],
        "positions": [{"id": "one", "x": m(1), "y": m(3)}],
        "area": {"length": m(12), "width": m(7)},
    }
    assert "outside_area" in {f["code"] for f in answer_of("site.placement", document)["findings"]}


@pytest.mark.parametrize("sizes", [((6, 2.2),), ((6, 2.2), (4.6, 2.2))], ids=["one", "two unlike"])
@pytest.mark.parametrize("area", [(3.0, 2.0), (2.0, 3.0), (5.0, 5.0)])
def test_what_lacks_along_both_sides_is_said_where_neither_alone_would_do(
    answer_of: Any, sizes: Any, area: tuple[float, float]
) -> None:
    """So much farther along both it holds them; a little less along either it does not."""
    rows = [machine(f"m{n}", *size) for n, size in enumerate(sizes)]

    def tried(length: float, width: float) -> Any:
        return answer_of(
            "site.placement", {"machines": rows, "arrange": True, "area": {"length": m(length), "width": m(width)}}
        )

    answer = tried(*area)
    missing = answer["results"]["missing"]
    (stop,) = [f for f in answer["findings"] if f["code"] == "area_too_small"]
    assert not {"along_x", "along_y"} & set(missing)
    x, y = (missing["together"][name]["value"] for name in ("along_x", "along_y"))
    assert f"it lacks {x:.2f} m along x and {y:.2f} m along y" in stop["statement"]
    grown = area[0] + x, area[1] + y
    judged(rows, tried(*grown)["results"]["positions"], shapely.box(0, 0, *grown), [])
    if len(sizes) == 1:
        for less in ((grown[0] - 0.02, grown[1]), (grown[0], grown[1] - 0.02)):
            assert not tried(*less)["results"].get("positions")
