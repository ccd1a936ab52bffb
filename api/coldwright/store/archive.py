"""The whole store as one file that either database can be restored from.

Gzip of JSON lines: a head with the revision of the schema, a line for each row, a foot with their number and hash.
"""

import base64
import gzip
import hashlib
import io
import os
import tempfile
import zlib
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import msgspec
from sqlalchemy import Column, Connection, LargeBinary, Table, func, insert, select
from sqlalchemy.exc import StatementError

from coldwright.store.columns import Instant, Packed
from coldwright.store.database import Database
from coldwright.store.migrate import LONGEST_SECONDS, head, is_current, upgrade
from coldwright.store.schema import locks, metadata, probes, rate_windows, sessions

FORMAT = "coldwright-store"
BATCH = 500
LEFT_OUT = {
    locks: "rows that are there to be locked; they say nothing",
    probes: "written to see whether anything can be written",
    rate_windows: "requests counted in a running minute: they may be lost, and count nothing once it is over",
    sessions: "whoever was signed in signs in again",
}
"""Tables that no archive has, and why: they may hold rows when one is restored."""


class BadArchive(Exception):  # noqa: N818
    """The file is no whole archive of a store, or not one for this release."""


class NotEmpty(Exception):  # noqa: N818
    """The store holds rows: an archive is restored into an empty one."""


def tables() -> list[Table]:
    """Tables that hold what lasts, by name."""
    return [t for t in sorted(metadata.tables.values(), key=lambda t: t.name) if t not in LEFT_OUT]


def backup(database: Database, file: Path) -> int:
    """Write every row, as of one moment, while others go on writing; returns how many. The file appears whole or not."""
    if not is_current(database):
        raise BadArchive("the store has not the schema of this release: run `coldwright store migrate` first")
    descriptor, unfinished = tempfile.mkstemp(dir=file.parent, prefix=f".{file.name}.")  # readable by its owner alone
    try:
        with open(descriptor, "wb") as raw:  # noqa: PTH123 - the descriptor is open already
            with gzip.GzipFile(filename="", fileobj=raw, mode="wb", mtime=0) as packed:
                count = _write(database, packed.write)
            raw.flush()
            os.fsync(raw.fileno())
        Path(unfinished).replace(file)
    except BaseException:
        Path(unfinished).unlink(missing_ok=True)
        raise
    return count


def _write(database: Database, write: Callable[[bytes], Any]) -> int:
    sha, count = hashlib.sha256(), 0
    made = datetime.now(UTC)
    write(msgspec.json.encode({"format": FORMAT, "version": 1, "revision": head(), "made_at": made}) + b"\n")
    with database.snapshot() as connection:
        for table in tables():
            for row in _rows(connection, table):
                line = msgspec.json.encode([str(table.name), row]) + b"\n"
                sha.update(line)
                write(line)
                count += 1
    write(msgspec.json.encode({"rows": count, "sha256": sha.hexdigest()}) + b"\n")
    return count


def _rows(connection: Connection, table: Table) -> Iterator[list[Any]]:
    query = select(table).order_by(*table.primary_key.columns)
    for row in connection.execution_options(yield_per=BATCH).execute(query):
        yield list(row)


def restore(database: Database, file: Path) -> int:
    """Read an archive into an empty store, all of it or nothing; returns how many rows."""
    upgrade(database)
    try:
        return _restore(database, file)
    except StatementError as error:
        raise BadArchive(f"the database does not take its rows: {error.orig or error}") from error


def _restore(database: Database, file: Path) -> int:
    by_name = {t.name: t for t in tables()}
    with database.writing(LONGEST_SECONDS) as connection:
        for table in by_name.values():
            if connection.scalar(select(func.count()).select_from(table)):
                raise NotEmpty(table.name)
        count = 0
        waiting: dict[str, list[dict[str, Any]]] = {}
        for name, row in _read(file):
            if name not in by_name:
                raise BadArchive(f"it has rows of {name[:60]!r}, which this release does not know")
            batch = waiting.setdefault(name, [])
            batch.append(_values(by_name[name], row))
            count += 1
            if len(batch) >= BATCH:
                connection.execute(insert(by_name[name]), batch)
                batch.clear()
        for name, batch in waiting.items():
            if batch:
                connection.execute(insert(by_name[name]), batch)
    return count


_line = msgspec.json.Decoder(dict[str, Any] | tuple[str, list[Any]])
"""The head or the foot, or a row: its table, and its columns in order."""


def _read(file: Path) -> Iterator[tuple[str, list[Any]]]:
    """Rows of an archive; raises `BadArchive` at the end when it was not whole."""
    sha, count = hashlib.sha256(), 0
    try:
        with gzip.open(file, "rb") as packed:
            lines = io.BufferedReader(packed)
            _refuse_foreign(msgspec.json.decode(lines.readline()))
            for line in lines:
                decoded = _line.decode(line)
                if isinstance(decoded, dict):
                    if decoded == {"rows": count, "sha256": sha.hexdigest()}:
                        return
                    break
                sha.update(line)
                count += 1
                yield decoded[0], decoded[1]
    except (OSError, EOFError, zlib.error, msgspec.DecodeError, UnicodeDecodeError) as error:
        raise BadArchive(f"it can't be read: {error}") from error
    raise BadArchive("it ends too early, or was changed")


def _refuse_foreign(first: Any) -> None:
    if not isinstance(first, dict) or first.get("format") != FORMAT or first.get("version") != 1:
        raise BadArchive("it is no archive of a store")
    if first.get("revision") != head():
        raise BadArchive(
            f"it has the schema {first.get('revision')}, this release has {head()}: "
            "restore it with the release that wrote it, then migrate"
        )


def _values(table: Table, row: list[Any]) -> dict[str, Any]:
    if len(row) != len(table.columns):
        raise BadArchive(f"a row of {table.name} has {len(row)} columns")
    try:
        return {c.name: _value(c, v) for c, v in zip(table.columns, row, strict=True)}
    except (ValueError, TypeError) as error:
        raise BadArchive(f"a row of {table.name} can't be read: {error}") from error


def _value(column: Column[Any], value: Any) -> Any:
    kind = column.type
    if value is None:
        if not column.nullable:
            raise ValueError(f"{column.name} is missing")
        return None
    if isinstance(kind, LargeBinary | Packed):
        return base64.b64decode(value)
    return datetime.fromisoformat(value) if isinstance(kind, Instant) else value
