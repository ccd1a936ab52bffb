"""Where the plan stands its machines, in the site's free area and without one. Invented sites.

Compared by shapely on shapes built anew from positions and sizes.
"""

from typing import Any
from xml.etree import ElementTree

import msgspec
import pytest
import shapely
from orders import changed, fleet, machine, order, stock
from quantity import q
from shapely import affinity

from coldwright.contract import Refused
from coldwright.contract.evaluation import evaluate
from coldwright.contract.reading import read
from coldwright.registry import Registry
from coldwright_booking.answer.page_drawing import drawing
from coldwright_booking.plan.desk import Desk
from coldwright_site.placement.given import MakerClearances

FOOT = 0.3048
TWO = fleet(machine("middle", 150, 3))
UNLIKE = fleet(machine("a", 150, 1), machine("b", 90, 1))


def corners(*points: tuple[float, float]) -> list[dict[str, Any]]:
    """Corners in metres."""
    return [{"x": q(x, "m"), "y": q(y, "m")} for x, y in points]


L_YARD = ((0, 0), (24, 0), (24, 9), (10, 9), (10, 20), (0, 20))
DOOR = {"id": "door", "kind": "opening", "polygon": corners((0, 17), (0, 19))}
ROAD = {"id": "road", "kind": "fire_lane", "polygon": corners((17.5, 0), (24, 0), (24, 9), (17.5, 9))}


def bodies(results: dict[str, Any]) -> dict[str, Any]:
    """Footprints by name."""
    sizes = {m["id"]: (m["length"]["value"], m["width"]["value"]) for m in results["asked"]["placement"]["machines"]}
    found = {}
    for place in results["site"]["placement"]["positions"]:
        a, b = (v / 2 for v in sizes[place["id"]])
        turned = affinity.rotate(shapely.box(-a, -b, a, b), place["rotation"]["value"], origin=(0, 0))
        found[place["id"]] = affinity.translate(turned, place["x"]["value"], place["y"]["value"])
    return found


@pytest.mark.parametrize("stock", [TWO, UNLIKE], ids=["like", "unlike"])
def test_an_l_shaped_yard_with_a_door_and_a_road(answer_of: Any, stock: dict[str, Any]) -> None:
    area = {"polygon": corners(*L_YARD), "obstacles": [DOOR, ROAD]}
    answer = answer_of("booking.assessment", order(fleet=stock, site__area=area))
    results = answer["results"]
    placed = bodies(results)
    assert len(placed) == sum(m["count"] for m in results["machines"]) > 1
    yard, shapes = shapely.Polygon(L_YARD), list(placed.values())
    door, road = shapely.LineString([(0, 17), (0, 19)]), shapely.box(17.5, 0, 24, 9)
    for index, body in enumerate(shapes):
        assert yard.buffer(1e-6).covers(body)
        assert body.distance(door) > 20 * FOOT - 1e-6  # relief to an opening, ASHRAE 15
        assert body.intersection(road).area < 1e-6
        assert all(body.distance(other) > 0.6 - 1e-6 for other in shapes[index + 1 :])
    said = [f for f in answer["findings"] if f.get("calculator") == "site.placement"]
    assert not {f["severity"] for f in said} & {"stop", "check"}
    assert results["site"]["placement"]["smallest_margin"]["value"] >= 0


def test_too_small_an_area_stops_with_the_metres_that_it_lacks(answer_of: Any) -> None:
    """By hand: machine of l by w, air at both long sides and panel in front, between walls."""
    one = machine("only", 330, 1)
    length, width = (one["body"][k]["value"] for k in ("length", "width"))
    needs = width + 2 * 6 * FOOT
    area = {"length": q(length + 4 * FOOT + 0.7, "m"), "width": q(round(needs - 1.5, 2), "m")}
    answer = answer_of("booking.assessment", order(fleet=fleet(one), site__area=area))
    assert answer["outcome"] == "unacceptable"
    (stop,) = [f for f in answer["findings"] if f["code"] == "area_too_small"]
    lack = answer["results"]["site"]["placement"]["missing"]["along_y"]["value"]
    assert lack == pytest.approx(needs - round(needs - 1.5, 2), abs=0.0101)
    assert f"{lack:.2f} m along y" in stop["statement"]
    assert stop["statement"].startswith("1 machine finds no place in the free area with its distances: ")
    wider = changed(order(fleet=fleet(one), site__area=area), site__area__width=q(area["width"]["value"] + lack, "m"))
    again = answer_of("booking.assessment", wider)
    assert "area_too_small" not in {f["code"] for f in again["findings"]}


