"""The steps of a booking's life: hold, confirm, deliver, return, cancel."""

import datetime
from typing import Annotated

from litestar import Response
from msgspec import UNSET, Meta, Struct, UnsetType

from coldwright.contract.fields import TEXT_PATTERN
from coldwright.contract.reading import read
from coldwright.registry import Served
from coldwright.service.bookings.assessing import planned, stock_for
from coldwright.service.bookings.edit import state_problems, who
from coldwright.service.bookings.read import head_asked
from coldwright.service.bookings.replies import booking_reply
from coldwright.service.http.body import NOTHING, is_long, raw_body
from coldwright.service.http.endpoint import Asked
from coldwright.service.http.instants import still_to_come
from coldwright.service.http.preconditions import condition_of, precondition_problems
from coldwright.service.http.problems import ProblemRaised
from coldwright.store.bookings import Head, StockTaken, Taking, get_booking
from coldwright.store.bookings.life import Door, Step, move_booking

Reason = Annotated[str, Meta(max_length=500, pattern=TEXT_PATTERN, description="Why; kept with the step.")]


class StepAsked(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A step of a booking's life."""

    reason: Reason = ""


class HoldAsked(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Stock to be held."""

    reason: Reason = ""
    until: (
        Annotated[datetime.datetime, Meta(tz=True, description="When the hold lapses; not given: never.")] | UnsetType
    ) = UNSET


class CancelAsked(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A booking that is not to be."""

    reason: Annotated[str, Meta(min_length=1, max_length=500, pattern=TEXT_PATTERN, description="Why it is cancelled.")]


BODIES: dict[Door, type[Struct]] = {
    "hold": HoldAsked,
    "confirm": StepAsked,
    "deliver": StepAsked,
    "return": StepAsked,
    "cancel": CancelAsked,
}


async def step(asked: Asked, served: Served, door: Door) -> Response[bytes]:
    """Take a booking one step on, with what its plan takes where that is to be held anew."""
    services, tenant, reference = asked.services, asked.caller.tenant, asked.path("reference")
    head = await head_asked(asked)
    wanted = await _step_asked(asked, door)
    if door == "hold":
        wanted = await _with_stock(asked, head, wanted)
    try:
        with precondition_problems(), state_problems():
            moved = await services.stored(
                move_booking, services.database, tenant, reference, wanted, condition_of(asked)
            )
    except StockTaken as taken:
        item = str(taken).partition(":")[2]
        text = f"Not enough is free any more of {item!r}. Nothing was changed; a re-check finds another plan."
        raise ProblemRaised("conflict", text) from None
    if moved is None:
        raise ProblemRaised("not-found", "There is no booking of that reference.")
    return await booking_reply(asked, served, moved[0], 200)


async def _step_asked(asked: Asked, door: Door) -> Step:
    """The body; generated clients send `null` where nothing of it is given."""
    body = await raw_body(asked)
    if body.strip() in (b"", b"null"):
        body = NOTHING
    sent = await asked.services.apart(read, BODIES[door], body, long=await is_long(asked))
    until = getattr(sent, "until", UNSET)
    if until is not UNSET:
        until = still_to_come("/until", until)
    return Step(door, getattr(sent, "reason", ""), None if until is UNSET else until, Taking(), who(asked))


async def _with_stock(asked: Asked, head: Head, wanted: Step) -> Step:
    """What the plan that stands would take, and what the fleet of today has of it."""
    services, tenant = asked.services, asked.caller.tenant
    booking = await services.stored(get_booking, services.database, tenant, head.reference, head.shown)
    if booking is None or not head.fleet or not head.standing:
        return wanted
    held = await planned(services, tenant, booking.digest)
    stock = await stock_for(services, tenant, head.fleet, head.period, head.reference)
    return Step(wanted.door, wanted.reason, wanted.held_until, stock.taking(held), wanted.caller)
