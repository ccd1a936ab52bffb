"""Drives jobs in this process: as many chunks at a time as there are workers, tenants in turn, oldest job first.

What is under way is known here alone; what is to be done stands in the store. So a process that starts takes up at once
whatever the one before it left.
"""

import threading
import time
from collections.abc import Callable, Mapping
from datetime import UTC, datetime, timedelta

from coldwright.bulk.chunk import ChunkWorker, Counted, Prepare
from coldwright.bulk.cutting import ITEMS
from coldwright.bulk.needs import all_served, needs_of
from coldwright.engine import Engine
from coldwright.registry import Registry
from coldwright.store import Database, StoreFull, StoreUnavailable
from coldwright.store.jobs.anew import begin_anew
from coldwright.store.jobs.chunks import Chunk, Turn, held, next_chunk
from coldwright.store.jobs.staging import forget

LOOK_EVERY = 1.0
TIDY_EVERY = 60.0
KEPT_FOR = timedelta(days=7)
BROKEN_OFF = timedelta(hours=2)
"""A job of which nothing has come for so long never will be whole: no caller may pause for longer than an hour."""
ANEW_AFTER = timedelta(minutes=10)
"""A job whose version nobody has served for so long begins anew with the one of today."""
ELSEWHERE = 2.0
"""Seconds for which a chunk that another process works on is passed over."""
UNFORESEEN = 30.0
"""Seconds for which a chunk is passed over that ended in an error that nobody foresaw: it must not be tried all the time."""
STOP_SECONDS = 3.0

Trouble = Callable[[Exception], None]
Key = tuple[str, str, int]


class Driver:
    """One a process."""

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
        """`engine` is the driver's own, and ended with it; `trouble` hears of errors, and never stops it."""
        self.database, self._registry, self._engine, self._at_once = database, registry, engine, at_once
        self._worker = ChunkWorker(database, registry, engine, prepare=prepare, counted=counted)
        self._served = all_served(registry)
        self._weights, self._trouble = dict(weights or {}), trouble or (lambda _error: None)
        self._busy: set[Key] = set()
        self._passed_over: dict[Key, float] = {}
        self._last, self._in_turn = "", 0
        self._picking = threading.Lock()
        self._changed = threading.Condition()
        self._stopping = False
        self._tidy_at = 0.0
        self._threads: list[threading.Thread] = []

    def start(self) -> None:
        """Begin to look for chunks."""
        for number in range(self._at_once):
            thread = threading.Thread(target=self._run, name=f"jobs-{number}", daemon=True)
            self._threads.append(thread)
            thread.start()

    def wake(self) -> None:
        """There is something new to do."""
        with self._changed:
            self._changed.notify_all()

    def stop(self) -> None:
        """Stop: what is nearly done is finished, the rest is ended, and asked again by whoever takes it up."""
        with self._changed:
            self._stopping = True
            self._changed.notify_all()
        until = time.monotonic() + STOP_SECONDS
        for thread in self._threads:
            thread.join(max(0.0, until - time.monotonic()))
        self._engine.stop()
        for thread in self._threads:
            thread.join()

    def _run(self) -> None:
        while not self._stopping:
            try:
                worked = self._one()
            except (StoreUnavailable, StoreFull) as error:
                self._trouble(error)
                worked = False
            except Exception as error:  # of one chunk; the others must not wait for it
                self._trouble(error)
                worked = False
            if not worked:
                with self._changed:
                    if not self._stopping:
                        self._changed.wait(LOOK_EVERY)

    def _one(self) -> bool:
        """Work on the chunk whose turn it is; whether there was one."""
        chunk = self._pick()
        if chunk is None:
            return False
        pause = UNFORESEEN
        try:
            with held(self.database, chunk) as ours:
                pause = UNFORESEEN if ours else ELSEWHERE
                if ours:
                    self._worker.work_chunk(chunk.tenant, chunk.job, chunk.first, chunk.size, chunk.attempts)
                    pause = 0.0
        except (StoreUnavailable, StoreFull):
            pause = 0.0
            raise
        finally:
            with self._picking:
                self._busy.discard(chunk.key)
                if pause:
                    self._passed_over[chunk.key] = time.monotonic() + pause
        return True

    def _pick(self) -> Chunk | None:
        with self._picking:
            now = time.monotonic()
            if now >= self._tidy_at:
                self._tidy_at = now + TIDY_EVERY
                tidy(self.database, self._registry)
            self._passed_over = {key: until for key, until in self._passed_over.items() if until > now}
            again = 0 < self._in_turn < self._weights.get(self._last, 1)
            chunk = next_chunk(
                self.database, self._served, Turn(self._last, again), self._busy | self._passed_over.keys()
            )
            if chunk is not None:
                self._in_turn = self._in_turn + 1 if again and chunk.tenant == self._last else 1
                self._last = chunk.tenant
                self._busy.add(chunk.key)
            return chunk


def tidy(database: Database, registry: Registry) -> None:
    """Put away what is old, and begin anew what waits for a version that nobody serves any more."""
    now = datetime.now(UTC)
    forget(database, now - KEPT_FOR, now - BROKEN_OFF)
    for served in [*registry.served.values(), *registry.older.values()]:
        begin_anew(database, needs_of(registry, served), ITEMS[served.calculator.load], now - ANEW_AFTER)
