"""How addresses answer what is not a request for them."""

import pytest
from litestar import Litestar
from litestar.exceptions import WebSocketException
from litestar.testing import TestClient

DIRECT, NAMED = "/v1/calculators/electrical/service", "/v1/calculators/electrical/service/majors/1"
"""One without parameters of the path, and one with."""


@pytest.mark.parametrize("address", [DIRECT, NAMED])
def test_another_method_is_refused_and_the_allowed_ones_are_named(client: TestClient[Litestar], address: str) -> None:
    reply = client.put(address, json={})
    assert reply.status_code == 405
    assert reply.json()["type"] == "/problems/method-not-allowed"
    assert {m.strip() for m in reply.headers["allow"].split(",")} == {"GET", "HEAD", "OPTIONS", "POST"}
    options = client.options(address)
    assert (options.status_code, options.content) == (204, b"")
    assert {m.strip() for m in options.headers["allow"].split(",")} == {"GET", "HEAD", "OPTIONS", "POST"}


@pytest.mark.parametrize("address", [DIRECT, NAMED])
def test_there_are_no_sockets_here(client: TestClient[Litestar], address: str) -> None:
    with pytest.raises(WebSocketException), client.websocket_connect(address):
        pass


@pytest.mark.parametrize("address", ["/v1/calculators", NAMED, "/health/live", "/v1/nothing"])
def test_head_says_what_get_would_and_sends_no_body(client: TestClient[Litestar], address: str) -> None:
    get, head = client.get(address), client.head(address)
    assert (head.status_code, head.content) == (get.status_code, b"")
    for name in ("content-type", "content-length", "etag"):
        assert head.headers.get(name) == get.headers.get(name)


def test_an_address_that_takes_no_get_takes_no_head(client: TestClient[Litestar]) -> None:
    assert client.head("/v1/worksheets").status_code == 405
