"""What a booking is answered with: whole, or in short."""

from collections.abc import Callable, Mapping, Sequence
from datetime import UTC, datetime
from typing import Annotated, Any, Literal

import msgspec
from litestar import Response
from msgspec import UNSET, Meta, Struct, UnsetType, defstruct

from coldwright.contract.answer import Units
from coldwright.registry import Served
from coldwright.registry.answers import answer_type
from coldwright.service.http.endpoint import Asked, Parameter
from coldwright.service.http.instants import instant
from coldwright.service.http.negotiation import JSON
from coldwright.service.http.problems import ProblemRaised
from coldwright.service.http.replies import encode, wanted_units
from coldwright.service.resources.records import instant_text
from coldwright.store import Database
from coldwright.store.bookings import Booking, Head, State, get_booking
from coldwright.store.bookings.listing import Beside, beside
from coldwright.store.conditions import tag_of
from coldwright.store.records import Record, get_record
from coldwright.store.startups import OfBooking

VIEW = Parameter(
    "view",
    "query",
    "`summary`: without the order and the assessment, under 3 kB.",
    {"type": "string", "enum": ["full", "summary"]},
)
MOST_SAID = 10


class AssignedMachine(Struct, frozen=True, kw_only=True):
    """A machine that goes out with a booking."""

    type: Annotated[str, Meta(description="Its type.")]
    serial: Annotated[str, Meta(description="Its serial number.")]


class StartOfBooking(Struct, frozen=True, kw_only=True):
    """A start of one machine of a booking."""

    id: Annotated[str, Meta(description="Its id.")]
    machine: Annotated[str, Meta(description="The machine, as the start names it.")] | UnsetType = UNSET
    serial: Annotated[str, Meta(description="Its serial number.")] | UnsetType = UNSET
    state: (
        Annotated[
            str, Meta(description="Its status as judged last; absent before the first verdict. Ask `href` for now's.")
        ]
        | UnsetType
    ) = UNSET
    href: Annotated[str, Meta(description="Its address.")]


class FleetUsed(Struct, frozen=True, kw_only=True):
    """The stored fleet that an order was assessed with."""

    id: Annotated[str, Meta(description="Its id.")]
    version: Annotated[int, Meta(ge=0, le=2**31, description="Its version then; 0: not recorded.")]


class BookedMachine(Struct, frozen=True, kw_only=True):
    """A machine type of a plan."""

    type: Annotated[str, Meta(description="The type.")]
    count: Annotated[int, Meta(ge=0, le=2**31, description="How many.")]


def _common() -> list[Any]:
    """Members of a booking whole and in short."""
    return [
        ("reference", Annotated[str, Meta(description="Your order number.")]),
        ("revision", Annotated[int, Meta(ge=1, le=2**31, description="The revision shown; counts up from 1.")]),
        (
            "state",
            Annotated[
                Literal["quote", "held", "confirmed", "on_hire", "returned", "cancelled"],
                Meta(description="Where the booking is in its life. A hold that lapsed is a quote again."),
            ],
        ),
        (
            "standing",
            Annotated[
                bool,
                Meta(
                    description="Whether the revision shown is the one that holds. False: it is a proposal beside that, "
                    "or nothing stands yet."
                ),
            ],
        ),
        (
            "standing_revision",
            Annotated[int, Meta(ge=1, le=2**31, description="The revision that holds; absent: none does.")] | UnsetType,
            UNSET,
        ),
        (
            "proposed_revision",
            Annotated[int, Meta(ge=1, le=2**31, description="A newer revision that was proposed and does not stand.")]
            | UnsetType,
            UNSET,
        ),
        ("held_until", Annotated[str, instant("When the hold lapses.")] | UnsetType, UNSET),
        (
            "holds",
            Annotated[bool, Meta(description="Whether the plan still holds with the fleet, stock and rules of today.")],
            True,
        ),
        ("holds_why_not", Annotated[str, Meta(description="Why it no longer does.")] | UnsetType, UNSET),
        ("created_at", Annotated[str, instant("When this revision was kept.")]),
        ("updated_at", Annotated[str, instant("When the booking last changed.")]),
        ("customer", Annotated[str, Meta(description="Who hires.")], ""),
        ("dry_run", Annotated[bool, Meta(description="True: this is what would be, and nothing was kept.")], False),
        (
            "metadata",
            Annotated[dict[str, str], Meta(description="Your own fields.")],
            msgspec.field(default_factory=dict),
        ),
        ("fleet", Annotated[FleetUsed, Meta(description="The stored fleet used.")] | UnsetType, UNSET),
        (
            "machines",
            Annotated[tuple[AssignedMachine, ...], Meta(description="Machines assigned when it was confirmed.")],
            (),
        ),
        (
            "starts",
            Annotated[
                tuple[StartOfBooking, ...],
                Meta(description="Starts of its machines, by their id: the newest 100, in short 10 of them."),
            ],
            (),
        ),
    ]