def test_a_combination_that_fits_the_area_is_taken(answer_of: Any) -> None:
    """One large machine is the fewest; where it finds no place, two smaller ones that do are the plan."""
    stock = fleet(machine("long", 330, 1), machine("short", 160, 2))
    stock["machines"][0] = changed(stock["machines"][0], body__length=q(14, "m"))
    area = {"length": q(13, "m"), "width": q(13, "m")}
    results = answer_of("booking.assessment", order(fleet=stock, site__area=area))["results"]
    assert [m["type"] for m in results["machines"]] == ["short"]
    assert len(results["site"]["placement"]["positions"]) == results["machines"][0]["count"]


def test_without_an_area_the_least_one_is_given_and_asked_for(answer_of: Any) -> None:
    results = answer_of("booking.assessment", order(fleet=TWO))["results"]
    least = results["site"]["placement"]["least_area"]
    ground = shapely.box(0, 0, least["length"]["value"], least["width"]["value"])
    assert all(ground.covers(body) for body in bodies(results).values())
    (question,) = [x for x in results["open_questions"] if x["field"] == "/site/area"]
    assert not question["decides"]


def test_routes_lead_through_the_area_and_are_compared_with_what_is_at_hand(answer_of: Any) -> None:
    area = {"length": q(20, "m"), "width": q(12, "m")}
    ends = {"load_point": corners((0, 11))[0], "supply_point": corners((20, 1))[0]}
    near = answer_of("booking.assessment", order(fleet=TWO, site__area=area | ends))
    told = near["results"]["site"]["placement"]
    assert 0 < told["hose_length_needed"]["value"] < 20
    assert 0 < told["cable_length_needed"]["value"] < 32
    far = {"load_point": corners((-200, 11))[0]}
    codes = {f["code"] for f in answer_of("booking.assessment", order(fleet=TWO, site__area=area | far))["findings"]}
    assert "too_short" in codes


def test_the_generating_set_has_its_place_too(answer_of: Any) -> None:
    area = {"length": q(24, "m"), "width": q(16, "m")}
    results = answer_of("booking.assessment", order(fleet=TWO, supply={"source": "generator"}, site__area=area))[
        "results"
    ]
    item = results["supply"]["generator_item"]
    placed = bodies(results)
    assert any(name.startswith(item) for name in placed)
    assert len(placed) == sum(m["count"] for m in results["machines"]) + 1


def test_the_hot_air_that_returns_warms_what_the_machines_draw(answer_of: Any) -> None:
    """By hand: r dT / (1 - r) over the air of the day, dT = Q / (rho V cp) with 1.15 kg/m3 and 1006 J/kg K."""
    row = changed(machine("middle", 150, 3), condenser_airflow=q(20, "m3/s"))
    area = {"length": q(20, "m"), "width": q(16, "m"), "recirculation_fraction": 0.2}
    results = answer_of("booking.assessment", order(fleet=fleet(row), site__area=area))["results"]
    asked = results["asked"]["placement"]
    heat = sum(m["heat_rejected"]["value"] for m in asked["machines"]) * 1000
    rise = heat / (1.15 * 20 * len(asked["machines"]) * 1006)
    drawn = asked["ambient"]["value"] + 0.2 * rise / 0.8
    assert results["site"]["placement"]["recirculated_air_temperature"]["value"] == pytest.approx(drawn, rel=1e-6)


@pytest.mark.parametrize(
    ("area", "pointer"),
    [
        ({"length": q(5, "m")}, "#/site/area/width"),
        ({"polygon": corners((0, 0), (9, 9), (9, 0), (0, 9))}, "#/site/area/polygon"),
        (
            {
                "length": q(9, "m"),
                "width": q(9, "m"),
                "obstacles": [DOOR | {"polygon": corners((0, 0), (1, 1), (2, 2))}],
            },
            "#/site/area/obstacles/0/polygon",
        ),
    ],
)
def test_an_area_that_contradicts_itself_is_refused_where_the_order_has_it(
    answer_of: Any, area: dict[str, Any], pointer: str
) -> None:
    with pytest.raises(Refused) as refused:
        answer_of("booking.assessment", order(site__area=area))
    assert [e.pointer for e in refused.value.errors] == [pointer]


