"""Start-ups: one machine on one site, with its configuration."""

from datetime import UTC, datetime

from msgspec import Struct
from sqlalchemy import Connection, insert, select, update

from coldwright.store.conditions import Condition, Done, judge, tag_of
from coldwright.store.database import Database
from coldwright.store.locking import hold
from coldwright.store.schema import startups


class Startup(Struct, frozen=True):
    """The start-up itself."""

    id: str
    document: bytes
    etag: str
    created_at: datetime


class NoSuchStartup(LookupError):  # noqa: N818
    """There is none of that id."""


def put_startup(
    database: Database, tenant: str, startup_id: str, document: bytes, condition: Condition
) -> tuple[Startup, Done]:
    """Make or change a start-up. Raises `Changed` or `Unconditional`."""
    now = datetime.now(UTC)
    with database.writing() as connection:
        hold(connection, tenant, f"startup:{startup_id}")
        found = startup_in(connection, tenant, startup_id)
        done = judge(condition, found.etag if found else None, same=found is not None and found.document == document)
        if done == "unchanged" and found is not None:
            return found, done
        etag = tag_of(startup_id, document)
        if found is None:
            connection.execute(
                insert(startups).values(
                    tenant=tenant, id=startup_id, document=document, etag=etag, created_at=now, changed_at=now
                )
            )
        else:
            connection.execute(
                update(startups)
                .where(startups.c.tenant == tenant, startups.c.id == startup_id)
                .values(document=document, etag=etag, changed_at=now)
            )
        return Startup(startup_id, document, etag, found.created_at if found else now), done


def get_startup(database: Database, tenant: str, startup_id: str) -> Startup | None:
    """The start-up of that id."""
    with database.reading() as connection:
        return startup_in(connection, tenant, startup_id)


def startup_in(connection: Connection, tenant: str, startup_id: str) -> Startup | None:
    row = connection.execute(select(startups).where(startups.c.tenant == tenant, startups.c.id == startup_id)).first()
    return None if row is None else Startup(row.id, row.document, row.etag, row.created_at)
