"""What the handlers share: made once when the service starts."""

import asyncio
import time
from collections.abc import Awaitable, Callable
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime
from typing import TypeVar

from coldwright.engine import Engine
from coldwright.registry import Registry
from coldwright.service.http.callers import NOBODY, Caller
from coldwright.service.http.connections import Connections
from coldwright.service.http.in_turn import InTurn, NoPlace
from coldwright.service.http.intake import Intake
from coldwright.service.http.kept import Kept
from coldwright.service.http.limits import Limits
from coldwright.service.http.open_streams import OpenStreams
from coldwright.service.http.rates import Rates, has_rates
from coldwright.service.http.turnstile import Turnstile
from coldwright.service.metrics import Metrics
from coldwright.service.openapi.published import Published
from coldwright.service.settings import Settings, weights_in
from coldwright.service.telemetry import Telemetry
from coldwright.store import HEALTH, KEYS, Database, StoreUnavailable
from coldwright.store.probe import trouble

T = TypeVar("T")


async def _nobody(_secret: str | None) -> Caller:
    return NOBODY


USING, MOST_WAITING = 12, 68
"""Requests that use the store, and that wait for it: more than a healthy one ever has, and fewer than may be under way."""
KEY_SECONDS = 0.7
"""How long a request waits for its key to be looked up, before what is remembered must do."""
HEALTH_SECONDS = 2.5
HEALTHY_FOR = 2.0
"""Seconds for which a store that was well is taken to be well still: each look writes to its disk."""


class Services:
    """Registry, engine, store, limits and metrics of one running service."""

    def __init__(self, settings: Settings, registry: Registry, engine: Engine, database: Database) -> None:
        self.settings, self.registry, self.engine, self.database = settings, registry, engine, database
        self.limits = Limits(settings)
        self.kept = Kept(settings, database, self.stored)
        self.turnstile = Turnstile(settings.total_concurrency, weights_in(settings.tenant_weights))
        self.connections = Connections(
            settings.connections, settings.idle_seconds, settings.head_seconds, settings.send_seconds
        )
        self.intake = Intake()
        self.metrics = Metrics()
        self.metrics.set_aside.set(sum(f.state == "set_aside" for f in registry.found))
        self.telemetry = Telemetry() if settings.telemetry else None
        self.published = Published(lambda: b"{}")
        self.stopping = False
        self.now: Callable[[], datetime] = lambda: datetime.now(UTC)
        """The service's clock: what it says bounds whatever a device says."""
        self.streams = OpenStreams()
        self.uploads: dict[str, int] = {}
        """Jobs that are arriving as lines, by tenant."""
        self.new_job: Callable[[], None] = lambda: None
        self.caller_of: Callable[[str | None], Awaitable[Caller]] = _nobody
        """Who is behind a key or a token now: asked again by what lasts longer than a request."""
        self.forget: Callable[[str], None] = lambda _secret: None
        """Ask the store again who is behind it: a session that was ended."""
        self.keys_database = Database(settings.database_url, KEYS)
        self.rates = Rates(settings, self.keys_database) if has_rates(settings) else None
        self.health_database = Database(settings.database_url, HEALTH)
        weights = weights_in(settings.tenant_weights)
        self._store_work = InTurn("store", USING, MOST_WAITING, weights)
        self._short_threads = ThreadPoolExecutor(4, thread_name_prefix="short")
        # one at a time: reading a long body takes this process for itself, call by call of the decoder, and two at once would
        # leave the event loop half as many moments between, and be done no sooner
        self._long_work = InTurn("long", 1, settings.total_concurrency + settings.connections, weights)
        self._key_threads = ThreadPoolExecutor(4, thread_name_prefix="keys")
        self._health_thread = ThreadPoolExecutor(1, thread_name_prefix="health")
        self._store_trouble: asyncio.Future[str] | None = None
        self._store_well = float("-inf")

    async def stored(self, work: Callable[..., T], *arguments: object) -> T:
        """Use the store without holding up the event loop, in turn with other tenants. Where it hangs, only so many wait."""
        try:
            return await self._store_work.do(lambda: work(*arguments))
        except NoPlace:
            raise StoreUnavailable(f"{MOST_WAITING} requests wait for the database already") from None

    async def keys(self, work: Callable[..., T], *arguments: object) -> T:
        """Look up a key on connections and threads of its own; raises `TimeoutError` where the store hangs."""
        async with asyncio.timeout(KEY_SECONDS):
            return await asyncio.get_running_loop().run_in_executor(self._key_threads, lambda: work(*arguments))

    async def store_trouble(self) -> str:
        """What is wrong with the store, empty where all is well; looked at again after a while, by one at a time."""
        if time.monotonic() - self._store_well < HEALTHY_FOR and not self.database.is_full():
            return ""
        if self._store_trouble is None or self._store_trouble.done():
            loop = asyncio.get_running_loop()
            self._store_trouble = loop.run_in_executor(self._health_thread, trouble, self.health_database)
        try:
            wrong = await asyncio.wait_for(asyncio.shield(self._store_trouble), HEALTH_SECONDS)
        except TimeoutError:
            wrong = "the store does not answer"
        if not wrong and self.database.is_full():
            wrong = "the store can keep no more: its disk is full"
        if not wrong:
            self._store_well = time.monotonic()
        return wrong

    async def apart(self, work: Callable[..., T], *arguments: object, long: bool = False) -> T:
        """Do what computes without holding up the event loop; `long` where it may take seconds, so that others pass it."""
        if long:
            return await self._long_work.do(lambda: work(*arguments))
        return await asyncio.get_running_loop().run_in_executor(self._short_threads, lambda: work(*arguments))

    def close(self) -> None:
        """Let go of everything."""
        self._long_work.close(drop=True)
        self._short_threads.shutdown(wait=True, cancel_futures=True)
        self._store_work.close(drop=False)
        for threads in (self._key_threads, self._health_thread):
            threads.shutdown(wait=True)
        self.engine.stop()
        if self.telemetry is not None:
            self.telemetry.close()
        for database in (self.database, self.keys_database, self.health_database):
            database.close()
