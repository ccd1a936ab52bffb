"""So many alike are as many entries: sets of cable, motors, machines and loads, by the laws of what adds up.

Derived. And the ends of ladders: a current that is just a standard size takes that size.
"""

import math
import re
from typing import Any

import pytest
from edges import example
from hypothesis import given
from hypothesis import strategies as st
from quantity import q
from tries import tries

from coldwright.contract import load_table
from coldwright_basis.ratings import rating_at_least, rating_at_most
from coldwright_electrical.service.safety_switches import frame_at_least
from coldwright_electrical.shared.transformers import next_rating

pytestmark = pytest.mark.check
FAULT, SET, SERVICE, FEEDER, QUALITY = (
    f"electrical.{name}" for name in ("fault_current", "generator", "service", "feeder", "supply_quality")
)
ROOT3 = math.sqrt(3)
impedances = st.tuples(st.floats(0.05, 2), st.floats(0, 0.3), st.floats(0.05, 3), st.floats(0, 0.3))
cables = st.tuples(st.floats(5, 300), st.integers(1, 4), st.integers(1, 3), impedances)


@tries(15)
@given(st.lists(cables, min_size=1, max_size=3), st.floats(1, 60), st.floats(0.5, 20), st.floats(0.7, 1.1))
def test_the_loop_of_an_earth_fault(
    answer_of: Any,
    runs: list[tuple[float, int, int, tuple[float, float, float, float]]],
    amps: float,
    angle: float,
    factor: float,
) -> None:
    """By hand: volts to earth over the sum of source, lines and ground conductors, each over its number side by side."""
    segments = [
        {
            "length": q(metres, "m"),
            "conductor_size": "95 mm2",
            "ground_conductor_size": "50 mm2",
            "sets": sets,
            "ground_sets": grounds,
            "resistance_per_length": q(r, "ohm/km"),
            "reactance_per_length": q(x, "ohm/km"),
            "ground_resistance_per_length": q(rg, "ohm/km"),
            "ground_reactance_per_length": q(xg, "ohm/km"),
        }
        for metres, sets, grounds, (r, x, rg, xg) in runs
    ]
    source = {"kind": "known_fault_current", "available_fault_current": q(amps, "kA"), "x_over_r": angle}
    case = {"practice": "iec", "system_voltage": q(400, "V"), "source": source, "segments": segments}
    results = answer_of(FAULT, case | {"voltage_factor_max": 1.0, "voltage_factor_min": factor})["results"]
    to_earth = 400 / ROOT3
    magnitude = to_earth / (amps * 1000)
    supply = complex(magnitude / math.hypot(1, angle), magnitude * angle / math.hypot(1, angle))
    lines = sum(complex(r, x) * m / 1000 / n for m, n, _, (r, x, _, _) in runs)
    grounds = sum(complex(rg, xg) * m / 1000 / n for m, _, n, (_, _, rg, xg) in runs)
    assert results["fault_current_at_machine"]["value"] == pytest.approx(to_earth / abs(supply + lines), rel=1e-6)
    loop = abs(supply + lines + grounds)
    assert results["earth_fault_loop_impedance"]["value"] == pytest.approx(loop, rel=1e-6)
    assert results["earth_fault_current"]["value"] == pytest.approx(factor * to_earth / loop, rel=1e-6)


loads = st.tuples(st.floats(60, 90), st.floats(0.5, 0.99), st.integers(1, 4))


@tries(12)
@given(st.lists(loads, min_size=1, max_size=4))
def test_so_many_loads_are_as_many_entries(answer_of: Any, asked: list[tuple[float, float, int]]) -> None:
    """Phasors: active and reactive power add up over every single load."""

    def entry(name: str, amps: float, factor: float, count: int) -> dict[str, Any]:
        running = {"running_current": q(amps, "A"), "power_factor": factor, "quantity": count}
        return {"load_id": name, **running}

    together = [entry(f"l{i}", *load) for i, load in enumerate(asked)]
    apart = [entry(f"l{i}.{n}", amps, cos, 1) for i, (amps, cos, count) in enumerate(asked) for n in range(count)]
    one, other = (
        answer_of(SET, example(SET, loads=entries, load_factor=None))["results"] for entries in (together, apart)
    )
    active = sum(ROOT3 * 0.48 * amps * cos * n for amps, cos, n in asked)
    reactive = sum(ROOT3 * 0.48 * amps * math.sqrt(1 - cos * cos) * n for amps, cos, n in asked)
    for results in (one, other):
        assert results["running_active_power"]["value"] == pytest.approx(active)
        assert results["running_apparent_power"]["value"] == pytest.approx(math.hypot(active, reactive))
        assert results["running_power_factor"] == pytest.approx(active / math.hypot(active, reactive))


