"""A whole answer of refrigeration.pull_down worked out anew [derived]: the loop is stepped through time by Runge and Kutta,
from the values of the request, with water and glycol by CoolProp; cycling and volumes by their formulas.
"""

import itertools
import math
from typing import Any

import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from quantity import q

from coldwright.contract import Refused

pytestmark = pytest.mark.check
ID = "refrigeration.pull_down"
Json = dict[str, Any]


def heat_of(celsius: float, glycol: float) -> float:
    """J/m3.K."""
    fluid = f"INCOMP::MPG[{glycol:.12g}]" if glycol else "Water"
    state = ("T", celsius + 273.15, "P", 2e5, fluid)
    return float(PropsSI("D", *state) * PropsSI("C", *state))


class Loop:
    """What was asked for, in degC, kW and seconds."""

    def __init__(self, draw: Any) -> None:
        self.glycol = draw(st.sampled_from([0.0, 0.0, 0.3]))
        self.start, self.target = draw(st.floats(18, 32)), draw(st.floats(6, 16))
        self.volume, self.metal, self.metal_heat = (
            draw(st.floats(2, 12)),
            draw(st.floats(0, 4000)),
            draw(st.floats(0.4, 0.9)),
        )
        self.load, self.gain, self.air = (
            draw(st.floats(0, 260)),
            draw(st.sampled_from([0.0, 0.4, 3.0])),
            draw(st.floats(20, 45)),
        )
        self.capacity, self.stages = 300.0, draw(st.integers(1, 4))
        self.slope = draw(st.sampled_from([0.0, 0.01, 0.03]))
        self.reference, self.limit = (
            draw(st.floats(5, 20)),
            draw(st.sampled_from([math.inf, 8.0, 15.0, 24.0, 33.0, 38.0])),
        )
        self.first, self.delay = draw(st.sampled_from([0, 240, 900])), draw(st.sampled_from([0, 120, 300]))

    def given(self, **more: Any) -> Json:
        machine: Json = {
            "capacity": q(self.capacity, "kW"),
            "stages": self.stages,
            "capacity_slope": self.slope,
            "reference_temperature": q(self.reference, "degC"),
        }
        if self.limit < math.inf:
            machine["capacity_limit_temperature"] = q(self.limit, "degC")
        loop: Json = {
            "volume": q(self.volume, "m3"),
            "metal_mass": q(self.metal, "kg"),
            "metal_specific_heat": q(self.metal_heat, "kJ/kg.K"),
        }
        if self.glycol:
            loop["fluid"] = {"kind": "propylene_glycol", "mass_fraction": self.glycol}
        return {
            "loop": loop,
            "initial_temperature": q(self.start, "degC"),
            "set_point": q(self.target, "degC"),
            "load": q(self.load, "kW"),
            "heat_gain": {"coefficient": q(self.gain, "kW/K"), "ambient_temperature": q(self.air, "degC")},
            "machine": machine,
            "control": {"first_start_delay": q(self.first, "s"), "stage_delay": q(self.delay, "s")},
        } | more

    def cooling(self, running: int, celsius: float) -> float:
        """kW: rated at the reference, and no more above the limit."""
        warmer = min(celsius, self.limit) - min(self.reference, self.limit)
        return self.capacity * running / self.stages * (1 + self.slope * warmer)

    def net(self, running: int, celsius: float) -> float:
        """kW into the loop."""
        return self.load + self.gain * (self.air - celsius) - self.cooling(running, celsius)

    def stored(self, celsius: float) -> float:
        """kJ/K."""
        return self.volume * heat_of(celsius, self.glycol) / 1e3 + self.metal * self.metal_heat

    def running(self, time: float) -> int:
        """Stages that run from a time on."""
        return sum(time >= self.first + i * self.delay - 1e-6 for i in range(self.stages))

    def stepped(self, end: float) -> list[tuple[float, float]]:
        """Times and temperatures, a thousandth of the way to the end each, and each start."""
        stored = self.stored((self.start + self.target) / 2)
        starts = [self.first + i * self.delay for i in range(self.stages)]
        times = sorted({*(end * i / 1000 for i in range(1001)), *(s for s in starts if s < end)})
        found = [(0.0, self.start)]
        for one, other in itertools.pairwise(times):
            step, at, n = other - one, found[-1][1], self.running(one)
            k1 = self.net(n, at) / stored
            k2 = self.net(n, at + step * k1 / 2) / stored
            k3 = self.net(n, at + step * k2 / 2) / stored
            k4 = self.net(n, at + step * k3) / stored
            found.append((other, at + step * (k1 + 2 * k2 + 2 * k3 + k4) / 6))
        return found


