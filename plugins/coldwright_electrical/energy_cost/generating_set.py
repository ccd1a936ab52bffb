"""Fuel and its carbon dioxide, from a generating set."""

from msgspec import UNSET, UnsetType

from coldwright.contract import Allowed, Money, Notes, refuse, tidy
from coldwright.contract.quantities import Energy, FuelRate, Mass, Power, Volume
from coldwright_basis.compare import above, below
from coldwright_electrical.energy_cost.amounts import EMISSION, average_power, money_of, per_cooling, show_energy
from coldwright_electrical.energy_cost.findings import compare_bins, judge_set, report_unused
from coldwright_electrical.energy_cost.given import EnergyCostGiven, EnergyGeneratorGiven
from coldwright_electrical.energy_cost.results import EnergyCostResults
from coldwright_electrical.shared.fuel import FUEL_CHART, fuel_rate
from coldwright_electrical.shared.given import LEAST_LOAD


def from_generating_set(given: EnergyCostGiven, notes: Notes) -> EnergyCostResults:
    """Fuel, its cost and its carbon dioxide; refused without a set."""
    machine = given.generator
    if isinstance(machine, UnsetType):
        raise refuse("/generator", "The set is needed with source `generator`.", code="missing")
    report_unused(given, notes, ("energy_price", "demand_price", "demand_power", "grid_emission_factor"))
    rated = machine.rated_active_power.to("kW")
    power, volume = _fuel_used(given, notes, machine, rated)
    hours = given.duration.to("h")
    energy, load, rate = power * hours, power / rated, volume / hours
    notes.show("V", "Fuel in all", f"rate x t = {rate:.6g} x {hours:.6g}", volume, "L")
    per_litre: float = EMISSION.rows["kg_per_litre"]
    mass = volume * per_litre
    notes.show("m_CO2", "Carbon dioxide", f"V x {per_litre} kg/L = {volume:.6g} x {per_litre}", mass, "kg")
    judge_set(given, notes, rated, load)
    cost: float | None = None
    currency = ""
    if not isinstance(given.fuel_price, UnsetType):
        currency = given.fuel_price.currency
        cost = volume * given.fuel_price.value
        notes.show("C_F", "Cost of fuel", f"V x price = {volume:.6g} x {given.fuel_price.value:.6g}", cost, currency)
    money: Money | UnsetType = UNSET if cost is None else money_of(cost, currency, "/fuel_price")
    return EnergyCostResults(
        energy=Energy.of(energy, "kWh"),
        average_power=Power.of(power, "kW"),
        load_fraction=tidy(load),
        fuel_rate=FuelRate.of(rate, "L/h"),
        fuel_volume=Volume.of(volume, "L"),
        fuel_cost=money,
        total_cost=money,
        carbon_dioxide_mass=Mass.of(mass, "kg"),
        cost_per_cooling_energy=UNSET if cost is None else per_cooling(given, notes, cost, currency),
    )


def _fuel_used(
    given: EnergyCostGiven, notes: Notes, machine: EnergyGeneratorGiven, rated: float
) -> tuple[float, float]:
    """Average kW over the duration, and litres in all."""
    hours = given.duration.to("h")
    if not given.bins:
        power = average_power(given)
        rate = _rate(rated, power / rated, machine, "/active_power")
        show_energy(given, notes, power, power * hours)
        notes.show("q", "Fuel rate at the average load", f"load {power / rated:.4g} of {rated:.6g} kW", rate, "L/h")
        return power, rate * hours
    energy = volume = 0.0
    for index, entry in enumerate(given.bins):
        time = entry.hours.to("h")
        rate = _rate(rated, entry.load_fraction, machine, f"/bins/{index}/load_fraction")
        energy += entry.load_fraction * rated * time
        volume += rate * time
        notes.show(
            f"V_{index + 1}",
            "Fuel in this bin",
            f"{rate:.6g} L/h x {time:.6g} h, at load {entry.load_fraction:.4g}",
            rate * time,
            "L",
        )
    notes.show("E", "energy", "sum of load x rating x hours over the bins", energy, "kWh")
    compare_bins(given, notes, energy)
    return energy / hours, volume


def _rate(rated: float, load: float, machine: EnergyGeneratorGiven, pointer: str) -> float:
    rate = fuel_rate(rated, load, machine.fuel_curve)
    if rate is not None:
        return rate
    if below(load, LEAST_LOAD) or above(load, 1):
        raise refuse(
            pointer,
            f"The set's load would be {load:.4g} of its rating, outside the method's range.",
            value=tidy(load),
            allowed=Allowed(minimum=LEAST_LOAD, maximum=1),
            why="Fuel curves say nothing of an idling or an overloaded engine.",
        )
    if isinstance(machine.fuel_curve, UnsetType):
        sizes = [row[0] for row in FUEL_CHART.rows]
        raise refuse(
            "/generator/rated_active_power",
            f"The chart of typical sets does not reach {rated:g} kW: give the set's own fuel_curve.",
            value=machine.rated_active_power,
            allowed=Allowed(minimum=sizes[0], maximum=sizes[-1], unit="kW"),
        )
    raise refuse(
        "/generator/fuel_curve",
        f"The fuel curve does not reach a load of {load:.4g}.",
        why="Above the last point nothing is known, and below the first the line may not fall to zero.",
    )
