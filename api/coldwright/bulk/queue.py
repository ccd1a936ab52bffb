"""Chunks as tasks of Procrastinate, a queue kept in PostgreSQL: which are handed to it, and when.

The rows of the store stay the truth. The queue fetches by priority and age, not by tenant: so each tenant has only a few
chunks in it at a time, and the next follow when one is taken. They are counted for each calculator by itself: chunks that
nobody can work on, for want of their plugin, must not keep the tenant's other jobs out of the queue.
"""

from collections import Counter
from collections.abc import Mapping

import procrastinate
from procrastinate.exceptions import AlreadyEnqueued, ConnectorException

from coldwright.store import Database, StoreUnavailable
from coldwright.store.jobs.ahead import first_chunks
from coldwright.store.jobs.chunks import Chunk

WORK = "coldwright.work_chunk"
AHEAD = 4
"""Chunks of a tenant that wait in the queue for one calculator; times the tenant's weight."""


def queue_name(needs: str) -> str:
    """Workers listen to the queues of what they serve: nobody is given a chunk of a plugin or version that he lacks."""
    return f"chunks {needs}"


def address_of(database: Database) -> str:
    """Where the queue is: the database itself."""
    return database.url.set(drivername="postgresql").render_as_string(hide_password=False)


class Handing:
    """Hands chunks to the queue."""

    def __init__(self, database: Database, weights: Mapping[str, int]) -> None:
        self._database, self._weights = database, weights
        self._app: procrastinate.App | None = None

    def __enter__(self) -> "Handing":
        """Connect anew; raises `StoreUnavailable`."""
        connector = procrastinate.SyncPsycopgConnector(conninfo=address_of(self._database), min_size=1, max_size=2)
        app = procrastinate.App(connector=connector)
        try:
            app.open()
        except ConnectorException as error:
            app.close()
            raise StoreUnavailable(f"the queue does not answer: {error}") from error
        self._app = app
        return self

    def __exit__(self, *_: object) -> None:
        """Let go of the connections."""
        if self._app is not None:
            self._app.close()
            self._app = None

    def top_up(self) -> int:
        """Give the queue the next chunks of every tenant that has too few in it; how many. Raises `StoreUnavailable`."""
        if self._app is None:
            raise RuntimeError("not connected")
        try:
            return self._top_up(self._app)
        except ConnectorException as error:
            raise StoreUnavailable(f"the queue does not answer: {error}") from error

    def _top_up(self, app: procrastinate.App) -> int:
        manager = app.job_manager
        waiting, under_way = (manager.list_jobs(task=WORK, status=status) for status in ("todo", "doing"))
        there = {(k["tenant"], k["job"], k["first"]) for k in (job.task_kwargs for job in (*waiting, *under_way))}
        ahead = Counter((job.task_kwargs["tenant"], job.queue) for job in waiting)
        given = 0
        for needs, chunk in first_chunks(
            self._database, AHEAD * max(self._weights.values(), default=1) + len(under_way)
        ):
            place = chunk.tenant, queue_name(needs)
            most = AHEAD * self._weights.get(chunk.tenant, 1)
            if chunk.key not in there and ahead[place] < most and _hand_in(app, needs, chunk):
                ahead[place] += 1
                given += 1
        return given


def _hand_in(app: procrastinate.App, needs: str, chunk: Chunk) -> bool:
    task = app.configure_task(WORK, queue=queue_name(needs), queueing_lock=f"{chunk.tenant} {chunk.job} {chunk.first}")
    try:
        task.defer(tenant=chunk.tenant, job=chunk.job, first=chunk.first, size=chunk.size, attempts=chunk.attempts)
    except AlreadyEnqueued:  # another process was quicker
        return False
    return True
