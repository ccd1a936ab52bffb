"""`GET /v1/jobs/{id}/results`: in pages, or all of it as lines of JSON, as a table, or as Parquet."""

from collections.abc import AsyncIterator
from typing import Annotated, Any

from litestar import Response
from litestar.response import Stream
from msgspec import UNSET, Meta, Struct, UnsetType

from coldwright.bulk.keeping import Keep, keep_of
from coldwright.service.http.endpoint import Asked
from coldwright.service.http.negotiation import JSON, preferred
from coldwright.service.http.paging import number_in, page_number, page_size, page_start, token_after
from coldwright.service.http.replies import encode, json_reply
from coldwright.service.jobs.parquet import PARQUET, Columns, refuse_without_library
from coldwright.service.jobs.result import JobResult, result_of
from coldwright.service.jobs.tables import table
from coldwright.service.state import Services
from coldwright.store.jobs import Item, Job, list_items, list_worst

NDJSON, CSV = "application/x-ndjson", "text/csv"
FORMS = (JSON, NDJSON, CSV, PARQUET)
PIECE = 100
"""Items that are read at a time."""
MOST_OF_A_PAGE = 8_000_000
"""Bytes of what is kept of the items of a page of JSON, unless one item alone has more: then the page ends early."""
Key = tuple[int, int] | None
Rows = AsyncIterator[tuple[Item, JobResult]]


class JobResults(Struct, frozen=True, kw_only=True):
    """A page of the items that are done."""

    results: Annotated[
        tuple[JobResult, ...], Meta(description="In the order of the request; with `keep: changes` the worst first.")
    ]
    next_page_token: Annotated[str, Meta(description="Absent on the last page.")] | UnsetType = UNSET


async def results(asked: Asked, job: Job) -> Response[Any]:
    """What came of the items that are done, in the form that `Accept` asks for."""
    form = preferred(asked.header("accept"), FORMS)
    keep = keep_of(job.keep)
    if form == PARQUET:
        refuse_without_library()
    if form != JSON:
        media_type = f"{form}; charset=utf-8" if form == CSV else form
        headers = {"Vary": "Accept"}
        return Stream(
            _written(form, asked.services, asked.caller.tenant, job, keep), media_type=media_type, headers=headers
        )
    size = page_size(asked)
    after = _worst_after(page_start(asked)) if keep == "changes" else (0, page_number(asked) - 1)
    items, goes_on = await _page(asked.services, asked.caller.tenant, job, keep, after, size)
    shown = tuple(result_of(item, keep, asked.services.settings.public_url) for item in items)
    token: Any = UNSET
    if goes_on:
        last = items[-1]
        token = token_after(f"{last.severity}\n{last.number}" if keep == "changes" else str(last.number + 1))
    return json_reply(await asked.services.apart(encode, JobResults(results=shown, next_page_token=token)))


async def _page(
    services: Services, tenant: str, job: Job, keep: Keep, after: Key, size: int
) -> tuple[list[Item], bool]:
    """The items of a page, fewer than `size` where they are long; and whether there are more."""
    found: list[Item] = []
    room = MOST_OF_A_PAGE
    while len(found) <= size:
        wanted = min(PIECE, size + 1 - len(found))
        items = await _items(services, tenant, job, keep, after, wanted)
        for item in items:
            room -= len(item.body)
            if found and (room < 0 or len(found) == size):
                return found, True
            found.append(item)
        if len(items) < wanted:
            break
        after = (items[-1].severity, items[-1].number)
    return found, False


def _worst_after(start: str) -> Key:
    severity, _, number = start.partition("\n")
    if not start:
        return None
    return number_in(severity), number_in(number)


async def _items(services: Services, tenant: str, job: Job, keep: Keep, after: Key, size: int) -> list[Item]:
    if keep == "changes":
        return await services.stored(list_worst, services.database, tenant, job.id, after, size)
    first = 0 if after is None else after[1] + 1
    return await services.stored(list_items, services.database, tenant, job.id, first, size)


def _written(form: str, services: Services, tenant: str, job: Job, keep: Keep) -> AsyncIterator[bytes]:
    if form == PARQUET:
        return _parquet(services, _pieces(services, tenant, job, keep), keep)
    rows = _rows(services, tenant, job, keep)
    return _lines(rows) if form == NDJSON else table(rows, keep)


async def _pieces(services: Services, tenant: str, job: Job, keep: Keep) -> AsyncIterator[list[Item]]:
    after: Key = None
    while items := await _items(services, tenant, job, keep, after, PIECE):
        yield items
        after = (items[-1].severity, items[-1].number)


async def _rows(services: Services, tenant: str, job: Job, keep: Keep) -> Rows:
    async for items in _pieces(services, tenant, job, keep):
        for item in items:
            yield item, result_of(item, keep, services.settings.public_url)


async def _lines(rows: Rows) -> AsyncIterator[bytes]:
    async for _, result in rows:
        yield encode(result) + b"\n"


async def _parquet(services: Services, pieces: AsyncIterator[list[Item]], keep: Keep) -> AsyncIterator[bytes]:
    columns = await services.apart(Columns, keep, services.settings.public_url)
    async for items in pieces:
        if written := await services.apart(columns.add, items):
            yield written
    yield await services.apart(columns.end)
