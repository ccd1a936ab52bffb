"""Pressure drop of rated devices and valves, at another flow and with another liquid.

A device follows dp = dp_r (Q/Q_r)^n (rho/rho_r)^(n-1) (mu/mu_r)^(2-n), which follows from dp ~ rho v^2 Re^-(2-n).
"""

from msgspec import UNSET, UnsetType

from coldwright.contract import Fluid, Notes, say
from coldwright.contract.quantities import Temperature
from coldwright_basis.liquids import FluidState, Property, check_fluid, properties
from coldwright_hydronic.shared.given import SQUARE_LAW

TRUSTED_RATIO = (0.3, 1.5)
"""Flow over rated flow within which the power law is trusted."""

RATED_WITH = Fluid(kind="water", temperature=Temperature(10.0, "degC"))

CV_TO_KV = 0.865

KV_CUBE = 1e5 * 3600.0**2 / 1000.0
"""dp in Pa is KV_CUBE rho (Q/Kv)^2, with Q in m3/s and Kv in m3/h at 1 bar of water."""


def needs_of(exponent: float) -> tuple[Property, ...]:
    """Properties that a liquid must bring for a device of this exponent: by the square law viscosity has no part."""
    return ("density",) if exponent == SQUARE_LAW else ("density", "dynamic_viscosity")


def rated_state(rated_fluid: Fluid | UnsetType, exponent: float, pointer: str) -> FluidState:
    """Properties of the liquid of the rating; refuses what is wrong with it."""
    needs = needs_of(exponent)
    if rated_fluid is UNSET:
        return properties(RATED_WITH, needs=needs)
    check_fluid(rated_fluid, pointer, needs=needs)
    return properties(rated_fluid, pointer=pointer, needs=needs)


def assume_rated_with_water(notes: Notes) -> None:
    """Say so, where a `rated_fluid` was left out."""
    notes.assume(
        "rated_with_water",
        say(
            "Where no rated fluid is given, the rated pressure drop is taken as measured with water at {temperature}.",
            temperature=RATED_WITH.temperature,
        ),
        value=RATED_WITH.temperature,
        basis="common_practice",
        references=("hydronic_practice",),
    )


def fluid_correction(exponent: float, state: FluidState, rated: FluidState) -> float:
    """Drop with this liquid over drop with the rated one, at the same flow."""
    correction: float = (state.density / rated.density) ** (exponent - 1.0)
    if exponent != SQUARE_LAW:
        correction *= (state.dynamic_viscosity / rated.dynamic_viscosity) ** (SQUARE_LAW - exponent)
    return correction


def device_drop(flow_ratio: float, rated_drop: float, exponent: float, correction: float) -> float:
    """Drop at `flow_ratio` times the rated flow."""
    return float(rated_drop * correction * flow_ratio**exponent)


def device_flow_ratio(drop: float, rated_drop: float, exponent: float, correction: float) -> float:
    """Flow over rated flow that makes this drop."""
    return float((drop / (rated_drop * correction)) ** (1.0 / exponent))


def kv_for(flow: float, drop: float, density: float) -> float:
    """Flow coefficient Kv that makes this drop (Pa > 0)."""
    return float(flow * (KV_CUBE * density / drop) ** 0.5)