def kept_booking_type(served: Served, name: str = "KeptBooking", more: Sequence[Any] = ()) -> type[Struct]:
    """The reply to a PUT or GET; `more` fields where something else comes with it."""
    fields = [
        *_common(),
        ("order", Annotated[served.local.given, Meta(description="The order as it was sent.")] | UnsetType, UNSET),
        ("assessment", Annotated[answer_type(served.local), Meta(description="Its assessment.")]),
        *more,
    ]
    struct = defstruct(name, fields, frozen=True, kw_only=True, module="coldwright.service.answers")
    struct.__doc__ = "A booking: the revision shown with its assessment, and where it is in its life."
    return struct


class FindingInShort(Struct, frozen=True, kw_only=True):
    """A finding in one line."""

    code: Annotated[str, Meta(description="Its code.")]
    severity: Annotated[str, Meta(description="`stop` or `check`.")]
    statement: Annotated[str, Meta(max_length=160, description="What it says, cut to 160 characters.")]


def _summary_type() -> type[Struct]:
    fields = [
        *_common(),
        ("outcome", Annotated[str, Meta(description="Outcome of the assessment.")]),
        ("digest", Annotated[str, Meta(description="Digest of the assessment.")]),
        ("plan", Annotated[tuple[BookedMachine, ...], Meta(description="Machines of the plan.")]),
        ("finding_count", Annotated[int, Meta(ge=0, le=2**31, description="Stops and checks in all.")]),
        (
            "findings",
            Annotated[
                tuple[FindingInShort, ...],
                Meta(max_length=MOST_SAID, description="The first of them, stops before checks."),
            ],
        ),
        ("changed", Annotated[bool, Meta(description="Of a re-check: whether anything differs.")] | UnsetType, UNSET),
    ]
    struct = defstruct("BookingSummary", fields, frozen=True, kw_only=True, module="coldwright.service.answers")
    struct.__doc__ = "A booking in short, without the order and the assessment."
    return struct


SUMMARY = _summary_type()
SUMMARY_JSON = "application/vnd.coldwright.summary+json"
"""Media type of a summary: another schema than the whole, so that generated clients know which they have."""


def state_of(head: Head) -> State:
    """The state now."""
    return head.state_at(datetime.now(UTC))


def etag_of(head: Head, kept: Beside | None = None) -> str:
    """The tag of a booking as it reads now; what follows the dash is nobody's edit, and `If-Match` leaves it away."""
    starts = [(one.id, one.state) for one in kept.starts] if kept else []
    beside = [*starts, *kept.serials] if kept else []
    if head.severity == 0 and state_of(head) == head.stored_state and not beside:
        return f'"{head.etag}"'
    more = (str(beside),) if beside else ()
    return f'"{head.etag}-{tag_of(state_of(head), head.severity, head.why, *more)[:8]}"'


def content_of(head: Head, booking: Booking, kept: Beside, *, order: bool = True) -> dict[str, Any]:
    """The members of a reply but the assessment."""
    content: dict[str, Any] = {
        "reference": head.reference,
        "revision": booking.revision,
        "state": state_of(head),
        "standing": booking.revision == head.standing,
        "holds": head.severity == 0,
        "created_at": instant_text(booking.created_at),
        "updated_at": instant_text(head.updated_at),
        "customer": head.customer,
        "metadata": kept.labels,
        "machines": [{"type": t, "serial": s} for t, s in kept.serials],
        "starts": [_start(one) for one in kept.starts],
    }
    if head.standing:
        content["standing_revision"] = head.standing
    if head.revision != head.standing and head.standing:
        content["proposed_revision"] = head.revision
    if head.held_until is not None and state_of(head) == "held":
        content["held_until"] = instant_text(head.held_until)
    if head.severity:
        content["holds_why_not"] = head.why
    if booking.fleet:
        content["fleet"] = {"id": booking.fleet, "version": booking.fleet_version}
    if order:
        content["order"] = msgspec.Raw(booking.sent)
    return content


