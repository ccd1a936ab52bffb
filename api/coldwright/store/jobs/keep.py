"""Jobs are made, found, listed, cancelled and forgotten."""

from datetime import UTC, datetime
from typing import Any

from sqlalchemy import Connection, and_, delete, func, insert, or_, select, update

from coldwright.store.database import Database
from coldwright.store.events import add_event
from coldwright.store.job_tables import job_chunks, job_items, jobs
from coldwright.store.jobs.job import ENDED, Job, KeyReused, New, TooManyJobs, as_job
from coldwright.store.locking import hold


def create_job(database: Database, tenant: str, new: New, most: int = 0) -> tuple[Job, bool]:
    """Make a job, or find the one that the same key made before; whether it is new.

    Raises `KeyReused`, and `TooManyJobs` where `most` of the tenant are under way already.
    """
    now = datetime.now(UTC)
    with database.writing() as connection:
        if new.idempotency_key is not None:
            hold(connection, tenant, f"job-key:{new.idempotency_key}")
            named = (jobs.c.tenant == tenant, jobs.c.idempotency_key == new.idempotency_key)
            row = connection.execute(select(jobs).where(*named)).first()
            if row is not None:
                if row.fingerprint != new.fingerprint:
                    raise KeyReused
                return as_job(row), False
        if most:
            hold(connection, tenant, "jobs")
            if (under_way := jobs_under_way(connection, tenant)) >= most:
                raise TooManyJobs(f"{under_way} jobs of this tenant are under way; it may have {most}.")
        connection.execute(
            insert(jobs).values(
                tenant=tenant,
                id=new.id,
                state="queued",
                calculator=new.calculator,
                needs=new.needs,
                units=new.units,
                keep=new.keep,
                total=len(new.items),
                answered=0,
                failed=0,
                idempotency_key=new.idempotency_key,
                fingerprint=new.fingerprint,
                created_at=now,
                moved_at=now,
            )
        )
        connection.execute(insert(job_items), [_item_row(tenant, new.id, n, *i) for n, i in enumerate(new.items)])
        connection.execute(insert(job_chunks), _chunk_rows(tenant, new, now))
        return as_job(connection.execute(select(jobs).where(*_here(tenant, new.id))).one()), True


def jobs_under_way(connection: Connection, tenant: str) -> int:
    """Jobs of a tenant that have not ended."""
    waiting = select(func.count()).where(jobs.c.tenant == tenant, jobs.c.finished_at.is_(None))
    return int(connection.execute(waiting).scalar_one())


def _item_row(tenant: str, job: str, number: int, name: str, given: bytes, before: str = "") -> dict[str, Any]:
    return {
        "tenant": tenant, "job": job, "number": number, "name": name, "given": given, "before": before,
        "status": 0, "outcome": "", "body": b"", "severity": 0, "attempts": 0,
    }  # fmt: skip


def _chunk_rows(tenant: str, new: New, now: datetime) -> list[dict[str, Any]]:
    rows, first = [], 0
    for size in new.sizes or (len(new.items),):
        rows.append(chunk_row(tenant, new.id, new.needs, now, first, size, now))
        first += size
    return rows


def chunk_row(
    tenant: str, job: str, needs: str, made: datetime, first: int, size: int, not_before: datetime, attempts: int = 0
) -> dict[str, Any]:
    """A chunk of a job that was made at that instant."""
    return {
        "tenant": tenant, "job": job, "first": first, "size": size, "needs": needs, "made_at": made,
        "not_before": not_before, "attempts": attempts,
    }  # fmt: skip


def get_job(database: Database, tenant: str, job_id: str) -> Job | None:
    """The job of that id."""
    with database.reading() as connection:
        row = connection.execute(select(jobs).where(*_here(tenant, job_id))).first()
        return as_job(row) if row else None


def list_jobs(database: Database, tenant: str, after: tuple[datetime, str] | None, size: int) -> list[Job]:
    """Jobs, the newest first, beginning after the one that was made at an instant and has an id."""
    c = jobs.c
    query = select(jobs).where(c.tenant == tenant).order_by(c.created_at.desc(), c.id).limit(size)
    if after is not None:
        made, id_ = after
        query = query.where(or_(c.created_at < made, and_(c.created_at == made, c.id > id_)))
    with database.reading() as connection:
        return [as_job(row) for row in connection.execute(query)]


def cancel_job(database: Database, tenant: str, job_id: str) -> bool:
    """Stop a job; what is done stays. Whether there is such a job."""
    here = _here(tenant, job_id)
    with database.writing() as connection:
        row = connection.execute(select(jobs).where(*here).with_for_update()).first()
        if row is None:
            return False
        if row.state not in ENDED:
            end_job(connection, tenant, as_job(row), "cancelled")
        return True


def end_job(connection: Connection, tenant: str, job: Job, state: str) -> None:
    """End a job inside a transaction that holds its row: no chunk of it is left, and an event says so."""
    connection.execute(update(jobs).where(*_here(tenant, job.id)).values(state=state, finished_at=datetime.now(UTC)))
    c = job_chunks.c
    connection.execute(delete(job_chunks).where(c.tenant == tenant, c.job == job.id))
    facts = {
        "state": state, "calculator": job.calculator, "total": job.total, "answered": job.answered, "failed": job.failed,
    }  # fmt: skip
    add_event(connection, tenant, "job.done", job.id, facts)


def delete_old_jobs(database: Database, older_than: datetime) -> None:
    """Forget jobs that ended before an instant."""
    query = select(jobs.c.tenant, jobs.c.id).where(jobs.c.finished_at < older_than)
    with database.reading() as connection:  # most looks find nothing, and should cost no write lock
        if connection.execute(query).first() is None:
            return
    with database.writing() as connection:
        for tenant, id_ in connection.execute(query).all():
            connection.execute(delete(job_items).where(job_items.c.tenant == tenant, job_items.c.job == id_))
            connection.execute(delete(jobs).where(jobs.c.tenant == tenant, jobs.c.id == id_))


def _here(tenant: str, job_id: str) -> tuple[Any, Any]:
    return jobs.c.tenant == tenant, jobs.c.id == job_id
