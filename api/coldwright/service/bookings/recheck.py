"""Does a plan still hold? Asked by a caller for one booking, and by the service when something has changed."""

from datetime import UTC, datetime
from typing import Annotated, Any

import msgspec
from litestar import Response
from msgspec import UNSET, Meta, Struct, UnsetType
from msgspec.structs import replace

from coldwright.contract import Refused
from coldwright.contract.evaluation import canonical
from coldwright.contract.reading import convert
from coldwright.registry import Served
from coldwright.registry.answers import answer_type
from coldwright.service.bookings.assessing import Assessed, Stock, assess, planned, stock_for
from coldwright.service.bookings.edit import TRIES, problem_of_two_answers, state_problems, wanted_of, who
from coldwright.service.bookings.order import Order
from coldwright.service.bookings.read import head_asked
from coldwright.service.bookings.replies import booking_reply, kept_booking_type
from coldwright.service.bookings.sky import (
    SkyTaken,
    beyond_plan,
    lift_limit,
    sky_over,
    taken_of,
    too_windy,
    under,
    with_its_liquid,
)
from coldwright.service.bookings.stock import held_items, named
from coldwright.service.http.endpoint import Asked
from coldwright.service.http.preconditions import condition_of, precondition_problems
from coldwright.service.http.problems import ProblemRaised
from coldwright.service.http.replies import wanted_units
from coldwright.service.resources.records import differing, two_answers
from coldwright.service.state import Services
from coldwright.store.bookings import Booking, Head, StockTaken, get_booking, put_booking
from coldwright.store.bookings.booking import HOLDING
from coldwright.store.bookings.keep import NOT_POSSIBLE
from coldwright.store.bookings.stock import precedence_of, today
from coldwright.store.conditions import Condition
from coldwright.store.machines import out_with
from coldwright.store.records import get_record

HOLDS, TOO_WINDY, STOCK_SHORT = 0, 1, 2
"""How bad it is: lists show the worst first."""
MOST_NAMED = 5
BESIDE_THE_PLAN = ("asked", "alternatives", "failed_combinations", "types_left_out")
"""Of an assessment: what moves with the stock that others leave, and says nothing of the plan that was chosen."""


class Standing(Struct, frozen=True):
    """How a plan stands today."""

    severity: int
    why: str = ""


def rechecked_type(served: Served, change: Served) -> type[Struct]:
    """The reply to a re-check."""
    fields: list[Any] = [
        (
            "changed",
            Annotated[bool, Meta(description="Whether the plan of today differs; if so it is a new revision.")],
        ),
        (
            "differences",
            Annotated[answer_type(change.local), Meta(description="What differs; absent: nothing.")] | UnsetType,
            UNSET,
        ),
        ("sky", Annotated[SkyTaken, Meta(description="What is forecast there; absent: nothing.")] | UnsetType, UNSET),
    ]
    return kept_booking_type(served, "RecheckedBooking", fields)


async def recheck(asked: Asked, served: Served, change: Served) -> Response[bytes]:
    """Assess a booking with the fleet, stock, rules and forecasts of today; keep a new revision where anything differs."""
    services, tenant, reference = asked.services, asked.caller.tenant, asked.path("reference")
    for _ in range(TRIES):
        head = await head_asked(asked)
        booking = await _revision(services, tenant, head)
        order = Order(booking.document)
        sky = await sky_over(services, tenant, order)
        limit = await lift_limit(services, tenant, order, booking.digest) if sky else None
        hotter = under(order, sky, limit) if sky else None
        more = {"sky": taken_of(sky, limit, more=hotter is not None)} if sky else {}
        try:
            assessed = await assess(services, served, tenant, hotter or order, reference)
        except Refused as refused:
            text = f"The order is refused by the rules of today: {refused.errors[0].detail}"
            raise ProblemRaised("conflict", text) from None
        if await _same_plan(services, tenant, booking, assessed):
            return await booking_reply(asked, served, head, 200, more={"changed": False} | more)
        wanted = wanted_of(order, assessed, booking.sent, stands=assessed.acceptable)
        wanted = replace(wanted, again=True, wished=None, held_until=None)
        condition = condition_of(asked)
        condition = condition if condition.if_match else Condition((head.etag,))
        try:
            with precondition_problems(), state_problems():
                async with problem_of_two_answers(services):
                    kept, _done = await services.stored(
                        put_booking, services.database, tenant, reference, wanted, condition, who(asked)
                    )
        except StockTaken:
            continue
        differences = await _differences(asked, change, booking, assessed)
        said = {"changed": True, "differences": msgspec.Raw(differences)}
        return await booking_reply(asked, served, kept, 200, kept.revision, said | more)
    raise ProblemRaised("conflict", "Other orders keep taking the stock of this one. Nothing was kept; send it again.")


async def _same_plan(services: Services, tenant: str, before: Booking, after: Assessed) -> bool:
    """Whether today's plan says the same as the kept one; what calculators were asked on the way may differ.

    Raises the problem of one question with two answers.
    """
    kept = await services.stored(get_record, services.database, tenant, before.digest)
    if kept is None or kept.answer == after.record.answer:
        return kept is not None
    if kept.digest == after.record.digest and (problem := await services.apart(two_answers, kept, after.record)):
        raise problem
    return await services.apart(_say_the_same, kept.answer, after.record.answer)


