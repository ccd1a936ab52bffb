"""Average power, emission, money, and cost of cooling."""

from msgspec import UNSET, UnsetType

from coldwright.contract import Allowed, Defect, Money, Notes, load_table, refuse, tidy
from coldwright_electrical.energy_cost.given import EnergyCostGiven

EMISSION = load_table("coldwright_electrical", "diesel_emission")
GREATEST_AMOUNT = 1e12
HOURS_ROUNDED = 1e-6
"""Part by which the hours of all bins may miss the duration: people round a third of a month."""


def average_power(given: EnergyCostGiven) -> float:
    """Running power x load factor [kW]."""
    if isinstance(given.load_factor, UnsetType):
        raise Defect("the load factor was not checked")
    return given.active_power.to("kW") * given.load_factor


def show_energy(given: EnergyCostGiven, notes: Notes, power: float, energy: float) -> None:
    """Average power [kW] and energy, line by line."""
    expression = f"P x load factor = {given.active_power.to('kW'):.6g} x {given.load_factor:.4g}"
    notes.show("P_m", "Average power", expression, power, "kW")
    notes.show("E", "energy", f"P_m x t = {power:.6g} x {given.duration.to('h'):.6g}", energy, "kWh")


def per_cooling(given: EnergyCostGiven, notes: Notes, total: float, currency: str) -> Money | UnsetType:
    """Cost of a kWh of cooling; absent where no cooling was given."""
    if isinstance(given.cooling_energy, UnsetType):
        return UNSET
    cooling = given.cooling_energy.to("kWh")
    notes.show("c", "Cost of a kWh of cooling", f"{total:.6g} / {cooling:.6g}", total / cooling, f"{currency}/kWh")
    return money_of(total / cooling, currency, "/cooling_energy")


def money_of(amount: float, currency: str, pointer: str) -> Money:
    """An amount as money; refused beyond 1e12."""
    if abs(amount) > GREATEST_AMOUNT:
        raise refuse(
            pointer, "The price makes an amount beyond what is taken.", allowed=Allowed(maximum=GREATEST_AMOUNT)
        )
    return Money(value=tidy(amount), currency=currency)