@settings(max_examples=25)
@given(st.data())
def test_the_loop_in_time(answer_of: Any, data: st.DataObject) -> None:
    """Every point of the curve, and when it ends."""
    loop = Loop(data.draw)
    coming = loop.load + loop.gain * (loop.air - loop.target)
    spare = loop.cooling(loop.stages, loop.target) - coming
    assume(abs(spare) > 6)
    try:
        answer = answer_of(ID, loop.given())
    except Refused:
        assume(False)
    results = answer["results"]
    assert results["reaches_set_point"] is (spare > 0)
    curve = [(p["time"]["value"] * 60, p["temperature"]["value"], p["stages"]) for p in results["curve"]]
    assume(curve[-1][0] < 1e6 and all(t < 90 for _, t, _ in curve))
    found = loop.stepped(curve[-1][0])
    for time, celsius, stages in curve[:-1]:
        assert stages == loop.running(time)
        assert min(found, key=lambda f: abs(f[0] - time))[1] == pytest.approx(celsius, abs=0.02)
    assert found[-1][1] == pytest.approx(curve[-1][1], abs=0.02)
    if spare > 0:
        assert min(t for _, t in found[:-1]) > loop.target - 0.02
        assert results["time_to_set_point"]["value"] * 60 == pytest.approx(curve[-1][0])
        return
    assert results["missing_capacity"]["value"] == pytest.approx(-spare, abs=1e-6)
    if "final_temperature" in results:
        settled = results["final_temperature"]["value"]
        assert loop.net(loop.stages, settled) == pytest.approx(0, abs=1e-4 * abs(settled))
        constant = loop.gain + (loop.slope * loop.capacity if settled < loop.limit else 0.0)
        wait = loop.first + (loop.stages - 1) * loop.delay
        ends = wait + min(8 * loop.stored((loop.start + loop.target) / 2) / constant, 7 * 86400)
        assert curve[-1][0] == pytest.approx(ends, rel=3e-4)


@settings(max_examples=20)
@given(st.data())
def test_cycling_and_volumes(answer_of: Any, data: st.DataObject) -> None:
    """t = C D / Q both ways, the band widened until the slower timer fits; 900 Q/(N rho c D) and Q Z/(rho c D)."""
    loop = Loop(data.draw)
    one = loop.cooling(1, loop.target)
    low, band = one * data.draw(st.floats(0.1, 0.9)), data.draw(st.floats(0.5, 4))
    starts = data.draw(st.floats(2, 12))
    rest, run = data.draw(st.sampled_from([0, 200, 900])), data.draw(st.sampled_from([0, 120, 600]))
    control = {
        "dead_band": q(band, "delta_degC"),
        "allowed_starts_per_hour": starts,
        "anti_recycle_time": q(rest, "s"),
        "minimum_run_time": q(run, "s"),
    }
    tolerance = data.draw(st.floats(0.5, 6))
    try:
        answer = answer_of(
            ID, loop.given(control=control, low_load=q(low, "kW"), process_tolerance=q(tolerance, "delta_degC"))
        )
    except Refused:
        assume(False)
    results, codes = answer["results"], {f["code"] for f in answer["findings"]}
    stored = loop.stored(loop.target)
    swing = max(band, low * rest / stored, (one - low) * run / stored)
    cycling = results["cycling"]
    on, off = stored * swing / (one - low), stored * swing / low
    worst = 3600 * one / (4 * stored * band)
    assert cycling["temperature_swing"]["value"] == pytest.approx(swing, rel=3e-4)
    assert cycling["on_time"]["value"] * 60 == pytest.approx(on, rel=3e-4)
    assert cycling["off_time"]["value"] * 60 == pytest.approx(off, rel=3e-4)
    assert cycling["starts_per_hour"] == pytest.approx(3600 / (on + off), rel=3e-4)
    assert cycling["worst_starts_per_hour"] == pytest.approx(worst, rel=3e-4)
    each = heat_of(loop.target, loop.glycol) / 1e3
    litres = [900e3 * one / (starts * each * band), 1e3 * one * run / (each * band)]
    assert results["minimum_volume"]["value"] == pytest.approx(litres[0], rel=3e-4)
    assert results["minimum_run_time_volume"]["value"] == pytest.approx(litres[1], rel=3e-4)
    missing = max(*litres, 1e3 * loop.volume) - 1e3 * loop.volume
    assert results["volume_to_add"]["value"] == pytest.approx(missing, rel=1e-3, abs=1)
    for code, there, by in (
        ("starts_above_allowed", max(worst, 3600 / (on + off)) > starts, worst / starts),
        ("swing_above_tolerance", swing > tolerance, swing / tolerance),
        ("volume_below_minimum", missing > 0, max(litres) / loop.volume / 1e3),
    ):
        assert (code in codes) is there or abs(by - 1) < 1e-3


