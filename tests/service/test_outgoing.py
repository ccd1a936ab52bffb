"""What every answer has on its way out: names of the request, packing, what browsers may see, absolute problems."""

import gzip
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from keyed import Keyed, keyed_app
from litestar import Litestar
from litestar.testing import TestClient

from coldwright.registry import Registry
from coldwright.service.http.outgoing import WORTH_PACKING, takes_gzip
from coldwright.service.settings import SettingError, from_environment

Client = TestClient[Litestar]
SERVICE = "/v1/calculators/electrical/service"
TRACE = "4bf92f3577b34da6a3ce929d0e0e4736"


@pytest.fixture(scope="module")
def good(client: Client) -> dict[str, Any]:
    given: dict[str, Any] = client.get(SERVICE).json()["examples"][0]["given"]
    return given


def every_kind(client: Client, headers: dict[str, str], good: dict[str, Any]) -> list[Any]:
    etag = client.get(SERVICE).headers["etag"]
    return [
        client.get("/health/live", headers=headers),
        client.get(SERVICE, headers=headers),
        client.get(SERVICE, headers=headers | {"if-none-match": etag}),
        client.post(SERVICE, json=good, headers=headers),
        client.post(SERVICE, json={}, headers=headers),
        client.post(SERVICE, content=b"{", headers=headers | {"content-type": "application/json"}),
        client.get("/v1/nowhere", headers=headers),
        client.delete(SERVICE, headers=headers),
        client.options(SERVICE, headers=headers),
        client.head(SERVICE, headers=headers),
    ]


def test_every_answer_names_its_request(client: Client, good: dict[str, Any]) -> None:
    sent = {"x-request-id": "order-17/try.2", "traceparent": f"00-{TRACE}-00f067aa0ba902b7-01"}
    replies = every_kind(client, sent, good)
    assert [r.status_code for r in replies] == [200, 200, 304, 200, 422, 400, 404, 405, 204, 200]
    for reply in replies:
        assert reply.headers["x-request-id"] == "order-17/try.2"
        version, trace, span, flags = reply.headers["traceparent"].split("-")
        assert (version, trace, flags) == ("00", TRACE, "01")
        assert len(span) == 16
        assert span not in ("0" * 16, "00f067aa0ba902b7")


def test_without_an_id_of_its_own_a_request_is_named_by_its_trace(client: Client) -> None:
    for sent in ({}, {"x-request-id": "two words"}, {"x-request-id": "x" * 129}):
        reply = client.get("/v1/nowhere", headers=sent)
        trace = reply.headers["traceparent"].split("-")[1]
        assert reply.headers["x-request-id"] == trace
        assert reply.json()["instance"] == f"urn:trace:{trace}"


def test_long_answers_are_packed_for_whoever_takes_it(client: Client) -> None:
    plain = client.get(SERVICE, headers={"accept-encoding": "identity"})
    packed = client.get(SERVICE, headers={"accept-encoding": "br, gzip;q=0.5"})
    assert "content-encoding" not in plain.headers
    assert packed.headers["content-encoding"] == "gzip"
    assert int(packed.headers["content-length"]) < len(plain.content) / 2
    assert packed.content == plain.content
    for reply in (plain, packed):
        assert "Accept-Encoding" in reply.headers["vary"]
    assert packed.headers["etag"] == f"W/{plain.headers['etag']}"
    again = client.get(SERVICE, headers={"accept-encoding": "gzip", "if-none-match": packed.headers["etag"]})
    assert (again.status_code, again.content) == (304, b"")


def test_short_answers_are_sent_as_they_are(client: Client) -> None:
    reply = client.get("/health/live", headers={"accept-encoding": "gzip"})
    assert len(reply.content) < WORTH_PACKING
    assert "content-encoding" not in reply.headers


def test_packing_is_the_same_each_time() -> None:
    from coldwright.service.http.outgoing import gzip as packed

    assert packed(b"a" * 5000) == packed(b"a" * 5000)
    assert gzip.decompress(packed(b"plan " * 999)) == b"plan " * 999


