"""`GET` of a booking, of its revisions and of its history; as JSON, or as the plan that a person reads."""

from typing import Annotated, Any

import msgspec
from litestar import Response
from msgspec import Meta, Struct

from coldwright.contract.people import count_of
from coldwright.registry import Served
from coldwright.service.bookings.own_units import units_of
from coldwright.service.bookings.replies import (
    SUMMARY_JSON,
    body_of,
    etag_of,
    revision_shown,
    shown_reply,
    wants_summary,
    whole,
)
from coldwright.service.http.endpoint import Asked
from coldwright.service.http.instants import instant
from coldwright.service.http.languages import language_of
from coldwright.service.http.negotiation import JSON, preferred, represent, wanted_form
from coldwright.service.http.problems import ProblemRaised
from coldwright.service.http.replies import has_already, json_reply
from coldwright.service.pages import sheet_of, today
from coldwright.service.people.sheets import used_sheet
from coldwright.service.people.shell import written
from coldwright.service.resources.records import instant_text
from coldwright.sheets import MEDIA_TYPES, Occasion
from coldwright.store.bookings import Head, present
from coldwright.store.bookings.life import moves_of
from coldwright.store.bookings.listing import revisions_of
from coldwright.store.conditions import tag_of


class RevisionEntry(Struct, frozen=True, kw_only=True):
    """A revision in the list."""

    revision: Annotated[int, Meta(ge=1, le=2**31, description="Its number.")]
    standing: Annotated[bool, Meta(description="Whether it is the one that holds.")]
    outcome: Annotated[str, Meta(description="Outcome of its assessment.")]
    digest: Annotated[str, Meta(description="Digest of its assessment.")]
    created_at: Annotated[str, instant("When it was kept.")]
    href: Annotated[str, Meta(description="Its address.")]


class MoveEntry(Struct, frozen=True, kw_only=True):
    """A step of a booking's life."""

    door: Annotated[str, Meta(description="`hold`, `confirm`, `deliver`, `return`, `cancel`, or `lapse`.")]
    state: Annotated[str, Meta(description="The state that it led to.")]
    reason: Annotated[str, Meta(description="Why, as it was given.")]
    by: Annotated[str, Meta(description="Who.")]
    at: Annotated[str, instant("When.")]


class BookingHistory(Struct, frozen=True, kw_only=True):
    """How a booking came to be what it is."""

    revisions: Annotated[tuple[RevisionEntry, ...], Meta(description="Its revisions, the newest first.")]
    moves: Annotated[tuple[MoveEntry, ...], Meta(description="The steps of its life, the first one first.")]


async def head_asked(asked: Asked) -> Head:
    """The booking that the address names; raises a 404."""
    head = await asked.services.stored(present, asked.services.database, asked.caller.tenant, asked.path("reference"))
    if head is None:
        raise ProblemRaised("not-found", "There is no booking of that reference.")
    return head


async def get(asked: Asked, served: Served) -> Response[bytes]:
    """The revision that stands, or the one that the address names."""
    form, head = wanted_form(asked), await head_asked(asked)
    named = _revision(asked.path("revision")) if asked.has_path("revision") else 0
    usual = None if form == JSON else units_of  # who reads a page measures in the units of the order
    shown = await revision_shown(asked, served, head, named or head.shown, usual=usual)
    booking, kept = shown.booking, shown.beside
    etag = f'"{tag_of(booking.etag, etag_of(head, kept))}"' if named else etag_of(head, kept)
    if wants_summary(asked):
        etag = f'{etag[:-1]}-summary"'
        headers = {"ETag": etag, "Vary": "Accept"}
        if has_already(asked, etag):
            return Response(b"", status_code=304, headers=headers, media_type=SUMMARY_JSON)
        return shown_reply(asked, await body_of(asked, head, shown), 200, headers)

    assigned = tuple(kept.serials) if booking.revision == head.standing else ()
    details = asked.query("details") == "all"
    occasion = Occasion(revision=booking.revision, details=details, printed=today(), serials=assigned)
    return await represent(
        asked,
        form,
        etag,
        body=lambda: whole(head, shown),
        sheet=lambda sources: sheet_of(asked.services.engine, served, shown.assessment, sources, occasion),
        name=f"plan-{booking.reference}-{booking.revision}",
        variant="all" if occasion.details else "",
        units=shown.units,
        used=lambda sheet: used_sheet(asked, sheet, _doors(asked, booking.reference), order=booking.reference),
    )


def _doors(asked: Asked, reference: str) -> dict[str, str]:
    """Where a person goes from a plan."""
    return {"answers": str(written(asked, "ask.html", reference=reference))}


def _revision(text: str) -> int:
    if not (text.isascii() and text.isdigit() and len(text) < 10 and int(text) > 0):
        raise ProblemRaised("not-found", "There is no order of that reference and revision.")
    return int(text)


async def crew_sheet(asked: Asked, served: Served) -> Response[bytes]:
    """What a crew carries, of the revision that stands; for people only. For the plant, or for one of its machines."""
    form, head = preferred(asked.header("accept"), MEDIA_TYPES), await head_asked(asked)
    shown = await revision_shown(asked, served, head, head.shown, usual=units_of)
    booking = shown.booking
    machines = msgspec.json.decode(shown.assessment, type=_Planned).results.machines
    count, number = sum(m.count for m in machines), int(asked.query("machine") or 0)
    if number > count:
        raise ProblemRaised("not-found", f"This plan has {count_of(count, 'machine')}.")
    assigned = tuple(shown.beside.serials) if booking.revision == head.standing else ()
    language = language_of(asked)
    occasion = Occasion(
        revision=booking.revision,
        sheet="crew",
        printed=today(),
        serials=assigned,
        number=number,
        language=language,
    )
    one = f"-{number}" if number else ""
    return await represent(
        asked,
        form,
        etag_of(head),
        body=lambda: shown.assessment,
        sheet=lambda sources: sheet_of(asked.services.engine, served, shown.assessment, sources, occasion),
        name=f"crew-sheet-{booking.reference}-{booking.revision}{one}",
        variant=f"crew{one}-{language}",
        units=shown.units,
        used=lambda sheet: used_sheet(
            asked, sheet, _sheets(asked, booking.reference, count, number), order=booking.reference
        ),
    )


class _Machines(Struct):
    count: int


class _Results(Struct):
    machines: tuple[_Machines, ...] = ()


class _Planned(Struct):
    results: _Results


def _sheets(asked: Asked, reference: str, count: int, number: int) -> dict[str, str]:
    """The sheets of a plant: its own, and one for each of several machines."""
    return {"machines": str(written(asked, "sheets.html", reference=reference, count=count, number=number))}


async def history(asked: Asked) -> Response[bytes]:
    """Every revision, and every step of the booking's life."""
    head, services, tenant = await head_asked(asked), asked.services, asked.caller.tenant
    revisions = await services.stored(revisions_of, services.database, tenant, head.reference)
    moves = await services.stored(moves_of, services.database, tenant, head.reference)
    content = BookingHistory(
        revisions=tuple(
            RevisionEntry(
                revision=r.revision,
                standing=r.revision == head.standing,
                outcome=r.outcome,
                digest=r.digest,
                created_at=instant_text(r.created_at),
                href=f"/v1/bookings/{r.reference}/revisions/{r.revision}",
            )
            for r in revisions
        ),
        moves=tuple(
            MoveEntry(door=m.door, state=m.state, reason=m.reason, by=m.caller, at=instant_text(m.moved_at))
            for m in moves
        ),
    )
    body: Any = content
    return json_reply(body)
