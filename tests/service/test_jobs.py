"""Jobs: many evaluations that outlive the request, and the process. All data are invented."""

import contextlib
import copy
import csv
import io
import json
import threading
import time
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

import httpx
import pytest
from databases import migrated
from invented_calculators import registry_with_invented
from keyed import keyed_app
from litestar import Litestar
from litestar.testing import TestClient
from running import RunningService, running

from coldwright.bulk.cutting import ITEMS
from coldwright.contract import Load
from coldwright.contract.answer import Units
from coldwright.engine import Batch, Engine
from coldwright.registry import Registry, Served
from coldwright.service.app import create_app
from coldwright.service.jobs import selecting
from coldwright.service.settings import Settings

Client = TestClient[Litestar] | httpx.Client
Body = dict[str, Any]


def doubles(count: int) -> Body:
    items = [{"id": f"n{n}", "given": {"length": {"value": n / 100, "unit": "m"}}} for n in range(count)]
    return {"calculator": "invented.doubled", "items": items}


def created(client: Client, body: Body, query: str = "", **headers: str) -> Body:
    named = {name.replace("_", "-"): value for name, value in headers.items()}
    reply = client.post(f"/v1/jobs{query}", json=body, headers=named)
    assert reply.status_code == 202, reply.text
    job: Body = reply.json()
    assert reply.headers["location"] == f"/v1/jobs/{job['id']}"
    return job


def ended(client: Client, job: Body, seconds: float = 180) -> Body:
    deadline = time.monotonic() + seconds
    seen = 0
    while time.monotonic() < deadline:
        status: Body = client.get(f"/v1/jobs/{job['id']}").json()
        assert seen <= status["done"] <= status["total"]
        seen = status["done"]
        if "finished_at" in status:
            return status
        time.sleep(0.05)
    raise AssertionError(f"the job does not end: {status}")


def results(client: Client, job: Body, size: int = 200) -> list[Body]:
    found: list[Body] = []
    query = f"?page_size={size}"
    while True:
        reply = client.get(f"/v1/jobs/{job['id']}/results{query}")
        assert reply.status_code == 200, reply.text
        page = reply.json()
        assert len(page["results"]) <= size
        found += page["results"]
        if "next_page_token" not in page:
            return found
        query = f"?page_size={size}&page_token={page['next_page_token']}"


def refusal(client: Client, body: Body, **headers: str) -> list[Body]:
    named = {name.replace("_", "-"): value for name, value in headers.items()}
    reply = client.post("/v1/jobs", json=body, headers=named)
    assert reply.status_code == 422, reply.text
    errors: list[Body] = reply.json()["errors"]
    return errors


def test_every_item_is_answered_as_if_asked_alone(invented: Client) -> None:
    job = created(invented, doubles(45), "?units=us")
    assert (job["total"], job["calculator"]) == (45, "invented.doubled")
    status = ended(invented, job)
    assert (status["state"], status["done"], status["answered"], status["failed"]) == ("succeeded", 45, 45, 0)
    found = results(invented, job, size=7)
    assert [r["id"] for r in found] == [f"n{n}" for n in range(45)]
    items = [i | {"calculator": "invented.doubled"} for i in doubles(45)["items"]]
    alone = invented.post("/v1/worksheets?units=us", json={"items": items})
    assert [r["answer"] for r in found] == [i["answer"] for i in alone.json()["items"]]


def test_a_job_says_how_many_items_have_no_answer(invented: Client) -> None:
    modes = ("wave", "gap", "defect", "surprise", "wave")
    items = [{"id": f"{n}", "given": {"x": 0.35, "mode": m}} for n, m in enumerate(modes)]
    job = created(invented, {"calculator": "invented.wave@1", "items": [*items, {"id": "last", "given": {"y": 1}}]})
    status = ended(invented, job)
    assert (status["state"], status["done"]) == ("succeeded_with_failures", 6)
    assert (status["answered"], status["failed"], status["refused"]) == (2, 4, 4)
    found = results(invented, job)
    assert [r["status"] for r in found] == [200, 422, 500, 500, 200, 422]
    assert all(("answer" in r) != ("problem" in r) for r in found)
    assert {e["pointer"] for e in found[-1]["problem"]["errors"]} == {"#/x", "#/y"}
    assert found[1]["problem"]["status"] == 422


