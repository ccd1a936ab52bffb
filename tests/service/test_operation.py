"""Health, metrics, traces and logs: they tell the truth, and no more than may be told."""

import re
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import httpx
import pytest
from keyed import Keyed, keyed_app
from litestar import Litestar
from litestar.testing import TestClient
from opentelemetry.sdk.trace.export.in_memory_span_exporter import InMemorySpanExporter
from prometheus_client.parser import text_string_to_metric_families
from running import running
from startup_histories import CONFIGURATION, base

from coldwright.registry import Registry
from coldwright.service.app import create_app
from coldwright.service.settings import Settings
from coldwright.service.telemetry import Telemetry
from coldwright.store import Database, upgrade
from coldwright.store.keys import create_key
from coldwright.store.migrate import downgrade

Client = TestClient[Litestar]
SERVICE = "/v1/calculators/electrical/service"
TRACE = "4bf92f3577b34da6a3ce929d0e0e4736"
PARENT = f"00-{TRACE}-00f067aa0ba902b7-01"


@pytest.fixture
def keyed(tmp_path: Path, registry: Registry) -> Iterator[Keyed]:
    with keyed_app(tmp_path, registry) as made:
        yield made


def reasons(client: Client) -> tuple[int, list[str]]:
    reply = client.get("/health/ready")
    assert client.get("/health/live").status_code == 200
    if reply.status_code == 503:
        assert "retry-after" in reply.headers
    return reply.status_code, reply.json()["reasons"]


def test_ready_when_all_is_well(keyed: Keyed) -> None:
    assert reasons(keyed.client) == (200, [])
    assert keyed.client.get("/health/live").json()["status"] == "live"


def test_not_ready_while_the_store_does_not_answer(tmp_path: Path, registry: Registry) -> None:
    """The store's folder is changed for another in one step: what runs in the background never finds it empty."""
    kept, broken, folder = tmp_path / "kept", tmp_path / "broken", tmp_path / "folder"
    kept.mkdir()
    (broken / "store.sqlite3").mkdir(parents=True)

    def put(target: Path) -> None:
        (tmp_path / "next").symlink_to(target)
        (tmp_path / "next").replace(folder)

    put(kept)
    with keyed_app(folder, registry) as keyed:
        put(broken)
        keyed.let_go_of_the_store()
        assert reasons(keyed.client) == (503, ["the store does not answer"])
        put(kept)
        keyed.let_go_of_the_store()
        deadline = time.monotonic() + 30
        while reasons(keyed.client) != (200, []) and time.monotonic() < deadline:
            time.sleep(0.1)
        assert reasons(keyed.client) == (200, [])


def test_not_ready_with_another_schema(keyed: Keyed) -> None:
    downgrade(keyed.database, "base")
    assert reasons(keyed.client) == (503, ["the store has not the schema of this release"])
    upgrade(keyed.database)
    assert reasons(keyed.client) == (200, [])


def test_not_ready_without_a_required_plugin(tmp_path: Path, registry: Registry) -> None:
    with keyed_app(tmp_path, registry, required_plugins="electrical,ours") as keyed:
        status, why = reasons(keyed.client)
    assert status == 503
    assert len(why) == 1
    assert "ours" in why[0]


def test_not_ready_while_stopping(keyed: Keyed) -> None:
    keyed.client.app.state.services.stopping = True
    assert reasons(keyed.client) == (503, ["the service is stopping"])
    assert keyed.client.get("/v1/calculators", headers=keyed.key("acme")).status_code == 200


def samples(client: Client) -> dict[tuple[str, tuple[tuple[str, str], ...]], float]:
    reply = client.get("/metrics")
    assert reply.headers["content-type"].startswith("text/plain; version=0.0.4")
    return {
        (sample.name, tuple(sorted(sample.labels.items()))): sample.value
        for family in text_string_to_metric_families(reply.text)
        for sample in family.samples
    }


def test_metrics_count_what_happened(keyed: Keyed) -> None:
    headers = keyed.key("acme")
    given = keyed.client.get(SERVICE, headers=headers).json()["examples"][0]["given"]
    for _ in range(3):
        answer = keyed.client.post(SERVICE, json=given, headers=headers).json()
    keyed.client.post(SERVICE, json={}, headers=headers)
    keyed.client.get("/v1/fleets/none", headers=headers)
    keyed.client.get("/v1/fleets")
    found = samples(keyed.client)

    def value(name: str, **labels: str) -> float:
        return found[name, tuple(sorted(labels.items()))]

    assert value("coldwright_requests_total", operation="electricalService", status="200") == 3
    assert value("coldwright_requests_total", operation="electricalService", status="422") == 1
    assert value("coldwright_problems_total", problem="refused-input") == 1
    assert value("coldwright_problems_total", problem="not-found") == 1
    assert value("coldwright_problems_total", problem="key-missing") == 1
    assert value("coldwright_evaluation_seconds_count", calculator="electrical.service") == 3
    assert value("coldwright_outcomes_total", calculator="electrical.service", outcome=answer["outcome"]) == 3
    assert value("coldwright_plugins_set_aside") == 0


def test_labels_do_not_grow_with_what_callers_send(keyed: Keyed) -> None:
    headers = keyed.key("acme")
    keyed.client.get("/v1/fleets/warm", headers=headers)
    before = len(samples(keyed.client))
    for number in range(50):
        keyed.client.get(f"/v1/fleets/f{number}", headers=headers)
        keyed.client.get(f"/v1/calculators/none/n{number}", headers=headers)
        keyed.client.get(f"/nowhere/{number}", headers=headers)
    assert len(samples(keyed.client)) <= before + 6


