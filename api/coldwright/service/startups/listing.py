"""The list of start-ups: of a booking, in a state, of the machines that are at their site."""

from typing import Annotated

import msgspec
from litestar import Response
from msgspec import UNSET, Meta, Struct, UnsetType

from coldwright.service.http.endpoint import Asked
from coldwright.service.http.instants import instant
from coldwright.service.http.paging import page_size, page_start, token_after
from coldwright.service.http.replies import json_reply
from coldwright.service.resources.records import instant_text
from coldwright.service.startups.asking import rules_of
from coldwright.service.startups.verdict import verdict_now
from coldwright.store.startups import ENDED, Startup, Wanted, list_startups, newest_of_machines

MOST_JUDGED = 200
"""Start-ups that one request judges anew: a page may be shorter than asked for, and says that there is more."""


class StartupEntry(Struct, frozen=True, kw_only=True):
    """A start-up in the list."""

    id: Annotated[str, Meta(description="Your id of it.")]
    booking: Annotated[str, Meta(description="Reference of its order; absent without one.")] | UnsetType = UNSET
    machine: Annotated[str, Meta(description="The machine; absent without a name.")] | UnsetType = UNSET
    serial: Annotated[str, Meta(description="Its serial number; absent where none was named.")] | UnsetType = UNSET
    state: Annotated[str, Meta(description="The status of its verdict of now.")]
    at_site: Annotated[bool, Meta(description="Whether the machine is on site by it: not ended, and no newer start.")]
    valid_until: (
        Annotated[str, Meta(description="Until when it says so though nothing is recorded; absent: for ever.")]
        | UnsetType
    ) = UNSET
    created_at: Annotated[str, instant("When it was opened, RFC 3339.")]
    href: Annotated[str, Meta(description="Its address.")]


class StartupList(Struct, frozen=True, kw_only=True):
    """A page of the start-ups."""

    startups: Annotated[tuple[StartupEntry, ...], Meta(description="By their id.")]
    next_page_token: Annotated[str, Meta(description="Absent on the last page.")] | UnsetType = UNSET


class _Names(Struct):
    machine: str = ""
    serial: str = ""


async def list_all(asked: Asked) -> Response[bytes]:
    """A page of the list."""
    services, tenant = asked.services, asked.caller.tenant
    size, after = page_size(asked), page_start(asked)
    wanted = Wanted(booking=asked.query("booking") or "", machine=asked.query("machine") or "")
    state, at_site = asked.query("state"), asked.query("at_site")
    newest = await services.stored(newest_of_machines, services.database, tenant)
    judged = 0
    entries: list[StartupEntry] = []
    while True:
        rows = await services.stored(list_startups, services.database, tenant, wanted, after, size + 1)
        for row in rows[:size]:
            if len(entries) == size or judged == MOST_JUDGED:
                return json_reply(StartupList(startups=tuple(entries), next_page_token=token_after(after)))
            after = row.id
            noted = row
            if not holds(asked, row):
                judged += 1
                verdict = await verdict_now(services, tenant, row, "metric")
                noted = msgspec.structs.replace(row, state=verdict.status, state_until=verdict.valid_until)
            entry = _entry(noted, open_=newest.get(row.machine, row.created_at) <= row.created_at)
            if state in (None, entry.state) and at_site in (None, "true" if entry.at_site else "false"):
                entries.append(entry)
        if len(rows) <= size:
            return json_reply(StartupList(startups=tuple(entries)))


def holds(asked: Asked, row: Startup) -> bool:
    """Whether what was noted last still is what a verdict of now would say."""
    services = asked.services
    concluded = row.concluded_by(rules_of(services.registry))
    return concluded and (row.state_until is None or services.now() < row.state_until)


def _entry(row: Startup, *, open_: bool) -> StartupEntry:
    names = msgspec.json.decode(row.document, type=_Names)
    return StartupEntry(
        id=row.id,
        booking=row.booking or UNSET,
        machine=names.machine or UNSET,
        serial=names.serial or UNSET,
        state=row.state,
        at_site=open_ and row.state != ENDED,
        valid_until=UNSET if row.state_until is None else instant_text(row.state_until),
        created_at=instant_text(row.created_at),
        href=f"/v1/startups/{row.id}",
    )
