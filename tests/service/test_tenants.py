"""Nothing crosses tenants: what is another's is not there, cannot be changed, and is in nobody's way."""

import json
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from forms_of_pages import token_in
from hypothesis import given, settings
from hypothesis import strategies as st
from keyed import Keyed, guarded_endpoints, keyed_app, send
from startup_histories import CONFIGURATION, base

from coldwright.registry import Registry
from coldwright.service.http.endpoint import Endpoint

SERVICE = "/v1/calculators/electrical/service"
NAMES = st.from_regex(r"[A-Za-z0-9][A-Za-z0-9_.-]{0,99}", fullmatch=True)
Headers = dict[str, str]


@pytest.fixture(scope="module")
def keyed(tmp_path_factory: pytest.TempPathFactory, registry: Registry) -> Iterator[Keyed]:
    with keyed_app(tmp_path_factory.mktemp("tenants"), registry) as made:
        yield made


@pytest.fixture(scope="module")
def ours(keyed: Keyed) -> Headers:
    return keyed.key("acme")


@pytest.fixture(scope="module")
def theirs(keyed: Keyed) -> Headers:
    return keyed.key("acme2")


def example(keyed: Keyed, headers: Headers, calculator: str) -> dict[str, Any]:
    described = keyed.client.get(f"/v1/calculators/{calculator.replace('.', '/')}", headers=headers).json()
    found: dict[str, Any] = described["examples"][0]["given"]
    return found


def made(keyed: Keyed, headers: Headers, name: str) -> dict[str, dict[str, str]]:
    """One of everything that a tenant can keep; returns what fills the paths below each address."""
    client = keyed.client
    order = example(keyed, headers, "booking.assessment") | {"reference": name}
    fleet = example(keyed, headers, "booking.fleet_check")["fleet"]
    assert client.put(f"/v1/bookings/{name}", json=order, headers=headers).status_code == 201
    assert client.put(f"/v1/fleets/{name}", json=fleet, headers=headers).status_code == 201
    assert client.put(f"/v1/startups/{name}", json={"configuration": CONFIGURATION}, headers=headers).status_code == 201
    observed = client.post(f"/v1/startups/{name}/observations", json={"observations": base()}, headers=headers)
    assert observed.json()["kept"] == len(base())
    body = example(keyed, headers, "electrical.service") | {"power_factor": 0.6 + len(name) / 1000}
    kept = client.post(f"{SERVICE}?record=true", json=body, headers=headers)
    assert kept.status_code == 200
    wanted = {"calculator": "electrical.service", "items": [{"id": "a", "given": body}]}
    job = client.post("/v1/jobs", json=wanted, headers=headers)
    assert job.status_code == 202
    key = client.post("/v1/keys", json={"scopes": ["book"], "name": name}, headers=headers)
    assert key.status_code == 201
    machine = {"type": fleet["machines"][0]["type"]}
    assert client.put(f"/v1/fleets/{name}/machines/{name}", json=machine, headers=headers).status_code == 201
    webhook = {"url": "https://orders.example.com/events"}
    assert client.put(f"/v1/webhooks/{name}", json=webhook, headers=headers).status_code == 201
    assert client.put(f"/v1/forecasts/{name}", json=FORECAST, headers=headers).status_code == 201
    assert client.put(f"/v1/schedules/{name}", json={"daily_at": "05:30"}, headers=headers).status_code == 201
    return {
        "webhooks": {"id": name},
        "forecasts": {"id": name},
        "schedules": {"id": name},
        "keys": {"id": key.json()["key"]["id"]},
        "jobs": {"id": job.json()["id"]},
        "bookings": {"reference": name, "revision": "1"},
        "fleets": {"id": name, "serial": name},
        "startups": {"id": name},
        "records": {"digest": kept.json()["digest"]},
    }


FORECAST = {
    "places": [
        {
            "site": "Pump station",
            "hours": [{"at": "2027-06-01T15:00:00+00:00", "temperature": {"value": 31, "unit": "degC"}}],
        }
    ]
}
"""Invented."""
BODIES: dict[str, Any] = {
    "addObservations": {"observations": base()[:1]},
    "cancelBooking": {"reason": "Invented."},
    "replayWebhook": {"after": 0},
}
NOT_KEPT = {"calculators", "tables", "worksheets", "sweeps", "limits", "references", "plugins", "bench"}
"""Addresses below these hold nothing of anybody's."""
OF_THE_CALLER = {"quotas", "orders", "sign-out"}
"""Addresses below these name nothing that is kept: they answer whoever asks of themselves, or take a new order."""


def resource_of(endpoint: Endpoint) -> str:
    """The word of its path that says what it is of: the first of a page, the one after the version of the API."""
    steps = endpoint.path.removeprefix("/v1").split("/")
    return steps[1]


def asked_at(keyed: Keyed, endpoint: Endpoint, path: str, headers: Headers) -> Any:
    """The reply to what a program sends, or to what a browser sends from a form that was shown to this caller."""
    if not endpoint.form:
        body = BODIES.get(endpoint.operation_id, {})
        return keyed.client.request(endpoint.method, path, json=body, headers=headers)
    token = token_in(keyed.client.get("/orders/new", headers=headers).text)
    sent = {"form_token": token, "revision": "1"}
    return keyed.client.request(endpoint.method, path, data=sent, headers=headers, follow_redirects=False)


