"""What air removal is asked with."""

from typing import Annotated

from msgspec import UNSET, UnsetType

from coldwright.contract import Fluid, Given, Text, about
from coldwright.contract.quantities import AbsolutePressure, GaugePressure, Length, Temperature, Volume, VolumeFlow


class FallingLine(Given, frozen=True, kw_only=True):
    """A line that air has to be driven down."""

    name: Annotated[Text, about("Name.")]
    inner_diameter: Annotated[Length, about("Bore.", low=12, high=610, unit="mm")]
    slope_angle: Annotated[
        float, about("Degrees below the horizontal, in the direction of flow; 90 falls straight.", low=0, high=90)
    ]
    flow: Annotated[VolumeFlow, about("Flow of all its runs together.", low=0, high=3000, unit="L/s")]
    parallel_runs: Annotated[int, about("Runs side by side.", low=1, high=12)] = 1


class TopUp(Given, frozen=True, kw_only=True):
    """Water pressed into the closed loop, and what the gauge did. With no expansion vessel open to the loop."""

    volume_added: Annotated[Volume, about("Water added.", above=0, high=1e6, unit="L")]
    pressure_before: Annotated[GaugePressure, about("Gauge before.", low=-90, high=2000, unit="kPa")]
    pressure_after: Annotated[GaugePressure, about("Gauge after.", low=-90, high=2000, unit="kPa")]


class AirRemovalGiven(Given, frozen=True, kw_only=True):
    """Lines, filling, running and topping up. Each result needs only its own fields."""

    fluid: Annotated[Fluid, about("Liquid, with its temperature.")]
    lines: Annotated[tuple[FallingLine, ...], about("Lines that fall in the direction of flow.", max_length=200)] = ()
    loop_volume: Annotated[Volume, about("Volume of the loop.", low=0.001, high=5e6, unit="L")] | UnsetType = UNSET
    supply_temperature: (
        Annotated[
            Temperature,
            about("Temperature of the fill water.", low=0, high=60, unit="degC", why="Range of the solubilities"),
        ]
        | UnsetType
    ) = UNSET
    supply_absolute_pressure: Annotated[
        AbsolutePressure,
        about("Pressure at which the fill water met air.", above=0, high=1000, unit="kPa", basis="common_practice"),
    ] = AbsolutePressure(101.325, "kPa")
    operating_temperature: (
        Annotated[
            Temperature,
            about("Warmest temperature in the loop.", low=0, high=60, unit="degC", why="Range of the solubilities"),
        ]
        | UnsetType
    ) = UNSET
    operating_gauge_pressure: (
        Annotated[
            GaugePressure,
            about("Pressure at the high point when running.", low=-100, high=900, unit="kPa",
                  why="The solubilities hold below 10 bar absolute"),
        ]
        | UnsetType
    ) = UNSET  # fmt: skip
    reference_gauge_pressure: (
        Annotated[GaugePressure, about("Gauge reading, pump off.", low=-90, high=5000, unit="kPa")] | UnsetType
    ) = UNSET
    reference_elevation: Annotated[
        Length, about("Height of that gauge.", low=-300, high=300, unit="m", basis="derived")
    ] = Length(0.0, "m")
    high_point_elevation: (
        Annotated[Length, about("Height of the highest point, same datum.", low=-300, high=300, unit="m")] | UnsetType
    ) = UNSET
    minimum_top_pressure: Annotated[
        GaugePressure, about("Least pressure wanted at the top.", low=0, high=200, unit="kPa", basis="common_practice")
    ] = GaugePressure(35.0, "kPa")
    atmospheric_pressure: Annotated[AbsolutePressure, about("Atmosphere.", low=60, high=110, unit="kPa")] = (
        AbsolutePressure(101.325, "kPa")
    )
    top_up: Annotated[TopUp, about("A top-up, for the air that is still in.")] | UnsetType = UNSET
    flush_volumes: Annotated[
        float, about("Loop volumes pushed to drain in the purge.", low=0, high=20, basis="common_practice")
    ] = 1.0
