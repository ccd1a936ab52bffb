"""Every page and drawing that the service sends may be looked at in a browser, and do nothing there but what is ours.

Sources: W3C, Content Security Policy Level 3; RFC 7034 (X-Frame-Options); WHATWG Fetch (nosniff).
"""

import base64
import hashlib
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import msgspec
import pytest
from forms_of_pages import token_in
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
IN_USE = POLICY | {"script-src": "'self'", "connect-src": "'self'", "form-action": "'self'"}
"""Of pages that people use: our one script, our forms, nothing else; and the style that the page holds, by its hash."""
ONLY_SHOWN = ("POST /v1/sweeps", "GET /v1/records/{digest}")
"""A drawing, and a record as it was kept: nothing is done with them."""
SCRIPT = '<script src="/assets/page.js" defer></script>'


def style_named(page: str) -> str:
    """The hash of the one style of a page, as a policy names it (CSP 3, 2.3.1: of the text between the tags)."""
    (style,) = re.findall(r"<style>(.*?)</style>", page, re.DOTALL)
    return f"'sha256-{base64.b64encode(hashlib.sha256(style.encode()).digest()).decode()}'"


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
    # a form that says that nothing, or something wrong, was filled in is shown again
    empty = {"form_token": token_in(keyed.client.get("/orders/new", headers=key).text), "revision": "1"}
    door = {"form_token": token_in(keyed.client.get("/sign-in").text), "key": "not-a-key"}
    return {
        "GET /bench": ("/bench", None),
        "GET /bench/{family}/{name}": ("/bench/electrical/service", None),
        "POST /bench/{family}/{name}": ("/bench/electrical/service", empty | {"add": "/loads"}),
        "GET /yard": ("/yard", None),
        "GET /orders/new": ("/orders/new", None),
        "POST /orders/new": ("/orders/new", empty),
        "GET /sign-in": ("/sign-in", None),
        "POST /sign-in": ("/sign-in", door),
        "POST /sign-in/again": ("/sign-in/again", {"to": "/yard", "kept": "0%2Fkind=fill"}),
        "GET /v1/bookings/{reference}/answers": ("/v1/bookings/B-1/answers", None),
        "POST /v1/bookings/{reference}/answers": ("/v1/bookings/B-1/answers", empty),
        "POST /v1/startups/{id}/form": ("/v1/startups/one/form", empty),
        "GET /v1/startups": ("/v1/startups", None),
        "POST /sign-out": ("/sign-out", empty),
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


def test_pages_and_drawings_may_do_nothing_of_another_s_in_a_browser(
    keyed: Keyed, registry: Registry, addresses: dict[str, tuple[str, Any]]
) -> None:
    declared = pages(registry)
    assert declared.keys() == addresses.keys(), "each that is declared is looked at"
    for address, media_type in declared.items():
        path, body = addresses[address]
        headers = keyed.key("acme") | {"accept": media_type, "origin": "http://testserver.local"}
        form = address.startswith("POST") and media_type == "text/html"
        sent: dict[str, Any] = {"data": body} if form else {"json": body}
        reply = keyed.client.request(address.split()[0], path, headers=headers, follow_redirects=False, **sent)
        assert reply.headers["x-content-type-options"] == "nosniff", address
        if address == "POST /sign-out":
            assert (reply.status_code, reply.content) == (303, b""), (
                "it shows nothing, and goes on to the page to sign in"
            )
            continue
        assert reply.status_code in ((200, 401, 422) if form else (200,)), (address, reply.status_code, reply.text)
        assert reply.headers["content-type"].startswith(media_type), address
        assert reply.headers["x-frame-options"] == "DENY", address
        assert len(reply.headers.get_list("content-security-policy")) == 1, address
        policy = dict(part.split(maxsplit=1) for part in reply.headers["content-security-policy"].split(";"))
        text = re.sub(
            r'src="data:image/svg\+xml,[^"]*"', "", reply.text
        )  # a drawing in a page is an image, and runs nothing
        if address in ONLY_SHOWN:
            assert policy == POLICY, address
            assert "<script" not in text, address
            assert reply.headers["referrer-policy"] == "no-referrer", address
        else:
            assert policy == IN_USE | {"style-src": style_named(text)}, address
            assert text.count("<script") == text.count(SCRIPT) == 1, address
            assert reply.headers["referrer-policy"] in ("same-origin", "no-referrer"), address
            assert not re.search(r"<[^>]*\sstyle=", text), (
                address,
                "the policy lets no style in that is not in the hash",
            )
        assert not re.search(r"<[^>]*\son\w+=|javascript:", text), address


def test_what_is_no_page_says_what_it_is_and_no_more(keyed: Keyed) -> None:
    key = keyed.key("acme")
    for path in ("/v1/calculators", "/health/live", "/metrics", "/v1/nowhere", "/problems", "/v1/bookings"):
        reply = keyed.client.get(path, headers=key)
        assert reply.headers["x-content-type-options"] == "nosniff", path
        assert "content-security-policy" not in reply.headers, path
