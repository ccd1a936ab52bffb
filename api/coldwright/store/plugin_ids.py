"""Who an id of a third party's calculator belongs to: the distribution that was the first to be served under it here."""

from collections.abc import Mapping
from datetime import UTC, datetime

from sqlalchemy import delete, insert, select

from coldwright.store.database import Database
from coldwright.store.locking import hold
from coldwright.store.schema import plugin_ids


def holders(database: Database) -> dict[str, tuple[str, datetime]]:
    """Every id that is registered, with its distribution and since when."""
    with database.reading() as connection:
        return {row.id: (row.distribution, row.registered_at) for row in connection.execute(select(plugin_ids))}


def register(database: Database, claims: Mapping[str, str]) -> dict[str, str]:
    """Register ids that nobody has; those that another distribution registered meanwhile, with that distribution."""
    with database.writing() as connection:
        hold(connection, "", "plugin ids")
        known = {row.id: row.distribution for row in connection.execute(select(plugin_ids))}
        new = {id_: name for id_, name in claims.items() if id_ not in known}
        now = datetime.now(UTC)
        if new:
            rows = [{"id": i, "distribution": name, "registered_at": now} for i, name in sorted(new.items())]
            connection.execute(insert(plugin_ids), rows)
    return {id_: known[id_] for id_, name in claims.items() if known.get(id_, name) != name}


def release(database: Database, id_: str) -> str:
    """Let an id go; the distribution that had it, empty where nobody had."""
    with database.writing() as connection:
        holder = connection.scalar(select(plugin_ids.c.distribution).where(plugin_ids.c.id == id_))
        connection.execute(delete(plugin_ids).where(plugin_ids.c.id == id_))
    return holder or ""
