"""What a fill is asked with: contents, tap, vessel, heights, cycling."""

from typing import Annotated, Literal

from msgspec import UNSET, UnsetType

from coldwright.contract import Fluid, Given, Text, about
from coldwright.contract.quantities import (
    AbsolutePressure,
    Duration,
    GaugePressure,
    Length,
    Power,
    PressureDifference,
    Temperature,
    TemperatureDifference,
    Volume,
    VolumeFlow,
    VolumePerPower,
)
from coldwright_hydronic.shared.given import Preventer


class FillLine(Given, frozen=True, kw_only=True):
    """Hose or pipe that is filled."""

    name: Annotated[Text, about("Name.")]
    inner_diameter: Annotated[Length, about("Bore.", low=5, high=610, unit="mm")]
    length: Annotated[Length, about("Length.", low=0.001, high=5000, unit="m")]
    parallel_runs: Annotated[int, about("Runs side by side.", low=1, high=50)] = 1
    working_pressure: (
        Annotated[GaugePressure, about("Working pressure.", above=0, high=20_000, unit="kPa")] | UnsetType
    ) = UNSET


class FillVessel(Given, frozen=True, kw_only=True):
    """Machine, coil, tank or site pipe that is filled."""

    name: Annotated[Text, about("Name.")]
    volume: Annotated[Volume, about("Liquid in one of them.", low=0.001, high=5e6, unit="L")]
    count: Annotated[int, about("How many.", low=1, high=500)] = 1
    working_pressure: (
        Annotated[GaugePressure, about("Working pressure.", above=0, high=20_000, unit="kPa")] | UnsetType
    ) = UNSET


class Tap(Given, frozen=True, kw_only=True):
    """The supply at the fill point."""

    static_pressure: Annotated[GaugePressure, about("Pressure, no flow.", low=0, high=2000, unit="kPa")] | UnsetType = (
        UNSET
    )
    flow: Annotated[VolumeFlow, about("Flow into the vented loop.", low=0.0001, high=500, unit="L/s")] | UnsetType = (
        UNSET
    )
    backflow_preventer: Annotated[Preventer, about("Protection between supply and loop.")] | UnsetType = UNSET
    backflow_pressure_drop: (
        Annotated[
            PressureDifference,
            about("Pressure lost through it; by common practice unless given.", low=0, high=500, unit="kPa"),
        ]
        | UnsetType
    ) = UNSET


class Meter(Given, frozen=True, kw_only=True):
    """Water meter readings."""

    start: Annotated[Volume, about("Before filling.", low=0, high=1e12, unit="L")]
    end: Annotated[Volume, about("After filling.", low=0, high=1e12, unit="L")]


class Expansion(Given, frozen=True, kw_only=True):
    """Range of temperature and the vessel that takes the expansion. Pressures at the vessel, pump off."""

    lowest_temperature: Annotated[Temperature, about("Coldest the loop gets.", low=-60, high=95, unit="degC")]
    highest_temperature: Annotated[
        Temperature, about("Warmest: hose in the sun, machine off.", low=-59, high=95, unit="degC",
                           basis="common_practice")
    ] = Temperature(40.0, "degC")  # fmt: skip
    linear_expansion_coefficient: Annotated[
        float,
        about("Of the pipe, 1/K: steel 11.7e-6, copper 17.1e-6; 0 for hose, on the safe side.", low=0, high=3e-4,
              basis="derived", references=("ashrae_expansion_vessel",)),
    ] = 0.0  # fmt: skip
    vessel_type: Annotated[
        Literal["diaphragm", "air_water"], about("With a diaphragm, or plain with its air from the atmosphere.")
    ] = "diaphragm"
    minimum_pressure: (
        Annotated[GaugePressure, about("Least pressure at the vessel: its precharge.", low=0, high=5000, unit="kPa")]
        | UnsetType
    ) = UNSET
    maximum_pressure: (
        Annotated[GaugePressure, about("Greatest pressure at the vessel.", low=0, high=5000, unit="kPa")] | UnsetType
    ) = UNSET


