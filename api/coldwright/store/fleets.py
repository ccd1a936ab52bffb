"""Fleets: versioned documents."""

from datetime import UTC, datetime

from msgspec import Struct
from sqlalchemy import Connection, func, insert, select

from coldwright.store.bookings.checks import want_checks
from coldwright.store.conditions import Condition, Done, judge, tag_of
from coldwright.store.database import Database
from coldwright.store.events import add_event
from coldwright.store.locking import hold
from coldwright.store.schema import fleets


class Fleet(Struct, frozen=True):
    """One version of a fleet."""

    id: str
    version: int
    document: bytes
    etag: str
    created_at: datetime


def put_fleet(
    database: Database, tenant: str, fleet_id: str, document: bytes, condition: Condition
) -> tuple[Fleet, Done]:
    """Keep a new version, unless it is the present one; its bookings are looked at again.

    Raises `Changed` or `Unconditional`.
    """
    with database.writing() as connection:
        hold(connection, tenant, f"fleet:{fleet_id}")
        present = newest(connection, tenant, fleet_id)
        done = judge(
            condition, present.etag if present else None, same=present is not None and present.document == document
        )
        if done == "unchanged" and present is not None:
            return present, done
        version = present.version + 1 if present else 1
        fleet = Fleet(fleet_id, version, document, tag_of(fleet_id, version, document), datetime.now(UTC))
        connection.execute(
            insert(fleets).values(
                tenant=tenant,
                id=fleet_id,
                version=version,
                document=document,
                etag=fleet.etag,
                created_at=fleet.created_at,
            )
        )
        want_checks(connection, tenant, fleet_id)
        add_event(connection, tenant, "fleet.changed", fleet_id, {"fleet": fleet_id, "version": version})
        return fleet, done


def get_fleet(database: Database, tenant: str, fleet_id: str, version: int | None = None) -> Fleet | None:
    """A version of a fleet, the newest if none is named."""
    with database.reading() as connection:
        return newest(connection, tenant, fleet_id, version)


def newest(connection: Connection, tenant: str, fleet_id: str, version: int | None = None) -> Fleet | None:
    """The same inside a transaction."""
    query = select(fleets).where(fleets.c.tenant == tenant, fleets.c.id == fleet_id)
    query = query.where(fleets.c.version == version) if version else query.order_by(fleets.c.version.desc()).limit(1)
    row = connection.execute(query).first()
    return None if row is None else Fleet(row.id, row.version, row.document, row.etag, row.created_at)


def list_fleets(database: Database, tenant: str, after: str, size: int) -> list[tuple[str, int]]:
    """Ids with their newest version, sorted, `size` of them beginning after `after`."""
    query = (
        select(fleets.c.id, func.max(fleets.c.version))
        .where(fleets.c.tenant == tenant, fleets.c.id > after)
        .group_by(fleets.c.id)
        .order_by(fleets.c.id)
        .limit(size)
    )
    with database.reading() as connection:
        return [(id_, version) for id_, version in connection.execute(query)]


def versions_of(database: Database, tenant: str, fleet_id: str, below: int, size: int) -> list[tuple[int, datetime]]:
    """Versions of a fleet and when they were kept, the newest first, `size` of them beginning below a version."""
    c = fleets.c
    query = select(c.version, c.created_at).where(c.tenant == tenant, c.id == fleet_id, c.version < below)
    with database.reading() as connection:
        return [
            (row.version, row.created_at) for row in connection.execute(query.order_by(c.version.desc()).limit(size))
        ]
