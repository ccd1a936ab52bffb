"""`/v1/jobs`: more evaluations than a request can carry, or every order of a book under another sky."""

import hashlib
import secrets
from collections.abc import Sequence
from datetime import datetime
from typing import Annotated, Any, Literal

import msgspec
from litestar import Response
from msgspec import UNSET, Meta, Struct, UnsetType

from coldwright.bulk.cutting import sizes
from coldwright.bulk.needs import needs_of, served_for
from coldwright.contract import Example, Given, Refused, Text, about, field_error
from coldwright.contract.answer import Units
from coldwright.contract.reading import read
from coldwright.service.exploration.asking import find_calculator, refuse_repeated_ids
from coldwright.service.exploration.sweep import PointerText
from coldwright.service.http.body import is_long, raw_body
from coldwright.service.http.endpoint import UNITS, Asked, Endpoint, Parameter, Reply
from coldwright.service.http.instants import instant
from coldwright.service.http.paging import (
    PAGE_PARAMETERS,
    foreign_token,
    page_size,
    page_start,
    token_after,
)
from coldwright.service.http.problems import ProblemRaised
from coldwright.service.http.replies import json_reply, wanted_units
from coldwright.service.jobs.idempotency import KEY, key_of, wrong_key
from coldwright.service.jobs.results import CSV, NDJSON, JobResults, results
from coldwright.service.jobs.selecting import MOST_ITEMS, BookingsWanted, selected
from coldwright.service.resources.records import instant_text
from coldwright.service.state import Services
from coldwright.store.jobs import (
    Job,
    JobState,
    KeyReused,
    New,
    NewItem,
    TooManyJobs,
    cancel_job,
    create_job,
    get_job,
    list_jobs,
)

JOBS_RETRY_SECONDS = 10
"""After this long a job may have ended."""


class JobItem(Given, frozen=True, kw_only=True):
    """One evaluation."""

    id: Annotated[Text, about("Your name for it.", min_length=1)]
    given: Annotated[dict[str, Any], about("Its input, as the calculator's own address takes it.")]


class JobRequest(Given, frozen=True, kw_only=True):
    """Exactly one of `items` (with `calculator`) and `bookings`."""

    calculator: Annotated[Text, about("Id of the calculator of `items`.")] | UnsetType = UNSET
    items: Annotated[tuple[JobItem, ...], about("Evaluations.", min_length=1, max_length=MOST_ITEMS)] | UnsetType = (
        UNSET
    )
    bookings: (
        Annotated[BookingsWanted, about("Assess kept orders again: a heat wave over the whole book.")] | UnsetType
    ) = UNSET
    keep: (
        Annotated[
            Literal["answers", "changes"] | Annotated[tuple[PointerText, ...], Meta(min_length=1, max_length=20)],
            about(
                "What is kept of each answer: `answers` (if not given): all of it; a list of JSON pointers into the answer: what "
                "stands there; `changes`, of kept orders: only those whose outcome, machines, or findings that stop the plan or "
                "are to be checked, are not those of the kept plan; the worst first. A word may stand alone or in a list."
            ),
        ]
        | UnsetType
    ) = UNSET


Count = Annotated[int, Meta(ge=0, le=2**31)]


class JobStatus(Struct, frozen=True, kw_only=True):
    """How far a job is."""

    id: Annotated[str, Meta(description="Id of the job.")]
    state: Annotated[
        JobState,
        Meta(
            description="`succeeded`: every item has an answer; `succeeded_with_failures`: some have a problem instead; "
            "`failed`: none has an answer."
        ),
    ]
    calculator: Annotated[str, Meta(description="Id of the calculator.")]
    total: Annotated[Count, Meta(description="How many items it has.")]
    done: Annotated[Count, Meta(description="How many will not be looked at again: `answered` and `failed` together.")]
    answered: Annotated[Count, Meta(description="How many have an answer.")]
    failed: Annotated[
        Count,
        Meta(
            description="How many have a problem instead: their input was refused, or their calculator failed at them each "
            "time. An item whose calculator rests, is not installed or is busy waits; it is not among these."
        ),
    ]
    refused: Annotated[Count, Meta(description="The same as `failed`; its former name.")]
    waiting_for: (
        Annotated[
            str,
            Meta(
                description="Calculator and version that the job began with, where the process that you asked does not serve "
                "it. Where no process has for ten minutes and another version is there, the job begins anew with that."
            ),
        ]
        | UnsetType
    ) = UNSET
    created_at: Annotated[str, instant("RFC 3339.")]
    finished_at: Annotated[str, instant("RFC 3339; absent while it is not ended. Kept for seven days.")] | UnsetType = (
        UNSET
    )


class JobList(Struct, frozen=True, kw_only=True):
    """A page of the jobs."""

    jobs: Annotated[tuple[JobStatus, ...], Meta(description="The newest first.")]
    next_page_token: Annotated[str, Meta(description="Absent on the last page.")] | UnsetType = UNSET


async def _create(asked: Asked) -> Response[bytes]:
    await asked.services.kept.refuse_more(asked.caller.tenant)
    body = await raw_body(asked)
    services, long = asked.services, await is_long(asked)
    request = await services.apart(read, JobRequest, body, long=long)
    key = key_of(asked)
    units = wanted_units(asked)
    calculator, items = await _items(asked, request)
    served = find_calculator(asked.services, calculator)
    cut = sizes((len(item.given) for item in items), served.calculator.load)
    fingerprint = await services.apart(_fingerprint, units, body)
    new = New(secrets.token_hex(12), calculator, units, items, key, fingerprint, needs_of(served), _kept(request), cut)
    try:
        job, is_new = await services.stored(
            create_job, services.database, asked.caller.tenant, new, services.settings.tenant_jobs
        )
    except TooManyJobs as error:
        raise ProblemRaised("too-many-jobs", str(error), retry_after=JOBS_RETRY_SECONDS) from None
    except KeyReused:
        raise wrong_key("This key was used for another request.", "repeated") from None
    if is_new:
        asked.services.new_job()
    headers = {"Location": f"/v1/jobs/{job.id}", "Retry-After": "1"}
    return json_reply(_status(services, job), 202, headers)


