"""What `refrigeration.air_side` is asked."""

from typing import Annotated, Literal

from msgspec import UNSET, UnsetType

from coldwright.contract import Given, about
from coldwright.contract.quantities import (
    AbsolutePressure,
    Length,
    Power,
    PressureDifference,
    Temperature,
    TemperatureDifference,
    VolumeFlow,
)
from coldwright_refrigeration.shared.references import PRACTICE

_PRACTICE = (PRACTICE.id,)


class ClearanceGiven(Given, frozen=True, kw_only=True):
    """Free space at one side of the machine."""

    side: Annotated[
        Literal["coil", "control", "facing_coil", "top"],
        about("`coil` to a wall, `facing_coil` to the coil of another machine, `top` means that something is above."),
    ]
    distance: Annotated[Length, about("Free distance.", low=0, high=100, unit="m")]
    required: (
        Annotated[Length, about("What the machine's data ask for; else common practice.", low=0, high=100, unit="m")]
        | UnsetType
    ) = UNSET
    ducted: Annotated[bool, about("The fan air is led away by a duct (`top`).")] = False


class GapGiven(Given, frozen=True, kw_only=True):
    """A gap between coil and wall through which the air must come."""

    airflow_through: Annotated[VolumeFlow, about("Air that comes through the gap.", above=0, high=1000, unit="m3/s")]
    length: Annotated[Length, about("Length of the gap along the coil.", low=0.1, high=100, unit="m")]
    distance: Annotated[Length, about("Width of the gap, coil to wall.", low=0.05, high=20, unit="m")]
    fan_static: Annotated[
        PressureDifference,
        about(
            "Static pressure that the fans make at their rated flow.",
            low=10,
            high=500,
            unit="Pa",
            basis="common_practice",
            references=_PRACTICE,
        ),
    ] = PressureDifference(60.0, "Pa")


class AirSideGiven(Given, frozen=True, kw_only=True):
    """A condenser's heat, its air and what stands around it."""

    heat_rejected: Annotated[Power, about("Heat given to the air.", low=0.1, high=100_000, unit="kW")] | UnsetType = (
        UNSET
    )
    capacity: (
        Annotated[Power, about("Cooling; with `power` in place of `heat_rejected`.", low=0.1, high=100_000, unit="kW")]
        | UnsetType
    ) = UNSET
    power: (
        Annotated[Power, about("Power of the compressors; with `capacity`.", low=0, high=50_000, unit="kW")] | UnsetType
    ) = UNSET
    airflow: (
        Annotated[VolumeFlow, about("Air that the fans move, at ambient density.", low=0.01, high=10_000, unit="m3/s")]
        | UnsetType
    ) = UNSET
    air_temperature_rise: (
        Annotated[
            TemperatureDifference,
            about(
                "Rise over the coil, in place of `airflow`; 10 K when neither is given.",
                low=2,
                high=60,
                unit="delta_degC",
            ),
        ]
        | UnsetType
    ) = UNSET
    ambient_temperature: Annotated[Temperature, about("Dry bulb of the open air.", low=-40, high=60, unit="degC")]
    relative_humidity: Annotated[float, about("Relative humidity of the open air; 0 is dry.", low=0, high=1)] = 0.0
    altitude: Annotated[Length, about("Height above sea level.", low=-100, high=4000, unit="m")] | UnsetType = UNSET
    barometric_pressure: (
        Annotated[AbsolutePressure, about("Air pressure at the site.", low=55, high=108, unit="kPa")] | UnsetType
    ) = UNSET
    recirculated_fraction: (
        Annotated[
            float,
            about("Share of the air at the coil that has been through it already.", low=0, below=0.6),
        ]
        | UnsetType
    ) = UNSET
    measured_inlet_temperature: (
        Annotated[
            Temperature,
            about("Air at the coil, in place of `recirculated_fraction`.", low=-41, high=120, unit="degC"),
        ]
        | UnsetType
    ) = UNSET
    clearances: Annotated[tuple[ClearanceGiven, ...], about("Free space around the machine.", max_length=50)] = ()
    gap: Annotated[GapGiven, about("The narrowest gap that feeds a coil.")] | UnsetType = UNSET
    condensing_over_ambient: Annotated[
        TemperatureDifference,
        about(
            "Condensing temperature above the air at rating.",
            low=2,
            high=60,
            unit="delta_degC",
            basis="common_practice",
            references=_PRACTICE,
        ),
    ] = TemperatureDifference(25.0, "delta_degF")
    condenser_ntu: Annotated[
        float,
        about("Transfer units of the coil at rating.", low=0.2, high=5, basis="common_practice", references=_PRACTICE),
    ] = 1.2
    air_film_exponent: Annotated[
        float,
        about(
            "Exponent of the air film with mass flow.", low=0.2, high=0.9, basis="common_practice", references=_PRACTICE
        ),
    ] = 0.6
    rated_altitude: Annotated[
        Length, about("Height above sea level that the rating stands for.", low=-100, high=4000, unit="m")
    ] = Length(0.0, "m")
