"""What `electrical.fault_current` is asked."""

from typing import Annotated, Literal

from msgspec import UNSET, UnsetType

from coldwright.contract import Given, about
from coldwright.contract.quantities import (
    ApparentPower,
    Current,
    Frequency,
    Impedance,
    ImpedancePerLength,
    Length,
    Temperature,
)
from coldwright_electrical.shared.given import SIZE_PATTERN, PracticeField, ResidualCurrent, SystemVoltage


class FaultSourceGiven(Given, frozen=True, kw_only=True):
    """Where the fault current comes from. Which fields are needed follows from `kind`."""

    kind: Annotated[
        Literal["utility_transformer", "generator", "known_fault_current"],
        about("A transformer with its impedance, a generating set, or a fault current that somebody stated."),
    ]
    rated_apparent_power: (
        Annotated[ApparentPower, about("Rating of transformer or set.", above=0, high=15000, unit="kVA")] | UnsetType
    ) = UNSET
    impedance_fraction: (
        Annotated[float, about("Impedance of the transformer per unit of its rating.", low=0.005, high=0.2)] | UnsetType
    ) = UNSET
    impedance_tolerance_fraction: Annotated[
        float,
        about(
            "How far the real impedance may lie below the plate; for the greatest current.",
            low=0,
            high=0.3,
            basis="standard",
        ),
    ] = 0.10
    x_over_r: (
        Annotated[float, about("X/R of the transformer, or of the stated current.", low=0.1, high=50)] | UnsetType
    ) = UNSET
    upstream_fault_power: (
        Annotated[ApparentPower, about("Fault power on the transformer's primary.", above=0, high=100000, unit="MVA")]
        | UnsetType
    ) = UNSET
    upstream_x_over_r: Annotated[
        float, about("X/R on the transformer's primary.", low=0.1, high=50, basis="common_practice")
    ] = 10.0
    subtransient_reactance: (
        Annotated[float, about('X"d of the set per unit; 0.12 where left out.', low=0.05, high=0.5)] | UnsetType
    ) = UNSET
    zero_sequence_reactance: (
        Annotated[float, about("X0 of the set per unit; 0.05 where left out.", low=0.005, high=0.5)] | UnsetType
    ) = UNSET
    stator_resistance: Annotated[
        Impedance, about("Resistance of the set's windings, a phase.", low=0, high=10, unit="ohm")
    ] = Impedance.of(0, "ohm")
    available_fault_current: (
        Annotated[Current, about("Fault current stated for the source.", above=0, high=200, unit="kA")] | UnsetType
    ) = UNSET


class FaultSegmentGiven(Given, frozen=True, kw_only=True):
    """A length of cable between source and machine."""

    length: Annotated[Length, about("One-way length.", above=0, high=2000, unit="m")]
    conductor_size: Annotated[
        str, about("Size of one line conductor.", pattern=SIZE_PATTERN, max_length=12, examples=["4/0 AWG", "95 mm2"])
    ]
    sets: Annotated[int, about("Parallel sets.", low=1, high=10)] = 1
    conductor_temperature: (
        Annotated[
            Temperature,
            about(
                "Conductor temperature, for both cases; 75 degC in `nec`, 20 and 60 degC in `iec` where left out.",
                low=-20,
                high=160,
                unit="degC",
            ),
        ]
        | UnsetType
    ) = UNSET
    ground_conductor_size: (
        Annotated[str, about("Size of one ground conductor.", pattern=SIZE_PATTERN, max_length=12)] | UnsetType
    ) = UNSET
    ground_sets: (
        Annotated[int, about("Parallel ground conductors; required with parallel lines.", low=1, high=10)] | UnsetType
    ) = UNSET
    resistance_per_length: (
        Annotated[
            ImpedancePerLength,
            about("Resistance of one line conductor, in place of the table's.", above=0, high=50, unit="ohm/km"),
        ]
        | UnsetType
    ) = UNSET
    reactance_per_length: (
        Annotated[
            ImpedancePerLength,
            about("Reactance of one line conductor, in place of the table's.", low=0, high=5, unit="ohm/km"),
        ]
        | UnsetType
    ) = UNSET
    ground_resistance_per_length: (
        Annotated[
            ImpedancePerLength,
            about("Resistance of one ground conductor, in place of the table's.", above=0, high=50, unit="ohm/km"),
        ]
        | UnsetType
    ) = UNSET
    ground_reactance_per_length: (
        Annotated[
            ImpedancePerLength,
            about("Reactance of one ground conductor, in place of the table's.", low=0, high=5, unit="ohm/km"),
        ]
        | UnsetType
    ) = UNSET


class FaultDeviceGiven(Given, frozen=True, kw_only=True):
    """The device at the head of the circuit."""

    kind: Annotated[Literal["circuit_breaker", "fuse"], about("Breaker or fuse.")] = "circuit_breaker"
    rating: Annotated[Current, about("Rated current.", above=0, high=6000, unit="A")]
    magnetic_pickup_multiple: Annotated[
        float, about("Instantaneous trip as a multiple of the rating.", low=1, high=20, basis="common_practice")
    ] = 10.0
    pickup_tolerance_fraction: Annotated[
        float, about("How far above its setting the trip may act.", low=0, high=0.5, basis="common_practice")
    ] = 0.20
    interrupting_rating: (
        Annotated[Current, about("Greatest current it can break.", above=0, high=300, unit="kA")] | UnsetType
    ) = UNSET
    operating_current: (
        Annotated[
            Current,
            about("Current that operates it within the time limit, off its curve.", above=0, high=200, unit="kA"),
        ]
        | UnsetType
    ) = UNSET
    residual_operating_current: ResidualCurrent = UNSET


class FaultCurrentGiven(Given, frozen=True, kw_only=True):
    """Source, cable, device and machine."""

    practice: PracticeField
    system_voltage: SystemVoltage
    frequency: (
        Annotated[Frequency, about("50 or 60 Hz; by the practice where left out.", low=50, high=60, unit="Hz")]
        | UnsetType
    ) = UNSET
    source: Annotated[FaultSourceGiven, about("Where the current comes from.")]
    segments: Annotated[
        tuple[FaultSegmentGiven, ...], about("Cable from the source to the machine, in order.", max_length=50)
    ] = ()
    motor_running_current: Annotated[
        Current, about("Running current of the motors that feed a fault.", low=0, high=5000, unit="A")
    ] = Current.of(0, "A")
    motor_contribution_multiple: Annotated[
        float, about("Their fault current as a multiple of it.", low=0, high=10, basis="common_practice")
    ] = 4.0
    device: Annotated[FaultDeviceGiven, about("The device at the head of the circuit.")] | UnsetType = UNSET
    socket_outlet: Annotated[bool, about("Whether the circuit feeds a socket-outlet (`iec`).")] = False
    machine_short_circuit_rating: (
        Annotated[Current, about("Short-circuit current rating on the machine's plate.", above=0, high=300, unit="kA")]
        | UnsetType
    ) = UNSET
    voltage_factor_max: (
        Annotated[
            float,
            about("Factor c for the greatest current; 1.00 in `nec`, 1.05 in `iec` where left out.", low=0.9, high=1.2),
        ]
        | UnsetType
    ) = UNSET
    voltage_factor_min: Annotated[
        float,
        about(
            "Factor c for the least current.",
            low=0.7,
            high=1.1,
            basis="standard",
            references=("iec_60909_and_60364_5_54",),
        ),
    ] = 0.95