def test_a_job_without_an_answer_has_failed(invented: Client) -> None:
    job = created(invented, {"calculator": "invented.wave", "items": [{"id": "a", "given": {}}]})
    status = ended(invented, job)
    assert (status["state"], status["answered"], status["failed"]) == ("failed", 0, 1)


def test_the_end_of_a_job_is_an_event(invented: Client) -> None:
    job = created(invented, doubles(2))
    ended(invented, job)
    (event,) = invented.get(f"/v1/events?kind=job.done&subject={job['id']}").json()["events"]
    expected = {"state": "succeeded", "calculator": "invented.doubled", "total": 2, "answered": 2, "failed": 0}
    assert event["data"] == expected


def test_what_waits_is_among_the_numbers(tmp_path: Path) -> None:
    settings = Settings(database_url=migrated(tmp_path / "store.sqlite3"), engine="inline")
    with TestClient(create_app(settings, registry_with_invented()), raise_server_exceptions=False) as client:
        example = client.get("/v1/calculators/hydronic/loop").json()["examples"][0]["given"]
        items = [{"id": str(n), "given": example} for n in range(2000)]
        job = created(client, {"calculator": "hydronic.loop", "items": items})
        page = client.get("/metrics").text
        assert 'coldwright_job_chunks_waiting{calculator="hydronic.loop",tenant="local"}' in page
        client.delete(f"/v1/jobs/{job['id']}")
        page = client.get("/metrics").text
        assert "coldwright_job_chunks_waiting{" not in page
        done = created(client, doubles(3))
        ended(client, done)
        assert (
            'coldwright_job_items_total{calculator="invented.doubled",outcome="acceptable",tenant="local"} 3.0'
            in client.get("/metrics").text
        )


def test_jobs_are_listed_the_newest_first(invented: Client) -> None:
    made = [created(invented, doubles(1))["id"] for _ in range(3)]
    listed: list[str] = []
    query = "?page_size=2"
    while len(listed) < 3:
        page = invented.get(f"/v1/jobs{query}").json()
        assert len(page["jobs"]) <= 2
        listed += [job["id"] for job in page["jobs"]]
        query = f"?page_size=2&page_token={page.get('next_page_token')}"
    assert listed[:3] == made[::-1]
    assert invented.get("/v1/jobs?page_token=eA==").status_code == 422


def test_one_key_makes_one_job(invented: Client) -> None:
    first = created(invented, doubles(3), idempotency_key="once")
    assert created(invented, doubles(3), idempotency_key="once")["id"] == first["id"]
    assert created(invented, doubles(3), idempotency_key='"once"')["id"] == first["id"]
    ended(invented, first)
    assert created(invented, doubles(3), idempotency_key="once")["id"] == first["id"]
    for body, query in ((doubles(4), ""), (doubles(3), "?units=us")):
        reply = invented.post(f"/v1/jobs{query}", json=body, headers={"idempotency-key": "once"})
        assert (reply.status_code, reply.json()["errors"][0]["code"]) == (422, "repeated")
    assert created(invented, doubles(3), idempotency_key="twice")["id"] != first["id"]
    assert created(invented, doubles(3))["id"] != created(invented, doubles(3))["id"]


@pytest.mark.parametrize("key", ["", "two words", "x" * 201, '""'])
def test_a_key_that_is_none_is_refused(invented: Client, key: str) -> None:
    assert refusal(invented, doubles(1), idempotency_key=key)[0]["pointer"] == "#/header/Idempotency-Key"


