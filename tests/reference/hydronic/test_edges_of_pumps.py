"""Where findings and figures on pumps begin, and where a loop is refused: each asked just before its limit and just behind.

Common practice where nothing else is said. A loop of fittings and a valve alone follows the square law, so that the share
of a valve is its part of the sum, and a slower pump gives flow in proportion to its speed (affinity).
"""

import math
from collections.abc import Callable
from itertools import pairwise
from typing import Any

import pytest
from edges import Edge, edges, hold_to
from quantity import q

from coldwright.contract import Refused

pytestmark = pytest.mark.check
LOOP = "hydronic.loop"
Json = dict[str, Any]
WATER: Json = {"kind": "custom", "density": q(1000, "kg/m3"), "vapor_pressure": q(1, "kPa")}
BENDS: Json = {"name": "bends", "type": "fittings", "inner_diameter": q(100, "mm"), "k_factor": 40.0}
HEADS = ((0, 40), (10, 36), (20, 25), (30, 8))
AREA = math.pi / 4 * 0.1**2


def pump(**more: Any) -> Json:
    return {"curve": [{"flow": q(f, "L/s"), "head": q(h, "m")} for f, h in HEADS], "interpolation": "linear"} | more


def loop(*others: Json, **more: Any) -> Json:
    known = {"gauge_pressure": q(200, "kPa")}
    return (
        {"fluid": WATER, "elements": [BENDS, *others], "pumps": [pump()], "pump_owner": "machine"}
        | {"pressure_reference": known}
        | more
    )


def straight_duty() -> float:
    """L/s: between 20 and 30 L/s the head is 25 - 1.7 (Q - 20) = 59 - 1.7 Q m, that of the bends 40 v^2 / 2 g."""
    a = 40 / (AREA * 1e3) ** 2 / 2 / 9.80665
    return (-1.7 + math.sqrt(1.7**2 + 4 * a * 59)) / 2 / a


DUTY = straight_duty()


def best_at(ratio: float) -> Json:
    """Best efficiency at such a flow that the pump runs at `ratio` times it."""
    best = DUTY / ratio
    tops = [(0.1, 0.2), (best, 0.75), (best * 3, 0.3)]
    return loop(pumps=[pump(efficiency_curve=[{"flow": q(f, "L/s"), "efficiency": e} for f, e in tops])])


def at_hertz(hertz: float, rated: float) -> Json:
    return loop(pumps=[pump(frequency=q(hertz, "Hz"), rated_frequency=q(rated, "Hz"))])


def throttled(share: float) -> Json:
    """Bends drop rho v^2 / 2 times 40; the valve (Q / Kv)^2 bar at Q in m3/h: of both, `share` is the valve's."""
    bends = 40 * 1000 / 2 / AREA**2
    kv = 3600 * math.sqrt(1e5 / (bends * share / (1 - share)))
    return loop({"name": "v", "type": "valve", "flow_coefficient_kv": kv})


EDGES = (
    # ANSI/HI 9.6.3 (from memory): 0.5 to 1.2 of the flow of best efficiency
    Edge(LOOP, "away_from_best_efficiency", 0.5, best_at, below=True),
    Edge(LOOP, "away_from_best_efficiency", 1.2, best_at),
    # a mains of 50 or 60 Hz, to half a hertz
    Edge(LOOP, "off_frequency", 50.5, lambda f: at_hertz(f, 60), below=True, step=0.01),
    Edge(LOOP, "off_frequency", 49.5, lambda f: at_hertz(f, 60), step=0.01),
    Edge(LOOP, "off_frequency", 60.5, lambda f: at_hertz(50, f), below=True, step=0.01),
    Edge(LOOP, "off_frequency", 59.5, lambda f: at_hertz(50, f), step=0.01),
    Edge(LOOP, "off_frequency", 60.5, lambda f: at_hertz(f, 50), below=True, step=0.01),
    Edge(LOOP, "off_frequency", 59.5, lambda f: at_hertz(f, 50), step=0.01),
    Edge(LOOP, "off_frequency", 50.5, lambda f: at_hertz(60, f), below=True, step=0.01),
    Edge(LOOP, "off_frequency", 49.5, lambda f: at_hertz(60, f), step=0.01),
    # a valve that takes four tenths of the head
    Edge(LOOP, "head_throttled", 0.4, throttled, step=0.001),
)


@edges(EDGES)
def test_a_finding_on_pumps_begins_at_its_limit(answer_of: Any, edge: Edge) -> None:
    hold_to(edge, answer_of)


