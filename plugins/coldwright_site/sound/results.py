"""What `site.sound` answers."""

from typing import Annotated

from msgspec import UNSET, UnsetType

from coldwright.contract import Results, about
from coldwright.contract.quantities import Duration, Length, SoundLevel

BandLevel = Annotated[float, about("Of one octave band, 63 to 8000 Hz.")]


class SoundFromSource(Results, frozen=True, kw_only=True):
    """What one source brings."""

    id: Annotated[str, about("Name of the source.")]
    level: Annotated[SoundLevel, about("Its level here.")]
    barrier_top_dz: (
        Annotated[
            tuple[BandLevel, ...], about("Taken away over the barrier's top, by band, before the ground is counted.")
        ]
        | UnsetType
    ) = UNSET


class SoundAtReceiver(Results, frozen=True, kw_only=True):
    """The sound at one place."""

    id: Annotated[str, about("Name of the place.")]
    level: Annotated[SoundLevel, about("All sources running.")] | UnsetType = UNSET
    by_source: Annotated[tuple[SoundFromSource, ...], about("What each source brings, in the order given.")] = ()
    by_band: Annotated[tuple[BandLevel, ...], about("A-weighted level of each band; none with `simple`.")] = ()
    barrier_top_dz: Annotated[
        tuple[BandLevel, ...], about("Of the loudest source here; none without a barrier between.")
    ] = ()
    barrier_quick_look: Annotated[
        tuple[BandLevel, ...], about("With `simple`: what a thin screen would take away by band; not in `level`.")
    ] = ()
    margin_day: Annotated[SoundLevel, about("Limit by day less the level.")] | UnsetType = UNSET
    margin_night: Annotated[SoundLevel, about("Limit by night less the level.")] | UnsetType = UNSET
    ldn: Annotated[SoundLevel, about("Day-night level.")] | UnsetType = UNSET
    measured_source_level: (
        Annotated[SoundLevel, about("Measured level with the background taken away.")] | UnsetType
    ) = UNSET
    distance_for_limit: (
        Annotated[Length, about("With `simple`: distance at which the stricter limit is just met.")] | UnsetType
    ) = UNSET


class ExposureResults(Results, frozen=True, kw_only=True):
    """The worker's day."""

    dose: Annotated[float, about("1 is the limit.")]
    twa: Annotated[SoundLevel, about("Time-weighted average of eight hours; none without a dose.")] | UnsetType = UNSET
    allowed_time: Annotated[tuple[Duration, ...], about("Allowed in a day at the level of each stay.")]


class SoundResults(Results, frozen=True, kw_only=True):
    """Levels at places and the worker's day."""

    receivers: Annotated[tuple[SoundAtReceiver, ...], about("In the order given.")] = ()
    exposure: Annotated[ExposureResults, about("The worker's day.")] | UnsetType = UNSET
