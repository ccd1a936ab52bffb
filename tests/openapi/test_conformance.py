"""Every operation of the document, called with what the document allows and with what it does not."""

import os
from collections.abc import Iterator
from http.cookiejar import DefaultCookiePolicy
from itertools import islice
from pathlib import Path
from typing import Any

import hypothesis
import pytest
import requests
import schemathesis
from hypothesis import HealthCheck
from running import running
from schemathesis.specs.openapi.schemas import OpenApiSchema

from coldwright.registry import Registry
from coldwright.service.app import document_of
from coldwright.service.http.callers import ALL_SCOPES
from coldwright.store import Database, upgrade
from coldwright.store.keys import create_key

PATHS = sorted(document_of(Registry())["paths"])
EVERY = bool(os.environ.get("COLDWRIGHT_TEST_EVERY_CASE"))
ALL_OF = 50
"""Boundary cases of one operation that the ordinary run sends before it begins to pass over some."""
MOST_MADE = 1000
"""Boundary cases of one operation that it makes: a fleet alone comes to ten thousand, most of them of structs that other
operations have too, and to make one costs more than to send it."""
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


def some_of(cases: Iterator[schemathesis.Case]) -> Iterator[schemathesis.Case]:
    """The first fifty, of the next fifty every second, of the next hundred every fourth, ... of the first thousand."""
    for number, case in enumerate(islice(cases, MOST_MADE), 1):
        if number % (1 << (number // ALL_OF).bit_length()) == 0:
            yield case


@pytest.fixture(params=PATHS)
def operations(
    request: pytest.FixtureRequest, document: dict[str, Any], monkeypatch: pytest.MonkeyPatch
) -> schemathesis.BaseSchema:
    """The document with one address. Made when its test runs, not at collection: over 130,000 cases come of them all."""
    config = schemathesis.Config.from_path(str(Path(__file__).parent / "schemathesis.toml"))
    if not EVERY:
        config.projects.default.phases.coverage.enabled = request.param != DEEP
        every = OpenApiSchema.iter_coverage_cases
        monkeypatch.setattr(OpenApiSchema, "iter_coverage_cases", lambda *a, **options: some_of(every(*a, **options)))
    alone = document | {"paths": {request.param: document["paths"][request.param]}}
    return schemathesis.openapi.from_dict(alone, config=config)


@pytest.fixture(scope="module")
def session() -> Iterator[requests.Session]:
    """One connection for all of them: made anew, it costs a third of each case."""
    with requests.Session() as kept:
        kept.cookies.set_policy(DefaultCookiePolicy(allowed_domains=()))  # nobody is to be signed in by an earlier case
        yield kept


@schemathesis.pytest.from_fixture("operations").parametrize()
@hypothesis.settings(
    max_examples=int(os.environ.get("COLDWRIGHT_TEST_EXAMPLES", "10")),
    deadline=None,
    suppress_health_check=list(HealthCheck),
    derandomize=True,
)
def test_operation(case: schemathesis.Case, service: tuple[str, dict[str, str]], session: requests.Session) -> None:
    url, headers = service
    case.call_and_validate(base_url=url, headers=headers, session=session)
