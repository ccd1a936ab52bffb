"""The four points of a vapour-compression cycle, and what is refused on the way to them."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import NamedTuple

from msgspec import UNSET, UnsetType

from coldwright.contract import Allowed, FieldError, Notes, Refused, field_error, refuse
from coldwright.contract.quantities import AbsolutePressure, Quantity, Temperature, TemperatureDifference
from coldwright_basis.compare import at_most
from coldwright_basis.constants import ZERO_CELSIUS
from coldwright_refrigeration.cycle.given import CycleGiven, PhaseChangeGiven
from coldwright_refrigeration.shared.refrigerant_states import ALMOST_SATURATED, OutOfEquation, RefrigerantStates, State
from coldwright_refrigeration.shared.saturation import Saturation

LEAST_RATIO = 1.05
"""Pressure ratio below which work and heat are differences of nearly equal numbers."""
_GRID = "saturation is known for this refrigerant in this range only; see the table `refrigeration.refrigerants`"


class CyclePoints(NamedTuple):
    """States in SI units, in the order 1 to 4, and what they came from."""

    states: tuple[State, State, State, State]
    isentropic: State
    isentropic_efficiency: float
    efficiency_is_found: bool
    evaporating_dew: float
    evaporating_mean: float
    condensing_bubble: float
    condensing_dew: float
    condensing_mean: float


def points_of(given: CycleGiven, notes: Notes) -> CyclePoints:
    """Work out the cycle; raises `Refused` for what no cycle can do."""
    if errors := _contradictions(given):
        raise Refused(errors)
    states = RefrigerantStates(given.refrigerant)
    saturation = states.saturation
    low, high = _pressures(given, saturation)
    outlet = _outlet_pressure(given, low, high)
    _assume_defaults(given, notes)
    with _trusted("/evaporating"):
        one = _compressor_inlet(given, states, low)
    with _trusted("/condensing"):
        three = _condenser_outlet(given, states, low, outlet)
        ideal, two, efficiency = _compression(given, states, one, high)
    if one.enthalpy <= three.enthalpy:
        raise refuse(
            "/condensing",
            "The liquid that leaves the condenser holds as much heat as the vapour that leaves the evaporator: such a "
            "cycle does not cool.",
        )
    with _trusted("/evaporating"):
        four = states.at(low, "enthalpy", three.enthalpy)
    return CyclePoints(
        states=(one, two, three, four),
        isentropic=ideal,
        isentropic_efficiency=efficiency,
        efficiency_is_found=given.compressor_outlet_temperature is not UNSET,
        evaporating_dew=saturation.dew.temperature(low),
        evaporating_mean=saturation.mean_temperature(low),
        condensing_bubble=saturation.bubble.temperature(high),
        condensing_dew=saturation.dew.temperature(high),
        condensing_mean=saturation.mean_temperature(high),
    )


@contextmanager
def _trusted(pointer: str) -> Iterator[None]:
    """A state that the equation of state cannot answer is a refusal, not a fault."""
    try:
        yield
    except OutOfEquation as error:
        raise refuse(
            pointer,
            f"The equation of state has no trustworthy answer for a state of this cycle ({error}).",
            why="A figure from outside the method's range would be worse than none.",
        ) from error


def _contradictions(given: CycleGiven) -> list[FieldError]:
    """Pairs of which one only may be given, and the choice of temperature or pressure."""
    errors = []
    for name, change in (("evaporating", given.evaporating), ("condensing", given.condensing)):
        if (change.temperature is UNSET) == (change.pressure is UNSET):
            errors.append(field_error(f"/{name}", "Exactly one of `temperature` and `pressure` must be given."))
    pairs = (
        ("superheat", "compressor_inlet_temperature"),
        ("subcooling", "condenser_outlet_temperature"),
        ("isentropic_efficiency", "compressor_outlet_temperature"),
    )
    for first, second in pairs:
        if getattr(given, first) is not UNSET and getattr(given, second) is not UNSET:
            errors.append(field_error(f"/{second}", f"`{first}` and `{second}` say the same thing: give one."))
    sizes = [n for n in ("mass_flow", "capacity", "swept_volume_flow") if getattr(given, n) is not UNSET]
    errors += [
        field_error(f"/{name}", f"At most one size may be given; `{sizes[0]}` is there already.") for name in sizes[1:]
    ]
    return errors


def _pressures(given: CycleGiven, saturation: Saturation) -> tuple[float, float]:
    """Evaporating and condensing pressure, Pa."""
    errors: list[FieldError] = []
    low = _pressure(given.evaporating, "dew", saturation, "/evaporating", errors)
    high = _pressure(given.condensing, given.condensing_reference, saturation, "/condensing", errors)
    if not errors and high < LEAST_RATIO * low:
        errors.append(
            field_error(
                "/condensing",
                f"The condensing pressure of {high / 1000:.1f} kPa must be at least {LEAST_RATIO} times the "
                f"evaporating pressure of {low / 1000:.1f} kPa.",
                allowed=Allowed(minimum=LEAST_RATIO * low / 1000, unit="kPa"),
                why="A compressor raises the pressure; below this ratio the figures are differences of equal numbers.",
            )
        )
    if errors:
        raise Refused(errors)
    return low, high


def _pressure(
    change: PhaseChangeGiven, reference: str, saturation: Saturation, pointer: str, errors: list[FieldError]
) -> float:
    """Saturation pressure in Pa; an error where it lies outside the tabulated lines."""
    name = saturation.refrigerant
    bottom, top = saturation.lowest_pressure, saturation.highest_pressure
    if change.pressure is not UNSET:
        if bottom <= change.pressure.si <= top:
            return change.pressure.si
        limits = tuple(AbsolutePressure.from_si(p, "kPa").to(change.pressure.unit) for p in (bottom, top))
        errors.append(_outside(f"{pointer}/pressure", name, change.pressure, limits))
        return 0.0
    at = {
        "dew": saturation.dew.temperature,
        "bubble": saturation.bubble.temperature,
        "mean": saturation.mean_temperature,
    }
    back = {
        "dew": saturation.dew.pressure,
        "bubble": saturation.bubble.pressure,
        "mean": saturation.pressure_at_mean,
    }
    if change.temperature is UNSET:  # ruled out by `_contradictions`
        return 0.0
    kelvin = change.temperature.si
    if at[reference](bottom) - ALMOST_SATURATED <= kelvin <= at[reference](top) + ALMOST_SATURATED:
        return back[reference](kelvin)
    limits = tuple(Temperature.from_si(at[reference](p), "degC").to(change.temperature.unit) for p in (bottom, top))
    errors.append(_outside(f"{pointer}/temperature", name, change.temperature, limits))
    return 0.0


def _outside(pointer: str, name: str, value: Quantity, limits: tuple[float, ...]) -> FieldError:
    unit = value.unit
    return field_error(
        pointer,
        f"Saturation of {name} is not available at {value}, only from {limits[0]:.5g} to {limits[1]:.5g} {unit}.",
        code="out_of_range",
        value=value,
        allowed=Allowed(minimum=limits[0], maximum=limits[1], unit=unit),
        why=_GRID,
    )


def _outlet_pressure(given: CycleGiven, low: float, high: float) -> float:
    """Pressure at the condenser's outlet, Pa."""
    if given.condenser_outlet_pressure is UNSET:
        return high
    outlet = given.condenser_outlet_pressure.si
    if low < outlet and at_most(outlet, high):
        return outlet
    raise refuse(
        "/condenser_outlet_pressure",
        f"{given.condenser_outlet_pressure} does not lie between evaporating ({low / 1000:.1f} kPa) and condensing "
        f"pressure ({high / 1000:.1f} kPa).",
        value=given.condenser_outlet_pressure,
        allowed=Allowed(above=low / 1000, maximum=high / 1000, unit="kPa"),
        why="The refrigerant flows from high pressure to low.",
    )


