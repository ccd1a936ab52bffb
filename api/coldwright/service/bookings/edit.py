"""`PUT /v1/bookings/{reference}`: a booking is made, or changed; what does not go gives nothing away."""

import contextlib
from collections.abc import AsyncIterator, Iterator
from datetime import UTC, datetime

import msgspec
from litestar import Response
from msgspec import Struct

from coldwright.contract import Refused
from coldwright.contract.reading import read
from coldwright.registry import Served
from coldwright.service.bookings.assessing import Assessed, assess, led_to_fleet
from coldwright.service.bookings.order import Order, order_of
from coldwright.service.bookings.replies import Shown, body_of, booking_reply, shown_reply
from coldwright.service.http.body import is_long, raw_body
from coldwright.service.http.endpoint import Asked
from coldwright.service.http.preconditions import condition_of, precondition_problems, status_of
from coldwright.service.http.problems import ProblemRaised
from coldwright.service.http.replies import wanted_units
from coldwright.service.resources.records import two_answers
from coldwright.service.state import Services
from coldwright.store.bookings import (
    Head,
    NotPossible,
    StockTaken,
    Wanted,
    judge_booking,
    present,
    put_booking,
)
from coldwright.store.bookings.keep import as_revision, next_head
from coldwright.store.bookings.listing import Beside
from coldwright.store.conditions import Condition, Done
from coldwright.store.records import OtherAnswerKept

TRIES = 8
"""How often an order is assessed anew when others take its stock meanwhile."""


async def put(asked: Asked, served: Served, expected: type[Struct]) -> Response[bytes]:
    """Assess an order with the stock that is free, and keep it; or only say what would come of it (`dry_run`)."""
    body, long = await raw_body(asked), await is_long(asked)
    order, sent = await asked.services.apart(_read, expected, body, asked.path("reference"), long=long)
    if asked.query("dry_run") == "true":
        return await _try(asked, served, order, sent)
    await asked.services.kept.refuse_more(asked.caller.tenant)
    return await _keep(asked, served, order, sent)


def _read(expected: type[Struct], body: bytes, reference: str) -> tuple[Order, bytes]:
    return order_of(read(expected, body), reference), msgspec.json.encode(msgspec.json.decode(body))


async def _keep(asked: Asked, served: Served, order: Order, sent: bytes) -> Response[bytes]:
    accepted = asked.query("accept_unacceptable") == "true"
    with precondition_problems(), state_problems():
        head, done = await keep_order(asked, served, order, sent, condition_of(asked), accepted=accepted)
    return await booking_reply(asked, served, head, status_of(done), head.revision)


async def keep_order(
    asked: Asked, served: Served, order: Order, sent: bytes, condition: Condition, *, accepted: bool = False
) -> tuple[Head, Done]:
    """Assess an order and keep it, again and again while others take the stock that it was assessed with.

    Raises `Changed`, `Unconditional`, `NotPossible`, or a problem.
    """
    services, tenant, reference = asked.services, asked.caller.tenant, order.reference
    head, done = await services.stored(judge_booking, services.database, tenant, reference, order.document, condition)
    if done == "unchanged" and head is not None and head.standing == head.revision:
        return head, done
    for _ in range(TRIES):
        assessed = await _assessed(asked, served, order)
        wanted = wanted_of(order, assessed, sent, stands=assessed.acceptable or accepted)
        try:
            async with problem_of_two_answers(services):
                return await services.stored(
                    put_booking, services.database, tenant, reference, wanted, condition, who(asked)
                )
        except StockTaken:
            continue
    raise ProblemRaised("conflict", "Other orders keep taking the stock of this one. Nothing was kept; send it again.")


async def _assessed(asked: Asked, served: Served, order: Order) -> Assessed:
    try:
        return await assess(asked.services, served, asked.caller.tenant, order, order.reference)
    except Refused as refused:
        raise led_to_fleet(refused, order) from None


def who(asked: Asked) -> str:
    """Whom the record of a change names."""
    return asked.caller.person or asked.caller.id


def wanted_of(order: Order, assessed: Assessed, sent: bytes, *, stands: bool) -> Wanted:
    """What is kept of an order and its assessment."""
    return Wanted(
        order.document,
        assessed.record,
        order.period,
        order.site,
        order.fleet_id,
        assessed.taking,
        stands=stands,
        fleet_version=assessed.fleet_version,
        sent=sent,
        customer=order.customer,
        labels=order.labels,
        wished=order.wished,
        held_until=order.held_until,
        position=order.position,
        rests_on=assessed.rests_on,
    )


@contextlib.asynccontextmanager
async def problem_of_two_answers(services: Services) -> AsyncIterator[None]:
    """Turn the store's word that another answer is kept to the same question into a problem that holds both."""
    try:
        yield
    except OtherAnswerKept as other:
        raise await services.apart(two_answers, other.kept, other.now) or ProblemRaised(
            "conflict", str(other)
        ) from None


@contextlib.contextmanager
def state_problems() -> Iterator[None]:
    """Turn the store's word on a booking's state into a problem."""
    try:
        yield
    except NotPossible as error:
        raise ProblemRaised("conflict", str(error)) from None


async def _try(asked: Asked, served: Served, order: Order, sent: bytes) -> Response[bytes]:
    """Everything that keeping it would answer, and nothing kept. Without `If-Match` any state will do."""
    services, tenant, reference = asked.services, asked.caller.tenant, asked.path("reference")
    condition = condition_of(asked)
    with precondition_problems(), state_problems():
        before = await services.stored(present, services.database, tenant, reference)
        if before is not None and not condition.if_match and not condition.only_new:
            condition = Condition(("*",))
        head, done = await services.stored(
            judge_booking, services.database, tenant, reference, order.document, condition
        )
        if done == "unchanged" and head is not None and head.standing == head.revision:
            return await booking_reply(asked, served, head, 200, head.revision, {"dry_run": True})
        assessed = await _assessed(asked, served, order)
        stands = assessed.acceptable or asked.query("accept_unacceptable") == "true"
        wanted = wanted_of(order, assessed, sent, stands=stands)
        head = next_head(before, reference, wanted, datetime.now(UTC))
    booking = as_revision(head, wanted)
    units = wanted_units(asked)
    answer = await services.engine.in_units(served, wanted.assessment.answer, units)
    labels = Beside(dict(order.labels), [])
    body = await body_of(asked, head, Shown(booking, labels, answer, units), {"dry_run": True})
    return shown_reply(asked, body, 200, {"Vary": "Accept"})
