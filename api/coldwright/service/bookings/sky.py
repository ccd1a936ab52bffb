"""What a forecast makes of an order: the same one in the air that is expected, where that is more than it was planned for."""

from collections.abc import Mapping
from typing import Annotated, Any

import msgspec
from msgspec import UNSET, Meta, Struct, UnsetType

from coldwright.contract.quantities import Speed, Temperature
from coldwright.contract.reading import convert
from coldwright.service.bookings.order import Order
from coldwright.service.forecasts.document import Sky, sky_of
from coldwright.service.state import Services
from coldwright.store.bookings import Period
from coldwright.store.bookings.stock import today
from coldwright.store.forecasts import Day, days_at
from coldwright.store.records import get_record

DESIGN, LOWEST = "design_ambient_temperature", "lowest_ambient_temperature"


class SkyTaken(Struct, frozen=True, kw_only=True):
    """What is forecast for a booking in the rest of its period."""

    forecasts: Annotated[tuple[str, ...], Meta(description="Ids of the forecasts.")]
    hottest: Annotated[Temperature, Meta(description="Hottest air.")] | UnsetType = UNSET
    coldest: Annotated[Temperature, Meta(description="Coldest air.")] | UnsetType = UNSET
    gust: Annotated[Speed, Meta(description="Strongest gust.")] | UnsetType = UNSET
    wind_note: (
        Annotated[
            str,
            Meta(
                description="The wind on the days of lifting beside what the plan allows; where the order does not give the "
                "wind that the crane's chart is for, what the gust is to be compared with."
            ),
        ]
        | UnsetType
    ) = UNSET
    more_than_planned: Annotated[
        bool,
        Meta(
            description="Whether it is hotter or colder than the order was planned for, or windier than its lifts allow."
        ),
    ]


async def sky_over(services: Services, tenant: str, order: Order) -> Sky | None:
    """What is forecast for the rest of an order's period; None where nothing is."""
    period = Period(max(order.period.first, today()), order.period.last)
    if period.first > period.last or not (order.site or order.position):
        return None
    latitude, longitude = order.position or (None, None)
    days = await services.stored(days_at, services.database, tenant, order.site, latitude, longitude, period)
    return sky_of(days, (order.period.first, order.period.last))


async def lift_limit(services: Services, tenant: str, order: Order, digest: str) -> float | None:
    """Gust, m/s, in which the machines of a kept plan may be lifted; None where the order gives no wind of a chart."""
    if WIND_LIMIT not in order.plain.get("access", {}):
        return None
    record = await services.stored(get_record, services.database, tenant, digest)
    return None if record is None else await services.apart(_lift_limit, record.answer)


def _lift_limit(answer: bytes) -> float | None:
    limit = msgspec.json.decode(answer)["results"].get("site", {}).get("lift_wind_limit")
    return None if limit is None else convert(Speed, limit).to("m/s")


def taken_of(sky: Sky, limit: float | None, *, more: bool) -> SkyTaken:
    """As a reply shows it."""
    return SkyTaken(
        forecasts=sky.forecasts,
        hottest=UNSET if sky.hottest is None else Temperature.of(sky.hottest, "degC"),
        coldest=UNSET if sky.coldest is None else Temperature.of(sky.coldest, "degC"),
        gust=UNSET if sky.gust is None else Speed.of(sky.gust, "m/s"),
        wind_note=_of_wind(sky, limit) or UNSET,
        more_than_planned=more,
    )


def _of_wind(sky: Sky, limit: float | None) -> str:
    if limit is not None:
        blows = "No wind is forecast for the days of lifting" if sky.lift is None else _blows(sky.lift)
        return f"{blows}. The machines of the plan may be lifted in gusts up to {_speed(limit)}."
    if sky.gust is None:
        return ""
    return (
        f"Gusts to {_speed(sky.gust)} on {sky.gust_day}. The plan was not compared with the wind: give the wind speed that "
        "the crane's chart is for as `access.crane_wind_limit`. How machines, barriers and hoses on the site stand in it is "
        "for the crew to see."
    )


def _blows(day: Day) -> str:
    if day.gust is not None:
        return f"Gusts to {_speed(day.gust)} on {day.day}, a day of lifting"
    return f"A mean wind to {_speed(day.wind or 0.0)} on {day.day}, a day of lifting"


