"""Works off jobs in the background of the service: a few items at a time, kept as they are done."""

import asyncio
import contextlib
import secrets
from datetime import UTC, datetime, timedelta

import msgspec
import structlog

from coldwright.contract.answer import Units
from coldwright.service.exploration.asking import answer_to
from coldwright.service.problems import as_problem
from coldwright.service.state import Services
from coldwright.store import StoreFull, StoreUnavailable
from coldwright.store.jobs import Item, Job, claim_job, delete_old_jobs, finish_items, waiting_items

log = structlog.get_logger("coldwright.jobs")

CHUNK = 20
AT_ONCE = 2
LOOK_EVERY = 1.0
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
        """Stop after the items under way; the job is taken up again at the next start."""
        if self._task is not None:
            self._task.cancel()
            with contextlib.suppress(asyncio.CancelledError):
                await self._task

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
            self._woken.clear()
            with contextlib.suppress(TimeoutError):
                await asyncio.wait_for(self._woken.wait(), LOOK_EVERY)

    async def _work(self, tenant: str, job: Job) -> None:
        services, gate = self._services, asyncio.Semaphore(AT_ONCE)
        more = True
        while more and not services.stopping:
            items = await services.stored(waiting_items, services.database, tenant, job.id, CHUNK)
            done = await asyncio.gather(*(self._item(job, item, gate) for item in items))
            more = await services.stored(finish_items, services.database, tenant, job.id, self._owner, done)

    async def _item(self, job: Job, item: Item, gate: asyncio.Semaphore) -> Item:
        async with gate:
            try:
                given = msgspec.json.decode(item.given)
                units: Units = "us" if job.units == "us" else "metric"
                answer = await answer_to(self._services, job.calculator, given, units)
            except Exception as error:
                if isinstance(error, StoreUnavailable | StoreFull):
                    raise
                problem = as_problem(error)
                if problem is None:
                    log.exception("job_item_failed", job=job.id, number=item.number)
                body = msgspec.json.encode(problem.problem()) if problem else b'{"type":"/problems/internal-error"}'
                status = problem.kind.status if problem else 500
                return Item(item.number, item.name, item.given, status, "", body)
        return Item(item.number, item.name, item.given, 200, answer["outcome"], msgspec.json.encode(answer))
