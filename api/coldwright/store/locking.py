"""Named locks inside a transaction, so that writers of one thing come one after the other."""

from sqlalchemy import Connection, select
from sqlalchemy.dialects.postgresql import insert

from coldwright.store.schema import locks


def hold(connection: Connection, tenant: str, name: str) -> None:
    """Hold the lock until the transaction ends. SQLite has one writer at a time already."""
    if connection.dialect.name != "postgresql":
        return
    connection.execute(insert(locks).values(tenant=tenant, name=name, remark="").on_conflict_do_nothing())
    connection.execute(select(locks.c.name).where(locks.c.tenant == tenant, locks.c.name == name).with_for_update())
