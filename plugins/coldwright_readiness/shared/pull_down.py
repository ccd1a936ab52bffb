"""How long a loop takes to cool: heat stored over heat taken out. SI inside."""

from math import expm1, log1p
from typing import Final

from msgspec import UNSET, UnsetType

from coldwright.contract import FieldError, Fluid, Refused, field_error
from coldwright.contract.quantities import Temperature
from coldwright_basis.compare import negligible
from coldwright_basis.constants import ZERO_CELSIUS
from coldwright_basis.liquids import FluidState, check_fluid, check_temperature, freezing_temperature, properties
from coldwright_readiness.shared.given import FluidKind, LoadModel, PullDown

LOOP_PRESSURE: Final = 400e3
"""Pa absolute: a filled loop."""


class Cooling:
    """Heat in and out of a loop: what cools, what loads, what stores."""

    __slots__ = ("driving", "heat_capacity", "load", "power", "ua")

    def __init__(self, heat_capacity: float, power: float, load: float, model: LoadModel | UnsetType) -> None:
        self.heat_capacity, self.power, self.load = heat_capacity, power, load
        self.ua = 0.0 if model is UNSET else model.ua
        self.driving = 0.0 if model is UNSET else model.driving_temperature.si

    def load_at(self, temperature: float) -> float:
        """W of heat into the loop at a temperature."""
        return self.load + self.ua * (self.driving - temperature)

    def fall_rate(self, temperature: float) -> float:
        """K/s, positive when it gets colder."""
        return (self.power - self.load_at(temperature)) / self.heat_capacity

    def final_temperature(self) -> float | None:
        """Where it would settle; None where the load hardly depends on temperature: a billionth of the heat for a kelvin."""
        surplus = self.power - self.load
        return None if negligible(self.ua, surplus) else self.driving - surplus / self.ua

    def time_between(self, now: float, target: float) -> float | None:
        """Seconds to cool from `now` to `target`; None where the cooling never gets there."""
        if now <= target:
            return 0.0
        surplus = self.power - self.load_at(target)
        if surplus <= 0:
            return None
        bend = self.ua * (now - target) / surplus
        if negligible(bend, 1.0):  # 1 / UA would lose what the logarithm keeps
            return self.heat_capacity * (now - target) / surplus
        return self.heat_capacity / self.ua * log1p(bend)

    def after(self, now: float, seconds: float) -> float:
        """Temperature after a time; it rises where more heat comes in than is taken out."""
        bend = self.ua / self.heat_capacity * seconds
        share = 1.0 if negligible(bend, 1.0) else -expm1(-bend) / bend
        return now - self.fall_rate(now) * seconds * share


def loop_state(fluid: Fluid, now: float, target: float) -> FluidState:
    """Liquid at the middle of the way."""
    return properties(fluid, (now + target) / 2, LOOP_PRESSURE, needs=("density", "specific_heat"))


def set_point_errors(fluid: Fluid, set_point: Temperature, pointer: str) -> list[FieldError]:
    """A set point at or below the freezing point is refused, and so is one outside the data."""
    freezing = freezing_temperature(fluid)
    if freezing is not None and set_point.si <= freezing:
        text = f"{set_point} is not above the freezing point of this liquid, {freezing - ZERO_CELSIUS:.2f} degC."
        return [field_error(pointer, text, value=set_point, why="It would freeze in the evaporator.")]
    return range_error(fluid, set_point, pointer)


def range_error(fluid: Fluid, temperature: Temperature, pointer: str) -> list[FieldError]:
    """The refusal of a temperature at which the liquid has no properties."""
    try:
        check_temperature(fluid, temperature.si, pointer, temperature)
    except Refused as refused:
        return list(refused.errors)
    return []


def pull_down_seconds(plan: PullDown, fluid_kind: FluidKind, pointer: str, apart: float) -> float:
    """Time to the set point from the first start on, the compressors starting `apart` seconds one after the other.

    Refused where the set point is never reached, or where the loop first warms beyond what is known of the liquid.
    """
    fluid = Fluid(kind=fluid_kind, mass_fraction=plan.mass_fraction)
    check_fluid(fluid, pointer, temperature="derived")
    errors = set_point_errors(fluid, plan.set_point, f"{pointer}/set_point")
    errors += range_error(fluid, plan.leaving_temperature, f"{pointer}/leaving_temperature")
    if plan.load is not UNSET and plan.load_model is not UNSET:
        errors.append(field_error(f"{pointer}/load_model", "Give load or load_model, not both."))
    if errors:
        raise Refused(errors)
    now, target = plan.leaving_temperature.si, plan.set_point.si
    state = loop_state(fluid, now, target)
    load = 0.0 if plan.load is UNSET else plan.load.si
    heat_capacity, power, passed = plan.loop_volume.si * state.volumetric_heat, 0.0, 0.0
    for compressor in plan.compressors[:-1]:
        power += compressor.capacity.si
        cooling = Cooling(heat_capacity, power, load, plan.load_model)
        seconds = cooling.time_between(now, target)
        if seconds is not None and seconds <= apart:
            return passed + seconds
        now, passed = cooling.after(now, apart), passed + apart
        if beyond := range_error(fluid, Temperature.from_si(now, "degC"), f"{pointer}/load"):
            raise Refused(beyond)
    power += plan.compressors[-1].capacity.si
    seconds = Cooling(heat_capacity, power, load, plan.load_model).time_between(now, target)
    if seconds is None:
        text = (
            f"The cooling of {power / 1000:.4g} kW never brings this loop to {plan.set_point}: the load is too large."
        )
        raise Refused([field_error(pointer, text, why="Without a time to cold water there is no plan.")])
    return passed + seconds
