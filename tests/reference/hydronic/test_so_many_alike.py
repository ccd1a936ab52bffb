"""So many alike are as many entries: runs side by side, vessels, devices and pumps, by the laws of what adds up.

Derived. And where a sentence or a method ends: what the first does not name, what the second still answers.
"""

import math
import re
from typing import Any

import pytest
from CoolProp.CoolProp import PropsSI
from edges import example
from hypothesis import given
from hypothesis import strategies as st
from quantity import q

from coldwright.contract import Fluid, Refused
from coldwright_hydronic.shared.second_opinion import second_opinion

pytestmark = pytest.mark.check
GRAVITY = 9.80665
WATER: dict[str, Any] = {"kind": "water", "temperature": q(10, "degC")}
runs = st.tuples(st.floats(20, 300), st.floats(1, 400), st.integers(1, 6), st.booleans())


@given(st.lists(runs, min_size=1, max_size=3), st.floats(0.5, 200))
def test_what_lines_hold_and_keep(answer_of: Any, lines: list[tuple[float, float, int, bool]], sump: float) -> None:
    """A cylinder for each run; 2 % of it stays laid to a fall and 10 % lying flat, by common practice."""
    case = {
        "fluid": WATER,
        "lines": [
            {"inner_diameter": q(d, "mm"), "length": q(m, "m"), "parallel_runs": n, "drains_by_gravity": fall}
            for d, m, n, fall in lines
        ],
        "residual_volumes": [{"name": "sump", "volume": q(sump, "L")}],
    }
    results = answer_of("hydronic.drain_down", case)["results"]
    each = [(math.pi / 4 * (d / 1000) ** 2 * m * n * 1000, 0.02 if fall else 0.10) for d, m, n, fall in lines]
    held, kept = sum(v for v, _ in each), sum(v * part for v, part in each)
    assert results["total_volume"]["value"] == pytest.approx(held + sump)
    assert results["residual_volume"]["value"] == pytest.approx(kept + sump)
    assert results["drained_volume"]["value"] == pytest.approx(held - kept)
    filled = answer_of(
        "hydronic.fill",
        {"fluid": WATER, "lines": [{"name": f"l{i}", **line} for i, line in enumerate(_bare(case["lines"]))]},
    )["results"]
    assert filled["total_volume"]["value"] == pytest.approx(held)


def _bare(lines: Any) -> list[dict[str, Any]]:
    return [{k: v for k, v in line.items() if k != "drains_by_gravity"} for line in lines]


@given(st.integers(1, 5), st.floats(2, 40), st.floats(0.5, 1.2))
def test_devices_and_runs_side_by_side_share_the_flow(answer_of: Any, count: int, flow: float, share: float) -> None:
    """Of n alike each takes 1/n of it: the drop is that of one alone at its share."""

    def elements(n: int) -> list[dict[str, Any]]:
        line = {"line_kind": "steel", "inner_diameter": q(80, "mm"), "length": q(30, "m"), "parallel_runs": n}
        coil = {"device_kind": "coil", "rated_flow": q(flow / share, "L/s"), "rated_pressure_drop": q(40, "kPa")}
        bends = {"inner_diameter": q(80, "mm"), "k_factor": 3.0, "parallel_runs": n}
        return [
            {"name": "l", "type": "line"} | line,
            {"name": "d", "type": "device", "parallel_count": n} | coil,
            {"name": "f", "type": "fittings"} | bends,
        ]

    many, one = (
        answer_of("hydronic.loop", {"fluid": WATER, "elements": elements(n), "fixed_flow": q(flow * n, "L/s")})[
            "results"
        ]
        for n in (count, 1)
    )
    for of_many, of_one in zip(many["elements"], one["elements"], strict=True):
        assert of_many["pressure_drop"]["value"] == pytest.approx(of_one["pressure_drop"]["value"], rel=1e-6)
        for figure in ("velocity", "reynolds_number"):
            assert (figure in of_many) == (figure in of_one)
            if figure in of_one:
                both = [e[figure]["value"] if isinstance(e[figure], dict) else e[figure] for e in (of_many, of_one)]
                assert both[0] == pytest.approx(both[1], rel=1e-6)
    assert many["hydraulic_power"]["value"] == pytest.approx(count * one["hydraulic_power"]["value"], rel=1e-6)


