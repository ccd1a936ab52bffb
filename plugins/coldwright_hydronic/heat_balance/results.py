"""What a heat balance answers."""

from typing import Annotated, Literal

from msgspec import UNSET, UnsetType

from coldwright.contract import Results, about
from coldwright.contract.quantities import (
    Density,
    MassFlow,
    Power,
    SpecificHeat,
    Temperature,
    TemperatureDifference,
    VolumeFlow,
)
from coldwright_hydronic.shared.second_opinion import SecondOpinion


class HeatBalanceResults(Results, frozen=True, kw_only=True):
    """The balance, with the flow, heat and difference that belong together."""

    solved_for: Annotated[
        Literal["flow", "heat", "temperature_difference"], about("Which of the three was worked out.")
    ]
    flow: Annotated[VolumeFlow, about("Flow, at the meter.")]
    heat: Annotated[Power, about("Heat taken from the liquid.", us="ton")]
    temperature_difference: Annotated[TemperatureDifference, about("Entering less leaving.")]
    entering_temperature: Annotated[Temperature, about("Liquid entering.")]
    leaving_temperature: Annotated[Temperature, about("Liquid leaving.")]
    mass_flow: Annotated[MassFlow, about("Mass flow rate.")]
    density: Annotated[Density, about("Density at the mean temperature.")]
    specific_heat: Annotated[SpecificHeat, about("Specific heat at the mean temperature.")]
    us_constant: Annotated[float, about("Btu/h for each gpm and degF; the rule of thumb takes 500.")]
    rule_heat: Annotated[Power, about("Heat by the rule of thumb, 500 gpm degF.", us="ton")]
    rule_error_fraction: Annotated[
        float, about("Rule of thumb over the balance, less one; positive promises too much.")
    ]
    flow_per_capacity: Annotated[float, about("Flow for the heat, gpm per ton.")]
    uncertainty_fraction: Annotated[float, about("Relative uncertainty of a heat from these readings.")]
    second_opinion: Annotated[SecondOpinion, about("The inhibited fluid at the mean temperature.")] | UnsetType = UNSET
