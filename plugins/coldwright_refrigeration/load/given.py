"""What `refrigeration.load` is asked."""

from enum import StrEnum
from typing import Annotated, Literal

from msgspec import UNSET, UnsetType

from coldwright.contract import Fluid, Given, Text, about
from coldwright.contract.quantities import (
    AbsolutePressure,
    Area,
    Duration,
    HeatFlux,
    HeatTransferCoefficient,
    Length,
    Mass,
    MassFlow,
    Power,
    SpecificEnthalpy,
    SpecificHeat,
    Speed,
    Temperature,
    TemperatureDifference,
    ThermalConductivity,
    VolumeFlow,
)
from coldwright_refrigeration.shared.given import WATER

NO_POWER = Power(0.0, "kW")
FORMER_ACTIVITIES = {
    "seated_theatre_night": "at_rest",
    "seated_very_light_work": "at_desk",
    "moderately_active_office": "counter",
    "standing_light_work": "counter",
    "walking_standing": "on_foot",
    "light_bench_work": "bench",
    "light_machine_work": "machine_tending",
    "heavy_work": "heavy",
    "athletics": "sport",
}
"""Words of version 1.0: taken until the next major, not listed; each gives the same heat as before."""


class Activity(StrEnum):
    """What people do."""

    AT_REST = "at_rest"
    AT_DESK = "at_desk"
    COUNTER = "counter"
    ON_FOOT = "on_foot"
    BENCH = "bench"
    MACHINE_TENDING = "machine_tending"
    HEAVY = "heavy"
    SPORT = "sport"

    @classmethod
    def _missing_(cls, value: object) -> "Activity | None":
        return cls(FORMER_ACTIVITIES[value]) if isinstance(value, str) and value in FORMER_ACTIVITIES else None


Product = Literal["milk", "beer", "apples", "tomatoes", "beef", "fish", "water"]
"""The rows of the two tables; a test holds each pair together."""


class LoadSite(Given, frozen=True, kw_only=True):
    """Where the air comes from. Give one; both only if they agree within 3 %."""

    altitude: Annotated[Length, about("Altitude.", low=-100, high=4000, unit="m")] | UnsetType = UNSET
    barometric_pressure: (
        Annotated[AbsolutePressure, about("Air pressure as measured.", low=55, high=108, unit="kPa")] | UnsetType
    ) = UNSET


class LoadEntry(Given, frozen=True, kw_only=True):
    """What every part of the load has."""

    name: Annotated[Text, about("Name of the part.")]
    diversity: Annotated[float, about("Share of the part that coincides with the others.", low=0, high=1)] = 1.0


class LiquidFlowLoad(LoadEntry, frozen=True, kw_only=True, tag_field="kind", tag="liquid_flow"):
    """A flow of the loop's liquid with its two temperatures, as the machine sees them."""

    flow: Annotated[VolumeFlow, about("Flow at the entering temperature.", above=0, high=20000, unit="L/s")]
    entering_temperature: Annotated[Temperature, about("Into the machine.", low=-60, high=95, unit="degC")]
    leaving_temperature: Annotated[Temperature, about("Out of the machine.", low=-60, high=95, unit="degC")]


class ProductLoad(LoadEntry, frozen=True, kw_only=True, tag_field="kind", tag="product"):
    """A mass cooled, or frozen, in a time. Exactly one of `specific_heat` and `product_name`; given figures prevail."""

    mass: Annotated[Mass, about("Mass cooled in the time.", above=0, high=1e5, unit="t")]
    duration: Annotated[Duration, about("Time that it may take.", low=0.0002, high=60, unit="d")]
    initial_temperature: Annotated[Temperature, about("Before.", low=-60, high=150, unit="degC")]
    final_temperature: Annotated[Temperature, about("After.", low=-60, high=150, unit="degC")]
    specific_heat: (
        Annotated[SpecificHeat, about("Specific heat above freezing.", above=0, high=10, unit="kJ/kg.K")] | UnsetType
    ) = UNSET
    product_name: Annotated[Product, about("A product of the table.")] | UnsetType = UNSET
    freezing_temperature: (
        Annotated[Temperature, about("Freezing point of the product.", low=-60, high=30, unit="degC")] | UnsetType
    ) = UNSET
    latent_heat: Annotated[SpecificEnthalpy, about("Heat of freezing.", low=0, high=500, unit="kJ/kg")] | UnsetType = (
        UNSET
    )
    specific_heat_frozen: (
        Annotated[SpecificHeat, about("Specific heat below freezing.", above=0, high=10, unit="kJ/kg.K")] | UnsetType
    ) = UNSET
    peak_to_mean: Annotated[
        float, about("Greatest over mean heat in the time.", low=1, high=20, basis="common_practice")
    ] = 1.0


