"""`GET /v1/bookings`: found by period, state, site, customer, machine, own fields; sorted; in pages."""

from datetime import datetime
from typing import Annotated, Any, cast

from litestar import Response
from msgspec import UNSET, Meta, Struct, UnsetType

from coldwright.contract import refuse
from coldwright.service.bookings.replies import state_of
from coldwright.service.http.endpoint import Asked, Parameter
from coldwright.service.http.instants import instant
from coldwright.service.http.paging import foreign_token, page_size, page_start, token_after
from coldwright.service.http.replies import json_reply
from coldwright.service.resources.records import instant_text
from coldwright.store.bookings import STATES, Filter, Head, list_bookings
from coldwright.store.bookings.listing import Sort, is_key, key_of

OUTCOMES = ("acceptable", "conditional", "unacceptable")
SORTS = ("period", "updated", "reference", "worst")
_DAY = {"type": "string", "format": "date", "pattern": r"^\d{4}-\d{2}-\d{2}$", "maxLength": 10}
_TEXT = {"type": "string", "maxLength": 200}
TEXT_OF_LINES = r"^[^\u0000-\u0008\u000b\u000c\u000e-\u001f\u007f]*$"
"""As an order's own fields are: with tabs and line breaks."""
_YES_NO = {"type": "string", "enum": ["true", "false"]}

LIST_PARAMETERS = (
    Parameter("from", "query", "Only bookings that last until this day or longer.", _DAY),
    Parameter("to", "query", "Only bookings that begin on this day or before.", _DAY),
    Parameter("state", "query", "Only bookings in this state.", {"type": "string", "enum": list(STATES)}),
    Parameter(
        "outcome", "query", "Only bookings whose plan has this outcome.", {"type": "string", "enum": list(OUTCOMES)}
    ),
    Parameter("standing", "query", "`false`: only bookings with a revision that does not stand.", _YES_NO),
    Parameter("holds", "query", "`false`: only bookings whose plan no longer holds.", _YES_NO),
    Parameter("site", "query", "Part of the site's name, in any case of letters.", _TEXT),
    Parameter("customer", "query", "Part of the customer's name, in any case of letters.", _TEXT),
    Parameter("fleet", "query", "Only bookings from this stored fleet.", _TEXT),
    Parameter("machine_type", "query", "Only bookings that hold machines of this type.", _TEXT),
    Parameter("serial", "query", "Only bookings that this machine is assigned to.", _TEXT),
    Parameter(
        "metadata_name", "query", "Name of an own field; with `metadata_value`.", {"type": "string", "maxLength": 100}
    ),
    Parameter(
        "metadata_value", "query", "What that field is.", {"type": "string", "maxLength": 500, "pattern": TEXT_OF_LINES}
    ),
    Parameter(
        "updated_since",
        "query",
        "Only bookings that changed at this instant or later, RFC 3339.",
        {"type": "string", "format": "date-time", "maxLength": 40},
    ),
    Parameter(
        "sort",
        "query",
        "`period`: by first day; `updated`: what changed longest ago first; `worst`: what no longer holds first.",
        {"type": "string", "enum": list(SORTS)},
    ),
)


class BookingEntry(Struct, frozen=True, kw_only=True):
    """A booking in the list: the revision that stands, else its newest."""

    reference: Annotated[str, Meta(description="Your order number.")]
    revision: Annotated[int, Meta(ge=1, le=2**31, description="The revision shown.")]
    state: Annotated[str, Meta(description="Where it is in its life.")]
    standing: Annotated[bool, Meta(description="Whether its newest revision is the one that holds.")]
    outcome: Annotated[str, Meta(description="Outcome of the assessment.")]
    holds: Annotated[bool, Meta(description="Whether the plan still holds today.")]
    holds_why_not: Annotated[str, Meta(description="Why it no longer does.")] | UnsetType = UNSET
    held_until: Annotated[str, instant("When the hold lapses.")] | UnsetType = UNSET
    period_from: Annotated[str, Meta(description="First day.", extra_json_schema={"format": "date"})]
    period_to: Annotated[str, Meta(description="Last day.", extra_json_schema={"format": "date"})]
    site: Annotated[str, Meta(description="Name of the site; empty where the order has none.")]
    customer: Annotated[str, Meta(description="Who hires; empty where it was not given.")]
    updated_at: Annotated[str, instant("When it last changed.")]
    href: Annotated[str, Meta(description="Its address.")]


class BookingList(Struct, frozen=True, kw_only=True):
    """A page of the bookings."""

    bookings: Annotated[tuple[BookingEntry, ...], Meta(description="In the order of `sort`.")]
    next_page_token: Annotated[str, Meta(description="Absent on the last page.")] | UnsetType = UNSET


async def listing(asked: Asked) -> Response[bytes]:
    """A page of the list."""
    size, start, wanted = page_size(asked), page_start(asked), filter_of(asked)
    after = _after(start, wanted.sort)
    heads = await asked.services.stored(
        list_bookings, asked.services.database, asked.caller.tenant, wanted, after, size + 1
    )
    entries = tuple(entry_of(head) for head in heads[:size])
    more = len(heads) > size
    token = token_after("\n".join((wanted.sort, *key_of(heads[size - 1], wanted.sort)))) if more else UNSET
    return json_reply(BookingList(bookings=entries, next_page_token=token))


def filter_of(asked: Asked) -> Filter:
    """What the query asks of a list of bookings."""
    since, name, value = (asked.query(n) for n in ("updated_since", "metadata_name", "metadata_value"))
    if (name is None) != (value is None):
        missing = "metadata_name" if name is None else "metadata_value"
        raise refuse(f"/query/{missing}", "Name and value of an own field are given together.", code="missing")
    return Filter(
        first=asked.query("from") or "",
        last=asked.query("to") or "",
        site=asked.query("site") or "",
        customer=asked.query("customer") or "",
        outcome=asked.query("outcome") or "",
        state=asked.query("state") or "",
        standing=_yes_no(asked.query("standing")),
        holds=_yes_no(asked.query("holds")),
        fleet=asked.query("fleet") or "",
        machine_type=asked.query("machine_type") or "",
        serial=asked.query("serial") or "",
        label=(name or "", value or ""),
        updated_since=datetime.fromisoformat(since) if since else None,
        sort=cast("Sort", asked.query("sort") or ("worst" if asked.query("holds") == "false" else "period")),
    )


def _yes_no(text: str | None) -> bool | None:
    return None if text is None else text == "true"


def _after(start: str, sort: Sort) -> tuple[str, ...]:
    """What the token says to go on after; a token of another order begins a list anew in its own way: it is refused."""
    if not start:
        return ()
    named, *key = start.split("\n")
    if named != sort or not is_key(tuple(key), sort):
        raise foreign_token(start)
    return tuple(key)


def entry_of(head: Head) -> BookingEntry:
    """A booking as a list shows it."""
    state = state_of(head)
    until: Any = instant_text(head.held_until) if head.held_until and state == "held" else UNSET
    return BookingEntry(
        reference=head.reference,
        revision=head.shown,
        state=state,
        standing=head.revision == head.standing,
        outcome=head.outcome,
        holds=head.severity == 0,
        holds_why_not=head.why if head.severity else UNSET,
        held_until=until,
        period_from=head.period.first,
        period_to=head.period.last,
        site=head.site,
        customer=head.customer,
        updated_at=instant_text(head.updated_at),
        href=f"/v1/bookings/{head.reference}",
    )
