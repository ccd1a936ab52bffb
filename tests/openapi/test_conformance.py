"""Every operation of the document, called with what the document allows and with what it does not."""

import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import hypothesis
import pytest
import schemathesis
from hypothesis import HealthCheck
from running import running

from coldwright.registry import Registry
from coldwright.service.app import document_of
from coldwright.service.http.callers import ALL_SCOPES
from coldwright.store import Database, upgrade
from coldwright.store.keys import create_key

CONFIG = schemathesis.Config.from_path(str(Path(__file__).parent / "schemathesis.toml"))
schema = schemathesis.openapi.from_dict(document_of(Registry()), config=CONFIG)


@schemathesis.check
def refusal_is_explained(_context: Any, response: Any, _case: Any) -> None:
    """A 422 names a field, a code and a reason, always."""
    if response.status_code == 422:
        errors = response.json()["errors"]
        assert errors
        assert all(e["pointer"].startswith("#") and e["code"] and e["detail"] for e in errors)


@pytest.fixture(scope="module")
def service(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[str, dict[str, str]]]:
    """Address and headers of a service that asks for a key."""
    folder = tmp_path_factory.mktemp("service")
    database = Database(f"sqlite:///{folder}/coldwright.sqlite3")
    upgrade(database)
    _, secret = create_key(database, "trial", tuple(ALL_SCOPES))
    database.close()
    with running(folder) as running_service:
        yield running_service.url, {"Authorization": f"Bearer {secret}"}


@schema.parametrize()
@hypothesis.settings(
    max_examples=int(os.environ.get("COLDWRIGHT_EXAMPLES", "10")),
    deadline=None,
    suppress_health_check=list(HealthCheck),
    derandomize=True,
)
def test_operation(case: schemathesis.Case, service: tuple[str, dict[str, str]]) -> None:
    url, headers = service
    case.call_and_validate(base_url=url, headers=headers)
