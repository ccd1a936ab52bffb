"""Jobs that nobody goes on with begin anew: the version that they began with is served no more."""

from datetime import UTC, datetime

from sqlalchemy import delete, func, insert, select, update

from coldwright.store.database import Database
from coldwright.store.job_tables import job_chunks, job_items, jobs
from coldwright.store.jobs.keep import chunk_row

LONGEST_SECONDS = 600.0
"""For a job of a million items."""
OPEN = ("queued", "running")


def begin_anew(database: Database, needs: str, size: int, moved_before: datetime) -> int:
    """Begin jobs anew with what `needs` says, that began with another version of it and have not moved since an instant.

    All their items are asked again, since answers of two versions are not to be mixed. Returns how many jobs.
    """
    j = jobs.c
    name = needs.partition(" ")[0]
    query = select(jobs).where(
        j.state.in_(OPEN), j.needs.startswith(f"{name} ", autoescape=True), j.needs != needs, j.needs != f"{name} "
    )
    query = query.where(j.moved_at < moved_before)
    with database.reading() as connection:  # most looks find nothing, and should cost no write lock
        if connection.execute(query).first() is None:
            return 0
    now = datetime.now(UTC)
    with database.writing(LONGEST_SECONDS) as connection:
        rows = connection.execute(query.with_for_update(skip_locked=True)).all()
        for row in rows:
            i, c = job_items.c, job_chunks.c
            fresh = {"status": 0, "outcome": "", "body": b"", "severity": 0, "attempts": 0}
            items = (i.tenant == row.tenant, i.job == row.id, i.status > 0)
            connection.execute(update(job_items).where(*items, i.given != b"").values(fresh))
            failed = connection.scalar(select(func.count()).where(*items))  # whatever could not be read stays so
            connection.execute(delete(job_chunks).where(c.tenant == row.tenant, c.job == row.id))
            chunks = [
                chunk_row(row.tenant, row.id, needs, row.created_at, first, min(size, row.total - first), now)
                for first in range(0, row.total, size)
            ]
            connection.execute(insert(job_chunks), chunks)
            values = {"needs": needs, "answered": 0, "failed": failed, "state": "queued", "moved_at": now}
            connection.execute(update(jobs).where(j.tenant == row.tenant, j.id == row.id).values(values))
        return len(rows)
