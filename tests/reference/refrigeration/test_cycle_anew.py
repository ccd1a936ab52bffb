"""A whole answer of refrigeration.cycle worked out anew by plain calls of CoolProp [library], in each way that a cycle can be
given; and readings that lie on the saturation lines, or just beyond them.
"""

import math
from typing import Any

import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from quantity import q
from scipy.optimize import brentq

from coldwright.contract import Refused

pytestmark = pytest.mark.check
ID = "refrigeration.cycle"
FLUIDS = {"R-134a": "R134a", "R-32": "R32", "R-717": "R717", "R-407C": "R407C"}
Json = dict[str, Any]


def kelvin(value: float) -> Json:
    return q(value, "delta_degC")


def temperature(fluid: str, pascals: float, quality: int) -> float:
    return float(PropsSI("T", "P", pascals, "Q", quality, fluid)) - 273.15


def mean(fluid: str, pascals: float) -> float:
    return (temperature(fluid, pascals, 0) + temperature(fluid, pascals, 1)) / 2


class Cycle:
    """What is given, and the four points: Pa, degC, J/kg."""

    def __init__(self, some: Any, one_of: Any) -> None:
        self.name = one_of(*FLUIDS)
        fluid = self.fluid = FLUIDS[self.name]
        cold, warm = some(-25, 12), some(30, 55)
        self.low = float(PropsSI("P", "T", cold + 273.15, "Q", 1, fluid))
        reference = one_of("mean", "bubble", "dew", "")
        low, high = (float(PropsSI("P", "T", warm + 273.15, "Q", x, fluid)) for x in (1, 0))
        self.high = {"dew": low, "bubble": high}.get(reference, low)
        if reference == "mean" and high > low * 1.001:
            self.high = float(brentq(lambda p: mean(fluid, p) - warm, low, high, xtol=1e-3))
        self.outlet = self.high * one_of(1.0, some(0.94, 1.0))
        superheat, subcooling, self.efficiency = some(0.5, 20), some(0.5, 12), some(0.5, 0.99)
        self.dew, self.bubble = temperature(fluid, self.low, 1), temperature(fluid, self.outlet, 0)
        self.t1, self.t3 = self.dew + superheat, self.bubble - subcooling
        self.h1, self.s1, self.density = (
            float(PropsSI(n, "T|gas", self.t1 + 273.15, "P", self.low, fluid)) for n in "HSD"
        )
        self.h3 = float(PropsSI("H", "T|liquid", self.t3 + 273.15, "P", self.outlet, fluid))
        self.ideal = float(PropsSI("H", "P", self.high, "S", self.s1, fluid))
        self.h2 = self.h1 + (self.ideal - self.h1) / self.efficiency
        self.t2 = float(PropsSI("T", "P", self.high, "H", self.h2, fluid)) - 273.15
        self.given: Json = {"refrigerant": self.name}
        self.given["evaporating"] = one_of({"temperature": q(cold, "degC")}, {"pressure": q(self.low / 1e3, "kPa")})
        if reference:
            self.given["condensing"] = {"temperature": q(warm, "degC")}
            self.given["condensing_reference"] = reference
        else:
            self.given["condensing"] = {"pressure": q(self.high / 1e5, "bar")}
        self.given |= one_of({"superheat": kelvin(superheat)}, {"compressor_inlet_temperature": q(self.t1, "degC")})
        self.given |= one_of({"subcooling": kelvin(subcooling)}, {"condenser_outlet_temperature": q(self.t3, "degC")})
        self.told = one_of("isentropic_efficiency", "compressor_outlet_temperature")
        self.given[self.told] = self.efficiency if "eff" in self.told else q(self.t2, "degC")
        if self.outlet < self.high:
            self.given["condenser_outlet_pressure"] = q(self.outlet / 1e3, "kPa")


