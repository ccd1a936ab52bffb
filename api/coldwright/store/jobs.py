"""Jobs: many evaluations that outlive a request, resumed by whichever process finds them left."""

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from typing import Literal

from msgspec import Struct
from sqlalchemy import Connection, and_, case, delete, func, insert, or_, select, update

from coldwright.store.database import Database
from coldwright.store.locking import hold
from coldwright.store.schema import job_items, jobs

JobState = Literal["queued", "running", "succeeded", "cancelled"]
ABANDONED_AFTER = timedelta(seconds=30)
"""A running job whose process gave no sign of life for so long is taken over."""


class Job(Struct, frozen=True):
    """A job, with how far it is."""

    id: str
    state: JobState
    calculator: str
    units: str
    total: int
    done: int
    refused: int
    created_at: datetime
    finished_at: datetime | None


class Item(Struct, frozen=True):
    """An item of a job; status 0 while it waits."""

    number: int
    name: str
    given: bytes
    status: int
    outcome: str
    body: bytes


class New(Struct, frozen=True):
    """A job to be made."""

    id: str
    calculator: str
    units: str
    items: Sequence[tuple[str, bytes]]
    """Name and input of each."""
    idempotency_key: str | None
    fingerprint: str


class KeyReused(Exception):  # noqa: N818
    """The idempotency key was used for another request."""


def create_job(database: Database, tenant: str, new: New) -> tuple[Job, bool]:
    """Make a job, or find the one that the same key made before; whether it is new. Raises `KeyReused`."""
    now = datetime.now(UTC)
    with database.writing() as connection:
        if new.idempotency_key is not None:
            hold(connection, tenant, f"job-key:{new.idempotency_key}")
            row = connection.execute(
                select(jobs.c.id, jobs.c.fingerprint).where(
                    jobs.c.tenant == tenant, jobs.c.idempotency_key == new.idempotency_key
                )
            ).first()
            if row is not None:
                if row.fingerprint != new.fingerprint:
                    raise KeyReused
                return _job(connection, tenant, row.id), False
        connection.execute(
            insert(jobs).values(
                tenant=tenant,
                id=new.id,
                state="queued",
                calculator=new.calculator,
                units=new.units,
                total=len(new.items),
                idempotency_key=new.idempotency_key,
                fingerprint=new.fingerprint,
                owner="",
                created_at=now,
                beat_at=now,
            )
        )
        connection.execute(
            insert(job_items),
            [
                {
                    "tenant": tenant, "job": new.id, "number": number, "name": name, "given": given,
                    "status": 0, "outcome": "", "body": b"",
                }
                for number, (name, given) in enumerate(new.items)
            ],
        )  # fmt: skip
        return _job(connection, tenant, new.id), True


def get_job(database: Database, tenant: str, job_id: str) -> Job | None:
    """The job of that id."""
    with database.reading() as connection:
        found = connection.execute(select(jobs.c.id).where(jobs.c.tenant == tenant, jobs.c.id == job_id)).first()
        return _job(connection, tenant, job_id) if found else None


def release_jobs(database: Database, owner: str) -> None:
    """Give back what a process has claimed, when it stops in good order: another need not wait for it."""
    with database.writing() as connection:
        here = and_(jobs.c.owner == owner, jobs.c.state == "running")
        connection.execute(update(jobs).where(here).values(state="queued", owner=""))


def claim_job(database: Database, owner: str) -> tuple[str, Job] | None:
    """Take a job that waits or was left by its process; its tenant and the job."""
    now = datetime.now(UTC)
    left = and_(jobs.c.state == "running", jobs.c.beat_at < now - ABANDONED_AFTER)
    query = (
        select(jobs.c.tenant, jobs.c.id).where(or_(jobs.c.state == "queued", left)).order_by(jobs.c.created_at).limit(1)
    )
    with database.reading() as connection:  # most looks find nothing, and should cost no write lock
        if connection.execute(query).first() is None:
            return None
    with database.writing() as connection:
        row = connection.execute(query.with_for_update(skip_locked=True)).first()
        if row is None:
            return None
        here = and_(jobs.c.tenant == row.tenant, jobs.c.id == row.id)
        connection.execute(update(jobs).where(here).values(state="running", owner=owner, beat_at=now))
        return row.tenant, _job(connection, row.tenant, row.id)


