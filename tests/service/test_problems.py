"""Every way of asking wrongly is told as a problem, by its type, and never as a fault of the service."""

import json
import re
from typing import Any

import pytest
from litestar import Litestar
from litestar.testing import TestClient

from coldwright.service.http.problems import KINDS

Client = TestClient[Litestar]
SERVICE = "/v1/calculators/electrical/service"
JSON = {"content-type": "application/json"}


@pytest.fixture(scope="module")
def good(client: Client) -> dict[str, Any]:
    document = client.get(SERVICE).json()
    given: dict[str, Any] = document["examples"][0]["given"]
    return given


def held(reply: Any, status: int, slug: str) -> dict[str, Any]:
    assert reply.status_code == status, reply.text[:300]
    assert reply.headers["content-type"].startswith("application/problem+json")
    problem: dict[str, Any] = reply.json()
    assert problem["type"] == f"/problems/{slug}"
    assert problem["status"] == status
    assert problem["title"]
    assert problem["detail"]
    assert problem["instance"].startswith("urn:trace:")
    return problem


@pytest.mark.parametrize(
    "body",
    [
        b"",
        b"{",
        b"\xff",
        b"nonsense",
        b'{"practice": NaN}',
        b'{"a": 1, "a": 2}',
        b"[" * 10_000,
        b'{"x":' * 10_000 + b"1" + b"}" * 10_000,
        b'{"practice": "\\ud800"}',
    ],
)
def test_what_is_not_json_is_400(client: Client, body: bytes) -> None:
    held(client.post(SERVICE, content=body, headers=JSON), 400, "not-json")


@pytest.mark.parametrize(
    ("encoding", "says"), [("utf-8-sig", "byte order mark"), ("utf-16", "UTF-16"), ("utf-32", "UTF-16")]
)
def test_another_encoding_is_named(client: Client, good: dict[str, Any], encoding: str, says: str) -> None:
    reply = client.post(SERVICE, content=json.dumps(good).encode(encoding), headers=JSON)
    assert says in held(reply, 400, "not-json")["detail"]


def test_what_does_not_fit_is_422_and_names_every_field(client: Client, good: dict[str, Any]) -> None:
    body = good | {"practice": "folk", "power_factor": 3, "colour": "red"}
    del body["machines"]
    problem = held(client.post(SERVICE, json=body), 422, "refused-input")
    by_pointer = {e["pointer"]: e for e in problem["errors"]}
    assert set(by_pointer) == {"#/practice", "#/power_factor", "#/colour", "#/machines"}
    assert by_pointer["#/practice"]["allowed"]["one_of"] == ["nec", "iec"]
    assert by_pointer["#/power_factor"]["value"] == 3
    assert by_pointer["#/power_factor"]["allowed"] == {"minimum": 0.5, "maximum": 1}
    assert by_pointer["#/machines"]["code"] == "missing"


@pytest.mark.parametrize("text", ["1e999", "-1e999", "1e308", "123456789" * 600])
def test_a_number_beyond_all_bounds_is_422(client: Client, good: dict[str, Any], text: str) -> None:
    body = json.dumps(good | {"power_factor": "HERE"}).replace('"HERE"', text)
    held(client.post(SERVICE, content=body.encode(), headers=JSON), 422, "refused-input")


def test_another_media_type_is_415(client: Client) -> None:
    for headers in ({"content-type": "text/plain"}, {"content-type": "application/xml"}, {}):
        held(client.post(SERVICE, content=b"{}", headers=headers), 415, "media-type-not-taken")


def test_where_nothing_is_sent_what_is_needed_is_named(client: Client) -> None:
    """At every address that takes JSON: nobody has to hear of a media type first."""
    document: dict[str, Any] = client.get("/openapi/v1.json").json()
    asked = 0
    for path, operations in document["paths"].items():
        for method in operations.keys() & {"put", "post"}:
            content = operations[method].get("requestBody", {}).get("content", {})
            if "application/json" not in content:
                continue
            name = content["application/json"]["schema"]["$ref"].rpartition("/")[2]
            needed = document["components"]["schemas"][name].get("required", [])
            reply = client.request(method, re.sub(r"\{[a-z]+\}", "a1", path))
            usual = (404, 422) if needed else (415,) if operations[method]["requestBody"]["required"] else (404,)
            assert reply.status_code in usual, (path, reply.text)
            if reply.status_code == 422:
                asked += 1
                errors = held(reply, 422, "refused-input")["errors"]
                assert {f"#/{field}" for field in needed} <= {e["pointer"] for e in errors}, (path, errors)
    assert asked > 40


