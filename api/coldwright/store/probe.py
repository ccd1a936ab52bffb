"""Whether the store can be used now: asked by `/health/ready`, on a connection of its own."""

import os

from sqlalchemy import delete, insert

from coldwright.store.database import Database, StoreFull, StoreUnavailable
from coldwright.store.migrate import is_current
from coldwright.store.schema import probes

FILLER = 16 * 1024
"""Bytes that are written to see whether there is room: more than a page of either database."""


def trouble(database: Database) -> str:
    """What is wrong with the store, in words; empty where it answers, has this release's schema and keeps what it is given."""
    try:
        if not is_current(database):
            return "the store has not the schema of this release"
        with database.writing() as connection:
            connection.execute(delete(probes).where(probes.c.name == "ready"))
            connection.execute(insert(probes).values(name="ready", filler=os.urandom(FILLER)))
    except StoreUnavailable:
        return "the store does not answer"
    except StoreFull:
        return "the store can keep no more: its disk is full"
    return "the store can keep no more: its disk is full" if database.is_full() else ""
