"""Verdicts as they were sent: the audit's answer to what was said of a start-up to whom, and when."""

from datetime import UTC, datetime

from msgspec import Struct
from sqlalchemy import func, insert, select

from coldwright.store.database import Database
from coldwright.store.locking import hold
from coldwright.store.schema import verdicts


class Verdict(Struct, frozen=True):
    """A verdict as it was sent: the audit's answer to what was said to whom, and when."""

    sequence: int
    observation_count: int
    status: str
    meaning: str
    """Hash of what it says, without the instant it was said for."""
    body: bytes
    caller: str
    configuration: str
    """Digest of the configuration that it was judged by."""
    sent_at: datetime
    calculator: str = ""
    """Id and version of the calculator that gave it; empty of one that was sent before that was kept."""


class NewVerdict(Struct, frozen=True):
    """A verdict that is about to be sent."""

    observation_count: int
    status: str
    meaning: str
    body: bytes
    configuration: str = ""
    calculator: str = ""


def keep_verdict(database: Database, tenant: str, startup_id: str, new: NewVerdict, caller: str) -> None:
    """Keep a verdict that is sent, unless the last one sent to this caller said the same."""
    with database.writing() as connection:
        hold(connection, tenant, f"verdicts:{startup_id}")
        here = (verdicts.c.tenant == tenant) & (verdicts.c.startup == startup_id)
        last = connection.scalar(
            select(verdicts.c.meaning)
            .where(here, verdicts.c.caller == caller)
            .order_by(verdicts.c.sequence.desc())
            .limit(1)
        )
        if last == new.meaning:
            return
        sequence = (connection.scalar(select(func.max(verdicts.c.sequence)).where(here)) or 0) + 1
        connection.execute(
            insert(verdicts).values(
                tenant=tenant,
                startup=startup_id,
                sequence=sequence,
                observation_count=new.observation_count,
                status=new.status,
                meaning=new.meaning,
                body=new.body,
                caller=caller,
                configuration=new.configuration,
                calculator=new.calculator,
                told_at=datetime.now(UTC),
            )
        )


def list_verdicts(database: Database, tenant: str, startup_id: str, after: int, size: int) -> list[Verdict]:
    """Verdicts in the order in which they were sent, beginning after `after`."""
    query = (
        select(verdicts)
        .where(verdicts.c.tenant == tenant, verdicts.c.startup == startup_id, verdicts.c.sequence > after)
        .order_by(verdicts.c.sequence)
        .limit(size)
    )
    with database.reading() as connection:
        return [
            Verdict(
                r.sequence,
                r.observation_count,
                r.status,
                r.meaning,
                r.body,
                r.caller,
                r.configuration,
                r.told_at,
                r.calculator,
            )
            for r in connection.execute(query)
        ]
