"""Major 1 of `site.weather`: the same answer, with the names that its bands of heat had."""

from typing import Annotated, Final, Literal

from msgspec import UNSET, UnsetType
from msgspec.structs import asdict

from coldwright.contract import Deprecated, Notes, Results, about, calculator
from coldwright.contract.quantities import Force, Length, PressureDifference, Speed, Temperature
from coldwright_site.shared import tabulated
from coldwright_site.weather import EXAMPLES, HAZARDS, REFERENCES, weather_of
from coldwright_site.weather.findings import FINDINGS
from coldwright_site.weather.given import WeatherGiven
from coldwright_site.weather.results import HeatBand

FormerBand = Literal["lower", "moderate", "high", "very_high"]
FORMER: Final[dict[HeatBand, FormerBand]] = {
    "normal": "lower",
    "guarded": "moderate",
    "severe": "high",
    "extreme": "very_high",
}


class FirstWeatherResults(Results, frozen=True, kw_only=True):
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
    heat_band: Annotated[FormerBand, about("Band of risk, sun counted when `in_sun`.")] | UnsetType = UNSET
    wind_chill: Annotated[Temperature, about("By the mean wind.")] | UnsetType = UNSET
    resume_at: Annotated[str, about("Earliest return to work outdoors, UTC.")] | UnsetType = UNSET
    lightning_distance: Annotated[Length, about("Of the last flash.")] | UnsetType = UNSET
    wind_speed_limit: Annotated[Speed, about("Wind in which this load may be lifted.")] | UnsetType = UNSET
    lift_allowed: Annotated[bool, about("Whether lightning, gust and warning leave a lift possible.")]


@calculator(
    "site.weather",
    version="1.2.1",
    title="Wind on a machine and a lift, heat, cold and lightning, first names of the bands",
    references=REFERENCES,
    tables=(tabulated.HEAT_BANDS,),
    hazards=HAZARDS,
    findings=FINDINGS,
    examples=EXAMPLES,
    deprecated=Deprecated(
        "2026-11-28", "2027-11-28", "Use major 2, whose bands are normal, guarded, severe and extreme."
    ),
)
def weather_1(given: WeatherGiven, notes: Notes) -> FirstWeatherResults:
    """Whether wind turns a machine over or stops a lift, how heat and cold press on people, and when lightning is past.

    As major 2 in everything but the names of the bands of heat: lower, moderate, high and very_high.
    """
    results = weather_of(given, notes)
    band = UNSET if isinstance(results.heat_band, UnsetType) else FORMER[results.heat_band]
    return FirstWeatherResults(**asdict(results) | {"heat_band": band})
