"""What a service answers."""

from typing import Annotated, Literal

from msgspec import UNSET, UnsetType

from coldwright.contract import Results, Text, about
from coldwright.contract.quantities import ApparentPower, Current, Power


class CircuitResults(Results, frozen=True, kw_only=True):
    """What a circuit needs. A value is left out where the data do not give it."""

    minimum_circuit_ampacity: Annotated[Current, about("Least ampacity of the circuit; the design current under iec.")]
    minimum_circuit_ampacity_source: Annotated[
        Literal["plate", "calculated"], about("Whether it is, or rests on, a data plate.")
    ]
    maximum_overcurrent_calculated: (
        Annotated[Current, about("Greatest device at the `overcurrent_factor` of the input, before rounding.")]
        | UnsetType
    ) = UNSET
    maximum_overcurrent_standard: (
        Annotated[
            Current, about("Greatest device: the plate's, else the standard rating not above the calculated one.")
        ]
        | UnsetType
    ) = UNSET
    maximum_overcurrent_calculated_at_2_25: (
        Annotated[Current, about("Greatest device if the factor were 2.25, before rounding.")] | UnsetType
    ) = UNSET
    maximum_overcurrent_standard_at_2_25: Annotated[Current, about("The standard rating not above it.")] | UnsetType = (
        UNSET
    )
    smallest_workable_standard: (
        Annotated[Current, about("Smallest standard rating that carries the circuit's ampacity.")] | UnsetType
    ) = UNSET
    disconnect_minimum_current: Annotated[Current, about("Least current rating of the disconnect.")] | UnsetType = UNSET
    disconnect_standard: Annotated[Current, about("Smallest standard disconnect.")] | UnsetType = UNSET
    running_current: Annotated[Current, about("Current with everything running.")] | UnsetType = UNSET
    locked_rotor_with_largest_starting: (
        Annotated[Current, about("Current while one motor starts and the rest run, worst motor.")] | UnsetType
    ) = UNSET


class MachineResults(CircuitResults, frozen=True, kw_only=True):
    """What ONE machine of an entry needs by itself."""

    machine_id: Annotated[Text, about("Your name for it.")]
    quantity: Annotated[int, about("How many of them.")]


class FitResults(Results, frozen=True, kw_only=True):
    """Whether what the site offers will do."""

    verdict: Annotated[
        Literal["fits", "does_not_fit", "unknown"],
        about("`unknown` when neither breaker nor supply is given, or the greatest device is not known."),
    ]
    reasons: Annotated[tuple[str, ...], about("Each test that failed, or what is not known.")]
    spare_supply: Annotated[Current, about("Supply left after this feeder; negative when it is short.")] | UnsetType = (
        UNSET
    )


class ServiceResults(Results, frozen=True, kw_only=True):
    """What the machines need, one by one and together."""

    machines: Annotated[tuple[MachineResults, ...], about("One entry for each entry given, in the same order.")]
    feeder: Annotated[CircuitResults, about("What the feeder of all of them needs.")]
    apparent_power: Annotated[ApparentPower, about("Apparent power of the group while running.")] | UnsetType = UNSET
    active_power: Annotated[Power, about("Active power of the group while running.")] | UnsetType = UNSET
    fit: Annotated[FitResults, about("Whether what the site offers will do.")]
