"""The addresses of bookings."""

from collections.abc import Awaitable, Callable
from dataclasses import replace
from typing import Any

from litestar import Response
from msgspec import Struct

from coldwright.registry import Registry, Served
from coldwright.service.bookings import edit, importing, life, listing, read, recheck
from coldwright.service.bookings.replies import SUMMARY, SUMMARY_JSON, VIEW, kept_booking_type
from coldwright.service.fleets.resource import NAME
from coldwright.service.http.endpoint import BINARY, DETAILS, UNITS, Asked, Endpoint, Parameter, Reply
from coldwright.service.http.languages import LANG
from coldwright.service.http.paging import PAGE_PARAMETERS
from coldwright.service.http.preconditions import PRECONDITION_PROBLEMS, PRECONDITIONS
from coldwright.sheets import MEDIA_TYPES
from coldwright.store.bookings.life import Door

REFERENCE = Parameter("reference", "path", "Your own order number.", NAME, example="INV-2041")
REVISION = Parameter(
    "revision",
    "path",
    "Number of the revision.",
    {"type": "integer", "format": "int32", "minimum": 1, "maximum": 999_999_999},
)
_YES_NO = {"type": "string", "enum": ["true", "false"]}
DRY_RUN = Parameter("dry_run", "query", "`true`: answer everything, keep nothing.", _YES_NO)
ACCEPT = Parameter(
    "accept_unacceptable",
    "query",
    "`true`: let an unacceptable plan stand all the same. It holds nothing: what was held is given back, and the booking is a "
    "quote until its order is changed for one that goes. What is on hire stays out until it is returned.",
    _YES_NO,
)
PAPER = Parameter(
    "paper",
    "query",
    "Of a PDF and of what a browser prints; A4 where it is not given.",
    {"type": "string", "enum": ["a4", "letter"]},
)
MACHINE = Parameter(
    "machine",
    "query",
    "Number of the machine that the sheet is for, in the order of the plan; the whole plant where it is not given.",
    {"type": "integer", "format": "int32", "minimum": 1, "maximum": 10_000},
)
OWN_UNITS = replace(UNITS, description="System of units of the sheet. Default: the one that the order was given in.")
FAILURES = ("calculator-defect", "calculator-died", "calculator-resting", "calculator-too-slow")
SHORT = {SUMMARY_JSON: SUMMARY}
_READING = ("not-found", "refused-input", "store-unavailable")
_IF_MATCH = PRECONDITIONS[:1]
DOORS: tuple[tuple[Door, str, str], ...] = (
    (
        "hold",
        "Hold its stock",
        "From a quote. Takes the stock of the plan that stands, until an instant where one is given.",
    ),
    (
        "confirm",
        "Confirm it",
        "From held. What is held stays held for good, and machines are assigned by serial number.",
    ),
    ("deliver", "Its machines leave the yard", "From confirmed."),
    ("return", "Its machines are back", "From on hire. They stay blocked for the turnaround days of their type."),
    ("cancel", "Cancel it", "From quote, held or confirmed. Everything is given back."),
)


def endpoints(registry: Registry) -> list[Endpoint]:
    """The addresses of this resource; none where nobody assesses orders."""
    served = registry.role("booking")
    if served is None:
        return []
    change, kept = registry.role("booking_change"), kept_booking_type(served)
    return [
        *_lists(served),
        *_one(served, kept),
        *(_door(served, kept, *door) for door in DOORS),
        *([_recheck(served, change)] if change is not None else []),
    ]


def _lists(served: Served) -> list[Endpoint]:
    async def take_in(asked: Asked) -> Response[Any]:
        return await importing.take_in(asked, served, served.local.given)

    return [
        Endpoint(
            method="GET",
            path="/v1/bookings",
            operation_id="listBookings",
            summary="List the bookings",
            tag="plans",
            scope="book",
            handler=listing.listing,
            replies={200: Reply("A page of the list.", listing.BookingList)},
            parameters=(*listing.LIST_PARAMETERS, *PAGE_PARAMETERS),
            problems=("refused-input", "store-unavailable"),
        ),
        Endpoint(
            method="POST",
            path="/v1/bookings/import",
            operation_id="importBookings",
            summary="Take in many orders",
            description=(
                "One order a line (NDJSON, sent as that or as plain bytes), each with its `reference`, each kept or refused "
                "by itself as a PUT would be; "
                "the answer has a line for each, in their order. A booking that is there is changed only with "
                "`replace=true`."
            ),
            tag="plans",
            scope="book",
            handler=take_in,
            replies={200: Reply("A line for each order.", media_type=importing.NDJSON)},
            parameters=(Parameter("replace", "query", "`true`: change bookings that are there.", _YES_NO),),
            body_media_types=(BINARY,),
            unlisted_media_types=(importing.NDJSON,),
            problems=("store-unavailable", "store-full", "storage-used"),
            large_body=True,
        ),
    ]


