"""Observations of start-ups: an append-only set. `sequence` is the order of arrival, which no verdict may rest on."""

import hashlib
from collections.abc import Sequence
from datetime import UTC, datetime

from msgspec import Struct
from sqlalchemy import func, insert, select, update

from coldwright.store.database import Database
from coldwright.store.locking import hold
from coldwright.store.schema import observations, startups
from coldwright.store.startups import NoSuchStartup, startup_in


class Observation(Struct, frozen=True):
    """One observation, as it was accepted. `sequence` is the order of arrival, which no verdict may rest on."""

    sequence: int
    id: str
    body: bytes
    received_at: datetime


class TooManyObservations(Exception):  # noqa: N818
    """The start-up holds as many as it may."""


def add_observations(
    database: Database, tenant: str, startup_id: str, batch: Sequence[tuple[str, bytes]], most: int
) -> list[bool]:
    """Add a batch of (id, canonical body), all or nothing; for each, whether it is new.

    The same id with the same body is kept once. Raises `NoSuchStartup` or `TooManyObservations`.
    """
    now = datetime.now(UTC)
    with database.writing() as connection:
        hold(connection, tenant, f"startup:{startup_id}")
        if startup_in(connection, tenant, startup_id) is None:
            raise NoSuchStartup(startup_id)
        here = (observations.c.tenant == tenant) & (observations.c.startup == startup_id)
        known = {
            (row.observation, row.content)
            for row in connection.execute(select(observations.c.observation, observations.c.content).where(here))
        }
        sequence = connection.scalar(select(func.max(observations.c.sequence)).where(here)) or 0
        new: list[bool] = []
        rows = []
        for id_, body in batch:
            content = hashlib.sha256(body).hexdigest()
            new.append((id_, content) not in known)
            if new[-1]:
                known.add((id_, content))
                sequence += 1
                rows.append(
                    {
                        "tenant": tenant,
                        "startup": startup_id,
                        "sequence": sequence,
                        "observation": id_,
                        "content": content,
                        "body": body,
                        "received_at": now,
                    }
                )
        if len(known) > most:
            raise TooManyObservations(f"{len(known)} observations; {most} are kept for one start-up")
        if rows:
            connection.execute(insert(observations), rows)
            connection.execute(
                update(startups).where(startups.c.tenant == tenant, startups.c.id == startup_id).values(changed_at=now)
            )
        return new


def list_observations(
    database: Database, tenant: str, startup_id: str, after: int = 0, size: int | None = None
) -> list[Observation]:
    """Observations in the order of arrival, beginning after `after`."""
    query = (
        select(observations)
        .where(observations.c.tenant == tenant, observations.c.startup == startup_id, observations.c.sequence > after)
        .order_by(observations.c.sequence)
    )
    with database.reading() as connection:
        rows = connection.execute(query.limit(size) if size else query)
        return [Observation(r.sequence, r.observation, r.body, r.received_at) for r in rows]


def last_sequence(database: Database, tenant: str, startup_id: str) -> int:
    """Number of the newest observation; 0 without any."""
    query = select(func.max(observations.c.sequence)).where(
        observations.c.tenant == tenant, observations.c.startup == startup_id
    )
    with database.reading() as connection:
        return connection.scalar(query) or 0
