"""`/v1/bookings`: orders by the caller's own reference, with revisions, assessed against the stock that is free."""

import time
from collections.abc import Mapping
from typing import Annotated, Any, Literal, cast

import msgspec
from litestar import Response
from msgspec import UNSET, Meta, Struct, UnsetType, defstruct

from coldwright.contract import Refused, refuse
from coldwright.contract.answer import Outcome
from coldwright.contract.evaluation import canonical
from coldwright.contract.reading import convert, read
from coldwright.registry import Registry, Served
from coldwright.registry.answers import answer_type
from coldwright.service.bookings.stock import counts_of, free_counts, held_items, with_counts
from coldwright.service.exploration.pointers import Origin, led_back
from coldwright.service.fleets.resource import NAME
from coldwright.service.http.body import is_long, raw_body
from coldwright.service.http.endpoint import UNITS, Asked, Endpoint, Parameter, Reply
from coldwright.service.http.instants import instant
from coldwright.service.http.negotiation import represent, wanted_form
from coldwright.service.http.paging import PAGE_PARAMETERS, page_size, page_start, token_after
from coldwright.service.http.preconditions import (
    PRECONDITION_PROBLEMS,
    PRECONDITIONS,
    condition_of,
    preconditions_told,
    status_of,
)
from coldwright.service.http.problems import ProblemRaised, refused_input
from coldwright.service.http.replies import encode, json_reply, wanted_units
from coldwright.service.pages import sheet_of
from coldwright.service.resources.records import instant_text
from coldwright.sheets import MEDIA_TYPES, Occasion
from coldwright.store.bookings import (
    Booking,
    Filter,
    Period,
    StockTaken,
    Wanted,
    get_booking,
    judge_booking,
    list_bookings,
    put_booking,
    taken,
)
from coldwright.store.fleets import Fleet, get_fleet
from coldwright.store.records import Record, get_record

TRIES = 8
"""How often an order is assessed anew when others take its stock meanwhile."""


class BookingEntry(Struct, frozen=True, kw_only=True):
    """An order in the list: its newest revision."""

    reference: Annotated[str, Meta(description="Your order number.")]
    revision: Annotated[int, Meta(ge=1, le=2**31, description="Newest revision.")]
    outcome: Annotated[Outcome, Meta(description="Outcome of its assessment.")]
    period_from: Annotated[str, Meta(description="First day.")]
    period_to: Annotated[str, Meta(description="Last day.")]
    site: Annotated[str, Meta(description="Name of the site; empty where the order has none.")]
    href: Annotated[str, Meta(description="Its address.")]


class BookingList(Struct, frozen=True, kw_only=True):
    """A page of the orders."""

    bookings: Annotated[tuple[BookingEntry, ...], Meta(description="By first day, then reference.")]
    next_page_token: Annotated[str, Meta(description="Absent on the last page.")] | UnsetType = UNSET


def kept_booking_type(served: Served) -> type[Struct]:
    """The reply to a PUT or GET."""
    fields: list[Any] = [
        ("reference", Annotated[str, Meta(description="Your order number.")]),
        ("revision", Annotated[int, Meta(ge=1, le=2**31, description="Counts up from 1.")]),
        ("created_at", Annotated[str, instant("When this revision was kept, RFC 3339.")]),
        ("assessment", Annotated[answer_type(served.local), Meta(description="Answer of `booking.assessment`.")]),
    ]
    struct = defstruct("KeptBooking", fields, frozen=True, module="coldwright.service.answers")
    struct.__doc__ = "A revision of an order with its assessment."
    return struct


class Order:
    """What the service needs to know of an order, whatever else the plugin makes of it."""

    def __init__(self, document: bytes) -> None:
        self.document = document
        self.plain: dict[str, Any] = msgspec.json.decode(document)
        period = self.plain["period"]
        self.period = Period(str(period["from"])[:10], str(period["to"])[:10])
        self.fleet_id: str = self.plain.get("fleet_id", "")
        self.site: str = self.plain.get("site", {}).get("name", "")


async def _put(asked: Asked, served: Served) -> Response[bytes]:
    reference = asked.path("reference")
    body, long = await raw_body(asked), await is_long(asked)
    order = await asked.services.apart(_read, served, body, reference, long=long)
    condition, services, tenant = condition_of(asked), asked.services, asked.caller.tenant
    with preconditions_told():
        present, done = await services.stored(
            judge_booking, services.database, tenant, reference, order.document, condition
        )
        if done == "unchanged" and present is not None:
            return await _reply(asked, served, present, 200)
        for _ in range(TRIES):
            try:
                wanted = await _assessed(asked, served, order)
            except Refused as refused:
                raise _led_to_fleet(refused, order) from None
            try:
                kept, done = await services.stored(put_booking, services.database, tenant, reference, wanted, condition)
            except StockTaken:
                continue
            return await _reply(asked, served, kept, status_of(done))
    raise ProblemRaised("conflict", "Other orders keep taking the stock of this one. Nothing was kept; send it again.")