@pytest.mark.parametrize(("celsius", "hot"), [(94.9, False), (95.1, True)])
def test_a_loop_that_waits_until_it_is_as_hot_as_liquids_are_known(answer_of: Any, celsius: float, hot: bool) -> None:
    """Liquids are known to 95 degC. By hand: C dT/dt = load, until the first stage starts."""
    stored = 5 * heat_of((25 + 10) / 2, 0.0)
    case = {
        "loop": {"volume": q(5, "m3")},
        "initial_temperature": q(25, "degC"),
        "set_point": q(10, "degC"),
        "load": q(150, "kW"),
        "machine": {"capacity": q(200, "kW")},
        "control": {"first_start_delay": q(stored * (celsius - 25) / 150e3, "s")},
    }
    answer = answer_of(ID, case)
    assert ("loop_overheats" in {f["code"] for f in answer["findings"]}) is hot
    if hot:
        (said,) = [f["statement"] for f in answer["findings"] if f["code"] == "loop_overheats"]
        assert float(said.split(" to ")[1].split(" ")[0]) == pytest.approx(celsius, abs=0.05)


def test_one_stage_that_just_balances_the_load_leaves_the_rest_to_the_next(answer_of: Any) -> None:
    """By hand: where one of two stages takes out at the set point what comes in, the loop only comes near it; with the second
    C dT/dt = -100 kW (1 + 2 k (T - Tr)), k 0.02/K, so t = C/(200 kW k) ln(1 + 2 k (T - Tr)).
    """
    case = {
        "loop": {"volume": q(5, "m3")},
        "initial_temperature": q(20, "degC"),
        "set_point": q(10, "degC"),
        "load": q(100, "kW"),
        "machine": {"capacity": q(200, "kW"), "stages": 2, "capacity_slope": 0.02},
        "control": {"stage_delay": q(24, "h")},
    }
    results = answer_of(ID, case)["results"]
    before = results["curve"][1]
    stored = 5 * heat_of(15, 0.0)
    near = 10 * math.exp(-86400 * 100e3 * 0.02 / stored)
    assert before["temperature"]["value"] - 10 == pytest.approx(near, rel=5e-3)
    last = stored / (200e3 * 0.02) * math.log1p(2 * 0.02 * near)
    assert results["time_to_set_point"]["value"] * 60 == pytest.approx(86400 + last, rel=1e-6)


@pytest.mark.parametrize("slope", [0.06, 0.09, 0.1])
def test_a_slope_that_leaves_nothing_at_the_set_point(answer_of: Any, slope: float) -> None:
    """By hand: a twentieth must be left, 1 - k (25 - 6) = 0.05, so k = 0.05."""
    case = {
        "loop": {"volume": q(5, "m3")},
        "initial_temperature": q(30, "degC"),
        "set_point": q(6, "degC"),
        "machine": {"capacity": q(200, "kW"), "capacity_slope": slope, "reference_temperature": q(25, "degC")},
    }
    with pytest.raises(Refused) as refused:
        answer_of(ID, case)
    (error,) = refused.value.errors
    assert error.allowed.maximum == pytest.approx(0.05, abs=2e-6)  # type: ignore[union-attr]
    assert f"{1 - 19 * slope:.0%}" in error.detail


