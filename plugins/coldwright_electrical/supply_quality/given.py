"""Readings at the machine's incoming terminals, and what the machine is made for."""

from typing import Annotated, Final, Literal

from msgspec import UNSET, UnsetType

from coldwright.contract import Given, about
from coldwright.contract.quantities import Current, Frequency, Voltage
from coldwright_electrical.shared.given import PracticeField, SystemFrequency, SystemVoltage

DEAD_OR_FLOATING: Final = (
    "a line that reads under 50 V is dead or floating: record 0, or measure again with a loaded meter"
)


class LineVoltagesGiven(Given, frozen=True, kw_only=True):
    """Voltages between lines, read within the same minute."""

    ab: Annotated[Voltage, about("Line a to line b.", low=0, high=800, unit="V", why=DEAD_OR_FLOATING)]
    bc: Annotated[Voltage, about("Line b to line c.", low=0, high=800, unit="V", why=DEAD_OR_FLOATING)]
    ca: Annotated[Voltage, about("Line c to line a.", low=0, high=800, unit="V", why=DEAD_OR_FLOATING)]


class LineToGroundVoltagesGiven(Given, frozen=True, kw_only=True):
    """Voltages from each line to ground."""

    a: Annotated[Voltage, about("Line a to ground.", low=0, high=800, unit="V")]
    b: Annotated[Voltage, about("Line b to ground.", low=0, high=800, unit="V")]
    c: Annotated[Voltage, about("Line c to ground.", low=0, high=800, unit="V")]


class LineCurrentsGiven(Given, frozen=True, kw_only=True):
    """Currents of the three lines."""

    a: Annotated[Current, about("Line a.", low=0, high=5000, unit="A")]
    b: Annotated[Current, about("Line b.", low=0, high=5000, unit="A")]
    c: Annotated[Current, about("Line c.", low=0, high=5000, unit="A")]


class SupplyQualityGiven(Given, frozen=True, kw_only=True):
    """Readings at the machine's incoming terminals, and what the machine is made for."""

    practice: PracticeField
    nominal_voltage: SystemVoltage
    nameplate_voltage: (
        Annotated[
            Voltage,
            about(
                "Voltage on the machine's plate; by the usual pairs where left out: 460 for 480.",
                low=180,
                high=690,
                unit="V",
            ),
        ]
        | UnsetType
    ) = UNSET
    voltage_minimum: (
        Annotated[
            Voltage,
            about("Least voltage the maker allows; 0.9 of the plate where left out.", low=50, high=800, unit="V"),
        ]
        | UnsetType
    ) = UNSET
    voltage_maximum: (
        Annotated[
            Voltage,
            about("Greatest voltage the maker allows; 1.1 of the plate where left out.", low=50, high=800, unit="V"),
        ]
        | UnsetType
    ) = UNSET
    frequency: SystemFrequency
    measured_frequency: Annotated[Frequency, about("Frequency as read.", low=20, high=120, unit="Hz")] | UnsetType = (
        UNSET
    )
    line_voltages: Annotated[LineVoltagesGiven, about("The three voltages between lines.")]
    line_to_ground_voltages: (
        Annotated[LineToGroundVoltagesGiven, about("The three voltages to ground.")] | UnsetType
    ) = UNSET
    line_currents: Annotated[LineCurrentsGiven, about("The three line currents.")] | UnsetType = UNSET
    loaded: Annotated[bool, about("Whether the machine ran when the voltages were read.")]
    rotation: Annotated[
        Literal["correct", "reversed", "not_checked"], about("Phase sequence by a rotation meter at the machine.")
    ]
    sequence_relay: Annotated[
        Literal["healthy", "tripped", "not_fitted", "unknown"], about("What the machine's phase monitor shows.")
    ]
    supply_state: Annotated[Literal["live", "isolated_locked_tagged"], about("State of the supply now.")]
    unbalance_limit_fraction: Annotated[
        float,
        about("Voltage unbalance that a hermetic motor is let run on.", low=0.001, high=0.05, basis="common_practice"),
    ] = 0.02
    current_unbalance_limit_fraction: Annotated[
        float, about("Current unbalance that is let pass.", low=0.01, high=0.5, basis="common_practice")
    ] = 0.10
    measured_by_qualified_person: Annotated[
        bool, about("Whether a person qualified for this voltage took the readings.")
    ]
