"""What came of the items of a job."""

from sqlalchemy import and_, or_, select

from coldwright.store.database import Database
from coldwright.store.job_tables import job_items
from coldwright.store.jobs.job import Item, as_item


def list_items(database: Database, tenant: str, job_id: str, first: int, size: int) -> list[Item]:
    """Items that are done, by number, beginning at `first`."""
    c = job_items.c
    query = select(job_items).where(c.tenant == tenant, c.job == job_id, c.number >= first, c.status > 0)
    with database.reading() as connection:
        return [as_item(row) for row in connection.execute(query.order_by(c.number).limit(size))]


def list_worst(database: Database, tenant: str, job_id: str, after: tuple[int, int] | None, size: int) -> list[Item]:
    """Items that are done and are not as before, the worst first, beginning after a severity and a number."""
    c = job_items.c
    query = select(job_items).where(c.tenant == tenant, c.job == job_id, c.status > 0, c.severity > 0)
    if after is not None:
        severity, number = after
        query = query.where(or_(c.severity < severity, and_(c.severity == severity, c.number > number)))
    with database.reading() as connection:
        return [as_item(row) for row in connection.execute(query.order_by(c.severity.desc(), c.number).limit(size))]
