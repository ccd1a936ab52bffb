"""`/v1/fleets`: the rental company's machine types, accessories and counts, versioned, as JSON and as CSV."""

from typing import Annotated, Any

import msgspec
from litestar import Response
from msgspec import UNSET, Meta, Struct, UnsetType
from msgspec.structs import replace

from coldwright.contract import Refused
from coldwright.contract.evaluation import canonical, run
from coldwright.contract.reading import convert, read
from coldwright.contract.walk import fields_of, plain
from coldwright.registry import Registry
from coldwright.service.fleets.table import FleetTable, fleet_to_csv
from coldwright.service.fleets.versions import FleetVersionList, versions
from coldwright.service.http.body import is_long, raw_body, sent_media_type
from coldwright.service.http.endpoint import Asked, Endpoint, Parameter, Reply
from coldwright.service.http.instants import instant
from coldwright.service.http.negotiation import JSON, preferred, tag_of
from coldwright.service.http.paging import PAGE_PARAMETERS, page_size, page_start, token_after
from coldwright.service.http.preconditions import (
    PRECONDITION_PROBLEMS,
    PRECONDITIONS,
    condition_of,
    precondition_problems,
    status_of,
)
from coldwright.service.http.problems import ProblemRaised
from coldwright.service.http.replies import encode, has_already, json_reply
from coldwright.service.resources.records import instant_text
from coldwright.store.fleets import Fleet, get_fleet, list_fleets, put_fleet

CSV = "text/csv"


class FleetEntry(Struct, frozen=True):
    """A fleet in the list."""

    id: Annotated[str, Meta(description="Your id of it.")]
    version: Annotated[int, Meta(ge=1, le=2**31, description="Newest version.")]
    href: Annotated[str, Meta(description="Its address.")]


class FleetList(Struct, frozen=True, kw_only=True):
    """A page of the fleets."""

    fleets: Annotated[tuple[FleetEntry, ...], Meta(description="Sorted by id.")]
    next_page_token: Annotated[str, Meta(description="Absent on the last page.")] | UnsetType = UNSET


def fleet_type(registry: Registry) -> Any:
    """The struct of a fleet document, from the calculator that reads it; nothing where none is served."""
    served = registry.role("fleet")
    if served is None:
        return None
    given: Any = served.local.given
    return plain(next(f.annotation for f in fields_of(given) if f.name == "fleet"))


def kept_fleet_type(registry: Registry) -> type[Struct]:
    """A fleet with its id and version: for the document and the replies."""
    fields: list[Any] = [
        ("id", Annotated[str, Meta(description="Your id of it.")]),
        ("version", Annotated[int, Meta(ge=1, le=2**31, description="Version; counts up from 1.")]),
        ("created_at", Annotated[str, instant("When this version was kept, RFC 3339.")]),
        ("fleet", Annotated[fleet_type(registry), Meta(description="The document.")]),
    ]
    struct = msgspec.defstruct("KeptFleet", fields, frozen=True, module="coldwright.service.answers")
    struct.__doc__ = "A version of a fleet."
    return struct


async def _put(asked: Asked) -> Response[bytes]:
    await asked.services.kept.refuse_more(asked.caller.tenant)
    body, csv = await raw_body(asked), sent_media_type(asked) == CSV
    document = await asked.services.apart(_read, asked.services.registry, body, csv, long=await is_long(asked))
    with precondition_problems():
        fleet, done = await asked.services.stored(
            put_fleet,
            asked.services.database,
            asked.caller.tenant,
            asked.path("id"),
            document,
            condition_of(asked),
        )
    return json_reply(_content(fleet), status_of(done), {"ETag": f'"{fleet.etag}"', "Vary": "Accept"})


def _read(registry: Registry, body: bytes, csv: bool) -> bytes:
    """The document in its one spelling, checked against its schema and itself. Raises `Malformed` or `Refused`."""
    expected = fleet_type(registry)
    if not csv:
        return canonical(_checked(registry, read(expected, body)))
    table = FleetTable(body)
    try:
        return canonical(_checked(registry, convert(expected, table.document)))
    except Refused as refused:
        raise table.located(refused.errors) from None


def _checked(registry: Registry, document: Any) -> Any:
    check = registry.needed("fleet").local
    try:
        run(check, check.given(fleet=document), registry.lookup)
    except Refused as refused:  # the check has the document under `fleet`; the body is the document
        raise Refused(replace(e, pointer=f"#{e.pointer.removeprefix('#/fleet')}") for e in refused.errors) from None
    return document


