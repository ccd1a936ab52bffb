"""The loop's liquid in this family: heat taken from it, and the temperatures at which that can be said."""

from coldwright.contract import FieldError, Fluid, field_error
from coldwright.contract.quantities import Temperature
from coldwright_basis import liquids as hydronic

STATE_PRESSURE = 200e3
"""Pa absolute at which liquid properties are taken throughout the family."""
COLDEST_WATER = 277.55
"""K: 4.4 degC (40 degF), the coldest leaving temperature with plain water by common practice."""


def check_liquid(fluid: Fluid, pointer: str) -> None:
    """Refuse a fluid that is not described well enough to say what heat it carries."""
    hydronic.check_fluid(fluid, pointer, temperature="derived", needs=("density", "specific_heat"))


def check_liquid_at(fluid: Fluid, temperature: Temperature, pointer: str) -> None:
    """Refuse a temperature, named by its own field, at which the fluid is no liquid or has no data."""
    hydronic.check_temperature(fluid, temperature.si, pointer, temperature)


def volumetric_heat(fluid: Fluid, temperature: float) -> float:
    """Density times specific heat, J/m3.K, at a temperature in K at which the fluid is a liquid."""
    return _state(fluid, temperature).volumetric_heat


def density(fluid: Fluid, temperature: float) -> float:
    """Density, kg/m3."""
    return _state(fluid, temperature).density


def specific_heat(fluid: Fluid, temperature: float) -> float:
    """Specific heat, J/kg.K."""
    return _state(fluid, temperature).specific_heat


def enthalpy_drop(fluid: Fluid, entering: float, leaving: float) -> float:
    """h(entering) - h(leaving), J/kg: the specific heat integrated by Simpson's rule, good to 1e-6 over 20 K."""
    middle = (entering + leaving) / 2
    mean = (specific_heat(fluid, entering) + 4 * specific_heat(fluid, middle) + specific_heat(fluid, leaving)) / 6
    return mean * (entering - leaving)


def same_liquid(one: Fluid, other: Fluid) -> bool:
    """Whether two fluids are the same mixture, however their strength was given."""
    if one.kind == "custom" or one.kind != other.kind:
        return one == other
    return abs(strength(one) - strength(other)) < 1e-6


def strength(fluid: Fluid) -> float:
    """Glycol by mass; 0 for water and for a custom fluid."""
    return hydronic.glycol_mass_fraction(fluid)


def name(fluid: Fluid) -> str:
    """The fluid in words."""
    words = fluid.kind.replace("_", " ")
    return words if strength(fluid) == 0 else f"{words} at {strength(fluid):.3g} by mass"


def _state(fluid: Fluid, temperature: float) -> hydronic.FluidState:
    return hydronic.properties(fluid, temperature, STATE_PRESSURE, needs=("density", "specific_heat"))


def must_fall(pointer: str, from_: Temperature, to: Temperature) -> list[FieldError]:
    """An error where a temperature that shall fall does not."""
    if to.si < from_.si:
        return []
    text = f"{to} does not lie below the {from_} from which it is to be cooled."
    return [field_error(pointer, text, value=to, why="This family cools: heating is no load of a chiller.")]
