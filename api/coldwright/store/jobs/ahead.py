"""The first chunks of each tenant, for an engine which is given only a few at a time."""

from collections.abc import Collection
from datetime import UTC, datetime

from sqlalchemy import func, select, true, update

from coldwright.store.database import Database
from coldwright.store.job_tables import job_chunks, jobs
from coldwright.store.jobs.chunks import Chunk


def first_chunks(database: Database, needs: Collection[str], most: int) -> list[tuple[str, Chunk]]:
    """What each needs, and the chunk: at most `most` of each tenant, those of its oldest job first; tenants in turn.

    For PostgreSQL. It goes through the beginning of each tenant's part of an index, not through all that waits.
    """
    c = job_chunks.c
    tenants = select(jobs.c.tenant).where(jobs.c.finished_at.is_(None)).distinct().subquery()
    due = select(job_chunks).where(c.tenant == tenants.c.tenant, c.not_before <= datetime.now(UTC), c.needs.in_(needs))
    first = due.order_by(c.made_at, c.job, c.first).limit(most).lateral()
    f = first.c
    place = func.row_number().over(partition_by=f.tenant, order_by=(f.made_at, f.job, f.first)).label("place")
    query = select(first, place).select_from(tenants.join(first, true())).order_by("place", f.tenant)
    with database.reading() as connection:
        return [(r.needs, Chunk(r.tenant, r.job, r.first, r.size, r.attempts)) for r in connection.execute(query)]


def due_needs(database: Database) -> list[str]:
    """What is needed by jobs that are not done."""
    query = select(jobs.c.needs).where(jobs.c.finished_at.is_(None)).distinct()
    with database.reading() as connection:
        return sorted(connection.scalars(query))


def put_off(database: Database, chunk: Chunk, until: datetime) -> None:
    """Let nobody take it up before an instant."""
    c = job_chunks.c
    with database.writing() as connection:
        connection.execute(
            update(job_chunks)
            .where(c.tenant == chunk.tenant, c.job == chunk.job, c.first == chunk.first)
            .values(not_before=until)
        )