def test_what_cannot_run_is_refused(invented: Client) -> None:
    many = doubles(2)
    assert refusal(invented, {"items": many["items"]})[0]["pointer"] == "#/calculator"
    assert refusal(invented, {"calculator": "invented.doubled"})[0]["code"] == "either_or"
    assert refusal(invented, many | {"bookings": {}})[0]["code"] == "either_or"
    assert refusal(invented, {"calculator": "invented.doubled", "bookings": {}})[0]["pointer"] == "#/calculator"
    assert refusal(invented, many | {"items": [many["items"][0]] * 2})[0]["pointer"] == "#/items/1/id"
    assert refusal(invented, many | {"items": []})[0]["pointer"] == "#/items"
    assert refusal(invented, {"bookings": {"from": "1999-01-01", "to": "1999-01-02"}})[0]["code"] == "nothing_there"
    assert refusal(invented, many | {"keep": "changes"})[0]["pointer"] == "#/keep"
    assert refusal(invented, many | {"keep": []})[0]["pointer"] == "#/keep"
    assert invented.post("/v1/jobs", json=many | {"calculator": "no.such"}).status_code == 404
    assert invented.get(f"/v1/jobs/{'0' * 24}").status_code == 404
    assert invented.get("/v1/jobs/x").status_code == 404


def test_tokens_of_other_lists_are_refused(invented: Client) -> None:
    job = created(invented, doubles(1))
    for token in ("eA==", "%25", "LTE="):
        assert invented.get(f"/v1/jobs/{job['id']}/results?page_token={token}").status_code == 422


def test_a_cancelled_job_keeps_what_is_done_and_does_no_more(invented: Client) -> None:
    slow: dict[str, Any] = {"calculator": "electrical.feeder", "items": []}
    example = invented.get("/v1/calculators/electrical/feeder").json()["examples"][0]["given"]
    slow["keep"] = ["/outcome"]
    slow["items"] = [{"id": str(n), "given": example} for n in range(9000)]
    job = created(invented, slow)
    while not invented.get(f"/v1/jobs/{job['id']}").json()["done"]:
        time.sleep(0.02)
    cancelled = invented.delete(f"/v1/jobs/{job['id']}").json()
    assert cancelled["state"] == "cancelled"
    assert 0 < cancelled["done"] < 9000
    assert "finished_at" in cancelled
    ended(invented, created(invented, doubles(1)))  # whoever worked on it is free for others
    after = invented.get(f"/v1/jobs/{job['id']}").json()
    assert after == cancelled
    assert len(results(invented, job, size=1000)) == after["done"]
    assert invented.delete(f"/v1/jobs/{job['id']}").json() == after
    done = created(invented, doubles(1))
    succeeded = ended(invented, done)
    assert invented.delete(f"/v1/jobs/{done['id']}").json() == succeeded


