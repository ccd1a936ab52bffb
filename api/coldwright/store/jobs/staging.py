"""Jobs whose items come piece by piece: nobody sees one before it is whole, and of one that breaks off nothing is left.

The items of a job that is being received are rows already, so that memory does not grow with the job; its state hides it.
The same way back: a job that is forgotten is hidden at once, and its rows go a few at a time, since one long transaction
would keep every other writer waiting.
"""

from collections.abc import Sequence
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import and_, delete, func, insert, or_, select, update

from coldwright.store.database import Database
from coldwright.store.job_tables import job_chunks, job_items, jobs
from coldwright.store.jobs.job import Head, Item, Job, TooManyJobs, as_job
from coldwright.store.jobs.keep import chunk_rows, head_row, item_row, jobs_under_way, made_before, of_key
from coldwright.store.locking import hold

RECEIVING, GOING = "receiving", "going"
PIECE = 2000
"""Rows that one transaction takes away."""
LONGEST_SECONDS = 600.0
"""For what goes over all items of a job at once."""


class NotReceived(Exception):  # noqa: N818
    """The job was given up meanwhile: too long nothing had come of it."""


def begin_receiving(database: Database, tenant: str, head: Head, most: int = 0) -> None:
    """Make a job that nobody sees yet. Raises `TooManyJobs` where `most` of the tenant are under way already."""
    with database.writing() as connection:
        if most:
            hold(connection, tenant, "jobs")
            if (under_way := jobs_under_way(connection, tenant)) >= most:
                raise TooManyJobs(f"{under_way} jobs of this tenant are under way; it may have {most}.")
        connection.execute(insert(jobs).values(head_row(tenant, head, RECEIVING, datetime.now(UTC))))


def add_items(database: Database, tenant: str, job_id: str, items: Sequence[Item]) -> None:
    """Keep more of its items; those with a status have failed already. Raises `NotReceived`."""
    with database.writing() as connection:
        moved = update(jobs).where(*_received(tenant, job_id)).values(moved_at=datetime.now(UTC))
        if not connection.execute(moved).rowcount:
            raise NotReceived
        connection.execute(insert(job_items), [item_row(tenant, job_id, item) for item in items])


def fail_repeated(database: Database, tenant: str, job_id: str, status: int, body: bytes, severity: int) -> int:
    """Let every item fail whose name an earlier one has already; how many."""
    c = job_items.c
    place = func.row_number().over(partition_by=c.name, order_by=c.number).label("place")
    named = select(c.number, place).where(c.tenant == tenant, c.job == job_id, c.status == 0).subquery()
    with database.writing(LONGEST_SECONDS) as connection:
        # not as one statement: of a table that has just grown a planner thinks that it is empty, and would join row by row
        numbers = connection.scalars(select(named.c.number).where(named.c.place > 1)).all()
        for start in range(0, len(numbers), PIECE):
            some = numbers[start : start + PIECE]
            failing = update(job_items).where(c.tenant == tenant, c.job == job_id, c.number.in_(some))
            connection.execute(failing.values(status=status, body=body, severity=severity, given=b""))
    return len(numbers)


def complete(
    database: Database, tenant: str, head: Head, sizes: Sequence[int], failed: int, key: str | None, fingerprint: str
) -> tuple[Job, bool]:
    """Let a job that is whole begin, or find the one that the same key made before; whether it is new.

    Raises `KeyReused` and `NotReceived`; then, and where another is found, it is for the caller to give this one up.
    """
    now = datetime.now(UTC)
    with database.writing(LONGEST_SECONDS) as connection:
        if key is not None and (made := made_before(connection, tenant, key, fingerprint)) is not None:
            return made, False
        values = {
            "state": "queued", "total": sum(sizes), "failed": failed, "idempotency_key": key, "fingerprint": fingerprint,
            "created_at": now, "moved_at": now,
        }  # fmt: skip
        if not connection.execute(update(jobs).where(*_received(tenant, head.id)).values(values)).rowcount:
            raise NotReceived
        connection.execute(insert(job_chunks), chunk_rows(tenant, head.id, head.needs, sizes, now))
        here = (jobs.c.tenant == tenant, jobs.c.id == head.id)
        return as_job(connection.execute(select(jobs).where(*here)).one()), True


def find_made(database: Database, tenant: str, key: str) -> bool:
    """Whether that key has made a job already."""
    with database.reading() as connection:
        return connection.execute(select(jobs.c.id).where(*of_key(tenant, key))).first() is not None


def give_up(database: Database, tenant: str, job_id: str) -> None:
    """Let go of a job that broke off: its rows are taken away soon."""
    with database.writing() as connection:
        connection.execute(update(jobs).where(*_received(tenant, job_id)).values(state=GOING))


def forget(database: Database, ended_before: datetime, stalled_before: datetime) -> None:
    """Take away, a few rows at a time, jobs that ended long ago, and what is left of those that broke off."""
    c = jobs.c
    going = or_(c.state == GOING, and_(c.state == RECEIVING, c.moved_at < stalled_before), c.finished_at < ended_before)
    with database.reading() as connection:  # most looks find nothing, and should cost no write lock
        found = connection.execute(select(c.tenant, c.id).where(going)).all()
    for tenant, job_id in found:
        with database.writing() as connection:
            connection.execute(update(jobs).where(c.tenant == tenant, c.id == job_id, going).values(state=GOING))
        while _take_some(database, tenant, job_id):
            pass
        with database.writing() as connection:
            connection.execute(delete(jobs).where(c.tenant == tenant, c.id == job_id, c.state == GOING))


def _take_some(database: Database, tenant: str, job_id: str) -> bool:
    """Take some of its items away; whether there were any."""
    c = job_items.c
    here = (c.tenant == tenant, c.job == job_id)
    with database.writing() as connection:
        first = connection.scalar(select(func.min(c.number)).where(*here))
        if first is not None:
            connection.execute(delete(job_items).where(*here, c.number < first + PIECE))
    return first is not None


def _received(tenant: str, job_id: str) -> tuple[Any, ...]:
    return jobs.c.tenant == tenant, jobs.c.id == job_id, jobs.c.state == RECEIVING
