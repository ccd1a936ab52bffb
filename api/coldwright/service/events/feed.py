"""`GET /v1/events`: what happened, to be polled: ask with the last number, and nothing is missed."""

from typing import Annotated, Any

import msgspec
from litestar import Response
from msgspec import UNSET, Meta, Struct, UnsetType

from coldwright.contract import refuse
from coldwright.service.http.endpoint import Asked, Endpoint, Parameter, Reply
from coldwright.service.http.instants import instant
from coldwright.service.http.replies import json_reply
from coldwright.service.resources.records import instant_text
from coldwright.store.events import Event, list_events

MOST = 1000
KINDS = {
    "booking.created": "A booking was made.",
    "booking.changed": "A new revision of it stands.",
    "booking.proposed": "A revision was kept that does not stand.",
    "booking.state": "It moved on in its life.",
    "booking.machines": "Other machines were assigned to it, since one that it was to have will not do.",
    "booking.no_longer_holds": "Its plan does not hold any more with the fleet, stock, rules or forecast of today.",
    "booking.holds_again": "It does again.",
    "fleet.changed": "A new version of a fleet was kept.",
    "machine.state": "A machine went out of service or came back.",
    "forecast.changed": "A forecast was put or forgotten.",
    "schedule.ran": "A schedule had bookings looked at again.",
    "startup.status": "The status of a start changed.",
    "startup.stop_now": "A running machine must be stopped.",
    "job.progress": "Another tenth of a job is done; at most nine for a job, none for one that is done at once.",
    "job.done": "A job has ended.",
}


class EventEntry(Struct, frozen=True, kw_only=True):
    """One thing that happened."""

    number: Annotated[int, Meta(ge=1, le=2**53, description="Counts up by one.")]
    kind: Annotated[str, Meta(description=f"What: {'; '.join(f'`{k}`: {v}' for k, v in KINDS.items())} More may come.")]
    subject: Annotated[str, Meta(description="Reference of the booking, or id of what it happened to.")]
    reference: Annotated[str, Meta(description="Reference of the booking that it concerns.")] | UnsetType = UNSET
    at: Annotated[str, instant("When.")]
    data: Annotated[dict[str, Any], Meta(description="The facts, in short.")]


class EventPage(Struct, frozen=True, kw_only=True):
    """Events after a number."""

    events: Annotated[tuple[EventEntry, ...], Meta(description="The earliest first.")]
    next_after: Annotated[int, Meta(ge=0, le=2**53, description="Ask with this as `after` next time.")]


def check_kind(pointer: str, kind: str) -> None:
    """Raise `Refused` for a kind that no event has: a misspelt one would wait for ever."""
    if kind not in KINDS:
        raise refuse(pointer, f"There is no such kind of event. There are {', '.join(KINDS)}.", value=kind)


async def _list(asked: Asked) -> Response[bytes]:
    if kind := asked.query("kind"):
        check_kind("/query/kind", kind)
    after, size = int(asked.query("after") or 0), int(asked.query("page_size") or 200)
    found = await asked.services.stored(_read, asked, after, size)
    entries = tuple(entry_of(event) for event in found)
    return json_reply(EventPage(events=entries, next_after=found[-1].number if found else after))


def _read(asked: Asked, after: int, size: int) -> list[Event]:
    return list_events(
        asked.services.database,
        asked.caller.tenant,
        after,
        size,
        kind=asked.query("kind") or "",
        subject=asked.query("subject") or "",
    )


def entry_of(event: Event) -> EventEntry:
    """An event as it is sent."""
    data = msgspec.json.decode(event.body)
    return EventEntry(
        number=event.number,
        kind=event.kind,
        subject=event.subject,
        reference=data.get("reference", UNSET),
        at=instant_text(event.happened_at),
        data=data,
    )


def endpoints() -> list[Endpoint]:
    """The address of the feed."""
    return [
        Endpoint(
            method="GET",
            path="/v1/events",
            operation_id="listEvents",
            summary="What happened since",
            description=(
                "Events are written with the change itself, so none is lost. Ask again with `next_after`; an empty page means "
                "that nothing has happened since. They are kept for 90 days."
            ),
            tag="plans",
            scope="book",
            handler=_list,
            replies={200: Reply("What happened after that number.", EventPage)},
            parameters=(
                Parameter(
                    "after",
                    "query",
                    "Number of the last event that you have; 0, if not given: from the beginning.",
                    {"type": "integer", "format": "int64", "minimum": 0, "maximum": 2**53},
                ),
                Parameter(
                    "kind",
                    "query",
                    "Only events of this kind, one of those that an entry names.",
                    {"type": "string", "maxLength": 60},
                ),
                Parameter("subject", "query", "Only events of this subject.", {"type": "string", "maxLength": 200}),
                Parameter(
                    "page_size",
                    "query",
                    "Events on a page; 200 if not given.",
                    {"type": "integer", "format": "int32", "minimum": 1, "maximum": MOST},
                ),
            ),
            problems=("refused-input", "store-unavailable"),
        )
    ]
