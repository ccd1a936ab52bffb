"""`GET /v1/fleets/{id}/versions`: when a fleet was kept, the newest first."""

from typing import Annotated

from litestar import Response
from msgspec import UNSET, Meta, Struct, UnsetType

from coldwright.service.http.endpoint import Asked
from coldwright.service.http.instants import instant
from coldwright.service.http.paging import number_in, page_size, page_start, token_after
from coldwright.service.http.problems import ProblemRaised
from coldwright.service.http.replies import json_reply
from coldwright.service.resources.records import instant_text
from coldwright.store.fleets import versions_of

MOST = 2**31 - 1


class FleetVersion(Struct, frozen=True, kw_only=True):
    """A version of a fleet in the list."""

    version: Annotated[int, Meta(ge=1, le=MOST, description="Counts up from 1.")]
    created_at: Annotated[str, instant("When it was kept.")]
    href: Annotated[str, Meta(description="Its address.")]


class FleetVersionList(Struct, frozen=True, kw_only=True):
    """A page of the versions of a fleet."""

    versions: Annotated[tuple[FleetVersion, ...], Meta(description="The newest first.")]
    next_page_token: Annotated[str, Meta(description="Absent on the last page.")] | UnsetType = UNSET


async def versions(asked: Asked) -> Response[bytes]:
    """A page of the list."""
    size, start, name = page_size(asked), page_start(asked), asked.path("id")
    below = number_in(start) if start else MOST
    services = asked.services
    found = await services.stored(versions_of, services.database, asked.caller.tenant, name, below, size + 1)
    if not found and not start:
        raise ProblemRaised("not-found", "There is no fleet of that id.")
    listed = tuple(
        FleetVersion(version=number, created_at=instant_text(at), href=f"/v1/fleets/{name}?version={number}")
        for number, at in found[:size]
    )
    token = token_after(str(listed[-1].version)) if len(found) > size else UNSET
    return json_reply(FleetVersionList(versions=listed, next_page_token=token))
