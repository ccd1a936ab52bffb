"""Capacity and power by the rating table, or by the estimate from one rated point."""

from collections.abc import Callable
from typing import NamedTuple

from msgspec import UNSET

from coldwright.contract import Notes, Refused, refuse
from coldwright.contract.quantities import Power
from coldwright_basis.compare import same
from coldwright_refrigeration.capacity import estimate
from coldwright_refrigeration.capacity.corrections import Penalties, range_effect, range_penalty
from coldwright_refrigeration.capacity.findings import warn_of_rising
from coldwright_refrigeration.capacity.given import CapacityGiven, RatedPoint, RatingTable
from coldwright_refrigeration.capacity.grid import Grid, Reading
from coldwright_refrigeration.capacity.rated_at import RatedAt, of_point
from coldwright_refrigeration.capacity.results import CapacityEstimate
from coldwright_refrigeration.shared import liquids

NARROWEST, WIDEST = 1.0, 30.0
"""K of temperature difference at a given flow, beyond which flow and machine do not belong together."""


class Rating(NamedTuple):
    """Capacity and power in W, slopes per K relative to the capacity, difference of the liquid in K."""

    capacity: float
    power: float
    per_degree_leaving: float
    per_degree_ambient: float
    difference: float
    uncertainty: float
    estimate: CapacityEstimate | None = None


def by_table(given: CapacityGiven, table: RatingTable, rated_at: RatedAt, found: Penalties, notes: Notes) -> Rating:
    """Capacity and power from the rating table at the shifted temperatures."""
    warn_of_rising(table, notes)
    grid = Grid(table)
    conditions = given.conditions
    leaving, ambient = conditions.leaving_liquid_temperature.si, conditions.ambient_temperature.si

    def read_at(shift: float, shown: Notes | None = None) -> Reading:
        leaving_shift, moved_air = found.leaving_shift + shift, found.ambient_shift + found.condenser_shift
        point = leaving + leaving_shift, ambient + moved_air
        if errors := grid.outside(*point, (leaving_shift, moved_air)):
            raise Refused(errors)
        return grid.read(*point, shown)

    def capacity_at(difference: float) -> float:
        moved, factor = range_effect(given, rated_at, difference, shift=True)
        return read_at(moved).capacity * found.capacity_factor * factor

    if conditions.flow is not UNSET:
        difference = _settled(given, rated_at.temperature_difference.si, capacity_at)
    elif conditions.temperature_difference is not UNSET:
        difference = conditions.temperature_difference.si
    else:
        difference = rated_at.temperature_difference.si
    range_penalty(given, rated_at, difference, found, notes, shift=True)
    read = read_at(0.0, notes)
    capacity = read.capacity * found.capacity_factor
    return Rating(
        capacity,
        read.power * found.power_factor,
        read.per_degree_leaving / read.capacity,
        read.per_degree_ambient / read.capacity,
        difference,
        found.uncertainty,
    )


def _settled(given: CapacityGiven, start: float, capacity_at: Callable[[float], float]) -> float:
    """Temperature difference, K, at the flow given, of a capacity which depends on that difference itself."""
    difference = start
    for _ in range(50):
        after = _difference(given, capacity_at(difference))
        if same(after, difference):
            break
        difference = after
    return difference


def _difference(given: CapacityGiven, capacity: float) -> float:
    """Temperature difference, K, that a capacity makes at the flow given."""
    conditions = given.conditions
    leaving, flow = conditions.leaving_liquid_temperature.si, conditions.flow.si  # type: ignore[union-attr]
    difference = 0.0
    for _ in range(6):  # the mean temperature moves the properties by parts in a thousand only
        difference = capacity / (flow * liquids.volumetric_heat(conditions.fluid, leaving + difference / 2))
        if not NARROWEST <= difference <= WIDEST:
            raise refuse(
                "/conditions/flow",
                f"At {conditions.flow} the machine's {Power.from_si(capacity, 'kW')} would change the liquid by "
                f"{difference:.3g} K.",
                value=conditions.flow,
                why=f"The method holds for differences from {NARROWEST:g} to {WIDEST:g} K: flow and machine do not "
                "belong "
                "together.",
            )
    return difference


def by_estimate(given: CapacityGiven, rated: RatedPoint, found: Penalties, notes: Notes) -> Rating:
    """Capacity and power from the cycle fitted through one rated point."""
    conditions = given.conditions
    leaving = conditions.leaving_liquid_temperature.si + found.leaving_shift
    ambient = conditions.ambient_temperature.si + found.ambient_shift
    uncertainty = estimate.check_reach(rated, leaving, ambient, (found.leaving_shift, found.ambient_shift))
    fit = estimate.Fit(rated, given.assumed)
    estimate.show_fit(fit, rated, given.assumed, notes)
    held = bool(given.machine.corrections.range)  # factors of the machine take the place of the model's own range
    capacity_flow, difference = None, rated.temperature_difference.si
    if not held and conditions.flow is not UNSET:
        capacity_flow = conditions.flow.si * liquids.volumetric_heat(conditions.fluid, leaving)
    elif not held and conditions.temperature_difference is not UNSET:
        difference = conditions.temperature_difference.si
    demand = estimate.Demand(leaving, ambient, found.conductance_ratio, capacity_flow, difference)
    balance = fit.balance(demand)
    if balance is None:
        raise refuse(
            "/conditions",
            f"No balance of compressor, evaporator and condenser was found for {rated.refrigerant} at these "
            "conditions.",
            why="A saturation temperature would leave the data of the refrigerant: the machine would trip before.",
        )
    start = (balance.evaporating, balance.condensing)
    warmer_air = fit.balance(demand._replace(ambient=ambient + 0.1), start) or balance
    warmer_liquid = fit.balance(demand._replace(leaving=leaving + 0.1), start) or balance
    estimate.show_balance(fit, balance, demand, notes)
    capacity, power = _estimated(given, rated, found, fit, balance, notes)
    if conditions.flow is not UNSET:
        difference = _difference(given, capacity)
    elif conditions.temperature_difference is not UNSET:
        difference = conditions.temperature_difference.si
    notes.note(
        "estimated_without_table",
        f"No rating table: capacity and power are estimated from one rated point, within about "
        f"{uncertainty + found.uncertainty:.0%}.",
        resolve="Send `machine.rating_table`.",
        field="/machine/rated_point",
        references=("refrigeration_practice", "coolprop"),
    )
    return Rating(
        capacity,
        power,
        (warmer_liquid.capacity / balance.capacity - 1) / 0.1,
        (warmer_air.capacity / balance.capacity - 1) / 0.1,
        difference,
        uncertainty + found.uncertainty,
        estimate.described(fit, balance),
    )


def _estimated(
    given: CapacityGiven,
    rated: RatedPoint,
    found: Penalties,
    fit: estimate.Fit,
    balance: estimate.Balance,
    notes: Notes,
) -> tuple[float, float]:
    """Capacity and power in W after the factors; adds the penalty of the range."""
    conditions = given.conditions
    difference = rated.temperature_difference.si

    def capacity_at(difference: float) -> float:
        _, factor = range_effect(given, of_point(rated), difference, shift=False)
        return balance.capacity * found.capacity_factor * factor

    if conditions.flow is not UNSET:
        difference = _settled(given, difference, capacity_at)
    elif conditions.temperature_difference is not UNSET:
        difference = conditions.temperature_difference.si
    range_penalty(given, of_point(rated), difference, found, notes, shift=False)
    power = balance.compressor_power + fit.fan_power
    return balance.capacity * found.capacity_factor, power * found.power_factor
