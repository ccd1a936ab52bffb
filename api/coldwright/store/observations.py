"""Observations of start-ups: an append-only set. `sequence` is the order of arrival, which no verdict may rest on."""

import hashlib
from collections.abc import Sequence
from datetime import UTC, datetime

from msgspec import Struct
from sqlalchemy import func, insert, select, update

from coldwright.store.database import Database
from coldwright.store.locking import hold
from coldwright.store.schema import observations, startups
from coldwright.store.startups import NEVER, NoSuchStartup, startup_in


class Observation(Struct, frozen=True):
    """One observation, as it was accepted. `sequence` is the order of arrival, which no verdict may rest on."""

    sequence: int
    id: str
    body: bytes
    """As it was sent."""
    received_at: datetime
    counted: bytes
    """As the verdict takes it: with who sent it, and how far its time may be off."""
    caller: str
    sent_at: datetime | None


class Arriving(Struct, frozen=True):
    """One that arrives."""

    id: str
    body: bytes
    counted: bytes = b""
    """Empty where it counts as it was sent."""
    caller: str = ""
    sent_at: datetime | None = None
    received_at: datetime | None = None
    """Now, where it is left out."""
    once: bool = False
    """Whether its id is that of a form: sent twice it is one record, whatever stamp it got the second time."""


class TooManyObservations(Exception):  # noqa: N818
    """The start-up holds as many as it may."""


def add_observations(
    database: Database, tenant: str, startup_id: str, batch: Sequence[Arriving], most: int
) -> list[bool]:
    """Add a batch, all or nothing; for each, whether it is new.

    The same id with the same body is kept once, as it came first; of a form, the same id alone.
    Raises `NoSuchStartup` or `TooManyObservations`.
    """
    now = datetime.now(UTC)
    with database.writing() as connection:
        hold(connection, tenant, f"startup:{startup_id}")
        startup = startup_in(connection, tenant, startup_id)
        if startup is None:
            raise NoSuchStartup(startup_id)
        here = (observations.c.tenant == tenant) & (observations.c.startup == startup_id)
        known = {
            (row.observation, row.content)
            for row in connection.execute(select(observations.c.observation, observations.c.content).where(here))
        }
        ids = {name for name, _ in known}
        sequence = connection.scalar(select(func.max(observations.c.sequence)).where(here)) or 0
        new: list[bool] = []
        rows = []
        for one in batch:
            content = hashlib.sha256(one.body).hexdigest()
            new.append(one.id not in ids if one.once else (one.id, content) not in known)
            if new[-1]:
                known.add((one.id, content))
                ids.add(one.id)
                sequence += 1
                rows.append(
                    {
                        "tenant": tenant,
                        "startup": startup_id,
                        "sequence": sequence,
                        "observation": one.id,
                        "content": content,
                        "body": one.body,
                        "counted": one.counted or one.body,
                        "caller": one.caller,
                        "sent_at": one.sent_at,
                        "received_at": one.received_at or now,
                    }
                )
        if len(known) > most:
            raise TooManyObservations(f"{len(known)} observations; {most} are kept for one start-up")
        if rows:
            connection.execute(insert(observations), rows)
            concerned = (startups.c.tenant == tenant) & (startups.c.id == startup_id)
            if startup.machine:  # and the starts of its machine that came after: what stands goes along into them
                later = (startups.c.machine == startup.machine) & (startups.c.created_at >= startup.created_at)
                concerned |= (startups.c.tenant == tenant) & later
            connection.execute(update(startups).where(concerned).values(changed_at=now, state_of=NEVER))
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
        return [
            Observation(r.sequence, r.observation, r.body, r.received_at, r.counted, r.caller, r.sent_at) for r in rows
        ]


def body_of(database: Database, tenant: str, startup_id: str, id_: str) -> bytes | None:
    """An observation as it came first under that id; None where there is none."""
    query = (
        select(observations.c.body)
        .where(observations.c.tenant == tenant, observations.c.startup == startup_id, observations.c.observation == id_)
        .order_by(observations.c.sequence)
        .limit(1)
    )
    with database.reading() as connection:
        body: bytes | None = connection.scalar(query)
        return body


def list_counted(database: Database, tenant: str, startup_id: str) -> list[tuple[bytes, datetime]]:
    """Every observation as the verdict takes it, with when it was received; of a whole start-up, so no more than that."""
    query = (
        select(observations.c.counted, observations.c.received_at)
        .where(observations.c.tenant == tenant, observations.c.startup == startup_id)
        .order_by(observations.c.sequence)
    )
    with database.reading() as connection:
        return [(r.counted, r.received_at) for r in connection.execute(query)]


def last_sequence(database: Database, tenant: str, startup_id: str) -> int:
    """Number of the newest observation; 0 without any."""
    query = select(func.max(observations.c.sequence)).where(
        observations.c.tenant == tenant, observations.c.startup == startup_id
    )
    with database.reading() as connection:
        return connection.scalar(query) or 0
