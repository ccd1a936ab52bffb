"""What antifreeze answers."""

from typing import Annotated

from msgspec import UNSET, UnsetType

from coldwright.contract import Results, about
from coldwright.contract.quantities import Density, DynamicViscosity, SpecificHeat, Temperature, Volume
from coldwright_hydronic.shared.given import Preventer


class AntifreezeResults(Results, frozen=True, kw_only=True):
    """Strength, volumes and cost. Properties are left out where the liquid would be frozen."""

    mass_fraction: Annotated[float, about("Strength to reach, by mass.")]
    volume_fraction: Annotated[float, about("The same, pure glycol by volume.")]
    freezing_temperature: Annotated[Temperature, about("Freezing point of that strength.")]
    ice_fraction_at_lowest: Annotated[
        float, about("Ice by mass at the lowest temperature less the margin; 0 with freeze protection.")
    ]
    concentrate_volume: Annotated[Volume, about("Concentrate for a new fill of the loop.")]
    water_volume: Annotated[Volume, about("Water for a new fill of the loop.")]
    drain_volume_batch: (
        Annotated[Volume, about("To drain once, then make up: with concentrate if too weak, with water if too strong.")]
        | UnsetType
    ) = UNSET
    drain_volume_bleed: (
        Annotated[Volume, about("To feed and bleed at once while the loop is mixed; more than in one batch.")]
        | UnsetType
    ) = UNSET
    density: Annotated[Density, about("Density at the fluid temperature.")] | UnsetType = UNSET
    specific_heat: Annotated[SpecificHeat, about("Specific heat at the fluid temperature.")] | UnsetType = UNSET
    dynamic_viscosity: Annotated[DynamicViscosity, about("Viscosity at the fluid temperature.")] | UnsetType = UNSET
    flow_ratio: (
        Annotated[float, about("Flow for the same heat and temperature difference, over that of water.")] | UnsetType
    ) = UNSET
    pressure_drop_ratio_same_flow: (
        Annotated[float, about("Pressure drop in the reference line at the same flow, over that of water.")] | UnsetType
    ) = UNSET
    pressure_drop_ratio_same_heat: (
        Annotated[float, about("The same at the flow that carries the same heat.")] | UnsetType
    ) = UNSET
    lowest_leaving_temperature: Annotated[
        Temperature, about("Lowest leaving temperature that this strength allows: freezing, margin and approach.")
    ]
    second_opinion: (
        Annotated[
            Temperature, about("Freezing point of an inhibited glycol of this volume fraction, by the fitted tables.")
        ]
        | UnsetType
    ) = UNSET
    proposed_backflow_preventer: Annotated[Preventer, about("Least backflow protection proposed for the fill.")]