def _assume_defaults(given: CycleGiven, notes: Notes) -> None:
    """The defaults of the either-or pairs, which the schema cannot list."""
    zero = TemperatureDifference.of(0, "delta_degC")
    if given.superheat is UNSET and given.compressor_inlet_temperature is UNSET:
        notes.assume("saturated_inlet", "The compressor draws saturated vapour.", value=zero, basis="default")
    if given.subcooling is UNSET and given.condenser_outlet_temperature is UNSET:
        notes.assume("saturated_outlet", "Saturated liquid leaves the condenser.", value=zero, basis="default")
    if given.isentropic_efficiency is UNSET and given.compressor_outlet_temperature is UNSET:
        notes.assume("ideal_compressor", "The compressor is ideal: isentropic efficiency 1.", value=1, basis="default")


def _compressor_inlet(given: CycleGiven, states: RefrigerantStates, low: float) -> State:
    dew = states.saturation.dew.temperature(low)
    if given.compressor_inlet_temperature is UNSET:
        return states.gas(low, dew + (0.0 if given.superheat is UNSET else given.superheat.si))
    inlet = given.compressor_inlet_temperature
    if inlet.si < dew - ALMOST_SATURATED:
        raise refuse(
            "/compressor_inlet_temperature",
            f"{inlet} is below the dew point of {dew - ZERO_CELSIUS:.2f} degC: liquid would reach the compressor.",
            value=inlet,
            allowed=Allowed(minimum=dew - ZERO_CELSIUS, unit="degC"),
            why="The cycle starts from dry vapour.",
        )
    return states.gas(low, inlet.si)


