"""Energy, fuel, money and carbon dioxide."""

from typing import Annotated

from msgspec import UNSET, UnsetType

from coldwright.contract import Money, Results, about
from coldwright.contract.quantities import Energy, FuelRate, Mass, Power, Volume


class EnergyCostResults(Results, frozen=True, kw_only=True):
    """Energy and what it costs. Money is not rounded."""

    energy: Annotated[Energy, about("Electrical energy used.")]
    average_power: Annotated[Power, about("Average electrical power.")]
    billing_months: Annotated[int, about("Billing months touched, of 730 h each.")] | UnsetType = UNSET
    energy_cost: Annotated[Money, about("Cost of the energy from the utility.")] | UnsetType = UNSET
    demand_cost: Annotated[Money, about("Cost of the demand.")] | UnsetType = UNSET
    load_fraction: Annotated[float, about("Average load as a share of the set's rating.")] | UnsetType = UNSET
    fuel_rate: Annotated[FuelRate, about("Average fuel burnt.")] | UnsetType = UNSET
    fuel_volume: Annotated[Volume, about("Fuel burnt in all.")] | UnsetType = UNSET
    fuel_cost: Annotated[Money, about("Cost of the fuel.")] | UnsetType = UNSET
    total_cost: Annotated[Money, about("Energy and demand, or fuel.")] | UnsetType = UNSET
    carbon_dioxide_mass: Annotated[Mass, about("Carbon dioxide set free.")] | UnsetType = UNSET
    cost_per_cooling_energy: Annotated[Money, about("Total cost for each kWh of cooling.")] | UnsetType = UNSET
