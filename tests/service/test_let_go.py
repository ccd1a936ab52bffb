"""Whatever a request comes to, nothing of it is left: what waits for the collector of cycles may hold a body of 16 MB."""

import gc
import time
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from keyed import Keyed, keyed_app

from coldwright.registry import Registry
from coldwright.service.http.visit import Visit

SERVICE, JSON = "/v1/calculators/electrical/service", {"content-type": "application/json"}
WORKSHEET = {
    "items": [{"id": "a", "calculator": "no.such", "given": {}}, {"id": "b", "calculator": "site.lift", "given": {}}]
}
Ask = Callable[[Keyed, dict[str, str]], int]


def _ask(method: str, path: str, **sent: Any) -> Ask:
    def ask(keyed: Keyed, headers: dict[str, str]) -> int:
        own = sent.get("headers", {})
        return keyed.client.request(method, path, **(sent | {"headers": headers | own})).status_code

    return ask


def _over_quota(keyed: Keyed, headers: dict[str, str]) -> int:
    few = keyed.key("few")
    while (status := keyed.client.post("/v1/worksheets", json=WORKSHEET, headers=few).status_code) == 200:
        pass
    return status


ASKED: dict[str, tuple[Ask, int]] = {
    "an answer": (_ask("GET", "/v1/calculators"), 200),
    "refused": (_ask("POST", SERVICE, json={}), 422),
    "not JSON": (_ask("POST", SERVICE, content=b"{", headers=JSON), 400),
    "long and not JSON": (_ask("PUT", "/v1/fleets/a", content=b" " * 200_000, headers=JSON), 400),
    "long and refused": (_ask("PUT", "/v1/fleets/a", content=b"{}" + b" " * 200_000, headers=JSON), 422),
    "too many values": (_ask("PUT", "/v1/fleets/a", content=b"[" * 600_000, headers=JSON), 413),
    "too long": (_ask("POST", SERVICE, content=b" " * 1_100_000, headers=JSON), 413),
    "another media type": (_ask("POST", SERVICE, content=b"{}"), 415),
    "not there": (_ask("GET", "/v1/fleets/a"), 404),
    "nowhere": (_ask("GET", "/v1/nowhere"), 404),
    "a key nobody made": (_ask("GET", "/v1/fleets", headers={"authorization": "Bearer cw_nobody"}), 401),
    "no such calculator in a worksheet": (_ask("POST", "/v1/worksheets", json=WORKSHEET), 200),
    "a session that ended": (
        _ask("POST", "/orders/new", data={"a": "b"}, headers={"authorization": "", "cookie": "coldwright_session=x"}),
        401,
    ),
    "over the quota": (_over_quota, 429),
}


@pytest.fixture(scope="module")
def keyed(tmp_path_factory: pytest.TempPathFactory, registry: Registry) -> Iterator[Keyed]:
    with keyed_app(tmp_path_factory.mktemp("store"), registry, requests_per_minute=30) as made:
        yield made


@pytest.mark.parametrize("what", ASKED)
def test_nothing_is_left_for_the_collector(keyed: Keyed, what: str) -> None:
    ask, expected = ASKED[what]
    headers = keyed.key("acme")
    gc.collect()
    of_others = visits()
    gc.disable()
    try:
        assert [ask(keyed, headers) for _ in range(3)] == [expected] * 3
        until = time.monotonic() + 20  # a thread lets go of its work a moment after the answer
        while (left := len(visits()) - len(of_others)) > 0 and time.monotonic() < until:
            time.sleep(0.05)
    finally:
        gc.enable()
    assert left <= 0


def visits() -> list[Visit]:
    """Of every request that anything still holds."""
    return [found for found in gc.get_objects() if type(found) is Visit]
