"""Both databases, as fixtures: what holds for the one must hold for the other."""

import tempfile
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest
from postgres import new_database

from coldwright.store import Database, upgrade


@cache
def _migrated() -> bytes:
    """A SQLite file with the schema of this release: to migrate one takes a tenth of a second of processor time."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "store.sqlite3")
        made = Database(f"sqlite:///{path}")
        upgrade(made)
        made.close()
        return path.read_bytes()


def migrated(path: Path) -> str:
    """The address of a SQLite file that is made here, and has the schema already."""
    path.write_bytes(_migrated())
    return f"sqlite:///{path}"


@pytest.fixture(params=["sqlite", pytest.param("postgresql", marks=pytest.mark.postgres)])
def empty_url(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """The address of a database with nothing in it."""
    return f"sqlite:///{tmp_path}/store.sqlite3" if request.param == "sqlite" else new_database()


@pytest.fixture
def database(empty_url: str) -> Iterator[Database]:
    """A database with the schema of this release."""
    if empty_url.startswith("sqlite"):
        migrated(Path(empty_url.removeprefix("sqlite:///")))
    opened = Database(empty_url)
    upgrade(opened)
    yield opened
    opened.close()