@pytest.mark.parametrize("factor", [0.3, 0.6, 0.74, 0.76, 0.9])
def test_the_load_over_the_day(answer_of: Any, factor: float) -> None:
    """ISO 8528-1 (2018, seen as explained): prime power is for 0.70 on average; the average is the share times the load factor."""
    amps = 0.94 * 240e3 / (ROOT3 * 480 * 0.8)
    load = {"load_id": "all", "running_current": q(amps, "A"), "power_factor": 0.8}
    answer = answer_of(SET, example(SET, loads=[load], load_factor=factor, maximum_load_fraction=1.0))
    share = answer["results"]["load_fraction"]
    assert share == pytest.approx(0.94, rel=0.02)
    told = [f["statement"] for f in answer["findings"] if f["code"] == "average_above_prime"]
    assert bool(told) == (share * factor > 0.70)


@tries(15)
@given(st.floats(20, 2000), st.floats(0.1, 1))
def test_an_older_line_of_small_sets(answer_of: Any, rated: float, share: float) -> None:
    """Skarstein and Uhlen, Wind Engineering 1989 (from memory): 0.246 L/h for each kW that it gives, and 0.08415 L/h for
    each kW of its rating, for comparison beside the chart.
    """
    amps = share * 0.8 * rated / (ROOT3 * 0.48 * 0.8)
    case = example(
        SET,
        loads=[{"load_id": "all", "running_current": q(amps, "A"), "power_factor": 0.8}],
        generator__rated_active_power=q(rated, "kW"),
        generator__rated_apparent_power=q(rated / 0.8, "kVA"),
        load_factor=1.0,
        derating={"method": "none"},
    )
    for line in answer_of(SET, case)["working"]:
        if said := re.search(r"an older line of small sets gives ([\d.]+) L/h", line["meaning"]):
            expected = 0.246 * 0.8 * share * rated + 0.08415 * rated
            assert float(said[1]) == pytest.approx(expected, rel=1e-3)


@pytest.mark.parametrize("practice", ["nec", "iec"])
def test_ladders_have_no_gap_and_no_step_too_many(practice: Any) -> None:
    """What is just a standard size takes it, and what is a millionth above takes the next, on every rung."""
    ladders: list[tuple[Any, list[float]]] = [
        (
            lambda size: next_rating(practice, size),
            load_table("coldwright_electrical", "transformer_ratings").rows[practice],
        ),
        (lambda size: rating_at_least(practice, size), _standard(practice)),
    ]
    if practice == "nec":
        ladders.append((frame_at_least, load_table("coldwright_electrical", "safety_switch_frames").rows))
    for above, rungs in ladders:
        assert len(rungs) > 4
        for rung, following in zip(rungs, [*rungs[1:], None], strict=True):
            assert above(rung) == rung
            assert above(rung * (1 + 1e-10)) == rung, "rounding alone is no step"
            assert above(rung * (1 + 1e-6)) == following
    for rung in _standard(practice):
        assert rating_at_most(practice, rung) == rung
        assert rating_at_most(practice, rung * (1 - 1e-10)) == rung


def _standard(practice: Any) -> list[float]:
    """Every standard rating of devices, by walking up."""
    found, at = [], rating_at_least(practice, 1.0)
    while at is not None:
        found.append(at)
        at = rating_at_least(practice, at * (1 + 1e-6))
    return found


@pytest.mark.parametrize(
    ("changes", "table"),
    [
        ({"construction": "wire_in_raceway"}, "310.16"),
        ({"construction": "single_conductor_portable"}, "400.5"),
        ({"construction": "multi_conductor_portable"}, "400.5"),
        ({"practice": "iec"}, "0298-4"),
    ],
)
def test_the_table_that_is_named_is_the_one_that_was_read(answer_of: Any, changes: dict[str, Any], table: str) -> None:
    nec = changes.get("practice", "nec") == "nec"
    asked = {
        "practice": "nec",
        "system_voltage": q(480 if nec else 400, "V"),
        "frequency": q(60 if nec else 50, "Hz"),
        "load_current": q(40, "A"),
        "minimum_ampacity": q(40, "A"),
        "overcurrent_device": q(50, "A"),
        "length": q(20, "m"),
    }
    assert table in answer_of(FEEDER, asked | changes)["results"]["ampacity_table"]


@pytest.mark.parametrize(("practice", "hertz", "rule"), [("nec", 60, "nema"), ("iec", 50, "iec_60204")])
def test_a_frequency_is_out_by_the_rule_of_its_practice(answer_of: Any, practice: str, hertz: float, rule: str) -> None:
    """NEMA MG 1 allows 5 % in nec practice, IEC 60204-1 1 % in iec practice (from memory)."""
    case = example(QUALITY, 1 if practice == "iec" else 0, measured_frequency=q(hertz * 1.06, "Hz"))
    if practice == "iec":
        case["rotation"] = "correct"
    (found,) = [f for f in answer_of(QUALITY, case)["findings"] if f["code"] == "frequency_out"]
    assert all(reference.startswith(rule) for reference in found["references"])
    assert f"{'5' if practice == 'nec' else '1'}% is allowed" in found["statement"]