async def _get(asked: Asked) -> Response[bytes]:
    form = preferred(asked.header("accept"), (JSON, CSV))
    version = asked.query("version")
    fleet = await asked.services.stored(
        get_fleet, asked.services.database, asked.caller.tenant, asked.path("id"), int(version) if version else None
    )
    if fleet is None:
        raise ProblemRaised("not-found", "There is no fleet of that id and version.")
    etag = tag_of(f'"{fleet.etag}"', form, "metric")
    headers = {"ETag": etag, "Vary": "Accept"}
    if has_already(asked, etag):
        return Response(b"", status_code=304, headers=headers, media_type=form)
    if form == CSV:
        return Response(await asked.services.apart(_as_csv, fleet.document), media_type=CSV, headers=headers)
    return json_reply(_content(fleet), 200, headers)


def _as_csv(document: bytes) -> bytes:
    return fleet_to_csv(msgspec.json.decode(document))


def _content(fleet: Fleet) -> bytes:
    content = {
        "id": fleet.id,
        "version": fleet.version,
        "created_at": instant_text(fleet.created_at),
        "fleet": msgspec.Raw(fleet.document),
    }
    return encode(content)


async def _list(asked: Asked) -> Response[bytes]:
    size = page_size(asked)
    rows = await asked.services.stored(
        list_fleets, asked.services.database, asked.caller.tenant, page_start(asked), size + 1
    )
    entries = tuple(FleetEntry(i, v, f"/v1/fleets/{i}") for i, v in rows[:size])
    token = token_after(entries[-1].id) if len(rows) > size else UNSET
    return json_reply(FleetList(fleets=entries, next_page_token=token))


NAME = {"type": "string", "pattern": "^[A-Za-z0-9][A-Za-z0-9_.-]{0,99}$"}
ID = Parameter("id", "path", "Your own id of the fleet.", NAME, example="north-yard")


def endpoints(registry: Registry) -> list[Endpoint]:
    """The addresses of this resource; none where no plugin knows what a fleet is."""
    expected = fleet_type(registry)
    if expected is None:
        return []
    kept = kept_fleet_type(registry)
    return [
        Endpoint(
            method="GET",
            path="/v1/fleets",
            operation_id="listFleets",
            summary="List the fleets",
            tag="plans",
            scope="fleet",
            handler=_list,
            replies={200: Reply("A page of the list.", FleetList)},
            parameters=PAGE_PARAMETERS,
            problems=("refused-input", "store-unavailable"),
        ),
        Endpoint(
            method="PUT",
            path="/v1/fleets/{id}",
            operation_id="putFleet",
            summary="Keep a fleet, or a new version of it",
            description=(
                "Checked row by row. Sending the present version again changes nothing. Changing it needs `If-Match`. "
                "As `text/csv`, one row a machine type or accessory, as `GET` with `Accept: text/csv` writes it; errors then "
                "name the row and the column."
            ),
            tag="plans",
            scope="fleet",
            handler=_put,
            replies={200: Reply("Kept before, or changed.", kept), 201: Reply("Kept as something new.", kept)},
            parameters=(ID, *PRECONDITIONS),
            body=expected,
            unlisted_media_types=(CSV,),
            problems=(*PRECONDITION_PROBLEMS, "storage-used"),
            large_body=True,
        ),
        Endpoint(
            method="GET",
            path="/v1/fleets/{id}",
            operation_id="getFleet",
            summary="Read a fleet",
            tag="plans",
            scope="fleet",
            handler=_get,
            replies={
                200: Reply("The fleet.", kept, other_media_types=(CSV,)),
                304: Reply("You have it already."),
            },
            parameters=(
                ID,
                Parameter(
                    "version",
                    "query",
                    "An earlier version; the newest if not given.",
                    {"type": "integer", "format": "int32", "minimum": 1, "maximum": 2**31 - 1},
                ),
            ),
            problems=("not-found", "not-acceptable", "refused-input", "store-unavailable"),
        ),
        Endpoint(
            method="GET",
            path="/v1/fleets/{id}/versions",
            operation_id="listFleetVersions",
            summary="List the versions of a fleet",
            tag="plans",
            scope="fleet",
            handler=versions,
            replies={200: Reply("A page of the list.", FleetVersionList)},
            parameters=(ID, *PAGE_PARAMETERS),
            problems=("not-found", "refused-input", "store-unavailable"),
        ),
    ]