@given(st.integers(2, 4), st.floats(5, 30))
def test_pumps_side_by_side_each_need_what_one_does(answer_of: Any, count: int, metres: float) -> None:
    """Suction head needed is that of one pump at its own flow; n of them do n times the work against the same loop."""
    pump = {
        "curve": [
            {"flow": q(0, "L/s"), "head": q(40, "m")},
            {"flow": q(10, "L/s"), "head": q(34, "m")},
            {"flow": q(25, "L/s"), "head": q(10, "m")},
        ],
        "npsh_required_curve": [
            {"flow": q(0, "L/s"), "npsh_required": q(1, "m")},
            {"flow": q(25, "L/s"), "npsh_required": q(6, "m")},
        ],
        "efficiency": 0.6,
        "parallel_count": count,
    }
    line = {"name": "l", "type": "line", "line_kind": "steel", "inner_diameter": q(150, "mm"), "length": q(30, "m")}
    bends = {"name": "f", "type": "fittings", "inner_diameter": q(100, "mm"), "k_factor": metres}
    case = {
        "fluid": WATER,
        "elements": [line, bends],
        "pumps": [pump],
        "pump_owner": "machine",
        "pressure_reference": {"gauge_pressure": q(200, "kPa")},
    }
    results = answer_of("hydronic.loop", case)["results"]
    each = results["duty_flow"]["value"] / count
    assert results["npsh_required"]["value"] == pytest.approx(1 + 5 * each / 25, rel=1e-6)
    density = PropsSI("D", "T", 283.15, "P", 2e5, "Water")
    power = density * GRAVITY * each * results["pump_head"]["value"] / 1e6 / 0.6
    assert results["brake_power"]["value"] == pytest.approx(count * power, rel=1e-4)


@pytest.mark.parametrize("count", [2, 3, 4, 7])
def test_long_lists_are_cut_after_three(answer_of: Any, count: int) -> None:
    """Every line that is too fast is counted: three by name, the others by number."""
    line = {"type": "line", "line_kind": "steel", "inner_diameter": q(50, "mm"), "length": q(1, "m")}
    case = {
        "fluid": WATER,
        "elements": [{"name": f"line {n}"} | line for n in range(count)],
        "fixed_flow": q(12, "L/s"),
    }
    findings = answer_of("hydronic.loop", case)["findings"]
    (fast,) = [f["statement"] for f in findings if f["code"] == "velocity_high"]
    more = re.search(r"and (\d+) more", fast.partition(":")[0])
    named = len(re.findall(r"line \d", fast.partition(":")[0]))
    assert named == min(count, 3)
    assert (int(more[1]) if more else 0) == count - named


def test_a_lift_above_the_shut_off_head(answer_of: Any) -> None:
    """By hand: 30 m up from an open tank against 20 m at no flow; water of 10 degC, nothing dropped before the pump."""
    pump = {"curve": [{"flow": q(f, "L/s"), "head": q(h, "m")} for f, h in ((0, 20), (10, 15), (20, 5))]}
    line = {"name": "l", "type": "line", "line_kind": "steel", "inner_diameter": q(100, "mm"), "length": q(40, "m")}
    case = {
        "fluid": WATER,
        "elements": [line | {"elevation_out": q(31.5, "m")}],
        "pumps": [pump],
        "pump_owner": "machine",
        "open_source": {"surface_elevation": q(1.5, "m")},
    }
    with pytest.raises(Refused) as refused:
        answer_of("hydronic.loop", case)
    (error,) = refused.value.errors
    assert "20 m" in error.detail
    assert "30 m" in error.detail