def test_the_share_of_a_valve_by_the_square_law(answer_of: Any) -> None:
    for share in (0.1, 0.38, 0.55):
        results = answer_of(LOOP, throttled(share))["results"]
        assert results["throttled_head_fraction"] == pytest.approx(share, rel=1e-6)


def test_the_duty_by_hand(answer_of: Any) -> None:
    assert answer_of(LOOP, loop())["results"]["duty_flow"]["value"] == pytest.approx(DUTY, rel=1e-9)


@pytest.mark.parametrize(("hertz", "there"), [(19.9, False), (20.1, True), (42.0, True)])
def test_a_slower_pump_gives_flow_in_proportion(answer_of: Any, hertz: float, there: bool) -> None:
    """Without a lift flow goes with speed; below 20 Hz no drive is named, since a motor cools itself badly there."""
    results = answer_of(LOOP, loop(required={"flow": q(DUTY * hertz / 60, "L/s")}))["results"]
    assert ("equivalent_frequency" in results) is there
    if there:
        assert results["equivalent_frequency"]["value"] == pytest.approx(hertz, rel=1e-6)


@pytest.mark.parametrize(("hertz", "there"), [(19.9, False), (20.1, True)])
def test_a_slower_pump_instead_of_a_valve(answer_of: Any, hertz: float, there: bool) -> None:
    """With the valve wide open the same flow: the speed is that flow over the one without a valve."""
    flow = DUTY * hertz / 60
    f0, h0, f1, h1 = next((*a, *b) for a, b in pairwise(HEADS) if a[0] <= flow <= b[0])
    head = h0 + (h1 - h0) * (flow - f0) / (f1 - f0)
    left = head * 9806.65 - 40 * 1000 / 2 * (flow / 1e3 / AREA) ** 2
    kv = flow * 3.6 / math.sqrt(left / 1e5)
    results = answer_of(LOOP, loop({"name": "v", "type": "valve", "flow_coefficient_kv": kv}))["results"]
    assert results["duty_flow"]["value"] == pytest.approx(flow, rel=1e-6)
    assert ("frequency_without_valves" in results) is there
    if there:
        assert results["frequency_without_valves"]["value"] == pytest.approx(hertz, rel=1e-5)


@pytest.mark.parametrize(("metres", "there"), [(1.0, False), (7.9, False), (8.1, True), (11.0, True)])
def test_no_frequency_is_named_where_the_curve_ends_too_high(answer_of: Any, metres: float, there: bool) -> None:
    """By hand: so many metres of friction at 30 L/s, where the curve ends at 8 m. Slowed until it just ends at 20 L/s the pump
    makes 8 m by the square of 20 over 30: more than less friction needs, and nothing is known of it at a lower speed."""
    flow, needed = 20.0, metres * (20 / 30) ** 2
    bends = BENDS | {"k_factor": metres * 2 * 9.80665 * (AREA / 0.03) ** 2}
    kv = flow * 3.6 / math.sqrt((25 - needed) * 9806.65 / 1e5)
    valve = {"name": "v", "type": "valve", "flow_coefficient_kv": kv}
    results = answer_of(LOOP, loop() | {"elements": [bends, valve]})["results"]
    assert results["duty_flow"]["value"] == pytest.approx(flow, rel=1e-6)
    assert ("frequency_without_valves" in results) is there
    if there:
        # on the last piece of the curve, slowed to s: s^2 (59 - 1.7 Q / s) = needed
        speed = (1.7 * flow + math.sqrt((1.7 * flow) ** 2 + 4 * 59 * needed)) / 2 / 59
        assert results["frequency_without_valves"]["value"] == pytest.approx(60 * speed, rel=1e-5)


@pytest.mark.parametrize(("efficiency", "known"), [(0.049, False), (0.051, True)])
def test_an_efficiency_that_no_pump_has_gives_no_power(answer_of: Any, efficiency: float, known: bool) -> None:
    curve = [{"flow": q(f, "L/s"), "efficiency": efficiency} for f in (1, 30)]
    results = answer_of(LOOP, loop(pumps=[pump(efficiency_curve=curve)]))["results"]
    assert ("brake_power" in results) is known


def is_refused(answer_of: Any, case: Json) -> str | None:
    try:
        answer_of(LOOP, case)
    except Refused as refused:
        return refused.errors[0].pointer
    return None


def closed_at(metres: float) -> Json:
    return loop(BENDS | {"name": "last", "elevation_out": q(metres, "m")})