class JacketedVesselLoad(LoadEntry, frozen=True, kw_only=True, tag_field="kind", tag="jacketed_vessel"):
    """A stirred batch cooled through its jacket or coil."""

    mass: Annotated[Mass, about("Mass of the batch.", low=0.001, high=1e4, unit="t")]
    specific_heat: Annotated[SpecificHeat, about("Specific heat of the batch.", low=0.1, high=10, unit="kJ/kg.K")]
    metal_mass: Annotated[Mass, about("Mass of vessel and stirrer that cools with it.", low=0, high=1e4, unit="t")] = (
        Mass(0.0, "kg")
    )
    metal_specific_heat: Annotated[
        SpecificHeat, about("Specific heat of that metal.", above=0, high=5, unit="kJ/kg.K", basis="handbook")
    ] = SpecificHeat(0.5, "kJ/kg.K")
    initial_temperature: Annotated[Temperature, about("Of the batch, before.", low=-60, high=200, unit="degC")]
    final_temperature: Annotated[Temperature, about("Of the batch, after.", low=-60, high=200, unit="degC")]
    coolant_temperature: Annotated[Temperature, about("Coolant entering the jacket.", low=-60, high=95, unit="degC")]
    coolant_mass_flow: (
        Annotated[
            MassFlow, about("Coolant flow; absent: coolant at one temperature.", low=0.001, high=2000, unit="kg/s")
        ]
        | UnsetType
    ) = UNSET
    coolant_specific_heat: (
        Annotated[SpecificHeat, about("Of the coolant; absent: of `fluid`.", low=0.1, high=10, unit="kJ/kg.K")]
        | UnsetType
    ) = UNSET
    heat_transfer_coefficient: Annotated[
        HeatTransferCoefficient, about("Overall, batch to coolant.", low=1, high=10000, unit="W/m2.K")
    ]
    area: Annotated[Area, about("Area of the jacket or coil.", low=0.01, high=2000, unit="m2")]
    agitator_power: Annotated[Power, about("Shaft power of the stirrer, all heat.", low=0, high=1000, unit="kW")] = (
        NO_POWER
    )


class AirCoilLoad(LoadEntry, frozen=True, kw_only=True, tag_field="kind", tag="air_coil"):
    """Air cooled, and dried, by a coil. Exactly one of the four figures for the entering moisture."""

    airflow: Annotated[VolumeFlow, about("Air through the coil.", above=0, high=2000, unit="m3/s")]
    airflow_basis: Annotated[
        Literal["actual_at_entering", "standard"],
        about("At the entering state, or standard air of 1.2 kg dry air in a cubic metre."),
    ]
    entering_dry_bulb: Annotated[Temperature, about("Entering dry bulb.", low=-20, high=60, unit="degC")]
    entering_wet_bulb: (
        Annotated[Temperature, about("Entering wet bulb.", low=-20, high=60, unit="degC")] | UnsetType
    ) = UNSET
    entering_relative_humidity: Annotated[float, about("Entering relative humidity.", low=0, high=1)] | UnsetType = (
        UNSET
    )
    entering_dew_point: (
        Annotated[Temperature, about("Entering dew point.", low=-60, high=60, unit="degC")] | UnsetType
    ) = UNSET
    entering_humidity_ratio: (
        Annotated[float, about("Entering kg of vapour for each kg of dry air.", low=0, high=0.2)] | UnsetType
    ) = UNSET
    leaving_dry_bulb: Annotated[Temperature, about("Leaving dry bulb.", low=-20, high=60, unit="degC")]
    leaving_relative_humidity: Annotated[
        float, about("Leaving relative humidity of a wet coil.", above=0, high=1, basis="common_practice")
    ] = 0.95
    fan_power: Annotated[Power, about("Power of the fan.", low=0, high=1000, unit="kW")] = NO_POWER
    fan_in_airstream: Annotated[bool, about("Whether the fan's heat goes into this air.")] = False


class PeopleGroup(Given, frozen=True, kw_only=True):
    """People doing the same."""

    activity: Annotated[Activity, about("What they do.")]
    count: Annotated[int, about("How many.", low=0, high=100000)]


class EnvelopePart(Given, frozen=True, kw_only=True):
    """A wall, roof or window."""

    area: Annotated[Area, about("Area.", low=0, high=1e6, unit="m2")]
    u_value: Annotated[HeatTransferCoefficient, about("Heat through it.", low=0, high=20, unit="W/m2.K")]
    temperature_difference: Annotated[
        TemperatureDifference, about("Outside over inside, sun included.", low=0, high=80, unit="delta_degC")
    ]


