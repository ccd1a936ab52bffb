"""Chunks: what of a job is still to be done. A chunk is a row until every item of it is done.

On PostgreSQL a chunk is worked on by who holds its advisory lock, which goes with the connection of a process that died.
On SQLite the one process that drives the jobs knows itself what it works on. Where two work on a chunk after all, they
find the same, and what the second finds is not kept.
"""

import contextlib
import hashlib
from collections.abc import Collection, Iterator, Sequence
from datetime import UTC, datetime
from typing import Any

from msgspec import Struct
from msgspec.structs import replace
from sqlalchemy import Connection, and_, bindparam, delete, func, insert, select, text, update

from coldwright.store.database import Database
from coldwright.store.job_tables import job_chunks, job_items, jobs
from coldwright.store.jobs.job import ENDED, Item, Job, as_item, as_job
from coldwright.store.jobs.keep import chunk_row, end_job, note_job

TENTHS = 10
"""Steps of a job whose events are written; its end is another."""


class Chunk(Struct, frozen=True):
    """Items of a job, from one number on."""

    tenant: str
    job: str
    first: int
    size: int
    attempts: int = 0
    """How often it was put back with something of it undone."""

    @property
    def key(self) -> tuple[str, str, int]:
        """What distinguishes it from every other."""
        return self.tenant, self.job, self.first


class Left(Struct, frozen=True):
    """Items of a chunk that are still to be done, and from when on."""

    first: int
    size: int
    not_before: datetime
    attempts: int = 0


class Turn(Struct, frozen=True):
    """Whose turn it was last, and whether it is theirs again."""

    tenant: str = ""
    again: bool = False


class Backlog(Struct, frozen=True):
    """What of one tenant waits for a calculator."""

    tenant: str
    needs: str
    chunks: int
    oldest: datetime


def next_chunk(
    database: Database, needs: Collection[str], turn: Turn, busy: Collection[tuple[str, str, int]]
) -> Chunk | None:
    """A chunk that can be worked on now, of the tenant whose turn it is; within a tenant the oldest job goes first.

    `needs` is what this process serves; `busy` is what it works on already.
    """
    c = job_chunks.c
    query = select(job_chunks).where(c.not_before <= datetime.now(UTC), c.needs.in_(sorted(needs)))
    query = query.order_by(c.tenant, c.made_at, c.job, c.first)
    taken = set(busy)
    with database.reading() as connection:
        for there in (
            *([c.tenant == turn.tenant] if turn.again else []),
            c.tenant > turn.tenant,
            c.tenant <= turn.tenant,
        ):
            for row in connection.execute(query.where(there).limit(len(taken) + 1)):
                chunk = Chunk(row.tenant, row.job, row.first, row.size, row.attempts)
                if chunk.key not in taken:
                    return chunk
    return None


def held(database: Database, chunk: Chunk) -> contextlib.AbstractContextManager[bool]:
    """Whether it is ours while this lasts, rather than another process's of the same store."""
    return alone(database, "\n".join((chunk.tenant, chunk.job, str(chunk.first))))


@contextlib.contextmanager
def alone(database: Database, name: str) -> Iterator[bool]:
    """Whether nobody else of the same store does what has this name, while this lasts."""
    if database.is_sqlite:
        yield True
        return
    digest = hashlib.sha256(name.encode()).digest()
    with database.engine.connect() as connection:
        connection.execute(text("SET LOCAL idle_in_transaction_session_timeout = '120s'"))
        key = int.from_bytes(digest[:8], signed=True)
        yield bool(connection.scalar(select(func.pg_try_advisory_xact_lock(key))))
        connection.rollback()


def items_to_do(database: Database, tenant: str, job_id: str, first: int, size: int) -> tuple[Job | None, list[Item]]:
    """The job, and those of its items from `first` on that are not done."""
    c = job_items.c
    query = select(job_items).where(
        c.tenant == tenant, c.job == job_id, c.number >= first, c.number < first + size, c.status == 0
    )
    with database.reading() as connection:
        row = connection.execute(select(jobs).where(jobs.c.tenant == tenant, jobs.c.id == job_id)).first()
        if row is None or row.state in ENDED:
            return None, []
        return as_job(row), [as_item(r) for r in connection.execute(query.order_by(c.number))]