def _one(served: Served, kept: type[Struct]) -> list[Endpoint]:
    expected = served.local.given

    async def put(asked: Asked) -> Response[bytes]:
        return await edit.put(asked, served, expected)

    async def get(asked: Asked) -> Response[bytes]:
        return await read.get(asked, served)

    async def crew(asked: Asked) -> Response[bytes]:
        return await read.crew_sheet(asked, served)

    shown = {
        200: Reply("The booking with its assessment.", kept, other_media_types=MEDIA_TYPES, other_types=SHORT),
        304: Reply("You have it already."),
    }
    return [
        Endpoint(
            method="PUT",
            path="/v1/bookings/{reference}",
            operation_id="putBooking",
            summary="Book an order, or change it",
            description=(
                "Assessed and kept as a new revision. Sending the present order again changes nothing, but one that did not "
                "stand is assessed again. Changing it needs `If-Match`. With `fleet_id` the stock that other bookings of an "
                "overlapping period hold is not offered again. An edit whose plan is unacceptable is kept as a proposal "
                "(`standing` is false): what the booking holds stays held."
            ),
            tag="plans",
            scope="book",
            handler=put,
            replies={
                200: Reply("Kept before, changed, or proposed.", kept, other_types=SHORT),
                201: Reply("Kept as something new.", kept, other_types=SHORT),
            },
            parameters=(REFERENCE, DRY_RUN, ACCEPT, VIEW, UNITS, *PRECONDITIONS),
            body=expected,
            examples=served.calculator.examples,
            problems=(*PRECONDITION_PROBLEMS, *FAILURES, "conflict", "storage-used"),
            large_body=True,
        ),
        Endpoint(
            method="GET",
            path="/v1/bookings/{reference}",
            operation_id="getBooking",
            summary="Read a booking",
            description="The revision that stands; the newest where none does.",
            tag="plans",
            scope="book",
            handler=get,
            replies=shown,
            parameters=(REFERENCE, VIEW, UNITS, DETAILS, PAPER),
            problems=(*_READING, "not-acceptable"),
        ),
        Endpoint(
            method="GET",
            path="/v1/bookings/{reference}/crew-sheet",
            operation_id="getCrewSheet",
            summary="Print what the crew carries",
            description=(
                "The numbers to set, the work in its order with boxes and blanks, and what to do if something goes wrong, from "
                "the revision that stands: for the plant, or for one of its machines. In the units in which the order was given, "
                "unless `units` asks for others. HTML, PDF or text, by `Accept`."
            ),
            tag="plans",
            scope="book",
            handler=crew,
            replies={
                200: Reply("The sheet.", media_type=MEDIA_TYPES[0]),
                304: Reply("You have it already."),
            },
            parameters=(REFERENCE, MACHINE, OWN_UNITS, PAPER, LANG),
            problems=(*_READING, "not-acceptable"),
        ),
        Endpoint(
            method="GET",
            path="/v1/bookings/{reference}/history",
            operation_id="getBookingHistory",
            summary="Read how a booking came to be what it is",
            tag="plans",
            scope="book",
            handler=read.history,
            replies={200: Reply("Its revisions and the steps of its life.", read.BookingHistory)},
            parameters=(REFERENCE,),
            problems=("not-found", "store-unavailable"),
        ),
        Endpoint(
            method="GET",
            path="/v1/bookings/{reference}/revisions/{revision}",
            operation_id="getBookingRevision",
            summary="Read a revision of a booking",
            tag="plans",
            scope="book",
            handler=get,
            replies=shown,
            parameters=(REFERENCE, REVISION, VIEW, UNITS, DETAILS, PAPER),
            problems=(*_READING, "not-acceptable"),
        ),
    ]


def _door(served: Served, kept: type[Struct], door: Door, summary: str, description: str) -> Endpoint:
    async def step(asked: Asked) -> Response[bytes]:
        return await life.step(asked, served, door)

    handler: Callable[[Asked], Awaitable[Response[Any]]] = step
    return Endpoint(
        method="POST",
        path=f"/v1/bookings/{{reference}}/{door}",
        operation_id=f"{door}Booking",
        summary=summary,
        description=f"{description} Repeating the step that led to the present state changes nothing.",
        tag="plans",
        scope="book",
        handler=handler,
        replies={200: Reply("The booking after it.", kept, other_types=SHORT)},
        parameters=(REFERENCE, VIEW, UNITS, *_IF_MATCH),
        body=life.BODIES[door],
        body_needed=door == "cancel",
        problems=("not-found", "conflict", "changed-meanwhile", "store-unavailable", "store-full"),
    )


def _recheck(served: Served, change: Served) -> Endpoint:
    async def again(asked: Asked) -> Response[bytes]:
        return await recheck.recheck(asked, served, change)

    return Endpoint(
        method="POST",
        path="/v1/bookings/{reference}/recheck",
        operation_id="recheckBooking",
        summary="Look at a booking again",
        description=(
            "Assessed with the fleet, stock, rules and forecasts of today. Where anything differs it is kept as a new revision, "
            "with the differences; one that is unacceptable is proposed, and gives nothing away."
        ),
        tag="plans",
        scope="book",
        handler=again,
        replies={200: Reply("The booking after it.", recheck.rechecked_type(served, change), other_types=SHORT)},
        parameters=(REFERENCE, VIEW, UNITS, *_IF_MATCH),
        problems=("not-found", "conflict", "changed-meanwhile", *FAILURES, "store-unavailable", "store-full"),
    )
