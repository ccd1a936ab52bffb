"""States of a refrigerant from CoolProp, always with the phase imposed.

Left to find the phase itself, the mixture model is slow and now and then returns a wrong root without an error. So the
phase is decided here from the saturation lines, and temperatures at a given entropy or enthalpy are found by Newton's
method on calls with the phase imposed.
"""

from typing import Any, Literal, NamedTuple

from coldwright_basis.compare import negligible
from coldwright_basis.coolprop import core, state
from coldwright_refrigeration.shared.refrigerants import REFRIGERANTS
from coldwright_refrigeration.shared.saturation import Saturation, saturation_of

LEAST_LIQUID_DENSITY = 0.7
"""A liquid below this share of its saturated density is not the liquid root."""
ALMOST_SATURATED = 1e-3
"""Kelvin: nearer to the line than the line itself is known."""
Side = Literal["bubble", "dew"]
Property = Literal["enthalpy", "entropy"]


class OutOfEquation(Exception):  # noqa: N818 - the equation of state has no answer there
    """The equation of state has no trustworthy answer at this state."""


class State(NamedTuple):
    """One state, in SI units; `quality` in or on the dome only."""

    pressure: float
    temperature: float
    enthalpy: float
    entropy: float
    density: float
    quality: float | None


class RefrigerantStates:
    """State points of one refrigerant, for one calculation in one thread."""

    def __init__(self, name: str) -> None:
        self._state: Any = state("HEOS", REFRIGERANTS[name].fluid)
        self._core: Any = core()
        self.saturation: Saturation = saturation_of(name)

    def saturated(self, pressure: float, side: Side) -> State:
        """Bubble point or dew point at a pressure."""
        if side == "bubble":
            return self._at(pressure, self.saturation.bubble.temperature(pressure), "liquid", 0.0)
        return self._at(pressure, self.saturation.dew.temperature(pressure), "gas", 1.0)

    def gas(self, pressure: float, temperature: float) -> State:
        """Vapour on or above its dew point."""
        if temperature <= self.saturation.dew.temperature(pressure) + ALMOST_SATURATED:
            return self.saturated(pressure, "dew")
        return self._at(pressure, temperature, "gas", None)

    def liquid(self, pressure: float, temperature: float) -> State:
        """Liquid on or below its bubble point."""
        saturated = self.saturated(pressure, "bubble")
        if temperature >= saturated.temperature - ALMOST_SATURATED:
            return saturated
        subcooled = self._at(pressure, temperature, "liquid", None)
        if subcooled.density < LEAST_LIQUID_DENSITY * saturated.density:
            raise OutOfEquation(f"no liquid root at {pressure:.0f} Pa and {temperature:.2f} K")
        return subcooled

    def at(self, pressure: float, given: Property, value: float, near: float = 0.0) -> State:
        """State at a pressure with a given specific enthalpy or entropy; `near` is a temperature that vapour may have."""
        dew = self.saturated(pressure, "dew")
        if value >= getattr(dew, given):
            start = self._at(pressure, near, "gas", None) if near > dew.temperature + ALMOST_SATURATED else dew
            return self._single(start, "gas", given, value)
        bubble = self.saturated(pressure, "bubble")
        if value <= getattr(bubble, given):
            return self._single(bubble, "liquid", given, value)
        return self._between(bubble, dew, given, value)

    def _at(self, pressure: float, temperature: float, phase: Literal["gas", "liquid"], quality: float | None) -> State:
        self._update(pressure, temperature, phase)
        s = self._state
        return State(pressure, temperature, s.hmass(), s.smass(), s.rhomass(), quality)

    def _update(self, pressure: float, temperature: float, phase: Literal["gas", "liquid"]) -> None:
        if not self._state.Tmin() < temperature < self._state.Tmax():
            raise OutOfEquation(f"{temperature:.1f} K is outside the range of the equation of state")
        self._state.specify_phase(self._core.iphase_gas if phase == "gas" else self._core.iphase_liquid)
        try:
            self._state.update(self._core.PT_INPUTS, pressure, temperature)
        except ValueError as error:
            raise OutOfEquation(str(error)) from error
        finally:
            self._state.unspecify_phase()

    def _single(self, start: State, phase: Literal["gas", "liquid"], given: Property, value: float) -> State:
        """Newton's method from the saturated state; enthalpy and entropy rise with temperature at constant pressure."""
        point, temperature = start, start.temperature
        for _ in range(50):
            gap = value - getattr(point, given)
            heat = self._state.cpmass() / (temperature if given == "entropy" else 1.0)
            if negligible(gap, heat * temperature):
                return point
            temperature += max(min(gap / heat, 60.0), -60.0)
            point = self._at(start.pressure, temperature, phase, None)
        raise OutOfEquation(f"no state with the given {given} was found at {start.pressure:.0f} Pa")

    def _between(self, bubble: State, dew: State, given: Property, value: float) -> State:
        """State in the dome: flash at trial qualities, drawn in by false position, for both run almost straight."""
        low, high = (0.0, getattr(bubble, given) - value), (1.0, getattr(dew, given) - value)
        for _ in range(60):
            quality = (low[0] * high[1] - high[0] * low[1]) / (high[1] - low[1])
            point = self._flash(bubble.pressure, quality)
            gap = getattr(point, given) - value
            if negligible(gap, getattr(dew, given) - getattr(bubble, given)):
                return point
            if gap > 0:
                high = (quality, gap)
            else:
                low = (quality, gap)
        raise OutOfEquation(f"no state with the given {given} was found in the dome at {bubble.pressure:.0f} Pa")

    def _flash(self, pressure: float, quality: float) -> State:
        s = self._state
        try:
            s.update(self._core.PQ_INPUTS, pressure, quality)
        except ValueError as error:
            raise OutOfEquation(str(error)) from error
        return State(pressure, s.T(), s.hmass(), s.smass(), s.rhomass(), quality)
