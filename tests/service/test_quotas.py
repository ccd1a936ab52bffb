"""How much may be asked: bodies, rates, requests at a time. Over the limit is a clear problem that says when to come back."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from keyed import Keyed, keyed_app

from coldwright.registry import Registry
from coldwright.service.http.limits import Limits
from coldwright.service.http.problems import ProblemRaised
from coldwright.service.settings import SettingError, Settings, from_environment, misspelt

SERVICE = "/v1/calculators/electrical/service"
JSON = {"content-type": "application/json"}


class Clock:
    """Time that stands still until it is moved."""

    def __init__(self) -> None:
        self.now = 1000.0

    def __call__(self) -> float:
        return self.now


def refused(limits: Limits, caller: str = "ann") -> ProblemRaised:
    with pytest.raises(ProblemRaised) as caught:
        limits.enter(caller)
    return caught.value


def test_a_quota_is_for_a_minute_and_for_each_key() -> None:
    clock = Clock()
    limits = Limits(Settings(requests_per_minute=3), clock)
    for _ in range(3):
        limits.enter("ann")
        limits.leave("ann")
    clock.now += 20
    problem = refused(limits)
    assert problem.kind.status == 429
    assert problem.headers["Retry-After"] == "40"
    assert limits.headers("ann") == {"RateLimit-Policy": '"minute";q=3;w=60', "RateLimit": '"minute";r=0;t=40'}
    limits.enter("bo")
    assert limits.headers("bo")["RateLimit"] == '"minute";r=2;t=60'
    clock.now += 40
    limits.enter("ann")
    assert limits.headers("ann")["RateLimit"] == '"minute";r=2;t=60'


def test_what_was_refused_is_not_counted_as_under_way() -> None:
    limits = Limits(Settings(concurrency=2))
    limits.enter("ann")
    limits.enter("ann")
    for _ in range(5):
        problem = refused(limits)
        assert problem.kind.slug == "overloaded"
        assert problem.headers["Retry-After"] == "1"
    limits.enter("bo")
    limits.leave("ann")
    limits.enter("ann")


def test_all_together_are_bounded_before_anybody_is_known() -> None:
    limits = Limits(Settings(total_concurrency=2))
    limits.arrive()
    limits.arrive()
    with pytest.raises(ProblemRaised) as caught:
        limits.arrive()
    assert caught.value.kind.slug == "overloaded"
    limits.depart()
    limits.arrive()


@pytest.fixture
def few(tmp_path: Path, registry: Registry) -> Iterator[Keyed]:
    sizes = {"largest_body": 5000, "largest_batch_body": 20_000}
    with keyed_app(tmp_path, registry, requests_per_minute=5, **sizes) as keyed:
        yield keyed


def test_over_http_the_quota_is_told_on_every_answer(few: Keyed) -> None:
    headers = few.key("acme")
    left = []
    for _ in range(5):
        reply = few.client.get("/v1/calculators", headers=headers)
        assert reply.status_code == 200
        assert reply.headers["ratelimit-policy"] == '"minute";q=5;w=60'
        left.append(reply.headers["ratelimit"].split(";")[1])
    assert left == ["r=4", "r=3", "r=2", "r=1", "r=0"]
    over = few.client.get("/v1/calculators", headers=headers)
    assert over.status_code == 429
    assert over.json()["type"] == "/problems/too-many-requests"
    assert 1 <= int(over.headers["retry-after"]) <= 60
    assert over.headers["ratelimit"].startswith('"minute";r=0;t=')
    assert few.client.get("/v1/calculators", headers=few.key("acme")).status_code == 200


def test_health_is_told_whatever_the_quota(few: Keyed) -> None:
    for _ in range(20):
        assert few.client.get("/health/live").status_code == 200
        assert few.client.get("/health/ready").status_code == 200
    assert few.client.get("/metrics").status_code == 200


@pytest.mark.parametrize(("address", "limit"), [(SERVICE, 5000), ("/v1/worksheets", 20_000)])
def test_a_body_is_held_to_its_limit(few: Keyed, address: str, limit: int) -> None:
    headers = few.key("acme") | JSON
    over = few.client.post(address, content=b" " * (limit + 1), headers=headers)
    assert over.status_code == 413
    assert over.json()["type"] == "/problems/too-large"
    assert str(limit) in over.json()["detail"]
    assert few.client.post(address, content=b" " * limit, headers=headers).status_code == 400

    def pieces() -> Iterator[bytes]:
        for _ in range(limit // 1000 + 1):
            yield b" " * 1000

    unannounced = few.client.post(address, content=pieces(), headers=headers)
    assert unannounced.status_code == 413


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("REQUIRE_KEYS", "maybe"),
        ("ENGINE", "fast"),
        ("WORKERS", "0"),
        ("WORKERS", "many"),
        ("EVALUATION_SECONDS", "-1"),
        ("EVALUATION_SECONDS", "nan"),
        ("CONCURRENCY", "0"),
        ("LOG_LEVEL", "loud"),
        ("OIDC_JWKS_URL", "https://identity.example/keys"),
    ],
)
def test_a_setting_that_cannot_be_read_is_named(name: str, value: str) -> None:
    with pytest.raises(SettingError, match=f"COLDWRIGHT_{name}"):
        from_environment({f"COLDWRIGHT_{name}": value})


def test_settings_are_read_as_people_write_them() -> None:
    read: dict[str, Any] = {}
    for text in ("1", "true", "YES", "on"):
        read[text] = from_environment({"COLDWRIGHT_REQUIRE_KEYS": text}).require_keys
    assert all(read.values())
    assert not from_environment({"COLDWRIGHT_REQUIRE_KEYS": "0"}).require_keys
    settings = from_environment({"COLDWRIGHT_ENGINE": "Inline", "COLDWRIGHT_WORKERS": "4", "PATH": "/bin"})
    assert (settings.engine, settings.workers) == ("inline", 4)
    assert misspelt({"COLDWRIGHT_REQUIRE_KEY": "1", "COLDWRIGHT_WORKERS": "4", "HOME": "/"}) == [
        "COLDWRIGHT_REQUIRE_KEY"
    ]
