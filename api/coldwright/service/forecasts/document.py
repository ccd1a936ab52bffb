"""What a forecast says, and the extremes of its days."""

from collections.abc import Iterable
from datetime import datetime
from typing import Annotated

from msgspec import UNSET, Meta, Struct, UnsetType

from coldwright.contract import Given, Text, about, field_error
from coldwright.contract.quantities import Length, Quantity, Speed, Temperature
from coldwright.contract.refusal import FieldError, Refused
from coldwright.store.forecasts import Day, Place, extreme, site_key

MOST_PLACES, MOST_HOURS = 500, 1000
MOST_DAYS = 40
USUAL_REACH = Length(25, "km")
Instant = Annotated[datetime, Meta(tz=True, description="When, RFC 3339 with the offset of the place.")]


class ForecastHour(Given, frozen=True, kw_only=True):
    """The sky at a time. What is not known is left out."""

    at: Instant
    temperature: Annotated[Temperature, about("Air in the shade.", low=-90, high=65, unit="degC")] | UnsetType = UNSET
    wind: Annotated[Speed, about("Mean wind.", low=0, high=120, unit="m/s")] | UnsetType = UNSET
    gust: Annotated[Speed, about("Gust.", low=0, high=150, unit="m/s")] | UnsetType = UNSET


class ForecastPlace(Given, frozen=True, kw_only=True):
    """Where it is: a site by its name, as orders name it, or a point on the map with its reach."""

    site: Annotated[Text, about("Name of a site, in any case of letters.")] = ""
    latitude: Annotated[float, about("Degrees north [deg].", low=-90, high=90)] | UnsetType = UNSET
    longitude: Annotated[float, about("Degrees east [deg].", low=-180, high=180)] | UnsetType = UNSET
    reach: Annotated[Length, about("How far from the point it counts.", low=0.1, high=1000, unit="km")] = USUAL_REACH
    hours: Annotated[tuple[ForecastHour, ...], about("Times, in any order.", min_length=1, max_length=MOST_HOURS)]


class ForecastDocument(Given, frozen=True, kw_only=True):
    """A forecast by places and times, from wherever the caller has it: nothing is fetched."""

    name: Annotated[Text, about("What it is.")] = ""
    issued_at: Instant | UnsetType = UNSET
    places: Annotated[tuple[ForecastPlace, ...], about("Where it is known.", min_length=1, max_length=MOST_PLACES)]


def days_of(document: ForecastDocument) -> list[Day]:
    """The extremes by place and day, a day being that of the place's own clock. Raises `Refused` with every contradiction."""
    errors: list[FieldError] = []
    days: list[Day] = []
    for number, place in enumerate(document.places):
        at = f"/places/{number}"
        point = (place.latitude, place.longitude)
        if bool(place.site.strip()) == (UNSET not in point) or (UNSET in point and point != (UNSET, UNSET)):
            text = "Give the site's name, or latitude and longitude."
            errors.append(field_error(f"{at}/site", text, code="either_or"))
            continue
        by_day: dict[str, list[ForecastHour]] = {}
        for hour in place.hours:
            by_day.setdefault(hour.at.date().isoformat(), []).append(hour)
        if len(by_day) > MOST_DAYS:
            text = f"It reaches over {len(by_day)} days; {MOST_DAYS} are taken."
            errors.append(field_error(f"{at}/hours", text, code="out_of_range"))
        days += [_day(number, place, day, hours) for day, hours in by_day.items()]
    if errors:
        raise Refused(errors[:50])
    return days


def _day(number: int, place: ForecastPlace, day: str, hours: list[ForecastHour]) -> Day:
    where = Place(site_key(place.site))
    if not isinstance(place.latitude, UnsetType) and not isinstance(place.longitude, UnsetType):
        where = Place("", place.latitude, place.longitude, place.reach.to("km"))
    temperatures = list(_known((h.temperature for h in hours), "degC"))
    return Day(
        number,
        where,
        day,
        hottest=extreme(temperatures, high=True),
        coldest=extreme(temperatures, high=False),
        wind=extreme(_known((h.wind for h in hours), "m/s"), high=True),
        gust=extreme(_known((h.gust for h in hours), "m/s"), high=True),
    )


def _known(values: Iterable[Quantity | UnsetType], unit: str) -> Iterable[float]:
    return (value.to(unit) for value in values if not isinstance(value, UnsetType))


class Sky(Struct, frozen=True):
    """What is forecast for a booking in the rest of its period."""

    forecasts: tuple[str, ...]
    hottest: float | None
    hottest_day: str
    coldest: float | None
    coldest_day: str
    gust: float | None
    gust_day: str
    lift: Day | None
    """Of the days on which machines are lifted, the one with the strongest wind; None where none is forecast."""


def sky_of(days: list[Day], lifting: tuple[str, ...] = ()) -> Sky | None:
    """The extremes of all days, and the windiest of those named; None where nothing is forecast."""
    if not days:
        return None
    hottest = max((d for d in days if d.hottest is not None), key=lambda d: (d.hottest, d.day), default=None)
    coldest = min((d for d in days if d.coldest is not None), key=lambda d: (d.coldest, d.day), default=None)
    gusty = max((d for d in days if d.gust is not None), key=lambda d: (d.gust, d.day), default=None)
    return Sky(
        tuple(sorted({d.forecast for d in days})),
        hottest.hottest if hottest else None,
        hottest.day if hottest else "",
        coldest.coldest if coldest else None,
        coldest.day if coldest else "",
        gusty.gust if gusty else None,
        gusty.day if gusty else "",
        max((d for d in days if d.day in lifting and _blow(d)), key=lambda d: (_blow(d), d.day), default=None),
    )


def _blow(day: Day) -> float:
    """To compare days by: the gust, else the mean wind."""
    return day.wind or 0.0 if day.gust is None else day.gust
