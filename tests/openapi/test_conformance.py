"""Every operation of the document, called with what the document allows and with what it does not."""

import os
from collections import Counter
from collections.abc import Iterator
from http.cookiejar import DefaultCookiePolicy
from pathlib import Path
from typing import Any

import hypothesis
import pytest
import requests
import schemathesis
from hypothesis import HealthCheck
from running import running

from coldwright.registry import Registry
from coldwright.service.app import document_of
from coldwright.service.http.callers import ALL_SCOPES
from coldwright.store import Database, upgrade
from coldwright.store.keys import create_key

PATHS = sorted(document_of(Registry())["paths"])
EVERY = bool(os.environ.get("COLDWRIGHT_TEST_EVERY_CASE"))
ALL_OF = 50
"""Cases of one operation that the ordinary run sends before it begins to pass over some."""
DEEP = "/v1/calculators/hydronic/loop"
"""Its branches hold branches, for which a minute goes by before the first boundary case is made: random cases only."""


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


@pytest.fixture(scope="module")
def document() -> dict[str, Any]:
    return document_of(Registry())


@pytest.fixture(params=PATHS)
def operations(request: pytest.FixtureRequest, document: dict[str, Any]) -> schemathesis.BaseSchema:
    """The document with one address. Made when its test runs, not at collection: over 130,000 cases come of them all."""
    config = schemathesis.Config.from_path(str(Path(__file__).parent / "schemathesis.toml"))
    if request.param == DEEP and not EVERY:
        config.projects.default.phases.coverage.enabled = False
    alone = document | {"paths": {request.param: document["paths"][request.param]}}
    return schemathesis.openapi.from_dict(alone, config=config)


@pytest.fixture(scope="module")
def session() -> Iterator[requests.Session]:
    """One connection for all of them: made anew, it costs a third of each case."""
    with requests.Session() as kept:
        kept.cookies.set_policy(DefaultCookiePolicy(allowed_domains=()))  # nobody is to be signed in by an earlier case
        yield kept


@pytest.fixture
def boundary_cases() -> Counter[str]:
    """How many boundary cases of each operation there were so far."""
    return Counter()


def passed_over(case: schemathesis.Case, boundary_cases: Counter[str]) -> bool:
    """The first fifty boundary cases are sent, of the second fifty every second, of the next hundred every fourth, ..."""
    assert case.meta is not None
    if EVERY or case.meta.phase.name != "coverage":
        return False
    boundary_cases[case.operation.label] += 1
    number = boundary_cases[case.operation.label]
    return number % (1 << (number // ALL_OF).bit_length()) != 0


@schemathesis.pytest.from_fixture("operations").parametrize()
@hypothesis.settings(
    max_examples=int(os.environ.get("COLDWRIGHT_TEST_EXAMPLES", "10")),
    deadline=None,
    suppress_health_check=list(HealthCheck),
    derandomize=True,
)
def test_operation(
    case: schemathesis.Case,
    service: tuple[str, dict[str, str]],
    session: requests.Session,
    boundary_cases: Counter[str],
) -> None:
    if not passed_over(case, boundary_cases):
        url, headers = service
        case.call_and_validate(base_url=url, headers=headers, session=session)
