"""The OpenAPI document: valid, complete, and free of what trips generated clients."""

import json
from collections.abc import Iterator
from typing import Any

import pytest
from litestar import Litestar
from litestar.routes import ASGIRoute
from litestar.testing import TestClient
from openapi_spec_validator import OpenAPIV31SpecValidator

from coldwright.contract.quantities import InsulationResistance
from coldwright.contract.reading import read
from coldwright.registry import Registry
from coldwright.service.app import all_endpoints

Document = dict[str, Any]


@pytest.fixture(scope="module")
def document(client: TestClient[Litestar]) -> Document:
    decoded: Document = client.get("/openapi/v1.json").json()
    return decoded


def schemas(node: Any, path: str = "") -> Iterator[tuple[str, dict[str, Any]]]:
    """Every schema object below a component, with where it stands."""
    if not isinstance(node, dict):
        return
    yield path, node
    for name, child in node.get("properties", {}).items():
        yield from schemas(child, f"{path}/{name}")
    for key in ("items", "additionalProperties"):
        yield from schemas(node.get(key), f"{path}/{key}")
    for key in ("anyOf", "oneOf", "allOf", "prefixItems"):
        for index, child in enumerate(node.get(key) or ()):
            yield from schemas(child, f"{path}/{key}/{index}")


def every_schema(document: Document) -> list[tuple[str, dict[str, Any]]]:
    return [found for name, schema in document["components"]["schemas"].items() for found in schemas(schema, name)]


def test_it_is_valid_openapi_3_1(document: Document) -> None:
    OpenAPIV31SpecValidator(document).validate()
    assert document["openapi"] == "3.1.0"


def test_nothing_is_nullable(document: Document) -> None:
    bad = [p for p, s in every_schema(document) if s.get("type") == "null" or "null" in (s.get("type") or [])]
    assert not bad


def test_every_number_is_bounded_and_formatted(document: Document) -> None:
    bad = [
        path
        for path, s in every_schema(document)
        if s.get("type") in ("number", "integer")
        and "enum" not in s
        and not (
            ("minimum" in s or "exclusiveMinimum" in s)
            and ("maximum" in s or "exclusiveMaximum" in s)
            and "format" in s
        )
    ]
    assert not bad


def test_every_text_and_list_is_bounded(document: Document) -> None:
    texts = [
        p
        for p, s in every_schema(document)
        if s.get("type") == "string"
        and not {"maxLength", "enum", "const"} & s.keys()
        and s.get("format") not in ("date", "date-time")  # which bound themselves
    ]
    lists = [p for p, s in every_schema(document) if s.get("type") == "array" and "maxItems" not in s]
    assert not texts
    assert not lists


def test_days_and_instants_say_nothing_beside_their_format(document: Document) -> None:
    """A generator makes a type of its own of them, and warns of what that type does not take."""
    times = [(p, s) for p, s in every_schema(document) if s.get("format") in ("date", "date-time")]
    assert len(times) > 100
    assert not [p for p, s in times if {"maxLength", "minLength", "pattern"} & s.keys()]


def test_every_component_and_field_is_described(document: Document) -> None:
    components = document["components"]["schemas"]
    bare = [name for name, s in components.items() if not s.get("description")]
    bare += [
        f"{name}/{field}"
        for name, s in components.items()
        for field, p in s.get("properties", {}).items()
        if not p.get("description")
    ]
    assert not bare


def test_nothing_trips_a_generator_of_clients(document: Document) -> None:
    """What five of them stopped at: lists without one schema for their items, enumerations without a type, words that
    differ by case alone, and defaults that are objects with lists."""
    found = every_schema(document)
    lists = [
        p for p, s in found if s.get("type") == "array" and ("prefixItems" in s or not isinstance(s.get("items"), dict))
    ]
    words = [(p, s["enum"]) for p, s in found if "enum" in s]
    untyped = [p for p, s in found if "enum" in s and s.get("type") not in ("string", "integer")]
    alike = [p for p, enum in words if len({str(w).lower() for w in enum}) < len(enum)]
    defaults = [p for p, s in found if isinstance(s.get("default"), dict) and "[" in json.dumps(s["default"])]
    assert not lists
    assert not untyped
    assert not alike
    assert not defaults
    assert any("megohm" in enum for _, enum in words)


