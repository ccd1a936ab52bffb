"""How much a tenant keeps."""

from sqlalchemy import BigInteger, LargeBinary, Table, Text, func, select
from sqlalchemy.types import TypeDecorator

from coldwright.store.database import Database
from coldwright.store.schema import api_keys, metadata


def kept_bytes(database: Database, tenant: str) -> int:
    """Bytes of the documents, answers and records of a tenant as they are kept: packed ones count packed.

    Both databases know the length of a value without reading it; names and numbers beside it are not counted.
    """
    total = 0
    with database.reading() as connection:
        for table in metadata.sorted_tables:
            if lengths := [func.coalesce(func.sum(_length(c, database)), 0) for c in _long(table)]:
                row = connection.execute(select(*lengths).where(table.c.tenant == tenant)).one()
                total += sum(int(value) for value in row)
    return total


def _long(table: Table) -> list[object]:
    """Columns of a tenant's table that hold documents; its keys are the operator's."""
    if "tenant" not in table.c or table is api_keys:
        return []
    return [c for c in table.c if isinstance(_plain(c.type), LargeBinary | Text)]


def _plain(kind: object) -> object:
    return kind.impl_instance if isinstance(kind, TypeDecorator) else kind


def _length(column: object, database: Database) -> object:
    name = func.length if database.is_sqlite else func.octet_length
    return name(column, type_=BigInteger)
