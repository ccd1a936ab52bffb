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


class OtherAnswerKept(Exception):  # noqa: N818
    """Another answer is kept under the digest of this question: one of the two is wrong."""

    def __init__(self, kept: Record, now: Record) -> None:
        self.kept, self.now = kept, now
        super().__init__(kept.digest)


def put_record(database: Database, tenant: str, record: Record) -> Record:
    """Keep a record, and give what is kept: the first answer to a question stays, and a second should be the same."""
    with database.writing() as connection:
        _insert(connection, tenant, record)
        return _found(connection, tenant, record.digest) or record


def insert_record(connection: Connection, tenant: str, record: Record) -> None:
    """Keep a record inside a transaction; raises `OtherAnswerKept` where another answer is kept under its digest."""
    if _insert(connection, tenant, record):
        return
    kept = _found(connection, tenant, record.digest)
    if kept is not None and kept.answer != record.answer:
        raise OtherAnswerKept(kept, record)


def _insert(connection: Connection, tenant: str, record: Record) -> bool:
    """Whether it is new."""
    dialect = postgresql if connection.dialect.name == "postgresql" else sqlite
    done = connection.execute(
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
    return bool(done.rowcount)


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
