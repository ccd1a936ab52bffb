"""Answers that are kept, under the digest of their question."""

from datetime import UTC, datetime

from msgspec import Struct
from sqlalchemy import Connection, select
from sqlalchemy.dialects import postgresql, sqlite

from coldwright.store.database import Database
from coldwright.store.schema import records


class Record(Struct, frozen=True):
    """A question and the answer that it had."""

    digest: str
    calculator: str
    version: str
    outcome: str
    given: bytes
    answer: bytes
    created_at: datetime | None = None


def put_record(database: Database, tenant: str, record: Record) -> None:
    """Keep a record; the first answer to a question stays, since a second could only be the same."""
    with database.writing() as connection:
        insert_record(connection, tenant, record)


def insert_record(connection: Connection, tenant: str, record: Record) -> None:
    """The same inside a transaction."""
    dialect = postgresql if connection.dialect.name == "postgresql" else sqlite
    connection.execute(
        dialect.insert(records)
        .values(
            tenant=tenant,
            digest=record.digest,
            calculator=record.calculator,
            version=record.version,
            outcome=record.outcome,
            given=record.given,
            answer=record.answer,
            created_at=datetime.now(UTC),
        )
        .on_conflict_do_nothing()
    )


def get_record(database: Database, tenant: str, digest: str) -> Record | None:
    """The record of that digest, if this tenant has kept it."""
    with database.reading() as connection:
        row = connection.execute(
            select(records).where(records.c.tenant == tenant, records.c.digest == digest)
        ).one_or_none()
    if row is None:
        return None
    return Record(row.digest, row.calculator, row.version, row.outcome, row.given, row.answer, row.created_at)
