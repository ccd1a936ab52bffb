"""What the tables of the store are made of: their list, and columns of kinds that databases keep unlike one another."""

import zlib
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import Column, DateTime, LargeBinary, MetaData, String
from sqlalchemy.types import TypeDecorator

metadata = MetaData(
    naming_convention={
        "ix": "ix_%(column_0_N_label)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "pk": "pk_%(table_name)s",
    }
)


PACKING = 3
"""Level of zlib. The usual 6 takes more than twice the time and a tenth less room."""


class Instant(TypeDecorator[datetime]):
    """A point in time: in UTC on the way in and out, also where the database forgets the zone."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Any) -> datetime | None:  # noqa: ARG002
        """To the database."""
        return None if value is None else value.astimezone(UTC)

    def process_result_value(self, value: datetime | None, dialect: Any) -> datetime | None:  # noqa: ARG002
        """From the database."""
        if value is None:
            return None
        return value.astimezone(UTC) if value.tzinfo else value.replace(tzinfo=UTC)


class Packed(TypeDecorator[bytes]):
    """Bytes that are kept compressed (zlib, RFC 1950): a plan takes a fifth to a quarter of its room."""

    impl = LargeBinary
    cache_ok = True

    def process_bind_param(self, value: bytes | None, dialect: Any) -> bytes | None:  # noqa: ARG002
        """To the database."""
        return None if value is None else zlib.compress(value, PACKING)

    def process_result_value(self, value: bytes | None, dialect: Any) -> bytes | None:  # noqa: ARG002
        """From the database."""
        return None if value is None else zlib.decompress(value)


def instant(name: str, *, nullable: bool = False) -> Column[datetime]:
    """A column of points in time."""
    return Column(name, Instant(), nullable=nullable)


def by_code(length: int) -> String:
    """Text in the order of its code points, as SQLite sorts it anyhow: what begins alike stands side by side."""
    return String(length).with_variant(String(length, collation="C"), "postgresql")
