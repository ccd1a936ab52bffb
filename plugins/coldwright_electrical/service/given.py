"""What a service is asked with: machines, their motors and plates, and what the site offers."""

from typing import Annotated, Literal

from msgspec import UNSET, UnsetType

from coldwright.contract import Given, Text, about
from coldwright.contract.quantities import Current, Frequency, Power, Voltage
from coldwright_electrical.shared import references as ref
from coldwright_electrical.shared.given import PracticeField, SystemFrequency, SystemVoltage


class MotorGiven(Given, frozen=True, kw_only=True):
    """Motors of one kind in a machine, as the plate states them. Currents are those of one motor."""

    role: Annotated[
        Literal["compressor", "fan", "pump"],
        about("What it drives. `compressor`: a hermetic motor, rated by the first two currents below."),
    ]
    quantity: Annotated[int, about("How many of them the machine has.", low=1, high=40)] = 1
    rated_load_current: (
        Annotated[Current, about("Rated-load current of a compressor.", above=0, high=2500, unit="A")] | UnsetType
    ) = UNSET
    branch_circuit_selection_current: (
        Annotated[
            Current,
            about(
                "Branch-circuit selection current of a compressor; the greater of the two counts.",
                above=0,
                high=2500,
                unit="A",
            ),
        ]
        | UnsetType
    ) = UNSET
    full_load_current: (
        Annotated[Current, about("Full-load current of a fan or pump.", above=0, high=2500, unit="A")] | UnsetType
    ) = UNSET
    rated_power: (
        Annotated[
            Power,
            about(
                "Rated power of a fan or pump, used only where `full_load_current` is absent: the current is then taken "
                "from the table for nec practice.",
                above=0,
                high=200,
                unit="hp",
            ),
        ]
        | UnsetType
    ) = UNSET
    locked_rotor_current: (
        Annotated[
            Current,
            about("Locked-rotor current: 1.5 to 12 times the running current.", above=0, high=30000, unit="A"),
        ]
        | UnsetType
    ) = UNSET


class OtherLoadGiven(Given, frozen=True, kw_only=True):
    """A load without a motor: crankcase or freeze heaters, control transformer."""

    name: Annotated[Text, about("What it is.")]
    current: Annotated[Current, about("Its current.", above=0, high=2500, unit="A")]
    continuous: Annotated[
        bool, about("Whether it runs for three hours or more: then it counts 25 % more.", basis="standard")
    ] = True


class MachineGiven(Given, frozen=True, kw_only=True):
    """Machines of one kind: by the data plate, by their motors, or both."""

    machine_id: Annotated[Text, about("Your name for it, unique in the list.")]
    quantity: Annotated[int, about("How many of them are on the feeder.", low=1, high=40)] = 1
    nameplate_voltage: (
        Annotated[Voltage, about("Voltage on the data plate.", low=100, high=1000, unit="V")] | UnsetType
    ) = UNSET
    nameplate_frequency: (
        Annotated[Frequency, about("Frequency on the data plate, 50 or 60 Hz.", low=50, high=60, unit="Hz")] | UnsetType
    ) = UNSET
    minimum_circuit_ampacity: (
        Annotated[Current, about("Minimum circuit ampacity on the data plate.", above=0, high=4000, unit="A")]
        | UnsetType
    ) = UNSET
    maximum_overcurrent_device: (
        Annotated[
            Current,
            about(
                "Largest overcurrent device on the data plate; not below the minimum circuit ampacity.",
                above=0,
                high=6000,
                unit="A",
            ),
        ]
        | UnsetType
    ) = UNSET
    maximum_overcurrent_device_kind: Annotated[
        Literal["fuse_or_breaker", "fuse"],
        about("Which kinds of device the data plate allows; `fuse` where it names fuses only."),
    ] = "fuse_or_breaker"
    rated_current: (
        Annotated[Current, about("Rated current of the whole machine on an IEC plate.", above=0, high=4000, unit="A")]
        | UnsetType
    ) = UNSET
    motors: Annotated[
        tuple[MotorGiven, ...],
        about(
            "Its motors, at least one of them a compressor; may be left out where the plate is given.", max_length=40
        ),
    ] = ()
    other_loads: Annotated[
        tuple[OtherLoadGiven, ...], about("Loads without a motor, counted with the motors.", max_length=40)
    ] = ()
    interlocked_with: Annotated[
        tuple[Text, ...],
        about("Ids of machines that are kept from running at the same time as this one.", max_length=40),
    ] = ()


class AvailableGiven(Given, frozen=True, kw_only=True):
    """What the site offers."""

    breaker_rating: (
        Annotated[Current, about("Rating of the breaker offered.", above=0, high=6000, unit="A")] | UnsetType
    ) = UNSET
    breaker_full_rated: Annotated[
        bool,
        about("Whether the breaker is marked for 100 % of its rating; most are for 80 %.", basis="common_practice"),
    ] = False
    supply_current: (
        Annotated[Current, about("Current that the supply can give.", above=0, high=10000, unit="A")] | UnsetType
    ) = UNSET
    supply_current_in_use: (
        Annotated[Current, about("Current of it already in use.", low=0, high=10000, unit="A")] | UnsetType
    ) = UNSET


class ServiceGiven(Given, frozen=True, kw_only=True):
    """Machines on one feeder, and what the site offers."""

    practice: PracticeField
    system_voltage: SystemVoltage
    frequency: SystemFrequency
    machines: Annotated[tuple[MachineGiven, ...], about("Machines on the feeder.", min_length=1, max_length=40)]
    overcurrent_factor: Annotated[
        float,
        about(
            "1.75 or 2.25 times the largest compressor, for the greatest device. 2.25 only where the motor will not "
            "start on 1.75.",
            low=1.75,
            high=2.25,
            basis="standard",
            references=(ref.NEC_440_22.id,),
        ),
    ] = 1.75
    feeder_conductors: Annotated[
        Literal["by_load", "by_device", "to_panel"],
        about(
            "Conductors of the feeder of several machines under nec: `by_load` as large as the load asks for, which "
            "limits the device; `by_device` larger ones, which the device may follow, each machine behind its own. "
            "`to_panel` the same for one machine too, whose own device stands in a panel at the end of the feeder.",
            references=(ref.NEC_430_62.id, ref.NEC_430_62_B.id),
        ),
    ] = "by_load"
    available: Annotated[AvailableGiven, about("What the site offers, where it is known.")] | UnsetType = UNSET
    supply_grounding: (
        Annotated[
            Literal["solid_wye", "high_leg_delta", "corner_grounded_delta", "ungrounded", "impedance_grounded"],
            about("How the supply is grounded, where it is known."),
        ]
        | UnsetType
    ) = UNSET
    power_factor: Annotated[
        float, about("Power factor of the running machines.", low=0.5, high=1, basis="common_practice")
    ] = 0.85
