"""The driver of jobs of a running service: its own workers, of low priority, so that no live request waits for them."""

import asyncio
from collections.abc import Callable
from typing import Protocol

import structlog

from coldwright.bulk.chunk import Counted
from coldwright.bulk.driver import Driver
from coldwright.engine import Engine
from coldwright.engine.output import Report
from coldwright.registry import Registry
from coldwright.service.jobs.fleets_put_in import FleetsPutIn
from coldwright.service.settings import SettingError, Settings, weights_in
from coldwright.service.state import Services
from coldwright.store import Database, StoreFull, StoreUnavailable
from coldwright.store.database import Use
from coldwright.store.jobs.chunks import backlog
from coldwright.store.migrate import has_queue

log = structlog.get_logger("coldwright.jobs")
LOOK_SECONDS = 1.0
NICE = 10
"""The live workers' processes get the processor first; what they leave is the batch's."""


class Drives(Protocol):
    """What drives jobs: in this process alone, or with others by a queue."""

    database: Database

    def start(self) -> None:
        """Begin."""

    def wake(self) -> None:
        """There is something new to do."""

    def stop(self) -> None:
        """Stop, soon."""


def driver_of(services: Services, report: Report) -> Drives:
    """A driver that is not started, for a running service; its workers start with the first job."""
    settings = services.settings
    at_once = settings.workers if settings.job_workers < 0 else settings.job_workers
    return driver_over(settings, services.registry, services.database, at_once, report, counted=services.metrics)


def by_queue(settings: Settings, database: Database) -> bool:
    """Whether jobs go through the queue engine. Raises `SettingError` where nobody would work on them otherwise."""
    queue = settings.job_engine == "auto" and has_queue(database)
    if settings.job_workers == 0 and not queue:
        raise SettingError(
            "COLDWRIGHT_JOB_WORKERS=0 leaves all jobs to `coldwright work`, which needs PostgreSQL and coldwright[scale]"
        )
    return queue


def driver_over(
    settings: Settings,
    registry: Registry,
    database: Database,
    at_once: int,
    report: Report,
    *,
    counted: Counted | None = None,
) -> Drives:
    """A driver that is not started and works on so many chunks at a time."""
    queue = by_queue(settings, database)
    if not (queue or database.is_sqlite):
        log.info(
            "jobs_embedded", detail="each service drives jobs itself: coldwright[scale] is not installed, or not wanted"
        )
    engine = Engine(
        registry,
        "inline" if settings.engine == "inline" else "workers",
        size=max(at_once, 1),
        seconds=settings.evaluation_seconds,
        memory_limit=settings.worker_memory_mib * 1024 * 1024,
        rest=settings.rest_seconds,
        report=report,
        nice=NICE,
        strangers=max(at_once, 1),
    )
    if not database.is_sqlite:  # each worker holds a connection while it works: they must not be those of live requests
        database = Database(
            settings.database_url, Use(pool=max(at_once, 1), most=2 * at_once + 2, seconds=30.0, wait=5.0)
        )
    return _kind(queue=queue)(
        database,
        registry,
        engine,
        at_once,
        weights=weights_in(settings.tenant_weights),
        prepare=FleetsPutIn(database, registry),
        counted=counted,
        trouble=_trouble,
    )


def _kind(*, queue: bool) -> Callable[..., Drives]:
    if not queue:
        return Driver
    from coldwright.bulk.queue_driver import QueueDriver  # comes with an extra

    return QueueDriver


async def stop(driver: Drives, services: Services) -> None:
    """Stop it, and let go of its connections."""
    await services.apart(driver.stop, long=True)
    if driver.database is not services.database:
        driver.database.close()


async def look_at_backlog(services: Services) -> None:
    """Bring the numbers of what waits up to date; where the store does not answer they are left out."""
    try:
        waiting = await asyncio.wait_for(services.stored(backlog, services.database), LOOK_SECONDS)
    except (StoreUnavailable, StoreFull, TimeoutError):
        waiting = []
    now = services.now()
    services.metrics.show_backlog(
        [(b.tenant, b.needs.partition("@")[0], b.chunks, (now - b.oldest).total_seconds()) for b in waiting]
    )


def _trouble(error: Exception) -> None:
    if isinstance(error, StoreUnavailable | StoreFull):
        log.warning("jobs_wait_for_store", detail=str(error)[:200])
    else:
        log.error("chunk_left", exc_info=error)
