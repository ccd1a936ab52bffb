"""Both databases, as fixtures: what holds for the one must hold for the other."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from postgres import new_database

from coldwright.store import Database, upgrade


@pytest.fixture(params=["sqlite", pytest.param("postgresql", marks=pytest.mark.postgres)])
def empty_url(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """The address of a database with nothing in it."""
    return f"sqlite:///{tmp_path}/store.sqlite3" if request.param == "sqlite" else new_database()


@pytest.fixture
def database(empty_url: str) -> Iterator[Database]:
    """A database with the schema of this release."""
    opened = Database(empty_url)
    upgrade(opened)
    yield opened
    opened.close()
