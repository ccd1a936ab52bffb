"""`/v1/jobs`: more evaluations than a request can carry, or every order of a book under another sky."""

import hashlib
import re
import secrets
from collections.abc import Sequence
from datetime import date, datetime
from typing import Annotated, Any

import msgspec
from litestar import Response
from msgspec import UNSET, Meta, Struct, UnsetType

from coldwright.bulk.cutting import sizes
from coldwright.bulk.facts import facts_in
from coldwright.bulk.needs import needs_of, served_for
from coldwright.contract import Allowed, Example, Given, Refused, Text, about, field_error
from coldwright.contract.answer import Units
from coldwright.contract.reading import read
from coldwright.service.exploration.asking import find_calculator, refuse_repeated_ids
from coldwright.service.exploration.pointers import NoSuchPlace, replaced
from coldwright.service.http.body import is_long, raw_body
from coldwright.service.http.endpoint import UNITS, Asked, Endpoint, Parameter, Reply
from coldwright.service.http.instants import instant
from coldwright.service.http.paging import (
    PAGE_PARAMETERS,
    foreign_token,
    page_number,
    page_size,
    page_start,
    token_after,
)
from coldwright.service.http.problems import ProblemRaised, refused_input
from coldwright.service.http.replies import encode, json_reply, wanted_units
from coldwright.service.resources.records import instant_text
from coldwright.service.state import Services
from coldwright.store.bookings import Filter, list_assessed
from coldwright.store.jobs import (
    Item,
    Job,
    JobState,
    KeyReused,
    New,
    NewItem,
    cancel_job,
    create_job,
    get_job,
    list_items,
    list_jobs,
)

MOST_ITEMS = 10_000


class JobItem(Given, frozen=True, kw_only=True):
    """One evaluation."""

    id: Annotated[Text, about("Your name for it.", min_length=1)]
    given: Annotated[dict[str, Any], about("Its input, as the calculator's own address takes it.")]


class Change(Given, frozen=True, kw_only=True):
    """A value to put into every order."""

    pointer: Annotated[Text, about("JSON pointer into the order: `/site/design_ambient_temperature`.")]
    value: Annotated[Any, about("What to put there.")]


class BookingsWanted(Given, frozen=True, kw_only=True, rename={"from_": "from"}):
    """The newest revisions of the orders of a period, each with the changes."""

    from_: Annotated[date, about("Only orders that last until this day or longer.")] | UnsetType = UNSET
    to: Annotated[date, about("Only orders that begin on this day or before.")] | UnsetType = UNSET
    change: Annotated[tuple[Change, ...], about("Changes to every order.", max_length=20)] = ()


