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


def put_record(database: Database, tenant: str, record: Record) -> Record:
    """Keep a record, and give what is kept: the first answer to a question stays, and a second should be the same."""
    with database.writing() as connection:
        insert_record(connection, tenant, record)
        return _found(connection, tenant, record.digest) or record


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
        return _found(connection, tenant, digest)


def _found(connection: Connection, tenant: str, digest: str) -> Record | None:
    query = select(records).where(records.c.tenant == tenant, records.c.digest == digest)
    row = connection.execute(query).one_or_none()
    if row is None:
        return None
    return Record(row.digest, row.calculator, row.version, row.outcome, row.given, row.answer, row.created_at)
