"""The database behind the store: SQLite in a file by default, PostgreSQL by URL."""

import contextlib
import shutil
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import sqlalchemy
from msgspec import Struct
from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import DBAPIError, DisconnectionError, OperationalError
from sqlalchemy.exc import TimeoutError as PoolTimeout

from coldwright.store.time_limit import TimeLimit


class StoreUnavailable(Exception):  # noqa: N818
    """The database does not answer; nothing of the transaction was kept."""


class StoreFull(Exception):  # noqa: N818
    """The database answers but can keep no more."""


class Use(Struct, frozen=True):
    """How a database is used: how many connections, and how long one use may take before it is given up."""

    pool: int
    most: int
    seconds: float
    """Longest time for one use of a connection."""
    wait: float
    """Longest time to wait for a connection that is free."""


WORK = Use(pool=10, most=20, seconds=12.0, wait=5.0)
"""What callers keep and read."""
KEYS = Use(pool=2, most=4, seconds=2.0, wait=1.0)
"""Looking keys up: apart, so that a crowd of writers, or a hang, leaves it free."""
HEALTH = Use(pool=1, most=1, seconds=1.0, wait=0.5)
"""Whether it answers."""

STATEMENT_SECONDS = 10
LOCK_SECONDS = 5
IDLE_SECONDS = 30
LOOK_SECONDS = 3.0
REST_SECONDS = 1.0
"""After a hang nobody waits for the database again for so long: each would hold a thread as long as the first did."""
VAIN_SECONDS = 0.9
"""Whoever waited so long met a hang; a refused connection is reported at once."""
BUSY_SECONDS = 30.0
"""How long a writer of SQLite waits for the others, of this process and of every other."""
RENEWED_AFTER = 3600
"""Seconds after which a connection to SQLite is replaced: it knows the sizes of tables as they were when it was opened."""
FULL_SECONDS = 30.0
LEAST_FREE = 2 * 1024 * 1024
"""Bytes free on the disk of an SQLite file below which it counts as full: a write of ordinary size may not fit."""

EVENT = "event"
"""In `info` of a connection: an event is written in its transaction."""
_BROKEN = ("file is not a database", "disk image is malformed")
_FULL = ("disk is full", "readonly database", "no space left", "could not extend file")


class Database:
    """Connections, transactions, and the translation of a driver's errors into ours."""

    def __init__(self, url: str, use: Use = WORK) -> None:
        self.url: URL = _with_driver(make_url(url))
        self.is_sqlite = self.url.get_backend_name() == "sqlite"
        self._use = use
        self._limit = TimeLimit()
        self._one_writer = threading.Lock()
        self._rests_until = 0.0
        self._full_until = 0.0
        self.on_event: Callable[[], object] = lambda: None
        """Called, in the thread of the writer, when a transaction with an event was kept."""
        self.engine = _sqlite_engine(self.url) if self.is_sqlite else _postgresql_engine(self.url, use, self._limit)

    @contextlib.contextmanager
    def reading(self) -> Iterator[Connection]:
        """A connection for reading; nothing is kept. Each statement sees what was kept when it began."""
        with self._translating(), self.engine.connect() as connection, self._limited(connection, self._use.seconds):
            yield connection

    @contextlib.contextmanager
    def writing(self, seconds: float | None = None) -> Iterator[Connection]:
        """A transaction: all of it is kept when the block ends, nothing of it otherwise.

        `seconds` is for work that rightly takes longer than a request may: a migration, an import.
        """
        with (
            self._translating(writing=True),
            self._alone(),
            self.engine.connect() as connection,
            self._limited(connection, self._use.seconds if seconds is None else seconds),
            contextlib.ExitStack() as undo,
        ):
            undo.callback(connection.rollback)
            if self.is_sqlite:
                connection.exec_driver_sql("BEGIN IMMEDIATE")
            elif seconds is not None:
                connection.exec_driver_sql(f"SET LOCAL statement_timeout = {int(seconds * 1000)}")
                connection.exec_driver_sql(f"SET LOCAL lock_timeout = {int(seconds * 1000)}")
            yield connection
            connection.commit()
            undo.pop_all()
            happened = connection.info.pop(EVENT, False)
        self._full_until = 0.0
        if happened:
            self.on_event()

    @contextlib.contextmanager
    def snapshot(self) -> Iterator[Connection]:
        """A connection that reads the state of one moment, however long it takes and whatever others write."""
        with self._translating(), self.engine.connect() as connection:
            if self.is_sqlite:
                connection.exec_driver_sql("BEGIN")
            else:
                connection.execution_options(isolation_level="REPEATABLE READ")
                connection.exec_driver_sql("SET LOCAL statement_timeout = 0")
                connection.exec_driver_sql("SET LOCAL idle_in_transaction_session_timeout = 0")
            yield connection
            connection.rollback()

    def answers(self) -> bool:
        """Whether the database can be read now."""
        try:
            with self.reading() as connection:
                connection.execute(sqlalchemy.text("SELECT 1"))
        except StoreUnavailable:
            return False
        return True

    def is_full(self) -> bool:
        """Whether it could keep nothing lately, or its disk has no room for an ordinary write."""
        if time.monotonic() < self._full_until:
            return True
        folder = Path(self.url.database or "").resolve().parent
        if not self.is_sqlite or not self.url.database or self.url.database == ":memory:":
            return False
        return shutil.disk_usage(folder).free < LEAST_FREE

    def close(self) -> None:
        """Close every connection."""
        self.engine.dispose()
        self._limit.close()

    @contextlib.contextmanager
    def _limited(self, connection: Connection, seconds: float) -> Iterator[None]:
        driver = connection.connection.driver_connection
        if self.is_sqlite or driver is None:
            yield
            return
        with self._limit.over(driver, seconds):
            yield

    @contextlib.contextmanager
    def _alone(self) -> Iterator[None]:
        """On SQLite one writer of this process at a time, in order: those of other processes wait for it by the file."""
        if not self.is_sqlite:
            yield
            return
        if not self._one_writer.acquire(timeout=BUSY_SECONDS):
            raise StoreUnavailable("other writers did not end in time")
        try:
            yield
        finally:
            self._one_writer.release()

    @contextlib.contextmanager
    def _translating(self, *, writing: bool = False) -> Iterator[None]:
        if time.monotonic() < self._rests_until:
            raise StoreUnavailable("the database did not answer a moment ago")
        began = time.monotonic()
        try:
            yield
        except (DBAPIError, PoolTimeout, DisconnectionError) as error:
            text = str(error).lower()
            if any(words in text for words in _FULL) or (writing and "disk i/o error" in text):
                self._full_until = time.monotonic() + FULL_SECONDS
                raise StoreFull(str(error)) from error
            lost = isinstance(error, DBAPIError) and error.connection_invalidated
            lost = lost or any(words in text for words in _BROKEN)
            if lost or isinstance(error, (OperationalError, PoolTimeout, DisconnectionError)):
                if not self.is_sqlite and time.monotonic() - began > VAIN_SECONDS:
                    self._rests_until = time.monotonic() + REST_SECONDS
                raise StoreUnavailable(str(error)) from error
            raise


