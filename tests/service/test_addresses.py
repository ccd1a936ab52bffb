"""How addresses answer what is not a request for them."""

import re
from collections.abc import Iterator

import pytest
from litestar import Litestar
from litestar.exceptions import WebSocketException
from litestar.testing import TestClient

from coldwright.registry import Registry
from coldwright.service.app import all_endpoints
from coldwright.service.http.endpoint import Endpoint

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


NAMES = [
    "%2e%2e",
    "a%2fb",
    "%00",
    "a%00b",
    "x" * 10_000,
    "%F0%9F%A7%8A",
    "%ff",
    "a b",
    "a%0ab",
    "'",
    '"',
    "<b>",
    "{id}",
    "-",
    "%",
]


@pytest.mark.parametrize("name", NAMES)
def test_a_name_that_nothing_can_have_is_refused_and_never_a_fault(client: TestClient[Litestar], name: str) -> None:
    for path in ("/v1/fleets/{}", "/v1/bookings/{}", "/v1/startups/{}", "/v1/calculators/site/{}", "/v1/records/{}"):
        for method in ("GET", "PUT"):
            reply = client.request(
                method, path.format(name), content=b"{}", headers={"content-type": "application/json"}
            )
            assert reply.status_code in (404, 405, 422), (method, path, reply.status_code)
            assert reply.headers["content-type"] == "application/problem+json"
    reply = client.get(f"/v1/startups/{name}/events")
    assert reply.status_code in (404, 422)


def test_slashes_that_name_nothing_are_none(client: TestClient[Litestar]) -> None:
    assert client.get("/v1/fleets/%2F").json() == client.get("/v1/fleets").json()
    assert client.put("/v1/fleets/%2F", json={}).status_code == 405


QUERIES = [
    "page_size=1&page_size=2",
    "page_size=-1",
    "page_size=1e3",
    "page_size=%00",
    "page_size=99999999999999999999",
    "page_token=" + "A" * 10_000,
    "page_token=%ff",
    "page_token=..%2f..",
    "from=2027-13-45",
    "from=2027-02-29",
    "from=20270101",
    "from=2027-W01-1",
    "to=%00",
    "site=%00",
    "site=" + "x" * 10_000,
    "outcome=fine",
    "nothing=1",
    "a%00b=1",
    "x" * 10_000 + "=1",
    "&".join(f"p{n}=1" for n in range(2_000)),
]


@pytest.mark.parametrize("query", QUERIES)
def test_a_query_that_means_nothing_is_refused_by_its_name(client: TestClient[Litestar], query: str) -> None:
    reply = client.get(f"/v1/bookings?{query}")
    assert reply.status_code == 422, reply.text[:200]
    errors = reply.json()["errors"]
    assert 1 <= len(errors) <= 50
    assert all(e["pointer"].startswith("#/query/") for e in errors)
    assert len(reply.content) < 40_000


def test_a_query_of_the_right_form_is_taken(client: TestClient[Litestar]) -> None:
    assert client.get("/v1/bookings?from=2028-02-29&to=2028-03-01&page_size=1&site=%C3%A5%20b").status_code == 200


def addresses(registry: Registry) -> Iterator[Endpoint]:
    """One of each kind: calculators are all alike."""
    for endpoint in all_endpoints(registry):
        if not endpoint.path.startswith("/v1/calculators/") or "electrical/service" in endpoint.path:
            yield endpoint


@pytest.mark.parametrize("name", NAMES, ids=range(len(NAMES)))
def test_no_name_in_any_address_is_a_fault(client: TestClient[Litestar], registry: Registry, name: str) -> None:
    asked = 0
    for endpoint in addresses(registry):
        for place in re.findall(r"{\w+}", endpoint.path):
            path = re.sub(r"{\w+}", "1", endpoint.path.replace(place, name))
            reply = client.request(endpoint.method, path, headers={"content-type": endpoint.body_media_types[0]})
            assert 400 <= reply.status_code < 500, (endpoint.method, path[:200], reply.status_code)
            asked += 1
    assert asked > 40


HOSTILE = ["%00", "a%0a", "x" * 10_000, "..%2f..%2fetc", "%ff%fe", "-1", "1e400", "{}", "%F0%9F%A7%8A"]


@pytest.mark.parametrize("value", HOSTILE, ids=range(len(HOSTILE)))
def test_no_value_in_any_query_is_a_fault(client: TestClient[Litestar], registry: Registry, value: str) -> None:
    asked = 0
    for endpoint in addresses(registry):
        if endpoint.method == "GET" and not endpoint.path.endswith("/events"):
            path = re.sub(r"{\w+}", "1", endpoint.path)
            refused = {404, 422} if "{" in endpoint.path else {422}  # a name that nothing can have comes first
            for name in endpoint.query_parameters:
                reply = client.get(f"{path}?{name}={value}")
                assert reply.status_code < 500, (path, name, reply.text[:200])
                if value in HOSTILE[:3]:
                    assert reply.status_code in refused, (path, name, reply.status_code)
                twice = client.get(f"{path}?{name}=1&{name}=1")
                assert twice.status_code in refused, (path, name, twice.status_code)
                asked += 1
    assert asked > 30