@settings(max_examples=25)
@given(st.data())
def test_the_whole_answer(answer_of: Any, data: st.DataObject) -> None:
    """Every number, and every line of the working that is one."""

    def some(low: float, high: float) -> float:
        return data.draw(st.floats(low, high))

    cycle = Cycle(some, lambda *values: data.draw(st.sampled_from(values)))
    assume(temperature(cycle.fluid, cycle.high, 1) + 0.5 < cycle.t2 < 150 and cycle.t3 > cycle.dew + 1)
    motor, filled, flow = some(0.5, 1), some(0.5, 1), some(0.01, 3)
    cooling, work = cycle.h1 - cycle.h3, cycle.h2 - cycle.h1
    swept = flow / cycle.density / filled
    size = {
        "mass_flow": q(flow, "kg/s"),
        "capacity": q(flow * cooling / 1e3, "kW"),
        "swept_volume_flow": q(swept, "m3/s"),
    }
    name = data.draw(st.sampled_from(sorted(size)))
    given_ = cycle.given | {name: size[name], "motor_efficiency": motor, "volumetric_efficiency": filled}
    answer = answer_of(ID, given_)
    results = answer["results"]
    dew, bubble = (temperature(cycle.fluid, cycle.high, x) for x in (1, 0))
    cop = cooling / work
    evaporating, condensing = mean(cycle.fluid, cycle.low) + 273.15, (dew + bubble) / 2 + 273.15
    for field, number in (
        ("specific_cooling", cooling / 1e3),
        ("specific_work", work / 1e3),
        ("specific_heat_rejected", (cycle.h2 - cycle.h3) / 1e3),
        ("mass_flow", flow),
        ("capacity", flow * cooling / 1e3),
        ("compressor_power", flow * work / 1e3),
        ("electric_power", flow * work / motor / 1e3),
        ("heat_rejected", flow * (cooling + work) / 1e3),
        ("swept_volume_flow", swept * 3600),
        ("pressure_ratio", cycle.high / cycle.low),
        ("isentropic_efficiency", cycle.efficiency),
        ("cop", cop),
        ("eer", 3.412142 * cop),
        ("kw_per_ton", 3.516853 / cop),
        ("carnot_cop", evaporating / (condensing - evaporating)),
    ):
        told = results[field]["value"] if isinstance(results[field], dict) else results[field]
        assert told == pytest.approx(number, rel=2e-3), field
    for field, celsius in (
        ("discharge_temperature", cycle.t2),
        ("condensing_temperature", condensing - 273.15),
        ("condensing_bubble_temperature", bubble),
        ("condensing_dew_temperature", dew),
        ("evaporating_temperature", cycle.dew),
    ):
        assert results[field]["value"] == pytest.approx(celsius, abs=0.05), field
    points = [
        (cycle.low, cycle.t1, cycle.h1),
        (cycle.high, cycle.t2, cycle.h2),
        (cycle.outlet, cycle.t3, cycle.h3),
        (cycle.low, None, cycle.h3),
    ]
    for state, (pascals, celsius, enthalpy) in zip(results["states"], points, strict=True):
        assert state["pressure"]["value"] == pytest.approx(pascals / 1e3, rel=5e-4)
        assert state["enthalpy"]["value"] == pytest.approx(enthalpy / 1e3, abs=0.3)
        if celsius is not None:
            assert state["temperature"]["value"] == pytest.approx(celsius, abs=0.05)
            assert "quality" not in state
    liquid, vapour = (float(PropsSI("H", "P", cycle.low, "Q", x, cycle.fluid)) for x in (0, 1))
    assert results["states"][3]["quality"] == pytest.approx((cycle.h3 - liquid) / (vapour - liquid), abs=3e-3)
    line = {one["symbol"]: one["value"] for one in answer["working"]}
    assert line["h2s"] == pytest.approx(cycle.ideal / 1e3, abs=0.3)
    assert ("eta_s" in line) is (cycle.told == "compressor_outlet_temperature")


LOW, HIGH = (float(PropsSI("P", "T", t + 273.15, "Q", 1, "R134a")) for t in (0, 45))
PLAIN: Json = {
    "refrigerant": "R-134a",
    "evaporating": {"pressure": q(LOW / 1e3, "kPa")},
    "condensing": {"pressure": q(HIGH / 1e3, "kPa")},
}


def ideal() -> float:
    """degC, after ideal compression of vapour 10 K above its dew point."""
    entropy = PropsSI("S", "T", 283.15, "P", LOW, "R134a")
    return float(PropsSI("T", "P", HIGH, "S", entropy, "R134a")) - 273.15


