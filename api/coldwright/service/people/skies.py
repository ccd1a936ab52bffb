"""Forecasts that go beyond what plans were made for, on the yard: those that break a plan first."""

from typing import NamedTuple

from coldwright.contract.people import prose
from coldwright.service.bookings.listing import BookingEntry
from coldwright.service.bookings.order import Order
from coldwright.service.bookings.sky import beyond_plan, lift_limit, sky_over, under
from coldwright.service.http.endpoint import Asked
from coldwright.store.bookings import get_booking
from coldwright.store.bookings.checks import waiting_for_checks
from coldwright.store.forecasts import list_forecasts

BREAKS, WAITS, HOLDS = "breaks the plan", "being checked", "the plan still goes"
RANK = (BREAKS, WAITS, HOLDS)


class SkyCard(NamedTuple):
    """An order whose site is expected to be hotter or colder than it was planned for, or too windy to lift."""

    reference: str
    href: str
    site: str
    expected: str
    """What is forecast, on which day, and what was planned for."""
    state: str
    """One of `RANK`."""


async def skies(asked: Asked, entries: list[BookingEntry]) -> list[SkyCard]:
    """Of these bookings; nothing is looked up where nobody has put a forecast."""
    services, tenant = asked.services, asked.caller.tenant
    if not await services.stored(list_forecasts, services.database, tenant, "", 1):
        return []
    waiting = await services.stored(waiting_for_checks, services.database, tenant)
    cards = []
    for entry in entries:
        booking = await services.stored(get_booking, services.database, tenant, entry.reference, entry.revision)
        order = Order(booking.document) if booking else None
        sky = await sky_over(services, tenant, order) if order else None
        if booking is None or order is None or sky is None:
            continue
        limit = await lift_limit(services, tenant, order, booking.digest)
        if under(order, sky, limit) is None:
            continue
        state = WAITS if entry.reference in waiting else HOLDS if entry.holds else BREAKS
        text = prose(beyond_plan(order, sky, limit))
        cards.append(SkyCard(entry.reference, entry.href, entry.site, text[:1].upper() + text[1:], state))
    return sorted(cards, key=lambda card: (RANK.index(card.state), card.reference))
