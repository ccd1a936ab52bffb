"""What `refrigeration.pull_down` answers."""

from typing import Annotated

from msgspec import UNSET, UnsetType

from coldwright.contract import Results, about
from coldwright.contract.quantities import Duration, Power, Temperature, TemperatureDifference, Volume


class PullDownPoint(Results, frozen=True, kw_only=True):
    """One point of the curve."""

    time: Annotated[Duration, about("Since the beginning.")]
    temperature: Annotated[Temperature, about("Of the loop, well mixed.")]
    stages: Annotated[int, about("Running from here on.")]


class PullDownCycling(Results, frozen=True, kw_only=True):
    """One stage at the low load."""

    on_time: Annotated[Duration, about("Running.")]
    off_time: Annotated[Duration, about("Standing.")]
    starts_per_hour: Annotated[float, about("Starts in an hour.")]
    worst_starts_per_hour: Annotated[float, about("Starts in an hour at half a stage's load, timers left out.")]
    temperature_swing: Annotated[TemperatureDifference, about("Band plus overshoot.")]


class PullDownResults(Results, frozen=True, kw_only=True):
    """Time to set point, the curve, cycling and volume."""

    reaches_set_point: Annotated[bool, about("Whether the set point is ever reached.")]
    time_to_set_point: Annotated[Duration, about("Until the loop is at its set point.")] | UnsetType = UNSET
    curve: Annotated[tuple[PullDownPoint, ...], about("At the beginning, at each start of a stage, at the end.")]
    final_temperature: (
        Annotated[Temperature, about("Set point, or where the loop settles above it; left out above 95 degC.")]
        | UnsetType
    ) = UNSET
    missing_capacity: Annotated[Power, about("Lacking at the set point.", us="ton")] | UnsetType = UNSET
    cycling: Annotated[PullDownCycling, about("At the low load.")] | UnsetType = UNSET
    minimum_volume: Annotated[Volume, about("Loop volume by the allowed starts.")]
    minimum_run_time_volume: Annotated[Volume, about("Loop volume by the least run at zero load.")]
    volume_to_add: Annotated[Volume, about("What the loop lacks of the larger of both.")]
