"""Energy and demand from a utility."""

from msgspec import UNSET, UnsetType

from coldwright.contract import Notes, refuse, say
from coldwright.contract.quantities import Energy, Mass, Power
from coldwright_basis.compare import whole_at_least
from coldwright_basis.usual import given_or_usual
from coldwright_electrical.energy_cost.amounts import average_power, money_of, per_cooling, show_energy
from coldwright_electrical.energy_cost.findings import report_unused
from coldwright_electrical.energy_cost.given import EnergyCostGiven
from coldwright_electrical.energy_cost.results import EnergyCostResults

HOURS_IN_A_BILLING_MONTH = 730


def from_utility(given: EnergyCostGiven, notes: Notes) -> EnergyCostResults:
    """Energy and demand at the utility's prices; refused without an energy price, where no emission factor is given."""
    price, factor = given.energy_price, given.grid_emission_factor
    nothing_asked = isinstance(factor, UnsetType) or not isinstance(given.demand_price, UnsetType)
    if isinstance(price, UnsetType) and nothing_asked:
        text = "A price is needed with source `utility`, unless the carbon dioxide of the grid alone is asked for."
        raise refuse("/energy_price", text, code="missing")
    report_unused(given, notes, ("generator", "fuel_price", "bins"))
    hours, power = given.duration.to("h"), average_power(given)
    energy = power * hours
    show_energy(given, notes, power, energy)
    months = max(1, whole_at_least(hours / HOURS_IN_A_BILLING_MONTH))
    mass: Mass | UnsetType = UNSET
    if not isinstance(factor, UnsetType):
        mass = Mass.of(energy * factor, "kg")
        notes.show("m_CO2", "Carbon dioxide", f"E x factor = {energy:.6g} x {factor:.4g}", mass)
    if isinstance(price, UnsetType):
        return EnergyCostResults(
            energy=Energy.of(energy, "kWh"),
            average_power=Power.of(power, "kW"),
            billing_months=months,
            carbon_dioxide_mass=mass,
        )
    cost = energy * price.value
    notes.show("C_E", "Cost of energy", f"E x price = {energy:.6g} x {price.value:.6g}", cost, price.currency)
    if price.value < 0:
        notes.note(
            "negative_price",
            say(
                "The energy price is {price:g} {currency} a kWh, so using more earns money.",
                price=price.value,
                currency=price.currency,
            ),
            why="Some tariffs go below zero at times; over a whole rental period it is more likely a typing error.",
            field="/energy_price",
        )
    demand_cost = _demand_cost(given, notes, months)
    total = cost + (demand_cost or 0.0)
    return EnergyCostResults(
        energy=Energy.of(energy, "kWh"),
        average_power=Power.of(power, "kW"),
        billing_months=months,
        energy_cost=money_of(cost, price.currency, "/energy_price"),
        demand_cost=UNSET if demand_cost is None else money_of(demand_cost, price.currency, "/demand_price"),
        total_cost=money_of(total, price.currency, "/energy_price"),
        carbon_dioxide_mass=mass,
        cost_per_cooling_energy=per_cooling(given, notes, total, price.currency),
    )


def _demand_cost(given: EnergyCostGiven, notes: Notes, months: int) -> float | None:
    price, running = given.demand_price, given.active_power
    if isinstance(price, UnsetType):
        return None
    statement = f"The demand billed is the running power, {running}."
    power = given_or_usual(given.demand_power, running, notes, "demand_is_active_power", statement, basis="derived")
    if price.value < 0:
        notes.note(
            "negative_price",
            say("The demand price is {price:g} {currency} a kW.", price=price.value, currency=price.currency),
            field="/demand_price",
        )
    cost = power.to("kW") * price.value * months
    notes.show(
        "C_D",
        "Cost of demand",
        f"demand x price x months = {power.to('kW'):.6g} x {price.value:.6g} x {months}",
        cost,
        price.currency,
    )
    return cost
