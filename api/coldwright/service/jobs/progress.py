"""`GET /v1/jobs/{id}/events`: how far a job is, as server-sent events: a hundred of them at most, and its end."""

import asyncio
from collections.abc import AsyncIterator
from typing import Any

import structlog
from litestar import Response

from coldwright.engine import Failure
from coldwright.service.http.endpoint import Asked
from coldwright.service.http.problems import ProblemRaised
from coldwright.service.http.replies import encode
from coldwright.service.http.streams import Lasting, event_stream
from coldwright.service.http.visit import visit_of
from coldwright.service.jobs.status import find_job, status_of
from coldwright.store import StoreUnavailable
from coldwright.store.jobs import Job

log = structlog.get_logger("coldwright.jobs")
LOOK_EVERY = 1.0
STEPS = 100
ENDED = "ended"
"""Id of the last event. Who comes back with it gets a 204, on which a browser's listener stays away."""


async def stream(asked: Asked) -> Response[Any]:
    """Open a stream of a job."""
    job = await find_job(asked)
    last = asked.header("last-event-id") or ""
    if last == ENDED and job.finished_at is not None:
        return Response(b"", status_code=204)
    return event_stream(asked, _events(asked, last))


async def _events(asked: Asked, last: str) -> AsyncIterator[bytes]:
    secret, lasting = visit_of(asked.scope).secret, Lasting(asked)
    while lasting.goes_on:
        try:
            await asked.services.caller_of(secret)  # a key that was revoked hears no more
            job = await find_job(asked)
        except (StoreUnavailable, Failure, ProblemRaised) as error:
            log.warning("stream_ended", job=asked.path("id"), reason=str(error)[:500], trace_id=asked.trace_id)
            return  # the listener comes back by itself, and gets the reason then
        step = step_of(job)
        if text := lasting.said(_event(asked, job, step) if step != last else None):
            yield text
        if job.finished_at is not None:
            return
        last = step
        await asyncio.sleep(LOOK_EVERY)


def step_of(job: Job) -> str:
    """How far it is, in so many steps."""
    return ENDED if job.finished_at is not None else f"{job.done * STEPS // job.total}"


def _event(asked: Asked, job: Job, step: str) -> bytes:
    kind = b"done" if step == ENDED else b"progress"
    data = encode(status_of(asked.services, job))
    return b"event: " + kind + b"\nid: " + step.encode() + b"\ndata: " + data + b"\n\n"
