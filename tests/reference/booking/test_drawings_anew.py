"""Drawings and plots on the page of a plan, measured again beside the numbers that they show.

Derived: plane geometry (shapely) of the drawn outlines, and points of the plots beside the answer.
"""

import json
import math
import re
from functools import cache
from typing import Any

import pytest
import shapely
from plans_anew import CASES, Json, Plan, si
from shapely import affinity

from coldwright.contract.page import Drawing, Levels, Occasion, Plot
from coldwright.engine.pages import page_of
from coldwright.registry import Registry

pytestmark = pytest.mark.check
OUTLINE = re.compile(r'<path d="M ([^"Z]+) Z"[^>]*?fill="([^"]+)" stroke="[^"]+" stroke-width="([\d.]+)"')
FREE, MACHINE = ("#f7f7f2", "0.4"), ("#ffffff", "0.8")


@pytest.fixture(scope="session")
def shown(registry: Registry, plans_anew: dict[str, Plan]) -> Any:
    """`shown(name)`: drawing, plots by their title and bars of one of the plans."""
    local = registry.served["booking.assessment"].local

    @cache
    def made(name: str) -> tuple[Drawing | None, dict[str, Plot], Levels]:
        page = page_of(local, json.dumps(plans_anew[name].answer).encode(), Occasion())
        assert page is not None
        blocks = [block for part in page.sections for block in getattr(part, "blocks", ())]
        drawn = next((b for b in blocks if isinstance(b, Drawing)), None)
        (levels,) = (b for b in blocks if isinstance(b, Levels))
        return drawn, {b.title.partition(":")[0]: b for b in blocks if isinstance(b, Plot)}, levels

    return made


@pytest.fixture(params=list(CASES))
def named(request: Any) -> str:
    return str(request.param)


def outlines(svg: str, style: tuple[str, str]) -> list[Any]:
    found = []
    for path, fill, width in OUTLINE.findall(svg):
        if (fill, width) == style:
            numbers = [float(n) for n in re.findall(r"-?[\d.]+", path)]
            found.append(shapely.Polygon(list(zip(numbers[::2], numbers[1::2], strict=True))))
    return found


def standing(plan: Plan) -> list[Any]:
    """Rectangles about their places, turned as they stand, in metres."""
    sizes = {m["id"]: (si(m["length"]), si(m["width"])) for m in plan.asked["placement"]["machines"]}
    shapes = []
    for place in plan.results["site"]["placement"]["positions"]:
        length, width = sizes[place["id"]]
        flat = shapely.box(-length / 2, -width / 2, length / 2, width / 2)
        turned = affinity.rotate(flat, math.degrees(si(place["rotation"])), origin=(0, 0))
        shapes.append(affinity.translate(turned, si(place["x"]), si(place["y"])))
    return shapes


def test_machines_are_drawn_where_they_stand(plans_anew: dict[str, Plan], shown: Any, named: str) -> None:
    """One scale both ways, the page's y downwards: the free area gives scale and origin, each machine must then fit."""
    plan, (drawn, _, _) = plans_anew[named], shown(named)
    least = plan.results["site"]["placement"]["least_area"]
    across, up = si(least["length"]), si(least["width"])
    (free,) = outlines(drawn.svg, FREE)
    left, top, right, bottom = free.bounds
    scale = (right - left) / across
    assert (bottom - top) / up == pytest.approx(scale, rel=1e-3)
    machines = outlines(drawn.svg, MACHINE)
    stand = standing(plan)
    assert len(machines) == len(stand) == plan.units + plan.on_set
    for one, shape in zip(machines, stand, strict=True):
        there = affinity.affine_transform(shape, [scale, 0, 0, -scale, left, bottom])
        assert one.symmetric_difference(there).area < 0.01 * there.area
    room = shapely.box(0, 0, across, up).buffer(1e-3)
    assert all(room.contains(shape) for shape in stand)
    for place, one in enumerate(stand):
        assert all(one.disjoint(other) for other in stand[place + 1 :])