@pytest.mark.parametrize(
    ("header", "taken"),
    [
        (None, False),
        ("", False),
        ("gzip", True),
        ("GZIP, deflate", True),
        ("gzip;q=0", False),
        ("gzip; q=0.000", False),
        ("gzip;q=0.001", True),
        ("*", True),
        ("*;q=0", False),
        ("*, gzip;q=0", False),
        ("br", False),
        ("identity", False),
    ],
)
def test_gzip_is_sent_only_to_whoever_takes_it(header: str | None, taken: bool) -> None:
    assert takes_gzip(header) == taken


ORIGIN = "https://orders.example.com"


@pytest.fixture(scope="module")
def abroad(tmp_path_factory: pytest.TempPathFactory, registry: Registry) -> Iterator[Keyed]:
    folder: Path = tmp_path_factory.mktemp("store")
    url = "https://plans.example.com/chillers"
    with keyed_app(folder, registry, cors_origins=f"{ORIGIN}, https://field.example.com", public_url=url) as keyed:
        yield keyed


def test_browsers_may_call_from_the_origins_that_are_named(abroad: Keyed) -> None:
    ask = {"origin": ORIGIN, "access-control-request-method": "PUT", "access-control-request-headers": "if-match"}
    told = abroad.client.options("/v1/fleets/yard", headers=ask)
    assert told.status_code == 204
    assert told.headers["access-control-allow-origin"] == ORIGIN
    assert "PUT" in told.headers["access-control-allow-methods"]
    assert "access-control-allow-credentials" not in told.headers
    reply = abroad.client.get("/v1/fleets/yard", headers=abroad.key("acme") | {"origin": ORIGIN})
    assert reply.status_code == 404
    assert reply.headers["access-control-allow-origin"] == ORIGIN
    assert "etag" in reply.headers["access-control-expose-headers"].lower()
    assert {"Origin", "Accept"} <= {name.strip() for name in reply.headers["vary"].split(",")}


def test_browsers_may_not_call_from_elsewhere(abroad: Keyed, client: Client) -> None:
    ask = {"origin": "https://elsewhere.example.com", "access-control-request-method": "GET"}
    told = abroad.client.options("/v1/fleets", headers=ask)
    assert told.status_code == 403
    assert told.headers["content-type"] == "application/problem+json"
    assert told.json()["type"].endswith("/problems/origin-not-allowed")
    assert "https://elsewhere.example.com" in told.json()["detail"]
    assert not [name for name in told.headers if name.startswith("access-control")]
    reply = abroad.client.get("/health/live", headers=ask)
    assert "access-control-allow-origin" not in reply.headers
    reply = client.get("/health/live", headers={"origin": ORIGIN})
    assert not [name for name in reply.headers if name.startswith("access-control")]


@pytest.mark.parametrize(
    ("header", "value", "named"),
    [
        ("access-control-request-method", "TRACE", "'TRACE'"),
        ("access-control-request-headers", "if-match, x-other", "x-other"),
    ],
)
def test_a_browser_is_told_what_it_may_not_send(abroad: Keyed, header: str, value: str, named: str) -> None:
    ask = {"origin": ORIGIN, "access-control-request-method": "GET"} | {header: value}
    told = abroad.client.options("/v1/fleets", headers=ask)
    assert (told.status_code, named in told.json()["detail"]) == (403, True)


def test_problems_are_absolute_where_the_service_knows_its_address(abroad: Keyed) -> None:
    key = abroad.key("acme")
    base = "https://plans.example.com/chillers/problems"
    assert abroad.client.get("/v1/nowhere").json()["type"] == f"{base}/not-found"
    sheet = {"items": [{"id": "a", "calculator": "no.such", "given": {}}]}
    (item,) = abroad.client.post("/v1/worksheets", json=sheet, headers=key).json()["items"]
    assert item["problem"]["type"] == f"{base}/not-found"


@pytest.mark.parametrize("url", ["plans.example.com", "ftp://x", "https://", "https://x/?a=1", "https://[::1"])
def test_a_public_address_that_is_none_is_refused(url: str) -> None:
    with pytest.raises(SettingError, match="COLDWRIGHT_PUBLIC_URL"):
        from_environment({"COLDWRIGHT_PUBLIC_URL": url})
    assert from_environment({"COLDWRIGHT_PUBLIC_URL": "https://x/y/"}).public_url == "https://x/y"
