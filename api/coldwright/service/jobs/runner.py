"""Works off jobs in the background of the service: a few items at a time, kept as they are done."""

import asyncio
import contextlib
import secrets
from datetime import UTC, datetime, timedelta

import msgspec
import structlog
from msgspec.structs import replace

from coldwright.contract.answer import Units
from coldwright.engine.turns import asking_tenant
from coldwright.service.exploration.asking import evaluated_or_problem, few_at_once
from coldwright.service.http.problems import ProblemRaised
from coldwright.service.state import Services
from coldwright.store import StoreFull, StoreUnavailable
from coldwright.store.jobs import (
    ABANDONED_AFTER,
    Item,
    Job,
    claim_job,
    delete_old_jobs,
    finish_items,
    release_jobs,
    waiting_items,
)

log = structlog.get_logger("coldwright.jobs")

CHUNK = 20
AT_ONCE = 2
LOOK_EVERY = 1.0
BEAT_EVERY = ABANDONED_AFTER.total_seconds() / 3
KEPT_FOR = timedelta(days=7)


class JobsRunner:
    """One a service process; jobs of processes that died are taken over after a while."""

    def __init__(self, services: Services) -> None:
        self._services = services
        self._owner = secrets.token_hex(8)
        self._woken = asyncio.Event()
        self._task: asyncio.Task[None] | None = None

    def start(self) -> None:
        """Begin to look for jobs."""
        self._task = asyncio.get_running_loop().create_task(self._run(), name="jobs")

    def wake(self) -> None:
        """There is a new job."""
        self._woken.set()

    async def stop(self) -> None:
        """Stop at once; what was under way is answered again by whoever takes the job up."""
        if self._task is not None:
            self._task.cancel()
            with contextlib.suppress(asyncio.CancelledError):
                await self._task
            with contextlib.suppress(StoreUnavailable, StoreFull):
                await self._services.stored(release_jobs, self._services.database, self._owner)

    async def _run(self) -> None:
        services = self._services
        while not services.stopping:
            try:
                claimed = await services.stored(claim_job, services.database, self._owner)
                if claimed is not None:
                    await self._work(*claimed)
                    continue
                await services.stored(delete_old_jobs, services.database, datetime.now(UTC) - KEPT_FOR)
            except (StoreUnavailable, StoreFull) as error:
                log.warning("jobs_wait_for_store", detail=str(error)[:200])
            except Exception:  # of one job; the others must not wait for it
                log.exception("job_left")
            self._woken.clear()
            with contextlib.suppress(TimeoutError):
                await asyncio.wait_for(self._woken.wait(), LOOK_EVERY)

    async def _work(self, tenant: str, job: Job) -> None:
        services = self._services
        asking_tenant.set(tenant)  # its items wait their turn with that tenant's requests
        more = True
        while more and not services.stopping:
            items = await services.stored(waiting_items, services.database, tenant, job.id, CHUNK)
            work = asyncio.ensure_future(few_at_once((self._item(job, item) for item in items), AT_ONCE))
            try:
                while not (await asyncio.wait({work}, timeout=BEAT_EVERY))[0]:  # slow ones: still alive
                    await services.stored(finish_items, services.database, tenant, job.id, self._owner, ())
                done = work.result()
            finally:
                work.cancel()
            more = await services.stored(finish_items, services.database, tenant, job.id, self._owner, done)

    async def _item(self, job: Job, item: Item) -> Item:
        services = self._services
        units: Units = "us" if job.units == "us" else "metric"
        answer = await evaluated_or_problem(services, job.calculator, item.given, units)
        while isinstance(answer, ProblemRaised) and answer.kind.slug == "overloaded":  # a job can wait its turn
            await asyncio.sleep(LOOK_EVERY)
            answer = await evaluated_or_problem(services, job.calculator, item.given, units)
        if isinstance(answer, ProblemRaised):
            body = msgspec.json.encode(answer.problem(public_url=services.settings.public_url))
            return replace(item, status=answer.kind.status, body=body)
        return replace(item, status=200, outcome=answer.outcome, body=answer.body)