def finish(
    database: Database, chunk: Chunk, done: Sequence[Item], left: Sequence[Left], tried: Sequence[Item] = ()
) -> bool:
    """Keep results, and instead of the chunk what is left of it; whether the job goes on.

    `tried` are items that are not done, with how often they were tried. Nothing is kept for a job that has ended, and
    no item is done twice.
    """
    here = (jobs.c.tenant == chunk.tenant, jobs.c.id == chunk.job)
    with database.writing() as connection:
        row = connection.execute(select(jobs).where(*here).with_for_update()).first()
        if row is None or row.state in ENDED:
            return False
        waiting = _waiting(connection, chunk)
        new = [i for i in done if i.number in waiting]
        _write(connection, chunk, [*new, *(i for i in tried if i.number in waiting)])
        failed = sum(i.status != 200 for i in new)
        _replace(connection, chunk, left, row.needs, row.created_at)
        job = as_job(row)
        job = replace(job, answered=job.answered + len(new) - failed, failed=job.failed + failed)
        state = "running" if job.done else row.state
        values: dict[str, object] = {"answered": job.answered, "failed": job.failed, "state": state}
        if new:
            values["moved_at"] = datetime.now(UTC)
        connection.execute(update(jobs).where(*here).values(values))
        if job.done < job.total:
            if job.done * TENTHS // job.total > (row.answered + row.failed) * TENTHS // job.total:
                note_job(connection, chunk.tenant, job, "job.progress", state)
            return True
        end_job(connection, chunk.tenant, job, ended_as(job))
        return False


def ended_as(job: Job) -> str:
    """The state of a job whose every item is done."""
    if not job.failed:
        return "succeeded"
    return "succeeded_with_failures" if job.answered else "failed"


def _waiting(connection: Connection, chunk: Chunk) -> set[int]:
    c = job_items.c
    query = select(c.number).where(
        c.tenant == chunk.tenant,
        c.job == chunk.job,
        c.number >= chunk.first,
        c.number < chunk.first + chunk.size,
        c.status == 0,
    )
    return set(connection.scalars(query))


def _write(connection: Connection, chunk: Chunk, items: Sequence[Item]) -> None:
    if not items:
        return
    c = job_items.c
    here = (c.tenant == chunk.tenant, c.job == chunk.job, c.number == bindparam("of"))
    usually_none = [name for name in ("severity", "attempts") if any(getattr(i, name) for i in items)]
    names = ("status", "outcome", "body", *usually_none)  # what is written is half of what an item costs
    rows = [{"of": i.number, **{name: getattr(i, name) for name in names}} for i in items]
    columns: dict[str, Any] = {name: bindparam(name) for name in names}
    connection.execute(update(job_items).where(*here).values(columns), rows)


def _replace(connection: Connection, chunk: Chunk, left: Sequence[Left], needs: str, made: datetime) -> None:
    c = job_chunks.c
    connection.execute(
        delete(job_chunks).where(and_(c.tenant == chunk.tenant, c.job == chunk.job, c.first == chunk.first))
    )
    if left:
        rows = [
            chunk_row(chunk.tenant, chunk.job, needs, made, one.first, one.size, one.not_before, one.attempts)
            for one in left
        ]
        connection.execute(insert(job_chunks), rows)


def backlog(database: Database) -> list[Backlog]:
    """What waits, by tenant and by what it needs."""
    c = job_chunks.c
    query = select(c.tenant, c.needs, func.count().label("chunks"), func.min(c.made_at).label("oldest"))
    with database.reading() as connection:
        rows = connection.execute(query.group_by(c.tenant, c.needs).order_by(c.tenant, c.needs))
        return [Backlog(r.tenant, r.needs, r.chunks, r.oldest) for r in rows]