def test_what_is_another_s_is_not_there_at_any_address(
    keyed: Keyed, registry: Registry, ours: Headers, theirs: Headers
) -> None:
    there = made(keyed, ours, "of-ours")
    asked = 0
    for endpoint in guarded_endpoints(registry):
        resource = resource_of(endpoint)
        if resource in NOT_KEPT or "{" not in endpoint.path or endpoint.method == "PUT":
            continue
        assert resource in there, f"{resource} keeps rows: say here how one is made"
        path = endpoint.path.format_map(there[resource])
        reply = asked_at(keyed, endpoint, path, theirs)
        assert reply.status_code == 404, (endpoint.method, endpoint.path)
        assert reply.json()["type"] == "/problems/not-found"
        if endpoint.operation_id != "streamVerdicts":
            status = asked_at(keyed, endpoint, path, ours).status_code
            if endpoint.form:  # it is there, and the page says that nothing was filled in
                assert status == 422, path
            else:
                # by then its booking has gone through every other door, and has nothing left to cancel
                assert status == 409 if endpoint.operation_id == "cancelBooking" else status < 300, path
        asked += 1
    assert asked >= 10


def test_what_is_another_s_is_in_no_list(keyed: Keyed, registry: Registry, ours: Headers, theirs: Headers) -> None:
    names = made(keyed, ours, "in-our-list")
    stranger = keyed.key("somebody")
    for endpoint in guarded_endpoints(registry):
        resource = resource_of(endpoint)
        if any(p.required for p in endpoint.parameters):  # it names something: see below
            continue
        if endpoint.method == "GET" and resource not in NOT_KEPT | OF_THE_CALLER and "{" not in endpoint.path:
            if endpoint.replies[200].media_type == "text/html":
                assert "in-our-list" in send(keyed.client, endpoint, ours).text, endpoint.path
                assert "in-our-list" not in send(keyed.client, endpoint, stranger).text, endpoint.path
                continue
            mine = send(keyed.client, endpoint, ours).json()
            others = send(keyed.client, endpoint, stranger).json()
            name = names["jobs"]["id"] if resource == "jobs" else "in-our-list"  # a job is named by the service
            assert name in json.dumps(mine)
            assert name not in json.dumps(others)
            if resource != "keys":  # of which the stranger has its own
                assert next(iter(others.values())) == [], endpoint.path
    free = "/v1/availability?fleet=in-our-list&from=2027-06-01&to=2027-06-02"
    assert keyed.client.get(free, headers=ours).status_code == 200
    assert keyed.client.get(free, headers=stranger).status_code == 404


PUT: dict[str, Callable[[Keyed, Headers, str, int], Any]] = {
    "fleets": lambda k, h, n, v: k.client.put(
        f"/v1/fleets/{n}", json=example(k, h, "booking.fleet_check")["fleet"] | {"name": f"v{v}"}, headers=h
    ),
    "startups": lambda k, h, n, v: k.client.put(
        f"/v1/startups/{n}", json={"configuration": CONFIGURATION, "machine": f"v{v}"}, headers=h
    ),
    "bookings": lambda k, h, n, v: k.client.put(
        f"/v1/bookings/{n}", json=example(k, h, "booking.assessment") | {"reference": n, "note": f"v{v}"}, headers=h
    ),
}


@pytest.mark.parametrize("resource", ["fleets", "startups"])
@settings(max_examples=40)
@given(name=NAMES)
def test_the_same_name_is_nobody_s_collision(
    resource: str, keyed: Keyed, ours: Headers, theirs: Headers, name: str
) -> None:
    first = PUT[resource](keyed, ours, name, 1)
    second = PUT[resource](keyed, theirs, name, 2)
    assert first.status_code in (200, 201)
    assert second.status_code in (200, 201)
    changed = PUT[resource](keyed, theirs, name, 3)
    assert changed.status_code == 428
    # the other's tag opens nothing, and a change of theirs leaves ours as it was
    tag = second.headers["etag"]
    assert keyed.client.get(f"/v1/{resource}/{name}", headers=ours).status_code == 200
    assert PUT[resource](keyed, ours, name, 1).headers["etag"] == first.headers["etag"]
    assert first.headers["etag"] != tag


def test_the_same_reference_is_nobody_s_collision(keyed: Keyed, ours: Headers, theirs: Headers) -> None:
    order = example(keyed, ours, "booking.assessment")
    for headers in (ours, theirs):
        reply = keyed.client.put("/v1/bookings/shared", json=order | {"reference": "shared"}, headers=headers)
        assert reply.status_code == 201
        assert reply.json()["revision"] == 1


def test_keys_of_one_tenant_share_what_it_keeps(keyed: Keyed, ours: Headers) -> None:
    PUT["fleets"](keyed, ours, "shared-yard", 1)
    assert keyed.client.get("/v1/fleets/shared-yard", headers=keyed.key("acme")).status_code == 200


def test_a_digest_alone_opens_no_record(keyed: Keyed, ours: Headers, theirs: Headers) -> None:
    """The same question has the same digest everywhere; only who kept it can read what was kept."""
    body = example(keyed, ours, "electrical.service") | {"power_factor": 0.911}
    digest = keyed.client.post(f"{SERVICE}?record=true", json=body, headers=ours).json()["digest"]
    assert keyed.client.post(SERVICE, json=body, headers=theirs).json()["digest"] == digest
    assert keyed.client.get(f"/v1/records/{digest}", headers=theirs).status_code == 404
    keyed.client.post(f"{SERVICE}?record=true", json=body, headers=theirs)
    assert keyed.client.get(f"/v1/records/{digest}", headers=theirs).status_code == 200
