"""Start-ups: one machine's configuration and an append-only set of observations, with the verdicts that were told."""

import hashlib
from collections.abc import Sequence
from datetime import UTC, datetime

from msgspec import Struct
from sqlalchemy import Connection, func, insert, select, update

from coldwright.store.conditions import Condition, Done, judge, tag_of
from coldwright.store.database import Database
from coldwright.store.locking import hold
from coldwright.store.schema import observations, startups, verdicts


class Startup(Struct, frozen=True):
    """The start-up itself."""

    id: str
    document: bytes
    etag: str
    created_at: datetime


class Observation(Struct, frozen=True):
    """One observation, as it was accepted. `sequence` is the order of arrival, which no verdict may rest on."""

    sequence: int
    id: str
    body: bytes
    received_at: datetime


class Verdict(Struct, frozen=True):
    """A verdict as it was told: the audit's answer to what was said to whom, and when."""

    sequence: int
    observation_count: int
    status: str
    meaning: str
    """Hash of what it says, without the instant it was said for."""
    body: bytes
    caller: str
    told_at: datetime


class NoSuchStartup(LookupError):  # noqa: N818
    """There is none of that id."""


class TooManyObservations(Exception):  # noqa: N818
    """The start-up holds as many as it may."""


def put_startup(
    database: Database, tenant: str, startup_id: str, document: bytes, condition: Condition
) -> tuple[Startup, Done]:
    """Make or change a start-up. Raises `Changed` or `Unconditional`."""
    now = datetime.now(UTC)
    with database.writing() as connection:
        hold(connection, tenant, f"startup:{startup_id}")
        found = _startup(connection, tenant, startup_id)
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
        return _startup(connection, tenant, startup_id)


def add_observations(
    database: Database, tenant: str, startup_id: str, batch: Sequence[tuple[str, bytes]], most: int
) -> list[bool]:
    """Add a batch of (id, canonical body), all or nothing; for each, whether it is new.

    The same id with the same body is kept once. Raises `NoSuchStartup` or `TooManyObservations`.
    """
    now = datetime.now(UTC)
    with database.writing() as connection:
        hold(connection, tenant, f"startup:{startup_id}")
        if _startup(connection, tenant, startup_id) is None:
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


class Told(Struct, frozen=True):
    """A verdict that is about to be told."""

    observation_count: int
    status: str
    meaning: str
    body: bytes


def tell_verdict(database: Database, tenant: str, startup_id: str, told: Told, caller: str) -> None:
    """Keep a verdict that is told, unless the last one told to this caller said the same."""
    with database.writing() as connection:
        hold(connection, tenant, f"verdicts:{startup_id}")
        here = (verdicts.c.tenant == tenant) & (verdicts.c.startup == startup_id)
        last = connection.scalar(
            select(verdicts.c.meaning)
            .where(here, verdicts.c.caller == caller)
            .order_by(verdicts.c.sequence.desc())
            .limit(1)
        )
        if last == told.meaning:
            return
        sequence = (connection.scalar(select(func.max(verdicts.c.sequence)).where(here)) or 0) + 1
        connection.execute(
            insert(verdicts).values(
                tenant=tenant,
                startup=startup_id,
                sequence=sequence,
                observation_count=told.observation_count,
                status=told.status,
                meaning=told.meaning,
                body=told.body,
                caller=caller,
                told_at=datetime.now(UTC),
            )
        )


def list_verdicts(database: Database, tenant: str, startup_id: str, after: int, size: int) -> list[Verdict]:
    """Verdicts in the order in which they were told, beginning after `after`."""
    query = (
        select(verdicts)
        .where(verdicts.c.tenant == tenant, verdicts.c.startup == startup_id, verdicts.c.sequence > after)
        .order_by(verdicts.c.sequence)
        .limit(size)
    )
    with database.reading() as connection:
        return [
            Verdict(r.sequence, r.observation_count, r.status, r.meaning, r.body, r.caller, r.told_at)
            for r in connection.execute(query)
        ]


def _startup(connection: Connection, tenant: str, startup_id: str) -> Startup | None:
    row = connection.execute(select(startups).where(startups.c.tenant == tenant, startups.c.id == startup_id)).first()
    return None if row is None else Startup(row.id, row.document, row.etag, row.created_at)
