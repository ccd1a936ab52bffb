"""What a feeder is asked with: load, device, run and cable."""

from typing import Annotated, Literal

from msgspec import UNSET, UnsetType

from coldwright.contract import Given, Text, about
from coldwright.contract.quantities import Current, Impedance, ImpedancePerLength, Length, Temperature
from coldwright_electrical.shared import references as ref
from coldwright_electrical.shared.given import SIZE_PATTERN, PracticeField, SystemFrequency, SystemVoltage

Construction = Literal["single_conductor_portable", "multi_conductor_portable", "wire_in_raceway"]

Arrangement = Literal["bundled_per_set", "flat_touching", "spaced", "conductors_of_a_phase_grouped"]

Ends = Literal["connectors", "tails_to_lugs", "mixed"]

TemperatureClass = Literal[60, 75, 90]


class FeederGiven(Given, frozen=True, kw_only=True):
    """Load, device, run and cable of one feeder. Copper conductors only."""

    practice: PracticeField
    system_voltage: SystemVoltage
    frequency: SystemFrequency
    load_current: Annotated[Current, about("Running current of the load.", low=1, high=4000, unit="A")]
    minimum_ampacity: Annotated[
        Current,
        about(
            "Least ampacity of the circuit, from `electrical.service`; under nec not below the load.",
            above=0,
            high=6000,
            unit="A",
        ),
    ]
    overcurrent_device: Annotated[
        Current, about("Rating of the overcurrent device before the cable.", above=0, high=6000, unit="A")
    ]
    length: Annotated[
        Length,
        about("Length of the run, one way.", above=0, high=600, unit="m", why="Longer runs are no temporary feeders"),
    ]
    power_factor: Annotated[
        float,
        about(
            "Power factor of the running load; 0.8 is taken by some where it is unknown.",
            low=0.3,
            high=1,
            basis="common_practice",
            references=(ref.UFC_3_520_01.id,),
        ),
    ] = 0.85
    starting_current: (
        Annotated[Current, about("Current of the largest start.", above=0, high=30000, unit="A")] | UnsetType
    ) = UNSET
    starting_power_factor: Annotated[
        float, about("Power factor of the start.", low=0.1, high=0.8, basis="common_practice")
    ] = 0.35
    source_resistance: (
        Annotated[Impedance, about("Resistance of the source, per phase.", low=0, high=10, unit="ohm")] | UnsetType
    ) = UNSET
    source_reactance: (
        Annotated[Impedance, about("Reactance of the source, per phase.", low=0, high=10, unit="ohm")] | UnsetType
    ) = UNSET
    ambient_temperature: Annotated[
        Temperature,
        about(
            "Air around the cable; up to 59 degC (138 degF), for cable of the 90 degC (194 degF) class up to 70 degC (158 degF).",
            low=-40,
            high=70,
            unit="degC",
            basis="common_practice",
        ),
    ] = Temperature(40.0, "degC")
    construction: Annotated[Construction, about("What the cable is.")] = "single_conductor_portable"
    conductor_material: Annotated[
        Literal["copper"], about("Metal of the conductors; the method holds for copper only.")
    ] = "copper"
    conductor_size: (
        Annotated[
            str,
            about(
                "Size to check instead of choosing one: `4/0 AWG`, `250 kcmil`, `120 mm2`.",
                pattern=SIZE_PATTERN,
                max_length=20,
                examples=["4/0 AWG", "120 mm2"],
            ),
        ]
        | UnsetType
    ) = UNSET
    sets: Annotated[int, about("Parallel sets, instead of choosing their number.", low=1, high=10)] | UnsetType = UNSET
    insulation_temperature: (
        Annotated[TemperatureClass, about("Class of the insulation in degC; 90 under nec, 60 under iec.")] | UnsetType
    ) = UNSET
    termination_temperature: (
        Annotated[
            TemperatureClass,
            about("Class of the terminations in degC; 60 up to a device of 100 A, 75 above, unless they are marked."),
        ]
        | UnsetType
    ) = UNSET
    termination_basis: Annotated[
        Literal["table_310_16", "connector_rating"],
        about(
            "What limits the ends: the table's ampacity at the terminations' temperature, or the rating of listed "
            "connectors at both ends.",
            basis="standard",
            references=(ref.NEC_110_14.id,),
        ),
    ] = "table_310_16"
    connector_rating: (
        Annotated[Current, about("Rated current of the connectors at both ends.", above=0, high=1000, unit="A")]
        | UnsetType
    ) = UNSET
    current_carrying_conductors: Annotated[
        int,
        about("Conductors of a bundle or cable that carry current; a neutral only if it does.", low=1, high=60),
    ] = 3
    neutral: Annotated[bool, about("Whether a neutral is laid.")] = False
    arrangement: Annotated[Arrangement, about("How single conductors are laid.", basis="common_practice")] = (
        "bundled_per_set"
    )
    resistance_per_length: (
        Annotated[
            ImpedancePerLength,
            about("Resistance of the conductor, instead of the table's.", low=0.001, high=50, unit="ohm/km"),
        ]
        | UnsetType
    ) = UNSET
    reactance_per_length: (
        Annotated[
            ImpedancePerLength,
            about("Reactance of the conductor as laid, instead of the table's.", low=0, high=5, unit="ohm/km"),
        ]
        | UnsetType
    ) = UNSET
    ampacity_each: (
        Annotated[
            Current,
            about(
                "What one conductor of the size given carries as it lies on site, instead of the table's; factors are "
                "not applied to it.",
                above=0,
                high=2000,
                unit="A",
            ),
        ]
        | UnsetType
    ) = UNSET
    ampacity_source: Annotated[Text, about("Where `ampacity_each` comes from.")] | UnsetType = UNSET
    allowed_drop_running_fraction: (
        Annotated[float, about("Allowed running drop; 0.03 under nec, 0.05 under iec.", low=0.005, high=0.1)]
        | UnsetType
    ) = UNSET
    allowed_drop_starting_fraction: Annotated[
        float, about("Allowed drop during the start.", low=0.05, high=0.3, basis="common_practice")
    ] = 0.15
    section_length: (
        Annotated[
            Length, about("Length of one cable section; 50 ft under nec, 15 m under iec.", low=1, high=600, unit="m")
        ]
        | UnsetType
    ) = UNSET
    ends: Annotated[
        Ends, about("Ends of the run: connectors at both, lugs at both, or one of each.", basis="common_practice")
    ] = "connectors"
    crossings: Annotated[int, about("Places where traffic crosses the cable.", low=0, high=100)] = 0
    crossing_width: Annotated[
        Length, about("Width of a crossing.", low=0.1, high=100, unit="m", basis="common_practice")
    ] = Length(4.0, "m")