@pytest.mark.parametrize(
    "area", [None, {"polygon": corners(*L_YARD), "obstacles": [DOOR, ROAD]}, {"length": q(6, "m"), "width": q(4, "m")}]
)
def test_the_page_of_the_plan_draws_the_place(registry: Registry, area: dict[str, Any] | None) -> None:
    """With a free area, without one, and where it is too small: then the area alone."""
    document = order(fleet=TWO, **({"site__area": area} if area else {}))
    asked = registry.lookup("booking.assessment")
    answer = evaluate(asked, read(asked.given, msgspec.json.encode(document)), lookup=registry.lookup)
    picture = drawing(answer.results)
    assert picture is not None
    words = " ".join(ElementTree.fromstring(picture.svg).itertext())
    assert "free area" in words
    places = answer.results.site.placement.positions
    assert bool(places) is (area is None or "polygon" in area)
    for place in places:
        assert place.id in words


@pytest.mark.parametrize("names", [("a", "b"), ("b", "a")])
def test_the_greatest_distance_of_two_makers_holds(answer_of: Any, names: tuple[str, str]) -> None:
    """Each distance by itself, whichever type is named first."""
    first, second, *_ = MakerClearances.__struct_fields__
    two = {"a": {first: q(1.8, "m"), second: q(1.0, "m")}, "b": {first: q(1.2, "m"), second: q(1.4, "m")}}
    rows = [changed(machine(n, 120, 1), body__clearances=two[n]) for n in names]
    results = answer_of("booking.assessment", order(fleet=fleet(*rows)))["results"]
    assert len(results["machines"]) == 2
    told = results["asked"]["placement"]["clearances"]
    assert told == {first: q(1.8, "m"), second: q(1.4, "m")}


@pytest.mark.parametrize(
    ("edges", "obstacles", "share"),
    [("open", [], 0.05), ("walls", [], 0.10), ("open", ["wall"], 0.10), ("open", ["hydrant"], 0.05)],
)
def test_hot_air_returns_more_between_walls(answer_of: Any, edges: str, obstacles: list[str], share: float) -> None:
    """Common practice: a twentieth in the open, a tenth between walls."""
    walls = [{"id": k, "kind": k, "polygon": corners((0, 0), (0.3, 0), (0.3, 4), (0, 4))} for k in obstacles]
    area = {"length": q(20, "m"), "width": q(16, "m"), "edges": edges, "obstacles": walls}
    results = answer_of("booking.assessment", order(fleet=TWO, site__area=area))["results"]
    assert results["asked"]["placement"]["recirculation_fraction"] == share


@pytest.mark.parametrize("weak", [True, False], ids=["stopped before", "stopped by the area"])
def test_places_are_looked_for_where_nothing_stops_the_plan_before(
    answer_of: Any, monkeypatch: pytest.MonkeyPatch, weak: bool
) -> None:
    """The search is what takes longest: hoses that bear too little rule out every combination without it. The plan that is
    shown has its places, or what the area lacks, all the same.
    """
    questions: list[str] = []
    asks = Desk.ask

    def counted(self: Desk, calculator: Any, given: Any) -> Any:
        questions.append(calculator.id)
        return asks(self, calculator, given)

    monkeypatch.setattr(Desk, "ask", counted)
    rows = [r | {"working_pressure": q(300, "kPa")} if weak and r["kind"] == "hose" else r for r in stock()]
    made = fleet(machine("middle", 150, 3), machine("small", 60, 6), machine("large", 330, 2), accessories=rows)
    area = {"length": q(5, "m"), "width": q(5, "m")}
    answer = answer_of("booking.assessment", order(fleet=made, site__area=area))
    found = {f["code"] for f in answer["findings"] if f["severity"] == "stop"}
    assert ("over_working_pressure" in found, "area_too_small" in found) == (weak, True)
    assert questions.count("refrigeration.selection") > 3, "several were tried"
    placed = questions.count("site.placement")
    assert placed == 2 if weak else placed > 3, "the plan that is shown, and the metres that its area lacks"
    missing = answer["results"]["site"]["placement"]["missing"]
    assert set(missing) - {"proved"}
