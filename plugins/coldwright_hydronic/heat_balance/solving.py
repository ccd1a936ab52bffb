"""The one of heat, flow and difference that was not given."""

from typing import Literal

from msgspec import UNSET, UnsetType

from coldwright.contract import refuse, tidy
from coldwright.contract.quantities import Power, VolumeFlow
from coldwright_basis.constants import ZERO_CELSIUS
from coldwright_basis.liquids import FluidState, check_temperature, properties
from coldwright_hydronic.heat_balance.contradictions import refuse_difference
from coldwright_hydronic.heat_balance.given import HeatBalanceGiven

PASSES = 60
"""Most passes of the iteration for the mean temperature: three suffice, the rest cost nothing."""


def solve(given: HeatBalanceGiven) -> tuple[Literal["flow", "heat", "temperature_difference"], float, float]:
    """What was solved for, the difference (K) and the flow (m3/s)."""
    if given.temperature_difference is not UNSET:
        difference = given.temperature_difference.si
    elif given.entering_temperature is not UNSET and given.leaving_temperature is not UNSET:
        difference = given.entering_temperature.si - given.leaving_temperature.si
    else:
        return "temperature_difference", _solve_difference(given), _si(given.flow)
    pointer = "/temperature_difference" if given.temperature_difference is not UNSET else "/leaving_temperature"
    refuse_difference(difference, pointer)
    if given.flow is not UNSET:
        return "heat", difference, given.flow.si
    heat = _si(given.heat)
    entering, leaving = ends_of(given, difference)
    carried = density_at_meter(given, entering, leaving) * state_at(given, 0.5 * (entering + leaving)).specific_heat
    if heat * difference <= 0.0:
        text = "Heat and temperature difference must have the same sign, and the heat must not be zero."
        raise refuse(
            "/heat", text, value=given.heat, why="No flow carries heat against its own temperature difference."
        )
    return "flow", difference, heat / (carried * difference)


def _solve_difference(given: HeatBalanceGiven) -> float:
    """The difference that the heat makes of the flow, by passes over the mean temperature."""
    heat, flow = _si(given.heat), _si(given.flow)
    difference = 0.0
    for _ in range(PASSES):
        entering, leaving = ends_of(given, difference)
        state = state_at(given, 0.5 * (entering + leaving))
        latest = heat / (density_at_meter(given, entering, leaving) * state.specific_heat * flow)
        refuse_difference(latest, "/heat")
        if abs(latest - difference) <= 1e-12 * abs(latest):
            break
        difference = latest
    return latest


def _si(quantity: VolumeFlow | Power | UnsetType) -> float:
    return 0.0 if quantity is UNSET else quantity.si


def ends_of(given: HeatBalanceGiven, difference: float) -> tuple[float, float]:
    """Entering and leaving temperature, K."""
    if given.entering_temperature is not UNSET:
        entering = given.entering_temperature.si
        leaving = given.leaving_temperature
        return entering, entering - difference if leaving is UNSET else leaving.si
    leaving_k = given.leaving_temperature.si if given.leaving_temperature is not UNSET else ZERO_CELSIUS
    return leaving_k + difference, leaving_k


def state_at(given: HeatBalanceGiven, mean: float) -> FluidState:
    """Properties at the mean temperature [K]."""
    pointer = "/entering_temperature" if given.entering_temperature is not UNSET else "/leaving_temperature"
    check_temperature(given.fluid, mean, pointer, tidy(mean - ZERO_CELSIUS))
    return properties(given.fluid, mean, needs=("density", "specific_heat"))


def density_at_meter(given: HeatBalanceGiven, entering: float, leaving: float) -> float:
    """Density [kg/m3] where the flow is metered."""
    at = {"mean": 0.5 * (entering + leaving), "entering": entering, "leaving": leaving}[given.flow_measured_at]
    check_temperature(given.fluid, at, "/flow_measured_at", tidy(at - ZERO_CELSIUS))
    return properties(given.fluid, at, needs=("density",)).density