def _condenser_outlet(given: CycleGiven, states: RefrigerantStates, low: float, outlet: float) -> State:
    bubble = states.saturation.bubble.temperature(outlet)
    evaporating = states.saturation.dew.temperature(low)
    sent: Temperature | TemperatureDifference | UnsetType
    if given.condenser_outlet_temperature is not UNSET:
        sent, pointer = given.condenser_outlet_temperature, "/condenser_outlet_temperature"
        temperature = given.condenser_outlet_temperature.si
    else:
        sent, pointer = given.subcooling, "/subcooling"
        temperature = bubble - (0.0 if given.subcooling is UNSET else given.subcooling.si)
    if temperature > bubble + ALMOST_SATURATED:
        raise refuse(
            pointer,
            f"{sent} is above the bubble point of {bubble - ZERO_CELSIUS:.2f} degC: the refrigerant would not be liquid.",
            value=sent,
            allowed=Allowed(maximum=bubble - ZERO_CELSIUS, unit="degC"),
            why="The expansion valve needs liquid.",
        )
    if temperature <= evaporating:
        raise refuse(
            pointer,
            f"The liquid would leave at {temperature - ZERO_CELSIUS:.2f} degC, not above the evaporating temperature of "
            f"{evaporating - ZERO_CELSIUS:.2f} degC.",
            value=sent,
            why="Nothing in a one-stage cycle is colder than the evaporator.",
        )
    return states.liquid(outlet, temperature)


def _compression(given: CycleGiven, states: RefrigerantStates, one: State, high: float) -> tuple[State, State, float]:
    """Ideal and real compressor outlet, and the isentropic efficiency between them."""
    ideal = states.at(high, "entropy", one.entropy)
    rise = ideal.enthalpy - one.enthalpy
    if given.compressor_outlet_temperature is UNSET:
        efficiency = 1.0 if given.isentropic_efficiency is UNSET else given.isentropic_efficiency
        real = ideal if efficiency == 1 else states.at(high, "enthalpy", one.enthalpy + rise / efficiency)
        return ideal, real, efficiency
    outlet = given.compressor_outlet_temperature
    least = max(ideal.temperature, states.saturation.dew.temperature(high))
    if outlet.si < least - ALMOST_SATURATED:
        raise refuse(
            "/compressor_outlet_temperature",
            f"{outlet} is below the {least - ZERO_CELSIUS:.2f} degC that an ideal compressor would reach.",
            value=outlet,
            allowed=Allowed(minimum=least - ZERO_CELSIUS, unit="degC"),
            why="A compressor without cooling cannot beat an ideal one; the readings do not belong together.",
        )
    real = states.gas(high, outlet.si)
    return ideal, real, min(1.0, rise / (real.enthalpy - one.enthalpy))
