"""The first chunks of each tenant and kind of work, for an engine which is given only a few at a time."""

from datetime import UTC, datetime

from sqlalchemy import func, select, update

from coldwright.store.database import Database
from coldwright.store.job_tables import job_chunks
from coldwright.store.jobs.chunks import Chunk


def first_chunks(database: Database, most: int) -> list[tuple[str, Chunk]]:
    """What each needs, and the chunk: at most `most` of each tenant and of what it needs, oldest job first."""
    c = job_chunks.c
    place = (
        func.row_number().over(partition_by=(c.tenant, c.needs), order_by=(c.made_at, c.job, c.first)).label("place")
    )
    due = select(job_chunks, place).where(c.not_before <= datetime.now(UTC)).subquery()
    query = select(due).where(due.c.place <= most).order_by(due.c.place, due.c.tenant)
    with database.reading() as connection:
        return [(r.needs, Chunk(r.tenant, r.job, r.first, r.size, r.attempts)) for r in connection.execute(query)]


def put_off(database: Database, chunk: Chunk, until: datetime) -> None:
    """Let nobody take it up before an instant."""
    c = job_chunks.c
    with database.writing() as connection:
        connection.execute(
            update(job_chunks)
            .where(c.tenant == chunk.tenant, c.job == chunk.job, c.first == chunk.first)
            .values(not_before=until)
        )
