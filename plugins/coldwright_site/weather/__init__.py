"""Wind on a machine and a lift, heat, cold and lightning."""

from typing import Final

from msgspec import UNSET

from coldwright.contract import Notes, calculator
from coldwright.contract.quantities import Speed
from coldwright_basis.instants import show
from coldwright_site.shared import cautions, tabulated
from coldwright_site.shared.references import (
    ASCE_7,
    EN_13000,
    NWS_HEAT_INDEX,
    NWS_WIND_CHILL,
    OSHA_1926_1417,
    OSHA_LIGHTNING,
    PRACTICE,
    STATICS,
)
from coldwright_site.weather.examples import HOT_AND_WINDY, THUNDER
from coldwright_site.weather.findings import FINDINGS, lift_allowed
from coldwright_site.weather.given import WeatherGiven
from coldwright_site.weather.gust import lift_limit, push_of
from coldwright_site.weather.lightning import lightning_distance, resume_at
from coldwright_site.weather.people import chill, heat
from coldwright_site.weather.results import WeatherResults

REFERENCES: Final = (
    STATICS,
    ASCE_7,
    EN_13000,
    NWS_HEAT_INDEX,
    NWS_WIND_CHILL,
    OSHA_LIGHTNING,
    OSHA_1926_1417,
    PRACTICE,
)
HAZARDS: Final = ("environment", "lifting", "thermal")
EXAMPLES: Final = (HOT_AND_WINDY, THUNDER)


@calculator(
    "site.weather",
    version="2.0.2",
    title="Wind on a machine and a lift, heat, cold and lightning",
    references=REFERENCES,
    tables=(tabulated.HEAT_BANDS,),
    hazards=HAZARDS,
    findings=FINDINGS,
    examples=EXAMPLES,
)
def weather(given: WeatherGiven, notes: Notes) -> WeatherResults:
    """Whether wind turns a machine over or stops a lift, how heat and cold press on people, and when lightning is past.

    The gust acts on the whole face at half its height, with the drag of a box; anchors are left out of the ratios. The
    heat index is that of the shade; full sun adds up to 15 degF, which is counted as a whole. Outside their ranges the
    heat index (40 to 120 degF) and the wind chill (at most 50 degF, above 3 mph) are left out.
    """
    return weather_of(given, notes)


def weather_of(given: WeatherGiven, notes: Notes) -> WeatherResults:
    """The same for every major version that is served."""
    notes.caution(*cautions.WEATHER)
    notes.assume(
        "gust_on_the_whole_face",
        "The gust acts on the whole face at half its height, with the drag of a box; the heat index is that of the "
        "shade.",
        basis="derived",
        references=("site_statics", "nws_heat_index"),
    )
    evaluated, resume = resume_at(given)
    limit = lift_limit(given, notes)
    push = push_of(given, notes)
    index, band = heat(given, notes)
    return WeatherResults(
        wind_pressure=push.pressure,
        wind_force=push.force,
        overturning_ratio=push.overturning,
        sliding_ratio=push.sliding,
        critical_gust=push.critical,
        heat_index=index,
        heat_band=band,
        wind_chill=chill(given, notes),
        resume_at=UNSET if resume is None else show(resume),
        lightning_distance=lightning_distance(given, notes),
        wind_speed_limit=UNSET if limit is None else Speed.from_si(limit, "m/s"),
        lift_allowed=lift_allowed(given, evaluated, resume, limit, notes),
    )