def _read(served: Served, body: bytes, reference: str) -> Order:
    sent = read(served.local.given, body)
    if (named := getattr(sent, "reference", reference)) != reference:
        raise refuse("/reference", f"The address names {reference!r}.", value=named, why="One order has one reference.")
    order = Order(canonical(sent))
    if order.fleet_id and "fleet" in order.plain:
        raise refuse("/fleet", "Give `fleet` or `fleet_id`, not both.", code="either_or")
    return order


def _led_to_fleet(refused: Refused, order: Order) -> ProblemRaised:
    """The refusal, with pointers into a stored fleet leading to the place where the order names it."""
    origin = Origin("/fleet_id", f"It is in the fleet {order.fleet_id!r}.")
    return led_back(refused_input(refused.errors), "", {"/fleet": origin} if order.fleet_id else {})


async def _assessed(asked: Asked, served: Served, order: Order) -> Wanted:
    """The order with its fleet inline and the counts that are free, and what is assessed of it."""
    services, tenant = asked.services, asked.caller.tenant
    fleet, others = None, {}
    if order.fleet_id:
        fleet = await services.stored(get_fleet, services.database, tenant, order.fleet_id)
        if fleet is None:
            text = f"There is no fleet {order.fleet_id!r}: PUT /v1/fleets/{order.fleet_id} first."
            raise refuse("/fleet_id", text, value=order.fleet_id)
        others = await services.stored(
            taken, services.database, tenant, order.fleet_id, order.period, asked.path("reference")
        )
    body, stock = await services.apart(_joined, served, order, fleet, others, long=await is_long(asked))
    judge = served.calculator.id
    began = time.perf_counter()
    evaluated = await services.engine.evaluate(served, body, "metric")
    services.metrics.count_answer(judge, evaluated.outcome, time.perf_counter() - began)
    record = Record(evaluated.digest, judge, served.calculator.version, evaluated.outcome, body, evaluated.body)
    held = {}
    if order.fleet_id and evaluated.outcome != "unacceptable":
        held = await services.apart(_held, evaluated.body)
    return Wanted(order.document, record, order.period, order.site, order.fleet_id, held, stock)


def _joined(
    served: Served, order: Order, fleet: Fleet | None, others: Mapping[str, int]
) -> tuple[bytes, dict[str, int]]:
    """The order with its fleet inline, in its one spelling, and the stock that there is."""
    plain, stock = dict(order.plain), {}
    if fleet is not None:
        document = msgspec.json.decode(fleet.document)
        stock = counts_of(document)
        plain.pop("fleet_id")
        plain["fleet"] = with_counts(document, free_counts(stock, others))
    return canonical(convert(served.local.given, plain)), stock


def _held(answer: bytes) -> dict[str, int]:
    return held_items(msgspec.json.decode(answer)["results"])


async def _reply(asked: Asked, served: Served, booking: Booking, status: int) -> Response[bytes]:
    content = _content(booking, await _assessment(asked, served, booking))
    return json_reply(content, status, {"ETag": f'"{booking.etag}"', "Vary": "Accept"})


async def _assessment(asked: Asked, served: Served, booking: Booking) -> bytes:
    """The answer that was kept with a revision, in the wanted units."""
    services = asked.services
    record = await services.stored(get_record, services.database, asked.caller.tenant, booking.digest)
    if record is None:
        raise ProblemRaised("internal-error", "The assessment of this revision is missing.")
    return await services.engine.in_units(served, record.answer, wanted_units(asked))


def _content(booking: Booking, assessment: bytes) -> bytes:
    content = {
        "reference": booking.reference,
        "revision": booking.revision,
        "created_at": instant_text(booking.created_at),
        "assessment": msgspec.Raw(assessment),
    }
    return encode(content)


async def _get(asked: Asked, served: Served) -> Response[bytes]:
    form = wanted_form(asked)
    revision = _revision(asked.path("revision")) if asked.has_path("revision") else None
    booking = await asked.services.stored(
        get_booking, asked.services.database, asked.caller.tenant, asked.path("reference"), revision
    )
    if booking is None:
        raise ProblemRaised("not-found", "There is no order of that reference and revision.")
    assessment = await _assessment(asked, served, booking)
    return await represent(
        asked,
        form,
        f'"{booking.etag}"',
        body=lambda: _content(booking, assessment),
        sheet=lambda sources: sheet_of(
            asked.services.engine, served, assessment, sources, Occasion(revision=booking.revision)
        ),
        name=f"plan-{booking.reference}-{booking.revision}",
    )