def two_paths(pascals: float) -> Json:
    """The first path drops so much at 1 L/s: K v^2 / 2 of a liquid of 1000 kg/m3 in a bore of 100 mm."""
    k = pascals / (1000 / 2 * (1e-3 / AREA) ** 2)
    paths = [[BENDS | {"name": "open", "k_factor": k}], [BENDS | {"name": "other"}]]
    return loop({"name": "two", "type": "branches", "branches": paths})


def joined_at(metres: float) -> Json:
    paths = [[BENDS | {"name": n, "elevation_out": q(h, "m")}] for n, h in (("a", 2.0), ("b", 2.0 + metres))]
    return loop(
        {"name": "two", "type": "branches", "branches": paths}, BENDS | {"name": "down", "elevation_out": q(0, "m")}
    )


REFUSED: tuple[tuple[Callable[[float], Json], float, float, str], ...] = (
    # heights to a millimetre; a path that drops less than a thousandth of a pascal is a hole
    (closed_at, 0.9e-3, 1.1e-3, "#/elements/1/elevation_out"),
    (closed_at, -0.9e-3, -1.1e-3, "#/elements/1/elevation_out"),
    (joined_at, 0.95e-3, 1.05e-3, "#/elements/1/branches/1"),
    (two_paths, 1.02e-3, 0.98e-3, "#/elements/1/branches/0"),
)


@pytest.mark.parametrize(("case", "taken", "refused", "pointer"), REFUSED, ids=["up", "down", "join", "hole"])
def test_a_loop_is_refused_beyond_its_limit(
    answer_of: Any, case: Callable[[float], Json], taken: float, refused: float, pointer: str
) -> None:
    assert is_refused(answer_of, case(taken)) is None
    assert is_refused(answer_of, case(refused)) == pointer


def test_the_mouth_of_a_return_into_an_open_tank_draws_no_air(answer_of: Any) -> None:
    """Its outlet stands at the surface: 0 kPa is no joint below the air; a place above the surface is one."""
    source = {"surface_elevation": q(3, "m")}
    flat = loop(BENDS | {"name": "back", "elevation_out": q(3, "m")}, open_source=source)
    del flat["pressure_reference"]
    assert "below_air_pressure" not in {f["code"] for f in answer_of(LOOP, flat)["findings"]}
    high = loop(
        BENDS | {"name": "up", "k_factor": 0.0, "elevation_out": q(12, "m")},
        BENDS | {"name": "back", "k_factor": 0.0, "elevation_out": q(3, "m")},
        open_source=source,
    )
    del high["pressure_reference"]
    (said,) = [f["statement"] for f in answer_of(LOOP, high)["findings"] if f["code"] == "below_air_pressure"]
    assert said.startswith(f"{-9 * 9.80665:.3f}".rstrip("0"))


def test_a_loop_of_no_resistance_runs_out_to_the_end_of_a_curve_without_head(answer_of: Any) -> None:
    """Where the curve ends at no head, and nothing resists, nothing is throttled either."""
    ends = [{"flow": q(f, "L/s"), "head": q(h, "m")} for f, h in ((0, 40), (10, 30), (20, 0))]
    case = loop(pumps=[pump(curve=ends)]) | {"elements": [BENDS | {"k_factor": 0.0}]}
    results = answer_of(LOOP, case)["results"]
    assert results["duty_flow"]["value"] == pytest.approx(20)
    assert "throttled_head_fraction" not in results


@pytest.mark.parametrize(("below", "pumps"), [(0.0, 9.0), (5.0, 9.0), (12.0, -4.0)])
def test_a_hose_must_bear_the_dead_head_at_the_lowest_place(answer_of: Any, below: float, pumps: float) -> None:
    """By hand: 200 kPa at the pump, 40 m of dead head, and the column down to the lowest place of the loop."""
    dead = 200 + (40 + below) * 9.80665
    down = {"name": "down", "type": "fittings", "inner_diameter": q(100, "mm"), "k_factor": 0.0}
    case = loop(down | {"elevation_out": q(pumps - below, "m")}, down | {"name": "up", "elevation_out": q(pumps, "m")})
    hose = [{"inner_diameter": q(200, "mm"), "working_pressure": q(dead * part, "kPa")} for part in (0.999, 1.001)]
    case |= {"pump_elevation": q(pumps, "m"), "hose_options": hose, "run_length": q(1, "m"), "max_runs": 1}
    case |= {"required": {"flow": q(20, "L/s")}, "fluid": WATER | {"dynamic_viscosity": q(1, "mPa.s")}}
    case["elements"][0] = BENDS | {"elevation_out": q(pumps, "m")}
    found = answer_of(LOOP, case)["results"]["hose_selection"]
    assert ["working_pressure" in hose["fails"] for hose in found] == [True, False]
