"""What a surge is asked with."""

from typing import Annotated

from msgspec import UNSET, UnsetType

from coldwright.contract import Fluid, Given, Text, about
from coldwright.contract.quantities import (
    AbsolutePressure,
    Duration,
    GaugePressure,
    Length,
    Modulus,
    PressureDifference,
    Velocity,
    VolumeFlow,
)
from coldwright_basis.constants import STANDARD_ATMOSPHERE

FASTEST = 20.0
"""m/s, in any segment: well past any loop, and slow against every wave."""


class SurgeSegmentGiven(Given, frozen=True, kw_only=True):
    """A length of one bore and wall. Give the wall by one of: thickness and modulus; expansion; wave speed."""

    name: Annotated[Text, about("Name.")]
    length: Annotated[Length, about("Length.", low=0.01, high=10_000, unit="m")]
    inner_diameter: (
        Annotated[
            Length,
            about(
                "Bore; needed with a wall thickness, with `flow`, and where there is more than one segment.",
                low=12,
                high=610,
                unit="mm",
            ),
        ]
        | UnsetType
    ) = UNSET
    wall_thickness: Annotated[Length, about("Wall.", low=0.1, high=100, unit="mm")] | UnsetType = UNSET
    elastic_modulus: (
        Annotated[Modulus, about("Young's modulus of the wall: steel about 200 GPa.", low=0.001, high=1000, unit="GPa")]
        | UnsetType
    ) = UNSET
    volumetric_expansion_fraction: (
        Annotated[float, about("Growth of the hose's volume in the expansion test.", above=0, high=2)] | UnsetType
    ) = UNSET
    volumetric_expansion_pressure: (
        Annotated[PressureDifference, about("Pressure of that test.", low=10, high=50_000, unit="kPa")] | UnsetType
    ) = UNSET
    wave_speed: (
        Annotated[Velocity, about("Wave speed, where it is known.", low=5, high=3000, unit="m/s")] | UnsetType
    ) = UNSET


class SurgeGiven(Given, frozen=True, kw_only=True):
    """The line in front of the valve, what flows, and how fast it is stopped."""

    fluid: Annotated[Fluid, about("Liquid, with its temperature.")]
    segments: Annotated[
        tuple[SurgeSegmentGiven, ...], about("Segments in series, from the one whose velocity is given.", min_length=1,
                                             max_length=100)
    ]  # fmt: skip
    velocity: (
        Annotated[Velocity, about("Velocity in the first segment.", above=0, high=FASTEST, unit="m/s")] | UnsetType
    ) = UNSET
    flow: Annotated[VolumeFlow, about("Flow, instead of the velocity.", above=0, high=6000, unit="L/s")] | UnsetType = (
        UNSET
    )
    velocity_change_fraction: Annotated[
        float, about("Part of the velocity that is stopped.", above=0, high=1, basis="derived")
    ] = 1.0
    closure_time: Annotated[
        Duration, about("Time to close; 0 is instant, or a pump trip against a check valve.", low=0, high=3600, unit="s",
                        basis="derived")
    ] = Duration(0.0, "s")  # fmt: skip
    static_pressure: (
        Annotated[GaugePressure, about("Pressure at the valve before the event.", low=-100, high=5000, unit="kPa")]
        | UnsetType
    ) = UNSET
    atmospheric_pressure: (
        Annotated[
            AbsolutePressure, about("Pressure of the air; that of sea level if left out.", low=60, high=110, unit="kPa")
        ]
        | UnsetType
    ) = UNSET
    working_pressure: (
        Annotated[GaugePressure, about("Working pressure of the weakest part.", above=0, high=50_000, unit="kPa")]
        | UnsetType
    ) = UNSET
    surge_allowance_fraction: Annotated[
        float, about("What the parts may take above their working pressure.", low=0, high=1, basis="derived")
    ] = 0.0
    free_gas_fraction: Annotated[
        float,
        about(
            "Volume of gas spread in the liquid as bubbles.",
            low=0,
            high=0.05,
            why="With more gas the liquid no longer carries one wave",
        ),
    ] = 0.0
    restraint_factor: Annotated[
        float, about("Factor c1 for how the wall is held lengthwise.", low=0.5, high=2, basis="derived")
    ] = 1.0
    bulk_modulus: (
        Annotated[
            Modulus,
            about(
                "Bulk modulus of the liquid; from its speed of sound for water, 3.0 GPa for glycol unless given.",
                low=0.1,
                high=10,
                unit="GPa",
            ),
        ]
        | UnsetType
    ) = UNSET

    @property
    def air(self) -> float:
        """Pressure of the air, Pa absolute: given, or that of sea level."""
        return STANDARD_ATMOSPHERE if self.atmospheric_pressure is UNSET else self.atmospheric_pressure.si
