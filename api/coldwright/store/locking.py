"""Named locks inside a transaction, so that writers of one thing come one after the other."""

import hashlib

from sqlalchemy import Connection, select
from sqlalchemy.dialects.postgresql import insert

from coldwright.store.schema import locks

LONGEST_NAME = 200
"""Characters that the table takes; a longer name, that of somebody's idempotency key, stands there by its hash."""


def hold(connection: Connection, tenant: str, name: str) -> None:
    """Hold the lock until the transaction ends. SQLite has one writer at a time already."""
    if connection.dialect.name != "postgresql":
        return
    if len(name) > LONGEST_NAME:
        name = hashlib.sha256(name.encode()).hexdigest()
    connection.execute(insert(locks).values(tenant=tenant, name=name, remark="").on_conflict_do_nothing())
    connection.execute(select(locks.c.name).where(locks.c.tenant == tenant, locks.c.name == name).with_for_update())