def _kept(request: JobRequest) -> bytes:
    return msgspec.json.encode(_keep(request))


def _keep(request: JobRequest) -> str | tuple[str, ...]:
    """What is to be kept; a list of one word is that word, as generated clients send it."""
    keep = request.keep
    if isinstance(keep, UnsetType):
        return "answers"
    return keep[0] if isinstance(keep, tuple) and keep in (("answers",), ("changes",)) else keep


async def _items(asked: Asked, request: JobRequest) -> tuple[str, list[NewItem]]:
    """The calculator, and name and input of each item."""
    if (request.items is UNSET) == (request.bookings is UNSET):
        raise Refused([field_error("", "Give exactly one of `items` and `bookings`.", code="either_or")])
    if request.bookings is not UNSET:
        judge = asked.services.registry.needed("booking").calculator.id
        if request.calculator is not UNSET:
            text = f"Kept orders are answered by {judge}; a calculator stands beside `items` only."
            raise Refused([field_error("/calculator", text, code="either_or", value=request.calculator)])
        return judge, await selected(asked, request.bookings)
    if _keep(request) == "changes":
        text = "`changes` compares kept orders with their kept plans: it stands beside `bookings` only."
        raise Refused([field_error("/keep", text, code="either_or", value="changes")])
    if request.calculator is UNSET:
        raise Refused([field_error("/calculator", "`items` need the calculator that answers them.", code="missing")])
    refuse_repeated_ids(i.id for i in request.items or ())
    return request.calculator, await asked.services.apart(_encoded, request.items or (), long=await is_long(asked))


def _encoded(items: Sequence[JobItem]) -> list[NewItem]:
    return [NewItem(i.id, msgspec.json.encode(i.given)) for i in items]


def _fingerprint(units: Units, body: bytes) -> str:
    return hashlib.sha256(units.encode() + body).hexdigest()


async def _get(asked: Asked) -> Response[bytes]:
    job = await _find(asked)
    return json_reply(_status(asked.services, job), 200, {} if job.finished_at else {"Retry-After": "1"})


async def _results(asked: Asked) -> Response[Any]:
    return await results(asked, await _find(asked))


async def _list(asked: Asked) -> Response[bytes]:
    services, size, start = asked.services, page_size(asked), page_start(asked)
    found = await services.stored(list_jobs, services.database, asked.caller.tenant, _after(start), size + 1)
    entries = tuple(_status(services, job) for job in found[:size])
    more = len(found) > size
    token = token_after(f"{found[size - 1].created_at.isoformat()}\n{found[size - 1].id}") if more else UNSET
    return json_reply(JobList(jobs=entries, next_page_token=token))


def _after(start: str) -> tuple[datetime, str] | None:
    if not start:
        return None
    made, _, id_ = start.partition("\n")
    try:
        return datetime.fromisoformat(made), id_
    except ValueError:
        raise foreign_token(start) from None


async def _cancel(asked: Asked) -> Response[bytes]:
    job = await _find(asked)
    await asked.services.stored(cancel_job, asked.services.database, asked.caller.tenant, job.id)
    return json_reply(_status(asked.services, await _find(asked)))


async def _find(asked: Asked) -> Job:
    job = await asked.services.stored(get_job, asked.services.database, asked.caller.tenant, asked.path("id"))
    if job is None:
        raise ProblemRaised("not-found", "There is no job of that id. Jobs are kept for seven days after they end.")
    return job


def _status(services: Services, job: Job) -> JobStatus:
    waits = not job.finished_at and served_for(services.registry, job.needs) is None
    return JobStatus(
        id=job.id,
        state=job.state,
        calculator=job.calculator,
        total=job.total,
        done=job.done,
        answered=job.answered,
        failed=job.failed,
        refused=job.failed,
        waiting_for=job.needs if waits else UNSET,
        created_at=instant_text(job.created_at),
        finished_at=instant_text(job.finished_at) if job.finished_at else UNSET,
    )


ID = Parameter("id", "path", "Id of the job.", {"type": "string", "pattern": "^[0-9a-f]{24}$"})
EXAMPLE = Example(
    "heat-wave",
    "Invented: which orders of July no longer hold on a day of 43 degC?",
    {
        "bookings": {
            "from": "2027-07-01",
            "to": "2027-07-31",
            "override": {"site": {"design_ambient_temperature": {"value": 43, "unit": "degC"}}},
        },
        "keep": "changes",
    },
)


def endpoints() -> list[Endpoint]:
    """The addresses of this resource."""
    common = ("not-found", "store-unavailable")
    return [
        Endpoint(
            method="POST",
            path="/v1/jobs",
            operation_id="createJob",
            summary="Evaluate up to ten thousand inputs in the background",
            description="Done items are kept as they come; a restart of the service goes on where it was.",
            tag="exploration",
            scope="book",
            handler=_create,
            replies={
                202: Reply("Taken; `Location` says where it is.", JobStatus, headers={"Location": "Its address."})
            },
            parameters=(UNITS, KEY),
            body=JobRequest,
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
            replies={200: Reply("A page of those that are done.", JobResults, other_media_types=(NDJSON, CSV))},
            description="As lines of JSON or as a table (`Accept`), all that are done are sent, and no pages are made.",
            parameters=(ID, *PAGE_PARAMETERS),
            problems=(*common, "refused-input", "not-acceptable"),
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
