"""What `refrigeration.pull_down` is asked."""

from typing import Annotated

from msgspec import UNSET, UnsetType

from coldwright.contract import Fluid, Given, about
from coldwright.contract.quantities import (
    Duration,
    HeatLossCoefficient,
    Mass,
    Power,
    SpecificHeat,
    Temperature,
    TemperatureDifference,
    Volume,
)
from coldwright_refrigeration.shared.given import WATER


class PullDownLoop(Given, frozen=True, kw_only=True):
    """The loop: all liquid that is cooled, and the metal that cools with it."""

    volume: Annotated[Volume, about("Liquid in the whole loop.", low=1, high=1e8, unit="L")]
    fluid: Annotated[Fluid, about("Liquid in the loop.")] = WATER
    metal_mass: Annotated[Mass, about("Metal that cools with it.", low=0, high=1e4, unit="t")] = Mass(0.0, "kg")
    metal_specific_heat: Annotated[
        SpecificHeat,
        about("Specific heat of that metal; steel by default.", low=0.05, high=5, unit="kJ/kg.K", basis="handbook"),
    ] = SpecificHeat(0.5, "kJ/kg.K")


class PullDownGain(Given, frozen=True, kw_only=True):
    """Heat from the surroundings."""

    coefficient: Annotated[
        HeatLossCoefficient, about("Heat for each degree of ambient over loop.", low=0, high=1e6, unit="W/K")
    ]
    ambient_temperature: Annotated[Temperature, about("Surroundings.", low=-40, high=60, unit="degC")]


class PullDownMachine(Given, frozen=True, kw_only=True):
    """The machines together, in equal stages."""

    capacity: Annotated[Power, about("Of all stages, at the reference temperature.", low=0.1, high=1e5, unit="kW")]
    reference_temperature: (
        Annotated[
            Temperature,
            about("Loop temperature of that capacity; absent: the set point.", low=-40, high=60, unit="degC"),
        ]
        | UnsetType
    ) = UNSET
    capacity_slope: Annotated[
        float,
        about("Relative rise of capacity for each kelvin of warmer loop; 0.015 to 0.03 is usual.", low=0, high=0.1),
    ] = 0.0
    capacity_limit_temperature: (
        Annotated[Temperature, about("Above this the capacity rises no further.", low=-40, high=95, unit="degC")]
        | UnsetType
    ) = UNSET
    stages: Annotated[int, about("Equal stages.", low=1, high=16)] = 1
    maximum_entering_temperature: (
        Annotated[Temperature, about("Warmest liquid that the machine takes.", low=-40, high=95, unit="degC")]
        | UnsetType
    ) = UNSET


class PullDownControl(Given, frozen=True, kw_only=True):
    """Timers and band of the control."""

    first_start_delay: Annotated[Duration, about("Until the first stage starts.", low=0, high=7, unit="d")] = Duration(
        0.0, "min"
    )
    stage_delay: Annotated[
        Duration, about("From one stage to the next.", low=0, high=24, unit="h", basis="common_practice")
    ] = Duration(3.0, "min")
    anti_recycle_time: Annotated[
        Duration, about("Least time from stop to start.", low=0, high=2, unit="h", basis="common_practice")
    ] = Duration(5.0, "min")
    minimum_run_time: Annotated[
        Duration, about("Least time from start to stop.", low=0, high=2, unit="h", basis="common_practice")
    ] = Duration(3.0, "min")
    dead_band: Annotated[
        TemperatureDifference,
        about("Between start and stop of a stage.", low=0.1, high=20, unit="delta_degC", basis="common_practice"),
    ] = TemperatureDifference(4.0, "delta_degF")
    allowed_starts_per_hour: Annotated[
        float, about("Starts of one compressor in an hour; a screw often 4.", low=0.1, high=60, basis="common_practice")
    ] = 6.0


class PullDownGiven(Given, frozen=True, kw_only=True):
    """A loop, what heats it, and the machines that cool it."""

    loop: Annotated[PullDownLoop, about("The loop.")]
    initial_temperature: Annotated[Temperature, about("Loop at the start.", low=-40, high=95, unit="degC")]
    set_point: Annotated[Temperature, about("Loop temperature wanted.", low=-40, high=60, unit="degC")]
    load: Annotated[Power, about("Load while it is pulled down.", low=0, high=1e5, unit="kW")] = Power(0.0, "kW")
    heat_gain: Annotated[PullDownGain, about("Heat from the surroundings; absent: none.")] | UnsetType = UNSET
    machine: Annotated[PullDownMachine, about("The machines.")]
    control: Annotated[PullDownControl, about("Timers and band.")] = PullDownControl()
    low_load: Annotated[Power, about("Least load, to look at cycling.", low=0.001, high=1e5, unit="kW")] | UnsetType = (
        UNSET
    )
    process_tolerance: (
        Annotated[TemperatureDifference, about("Swing that the process bears.", low=0, high=50, unit="delta_degC")]
        | UnsetType
    ) = UNSET
    oil_heated_since: (
        Annotated[Duration, about("How long the oil heaters have been on without a break.", low=0, high=365, unit="d")]
        | UnsetType
    ) = UNSET
    oil_heating_before_start: Annotated[
        Duration,
        about(
            "Oil heating before the first start; the machine's own figure rules.",
            low=0,
            high=7,
            unit="d",
            basis="common_practice",
        ),
    ] = Duration(1.0, "h")
