"""A running application, in process."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from invented_calculators import registry_with_invented
from litestar import Litestar
from litestar.testing import TestClient

from coldwright.registry import Registry
from coldwright.service.app import create_app
from coldwright.service.settings import Settings


@pytest.fixture(scope="session")
def app(tmp_path_factory: pytest.TempPathFactory, registry: Registry) -> Litestar:
    """One application for all tests that leave no rows that matter to others."""
    path: Path = tmp_path_factory.mktemp("store") / "store.sqlite3"
    return create_app(Settings(database_url=f"sqlite:///{path}", engine="inline"), registry)


@pytest.fixture(scope="session")
def client(app: Litestar) -> Iterator[TestClient[Litestar]]:
    """A client that sees errors as a caller does."""
    with TestClient(app, raise_server_exceptions=False) as test_client:
        yield test_client


@pytest.fixture(scope="session")
def invented(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient[Litestar]]:
    """The same with calculators that do what ours never do."""
    path: Path = tmp_path_factory.mktemp("store") / "store.sqlite3"
    settings = Settings(database_url=f"sqlite:///{path}", engine="inline")
    with TestClient(create_app(settings, registry_with_invented()), raise_server_exceptions=False) as test_client:
        yield test_client