class Cycling(Given, frozen=True, kw_only=True):
    """What keeps the last step of the machine from starting too often."""

    step_capacity: Annotated[Power, about("Capacity of the smallest step.", above=0, high=1e5, unit="kW")]
    minimum_load: Annotated[Power, about("Least load on it.", low=0, high=1e5, unit="kW", basis="derived")] = Power(
        0.0, "kW"
    )
    minimum_run_time: (
        Annotated[
            Duration, about("Least time on; 5 minutes where no other rule is given.", above=0, high=120, unit="min")
        ]
        | UnsetType
    ) = UNSET
    minimum_off_time: Annotated[Duration, about("Least time off.", above=0, high=120, unit="min")] | UnsetType = UNSET
    dead_band: Annotated[
        TemperatureDifference, about("Band of the control.", low=0.01, high=20, unit="delta_degC", basis="common_practice")
    ] = TemperatureDifference(2.0, "delta_degC")  # fmt: skip
    starts_per_hour: Annotated[float, about("Most starts in an hour.", low=0.1, high=60)] | UnsetType = UNSET
    effective_fraction: Annotated[
        float, about("Part of the loop's volume that always circulates and mixes.", low=0, high=1, basis="derived")
    ] = 1.0
    rule_volume_per_capacity: (
        Annotated[
            VolumePerPower,
            about("Rule of thumb: 3 to 6 gal/ton comfort, 6 to 10 process.", above=0, high=200, unit="L/kW"),
        ]
        | UnsetType
    ) = UNSET


class FillGiven(Given, frozen=True, kw_only=True):
    """The loop, its heights, the supply and what is to be checked. Each result needs only its own fields."""

    fluid: Annotated[Fluid, about("Liquid, with its temperature when filled.")]
    lines: Annotated[tuple[FillLine, ...], about("Hoses and pipes.", max_length=200)] = ()
    vessels: Annotated[tuple[FillVessel, ...], about("Machines, coils, tanks, site pipe.", max_length=200)] = ()
    high_point_elevation: (
        Annotated[Length, about("Height of the highest point.", low=-300, high=300, unit="m")] | UnsetType
    ) = UNSET
    fill_point_elevation: Annotated[
        Length, about("Height of the fill point and its gauge.", low=-300, high=300, unit="m", basis="derived")
    ] = Length(0.0, "m")
    machine_elevation: (
        Annotated[Length, about("Height of the machine and its pump; the fill point's unless given.", low=-300, high=300,
                                unit="m")]
        | UnsetType
    ) = UNSET  # fmt: skip
    relief_valve_elevation: (
        Annotated[Length, about("Height of the relief valve; the fill point's unless given.", low=-300, high=300,
                                unit="m")]
        | UnsetType
    ) = UNSET  # fmt: skip
    vessel_elevation: (
        Annotated[Length, about("Height of the expansion vessel; the fill point's unless given.", low=-300, high=300,
                                unit="m")]
        | UnsetType
    ) = UNSET  # fmt: skip
    minimum_top_pressure: Annotated[
        GaugePressure, about("Least pressure wanted at the top.", low=0, high=200, unit="kPa", basis="common_practice")
    ] = GaugePressure(35.0, "kPa")
    fill_pressure: (
        Annotated[
            GaugePressure, about("Pressure at the fill point, pump off: meant or read.", low=-90, high=5000, unit="kPa")
        ]
        | UnsetType
    ) = UNSET
    pump_suction_pressure_minimum: (
        Annotated[GaugePressure, about("Least pressure at the pump's suction.", low=-90, high=2000, unit="kPa")]
        | UnsetType
    ) = UNSET
    relief_valve_setting: (
        Annotated[GaugePressure, about("Setting of the relief valve.", above=0, high=5000, unit="kPa")] | UnsetType
    ) = UNSET
    relief_margin_fraction: Annotated[
        float, about("Margin kept below the setting.", low=0, high=0.9, basis="common_practice")
    ] = 0.10
    pump_rise_at_relief: Annotated[
        PressureDifference, about("What the running pump adds at the relief valve.", low=0, high=5000, unit="kPa",
                                  basis="derived")
    ] = PressureDifference(0.0, "kPa")  # fmt: skip
    can_be_shut_in: Annotated[bool, about("Both ends of a full length can be shut at once.")] | UnsetType = UNSET
    treated: Annotated[bool, about("The water holds inhibitor or biocide, or once did.")] = False
    atmospheric_pressure: Annotated[AbsolutePressure, about("Atmosphere.", low=60, high=110, unit="kPa")] = (
        AbsolutePressure(101.325, "kPa")
    )
    tap: Annotated[Tap, about("Supply.")] | UnsetType = UNSET
    meter: Annotated[Meter, about("Meter readings.")] | UnsetType = UNSET
    expansion: Annotated[Expansion, about("Expansion and its vessel.")] | UnsetType = UNSET
    cycling: Annotated[Cycling, about("Least volume for the control.")] | UnsetType = UNSET