@pytest.fixture
def traced(tmp_path: Path, registry: Registry) -> Iterator[tuple[Keyed, InMemorySpanExporter]]:
    exporter = InMemorySpanExporter()
    with keyed_app(tmp_path, registry) as keyed:
        keyed.client.app.state.services.telemetry = Telemetry(exporter)
        yield keyed, exporter


def test_a_span_tells_what_was_asked_and_what_came_of_it(traced: tuple[Keyed, InMemorySpanExporter]) -> None:
    keyed, exporter = traced
    headers = keyed.key("acme")
    keyed.client.get("/v1/fleets", headers=headers | {"traceparent": PARENT})
    [span] = exporter.get_finished_spans()
    assert span.name == "listFleets"
    assert format(span.context.trace_id, "032x") == TRACE
    assert span.parent
    assert span.attributes
    assert format(span.parent.span_id, "016x") == "00f067aa0ba902b7"
    assert dict(span.attributes) == {
        "http.request.method": "GET",
        "http.route": "/v1/fleets",
        "http.response.status_code": 200,
        "coldwright.operation": "listFleets",
        "coldwright.tenant": "acme",
    }


def test_a_problem_names_the_trace_of_its_span(traced: tuple[Keyed, InMemorySpanExporter]) -> None:
    keyed, exporter = traced
    reply = keyed.client.get("/v1/fleets/secret-name", headers=keyed.key("acme") | {"traceparent": "nonsense"})
    [span] = exporter.get_finished_spans()
    assert reply.json()["instance"] == f"urn:trace:{span.context.trace_id:032x}"
    assert span.attributes
    assert span.attributes["coldwright.problem"] == "not-found"
    assert "secret-name" not in span.to_json()


def test_traces_are_asked_for_by_a_setting(tmp_path: Path, registry: Registry) -> None:
    url = f"sqlite:///{tmp_path}/store.sqlite3"
    app = create_app(Settings(database_url=url, engine="inline", telemetry=True), registry)
    assert isinstance(app.state.services.telemetry, Telemetry)
    app.state.services.close()


PLANTED = "PlantedOrderText"


def test_the_log_of_a_day_holds_no_secret_and_nothing_of_an_order(tmp_path: Path) -> None:
    """Everything that a caller can send is sent, good and bad; at the usual level none of it may be in the log."""
    database = Database(f"sqlite:///{tmp_path}/coldwright.sqlite3")
    upgrade(database)
    key, secret = create_key(database, "acme", ("calculate", "book", "field", "fleet"))
    database.close()
    with running(tmp_path, {"engine": "inline"}) as service:
        headers = {"authorization": f"Bearer {secret}"}
        with httpx.Client(base_url=service.url, headers=headers, timeout=60) as client:
            statuses = [reply.status_code for reply in _a_day(client)]
    assert {200, 201, 400, 401, 404, 413, 415, 422} <= set(statuses)
    log = service.log.read_text()
    assert len(re.findall(r'"event": "request"', log)) >= len(statuses) - 2
    assert key.id in log
    for planted in (secret, secret.removeprefix("cwk_"), PLANTED, "WrongSecret"):
        assert planted not in log, log[max(0, log.find(planted) - 300) : log.find(planted) + 100]


def _a_day(client: httpx.Client) -> Iterator[Any]:
    order = client.get("/v1/calculators/booking/assessment").json()["examples"][0]["given"]
    order["site"] = order["site"] | {"name": PLANTED}
    fleet = client.get("/v1/calculators/booking/fleet_check").json()["examples"][0]["given"]["fleet"]
    yield client.put("/v1/bookings/r1", json=order | {"reference": "r1"})
    yield client.get("/v1/bookings/r1")
    yield client.get("/v1/bookings", params={"site": PLANTED})
    yield client.put("/v1/bookings/r1", json=order | {"reference": PLANTED})
    yield client.put("/v1/bookings/r2", json={"reference": "r2", PLANTED: PLANTED})
    yield client.put("/v1/fleets/yard", json=fleet | {"name": PLANTED})
    yield client.put("/v1/fleets/yard", json=fleet | {"name": PLANTED + "2"})
    yield client.put("/v1/startups/north", json={"configuration": CONFIGURATION, "machine": PLANTED})
    seen = [o | {"by": PLANTED} for o in base()]
    yield client.post("/v1/startups/north/observations", json={"observations": seen})
    yield client.get("/v1/startups/north")
    yield client.post("/v1/calculators/booking/assessment", json=order)
    yield client.post("/v1/calculators/booking/assessment", json=order | {"duty": PLANTED})
    yield client.post(
        "/v1/calculators/booking/assessment",
        content=b'{"' + PLANTED.encode(),
        headers={"content-type": "application/json"},
    )
    yield client.post("/v1/calculators/booking/assessment", content=PLANTED, headers={"content-type": "text/plain"})
    yield client.post(
        "/v1/calculators/booking/assessment",
        content=PLANTED.encode() * 100_000,
        headers={"content-type": "application/json"},
    )
    yield client.post("/v1/worksheets", json={"items": [{"id": PLANTED, "calculator": PLANTED, "given": {}}]})
    yield client.get(f"/v1/calculators/{PLANTED}/none")
    yield client.get("/v1/fleets", params={PLANTED: PLANTED})
    yield client.get("/v1/fleets", headers={"authorization": "Bearer cwk_WrongSecret"})
    yield client.get(f"/nowhere/{PLANTED}", headers={"traceparent": PARENT})