def test_after_a_cancel_no_further_chunk_is_begun(
    tmp_path: Path, registry: Registry, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What is under way is ended by no signal: it ends by itself after a second of work at most, and is not kept."""
    asked, reached, go_on = list[int](), threading.Event(), threading.Event()
    evaluate_many = Engine.evaluate_many

    def held_up(engine: Engine, served: Served, bodies: Sequence[bytes], units: Units) -> Batch:
        if served.calculator.id == "electrical.service":
            asked.append(len(bodies))
            if len(asked) == 3:
                reached.set()
                assert go_on.wait(60)
        return evaluate_many(engine, served, bodies, units)

    monkeypatch.setattr(Engine, "evaluate_many", held_up)
    monkeypatch.setitem(ITEMS, Load.LIGHT, 50)
    settings = Settings(database_url=migrated(tmp_path / "store.sqlite3"), engine="inline", job_workers=1)
    with TestClient(create_app(settings, registry), raise_server_exceptions=False) as client:
        example = client.get("/v1/calculators/electrical/service").json()["examples"][0]["given"]
        items = [{"id": str(n), "given": example} for n in range(500)]
        job = created(client, {"calculator": "electrical.service", "keep": ["/outcome"], "items": items})
        assert reached.wait(60)
        cancelled = client.delete(f"/v1/jobs/{job['id']}").json()
        go_on.set()
        other = client.get("/v1/calculators/electrical/feeder").json()["examples"][0]["given"]
        after = {"calculator": "electrical.feeder", "items": [{"id": "a", "given": other}]}
        assert ended(client, created(client, after))["state"] == "succeeded"
        assert client.get(f"/v1/jobs/{job['id']}").json() == cancelled
    assert len(asked) == 3
    assert cancelled["state"] == "cancelled"
    assert 0 < cancelled["done"] <= sum(asked[:2])


def test_no_job_is_seen_by_another_tenant(tmp_path: Path) -> None:
    with keyed_app(tmp_path, registry_with_invented()) as keyed:
        client, ours, theirs = keyed.client, keyed.key("ours"), keyed.key("theirs")
        job = created(client, doubles(2), idempotency_key="k", **ours)
        other = created(client, doubles(3), idempotency_key="k", **theirs)
        assert job["id"] != other["id"]
        assert [j["id"] for j in client.get("/v1/jobs", headers=theirs).json()["jobs"]] == [other["id"]]
        for method, path in (("GET", ""), ("GET", "/results"), ("DELETE", "")):
            assert client.request(method, f"/v1/jobs/{job['id']}{path}", headers=theirs).status_code == 404
            assert client.request(method, f"/v1/jobs/{job['id']}{path}", headers=ours).status_code == 200


# --- the whole book of hires under another sky ------------------------------------------------------------------------


@pytest.fixture(scope="module")
def booked(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Client, Body]]:
    """Three kept orders of June and one of August, on a stored fleet; and the order that they are made of."""
    from orders import order

    path = tmp_path_factory.mktemp("jobs")
    settings = Settings(database_url=migrated(path / "store.sqlite3"), engine="inline")
    with TestClient(create_app(settings), raise_server_exceptions=False) as client:
        document = order()
        assert client.put("/v1/fleets/yard", json=document.pop("fleet")).status_code == 201
        document["fleet_id"] = "yard"
        for number, month in enumerate(("06", "06", "06", "08")):
            body = copy.deepcopy(document) | {"reference": f"J-{number}"}
            body["period"] = {"from": f"2027-{month}-1{number}", "to": f"2027-{month}-2{number}"}
            body["duty"]["load"] = {"value": 40 + 5 * number, "unit": "kW"}
            assert client.put(f"/v1/bookings/J-{number}", json=body).status_code == 201
        yield client, document


def test_a_heat_wave_over_the_orders_of_a_period(booked: tuple[Client, Body]) -> None:
    client, _ = booked
    hot = {"value": 43, "unit": "degC"}
    wave = {
        "from": "2027-06-01",
        "to": "2027-06-30",
        "change": [{"pointer": "/site/design_ambient_temperature", "value": hot}],
    }
    job = created(client, {"bookings": wave})
    assert (job["total"], job["calculator"]) == (3, "booking.assessment")
    ended(client, job)
    found = results(client, job)
    assert [r["id"] for r in found] == ["J-0", "J-1", "J-2"]
    for result in found:
        kept = client.get(f"/v1/bookings/{result['id']}").json()["assessment"]
        given = copy.deepcopy(kept["given"])
        given["site"]["design_ambient_temperature"] = hot
        alone = client.post("/v1/calculators/booking/assessment", json=given)
        assert result["answer"] == alone.json()
        assert result["answer"]["digest"] != kept["digest"]


def test_without_a_change_the_kept_answers_come_again(booked: tuple[Client, Body]) -> None:
    client, _ = booked
    job = created(client, {"bookings": {}})
    ended(client, job)
    found = results(client, job)
    assert [r["id"] for r in found] == ["J-0", "J-1", "J-2", "J-3"]
    for result in found:
        assert result["answer"] == client.get(f"/v1/bookings/{result['id']}").json()["assessment"]


def test_a_change_that_leads_nowhere_is_refused_with_the_order(booked: tuple[Client, Body]) -> None:
    client, _ = booked
    (error,) = refusal(client, {"bookings": {"change": [{"pointer": "/weather/sun", "value": 1}]}})
    assert error["pointer"] == "#/bookings/change/0/pointer"
    assert "J-0" in error["detail"]


HOT = {"site": {"design_ambient_temperature": {"value": 60, "unit": "degC"}}}


def test_a_heat_wave_names_the_orders_that_no_longer_hold(booked: tuple[Client, Body]) -> None:
    client, _ = booked
    for ambient, hold in (({}, True), (HOT, False)):
        job = created(
            client, {"bookings": {"from": "2027-06-01", "to": "2027-06-30", "override": ambient}, "keep": "changes"}
        )
        status = ended(client, job)
        assert status["done"] == 3
        found = results(client, job, size=2)
        if hold:
            assert found == []
            continue
        assert found, "no order minds 60 degC"
        for result in found:
            kept = client.get(f"/v1/bookings/{result['id']}").json()["assessment"]
            given = copy.deepcopy(kept["given"])
            given["site"]["design_ambient_temperature"] = HOT["site"]["design_ambient_temperature"]
            alone = client.post("/v1/calculators/booking/assessment", json=given)
            if alone.status_code != 200:
                assert result["status"] == alone.status_code
                continue
            change, then = result["change"], alone.json()
            assert (change["before"]["outcome"], change["after"]["outcome"]) == (kept["outcome"], then["outcome"])
            assert {f["code"] for f in change["new_findings"]} <= {f["code"] for f in then["findings"]}
            assert all(f["do"] for f in change["new_findings"])


def test_another_fleet_is_put_in_when_its_turn_comes(booked: tuple[Client, Body]) -> None:
    client, document = booked
    fleet = client.get("/v1/fleets/yard").json()
    assert client.put("/v1/fleets/empty", json=empty_of(fleet)).status_code == 201
    job = created(client, {"bookings": {"state": "held", "override": {"fleet_id": "empty"}}, "keep": "changes"})
    assert ended(client, job)["total"] == 4
    found = results(client, job)
    assert {r["change"]["after"]["outcome"] for r in found} == {"unacceptable"}
    orders = [
        {"id": "named", "given": document | {"reference": "N-1"}},
        {"id": "nowhere", "given": document | {"reference": "N-2", "fleet_id": "none"}},
        {"id": "hostile", "given": document | {"reference": "N-4", "fleet_id": "a\u0000b"}},
        {"id": "hostile too", "given": document | {"reference": "N\u0000", "period": {"from": "\u0000", "to": "x"}}},
        {"id": "both", "given": document | {"reference": "N-3", "fleet": {}}},
    ]
    job = created(client, {"calculator": "booking.assessment", "items": orders, "keep": ["/outcome", "/results/none"]})
    assert ended(client, job)["state"] == "succeeded_with_failures"
    named, nowhere, hostile, too, both = results(client, job)
    assert named["kept"] == {"/outcome": named["outcome"]}
    assert "answer" not in named
    pointers = [[e["pointer"] for e in r["problem"]["errors"]] for r in (nowhere, hostile, both)]
    assert pointers == [["#/fleet_id"], ["#/fleet_id"], ["#/fleet"]]
    assert {e["pointer"] for e in too["problem"]["errors"]} >= {"#/period/from", "#/period/to"}


def empty_of(fleet: Body) -> Body:
    document: Body = fleet.get("fleet", fleet)
    kept = {k: v for k, v in document.items() if k in ("machines", "accessories")}
    return {name: [row | {"count": 0} for row in rows] for name, rows in kept.items()}


def test_a_selection_is_read_in_pages(booked: tuple[Client, Body], monkeypatch: pytest.MonkeyPatch) -> None:
    client, _ = booked
    monkeypatch.setattr(selecting, "AT_A_TIME", 1)
    wanted = {"bookings": {"state": "held"}, "keep": ["/outcome"]}
    job = created(client, wanted, idempotency_key="pages")
    assert (job["total"], ended(client, job)["answered"]) == (4, 4)
    assert [r["id"] for r in results(client, job)] == ["J-0", "J-1", "J-2", "J-3"]
    assert created(client, wanted, idempotency_key="pages")["id"] == job["id"]
    many = {"bookings": {"state": "held", "change": [{"pointer": "/no/such", "value": 1}]}}
    before = client.get("/v1/jobs").json()
    assert refusal(client, many)[0]["code"] == "no_such_place"
    assert client.get("/v1/jobs").json() == before


@pytest.mark.parametrize(
    ("selection", "count"),
    [
        ({"state": "held"}, 4),
        ({"site": "no such site"}, 0),
        ({"fleet": "yard", "to": "2027-06-15"}, 3),
        ({"machine_type": "x"}, 0),
    ],
)
def test_orders_are_selected_as_lists_are(booked: tuple[Client, Body], selection: Body, count: int) -> None:
    client, _ = booked
    if count == 0:
        assert refusal(client, {"bookings": selection})[0]["code"] == "nothing_there"
    else:
        job = created(client, {"bookings": selection, "keep": ["/outcome"]})
        assert job["total"] == count
        ended(client, job)


def test_results_as_lines_and_as_a_table(invented: Client) -> None:
    items = [{"id": f"n{n}", "given": {"length": {"value": n, "unit": "m"}}} for n in range(230)]
    items += [{"id": "=1+1", "given": {"length": {"value": -1, "unit": "m"}}}]
    job = created(invented, {"calculator": "invented.doubled", "items": items, "keep": ["/results/doubled"]})
    ended(invented, job)
    paged = results(invented, job)
    lines = invented.get(f"/v1/jobs/{job['id']}/results", headers={"accept": "application/x-ndjson"})
    assert [json.loads(line) for line in lines.text.splitlines()] == paged
    table = invented.get(f"/v1/jobs/{job['id']}/results", headers={"accept": "text/csv"})
    rows = list(csv.reader(io.StringIO(table.text)))
    assert rows[0] == ["id", "status", "outcome", "/results/doubled", "problem"]
    assert rows[2] == ["n1", "200", "acceptable", "2.0 m", ""]
    assert (len(rows), rows[-1][0], rows[-1][1]) == (232, "'=1+1", "422")
    assert invented.get(f"/v1/jobs/{job['id']}/results", headers={"accept": "image/png"}).status_code == 406


# --- restarts of the service as it runs in earnest --------------------------------------------------------------------


@contextlib.contextmanager
def started(folder: Path) -> Iterator[tuple[RunningService, httpx.Client]]:
    with running(folder, {"log_level": "warning"}) as service, httpx.Client(base_url=service.url, timeout=30) as client:
        yield service, client


@pytest.mark.parametrize("end", ["stop", "kill"])
def test_a_restart_in_the_middle_loses_and_doubles_nothing(tmp_path: Path, end: str) -> None:
    with started(tmp_path) as (service, client):
        example = client.get("/v1/calculators/hydronic/loop").json()["examples"][0]["given"]
        items = [{"id": str(n), "given": example} for n in range(2400)]
        job = created(client, {"calculator": "hydronic.loop", "items": items})
        while not (before := client.get(f"/v1/jobs/{job['id']}").json())["done"]:
            time.sleep(0.02)
        assert before["state"] == "running"
        if end == "stop":
            assert service.stop() == 0
        else:
            service.kill()
    with started(tmp_path) as (_, client):
        resumed = client.get(f"/v1/jobs/{job['id']}").json()
        assert before["done"] <= resumed["done"] < 2400, "the job was to be ended in its middle"
        status = ended(client, job, seconds=120)
        assert (status["state"], status["done"], status["failed"]) == ("succeeded", 2400, 0)
        found = results(client, job, size=1000)
        assert [r["id"] for r in found] == [str(n) for n in range(2400)]
        assert len({r["answer"]["digest"] for r in found}) == 1
