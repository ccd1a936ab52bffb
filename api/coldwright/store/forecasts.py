"""Forecasts: the sky that a caller expects, by day and place; what it touches is looked at again."""

from collections.abc import Iterable, Iterator, Sequence
from datetime import UTC, datetime
from math import asin, cos, radians, sin, sqrt
from typing import Any

from msgspec import Struct
from sqlalchemy import Connection, delete, insert, or_, select, update

from coldwright.store.bookings.booking import Period
from coldwright.store.bookings.checks import open_bookings, want_checks_of
from coldwright.store.bookings.stock import today
from coldwright.store.conditions import Condition, Done, judge, tag_of
from coldwright.store.database import Database
from coldwright.store.events import add_event
from coldwright.store.locking import hold
from coldwright.store.schedules import run_with_forecast
from coldwright.store.schema import booking_heads, forecast_days, forecasts

LONGEST_SITE = 200
EARTH = 6371.0
"""Mean radius, km."""


def site_key(name: str) -> str:
    """A site's name as it is compared: in any case of letters, some of which are more than one in small ones."""
    return name.strip().casefold()[:LONGEST_SITE]


class Place(Struct, frozen=True):
    """Where a day of a forecast is: a site by its folded name, or a point with its reach in km."""

    site: str = ""
    latitude: float | None = None
    longitude: float | None = None
    reach: float = 0.0

    def holds(self, site: str, latitude: float | None, longitude: float | None) -> bool:
        """Whether a booking there is touched by what is forecast here."""
        return (bool(self.site) and self.site == site_key(site)) or self.distance(latitude, longitude) <= self.reach

    def distance(self, latitude: float | None, longitude: float | None) -> float:
        """To a point, km along a great circle; infinite where one of the two is not given."""
        if self.latitude is None or self.longitude is None or latitude is None or longitude is None:
            return float("inf")
        north, east = radians(latitude - self.latitude) / 2, radians(longitude - self.longitude) / 2
        part = sin(north) ** 2 + cos(radians(latitude)) * cos(radians(self.latitude)) * sin(east) ** 2
        return 2 * EARTH * asin(min(1.0, sqrt(part)))


class Day(Struct, frozen=True):
    """The extremes of a day at a place: degC and m/s; what is not given is not known."""

    number: int
    """Of the place in its forecast."""
    place: Place
    day: str
    hottest: float | None = None
    coldest: float | None = None
    wind: float | None = None
    gust: float | None = None
    forecast: str = ""


class Forecast(Struct, frozen=True):
    """A forecast as it was put."""

    id: str
    version: int
    document: bytes
    etag: str
    first: str
    last: str
    created_at: datetime


def put_forecast(
    database: Database, tenant: str, forecast: str, document: bytes, days: Sequence[Day], condition: Condition
) -> tuple[Forecast, Done]:
    """Keep it in place of the one before; open bookings at the places of either are looked at again.

    A forecast is replaced many times a day by whoever has no use for the old one: it needs no condition. Raises `Changed`.
    """
    f = forecasts.c
    here = (f.tenant == tenant, f.id == forecast)
    with database.writing() as connection:
        hold(connection, tenant, f"forecast:{forecast}")
        before = _found(connection, tenant, forecast)
        unconditional = not condition.if_match and not condition.only_new
        judged = Condition(("*",)) if unconditional and before is not None else condition
        same = before is not None and before.document == document
        done = judge(judged, before.etag if before else None, same=same)
        if done == "unchanged" and before is not None:
            return before, done
        version = before.version + 1 if before else 1
        kept = Forecast(
            forecast,
            version,
            document,
            tag_of(forecast, version, document),
            min(d.day for d in days),
            max(d.day for d in days),
            datetime.now(UTC),
        )
        touched = _touched(connection, tenant, [*_days_of(connection, tenant, forecast), *days])
        _forget(connection, tenant, forecast)
        values = {
            "version": version,
            "document": document,
            "etag": kept.etag,
            "first_day": kept.first,
            "last_day": kept.last,
            "created_at": kept.created_at,
        }
        if not connection.execute(update(forecasts).where(*here).values(**values)).rowcount:
            connection.execute(insert(forecasts).values(tenant=tenant, id=forecast, **values))
        connection.execute(insert(forecast_days), [_row(tenant, forecast, day) for day in days])
        want_checks_of(connection, tenant, touched)
        run_with_forecast(connection, tenant, forecast)
        facts = {"forecast": forecast, "version": version, "bookings": len(touched)}
        add_event(connection, tenant, "forecast.changed", forecast, facts)
        return kept, done