@pytest.mark.parametrize(
    ("name", "limit", "below", "more"),
    [
        ("compressor_inlet_temperature", 0.0, True, {}),
        ("condenser_outlet_temperature", 45.0, False, {}),
        ("compressor_outlet_temperature", ideal(), True, {"superheat": kelvin(10)}),
    ],
)
def test_readings_on_a_line_and_beyond(answer_of: Any, name: str, limit: float, below: bool, more: Json) -> None:
    """The lines are tabulated to a thousandth of a kelvin: a reading within half of that lies on the line, in the direction in
    which no reading can lie; half a kelvin beyond is refused, with the limit.
    """
    beyond = -1 if below else 1
    on = answer_of(ID, PLAIN | more | {name: q(limit + beyond * 5e-4, "degC")})["results"]
    if name == "compressor_outlet_temperature":
        assert on["isentropic_efficiency"] == pytest.approx(1, abs=1e-3)
    else:
        assert on["states"][0 if below else 2]["quality"] == (1 if below else 0)
    with pytest.raises(Refused) as refused:
        answer_of(ID, PLAIN | more | {name: q(limit + beyond / 2, "degC")})
    (error,) = refused.value.errors
    assert error.pointer == f"#/{name}"
    told = error.allowed.minimum if below else error.allowed.maximum  # type: ignore[union-attr]
    assert told == pytest.approx(limit, abs=2e-3)


def test_ends_of_the_saturation_lines(answer_of: Any) -> None:
    """R-134a is served from -45 to 90 degC, as its table says: the ends themselves are answered, and named where one is passed."""
    usual = {"refrigerant": "R-134a", "condensing": {"temperature": q(20, "degC")}}
    assert answer_of(ID, usual | {"evaporating": {"temperature": q(-45, "degC")}})["results"]["cop"] > 1
    hot = {"refrigerant": "R-134a", "evaporating": {"temperature": q(20, "degC")}}
    assert answer_of(ID, hot | {"condensing": {"temperature": q(90, "degC")}})["results"]["cop"] > 1
    ends = [float(PropsSI("P", "T", t + 273.15, "Q", 1, "R134a")) / 1e3 for t in (-45, 90)]
    for kilopascals, there in ((ends[0] * 0.99, False), (ends[0] * 1.01, True)):
        case = usual | {"evaporating": {"pressure": q(kilopascals, "kPa")}}
        if there:
            assert answer_of(ID, case)["results"]["evaporating_temperature"]["value"] == pytest.approx(-45, abs=0.5)
            continue
        with pytest.raises(Refused) as refused:
            answer_of(ID, case)
        (error,) = refused.value.errors
        assert error.allowed.minimum == pytest.approx(ends[0], rel=1e-3)  # type: ignore[union-attr]
        assert error.allowed.maximum == pytest.approx(ends[1], rel=1e-3)  # type: ignore[union-attr]


@pytest.mark.parametrize(("share", "taken"), [(1.049, False), (1.051, True)])
def test_the_least_pressure_ratio(answer_of: Any, share: float, taken: bool) -> None:
    """As the refusal says, 1.05: below it work and heat are differences of nearly equal numbers."""
    case = PLAIN | {"condensing": {"pressure": q(share * LOW / 1e3, "kPa")}}
    if taken:
        assert answer_of(ID, case)["results"]["pressure_ratio"] == pytest.approx(share)
        return
    with pytest.raises(Refused) as refused:
        answer_of(ID, case)
    (error,) = refused.value.errors
    assert error.allowed.minimum == pytest.approx(1.05 * LOW / 1e3, rel=1e-6)  # type: ignore[union-attr]
    said = [float(word) for word in error.detail.replace(",", "").split() if word[0].isdigit()]
    assert said == pytest.approx([share * LOW / 1e3, 1.05, LOW / 1e3], rel=1e-3)


@pytest.mark.parametrize(("gap", "cools"), [(0.02, True), (-0.02, False)])
def test_liquid_that_leaves_as_cold_as_the_evaporator(answer_of: Any, gap: float, cools: bool) -> None:
    """Nothing in a one-stage cycle is colder than the evaporator, which evaporates at 0 degC here."""
    case = PLAIN | {"condenser_outlet_temperature": q(gap, "degC")}
    if cools:
        assert answer_of(ID, case)["results"]["states"][3]["quality"] == pytest.approx(0, abs=2e-3)
        return
    with pytest.raises(Refused) as refused:
        answer_of(ID, case)
    assert math.isclose(float(refused.value.errors[0].detail.split("at ")[1].split(" ")[0]), gap, abs_tol=5e-3)
