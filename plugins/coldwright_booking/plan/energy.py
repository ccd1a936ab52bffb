"""Energy and fuel of the whole hire."""

from typing import NamedTuple

from msgspec import UNSET, UnsetType
from msgspec.structs import replace

from coldwright.contract import Money, tidy
from coldwright.contract.quantities import Duration, Power
from coldwright_booking.order.facts import Facts
from coldwright_booking.plan.block import Block
from coldwright_booking.plan.desk import Asked, Desk, Unanswered
from coldwright_booking.plan.load import Heat
from coldwright_booking.plan.machines import Machines
from coldwright_booking.plan.supply import SupplyPlan
from coldwright_booking.rates.given import Price, Rates
from coldwright_electrical.energy_cost import energy_cost
from coldwright_electrical.energy_cost.given import EnergyCostGiven, EnergyGeneratorGiven
from coldwright_electrical.energy_cost.results import EnergyCostResults

Energy = Asked[EnergyCostGiven, EnergyCostResults] | Unanswered


class EnergyNeeds(NamedTuple):
    """What energy and fuel take of the plan."""

    facts: Facts
    load: Heat
    machines: Machines
    supply: SupplyPlan


def rates_of(facts: Facts) -> Rates:
    """Those of the order, and of the fleet where the order leaves one out."""
    own, stock = facts.order.rates, facts.fleet.rates
    if isinstance(own, UnsetType):
        return Rates() if isinstance(stock, UnsetType) else stock
    if isinstance(stock, UnsetType):
        return own
    return replace(stock, **dict(own.given))


def average_load(facts: Facts) -> float:
    """Mean load over the load; 1 where it is not given."""
    stated = facts.order.duty.average_load_fraction
    return 1.0 if isinstance(stated, UnsetType) else stated


def decide(needs: EnergyNeeds, desk: Desk) -> Energy | None:
    """Energy of the machines over the hire, day and night. A machine takes its share of power with its share of load."""
    facts, combination, supply, rates = needs.facts, needs.machines.combination, needs.supply, rates_of(needs.facts)
    if not combination:
        return None
    power, share = combination.power, min(1.0, average_load(facts) * needs.load.gross / combination.capacity)
    duration = Duration(24.0 * facts.days, "h")
    if supply.set is None:
        factor = facts.order.supply.grid_emission_factor
        if isinstance(rates.energy, UnsetType) and isinstance(factor, UnsetType):
            return None
        return desk.try_ask(
            energy_cost,
            EnergyCostGiven(
                practice=facts.order.practice,
                active_power=Power.of(power / 1000, "kW"),
                load_factor=tidy(share),
                duration=duration,
                source="utility",
                energy_price=_money(rates.energy),
                demand_price=UNSET if isinstance(rates.energy, UnsetType) else _money(rates.demand),
                grid_emission_factor=factor,
            ),
        )
    if not isinstance(supply.generator, Asked) or isinstance(supply.generator.given.generator, UnsetType):
        return None
    rated = supply.generator.given.generator.rated_active_power
    least = power * supply.generator.given.lowest_load_fraction
    floor = least + (0.0 if supply.set.load_bank is None else supply.set.load_bank.si)
    running = max(power, floor)
    return desk.try_ask(
        energy_cost,
        EnergyCostGiven(
            practice=facts.order.practice,
            active_power=Power.of(running / 1000, "kW"),
            load_factor=tidy(max(power * share, floor) / running),
            duration=duration,
            source="generator",
            generator=EnergyGeneratorGiven(rated_active_power=rated, fuel_curve=supply.generator.given.fuel_curve),
        ),
    )


def _money(price: Price | UnsetType) -> Money | UnsetType:
    """As `electrical.energy_cost` takes it; the plan's own lines are multiplied in decimals."""
    if isinstance(price, UnsetType):
        return UNSET
    return Money(value=float(price.value), currency=price.currency)


ENERGY = Block("energy", EnergyNeeds, (energy_cost,), decide)