def delete_forecast(database: Database, tenant: str, forecast: str) -> bool:
    """Forget it; returns whether it was there. What it touched is looked at again."""
    f = forecasts.c
    with database.writing() as connection:
        hold(connection, tenant, f"forecast:{forecast}")
        touched = _touched(connection, tenant, list(_days_of(connection, tenant, forecast)))
        if not connection.execute(delete(forecasts).where(f.tenant == tenant, f.id == forecast)).rowcount:
            return False
        _forget(connection, tenant, forecast)
        want_checks_of(connection, tenant, touched)
        facts = {"forecast": forecast, "version": 0, "bookings": len(touched)}
        add_event(connection, tenant, "forecast.changed", forecast, facts)
        return True


def get_forecast(database: Database, tenant: str, forecast: str) -> Forecast | None:
    """The forecast."""
    with database.reading() as connection:
        return _found(connection, tenant, forecast)


def list_forecasts(database: Database, tenant: str, after: str, size: int) -> list[Forecast]:
    """Forecasts by id, without their documents."""
    f = forecasts.c
    columns = (f.id, f.version, f.etag, f.first_day, f.last_day, f.created_at)
    query = select(*columns).where(f.tenant == tenant, f.id > after).order_by(f.id).limit(size)
    with database.reading() as connection:
        return [
            Forecast(r.id, r.version, b"", r.etag, r.first_day, r.last_day, r.created_at)
            for r in connection.execute(query)
        ]


def days_at(
    database: Database, tenant: str, site: str, latitude: float | None, longitude: float | None, period: Period
) -> list[Day]:
    """What is forecast for a booking, of each forecast by its nearest place: by name before any point on the map."""
    c = forecast_days.c
    named = c.site == site_key(site) if site else c.latitude.is_not(None)
    near = or_(named, c.latitude.is_not(None)) if latitude is not None else named
    query = select(forecast_days).where(c.tenant == tenant, c.day >= period.first, c.day <= period.last, near)
    with database.reading() as connection:
        found = [day for day in map(_day, connection.execute(query)) if day.place.holds(site, latitude, longitude)]
    nearest: dict[tuple[str, str], Day] = {}
    for day in found:
        key = day.forecast, day.day
        if key not in nearest or _rank(day, latitude, longitude) < _rank(nearest[key], latitude, longitude):
            nearest[key] = day
    return list(nearest.values())


def _rank(day: Day, latitude: float | None, longitude: float | None) -> tuple[bool, float, int]:
    return not day.place.site, day.place.distance(latitude, longitude), day.number


def _touched(connection: Connection, tenant: str, days: list[Day]) -> list[str]:
    """References of the open bookings at the places of these days, in their periods."""
    if not days:
        return []
    h, first, last = booking_heads.c, max(today(), min(d.day for d in days)), max(d.day for d in days)
    query = select(h.reference, h.site, h.latitude, h.longitude).where(
        *open_bookings(), h.tenant == tenant, h.period_from <= last, h.period_to >= first
    )
    places = list(dict.fromkeys(d.place for d in days))
    sites = {p.site for p in places if p.site}
    points = [p for p in places if not p.site]
    return [
        row.reference
        for row in connection.execute(query)
        if site_key(row.site) in sites or any(p.holds("", row.latitude, row.longitude) for p in points)
    ]


def _days_of(connection: Connection, tenant: str, forecast: str) -> Iterator[Day]:
    c = forecast_days.c
    return map(_day, connection.execute(select(forecast_days).where(c.tenant == tenant, c.forecast == forecast)).all())


def _forget(connection: Connection, tenant: str, forecast: str) -> None:
    c = forecast_days.c
    connection.execute(delete(forecast_days).where(c.tenant == tenant, c.forecast == forecast))


def _found(connection: Connection, tenant: str, forecast: str) -> Forecast | None:
    f = forecasts.c
    row = connection.execute(select(forecasts).where(f.tenant == tenant, f.id == forecast)).first()
    if row is None:
        return None
    return Forecast(row.id, row.version, row.document, row.etag, row.first_day, row.last_day, row.created_at)


def _row(tenant: str, forecast: str, day: Day) -> dict[str, Any]:
    return {
        "tenant": tenant,
        "forecast": forecast,
        "place": day.number,
        "day": day.day,
        "site": day.place.site,
        "latitude": day.place.latitude,
        "longitude": day.place.longitude,
        "reach": day.place.reach,
        "hottest": day.hottest,
        "coldest": day.coldest,
        "wind": day.wind,
        "gust": day.gust,
    }


def _day(row: Any) -> Day:
    place = Place(row.site, row.latitude, row.longitude, row.reach)
    return Day(row.place, place, row.day, row.hottest, row.coldest, row.wind, row.gust, row.forecast)


def extreme(values: Iterable[float | None], *, high: bool) -> float | None:
    """The greatest or the least of what is known."""
    known = [value for value in values if value is not None]
    return (max(known) if high else min(known)) if known else None