def test_too_large_a_body_is_413(client: Client) -> None:
    for size in (1_100_000, 10_000_000, 20_000_000):
        held(client.post(SERVICE, content=b" " * size, headers=JSON), 413, "too-large")


def test_an_unknown_address_is_404_and_another_method_405(client: Client) -> None:
    held(client.get("/v1/nothing"), 404, "not-found")
    held(client.post("/v1/calculators/electrical/nothing", json={}), 404, "not-found")
    held(client.get("/v1/calculators/electrical/nothing"), 404, "not-found")
    reply = client.delete(SERVICE)
    held(reply, 405, "method-not-allowed")
    assert "POST" in reply.headers["allow"]


def test_unknown_units_are_refused(client: Client, good: dict[str, Any]) -> None:
    problem = held(client.post(f"{SERVICE}?units=furlongs", json=good), 422, "refused-input")
    assert problem["errors"][0]["pointer"] == "#/query/units"


def test_a_stop_is_an_answer(client: Client, good: dict[str, Any]) -> None:
    body = good | {"available": {"breaker_rating": {"value": 6000, "unit": "A"}}}
    reply = client.post(SERVICE, json=body)
    assert reply.status_code == 200
    assert reply.json()["outcome"] == "unacceptable"


def test_the_trace_of_the_caller_is_told_back(client: Client) -> None:
    trace = "4bf92f3577b34da6a3ce929d0e0e4736"
    reply = client.get("/v1/nothing", headers={"traceparent": f"00-{trace}-00f067aa0ba902b7-01"})
    assert reply.json()["instance"] == f"urn:trace:{trace}"


def test_every_type_answers_with_what_it_means(client: Client) -> None:
    listed = client.get("/problems").json()["problems"]
    assert {p["slug"] for p in listed} == set(KINDS)
    for slug, kind in KINDS.items():
        assert client.get(f"/problems/{slug}").json()["meaning"] == kind.meaning
    held(client.get("/problems/unheard-of"), 404, "not-found")


def test_us_and_metric_are_the_same_answer(client: Client, good: dict[str, Any]) -> None:
    metric = client.post(f"{SERVICE}?units=metric", json=good).json()
    us = client.post(f"{SERVICE}?units=us", json=good).json()
    assert metric["digest"] == us["digest"]
    assert metric["given"] == us["given"]


@pytest.mark.parametrize("name", ["If-Match", "If-None-Match"])
def test_a_condition_longer_than_the_document_says_is_refused(client: Client, name: str) -> None:
    schedule = {"daily_at": "05:30"}
    problem = held(client.put("/v1/schedules/tags", json=schedule, headers={name: "0" * 201}), 422, "refused-input")
    assert [e["pointer"] for e in problem["errors"]] == [f"#/header/{name}"]
    assert problem["errors"][0]["allowed"] == {"maximum": 200, "unit": "characters"}
    assert client.get("/v1/schedules/tags").status_code == 404


def test_a_parameter_shorter_than_the_document_says_is_refused(client: Client) -> None:
    problem = held(client.get("/v1/startups?machine="), 422, "refused-input")
    assert problem["errors"][0]["pointer"] == "#/query/machine"
    assert problem["errors"][0]["allowed"] == {"minimum": 1, "unit": "characters"}


def test_a_number_too_large_for_a_parameter_names_the_largest(client: Client) -> None:
    problem = held(client.get(f"/v1/events?after={2**53 + 1}"), 422, "refused-input")
    assert problem["errors"][0]["allowed"] == {"minimum": 0, "maximum": 2**53}