def _speed(value: float) -> str:
    return f"{value:.3g} m/s ({value * MPH:.3g} mph)"


MPH = 2.2369
"""Miles an hour in a metre a second."""


def under(order: Order, sky: Sky, limit: float | None = None) -> Order | None:
    """The order in the air that is forecast; None where it was planned for as much.

    `limit` is the gust, m/s, in which its machines may be lifted.
    """
    site = order.plain["site"]
    changed: dict[str, Any] = {}
    if sky.hottest is not None and sky.hottest > _degrees(site[DESIGN]):
        changed[DESIGN] = {"value": sky.hottest, "unit": "degC"}
    known = site.get(LOWEST)
    if sky.coldest is not None and (known is None or sky.coldest < _degrees(known)):
        changed[LOWEST] = {"value": sky.coldest, "unit": "degC"}
    if set(changed) == {LOWEST} and known is None and sky.coldest is not None and sky.coldest > MILD:
        changed = {}
    wind = _wind_to_judge(sky, limit)
    if not changed and not wind:
        return None
    document = msgspec.json.decode(order.document)
    document["site"] = document["site"] | changed
    if wind:
        document["access"] = document["access"] | wind
    return Order(msgspec.json.encode(document))


def _wind_to_judge(sky: Sky, limit: float | None) -> dict[str, Any]:
    """Fields of the order; none where even its gusts are below the limit. What gusts a mean wind has the plan knows."""
    day = sky.lift
    if limit is None or day is None:
        return {}
    worst = GUSTS_AT_MOST * (day.wind or 0.0) if day.gust is None else day.gust
    if worst <= limit:
        return {}
    known = {"expected_gust": day.gust, "expected_wind": day.wind}
    return {name: {"value": value, "unit": "m/s"} for name, value in known.items() if value is not None}


def too_windy(sky: Sky, limit: float | None, findings: list[dict[str, Any]]) -> str:
    """Why a plan cannot be lifted in the wind that is forecast; empty where it can."""
    return _of_wind(sky, limit) if any(f["code"] == "wind_above_limit" for f in findings) else ""


GUSTS_AT_MOST = 2.0
"""Of the mean wind they are in: a bound that leaves nothing out."""
WIND_LIMIT = "crane_wind_limit"


MILD = 5.0
"""degC from which a cold that the order does not speak of changes nothing for water in a loop."""


def with_its_liquid(order: Order, results: Mapping[str, Any]) -> Order:
    """The order with the liquid of the plan that was kept: what is in the loop does not follow a forecast."""
    fluid = results.get("fluid")
    if not fluid:
        return order
    document = msgspec.json.decode(order.document)
    kept = {name: fluid[name] for name in ("kind", "mass_fraction") if name in fluid}
    document["fluid"] = {k: v for k, v in document.get("fluid", {}).items() if k not in kept} | kept
    return Order(msgspec.json.encode(document))


def beyond_plan(order: Order, sky: Sky, limit: float | None = None) -> str:
    """What is forecast beyond what was planned, in a sentence's words."""
    site, parts = order.plain["site"], []
    if sky.hottest is not None and sky.hottest > _degrees(site[DESIGN]):
        parts.append(f"{_both(sky.hottest)} on {sky.hottest_day}, planned for {_both(_degrees(site[DESIGN]))}")
    known = site.get(LOWEST)
    if sky.coldest is not None and (known is None or sky.coldest < _degrees(known)):
        planned = "not given" if known is None else _both(_degrees(known))
        parts.append(f"{_both(sky.coldest)} on {sky.coldest_day}, the coldest planned for: {planned}")
    if sky.lift is not None and limit is not None and _wind_to_judge(sky, limit):
        blows = _blows(sky.lift)
        parts.append(f"{blows[:1].lower()}{blows[1:]}, planned for gusts up to {_speed(limit)}")
    return f"forecast {', '.join(sky.forecasts)}: {'; '.join(parts)}"


def _degrees(value: Mapping[str, Any]) -> float:
    return convert(Temperature, value).to("degC")


def _both(degrees: float) -> str:
    return f"{degrees:.3g} degC ({degrees * 1.8 + 32:.3g} degF)"
