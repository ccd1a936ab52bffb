"""Chunks as tasks of Procrastinate, a queue kept in PostgreSQL: which are handed to it, and when.

The rows of the store stay the truth. The queue fetches by priority and age, not by tenant: so each tenant has only a few
chunks in it at a time, whatever calculators they are for, and the next follow when one is taken. Whoever works hands over
what it can work on itself, and counts nothing else: chunks that nobody can work on, for want of their plugin, are handed
over by nobody, and those that a dead process left in the queue keep out nothing of others.
"""

import hashlib
from collections import Counter
from collections.abc import Collection, Iterable, Mapping
from typing import Any

import procrastinate
from procrastinate.exceptions import AlreadyEnqueued, ConnectorException
from procrastinate.jobs import JobDeferrer

from coldwright.store import Database, StoreUnavailable
from coldwright.store.jobs.ahead import due_needs, first_chunks
from coldwright.store.jobs.chunks import Chunk, alone

WORK, LOOK = "coldwright.work_chunk", "coldwright.look"
AHEAD = 4
"""Chunks of a tenant that wait in the queue, or as many as are worked on, where those are more; times its weight."""
FIRST = 100
"""Priority of the queue's own upkeep: it takes a moment, and chunks wait for it."""


def queue_name(needs: str) -> str:
    """Workers listen to the queues of what they serve: nobody is given a chunk of a plugin or version that he lacks."""
    return f"chunks {needs}"


def address_of(database: Database) -> str:
    """Where the queue is: the database itself."""
    return database.url.set(drivername="postgresql").render_as_string(hide_password=False)


class Handing:
    """Hands chunks to the queue, or lets those look who work."""

    def __init__(self, database: Database, weights: Mapping[str, int], needs: Collection[str]) -> None:
        """`needs` is what this process works on; of others it hands over nothing."""
        self._database, self._weights, self._needs = database, weights, sorted(needs)
        self._queues = set(map(queue_name, needs))
        self._name = f"handing {hashlib.sha256(' '.join(self._needs).encode()).hexdigest()}"
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

    def top_up(self) -> int | None:
        """Give the queue the next chunks of every tenant that has too few in it; how many.

        Nothing where another process that works on the same is at it. Raises `StoreUnavailable`.
        """
        try:
            with alone(self._database, self._name) as ours:
                return self._top_up(self._opened) if ours else None
        except ConnectorException as error:
            raise StoreUnavailable(f"the queue does not answer: {error}") from error

    def call_workers(self) -> None:
        """Let a process look that works on what is due. Raises `StoreUnavailable`."""
        try:
            for needs in due_needs(self._database):
                task = self._opened.configure_task(
                    LOOK, queue=queue_name(needs), queueing_lock=f"look {needs}", priority=FIRST
                )
                _defer(task)
        except ConnectorException as error:
            raise StoreUnavailable(f"the queue does not answer: {error}") from error

    @property
    def _opened(self) -> procrastinate.App:
        if self._app is None:
            raise RuntimeError("not connected")
        return self._app

    def _top_up(self, app: procrastinate.App) -> int:
        waiting, under_way = (self._there(app, status) for status in ("todo", "doing"))
        there = {(k["tenant"], k["job"], k["first"]) for k in (*waiting, *under_way)}
        ahead = Counter(k["tenant"] for k in waiting)
        usual, given = max(AHEAD, len(under_way)), 0
        deepest = max(Counter(tenant for tenant, _, _ in there).values(), default=0)
        most = usual * max(self._weights.values(), default=1) + deepest
        for needs, chunk in first_chunks(self._database, self._needs, most):
            tenant = chunk.tenant
            if chunk.key in there or ahead[tenant] >= usual * self._weights.get(tenant, 1):
                continue
            if _hand_in(app, needs, chunk):
                ahead[tenant] += 1
                given += 1
        return given

    def _there(self, app: procrastinate.App, status: str) -> list[Mapping[str, Any]]:
        found: Iterable[procrastinate.jobs.Job] = app.job_manager.list_jobs(task=WORK, status=status)
        return [job.task_kwargs for job in found if job.queue in self._queues]


def _hand_in(app: procrastinate.App, needs: str, chunk: Chunk) -> bool:
    task = app.configure_task(WORK, queue=queue_name(needs), queueing_lock=f"{chunk.tenant} {chunk.job} {chunk.first}")
    return _defer(task, tenant=chunk.tenant, job=chunk.job, first=chunk.first, size=chunk.size, attempts=chunk.attempts)


def _defer(task: JobDeferrer, **arguments: Any) -> bool:
    """Whether it was not there already."""
    try:
        task.defer(**arguments)
    except AlreadyEnqueued:
        return False
    return True
