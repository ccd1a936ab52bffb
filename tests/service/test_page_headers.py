"""Every page and drawing that the service sends may be looked at in a browser, and do nothing there.

Sources: W3C, Content Security Policy Level 3; RFC 7034 (X-Frame-Options); WHATWG Fetch (nosniff).
"""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import msgspec
import pytest
from keyed import Keyed, keyed_app
from startup_histories import CONFIGURATION

from coldwright.registry import Registry
from coldwright.service.app import all_endpoints

DEMO = Path(__file__).parents[2] / "deploy" / "demo"
SHOWN = ("text/html", "image/svg+xml")
POLICY = {
    "default-src": "'none'",
    "style-src": "'unsafe-inline'",
    "img-src": "data:",
    "base-uri": "'none'",
    "form-action": "'none'",
    "frame-ancestors": "'none'",
}


@pytest.fixture(scope="module")
def keyed(tmp_path_factory: pytest.TempPathFactory, registry: Registry) -> Iterator[Keyed]:
    with keyed_app(tmp_path_factory.mktemp("store"), registry) as keyed:
        yield keyed


@pytest.fixture(scope="module")
def addresses(keyed: Keyed, registry: Registry) -> dict[str, tuple[str, Any]]:
    """Of every address that can send a page or a drawing, one that does: its path, and the body where it takes one."""
    key = keyed.key("acme")
    order = msgspec.json.decode((DEMO / "order-comfort.json").read_bytes()) | {"reference": "B-1"}
    fleet = (DEMO / "fleet.json").read_bytes()
    as_json = key | {"content-type": "application/json"}
    kept = keyed.client.put(f"/v1/fleets/{order['fleet_id']}", content=fleet, headers=as_json)
    assert kept.status_code == 201, kept.text
    booked = keyed.client.put("/v1/bookings/B-1", json=order, headers=key)
    assert booked.status_code == 201, booked.text
    started = keyed.client.put("/v1/startups/one", json={"configuration": CONFIGURATION}, headers=key)
    assert started.status_code == 201, started.text
    digest = booked.json()["assessment"]["digest"]
    balance = registry.lookup("hydronic.heat_balance")
    sweep = {
        "calculator": balance.id,
        "given": balance.examples[0].given,
        "vary": [{"pointer": "/flow/value", "range": {"from": 100, "to": 200, "count": 3}}],
        "keep": ["/results/capacity/value"],
    }
    return {
        "GET /v1/bookings/{reference}": ("/v1/bookings/B-1", None),
        "GET /v1/bookings/{reference}/crew-sheet": ("/v1/bookings/B-1/crew-sheet", None),
        "GET /v1/bookings/{reference}/revisions/{revision}": ("/v1/bookings/B-1/revisions/1", None),
        "GET /v1/startups/{id}": ("/v1/startups/one", None),
        "GET /v1/records/{digest}": (f"/v1/records/{digest}", None),
        "POST /v1/sweeps": ("/v1/sweeps", sweep),
        "GET /openapi/v1.html": ("/openapi/v1.html", None),
    }


def pages(registry: Registry) -> dict[str, str]:
    """Every address that can send a page or a drawing, with its media type."""
    found = {}
    for endpoint in all_endpoints(registry):
        for reply in endpoint.replies.values():
            for media_type in {reply.media_type, *reply.other_media_types, *reply.other_types} & set(SHOWN):
                found[f"{endpoint.method} {endpoint.path}"] = media_type
    return found


def test_pages_and_drawings_may_do_nothing_in_a_browser(
    keyed: Keyed, registry: Registry, addresses: dict[str, tuple[str, Any]]
) -> None:
    declared = pages(registry)
    assert declared.keys() == addresses.keys(), "each that is declared is looked at"
    for address, media_type in declared.items():
        path, body = addresses[address]
        headers = keyed.key("acme") | {"accept": media_type}
        reply = keyed.client.request(address.split()[0], path, json=body, headers=headers)
        assert reply.status_code == 200, (address, reply.text)
        assert reply.headers["content-type"].startswith(media_type), address
        assert reply.headers["x-content-type-options"] == "nosniff", address
        assert reply.headers["x-frame-options"] == "DENY", address
        assert reply.headers["referrer-policy"] == "no-referrer", address
        policy = [part.split(maxsplit=1) for part in reply.headers["content-security-policy"].split(";")]
        assert dict(policy) == POLICY, address
        assert b"<script" not in reply.content, address
        assert len(reply.headers.get_list("content-security-policy")) == 1, address


def test_what_is_no_page_says_what_it_is_and_no_more(keyed: Keyed) -> None:
    key = keyed.key("acme")
    for path in ("/v1/calculators", "/health/live", "/metrics", "/v1/nowhere", "/problems", "/v1/bookings"):
        reply = keyed.client.get(path, headers=key)
        assert reply.headers["x-content-type-options"] == "nosniff", path
        assert "content-security-policy" not in reply.headers, path
