"""What happened, in the order in which it was kept: an outbox row is written in the transaction of the change itself.

Numbers count up by one in each tenant, in the order of commit, so whoever polls with the last number misses nothing.
"""

from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any

import msgspec
from msgspec import Struct
from sqlalchemy import Connection, delete, func, insert, select

from coldwright.store.database import EVENT, Database
from coldwright.store.locking import hold
from coldwright.store.schema import events


class Event(Struct, frozen=True):
    """One thing that happened."""

    number: int
    kind: str
    subject: str
    """What it happened to: the reference of a booking, the id of a start or of a job."""
    body: bytes
    happened_at: datetime


def add_event(connection: Connection, tenant: str, kind: str, subject: str, body: Mapping[str, Any]) -> int:
    """Write an event with the change that it reports. Do it last: it makes the tenant's other writers wait."""
    hold(connection, tenant, "events")
    e = events.c
    number = int(connection.scalar(select(func.max(e.number)).where(e.tenant == tenant)) or 0) + 1
    connection.execute(
        insert(events).values(
            tenant=tenant,
            number=number,
            kind=kind,
            subject=subject,
            body=msgspec.json.encode(body),
            happened_at=datetime.now(UTC),
        )
    )
    connection.info[EVENT] = True
    return number


def list_events(
    database: Database, tenant: str, after: int, size: int, *, kind: str = "", subject: str = ""
) -> list[Event]:
    """Events with a greater number than `after`, the earliest first."""
    e = events.c
    query = select(events).where(e.tenant == tenant, e.number > after).order_by(e.number).limit(size)
    if kind:
        query = query.where(e.kind == kind)
    if subject:
        query = query.where(e.subject == subject)
    with database.reading() as connection:
        return [Event(r.number, r.kind, r.subject, r.body, r.happened_at) for r in connection.execute(query)]


def forget_events(database: Database, older_than: datetime) -> int:
    """Delete events from before an instant, but each tenant's newest, which the next number is counted from."""
    e, gone = events.c, 0
    with database.writing() as connection:
        for tenant, top in connection.execute(select(e.tenant, func.max(e.number)).group_by(e.tenant)).all():
            old = delete(events).where(e.tenant == tenant, e.number < top, e.happened_at < older_than)
            gone += connection.execute(old).rowcount
    return gone