def waiting_items(database: Database, tenant: str, job_id: str, size: int) -> list[Item]:
    """The next items that are not done."""
    query = (
        select(job_items)
        .where(job_items.c.tenant == tenant, job_items.c.job == job_id, job_items.c.status == 0)
        .order_by(job_items.c.number)
        .limit(size)
    )
    with database.reading() as connection:
        return [_item(row) for row in connection.execute(query)]


def finish_items(database: Database, tenant: str, job_id: str, owner: str, done: Sequence[Item]) -> bool:
    """Keep results, or none, and give a sign of life; false when the job is done, was cancelled or taken over."""
    now = datetime.now(UTC)
    with database.writing() as connection:
        here = and_(jobs.c.tenant == tenant, jobs.c.id == job_id)
        beat = connection.execute(
            update(jobs).where(here, jobs.c.owner == owner, jobs.c.state == "running").values(beat_at=now)
        )
        if beat.rowcount != 1:
            return False
        for item in done:
            connection.execute(
                update(job_items)
                .where(job_items.c.tenant == tenant, job_items.c.job == job_id, job_items.c.number == item.number)
                .values(status=item.status, outcome=item.outcome, body=item.body)
            )
        left = connection.scalar(
            select(func.count())
            .select_from(job_items)
            .where(job_items.c.tenant == tenant, job_items.c.job == job_id, job_items.c.status == 0)
        )
        if not left:
            connection.execute(update(jobs).where(here).values(state="succeeded", finished_at=now))
        return bool(left)


def cancel_job(database: Database, tenant: str, job_id: str) -> bool:
    """Stop a job; what is done stays. Whether there is such a job."""
    here = and_(jobs.c.tenant == tenant, jobs.c.id == job_id)
    with database.writing() as connection:
        if connection.execute(select(jobs.c.id).where(here)).first() is None:
            return False
        connection.execute(
            update(jobs)
            .where(here, jobs.c.state.in_(("queued", "running")))
            .values(state="cancelled", finished_at=datetime.now(UTC))
        )
        return True


def delete_old_jobs(database: Database, older_than: datetime) -> None:
    """Forget jobs that ended before an instant."""
    query = select(jobs.c.tenant, jobs.c.id).where(jobs.c.finished_at < older_than)
    with database.reading() as connection:  # as in `claim_job`
        if connection.execute(query).first() is None:
            return
    with database.writing() as connection:
        rows = connection.execute(query).all()
        for tenant, id_ in rows:
            connection.execute(delete(job_items).where(job_items.c.tenant == tenant, job_items.c.job == id_))
            connection.execute(delete(jobs).where(jobs.c.tenant == tenant, jobs.c.id == id_))


def list_items(database: Database, tenant: str, job_id: str, first: int, size: int) -> list[Item]:
    """Items that are done, by number, beginning at `first`."""
    query = (
        select(job_items)
        .where(
            job_items.c.tenant == tenant, job_items.c.job == job_id, job_items.c.number >= first, job_items.c.status > 0
        )
        .order_by(job_items.c.number)
        .limit(size)
    )
    with database.reading() as connection:
        return [_item(row) for row in connection.execute(query)]


def _job(connection: Connection, tenant: str, job_id: str) -> Job:
    row = connection.execute(select(jobs).where(jobs.c.tenant == tenant, jobs.c.id == job_id)).one()
    counts = connection.execute(
        select(
            func.coalesce(func.sum(case((job_items.c.status > 0, 1), else_=0)), 0),
            func.coalesce(func.sum(case((job_items.c.status >= 400, 1), else_=0)), 0),
        ).where(job_items.c.tenant == tenant, job_items.c.job == job_id)
    ).one()
    return Job(
        row.id,
        row.state,
        row.calculator,
        row.units,
        row.total,
        int(counts[0]),
        int(counts[1]),
        row.created_at,
        row.finished_at,
    )


def _item(row: object) -> Item:
    r = row._mapping  # type: ignore[attr-defined]
    return Item(r["number"], r["name"], r["given"], r["status"], r["outcome"], r["body"])
