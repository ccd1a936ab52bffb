"""The driver of jobs of a running service: its own workers, of low priority, so that no live request waits for them."""

import asyncio

import structlog

from coldwright.bulk.driver import Driver
from coldwright.engine import Engine
from coldwright.engine.output import Report
from coldwright.service.jobs.fleets_put_in import FleetsPutIn
from coldwright.service.settings import weights_in
from coldwright.service.state import Services
from coldwright.store import Database, StoreFull, StoreUnavailable
from coldwright.store.database import Use
from coldwright.store.jobs.chunks import backlog

log = structlog.get_logger("coldwright.jobs")
LOOK_SECONDS = 1.0
NICE = 10
"""The live workers' processes get the processor first; what they leave is the batch's."""


def driver_of(services: Services, report: Report) -> Driver:
    """A driver that is not started; its workers start with the first job."""
    settings = services.settings
    engine = Engine(
        services.registry,
        "inline" if settings.engine == "inline" else "workers",
        size=settings.workers,
        seconds=settings.evaluation_seconds,
        memory_limit=settings.worker_memory_mib * 1024 * 1024,
        rest=settings.rest_seconds,
        report=report,
        nice=NICE,
        strangers=settings.workers,
    )
    database = services.database
    if not database.is_sqlite:  # each worker holds a connection while it works: they must not be those of live requests
        most = 2 * settings.workers + 2
        database = Database(settings.database_url, Use(pool=settings.workers, most=most, seconds=30.0, wait=5.0))
    return Driver(
        database,
        services.registry,
        engine,
        settings.workers,
        weights=weights_in(settings.tenant_weights),
        prepare=FleetsPutIn(database, services.registry),
        counted=services.metrics.count_item,
        trouble=_trouble,
    )


async def stop(driver: Driver, services: Services) -> None:
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
