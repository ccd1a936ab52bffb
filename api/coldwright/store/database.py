"""The database behind the store: SQLite in a file by default, PostgreSQL by URL."""

import contextlib
from collections.abc import Iterator

import sqlalchemy
from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import DBAPIError, OperationalError
from sqlalchemy.exc import TimeoutError as PoolTimeout


class StoreUnavailable(Exception):  # noqa: N818
    """The database does not answer; nothing of the transaction was kept."""


class StoreFull(Exception):  # noqa: N818
    """The database answers but can keep no more."""


_FULL = ("disk is full", "readonly database", "no space left", "could not extend file")


class Database:
    """Connections, transactions, and the translation of a driver's errors into ours."""

    def __init__(self, url: str) -> None:
        self.url: URL = _with_driver(make_url(url))
        self.is_sqlite = self.url.get_backend_name() == "sqlite"
        self.engine = _sqlite_engine(self.url) if self.is_sqlite else _postgresql_engine(self.url)

    @contextlib.contextmanager
    def reading(self) -> Iterator[Connection]:
        """A connection for reading; nothing is kept. Each statement sees what was kept when it began."""
        with self._translating(), self.engine.connect() as connection:
            yield connection

    @contextlib.contextmanager
    def writing(self) -> Iterator[Connection]:
        """A transaction: all of it is kept when the block ends, nothing of it otherwise."""
        with self._translating(writing=True), self.engine.connect() as connection:
            if self.is_sqlite:
                connection.exec_driver_sql("BEGIN IMMEDIATE")
            with contextlib.ExitStack() as undo:
                undo.callback(connection.rollback)
                yield connection
                connection.commit()
                undo.pop_all()

    @contextlib.contextmanager
    def snapshot(self) -> Iterator[Connection]:
        """A connection that reads the state of one moment, however long it takes and whatever others write."""
        with self._translating(), self.engine.connect() as connection:
            if self.is_sqlite:
                connection.exec_driver_sql("BEGIN")
            else:
                connection.execution_options(isolation_level="REPEATABLE READ")
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

    def close(self) -> None:
        """Close every connection."""
        self.engine.dispose()

    @contextlib.contextmanager
    def _translating(self, *, writing: bool = False) -> Iterator[None]:
        try:
            yield
        except (DBAPIError, PoolTimeout) as error:
            text = str(error).lower()
            if any(words in text for words in _FULL) or (writing and "disk i/o error" in text):
                raise StoreFull(str(error)) from error
            lost = isinstance(error, DBAPIError) and error.connection_invalidated
            if lost or isinstance(error, (OperationalError, PoolTimeout)):
                raise StoreUnavailable(str(error)) from error
            raise


def _with_driver(url: URL) -> URL:
    return url.set(drivername="postgresql+psycopg") if url.drivername in ("postgresql", "postgres") else url


def _sqlite_engine(url: URL) -> Engine:
    engine = create_engine(url, connect_args={"check_same_thread": False, "timeout": 10}, hide_parameters=True)

    @event.listens_for(engine, "connect")
    def prepare(connection, _record) -> None:  # type: ignore[no-untyped-def]
        connection.isolation_level = None  # the transaction is begun by us, at once and for writing
        cursor = connection.cursor()
        cursor.execute("PRAGMA journal_mode=WAL")
        cursor.execute("PRAGMA synchronous=FULL")  # what was acknowledged survives a power cut
        cursor.execute("PRAGMA foreign_keys=ON")
        cursor.execute("PRAGMA busy_timeout=10000")
        cursor.close()

    return engine


def _postgresql_engine(url: URL) -> Engine:
    return create_engine(
        url,
        hide_parameters=True,  # errors are logged; what is stored is not
        pool_pre_ping=True,
        pool_size=10,
        max_overflow=10,
        pool_timeout=5,
        connect_args={"connect_timeout": 3},
    )
