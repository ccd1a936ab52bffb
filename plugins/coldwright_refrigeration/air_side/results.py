"""What `refrigeration.air_side` answers."""

from typing import Annotated, Literal

from msgspec import UNSET, UnsetType

from coldwright.contract import Results, about
from coldwright.contract.quantities import (
    Density,
    Length,
    MassFlow,
    PressureDifference,
    Temperature,
    TemperatureDifference,
    Velocity,
    VolumeFlow,
)


class AirClearance(Results, frozen=True, kw_only=True):
    """Free space at one side, and what is asked for."""

    side: Annotated[Literal["coil", "control", "facing_coil", "top"], about("Which side, as it was given.")]
    distance: Annotated[Length, about("Free distance.")]
    required: Annotated[Length, about("Asked for by the machine's data, else by common practice.")]
    shortfall: Annotated[Length, about("How far the machine would have to be moved; 0 where there is room enough.")]


class AirSideResults(Results, frozen=True, kw_only=True):
    """The condenser's air, and the ambient temperature that costs as much as all its troubles together."""

    air_density: Annotated[Density, about("Density of the open air at the site.")]
    airflow: Annotated[VolumeFlow, about("Air that the fans move.")]
    airflow_mass: Annotated[MassFlow, about("The same by mass.")]
    air_temperature_rise: Annotated[TemperatureDifference, about("Rise over the coil.")]
    recirculated_fraction: Annotated[float, about("Share of the air that comes round again.")]
    recirculation_temperature_rise: Annotated[TemperatureDifference, about("Air at the coil above the open air.")]
    inlet_temperature: Annotated[Temperature, about("Air at the coil.")]
    gap_velocity: Annotated[Velocity, about("Air in the gap.")] | UnsetType = UNSET
    gap_pressure_drop: Annotated[PressureDifference, about("Pressure lost in the gap.")] | UnsetType = UNSET
    gap_distance_needed: (
        Annotated[
            Length, about("Where the gap takes more than its share of the static pressure: the gap that keeps it.")
        ]
        | UnsetType
    ) = UNSET
    airflow_ratio: Annotated[float, about("Airflow left behind the gap, over the free one.")] | UnsetType = UNSET
    condenser_air_temperature_rise: Annotated[
        TemperatureDifference, about("Ambient rise with the effect of thin or scarce air.")
    ]
    effective_ambient_temperature: Annotated[
        Temperature, about("Ambient temperature at which a free machine would do as badly.")
    ]
    capacity_effect: (
        Annotated[
            float,
            about(
                "Estimated change of capacity, as a fraction; the machine's table knows better. Left out where the loss "
                "would be above half, where no straight line holds."
            ),
        ]
        | UnsetType
    ) = UNSET
    clearances: Annotated[
        tuple[AirClearance, ...], about("Of each side for which something is asked, in the order given.")
    ] = ()