class _Named(Struct):
    machine: str | UnsetType = UNSET
    serial: str | UnsetType = UNSET


def _start(one: OfBooking) -> StartOfBooking:
    named = msgspec.json.decode(one.document, type=_Named)
    return StartOfBooking(
        id=one.id,
        machine=named.machine,
        serial=named.serial,
        state=one.state or UNSET,
        href=f"/v1/startups/{one.id}",
    )


def in_short(content: Mapping[str, Any], assessment: bytes) -> dict[str, Any]:
    """A summary: what was decided, and what stands against it."""
    answer = msgspec.json.decode(assessment)
    results = answer["results"]
    said = [f for f in answer["findings"] if f["severity"] in ("stop", "check")]
    said.sort(key=lambda f: f["severity"] != "stop")
    return {
        **{k: v for k, v in content.items() if k != "order"},
        "starts": content["starts"][:MOST_SAID],
        "outcome": answer["outcome"],
        "digest": answer["digest"],
        "plan": [{"type": m["type"], "count": m["count"]} for m in results.get("machines", ())],
        "finding_count": len(said),
        "findings": [
            {"code": f["code"], "severity": f["severity"], "statement": f["statement"][:160]} for f in said[:MOST_SAID]
        ],
    }


class Shown(Struct, frozen=True):
    """A revision as it is shown: with what is kept beside the order, and its assessment in the wanted units."""

    booking: Booking
    beside: Beside
    assessment: bytes
    units: Units


async def revision_shown(
    asked: Asked, served: Served, head: Head, revision: int, *, usual: Callable[[bytes, Units], Units] | None = None
) -> Shown:
    """A revision; raises a 404. `usual`: the units of an order, where the request names none."""
    services = asked.services
    booking, kept, record = await services.stored(
        _read, services.database, asked.caller.tenant, head.reference, revision
    )
    if booking is None:
        raise ProblemRaised("not-found", "There is no order of that reference and revision.")
    if record is None:
        raise ProblemRaised("internal-error", "The assessment of this revision is missing.")
    units = wanted_units(asked)
    if usual and asked.query("units") is None:
        units = usual(booking.document, units)
    return Shown(booking, kept, await services.engine.in_units(served, record.answer, units), units)


def _read(
    database: Database, tenant: str, reference: str, revision: int
) -> tuple[Booking | None, Beside, Record | None]:
    """All in one thread: to hand each to the store by itself costs the event loop as much again."""
    booking = get_booking(database, tenant, reference, revision)
    record = get_record(database, tenant, booking.digest) if booking is not None else None
    return booking, beside(database, tenant, reference), record


async def booking_reply(
    asked: Asked, served: Served, head: Head, status: int, revision: int = 0, more: Mapping[str, Any] | None = None
) -> Response[bytes]:
    """A booking with the wanted revision, or the one that it shows."""
    shown = await revision_shown(asked, served, head, revision or head.shown)
    body = await body_of(asked, head, shown, more)
    return shown_reply(asked, body, status, {"ETag": etag_of(head, shown.beside), "Vary": "Accept"})


def shown_reply(asked: Asked, body: bytes, status: int, headers: dict[str, str]) -> Response[bytes]:
    """A booking as JSON, with the media type of the view that is wanted."""
    media_type = SUMMARY_JSON if wants_summary(asked) else JSON
    return Response(body, status_code=status, media_type=media_type, headers=headers)


def wants_summary(asked: Asked) -> bool:
    """Whether the request asks for a booking in short."""
    return asked.query("view") == "summary"


async def body_of(asked: Asked, head: Head, shown: Shown, more: Mapping[str, Any] | None = None) -> bytes:
    """The reply as JSON, whole or in short as the request wants it."""
    if wants_summary(asked):
        content = content_of(head, shown.booking, shown.beside) | dict(more or {})
        return encode(await asked.services.apart(in_short, content, shown.assessment))
    return whole(head, shown, more)


def whole(head: Head, shown: Shown, more: Mapping[str, Any] | None = None) -> bytes:
    """The reply as JSON, whole."""
    content = content_of(head, shown.booking, shown.beside) | dict(more or {})
    return encode(content | {"assessment": msgspec.Raw(shown.assessment)})
