"""Jobs are made, found, listed, cancelled and forgotten."""

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from typing import Any

from sqlalchemy import Connection, and_, delete, func, insert, or_, select, update

from coldwright.store.database import Database
from coldwright.store.events import add_event
from coldwright.store.job_tables import job_chunks, job_items, jobs
from coldwright.store.jobs.job import ENDED, Head, Item, Job, KeyReused, New, TooManyJobs, as_job
from coldwright.store.locking import hold

SILENT = timedelta(minutes=5)
"""For so long a job that is being received counts though nothing more of it was kept."""
SEEN = (jobs.c.state.not_in(("receiving", "going")),)
"""Neither while its items are still coming, nor while it is taken away, is a job shown to anybody: see `staging`."""


def create_job(database: Database, tenant: str, new: New, most: int = 0) -> tuple[Job, bool]:
    """Make a job, or find the one that the same key made before; whether it is new.

    Raises `KeyReused`, and `TooManyJobs` where `most` of the tenant are under way already.
    """
    now = datetime.now(UTC)
    with database.writing() as connection:
        if new.idempotency_key is not None:
            made = made_before(connection, tenant, new.idempotency_key, new.fingerprint)
            if made is not None:
                return made, False
        if most:
            hold(connection, tenant, "jobs")
            if (under_way := jobs_under_way(connection, tenant)) >= most:
                raise TooManyJobs(f"{under_way} jobs of this tenant are under way; it may have {most}.")
        head = Head(new.id, new.calculator, new.units, new.needs, new.keep)
        row = head_row(tenant, head, "queued", now)
        row |= {"total": len(new.items), "idempotency_key": new.idempotency_key, "fingerprint": new.fingerprint}
        connection.execute(insert(jobs).values(row))
        items = [item_row(tenant, new.id, _item(number, *item)) for number, item in enumerate(new.items)]
        connection.execute(insert(job_items), items)
        sizes = new.sizes or (len(new.items),)
        connection.execute(insert(job_chunks), chunk_rows(tenant, new.id, new.needs, sizes, now))
        return as_job(connection.execute(select(jobs).where(*_here(tenant, new.id))).one()), True


def made_before(connection: Connection, tenant: str, key: str, fingerprint: str) -> Job | None:
    """The job that this key made before, inside a transaction that keeps others of the key away. Raises `KeyReused`."""
    hold(connection, tenant, f"job-key:{key}")
    row = connection.execute(select(jobs).where(*of_key(tenant, key))).first()
    if row is not None and row.fingerprint != fingerprint:
        raise KeyReused
    return None if row is None else as_job(row)


def of_key(tenant: str, key: str) -> tuple[Any, ...]:
    """The job of an idempotency key."""
    return jobs.c.tenant == tenant, jobs.c.idempotency_key == key


def jobs_under_way(connection: Connection, tenant: str) -> int:
    """Jobs of a tenant that have not ended, those that are being received among them.

    One of which nothing has come for a while broke off, or its process died: it must not keep its tenant from another.
    """
    coming = or_(jobs.c.state != "receiving", jobs.c.moved_at > datetime.now(UTC) - SILENT)
    waiting = select(func.count()).where(
        jobs.c.tenant == tenant, jobs.c.finished_at.is_(None), jobs.c.state != "going", coming
    )
    return int(connection.execute(waiting).scalar_one())


def head_row(tenant: str, head: Head, state: str, now: datetime) -> dict[str, Any]:
    """A job with no items yet."""
    return {
        "tenant": tenant, "id": head.id, "state": state, "calculator": head.calculator, "needs": head.needs,
        "units": head.units, "keep": head.keep, "total": 0, "answered": 0, "failed": 0, "idempotency_key": None,
        "fingerprint": "", "created_at": now, "moved_at": now,
    }  # fmt: skip


def _item(number: int, name: str, given: bytes, before: str = "") -> Item:
    return Item(number, name, given, before=before)


def item_row(tenant: str, job: str, item: Item) -> dict[str, Any]:
    """An item as it is kept."""
    return {
        "tenant": tenant, "job": job, "number": item.number, "name": item.name, "given": item.given,
        "before": item.before, "status": item.status, "outcome": item.outcome, "body": item.body,
        "severity": item.severity, "attempts": item.attempts,
    }  # fmt: skip


def chunk_rows(tenant: str, job: str, needs: str, sizes: Sequence[int], now: datetime) -> list[dict[str, Any]]:
    """Chunks of these sizes, in order."""
    rows, first = [], 0
    for size in sizes:
        rows.append(chunk_row(tenant, job, needs, now, first, size, now))
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
        row = connection.execute(select(jobs).where(*_here(tenant, job_id), *SEEN)).first()
        return as_job(row) if row else None


def list_jobs(database: Database, tenant: str, after: tuple[datetime, str] | None, size: int) -> list[Job]:
    """Jobs, the newest first, beginning after the one that was made at an instant and has an id."""
    c = jobs.c
    query = select(jobs).where(c.tenant == tenant, *SEEN).order_by(c.created_at.desc(), c.id).limit(size)
    if after is not None:
        made, id_ = after
        query = query.where(or_(c.created_at < made, and_(c.created_at == made, c.id > id_)))
    with database.reading() as connection:
        return [as_job(row) for row in connection.execute(query)]


def cancel_job(database: Database, tenant: str, job_id: str) -> bool:
    """Stop a job; what is done stays. Whether there is such a job."""
    here = (*_here(tenant, job_id), *SEEN)
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
    note_job(connection, tenant, job, "job.done", state)


def note_job(connection: Connection, tenant: str, job: Job, kind: str, state: str) -> None:
    """Write an event of how far a job is. Do it last."""
    facts = {
        "state": state, "calculator": job.calculator, "total": job.total, "answered": job.answered, "failed": job.failed,
    }  # fmt: skip
    add_event(connection, tenant, kind, job.id, facts)


def _here(tenant: str, job_id: str) -> tuple[Any, Any]:
    return jobs.c.tenant == tenant, jobs.c.id == job_id
