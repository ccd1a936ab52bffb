"""What `site.sound` is asked."""

from typing import Annotated, Literal

from msgspec import UNSET, UnsetType

from coldwright.contract import Given, Text, about
from coldwright.contract.quantities import Duration, Length, SoundLevel, Temperature
from coldwright_site.shared.given import Point, metres

OctaveLevel = Annotated[float, about("Level of one octave band, dB.", low=-100, high=200)]


class OnTimeGiven(Given, frozen=True, kw_only=True):
    """Share of the day (07 to 22) and of the night (22 to 07) that the source runs."""

    day: Annotated[float, about("Share of the day.", low=0, high=1)] = 1.0
    night: Annotated[float, about("Share of the night.", low=0, high=1)] = 1.0


class ReflectorGiven(Given, frozen=True, kw_only=True):
    """A wall behind the source, seen from the receiver."""

    distance: Annotated[Length, about("From the source to the wall.", low=0, high=1000, unit="m")]
    reflection: Annotated[float, about("Share of the sound that comes back.", low=0, high=1)]


class SoundSourceGiven(Given, frozen=True, kw_only=True):
    """A machine as a point that radiates sound."""

    id: Annotated[Text, about("Name of the source.")]
    x: Annotated[Length, about("Along x.", low=-5000, high=5000, unit="m")]
    y: Annotated[Length, about("Along y.", low=-5000, high=5000, unit="m")]
    z: Annotated[Length, about("Height over the ground.", low=0, high=300, unit="m")]
    sound_power_level: (
        Annotated[SoundLevel, about("A-weighted, re 1 pW: method `simple`.", low=0, high=180, unit="dBA")] | UnsetType
    ) = UNSET
    octave_levels: (
        Annotated[
            tuple[OctaveLevel, ...],
            about(
                "Power levels of the bands 63 to 8000 Hz, not weighted: method `octave`.", min_length=8, max_length=8
            ),
        ]
        | UnsetType
    ) = UNSET
    directivity_factor: Annotated[
        float,
        about("2 on the ground, 4 at a wall, 8 in a corner: method `simple`.", low=0.1, high=100, basis="derived"),
    ] = 2.0
    on_time: Annotated[OnTimeGiven, about("When it runs.")] = OnTimeGiven()
    reflector: Annotated[ReflectorGiven, about("A wall behind it.")] | UnsetType = UNSET
    largest_side: (
        Annotated[
            Length, about("Largest side of the machine, to see how near is too near.", low=0.01, high=50, unit="m")
        ]
        | UnsetType
    ) = UNSET

    @property
    def xyz(self) -> tuple[float, float, float]:
        """The coordinates in m."""
        return metres(self.x), metres(self.y), metres(self.z)


class ReceiverGiven(Given, frozen=True, kw_only=True):
    """A place where the sound is heard."""

    id: Annotated[Text, about("Name of the place.")]
    x: Annotated[Length, about("Along x.", low=-5000, high=5000, unit="m")]
    y: Annotated[Length, about("Along y.", low=-5000, high=5000, unit="m")]
    z: Annotated[Length, about("Height over the ground.", low=0, high=300, unit="m")]
    limit_day: Annotated[SoundLevel, about("Limit by day.", low=0, high=150, unit="dBA")] | UnsetType = UNSET
    limit_night: Annotated[SoundLevel, about("Limit by night.", low=0, high=150, unit="dBA")] | UnsetType = UNSET
    background: (
        Annotated[SoundLevel, about("Measured with the source off.", low=0, high=150, unit="dBA")] | UnsetType
    ) = UNSET
    measured_level: (
        Annotated[SoundLevel, about("Measured with the source on.", low=0, high=150, unit="dBA")] | UnsetType
    ) = UNSET

    @property
    def xyz(self) -> tuple[float, float, float]:
        """The coordinates in m."""
        return metres(self.x), metres(self.y), metres(self.z)


class GroundFactorGiven(Given, frozen=True, kw_only=True):
    """How soft the ground is: 0 hard (paving, water), 1 soft (grass, fields)."""

    source: Annotated[float, about("Near the source.", low=0, high=1)]
    middle: Annotated[float, about("Between.", low=0, high=1)]
    receiver: Annotated[float, about("Near the receiver.", low=0, high=1)]


class AirGiven(Given, frozen=True, kw_only=True):
    """The air that the sound passes: one of the six pairs of ISO 9613-2, Table 2."""

    temperature: Annotated[Temperature, about("10, 15, 20 or 30 degC.", low=-20, high=50, unit="degC")]
    humidity: Annotated[float, about("Relative humidity, 0 to 1.", low=0, high=1)]


class BarrierGiven(Given, frozen=True, kw_only=True):
    """A screen or building, straight in plan."""

    edge_height: Annotated[Length, about("Of its top, over the ground.", low=0.01, high=300, unit="m")]
    point_1: Annotated[Point, about("One end of its centre line.")]
    point_2: Annotated[Point, about("The other end.")]
    thickness: Annotated[Length, about("Above 0: two parallel edges.", low=0, high=200, unit="m", basis="derived")] = (
        Length(0.0, "m")
    )


class ExposureGiven(Given, frozen=True, kw_only=True):
    """A stay of a worker in a level."""

    level: Annotated[SoundLevel, about("Level at the ear.", low=0, high=150, unit="dBA")]
    duration: Annotated[Duration, about("Length of the stay.", low=0.001, high=24, unit="h")]


class SoundGiven(Given, frozen=True, kw_only=True):
    """Sources, places where they are heard, and workers' stays. Fields of the other method are not used."""

    method: Annotated[Literal["simple", "octave"], about("Spreading of A-weighted levels, or ISO 9613-2 by octave.")]
    sources: Annotated[tuple[SoundSourceGiven, ...], about("Machines.", max_length=50)] = ()
    receivers: Annotated[tuple[ReceiverGiven, ...], about("Places.", max_length=50)] = ()
    ground_factor: Annotated[GroundFactorGiven, about("Softness of the ground: `octave`.")] | UnsetType = UNSET
    air: Annotated[AirGiven, about("Air: `octave`.")] | UnsetType = UNSET
    barrier: Annotated[BarrierGiven, about("A barrier, if there is one.")] | UnsetType = UNSET
    exposure: Annotated[tuple[ExposureGiven, ...], about("A worker's day.", max_length=100)] = ()
    rule: Annotated[Literal["osha", "niosh"], about("Rule for the worker's day.", basis="standard")] = "osha"