class JobRequest(Given, frozen=True, kw_only=True):
    """Exactly one of `items` (with `calculator`) and `bookings`."""

    calculator: Annotated[Text, about("Id of the calculator of `items`.")] | UnsetType = UNSET
    items: Annotated[tuple[JobItem, ...], about("Evaluations.", min_length=1, max_length=MOST_ITEMS)] | UnsetType = (
        UNSET
    )
    bookings: (
        Annotated[BookingsWanted, about("Assess kept orders again: a heat wave over the whole book.")] | UnsetType
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


class JobResult(Struct, frozen=True, kw_only=True):
    """What came of an item."""

    id: Annotated[str, Meta(description="Your name for it, or the reference of the order.")]
    status: Annotated[int, Meta(ge=200, le=599, description="HTTP status that it would have had alone.")]
    answer: Annotated[Any, Meta(description="The answer, where there is one.")] = UNSET
    problem: Annotated[Any, Meta(description="The problem, where there is no answer.")] = UNSET


class JobResults(Struct, frozen=True, kw_only=True):
    """A page of the items that are done."""

    results: Annotated[tuple[JobResult, ...], Meta(description="In the order of the request.")]
    next_page_token: Annotated[str, Meta(description="Absent on the last page.")] | UnsetType = UNSET


async def _create(asked: Asked) -> Response[bytes]:
    body = await raw_body(asked)
    services, long = asked.services, await is_long(asked)
    request = await services.apart(read, JobRequest, body, long=long)
    key = _idempotency_key(asked)
    units = wanted_units(asked)
    calculator, items = await _items(asked, request)
    served = find_calculator(asked.services, calculator)
    cut = sizes((len(item.given) for item in items), served.calculator.load)
    fingerprint = await services.apart(_fingerprint, units, body)
    new = New(secrets.token_hex(12), calculator, units, items, key, fingerprint, needs_of(served), cut)
    try:
        job, is_new = await asked.services.stored(create_job, asked.services.database, asked.caller.tenant, new)
    except KeyReused:
        raise _wrong_key("This key was used for another request.", "repeated") from None
    if is_new:
        asked.services.new_job()
    headers = {"Location": f"/v1/jobs/{job.id}", "Retry-After": "1"}
    return json_reply(_status(services, job), 202, headers)


def _idempotency_key(asked: Asked) -> str | None:
    """The key, which may stand in quotation marks as the draft of the IETF has it."""
    sent = asked.header("idempotency-key")
    if sent is None:
        return None
    key = sent.strip().removeprefix('"').removesuffix('"')
    if not re.fullmatch(KEY.schema["pattern"], key):
        raise _wrong_key("A key is one to 200 characters of ASCII without spaces.", "not_allowed")
    return key


def _wrong_key(text: str, code: str) -> Refused:
    return Refused([field_error("/header/Idempotency-Key", text, code=code)])


async def _items(asked: Asked, request: JobRequest) -> tuple[str, list[NewItem]]:
    """The calculator, and name and input of each item."""
    if (request.items is UNSET) == (request.bookings is UNSET):
        raise Refused([field_error("", "Give exactly one of `items` and `bookings`.", code="either_or")])
    if request.bookings is not UNSET:
        judge = asked.services.registry.needed("booking").calculator.id
        if request.calculator is not UNSET:
            text = f"Kept orders are answered by {judge}; a calculator stands beside `items` only."
            raise Refused([field_error("/calculator", text, code="either_or", value=request.calculator)])
        return judge, await _booked(asked, request.bookings)
    if request.calculator is UNSET:
        raise Refused([field_error("/calculator", "`items` need the calculator that answers them.", code="missing")])
    refuse_repeated_ids(i.id for i in request.items or ())
    return request.calculator, await asked.services.apart(_encoded, request.items or (), long=await is_long(asked))


def _encoded(items: Sequence[JobItem]) -> list[NewItem]:
    return [NewItem(i.id, msgspec.json.encode(i.given)) for i in items]


def _fingerprint(units: Units, body: bytes) -> str:
    return hashlib.sha256(units.encode() + body).hexdigest()


async def _booked(asked: Asked, wanted: BookingsWanted) -> list[NewItem]:
    """The kept inputs of the orders, fleet and free stock included, with the changes."""
    services, tenant = asked.services, asked.caller.tenant
    first, last = ("" if day is UNSET else day.isoformat() for day in (wanted.from_, wanted.to))
    period = Filter(first, last)
    kept = await services.stored(list_assessed, services.database, tenant, period, MOST_ITEMS + 1)
    if not kept:
        raise Refused([field_error("/bookings", "There is no order in this period.", code="nothing_there")])
    if len(kept) > MOST_ITEMS:
        text = f"There are more than {MOST_ITEMS} orders in this period. Ask for a part of it at a time."
        raise Refused([field_error("/bookings", text, code="out_of_range", allowed=Allowed(maximum=MOST_ITEMS))])

    def changed() -> list[NewItem]:
        return [NewItem(name, _changed(name, given, wanted.change)) for name, given in kept]

    return await services.apart(changed, long=len(kept) > 100)


def _changed(reference: str, given: bytes, changes: tuple[Change, ...]) -> bytes:
    order = msgspec.json.decode(given)
    for number, change in enumerate(changes):
        try:
            order = replaced(order, change.pointer, change.value)
        except NoSuchPlace as error:
            text = f"{error} in the order {reference}."
            at = f"/bookings/change/{number}/pointer"
            raise Refused([field_error(at, text, code="no_such_place", value=change.pointer)]) from None
    return msgspec.json.encode(order)


async def _get(asked: Asked) -> Response[bytes]:
    job = await _find(asked)
    return json_reply(_status(asked.services, job), 200, {} if job.finished_at else {"Retry-After": "1"})


async def _results(asked: Asked) -> Response[bytes]:
    job = await _find(asked)
    size, first = page_size(asked), page_number(asked)
    rows = await asked.services.stored(
        list_items, asked.services.database, asked.caller.tenant, job.id, first, size + 1
    )
    results = tuple(_result(item, asked.services.settings.public_url) for item in rows[:size])
    token = token_after(str(rows[size].number)) if len(rows) > size else UNSET
    return json_reply(encode(JobResults(results=results, next_page_token=token)))


def _result(item: Item, public_url: str) -> JobResult:
    if item.status == 200:
        return JobResult(id=item.name, status=200, answer=msgspec.Raw(item.body))
    facts = facts_in(item.body)
    raised = refused_input(facts.errors) if facts.errors else ProblemRaised(facts.slug, facts.detail)
    return JobResult(id=item.name, status=item.status, problem=raised.problem(public_url=public_url))


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
KEY = Parameter(
    "Idempotency-Key",
    "header",
    "Your own key of this request: sent again with the same body it makes no second job.",
    {"type": "string", "minLength": 1, "maxLength": 200, "pattern": r"^[\x21-\x7e]{1,200}$"},
)
EXAMPLE = Example(
    "heat-wave",
    "Invented: every order of July, on a day of 43 degC.",
    {
        "bookings": {
            "from": "2027-07-01",
            "to": "2027-07-31",
            "change": [{"pointer": "/site/design_ambient_temperature", "value": {"value": 43, "unit": "degC"}}],
        }
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
            problems=(*common, "store-full"),
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
            replies={200: Reply("A page of those that are done.", JobResults)},
            parameters=(ID, *PAGE_PARAMETERS),
            problems=(*common, "refused-input"),
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