class SpaceEstimateLoad(LoadEntry, frozen=True, kw_only=True, tag_field="kind", tag="space_estimate"):
    """A room, roughly: always an estimate."""

    people: Annotated[tuple[PeopleGroup, ...], about("People in the room.", max_length=50)] = ()
    lighting_power: Annotated[Power, about("Lighting.", low=0, high=10000, unit="kW")] = NO_POWER
    equipment_power: Annotated[Power, about("Equipment, as it really draws.", low=0, high=100000, unit="kW")] = NO_POWER
    envelope: Annotated[tuple[EnvelopePart, ...], about("Walls, roof and windows.", max_length=50)] = ()
    infiltration_airflow: Annotated[VolumeFlow, about("Outside air that comes in.", low=0, high=1000, unit="m3/s")] = (
        VolumeFlow(0.0, "m3/s")
    )
    room_temperature: Annotated[
        Temperature, about("Room air.", low=18, high=27, unit="degC", why="The table of people ends at 27 degC")
    ] = Temperature(24.0, "degC")
    room_relative_humidity: Annotated[float, about("Room air.", low=0.1, high=0.9, basis="common_practice")] = 0.5
    outside_temperature: Annotated[
        Temperature, about("Outside air, for infiltration.", low=18, high=60, unit="degC", basis="common_practice")
    ] = Temperature(35.0, "degC")
    outside_relative_humidity: Annotated[
        float, about("Outside air, for infiltration.", low=0, high=1, basis="common_practice")
    ] = 0.4


class HoseLoad(LoadEntry, frozen=True, kw_only=True, tag_field="kind", tag="hose"):
    """Heat that a hose takes up from air and sun."""

    length: Annotated[Length, about("Length of hose, supply and return.", above=0, high=20000, unit="m")]
    outside_diameter: Annotated[Length, about("Outside diameter.", low=1, high=2000, unit="mm")]
    inside_diameter: Annotated[Length, about("Inside diameter.", low=1, high=2000, unit="mm")]
    wall_conductivity: Annotated[
        ThermalConductivity,
        about("Of the wall; the default is rubber, from memory.", low=0.01, high=500, unit="W/m.K", basis="handbook"),
    ] = ThermalConductivity(0.16, "W/m.K")
    liquid_temperature: Annotated[Temperature, about("Liquid in the hose.", low=-60, high=95, unit="degC")]
    air_temperature: Annotated[Temperature, about("Air around it.", low=-40, high=60, unit="degC")]
    wind_speed: Annotated[
        Speed,
        about("Wind across it.", low=0.3, high=40, unit="m/s", basis="common_practice", why="Calmer air is not forced"),
    ] = Speed(3.0, "m/s")
    solar_irradiance: Annotated[
        HeatFlux, about("Sun on it: 0 in the shade, about 900 W/m2 at midsummer noon.", low=0, high=1400, unit="W/m2")
    ] = HeatFlux(0.0, "W/m2")
    solar_absorptance: Annotated[float, about("Share of the sun taken up.", low=0, high=1, basis="common_practice")] = (
        0.9
    )
    emissivity: Annotated[float, about("Of the surface, for radiation.", low=0, high=1, basis="common_practice")] = 0.9
    outside_film_coefficient: (
        Annotated[
            HeatTransferCoefficient, about("Air to surface; absent: worked out.", low=0.5, high=500, unit="W/m2.K")
        ]
        | UnsetType
    ) = UNSET


class PumpLoad(LoadEntry, frozen=True, kw_only=True, tag_field="kind", tag="pump"):
    """Heat of a pump: all its shaft power ends in the closed loop."""

    flow: Annotated[VolumeFlow, about("Flow.", above=0, high=20000, unit="L/s")]
    head: Annotated[Length, about("Head of the pumped liquid.", above=0, high=500, unit="m")]
    pump_efficiency: Annotated[float, about("Of the pump.", low=0.05, high=1, basis="common_practice")] = 0.7
    motor_efficiency: Annotated[float, about("Of the motor.", low=0.3, high=1, basis="common_practice")] = 0.9
    motor_in_liquid: Annotated[bool, about("Whether the motor is cooled by the liquid.")] = False


class DirectLoad(LoadEntry, frozen=True, kw_only=True, tag_field="kind", tag="direct"):
    """A heat that is known."""

    power: Annotated[Power, about("Heat.", low=0, high=1e5, unit="kW")]


AnyLoad = (
    LiquidFlowLoad
    | ProductLoad
    | JacketedVesselLoad
    | AirCoilLoad
    | SpaceEstimateLoad
    | HoseLoad
    | PumpLoad
    | DirectLoad
)


class LoadGiven(Given, frozen=True, kw_only=True):
    """The parts of a load."""

    site: Annotated[LoadSite, about("Where the air comes from; absent: sea level.")] = LoadSite()
    fluid: Annotated[Fluid, about("Liquid in the loop.")] = WATER
    loads: Annotated[tuple[AnyLoad, ...], about("Parts of the load.", min_length=1, max_length=100)]
    temperature_difference: Annotated[
        TemperatureDifference,
        about("Of the loop, for the flow that is needed.", low=2, high=20, unit="delta_degC", basis="common_practice"),
    ] = TemperatureDifference(10.0, "delta_degF")
    margin: Annotated[float, about("Added to the sum, as a fraction.", low=0, high=0.5, basis="common_practice")] = 0.10
    leaving_liquid_temperature: (
        Annotated[
            Temperature,
            about("Leaving the machines, to test what coils can reach.", low=-60, high=60, unit="degC"),
        ]
        | UnsetType
    ) = UNSET
