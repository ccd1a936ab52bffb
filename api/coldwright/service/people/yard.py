"""The yard: the dispatcher's morning. What no longer holds and which start waits, worst first; what is free when."""

import datetime
from typing import Any

import msgspec
from litestar import Response

from coldwright.contract.people import count_of
from coldwright.registry import Registry
from coldwright.service.bookings.listing import BookingEntry, entry_of
from coldwright.service.bookings.stock import counts_of
from coldwright.service.fleets.availability import holdings_in, items_of
from coldwright.service.http.endpoint import Asked, Endpoint, Parameter
from coldwright.service.people.addresses import page_at
from coldwright.service.people.calendar import rows, weeks
from coldwright.service.people.shell import shown
from coldwright.service.people.skies import skies
from coldwright.service.people.starts import StartCard, cards_on_site
from coldwright.store.bookings import Filter, Period, list_bookings
from coldwright.store.fleets import get_fleet, list_fleets

WEEKS = 8
MOST_BOOKINGS = 100
MOST_FLEETS = 50
_DAY = {"type": "string", "format": "date", "maxLength": 10}
FLEET = Parameter(
    "fleet", "query", "Id of the fleet; the first one where it is left out.", {"type": "string", "maxLength": 100}
)
FROM = Parameter("from", "query", "First day of the calendar; Monday of this week where it is left out.", _DAY)


async def _get(asked: Asked) -> Response[bytes]:
    services, tenant = asked.services, asked.caller.tenant
    today = services.now().date()
    sent = asked.query("from")
    first = datetime.date.fromisoformat(sent) if sent else today - datetime.timedelta(days=today.weekday())
    period = Period(first.isoformat(), (first + datetime.timedelta(days=7 * WEEKS - 1)).isoformat())
    failing = await _bookings(asked, Filter(first=today.isoformat(), holds=False, sort="worst"))
    in_period = await _bookings(asked, Filter(first=period.first, last=period.last))
    looks = {e.reference: "quote" if e.state == "quote" else "bar" for e in in_period}
    looks |= {e.reference: "fails" for e in failing}
    fleets = [name for name, _ in await services.stored(list_fleets, services.database, tenant, "", MOST_FLEETS)]
    fleet = asked.query("fleet") or next(iter(fleets), "")
    starts: list[StartCard] = []
    if "field" in asked.caller.scopes:
        starts = await cards_on_site(asked)
    tomorrow = (today + datetime.timedelta(days=1)).isoformat()
    ahead = await _bookings(asked, Filter(first=tomorrow)) if starts else []
    coming = {e.reference: e.period_from for e in ahead if e.period_from >= tomorrow}
    now_or_later = [e for e in in_period if e.period_to >= today.isoformat()]
    beyond = await skies(asked, list({e.reference: e for e in (*failing, *now_or_later)}.values()))
    calendar = await _calendar(asked, fleet, period, first, today.isoformat(), looks)
    week = datetime.timedelta(days=7)
    return await shown(
        asked,
        "yard.html",
        today=f"{today:%a %d %B %Y}",
        counts=_counts(failing, starts, in_period),
        failing=failing,
        skies=beyond,
        starts=[card for card in starts if card.booking not in coming],
        to_come=[(card, coming[card.booking]) for card in starts if card.booking in coming],
        bookings=in_period,
        fleets=fleets,
        fleet=fleet,
        calendar=calendar,
        weeks=weeks(first, 7 * WEEKS),
        days=7 * WEEKS,
        earlier=(first - week).isoformat(),
        later=(first + week).isoformat(),
        now=today.isoformat(),
    )


def _counts(
    failing: list[BookingEntry], starts: list[StartCard], bookings: list[BookingEntry]
) -> list[tuple[int, str]]:
    by_state: dict[str, int] = {}
    for start in starts:
        by_state[start.word] = by_state.get(start.word, 0) + 1
    return [
        (len(failing), "no longer " + ("holds" if len(failing) == 1 else "hold")),
        *((n, word.lower()) for word, n in by_state.items()),
        (len(bookings), count_of(len(bookings), "booking").partition(" ")[2] + " in these weeks"),
    ]


async def _bookings(asked: Asked, wanted: Filter) -> list[BookingEntry]:
    services = asked.services
    heads = await services.stored(list_bookings, services.database, asked.caller.tenant, wanted, (), MOST_BOOKINGS)
    return [entry for head in heads if (entry := entry_of(head)).state not in ("cancelled", "returned")]


async def _calendar(
    asked: Asked, named: str, period: Period, first: datetime.date, today: str, looks: dict[str, str]
) -> list[Any]:
    services, tenant = asked.services, asked.caller.tenant
    fleet = await services.stored(get_fleet, services.database, tenant, named) if named else None
    if fleet is None:
        return []
    held = await services.stored(holdings_in, services, tenant, named, period)

    def made() -> list[Any]:
        items = tuple(items_of("machine", counts_of(msgspec.json.decode(fleet.document)), held, period))
        return rows(items, first, today, looks)

    return await services.apart(made)


def endpoints(registry: Registry) -> list[Endpoint]:
    """The address; none where nobody assesses orders."""
    if registry.role("booking") is None:
        return []
    return [page_at("/yard", "Yard", "book", _get, FLEET, FROM)]