def _revision(text: str) -> int:
    if not (text.isascii() and text.isdigit() and len(text) < 10 and int(text) > 0):
        raise ProblemRaised("not-found", "There is no order of that reference and revision.")
    return int(text)


async def _list(asked: Asked) -> Response[bytes]:
    size, start = page_size(asked), page_start(asked)
    wanted = Filter(
        asked.query("from") or "", asked.query("to") or "", asked.query("site") or "", asked.query("outcome") or ""
    )
    first, _, reference = start.partition("\n")
    rows = await asked.services.stored(
        list_bookings, asked.services.database, asked.caller.tenant, wanted, (first, reference), size + 1
    )
    entries = tuple(
        BookingEntry(
            reference=b.reference,
            revision=b.revision,
            outcome=cast(Outcome, b.outcome),
            period_from=b.period.first,
            period_to=b.period.last,
            site=b.site,
            href=f"/v1/bookings/{b.reference}",
        )
        for b in rows[:size]
    )
    more = len(rows) > size
    token = token_after(f"{entries[-1].period_from}\n{entries[-1].reference}") if more else UNSET
    return json_reply(BookingList(bookings=entries, next_page_token=token))


REFERENCE = Parameter("reference", "path", "Your own order number.", NAME, example="INV-2041")
REVISION = Parameter(
    "revision",
    "path",
    "Number of the revision.",
    {"type": "integer", "format": "int32", "minimum": 1, "maximum": 999_999_999},
)
_DAY = {"type": "string", "format": "date", "pattern": r"^\d{4}-\d{2}-\d{2}$", "maxLength": 10}
_WORDS: tuple[Literal["acceptable", "conditional", "unacceptable"], ...] = ("acceptable", "conditional", "unacceptable")
_FAILURES = ("calculator-defect", "calculator-died", "calculator-resting", "calculator-too-slow")


def endpoints(registry: Registry) -> list[Endpoint]:
    """The addresses of this resource; none where nobody assesses orders."""
    served = registry.role("booking")
    if served is None:
        return []
    kept = kept_booking_type(served)

    async def put(asked: Asked) -> Response[bytes]:
        return await _put(asked, served)

    async def get(asked: Asked) -> Response[bytes]:
        return await _get(asked, served)

    return [
        Endpoint(
            method="GET",
            path="/v1/bookings",
            operation_id="listBookings",
            summary="List the orders",
            tag="plans",
            scope="book",
            handler=_list,
            replies={200: Reply("A page of the list.", BookingList)},
            parameters=(
                Parameter("from", "query", "Only orders that last until this day or longer.", _DAY),
                Parameter("to", "query", "Only orders that begin on this day or before.", _DAY),
                Parameter(
                    "site", "query", "Only orders of the site of this name.", {"type": "string", "maxLength": 200}
                ),
                Parameter("outcome", "query", "Only orders of this outcome.", {"type": "string", "enum": list(_WORDS)}),
                *PAGE_PARAMETERS,
            ),
            problems=("refused-input", "store-unavailable"),
        ),
        Endpoint(
            method="PUT",
            path="/v1/bookings/{reference}",
            operation_id="putBooking",
            summary="Book an order, or change it",
            description=(
                "Assessed and kept as a new revision. Sending the present order again changes nothing and assesses nothing. "
                "Changing it needs `If-Match`. With `fleet_id` the stock that other orders of an overlapping period hold is "
                "not offered again; an order whose assessment is unacceptable is kept, and holds nothing."
            ),
            tag="plans",
            scope="book",
            handler=put,
            replies={200: Reply("Kept before, or changed.", kept), 201: Reply("Kept as something new.", kept)},
            parameters=(REFERENCE, UNITS, *PRECONDITIONS),
            body=served.local.given,
            examples=served.calculator.examples,
            problems=(*PRECONDITION_PROBLEMS, *_FAILURES, "conflict"),
            large_body=True,
        ),
        Endpoint(
            method="GET",
            path="/v1/bookings/{reference}",
            operation_id="getBooking",
            summary="Read an order's newest revision",
            tag="plans",
            scope="book",
            handler=get,
            replies={
                200: Reply("The order with its assessment.", kept, other_media_types=MEDIA_TYPES),
                304: Reply("You have it already."),
            },
            parameters=(REFERENCE, UNITS),
            problems=("not-found", "not-acceptable", "refused-input", "store-unavailable"),
        ),
        Endpoint(
            method="GET",
            path="/v1/bookings/{reference}/revisions/{revision}",
            operation_id="getBookingRevision",
            summary="Read a revision of an order",
            tag="plans",
            scope="book",
            handler=get,
            replies={
                200: Reply("The revision with its assessment.", kept, other_media_types=MEDIA_TYPES),
                304: Reply("You have it already."),
            },
            parameters=(REFERENCE, REVISION, UNITS),
            problems=("not-found", "not-acceptable", "refused-input", "store-unavailable"),
        ),
    ]
