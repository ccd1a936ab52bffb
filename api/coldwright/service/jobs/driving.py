"""The driver of jobs of a running service: its own workers, of low priority, so that no live request waits for them."""

import structlog

from coldwright.bulk.driver import Driver
from coldwright.engine import Engine
from coldwright.engine.output import Tell
from coldwright.service.jobs.fleets_put_in import FleetsPutIn
from coldwright.service.settings import weights_in
from coldwright.service.state import Services
from coldwright.store import StoreFull, StoreUnavailable

log = structlog.get_logger("coldwright.jobs")
NICE = 10
"""The live workers' processes get the processor first; what they leave is the batch's."""


def driver_of(services: Services, tell: Tell) -> Driver:
    """A driver that is not started; its workers start with the first job."""
    settings = services.settings
    engine = Engine(
        services.registry,
        "inline" if settings.engine == "inline" else "workers",
        size=settings.workers,
        seconds=settings.evaluation_seconds,
        memory_limit=settings.worker_memory_mib * 1024 * 1024,
        rest=settings.rest_seconds,
        tell=tell,
        nice=NICE,
        strangers=settings.workers,
    )
    return Driver(
        services.database,
        services.registry,
        engine,
        settings.workers,
        weights=weights_in(settings.tenant_weights),
        prepare=FleetsPutIn(services.database, services.registry),
        counted=services.metrics.count_item,
        trouble=_trouble,
    )


def _trouble(error: Exception) -> None:
    if isinstance(error, StoreUnavailable | StoreFull):
        log.warning("jobs_wait_for_store", detail=str(error)[:200])
    else:
        log.error("chunk_left", exc_info=error)
