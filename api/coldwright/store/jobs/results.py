"""What came of the items of a job."""

from sqlalchemy import select

from coldwright.store.database import Database
from coldwright.store.jobs.job import Item, as_item
from coldwright.store.schema import job_items


def list_items(database: Database, tenant: str, job_id: str, first: int, size: int) -> list[Item]:
    """Items that are done, by number, beginning at `first`."""
    c = job_items.c
    query = select(job_items).where(c.tenant == tenant, c.job == job_id, c.number >= first, c.status > 0)
    with database.reading() as connection:
        return [as_item(row) for row in connection.execute(query.order_by(c.number).limit(size))]
