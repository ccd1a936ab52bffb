"""What antifreeze is asked with."""

from typing import Annotated

from msgspec import UNSET, UnsetType

from coldwright.contract import Given, about
from coldwright.contract.quantities import Length, Temperature, TemperatureDifference, Velocity, Volume
from coldwright_hydronic.shared.given import GlycolKind, Protection


class PresentStrength(Given, frozen=True, kw_only=True):
    """What the loop holds now: exactly one of the three figures. 0 is plain water."""

    volume_fraction: Annotated[float, about("Pure glycol by volume, not concentrate.", low=0, high=0.6)] | UnsetType = (
        UNSET
    )
    mass_fraction: Annotated[float, about("Glycol by mass.", low=0, high=0.6)] | UnsetType = UNSET
    measured_freezing_temperature: (
        Annotated[
            Temperature,
            about("Freezing point read on a refractometer, on the scale of this glycol.", low=-55, high=1, unit="degC"),
        ]
        | UnsetType
    ) = UNSET
    kind: Annotated[GlycolKind, about("Glycol that is in the loop; the same as `kind` unless said.")] | UnsetType = (
        UNSET
    )


class ReferenceLine(Given, frozen=True, kw_only=True):
    """The line in which the cost in head is compared."""

    inner_diameter: Annotated[Length, about("Bore.", low=12, high=610, unit="mm", basis="common_practice")] = Length(
        101.6, "mm"
    )
    roughness: Annotated[
        Length,
        about(
            "Roughness; with these bounds it stays under 0.05 of the bore.",
            low=0,
            high=0.5,
            unit="mm",
            basis="common_practice",
        ),
    ] = Length(0.05, "mm")
    velocity: Annotated[
        Velocity, about("Velocity of plain water.", low=0.05, high=10, unit="m/s", basis="common_practice")
    ] = Velocity(2.0, "m/s")


class AntifreezeGiven(Given, frozen=True, kw_only=True):
    """The cold to stand, the loop, what is poured in and what is in it now."""

    kind: Annotated[GlycolKind, about("Glycol.")]
    lowest_temperature: Annotated[
        Temperature,
        about(
            "Lowest temperature that the liquid meets: of the air when idle, of the evaporating side when running.",
            low=-60,
            high=20,
            unit="degC",
        ),
    ]
    protection: Annotated[
        Protection, about("`freeze`: no ice forms. `burst`: slush forms but bursts nothing; nothing may run in it.")
    ] = "freeze"
    margin: Annotated[
        TemperatureDifference,
        about("Margin below the lowest temperature.", low=0, high=20, unit="delta_degC", basis="common_practice"),
    ] = TemperatureDifference(3.0, "delta_degC")
    loop_volume: Annotated[Volume, about("Volume of the loop.", low=0.001, high=5e6, unit="L")]
    concentrate_mass_fraction: Annotated[
        float,
        about(
            "Glycol in the concentrate by mass, the rest water and inhibitors: take it from the data sheet.",
            low=0.3,
            high=1,
            basis="common_practice",
        ),
    ] = 0.95
    present: Annotated[PresentStrength, about("What the loop holds now.")] | UnsetType = UNSET
    fluid_temperature: (
        Annotated[
            Temperature,
            about("Temperature of the properties: the leaving temperature unless given, else 5 degC.", low=-60, high=95,
                  unit="degC"),
        ]
        | UnsetType
    ) = UNSET  # fmt: skip
    leaving_temperature: (
        Annotated[Temperature, about("Set point of the leaving liquid.", low=-55, high=95, unit="degC")] | UnsetType
    ) = UNSET
    evaporator_approach: Annotated[
        TemperatureDifference,
        about("Leaving less evaporating temperature.", low=0, high=20, unit="delta_degC", basis="common_practice"),
    ] = TemperatureDifference(5.0, "delta_degC")
    reference_line: Annotated[ReferenceLine, about("Line in which heads are compared.")] = ReferenceLine()
