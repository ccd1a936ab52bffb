"""Drives jobs by Procrastinate: any number of processes, on any number of machines, work off the chunks of one PostgreSQL.

A worker that dies is missed after a few seconds, and its chunks go back to the queue.
"""

import asyncio
import contextlib
import threading
import time
from collections.abc import Mapping
from datetime import UTC, datetime, timedelta

import procrastinate
from procrastinate.exceptions import ConnectorException

from coldwright.bulk.chunk import ChunkWorker, Counted, Prepare
from coldwright.bulk.driver import STOP_SECONDS, TIDY_EVERY, UNFORESEEN, Trouble, tidy
from coldwright.bulk.needs import all_served
from coldwright.bulk.queue import FIRST, LOOK, WORK, Handing, address_of, queue_name
from coldwright.engine import Engine
from coldwright.registry import Registry
from coldwright.store import Database, StoreFull, StoreUnavailable
from coldwright.store.jobs.ahead import put_off
from coldwright.store.jobs.chunks import Chunk, held

CARE = "coldwright.care"
BEAT_SECONDS = 2.0
MISSED_AFTER = 6.0
"""A worker that gave no sign for so long is taken for dead, and its chunks go back to the queue."""
LOOK_SECONDS = 3.0
SETTLE_SECONDS = 0.05
"""Pause before a look: where a chunk ends, another begins, and one look finds both."""
AGAIN_SECONDS = 0.2
"""Pause between two looks at what is to be handed over; another process's look takes no longer."""


class QueueDriver:
    """One a process. `at_once` 0 works on no chunk, and lets those look who do."""

    def __init__(
        self,
        database: Database,
        registry: Registry,
        engine: Engine,
        at_once: int,
        *,
        weights: Mapping[str, int] | None = None,
        prepare: Prepare | None = None,
        counted: Counted | None = None,
        trouble: Trouble | None = None,
    ) -> None:
        """As of `Driver`."""
        self.database, self._registry, self._engine, self._at_once = database, registry, engine, at_once
        self._worker = ChunkWorker(database, registry, engine, prepare=prepare, counted=counted)
        self._trouble = trouble or (lambda _error: None)
        self._handing = Handing(database, dict(weights or {}), all_served(registry))
        self._changed = threading.Event()
        self._stopping = threading.Event()
        self._loop: asyncio.AbstractEventLoop | None = None
        self._serving: asyncio.Task[None] | None = None
        self._tidy_at = 0.0
        self._threads: list[threading.Thread] = []

    def start(self) -> None:
        """Begin to hand chunks over, and to work on them."""
        for name, target in (("jobs-handing", self._hand_over), ("jobs-work", self._work)):
            thread = threading.Thread(target=target, name=name, daemon=True)
            self._threads.append(thread)
            thread.start()

    def wake(self) -> None:
        """There is something new to do."""
        self._changed.set()

    def stop(self) -> None:
        """Stop: what is nearly done is finished, the rest is ended, and asked again by whoever takes it up."""
        self._stopping.set()
        self._changed.set()
        if self._loop is not None and self._serving is not None:
            with contextlib.suppress(RuntimeError):  # its loop ended meanwhile
                self._loop.call_soon_threadsafe(self._serving.cancel)
        until = time.monotonic() + STOP_SECONDS
        for thread in self._threads:
            thread.join(max(0.0, until - time.monotonic()))
        self._engine.stop()
        for thread in self._threads:
            thread.join()

    def _hand_over(self) -> None:
        while not self._stopping.is_set():
            try:
                with self._handing:
                    self._hand_over_while_it_answers()
            except Exception as error:  # a database that is away, or what nobody foresaw: try again, never give up
                self._trouble(error)
                self._stopping.wait(1.0)

    def _hand_over_while_it_answers(self) -> None:
        while not self._stopping.is_set():
            called = self._changed.wait(LOOK_SECONDS)
            self._stopping.wait(SETTLE_SECONDS)
            self._changed.clear()
            if not self._at_once:
                if called:
                    self._handing.call_workers()
            elif self._handing.top_up() is None and called:
                self._stopping.wait(AGAIN_SECONDS)  # who was at it may not have seen what we were called for
                self._handing.top_up()

    def _work(self) -> None:
        while self._at_once and not self._stopping.is_set():
            try:
                asyncio.run(self._listen())
            except ConnectorException as error:
                self._trouble(StoreUnavailable(f"the queue does not answer: {error}"))
            except Exception as error:
                self._trouble(error)
            self._stopping.wait(1.0)

    async def _listen(self) -> None:
        most = self._at_once + 3
        connector = procrastinate.PsycopgConnector(conninfo=address_of(self.database), min_size=1, max_size=most)
        app = procrastinate.App(connector=connector)
        app.task(name=WORK)(self._work_on)
        app.task(name=LOOK)(self._look)
        app.periodic(cron=f"* * * * * */{LOOK_SECONDS:g}")(
            app.task(name=CARE, queue=CARE, priority=FIRST, queueing_lock=CARE, pass_context=True)(self._care)
        )
        async with app.open_async():
            self._loop = asyncio.get_running_loop()
            self._serving = asyncio.ensure_future(
                app.run_worker_async(
                    queues=[CARE, *map(queue_name, sorted(all_served(self._registry)))],
                    concurrency=self._at_once,
                    fetch_job_polling_interval=LOOK_SECONDS,
                    update_heartbeat_interval=BEAT_SECONDS,
                    stalled_worker_timeout=MISSED_AFTER,
                    shutdown_graceful_timeout=STOP_SECONDS,
                    delete_jobs="always",
                    install_signal_handlers=False,
                )
            )
            if not self._stopping.is_set():
                with contextlib.suppress(asyncio.CancelledError):
                    await self._serving

    async def _look(self) -> None:
        """Somebody made a job."""
        self._changed.set()

    def _work_on(self, tenant: str, job: str, first: int, size: int, attempts: int) -> None:
        self._changed.set()  # the next of this tenant follows
        chunk = Chunk(tenant, job, first, size, attempts)
        try:
            with held(self.database, chunk) as ours:
                if ours:
                    self._worker.work_chunk(tenant, job, first, size, attempts)
        except (StoreUnavailable, StoreFull) as error:
            self._trouble(error)
        except Exception as error:  # of one chunk; it is not to be tried all the time
            self._trouble(error)
            with contextlib.suppress(StoreUnavailable, StoreFull):
                put_off(self.database, chunk, datetime.now(UTC) + timedelta(seconds=UNFORESEEN))
        self._changed.set()

    async def _care(self, context: procrastinate.JobContext, timestamp: int) -> None:  # noqa: ARG002  # every periodic task is given it
        """Put back what dead workers had, and now and then what is old away."""
        manager = context.app.job_manager
        for job in await manager.get_stalled_jobs(seconds_since_heartbeat=MISSED_AFTER):
            await manager.retry_job(job)
        if time.monotonic() >= self._tidy_at:
            self._tidy_at = time.monotonic() + TIDY_EVERY
            await asyncio.to_thread(tidy, self.database, self._registry)
