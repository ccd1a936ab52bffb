"""`POST /v1/jobs`: of one JSON document, of lines, or of a selection of kept orders."""

import hashlib
import secrets
from collections.abc import Sequence

import msgspec
from litestar import Response
from msgspec import UNSET

from coldwright.bulk.cutting import sizes
from coldwright.bulk.needs import needs_of
from coldwright.contract import Refused, field_error
from coldwright.contract.answer import Units
from coldwright.contract.reading import read
from coldwright.service.exploration.asking import find_calculator, refuse_repeated_ids
from coldwright.service.http.body import is_long, is_streamed, raw_body
from coldwright.service.http.endpoint import Asked
from coldwright.service.http.problems import ProblemRaised
from coldwright.service.http.replies import json_reply, wanted_units
from coldwright.service.jobs.idempotency import key_of, wrong_key
from coldwright.service.jobs.lines import JobItem
from coldwright.service.jobs.making import JOBS_RETRY_SECONDS, Making
from coldwright.service.jobs.request import JobRequest, kept_of
from coldwright.service.jobs.selecting import BookingsWanted, pages_of
from coldwright.service.jobs.status import status_of
from coldwright.service.jobs.upload import received
from coldwright.store.jobs import Job, KeyReused, New, NewItem, TooManyJobs, create_job


async def create(asked: Asked) -> Response[bytes]:
    """Make a job; raises a problem, and then there is none."""
    await asked.services.kept.refuse_more(asked.caller.tenant)
    key, units = key_of(asked), wanted_units(asked)
    if is_streamed(asked):
        job, is_new = await received(asked, units, key)
    else:
        job, is_new = await _of_document(asked, units, key)
    if is_new:
        asked.services.new_job()
    headers = {"Location": f"/v1/jobs/{job.id}", "Retry-After": "1"}
    return json_reply(status_of(asked.services, job), 202, headers)


async def _of_document(asked: Asked, units: Units, key: str | None) -> tuple[Job, bool]:
    body, services = await raw_body(asked), asked.services
    request = await services.apart(read, JobRequest, body, long=await is_long(asked))
    fingerprint = await services.apart(_fingerprint, units, body)
    if (request.items is UNSET) == (request.bookings is UNSET):
        raise Refused([field_error("", "Give exactly one of `items` and `bookings`.", code="either_or")])
    keep = kept_of(request.keep, of_orders=request.bookings is not UNSET)
    if request.bookings is UNSET:
        return await _of_items(asked, request, units, keep, key, fingerprint)
    if request.calculator is not UNSET:
        judge = services.registry.needed("booking").calculator.id
        text = f"Kept orders are answered by {judge}; a calculator stands beside `items` only."
        raise Refused([field_error("/calculator", text, code="either_or", value=request.calculator)])
    return await _of_bookings(asked, request.bookings, units, keep, key, fingerprint)


async def _of_items(
    asked: Asked, request: JobRequest, units: Units, keep: bytes, key: str | None, fingerprint: str
) -> tuple[Job, bool]:
    services, long = asked.services, await is_long(asked)
    if request.calculator is UNSET:
        raise Refused([field_error("/calculator", "`items` need the calculator that answers them.", code="missing")])
    refuse_repeated_ids(i.id for i in request.items or ())
    items = await services.apart(_encoded, request.items or (), long=long)
    served = find_calculator(services, request.calculator)
    cut = sizes((len(item.given) for item in items), served.calculator.load)
    id_, needs = secrets.token_hex(12), needs_of(services.registry, served)
    new = New(id_, request.calculator, units, items, key, fingerprint, needs, keep, cut)
    try:
        return await services.stored(
            create_job, services.database, asked.caller.tenant, new, services.settings.tenant_jobs
        )
    except TooManyJobs as error:
        raise ProblemRaised("too-many-jobs", str(error), retry_after=JOBS_RETRY_SECONDS) from None
    except KeyReused:
        raise wrong_key("This key was used for another request.", "repeated") from None


async def _of_bookings(
    asked: Asked, wanted: BookingsWanted, units: Units, keep: bytes, key: str | None, fingerprint: str
) -> tuple[Job, bool]:
    judge = asked.services.registry.needed("booking")
    making = Making(asked, judge.calculator.id, judge, units, keep)
    await making.begin(key)
    try:
        async for items in pages_of(asked, wanted):
            await making.take(items)
        if making.count:
            return await making.complete(key, fingerprint, named_once=True)
    finally:
        await making.leave()
    raise Refused([field_error("/bookings", "No kept order is of this selection.", code="nothing_there")])


def _encoded(items: Sequence[JobItem]) -> list[NewItem]:
    return [NewItem(i.id, msgspec.json.encode(i.given)) for i in items]


def _fingerprint(units: Units, body: bytes) -> str:
    return hashlib.sha256(units.encode() + body).hexdigest()
