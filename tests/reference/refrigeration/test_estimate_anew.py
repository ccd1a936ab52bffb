"""A whole answer of refrigeration.capacity without a table worked out anew [derived]: the cycle by calls of CoolProp, the three
balances by Brent's method one within the other, from the rules of the trade alone (common practice, no source).

Volumetric efficiency 1 - 0.02 (PR - 1); isentropic efficiency as rated, less 0.15 of it for the square of the pressure ratio's
distance; transfer units of the evaporator with the liquid's flow to -0.6; a condenser of one conductance, for air of less
mass flow by its own effectiveness.
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
ID = "refrigeration.capacity"
FLUIDS = {"R-134a": "R134a", "R-32": "R32", "R-290": "R290", "R-717": "R717", "R-407C": "R407C"}


def kelvin(value: float) -> dict[str, Any]:
    return q(value, "delta_degC")


class Machine:
    """kW and degC; the figures of the cycle in J/kg and kg/m3."""

    def __init__(self, some: Any, one_of: Any) -> None:
        self.name = one_of(*FLUIDS)
        self.fluid = FLUIDS[self.name]
        self.capacity, self.efficiency = some(50, 800), some(0.5, 0.8)
        self.leaving, self.across, self.ambient = some(4, 12), some(4, 7), some(28, 38)
        self.below, self.over = some(2, 6), some(9, 16)
        self.superheat, self.subcooling, self.fans = some(2, 10), some(2, 10), some(0, 0.15)
        self.ntu, self.exponent = some(0.8, 1.8), some(0.4, 0.8)
        at = self.cycle(self.leaving - self.below, self.ambient + self.over)
        flow = self.capacity * 1e3 / at[0]
        self.ratio = at[3]
        self.swept = flow / at[2] / (1 - 0.02 * (self.ratio - 1))
        self.compressors = flow * at[1] / self.efficiency / 1e3
        self.passes = (self.capacity + self.compressors) / self.over
        self.effectiveness = self.across / (self.across + self.below)
        self.units = -math.log(1 - self.effectiveness)

    def mean(self, pascals: float) -> float:
        """degC, half-way between bubble and dew point."""
        return float(sum(PropsSI("T", "P", pascals, "Q", x, self.fluid) for x in (0, 1)) / 2) - 273.15

    def pressure(self, celsius: float) -> float:
        """Pa, at which the mean temperature is that."""
        low, high = (PropsSI("P", "T", celsius + 273.15, "Q", x, self.fluid) for x in (1, 0))
        if high - low < 1e-6 * high:
            return float(low)
        return float(brentq(lambda p: self.mean(p) - celsius, low, high, xtol=1e-4))

    def cycle(self, cold: float, warm: float) -> tuple[float, float, float, float]:
        """Cooling and ideal work of a kilogram, density at the compressor, ratio of pressures."""
        low, high = float(PropsSI("P", "T", cold + 273.15, "Q", 1, self.fluid)), self.pressure(warm)
        h1, s1, density = (PropsSI(n, "T|gas", cold + self.superheat + 273.15, "P", low, self.fluid) for n in "HSD")
        bubble = PropsSI("T", "P", high, "Q", 0, self.fluid)
        h3 = PropsSI("H", "T|liquid", bubble - self.subcooling, "P", high, self.fluid)
        return h1 - h3, PropsSI("H", "P", high, "S", s1, self.fluid) - h1, density, high / low

    def gives(self, cold: float, warm: float) -> tuple[float, float]:
        """Capacity and power of the compressors, kW."""
        cooling, work, density, ratio = self.cycle(cold, warm)
        flow = self.swept * density * (1 - 0.02 * (ratio - 1))
        efficiency = self.efficiency * (1 - 0.15 * (ratio / self.ratio - 1) ** 2)
        return flow * cooling / 1e3, flow * work / efficiency / 1e3

    def balance(self, leaving: float, air: float, share: float, stream: float | None, across: float) -> list[float]:
        """Evaporating and condensing temperature, capacity and power; `stream` in kW/K, or the kelvins `across`."""

        def condensing(cold: float) -> float:
            def gap(warm: float) -> float:
                return sum(self.gives(cold, warm)) - self.passes * share * (warm - air)

            low, high = max(air, cold) + 0.5, 95.0 if self.name == "R-134a" else 72.0  # none is served so hot
            if gap(low) < 0 or gap(high) > 0:
                return low if gap(low) < 0 else high  # a try: no balance lies there
            return float(brentq(gap, low, high, xtol=1e-7))

        def gap(cold: float) -> float:
            capacity = self.gives(cold, condensing(cold))[0]
            flow = stream or capacity / across
            units = self.units * (flow * self.across / self.capacity) ** -0.6
            return leaving - cold - capacity / flow / (math.exp(units) - 1)

        cold = float(brentq(gap, leaving - 14, leaving - 0.2, xtol=1e-6))
        return [cold, condensing(cold), *self.gives(cold, condensing(cold))]

    def given(self, conditions: dict[str, Any]) -> dict[str, Any]:
        rated = {
            "refrigerant": self.name,
            "capacity": q(self.capacity, "kW"),
            "power": q(self.compressors / (1 - self.fans), "kW"),
            "leaving_liquid_temperature": q(self.leaving, "degC"),
            "temperature_difference": kelvin(self.across),
            "ambient_temperature": q(self.ambient, "degC"),
        }
        assumed = {
            "rated_evaporating_approach": kelvin(self.below),
            "rated_condensing_over_ambient": kelvin(self.over),
            "superheat": kelvin(self.superheat),
            "subcooling": kelvin(self.subcooling),
            "fan_power_fraction": self.fans,
            "condenser_ntu": self.ntu,
            "air_film_exponent": self.exponent,
        }
        return {"machine": {"rated_point": rated}, "conditions": conditions, "assumed": assumed}


@settings(max_examples=10)
@given(st.data())
def test_the_whole_answer(answer_of: Any, data: st.DataObject) -> None:
    """The fit through the rated point, the balance elsewhere, what follows from it and how sure it is."""

    def some(low: float, high: float) -> float:
        return data.draw(st.floats(low, high))

    def one_of(*values: Any) -> Any:
        return data.draw(st.sampled_from(values))

    machine = Machine(some, one_of)
    warmer, hotter, air_share = some(-3, 7), some(-14, 12), some(0.75, 1.1)
    leaving, air = machine.leaving + warmer, machine.ambient + hotter
    assume(leaving > 1 and all(abs(max(abs(warmer), abs(hotter)) - edge) > 1e-3 for edge in (5, 10)))
    how, across, rated_flow = one_of("flow", "range", "rated"), some(3, 9), machine.capacity / machine.across
    heat = 1e-6 * PropsSI("D", "T", leaving + 273.15, "P", 2e5, "Water")
    heat *= PropsSI("C", "T", leaving + 273.15, "P", 2e5, "Water")
    stream = some(0.7, 1.4) * rated_flow if how == "flow" else None
    conditions: dict[str, Any] = {
        "leaving_liquid_temperature": q(leaving, "degC"),
        "ambient_temperature": q(air, "degC"),
        "condenser_airflow_ratio": air_share,
    }
    if stream:
        conditions["flow"] = q(stream / heat, "L/s")
    elif how == "range":
        conditions["temperature_difference"] = kelvin(across)
    try:
        results = answer_of(ID, machine.given(conditions))["results"]
    except Refused:
        assume(False)  # a saturation temperature beyond the data of the refrigerant
        return
    x = air_share * (1 - math.exp(-machine.ntu * air_share ** (machine.exponent - 1))) / (1 - math.exp(-machine.ntu))
    balance = machine.balance(leaving, air, x, stream, across if how == "range" else machine.across)
    cold, warm, capacity, power = balance
    fit = results["estimate"]
    near: dict[str, Any] = {"rel": 1e-3 if machine.name != "R-407C" else 2e-3}
    assert fit["swept_volume_flow"]["value"] == pytest.approx(machine.swept, **near)
    assert fit["isentropic_efficiency"] == pytest.approx(machine.efficiency, **near)
    assert fit["evaporator_effectiveness"] == pytest.approx(machine.effectiveness, rel=1e-9)
    assert fit["condenser_conductance"]["value"] == pytest.approx(machine.passes, **near)
    assert fit["evaporating_temperature"]["value"] == pytest.approx(cold, abs=0.01)
    assert fit["condensing_temperature"]["value"] == pytest.approx(warm, abs=0.02)
    assert results["capacity"]["value"] == pytest.approx(capacity, **near)
    fans = machine.fans / (1 - machine.fans) * machine.compressors
    assert results["power"]["value"] == pytest.approx(power + fans, **near)
    furthest = max(abs(warmer), abs(hotter))
    assert results["uncertainty"] == (0.05 if furthest <= 5 else 0.08 if furthest <= 10 else 0.12)
    difference = {"flow": capacity / stream if stream else 0.0, "range": across, "rated": machine.across}[how]
    assert results["entering_liquid_temperature"]["value"] == pytest.approx(leaving + difference, abs=0.02)


def test_liquid_that_is_warmer_than_the_air(answer_of: Any) -> None:
    """The same two balances where condensing and evaporating temperature lie so near each other that the rated differences
    would have them exchanged: liquid of 28 degC, air of 23 degC and little of it.
    """
    figures = iter([100, 0.65, 20, 5, 22, 0.6, 4, 3, 3, 0.05, 1.2, 0.6])
    machine = Machine(lambda *_: float(next(figures)), lambda *_: "R-134a")
    conditions = {
        "leaving_liquid_temperature": q(28, "degC"),
        "ambient_temperature": q(23, "degC"),
        "condenser_airflow_ratio": 0.3,
        "temperature_difference": kelvin(5),
    }
    x = 0.3 * (1 - math.exp(-1.2 * 0.3**-0.4)) / (1 - math.exp(-1.2))
    cold, warm, capacity, power = machine.balance(28, 23, x, None, 5)
    results = answer_of(ID, machine.given(conditions))["results"]
    assert results["estimate"]["evaporating_temperature"]["value"] == pytest.approx(cold, abs=0.01)
    assert results["estimate"]["condensing_temperature"]["value"] == pytest.approx(warm, abs=0.02)
    assert results["capacity"]["value"] == pytest.approx(capacity, rel=1e-3)
    assert results["power"]["value"] == pytest.approx(power + 0.05 / 0.95 * machine.compressors, rel=1e-3)
    assert 23 + machine.over < 28 - machine.below, "as at the rated point they would be exchanged"
