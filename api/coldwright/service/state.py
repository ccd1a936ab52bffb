"""What the handlers share: made once when the service starts."""

import asyncio
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime
from typing import TypeVar

from coldwright.engine import Engine
from coldwright.registry import Registry
from coldwright.service.http.connections import Connections
from coldwright.service.http.intake import Intake
from coldwright.service.http.limits import Limits
from coldwright.service.metrics import Metrics
from coldwright.service.settings import Settings
from coldwright.service.telemetry import Telemetry
from coldwright.store import Database

T = TypeVar("T")


class Services:
    """Registry, engine, store, limits and metrics of one running service."""

    def __init__(self, settings: Settings, registry: Registry, engine: Engine, database: Database) -> None:
        self.settings, self.registry, self.engine, self.database = settings, registry, engine, database
        self.limits = Limits(settings)
        self.connections = Connections(settings.connections, settings.idle_seconds, settings.head_seconds)
        self.intake = Intake()
        self.metrics = Metrics()
        self.metrics.set_aside.set(sum(f.state == "set_aside" for f in registry.found))
        self.telemetry = Telemetry() if settings.telemetry else None
        self.documents: dict[str, bytes] = {}
        self.stopping = False
        self.now: Callable[[], datetime] = lambda: datetime.now(UTC)
        """The service's clock: what it says bounds whatever a device says."""
        self.streams: dict[str, int] = {}
        self.new_job: Callable[[], None] = lambda: None
        self._store_threads = ThreadPoolExecutor(12, thread_name_prefix="store")
        self._short_threads = ThreadPoolExecutor(4, thread_name_prefix="short")
        self._long_threads = ThreadPoolExecutor(2, thread_name_prefix="long")

    async def stored(self, work: Callable[..., T], *arguments: object) -> T:
        """Use the store without holding up the event loop."""
        return await asyncio.get_running_loop().run_in_executor(self._store_threads, lambda: work(*arguments))

    async def apart(self, work: Callable[..., T], *arguments: object, long: bool = False) -> T:
        """Do what computes without holding up the event loop; `long` where it may take seconds, so that others pass it."""
        threads = self._long_threads if long else self._short_threads
        return await asyncio.get_running_loop().run_in_executor(threads, lambda: work(*arguments))

    def close(self) -> None:
        """Let go of everything."""
        self._long_threads.shutdown(wait=True, cancel_futures=True)
        self._short_threads.shutdown(wait=True, cancel_futures=True)
        self._store_threads.shutdown(wait=True)
        self.engine.stop()
        if self.telemetry is not None:
            self.telemetry.close()
        self.database.close()