def test_pressure_goes_from_part_to_part(plans_anew: dict[str, Plan], shown: Any, named: str) -> None:
    """Each part begins where the one before ended; the plot shows all, and names the highest and the lowest."""
    plan, plot = plans_anew[named], shown(named)[1]["Pressure along the loop, pump on"]
    parts = [e for e in plan.loop["elements"] if "pressure_in" in e and "pressure_out" in e]
    ends = [si(parts[0]["pressure_in"]), *(si(e["pressure_out"]) for e in parts)]
    assert plot.series[0].points == tuple((n, pytest.approx(p / 1000, rel=1e-9)) for n, p in enumerate(ends))
    assert [spot.y for spot in plot.spots] == pytest.approx([max(ends) / 1000, min(ends) / 1000])
    assert all(ends[round(spot.x)] == pytest.approx(1000 * spot.y) for spot in plot.spots)
    (bound,) = plot.bounds
    row = next(r for r in plan.order["fleet"]["accessories"] if r["item"] == plan.loop["hose_item"])
    assert bound.at == pytest.approx(si(row["working_pressure"]) / 1000)
    assert re.findall(r"(\d+) [a-z]", plot.says.partition("Highest")[0]) == [str(n + 1) for n in range(len(parts))]


def test_pump_and_loop_meet_at_the_flow(plans_anew: dict[str, Plan], shown: Any, named: str) -> None:
    """The loop by the square of the flow, from nothing to a little beyond where the pump runs."""
    plan, plots = plans_anew[named], shown(named)[1]
    assert ("Pump and loop" in plots) == (len(plan.loop.get("scaled_pump_curve", [])) > 1)
    if "Pump and loop" not in plots:
        return
    flow, head = si(plan.loop["duty_flow"]) * 1000, si(plan.loop["pump_head"])
    plot = plots["Pump and loop"]
    (runs,) = plot.spots
    assert (runs.x, runs.y) == (pytest.approx(flow), pytest.approx(head))
    curve, system = (series.points for series in plot.series)
    told = [(si(p["flow"]) * 1000, si(p["head"])) for p in plan.loop["scaled_pump_curve"]]
    assert list(curve) == [(pytest.approx(x), pytest.approx(y)) for x, y in told]
    assert system[0] == (0, 0)
    assert all(y / head == pytest.approx((x / flow) ** 2, abs=1e-9) for x, y in system)
    assert flow < system[-1][0] <= 1.2 * flow or system[-1][0] == pytest.approx(told[-1][0])


def test_dips_are_those_of_the_starts(plans_anew: dict[str, Plan], shown: Any, named: str) -> None:
    plan, plots = plans_anew[named], shown(named)[1]
    assert ("Generator" in plots) == plan.on_set
    if not plan.on_set:
        return
    steps = plan.results["supply"]["generator"]["steps"]
    dips = [(s["start_order"], 100 * s["dip_transient_fraction"]) for s in steps]
    assert list(plots["Generator"].series[0].points) == [(x, pytest.approx(y)) for x, y in dips]
    assert plots["Generator"].spots[0].y == pytest.approx(max(y for _, y in dips))
    assert plots["Generator"].bounds[0].at == pytest.approx(100 * plan.asked["generator"]["dip_limit_fraction"])


def test_the_pull_down_ends_with_cold_water(plans_anew: dict[str, Plan], shown: Any, named: str) -> None:
    """From where the loop stands to the set point, ever colder, in the time between first compressor and cold water."""
    plan, plot = plans_anew[named], shown(named)[1]["Pull-down of the loop"]
    points = plot.series[0].points
    arrival = plan.results["arrival_plan"]
    last = si(plan.results["cold_water_after"]) - si(arrival["time_to_first_compressor"])
    assert points[-1] == (pytest.approx(last / 60, rel=1e-6), pytest.approx(plan.leaving - 273.15, abs=1e-6))
    asked = plan.asked["procedure"]["pull_down"]
    assert points[0] == (0, pytest.approx(si(asked["leaving_temperature"]) - 273.15, abs=1e-6))
    minutes, degrees = zip(*points, strict=True)
    assert list(minutes) == sorted(minutes)
    assert list(degrees) == sorted(degrees, reverse=True)


def test_bars_show_what_is_used_of_each_limit(plans_anew: dict[str, Plan], shown: Any, named: str) -> None:
    """The nearest first, fuller than the next; full at the limit, beyond it where it is broken."""
    plan, levels = plans_anew[named], shown(named)[2]
    near: list[Json] = plan.results["limits_nearest"]
    assert [item.name for item in levels.items] == [entry["what"] for entry in near[: len(levels.items)]]
    assert len(levels.items) == min(10, len(near))
    for item, entry in zip(levels.items, near, strict=False):
        room = entry["headroom"]["value"] if "headroom" in entry else entry["headroom_fraction"]
        assert item.text.endswith("left" if room >= 0 else "over")
        assert (item.used <= 1 + 1e-9) == (room >= -1e-9)
        if "headroom" not in entry:
            value, limit = entry["value"], entry["limit"]
            assert item.used == pytest.approx(min(value / limit, limit / value) if room > 0 else 1 - room)
        else:
            assert item.used == pytest.approx(1 - room / 20)
