"""`/v1/jobs`: more evaluations than a request can carry, or every order of a book under another sky."""

from datetime import UTC, datetime
from typing import Annotated, Any

from litestar import Response
from msgspec import UNSET, Meta, Struct, UnsetType

from coldwright.service.http.endpoint import UNITS, Asked, Endpoint, Parameter, Reply
from coldwright.service.http.paging import (
    PAGE_PARAMETERS,
    foreign_token,
    page_size,
    page_start,
    token_after,
)
from coldwright.service.http.replies import json_reply
from coldwright.service.http.streams import MEDIA_TYPE
from coldwright.service.jobs.creating import create
from coldwright.service.jobs.idempotency import KEY
from coldwright.service.jobs.parquet import PARQUET
from coldwright.service.jobs.progress import stream
from coldwright.service.jobs.request import EXAMPLE, JobRequest
from coldwright.service.jobs.results import CSV, NDJSON, JobResults, results
from coldwright.service.jobs.status import JobStatus, find_job, status_of
from coldwright.store.jobs import cancel_job, list_jobs


class JobList(Struct, frozen=True, kw_only=True):
    """A page of the jobs."""

    jobs: Annotated[tuple[JobStatus, ...], Meta(description="The newest first.")]
    next_page_token: Annotated[str, Meta(description="Absent on the last page.")] | UnsetType = UNSET


async def _get(asked: Asked) -> Response[bytes]:
    job = await find_job(asked)
    return json_reply(status_of(asked.services, job), 200, {} if job.finished_at else {"Retry-After": "1"})


async def _results(asked: Asked) -> Response[Any]:
    return await results(asked, await find_job(asked))


async def _list(asked: Asked) -> Response[bytes]:
    services, size, start = asked.services, page_size(asked), page_start(asked)
    found = await services.stored(list_jobs, services.database, asked.caller.tenant, _after(start), size + 1)
    entries = tuple(status_of(services, job) for job in found[:size])
    more = len(found) > size
    token = token_after(f"{found[size - 1].created_at.isoformat()}\n{found[size - 1].id}") if more else UNSET
    return json_reply(JobList(jobs=entries, next_page_token=token))


def _after(start: str) -> tuple[datetime, str] | None:
    if not start:
        return None
    made, _, id_ = start.partition("\n")
    try:
        return datetime.fromisoformat(made).astimezone(UTC), id_
    except (ValueError, OverflowError):
        raise foreign_token(start) from None


async def _cancel(asked: Asked) -> Response[bytes]:
    job = await find_job(asked)
    await asked.services.stored(cancel_job, asked.services.database, asked.caller.tenant, job.id)
    return json_reply(status_of(asked.services, await find_job(asked)))


ID = Parameter("id", "path", "Id of the job.", {"type": "string", "pattern": "^[0-9a-f]{24}$"})
LAST_EVENT = Parameter(
    "Last-Event-ID",
    "header",
    "Id of the last event that you have, as a browser's listener sends it when it comes back.",
    {"type": "string", "maxLength": 20},
)


def endpoints() -> list[Endpoint]:
    """The addresses of this resource."""
    common = ("not-found", "store-unavailable")
    return [
        Endpoint(
            method="POST",
            path="/v1/jobs",
            operation_id="createJob",
            summary="Evaluate many inputs in the background",
            description=(
                "Done items are kept as they come; a restart of the service goes on where it was. One JSON document has up to "
                "ten thousand items. Lines (`application/x-ndjson`, also with `Content-Encoding: gzip`) have no such end, only the "
                "limits that the operator set, a million items where he did not: the first line says `calculator` and, if wanted, "
                "`keep`; each further line is an item, `id` and `given`. A line that is no item fails alone, under the id "
                "`line` and its number; empty lines are passed over. Until all of it has come there is no job, and of one that "
                "breaks off nothing is left."
            ),
            tag="exploration",
            scope="book",
            handler=create,
            replies={
                202: Reply("Taken; `Location` says where it is.", JobStatus, headers={"Location": "Its address."})
            },
            parameters=(UNITS, KEY),
            body=JobRequest,
            unlisted_media_types=(NDJSON,),
            streamed=(NDJSON,),
            examples=(EXAMPLE,),
            problems=(*common, "store-full", "storage-used", "too-many-jobs"),
            large_body=True,
        ),
        Endpoint(
            method="GET",
            path="/v1/jobs",
            operation_id="listJobs",
            summary="Your jobs",
            description="The newest first. A job is kept for seven days after it has ended.",
            tag="exploration",
            scope="book",
            handler=_list,
            replies={200: Reply("A page of them.", JobList)},
            parameters=PAGE_PARAMETERS,
            problems=("refused-input", "store-unavailable"),
        ),
        Endpoint(
            method="GET",
            path="/v1/jobs/{id}",
            operation_id="getJob",
            summary="How far is a job?",
            tag="exploration",
            scope="book",
            handler=_get,
            replies={200: Reply("How far it is.", JobStatus)},
            parameters=(ID,),
            problems=common,
        ),
        Endpoint(
            method="GET",
            path="/v1/jobs/{id}/results",
            operation_id="listJobResults",
            summary="What came of the items",
            tag="exploration",
            scope="book",
            handler=_results,
            replies={
                200: Reply("A page of those that are done.", JobResults, other_media_types=(NDJSON, CSV, PARQUET))
            },
            description=(
                "As lines of JSON, as a table (CSV) or as Parquet (`Accept`), all that are done are sent, and no pages are made. "
                "Parquet, where the operator has installed it, has three columns for each pointer of `keep`: the text, ` value` "
                "with the number and ` unit`."
            ),
            parameters=(ID, *PAGE_PARAMETERS),
            problems=(*common, "refused-input", "not-acceptable"),
        ),
        Endpoint(
            method="GET",
            path="/v1/jobs/{id}/events",
            operation_id="streamJob",
            summary="How far a job is, as it goes on",
            description=(
                "Server-sent events: `progress`, at most one for each hundredth, and `done`, after which the stream ends; the "
                "data of each is what GET answers. Events of the feed and of webhooks, `job.progress` for each tenth and "
                "`job.done`, come without a stream."
            ),
            tag="exploration",
            scope="book",
            handler=stream,
            replies={
                200: Reply("The stream.", str, MEDIA_TYPE),
                204: Reply("It has ended, and you know (`Last-Event-ID`)."),
            },
            parameters=(ID, LAST_EVENT),
            problems=common,
        ),
        Endpoint(
            method="DELETE",
            path="/v1/jobs/{id}",
            operation_id="cancelJob",
            summary="Stop a job; what is done stays",
            tag="exploration",
            scope="book",
            handler=_cancel,
            replies={200: Reply("How far it came.", JobStatus)},
            parameters=(ID,),
            problems=(*common, "store-full"),
        ),
    ]
