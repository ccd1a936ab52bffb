"""How far a job is, as it is shown."""

from typing import Annotated

from msgspec import UNSET, Meta, Struct, UnsetType

from coldwright.bulk.needs import served_for
from coldwright.service.http.endpoint import Asked
from coldwright.service.http.instants import instant
from coldwright.service.http.problems import ProblemRaised
from coldwright.service.resources.records import instant_text
from coldwright.service.state import Services
from coldwright.store.jobs import Job, JobState, get_job

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
                description="Calculator and version that the job began with, and a digest of the parts that join its answers, "
                "where the process that you asked does not serve it so. Where no process has for ten minutes and another "
                "version is there, the job begins anew with that."
            ),
        ]
        | UnsetType
    ) = UNSET
    created_at: Annotated[str, instant("RFC 3339.")]
    finished_at: Annotated[str, instant("RFC 3339; absent while it is not ended. Kept for seven days.")] | UnsetType = (
        UNSET
    )


async def find_job(asked: Asked) -> Job:
    """The job that the address names; raises a 404."""
    job = await asked.services.stored(get_job, asked.services.database, asked.caller.tenant, asked.path("id"))
    if job is None:
        raise ProblemRaised("not-found", "There is no job of that id. Jobs are kept for seven days after they end.")
    return job


def status_of(services: Services, job: Job) -> JobStatus:
    """How far it is, as seen from this process."""
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