@pytest.mark.parametrize(("volume", "there"), [(0.09, False), (0.10, True), (0.60, True), (0.61, False), (0.65, False)])
def test_inhibited_glycol_where_its_tables_end(volume: float, there: bool) -> None:
    """CoolProp 8, AEG and APG: fits of tables from 0.10 to 0.60 by volume."""
    for kind in ("propylene_glycol", "ethylene_glycol"):
        assert bool(second_opinion(Fluid(kind=kind, volume_fraction=volume))) is there


def test_a_flow_that_falls_short(answer_of: Any) -> None:
    """By hand: the flow of the answer beside the one asked for, and what is left of the difference."""
    case = example("hydronic.loop", required={"load": q(800, "kW"), "temperature_difference": q(6, "delta_degC")})
    answer = answer_of("hydronic.loop", case)
    results = answer["results"]
    (said,) = [f["statement"] for f in answer["findings"] if f["code"] == "flow_below_required"]
    share = results["duty_flow"]["value"] / results["required_flow"]["value"]
    assert f"{1 - share:.1%} below the required" in said
    assert f"leave {6 / share - 6:.2f}" in said


def test_a_thick_liquid_in_centistokes(answer_of: Any) -> None:
    """By hand: 24 mPa.s over 1,200 kg/m3 are 20 cSt; the limit is 10 cSt (common practice)."""
    fluid = {
        "kind": "custom",
        "density": q(1200, "kg/m3"),
        "dynamic_viscosity": q(24, "mPa.s"),
        "specific_heat": q(3, "kJ/kg.K"),
    }
    line = {"name": "l", "type": "line", "line_kind": "steel", "inner_diameter": q(100, "mm"), "length": q(40, "m")}
    answer = answer_of("hydronic.loop", {"fluid": fluid, "elements": [line], "fixed_flow": q(10, "L/s")})
    (said,) = [f["statement"] for f in answer["findings"] if f["code"] == "viscous_liquid"]
    assert "viscosity is 20 cSt, above 10 cSt" in said


def test_the_suction_of_a_pump_that_stands_high(answer_of: Any) -> None:
    """By hand: 40 kPa at a pump 9 m above the fill point are more than 20 kPa at a top 5 m above it."""
    case = {
        "fluid": WATER,
        "vessels": [{"name": "v", "volume": q(100, "L")}],
        "machine_elevation": q(9, "m"),
        "high_point_elevation": q(5, "m"),
        "minimum_top_pressure": q(10, "kPa"),
        "pump_suction_pressure_minimum": q(60, "kPa"),
    }
    answer = answer_of("hydronic.fill", case)
    weight = PropsSI("D", "T", 283.15, "P", 3e5, "Water") * GRAVITY / 1000
    needed = max(10 + 9 * weight, 60 + 9 * weight)
    assert answer["results"]["required_fill_pressure"]["value"] == pytest.approx(needed, rel=1e-5)
    (line,) = [x["expression"] for x in answer["working"] if x["symbol"] == "p_f"]
    said = re.search(r"not below ([\d.]+) kPa", line)
    assert said is not None
    assert float(said[1]) == pytest.approx(60 + 9 * weight, abs=0.05)


def test_the_ice_rule_is_shown_where_its_ends_decide(answer_of: Any) -> None:
    """A quarter may be ice (derived): three quarters of the strength that freezes at the cold, within 0.20 and its cap."""
    shown = set()
    for celsius in range(-44, -3, 2):
        case = example(
            "hydronic.antifreeze", lowest_temperature=q(celsius, "degC"), protection="burst", leaving_temperature=None
        )
        answer = answer_of("hydronic.antifreeze", case)
        codes = {f["code"] for f in answer["findings"]} & {"burst_floor", "burst_cap"}
        by_ice = [x["value"] for x in answer["working"] if x["symbol"] == "w_ice"]
        assert bool(by_ice) == bool(codes), celsius
        shown |= codes
        decided = answer["results"]["mass_fraction"]
        for found in by_ice:
            assert (found < decided) == ("burst_floor" in codes)
            assert (found > decided) == ("burst_cap" in codes)
    assert shown == {"burst_floor", "burst_cap"}
