"""What energy and cost are asked with."""

from typing import Annotated, Literal

from msgspec import UNSET, UnsetType

from coldwright.contract import Given, Money, about
from coldwright.contract.quantities import Duration, Energy, Power
from coldwright_electrical.shared.given import LEAST_LOAD, FuelPointGiven, PracticeField


class EnergyGeneratorGiven(Given, frozen=True, kw_only=True):
    """The generating set that feeds the plant."""

    rated_active_power: Annotated[Power, about("Rated active power of the set.", above=0, high=10000, unit="kW")]
    fuel_curve: (
        Annotated[
            tuple[FuelPointGiven, ...],
            about("The set's own fuel curve, by rising load.", min_length=2, max_length=50),
        ]
        | UnsetType
    ) = UNSET


class LoadBinGiven(Given, frozen=True, kw_only=True):
    """Hours spent at one load of the set."""

    load_fraction: Annotated[float, about("Load as a share of the set's rated active power.", low=LEAST_LOAD, high=1)]
    hours: Annotated[Duration, about("Time spent at this load.", above=0, high=87600, unit="h")]


class EnergyCostGiven(Given, frozen=True, kw_only=True):
    """The load, how long it runs, and what energy or fuel costs."""

    practice: PracticeField
    active_power: Annotated[Power, about("Electrical power when running.", above=0, high=10000, unit="kW")]
    load_factor: (
        Annotated[
            float,
            about(
                "Average power as a share of `active_power`; needed unless `bins` give the load of a generator.",
                above=0,
                high=1,
            ),
        ]
        | UnsetType
    ) = UNSET
    duration: Annotated[Duration, about("Time that the plant runs.", above=0, high=87600, unit="h")]
    source: Annotated[Literal["utility", "generator"], about("Where the power comes from.")]
    energy_price: (
        Annotated[
            Money, about("Price of a kWh from the utility; needed unless `grid_emission_factor` alone is asked about.")
        ]
        | UnsetType
    ) = UNSET
    demand_price: Annotated[Money, about("Price of a kW of demand in a billing month.")] | UnsetType = UNSET
    demand_power: (
        Annotated[Power, about("Demand that is billed; `active_power` where left out.", low=0, high=10000, unit="kW")]
        | UnsetType
    ) = UNSET
    grid_emission_factor: Annotated[float, about("Carbon dioxide of the grid, kg/kWh.", low=0, high=3)] | UnsetType = (
        UNSET
    )
    generator: Annotated[EnergyGeneratorGiven, about("The set; required with source `generator`.")] | UnsetType = UNSET
    fuel_price: Annotated[Money, about("Price of a litre of diesel fuel.")] | UnsetType = UNSET
    bins: Annotated[
        tuple[LoadBinGiven, ...],
        about("Hours by load of the set, for machines that cycle; they replace the average load.", max_length=100),
    ] = ()
    cooling_energy: (
        Annotated[Energy, about("Cooling delivered over the same time.", above=0, high=1e9, unit="kWh")] | UnsetType
    ) = UNSET