def test_oil_that_is_not_yet_warm(answer_of: Any) -> None:
    """By hand: 8 h asked for, 2.5 h had, 5.5 h missing; and 1 h where nothing is asked for (common practice)."""
    case = {
        "loop": {"volume": q(5, "m3")},
        "initial_temperature": q(20, "degC"),
        "set_point": q(10, "degC"),
        "machine": {"capacity": q(200, "kW")},
    }
    for more, minutes in (
        ({"oil_heated_since": q(2.5, "h"), "oil_heating_before_start": q(8, "h")}, 330),
        ({"oil_heated_since": q(24, "min")}, 36),
    ):
        (found,) = [f for f in answer_of(ID, case | more)["findings"] if f["code"] == "oil_heating_incomplete"]
        for text in (found["statement"].split("so ")[1], found["resolve"].split("on for ")[1]):
            number, unit = text.split(" ")[:2]
            assert float(number) * {"min": 1, "h": 60}[unit] == pytest.approx(minutes)


@pytest.mark.parametrize("celsius", [94.9, 95.1, 4000.0])
def test_a_loop_that_settles_where_no_liquid_is_known(answer_of: Any, celsius: float) -> None:
    """Liquids are known to 95 degC. By hand: it settles where the load above the capacity, 1 kW/K x (T - 20), goes out again."""
    case = {
        "loop": {"volume": q(5, "m3")},
        "initial_temperature": q(25, "degC"),
        "set_point": q(10, "degC"),
        "load": q(100 + celsius - 20, "kW"),
        "machine": {"capacity": q(100, "kW")},
        "heat_gain": {"coefficient": q(1, "kW/K"), "ambient_temperature": q(20, "degC")},
    }
    answer = answer_of(ID, case)
    (said,) = [f["statement"] for f in answer["findings"] if f["code"] == "set_point_not_reached"]
    lines = [one["value"] for one in answer["working"] if one["symbol"] == "T_inf"]
    if celsius > 95:
        assert "final_temperature" not in answer["results"]
        assert said.endswith("It settles above 95 degC.")
        assert not lines
        return
    assert answer["results"]["final_temperature"]["value"] == pytest.approx(celsius)
    assert said.endswith(f"It settles at {celsius} degC.")
    assert lines == [pytest.approx(celsius)]


def test_a_loop_that_warms_beyond_the_greatest_capacity_before_it_cools(answer_of: Any) -> None:
    """By hand: one of two stages takes out 100 kW (1 + 0.03 (T - 10)) for 150 kW, up to 18 degC, above which it takes out 124 kW:
    C dT/dt = 3 kW/K (26.67 - T), then 26 kW; with both 98 kW the other way, and below 18 degC 6 kW/K (T - 1.67).
    """
    case = {
        "loop": {"volume": q(3, "m3")},
        "initial_temperature": q(15, "degC"),
        "set_point": q(10, "degC"),
        "load": q(150, "kW"),
        "machine": {
            "capacity": q(200, "kW"),
            "stages": 2,
            "capacity_slope": 0.03,
            "reference_temperature": q(10, "degC"),
            "capacity_limit_temperature": q(18, "degC"),
        },
        "control": {"stage_delay": q(1, "h")},
    }
    results = answer_of(ID, case)["results"]
    stored = 3 * heat_of(12.5, 0.0) / 1e3
    settles = 80 / 3
    to_limit = stored / 3 * math.log((settles - 15) / (settles - 18))
    assert to_limit < 3600
    warmest = 18 + 26 / stored * (3600 - to_limit)
    second = next(point for point in results["curve"] if point["stages"] == 2)
    assert second["temperature"]["value"] == pytest.approx(warmest, abs=0.01)
    back = stored * (warmest - 18) / 98 + stored / 6 * math.log((18 - 10 / 6) / (10 - 10 / 6))
    assert results["time_to_set_point"]["value"] == pytest.approx(60 + back / 60, rel=1e-3)
