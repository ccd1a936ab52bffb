"""Chunks as tasks of Procrastinate, a queue kept in PostgreSQL: which are handed to it, and when.

The rows of the store stay the truth. The queue fetches by priority and age, not by tenant: so each tenant has only a few
chunks in it at a time, and the next follow when one is taken.
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
"""Chunks of a tenant that wait in the queue; times the tenant's weight."""


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
        connector = procrastinate.SyncPsycopgConnector(conninfo=address_of(database), min_size=1, max_size=2)
        self._app = procrastinate.App(connector=connector)

    def open(self) -> None:
        """Connect."""
        self._app.open()

    def close(self) -> None:
        """Let go of the connections."""
        self._app.close()

    def top_up(self) -> int:
        """Give the queue the next chunks of every tenant that has too few in it; how many. Raises `StoreUnavailable`."""
        try:
            return self._top_up()
        except ConnectorException as error:
            raise StoreUnavailable(f"the queue does not answer: {error}") from error

    def _top_up(self) -> int:
        manager = self._app.job_manager
        waiting = [job.task_kwargs for job in manager.list_jobs(task=WORK, status="todo")]
        under_way = [job.task_kwargs for job in manager.list_jobs(task=WORK, status="doing")]
        there = {(k["tenant"], k["job"], k["first"]) for k in (*waiting, *under_way)}
        room = Counter({k["tenant"]: 0 for k in waiting})
        room.update(k["tenant"] for k in waiting)
        look_at = AHEAD * max(self._weights.values(), default=1) + len(under_way)
        given = 0
        for needs, chunk in first_chunks(self._database, look_at):
            most = AHEAD * self._weights.get(chunk.tenant, 1)
            if chunk.key not in there and room[chunk.tenant] < most and self._hand_in(needs, chunk):
                room[chunk.tenant] += 1
                given += 1
        return given

    def _hand_in(self, needs: str, chunk: Chunk) -> bool:
        task = self._app.configure_task(
            WORK, queue=queue_name(needs), queueing_lock=f"{chunk.tenant} {chunk.job} {chunk.first}"
        )
        try:
            task.defer(tenant=chunk.tenant, job=chunk.job, first=chunk.first, size=chunk.size, attempts=chunk.attempts)
        except AlreadyEnqueued:  # another process was quicker
            return False
        return True