def _with_driver(url: URL) -> URL:
    return url.set(drivername="postgresql+psycopg") if url.drivername in ("postgresql", "postgres") else url


def _sqlite_engine(url: URL) -> Engine:
    connect_args = {"check_same_thread": False, "timeout": BUSY_SECONDS}
    engine = create_engine(url, connect_args=connect_args, hide_parameters=True, pool_recycle=RENEWED_AFTER)

    @event.listens_for(engine, "connect")
    def prepare(connection: Any, _record: object) -> None:
        connection.isolation_level = None  # the transaction is begun by us, at once and for writing
        cursor = connection.cursor()
        cursor.execute("PRAGMA journal_mode=WAL")
        cursor.execute("PRAGMA synchronous=FULL")  # what was acknowledged survives a power cut
        cursor.execute("PRAGMA foreign_keys=ON")
        cursor.close()

    return engine


def _postgresql_engine(url: URL, use: Use, limit: TimeLimit) -> Engine:
    """With limits on the server's side, on the network's, and, where neither holds, on ours."""
    own_limits = {
        "statement_timeout": min(STATEMENT_SECONDS, use.seconds),
        "lock_timeout": min(LOCK_SECONDS, use.seconds),
        "idle_in_transaction_session_timeout": IDLE_SECONDS,
    }
    engine = create_engine(
        url,
        hide_parameters=True,  # errors are logged; what is stored is not
        pool_size=use.pool,
        max_overflow=use.most - use.pool,
        pool_timeout=use.wait,
        connect_args={
            "connect_timeout": 2,
            "keepalives_idle": 5,
            "keepalives_interval": 2,
            "keepalives_count": 3,
            "tcp_user_timeout": 10_000,
        },
    )

    @event.listens_for(engine, "connect")
    def prepare(connection: Any, _record: object) -> None:
        with limit.over(connection, min(LOOK_SECONDS, use.seconds)), connection.cursor() as cursor:
            for name, seconds in own_limits.items():  # by statements: not every pooler takes them with the connection
                cursor.execute(f"SET {name} = {int(seconds * 1000)}")
        connection.commit()

    @event.listens_for(engine, "checkout")
    def see_that_it_lives(connection: Any, _record: object, _fairy: object) -> None:
        """In place of the pool's own look, which would wait for ever; a dead connection is replaced by a new one."""
        try:
            with limit.over(connection, min(LOOK_SECONDS, use.seconds)):
                engine.dialect.do_ping(connection)
        except Exception as error:
            raise DisconnectionError(str(error)) from error

    return engine
