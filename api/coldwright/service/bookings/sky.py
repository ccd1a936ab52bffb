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
from coldwright.store.forecasts import days_at

DESIGN, LOWEST = "design_ambient_temperature", "lowest_ambient_temperature"


class SkyTaken(Struct, frozen=True, kw_only=True):
    """What is forecast for a booking in the rest of its period."""

    forecasts: Annotated[tuple[str, ...], Meta(description="Ids of the forecasts.")]
    hottest: Annotated[Temperature, Meta(description="Hottest air.")] | UnsetType = UNSET
    coldest: Annotated[Temperature, Meta(description="Coldest air.")] | UnsetType = UNSET
    gust: Annotated[Speed, Meta(description="Strongest gust.")] | UnsetType = UNSET
    wind_note: (
        Annotated[str, Meta(description="What the gust is to be compared with, since no rule of the plan takes it.")]
        | UnsetType
    ) = UNSET
    more_than_planned: Annotated[
        bool, Meta(description="Whether it is hotter or colder than the order was planned for.")
    ]


async def sky_over(services: Services, tenant: str, order: Order) -> Sky | None:
    """What is forecast for the rest of an order's period; None where nothing is."""
    period = Period(max(order.period.first, today()), order.period.last)
    if period.first > period.last or not (order.site or order.position):
        return None
    latitude, longitude = order.position or (None, None)
    return sky_of(await services.stored(days_at, services.database, tenant, order.site, latitude, longitude, period))


def taken_of(sky: Sky, *, more: bool) -> SkyTaken:
    """As a reply shows it."""
    return SkyTaken(
        forecasts=sky.forecasts,
        hottest=UNSET if sky.hottest is None else Temperature.of(sky.hottest, "degC"),
        coldest=UNSET if sky.coldest is None else Temperature.of(sky.coldest, "degC"),
        gust=UNSET if sky.gust is None else Speed.of(sky.gust, "m/s"),
        wind_note=UNSET if sky.gust is None else _of_wind(sky.gust, sky.gust_day),
        more_than_planned=more,
    )


def _of_wind(gust: float, day: str) -> str:
    """A plan has no wind limits: those of a lift are the chart's of the crane that comes, which no order states."""
    return (
        f"Gusts to {gust:.3g} m/s ({gust * MPH:.3g} mph) on {day}. The plan was not compared with the wind: the limit of a lift "
        "is on the chart of the crane that comes, and how machines, barriers and hoses on the site stand in it is for the crew "
        "to see."
    )


MPH = 2.2369
"""Miles an hour in a metre a second."""


def under(order: Order, sky: Sky) -> Order | None:
    """The order in the air that is forecast; None where it was planned for as much."""
    site = order.plain["site"]
    changed: dict[str, Any] = {}
    if sky.hottest is not None and sky.hottest > _degrees(site[DESIGN]):
        changed[DESIGN] = {"value": sky.hottest, "unit": "degC"}
    known = site.get(LOWEST)
    if sky.coldest is not None and (known is None or sky.coldest < _degrees(known)):
        changed[LOWEST] = {"value": sky.coldest, "unit": "degC"}
    if not changed or (set(changed) == {LOWEST} and known is None and sky.coldest is not None and sky.coldest > MILD):
        return None
    document = msgspec.json.decode(order.document)
    document["site"] = document["site"] | changed
    return Order(msgspec.json.encode(document))


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


def beyond_plan(order: Order, sky: Sky) -> str:
    """What is forecast beyond what was planned, in a sentence's words."""
    site, parts = order.plain["site"], []
    if sky.hottest is not None and sky.hottest > _degrees(site[DESIGN]):
        parts.append(f"{_both(sky.hottest)} on {sky.hottest_day}, planned for {_both(_degrees(site[DESIGN]))}")
    known = site.get(LOWEST)
    if sky.coldest is not None and (known is None or sky.coldest < _degrees(known)):
        planned = "not given" if known is None else _both(_degrees(known))
        parts.append(f"{_both(sky.coldest)} on {sky.coldest_day}, the coldest planned for: {planned}")
    return f"forecast {', '.join(sky.forecasts)}: {'; '.join(parts)}"


def _degrees(value: Mapping[str, Any]) -> float:
    return convert(Temperature, value).to("degC")


def _both(degrees: float) -> str:
    return f"{degrees:.3g} degC ({degrees * 1.8 + 32:.3g} degF)"
