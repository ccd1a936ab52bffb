"""How addresses answer what is not a request for them."""

from typing import cast

import pytest
from litestar import Litestar
from litestar.exceptions import WebSocketException
from litestar.testing import TestClient
from litestar.types import HTTPScope

from coldwright.service.incoming import header_in, headers_of

DIRECT, NAMED = "/v1/calculators/electrical/service", "/v1/calculators/electrical/service/majors/1"
"""One that the framework hands over as it comes, and one with parameters of the path."""


@pytest.mark.parametrize("address", [DIRECT, NAMED])
def test_another_method_is_refused_and_the_allowed_ones_are_named(client: TestClient[Litestar], address: str) -> None:
    reply = client.put(address, json={})
    assert reply.status_code == 405
    assert reply.json()["type"] == "/problems/method-not-allowed"
    assert {m.strip() for m in reply.headers["allow"].split(",")} == {"GET", "OPTIONS", "POST"}
    options = client.options(address)
    assert (options.status_code, options.content) == (204, b"")
    assert {m.strip() for m in options.headers["allow"].split(",")} == {"GET", "OPTIONS", "POST"}


@pytest.mark.parametrize("address", [DIRECT, NAMED])
def test_there_are_no_sockets_here(client: TestClient[Litestar], address: str) -> None:
    with pytest.raises(WebSocketException), client.websocket_connect(address):
        pass


def test_the_first_of_two_headers_counts() -> None:
    sent = [(b"traceparent", b"first"), (b"accept", b"*/*"), (b"traceparent", b"second")]
    headers = headers_of(cast(HTTPScope, {"headers": sent}))
    assert header_in(headers, b"traceparent") == "first"
    assert header_in(headers, b"authorization") is None