def _say_the_same(kept: bytes, now: bytes) -> bool:
    plans = [msgspec.json.decode(answer) for answer in (kept, now)]
    for plan in plans:
        for name in BESIDE_THE_PLAN:
            plan["results"].pop(name, None)
    return not differing(*plans)


async def _differences(asked: Asked, change: Served, before: Booking, after: Assessed) -> bytes:
    services = asked.services
    record = await services.stored(get_record, services.database, asked.caller.tenant, before.digest)
    was = msgspec.json.decode(record.given) if record is not None else msgspec.json.decode(after.record.given)
    given = convert(change.local.given, {"before": was, "after": msgspec.json.decode(after.record.given)})
    evaluated = await services.engine.evaluate(change, canonical(given), "metric")
    return await services.engine.in_units(change, evaluated.body, wanted_units(asked))


async def _revision(services: Services, tenant: str, head: Head) -> Booking:
    booking = await services.stored(get_booking, services.database, tenant, head.reference, head.shown)
    if booking is None:
        raise ProblemRaised("internal-error", "The revision of this booking is missing.")
    return booking


async def standing_of(services: Services, served: Served, tenant: str, head: Head) -> Standing:
    """How the plan that a booking shows stands with the fleet, stock and rules of today.

    Whoever has precedence keeps its stock: on hire before confirmed before held, then the earlier booking.
    """
    booking, state = await _revision(services, tenant, head), head.state_at(datetime.now(UTC))
    order = Order(booking.document)
    before = precedence_of(state, head.created_at, head.reference) if state in HOLDING else ""
    if state == "on_hire" and (out := await _broken_on_hire(services, tenant, order, head)):
        return Standing(STOCK_SHORT, f"What is on hire with it is out of service: {out}.")
    try:
        assessed = await assess(services, served, tenant, order, head.reference, before)
    except Refused as refused:
        return Standing(NOT_POSSIBLE, f"The rules of today refuse the order: {refused.errors[0].detail}")
    if not head.standing:
        return Standing(HOLDS)
    if not assessed.acceptable:
        return Standing(NOT_POSSIBLE, f"With the fleet of today it cannot be carried out: {_stops(assessed)}")
    if order.fleet_id:
        stock = await stock_for(services, tenant, order.fleet_id, order.period, head.reference, before)
        short = _short(await planned(services, tenant, booking.digest), stock)
        if short:
            return Standing(
                STOCK_SHORT, f"Its stock is not all there any more: {short}. A re-check finds another plan."
            )
    return await _under_the_sky(services, served, tenant, head, booking)


async def _broken_on_hire(services: Services, tenant: str, order: Order, head: Head) -> str:
    """Serial numbers of its machines that are out of service for the rest of the hire, with what is noted of each."""
    last = max(order.period.last, today())
    found = await services.stored(out_with, services.database, tenant, order.fleet_id, head.reference, today(), last)
    return ", ".join(f"{serial} ({note})" if note else serial for serial, note in found)


async def _under_the_sky(services: Services, served: Served, tenant: str, head: Head, booking: Booking) -> Standing:
    """How the machines and the liquid of the plan stand in the air that is forecast."""
    order = Order(booking.document)
    sky = await sky_over(services, tenant, order)
    limit = await lift_limit(services, tenant, order, booking.digest) if sky else None
    hotter = under(order, sky, limit) if sky else None
    record = await services.stored(get_record, services.database, tenant, booking.digest) if hotter else None
    if sky is None or hotter is None or record is None:
        return Standing(HOLDS)
    results = await services.apart(_results, record.answer)
    only = held_items(results)
    try:
        assessed = await assess(services, served, tenant, with_its_liquid(hotter, results), head.reference, only=only)
        reason = "" if assessed.acceptable else _stops(assessed)
        windy = too_windy(sky, limit, msgspec.json.decode(assessed.record.answer)["findings"])
    except Refused as refused:
        reason, windy = refused.errors[0].detail, ""
    if not reason:
        return Standing(TOO_WINDY, windy[:800]) if windy else Standing(HOLDS)
    text = f"With what it holds it does not go in the air that is forecast ({beyond_plan(order, sky, limit)}): {reason}"
    return Standing(NOT_POSSIBLE, f"{text[:700]} A re-check finds another plan.")


def _results(answer: bytes) -> dict[str, Any]:
    results: dict[str, Any] = msgspec.json.decode(answer)["results"]
    return results


def _stops(assessed: Assessed) -> str:
    findings = msgspec.json.decode(assessed.record.answer)["findings"]
    return " ".join(f["statement"] for f in findings if f["severity"] == "stop")[:400]


def _short(held: dict[str, int], stock: Stock) -> str:
    counts = stock.counts
    gaps = {item: wanted - max(0, counts.get(item, 0) - stock.others.get(item, 0)) for item, wanted in held.items()}
    short = [f"{missing} of {named(item)}" for item, missing in sorted(gaps.items()) if missing > 0]
    return ", ".join(short[:MOST_NAMED]) + (f" and {len(short) - MOST_NAMED} more" if len(short) > MOST_NAMED else "")
