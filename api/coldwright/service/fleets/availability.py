"""`GET /v1/availability`: what is free of a fleet, by type and day, and who holds the rest."""

import datetime
from collections.abc import Iterator
from typing import Annotated

import msgspec
from litestar import Response
from msgspec import UNSET, Meta, Struct, UnsetType

from coldwright.contract.refusal import field_error
from coldwright.registry import Registry
from coldwright.service.bookings.stock import counts_of
from coldwright.service.fleets.resource import fleet_type
from coldwright.service.http.endpoint import Asked, Endpoint, Parameter, Reply
from coldwright.service.http.problems import ProblemRaised
from coldwright.service.http.replies import json_reply
from coldwright.service.state import Services
from coldwright.store.bookings import Period
from coldwright.store.bookings.stock import Holding, holdings
from coldwright.store.fleets import get_fleet

MOST_DAYS = 366
_DAY = {"type": "string", "format": "date", "maxLength": 10}
Day = Annotated[str, Meta(extra_json_schema={"format": "date"})]
Count = Annotated[int, Meta(ge=0, le=2**31)]


class DayCount(Struct, frozen=True, kw_only=True):
    """One item on one day."""

    day: Annotated[Day, Meta(description="The day.")]
    free: Annotated[Count, Meta(description="What can still be booked; 0 where more is held than there is.")]
    held: Annotated[Count, Meta(description="What bookings hold, days of turnaround included.")]
    out: Annotated[Count, Meta(description="What is out of service.")]


class Holder(Struct, frozen=True, kw_only=True):
    """Who keeps some of an item from others."""

    count: Annotated[Count, Meta(description="How many.")]
    first: Annotated[Day, Meta(description="First day.")]
    last: Annotated[Day, Meta(description="Last day, turnaround included.")]
    reference: Annotated[str, Meta(description="The booking; absent: a machine out of service.")] | UnsetType = UNSET
    serial: Annotated[str, Meta(description="The machine out of service.")] | UnsetType = UNSET


class ItemAvailability(Struct, frozen=True, kw_only=True):
    """One type of machine, or one accessory."""

    item: Annotated[str, Meta(description="The type, or the item.")]
    count: Annotated[Count, Meta(description="What the fleet has in all.")]
    days: Annotated[tuple[DayCount, ...], Meta(description="Day by day.")]
    holders: Annotated[tuple[Holder, ...], Meta(description="Who holds some of it in these days.")]


class Availability(Struct, frozen=True, kw_only=True):
    """What is free of a fleet."""

    fleet: Annotated[str, Meta(description="Id of the fleet.")]
    version: Annotated[int, Meta(ge=1, le=2**31, description="Its version.")]
    machines: Annotated[tuple[ItemAvailability, ...], Meta(description="Types of machine, in the order of the fleet.")]
    accessories: Annotated[
        tuple[ItemAvailability, ...],
        Meta(description="Accessories, where they were asked for with `accessories=true`."),
    ]


async def _get(asked: Asked) -> Response[bytes]:
    period, services, tenant = _period(asked), asked.services, asked.caller.tenant
    named = asked.query("fleet") or ""
    fleet = await services.stored(get_fleet, services.database, tenant, named)
    if fleet is None:
        raise ProblemRaised("not-found", f"There is no fleet {named!r}.")
    counts = counts_of(msgspec.json.decode(fleet.document))
    held = await services.stored(holdings_in, services, tenant, named, period)
    wanted = ("machine", "accessory") if asked.query("accessories") == "true" else ("machine",)
    items = {kind: tuple(items_of(kind, counts, held, period)) for kind in wanted}
    return json_reply(
        Availability(
            fleet=named, version=fleet.version, machines=items["machine"], accessories=items.get("accessory", ())
        )
    )


def holdings_in(services: Services, tenant: str, fleet: str, period: Period) -> list[Holding]:
    """Who holds what of a fleet in a period. For callers that may block."""
    with services.database.reading() as connection:
        return holdings(connection, tenant, fleet, period)


def _period(asked: Asked) -> Period:
    first, last = asked.query("from") or "", asked.query("to") or ""
    days = (datetime.date.fromisoformat(last) - datetime.date.fromisoformat(first)).days
    if 0 <= days < MOST_DAYS:
        return Period(first, last)
    text = "The last day is before the first." if days < 0 else f"At most {MOST_DAYS} days are shown at once."
    raise ProblemRaised(
        "refused-input", text, errors=(field_error("/query/to", text, code="out_of_range", value=last),)
    )


def items_of(kind: str, counts: dict[str, int], held: list[Holding], period: Period) -> Iterator[ItemAvailability]:
    """Every item of a kind, day by day."""
    start = datetime.date.fromisoformat(period.first)
    length = (datetime.date.fromisoformat(period.last) - start).days + 1
    days = [(start + datetime.timedelta(days=n)).isoformat() for n in range(length)]
    for item, count in counts.items():
        if item.partition(":")[0] != kind:
            continue
        mine = [h for h in held if h.item == item]
        yield ItemAvailability(
            item=item.partition(":")[2],
            count=count,
            days=tuple(_on(day, count, mine) for day in days),
            holders=tuple(_holder(h) for h in sorted(mine, key=lambda h: (h.first, h.reference, h.serial))),
        )


def _on(day: str, count: int, mine: list[Holding]) -> DayCount:
    held = sum(h.count for h in mine if h.reference and h.first <= day <= h.last)
    out = sum(h.count for h in mine if not h.reference and h.first <= day <= h.last)
    return DayCount(day=day, free=max(0, count - held - out), held=held, out=out)


def _holder(holding: Holding) -> Holder:
    return Holder(
        count=holding.count,
        first=holding.first,
        last=holding.last,
        reference=holding.reference or UNSET,
        serial=holding.serial or UNSET,
    )


def endpoints(registry: Registry) -> list[Endpoint]:
    """The address; none where no plugin knows what a fleet is."""
    if fleet_type(registry) is None:
        return []
    return [
        Endpoint(
            method="GET",
            path="/v1/availability",
            operation_id="getAvailability",
            summary="What is free, by type and day",
            tag="plans",
            scope="book",
            handler=_get,
            replies={200: Reply("What is free, and who holds the rest.", Availability)},
            parameters=(
                Parameter("fleet", "query", "Id of the fleet.", {"type": "string", "maxLength": 100}, required=True),
                Parameter("from", "query", "First day.", _DAY, required=True),
                Parameter("to", "query", "Last day, counted in.", _DAY, required=True),
                Parameter(
                    "accessories", "query", "`true`: accessories too.", {"type": "string", "enum": ["true", "false"]}
                ),
            ),
            problems=("not-found", "refused-input", "store-unavailable"),
        )
    ]