def test_what_is_taken_and_not_published_stays_taken() -> None:
    kind = InsulationResistance
    assert {"Mohm", "megohm"} <= kind.units.keys()
    assert read(kind, b'{"value": 5, "unit": "Mohm"}').si == read(kind, b'{"value": 5, "unit": "megohm"}').si == 5e6


def test_instants_and_days_say_so(document: Document) -> None:
    bare = [
        f"{name}/{field}"
        for name, s in document["components"]["schemas"].items()
        for field, p in s.get("properties", {}).items()
        if p.get("type") == "string" and field.endswith("_at") and "RFC 3339" in p["description"] and "format" not in p
    ]
    assert not [path for path in bare if not path.startswith("Site")]


def test_answers_that_have_a_tag_say_so(document: Document, client: TestClient[Litestar]) -> None:
    """Every address that can be asked without a name, and each kind of document."""
    for path, item in document["paths"].items():
        if "get" in item and "{" not in path and path != "/metrics":
            told = "ETag" in item["get"]["responses"]["200"].get("headers", {})
            assert told == ("etag" in client.get(path).headers), path
    for path in ("/v1/fleets/{id}", "/v1/bookings/{reference}", "/v1/startups/{id}"):
        for method, status in (("get", "200"), ("put", "200"), ("put", "201"), ("get", "304")):
            assert "ETag" in document["paths"][path][method]["responses"][status]["headers"], (path, method)


def test_no_object_is_anonymous(document: Document) -> None:
    bad = [
        path
        for path, s in every_schema(document)
        if "/" in path and s.get("type") == "object" and "additionalProperties" not in s
    ]
    assert not bad


def test_requests_close_their_objects(document: Document) -> None:
    components = document["components"]["schemas"]
    seen: set[str] = set()

    def visit(ref: str) -> None:
        name = ref.rpartition("/")[2]
        if name in seen:
            return
        seen.add(name)
        for _, schema in schemas(components[name]):
            if "$ref" in schema:
                visit(schema["$ref"])

    for item in document["paths"].values():
        for operation in item.values():
            for media in operation.get("requestBody", {}).get("content", {}).values():
                if "$ref" in media["schema"]:
                    visit(media["schema"]["$ref"])
    assert seen
    assert not [
        n
        for n in seen
        if components[n].get("type") == "object" and components[n].get("additionalProperties") is not False
    ]


def test_operation_ids_are_unique_and_described(document: Document) -> None:
    operations = [o for item in document["paths"].values() for o in item.values()]
    ids = [o["operationId"] for o in operations]
    assert len(ids) == len(set(ids))
    assert all(o["summary"] and o["description"] for o in operations)


def test_every_calculator_is_an_operation_with_examples_that_run(
    document: Document, client: TestClient[Litestar]
) -> None:
    calculators = client.get("/v1/calculators?page_size=1000").json()["calculators"]
    assert len(calculators) >= 30
    for entry in calculators:
        operation = document["paths"][entry["href"]]["post"]
        examples = operation["requestBody"]["content"]["application/json"]["examples"]
        assert examples, entry["id"]
        for name, example in examples.items():
            reply = client.post(entry["href"], json=example["value"])
            assert reply.status_code == 200, (entry["id"], name, reply.text[:500])
            harmless = ("booking.change", "booking.fleet_check", "readiness.start_forms")
            assert reply.json()["cautions"] or entry["id"] in harmless, entry["id"]


def test_what_is_documented_is_what_is_routed(document: Document, app: Litestar, registry: Registry) -> None:
    routed = {
        (method, r.path_format)
        for r in app.routes
        for method in (r.route_handler.opt["methods"] if isinstance(r, ASGIRoute) else r.methods)
        if method not in ("OPTIONS", "HEAD")
    }
    documented = {(m.upper(), p) for p, item in document["paths"].items() for m in item}
    any_calculator = "/v1/calculators/{family}/{name}"
    hidden = {(m, p) for m in ("GET", "POST") for p in (any_calculator, any_calculator + "/majors/{major}")}
    hidden.add(("GET", "/"))
    hidden |= {(e.method, e.path) for e in all_endpoints(registry) if e.tag == "people"}  # pages, for browsers
    assert routed - hidden == documented


def test_the_page_loads_nothing_from_elsewhere(client: TestClient[Litestar]) -> None:
    reply = client.get("/openapi/v1.html")
    assert reply.headers["content-type"].startswith("text/html")
    assert "default-src 'none'" in reply.headers["content-security-policy"]
    for outside in ("<link", "@import", "url(", 'src="http', 'src="//'):
        assert outside not in reply.text
