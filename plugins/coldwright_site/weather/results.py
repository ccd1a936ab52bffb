"""What `site.weather` answers."""

from typing import Annotated, Literal

from msgspec import UNSET, UnsetType

from coldwright.contract import Results, about
from coldwright.contract.quantities import Force, Length, PressureDifference, Speed, Temperature

HeatBand = Literal["normal", "guarded", "severe", "extreme"]


class WeatherResults(Results, frozen=True, kw_only=True):
    """What the weather allows."""

    wind_pressure: Annotated[PressureDifference, about("Velocity pressure of the gust.")] | UnsetType = UNSET
    wind_force: Annotated[Force, about("On the machine's face.")] | UnsetType = UNSET
    overturning_ratio: (
        Annotated[float, about("Moment that holds the machine over the wind's, without anchors; none in a calm.")]
        | UnsetType
    ) = UNSET
    sliding_ratio: Annotated[float, about("Friction over the wind's force, without anchors.")] | UnsetType = UNSET
    critical_gust: Annotated[Speed, about("Gust that turns the machine over, without anchors.")] | UnsetType = UNSET
    heat_index: Annotated[Temperature, about("In the shade.")] | UnsetType = UNSET
    heat_band: Annotated[HeatBand, about("Band of risk, sun counted when `in_sun`.")] | UnsetType = UNSET
    wind_chill: Annotated[Temperature, about("By the mean wind.")] | UnsetType = UNSET
    resume_at: Annotated[str, about("Earliest return to work outdoors, UTC.")] | UnsetType = UNSET
    lightning_distance: Annotated[Length, about("Of the last flash.")] | UnsetType = UNSET
    wind_speed_limit: Annotated[Speed, about("Wind in which this load may be lifted.")] | UnsetType = UNSET
    lift_allowed: Annotated[bool, about("Whether lightning, gust and warning leave a lift possible.")]
