"""`coldwright work`: work off jobs, beside a service or on a machine of its own."""

import argparse
import gc
import signal
import threading
from collections.abc import Callable
from typing import Any

import structlog

from coldwright.commands.errors import CommandError
from coldwright.service.settings import from_environment

log = structlog.get_logger("coldwright.work")


def add_to(commands: Any) -> None:
    """Add the command."""
    command = commands.add_parser("work", help="work off jobs, on this machine or any other of the same PostgreSQL")
    command.add_argument("--at-once", type=int, default=0, help="chunks at a time (default: COLDWRIGHT_WORKERS)")
    command.add_argument(
        "--metrics", default="", metavar="HOST:PORT", help="serve numbers for Prometheus at this address"
    )
    command.set_defaults(run=run)


def run(given: argparse.Namespace) -> int:
    """Work until a stop signal; what is nearly done is finished, the rest goes back to the queue."""
    from coldwright.service.ids import settled_registry
    from coldwright.service.jobs.driving import driver_over
    from coldwright.service.logs import configure, plugin_said
    from coldwright.service.metrics import Metrics
    from coldwright.store import Database, StoreFull, StoreUnavailable, upgrade
    from coldwright.store.migrate import has_queue

    settings = from_environment()
    configure(settings.log_format, settings.log_level)
    at_once = given.at_once or settings.workers
    if at_once < 1:
        raise CommandError(f"--at-once {at_once}: at least 1")
    metrics = Metrics()
    if given.metrics:
        _serve(metrics.serve, given.metrics)
    stopping = threading.Event()
    for number in (signal.SIGTERM, signal.SIGINT):
        signal.signal(number, lambda *_: stopping.set())
    database = Database(settings.database_url)
    try:
        if not has_queue(database) or settings.job_engine != "auto":
            raise CommandError(
                "needs COLDWRIGHT_DATABASE_URL=postgresql://..., the extra coldwright[scale], and COLDWRIGHT_JOB_ENGINE=auto: "
                "without them each service works off its jobs itself"
            )
        upgrade(database)
        registry = settled_registry(settings, database)
    except (StoreUnavailable, StoreFull) as error:
        raise CommandError(f"the store does not answer: {error}") from error
    driver = driver_over(settings, registry, database, at_once, plugin_said, counted=metrics)
    driver.start()
    gc.freeze()  # modules and schemas live as long as the process: the collector need not walk them, now or ever
    log.info("working", at_once=at_once)
    stopping.wait()
    driver.stop()
    driver.database.close()
    database.close()
    return 0


def _serve(serve: Callable[[str, int], None], address: str) -> None:
    host, _, port = address.rpartition(":")
    try:
        serve(host.strip("[]") or "127.0.0.1", int(port))
    except (OSError, ValueError, OverflowError) as error:
        raise CommandError(
            f"--metrics {address}: no address such as 127.0.0.1:9100 that can be used: {error}"
        ) from error
