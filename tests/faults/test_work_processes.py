"""`coldwright work` beside a service on one PostgreSQL: chunks go to whoever serves them, a dead worker's come back."""

import json
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import httpx
import pytest
from hostile import hostile_environment
from job_results import all_results
from postgres import Postgres, new_database
from running import RunningService, free_port, running

pytestmark = pytest.mark.postgres
LONGEST = 300.0


@pytest.fixture
def settings(tmp_path: Path) -> dict[str, str]:
    for name in ("service", "one", "other"):
        (tmp_path / name).mkdir()
    return {"log_level": "warning", "database_url": new_database(), "workers": "1", "job_workers": "0"}


@pytest.fixture
def service(tmp_path: Path, settings: dict[str, str]) -> Iterator[RunningService]:
    """It hands chunks to the queue and works on none."""
    environment = hostile_environment(tmp_path / "site")
    with running(tmp_path / "service", settings, environment=environment) as made:
        yield made


def worker(folder: Path, settings: dict[str, str], **more: Any) -> RunningService:
    return RunningService(folder, settings, command=("work",), **more)


def begun(service: RunningService, calculator: str, items: list[dict[str, Any]], keep: Any = "answers") -> str:
    body = {"calculator": calculator, "items": items, "keep": keep}
    reply = httpx.post(f"{service.url}/v1/jobs", json=body, timeout=60)
    assert reply.status_code == 202, reply.text
    return f"{service.url}{reply.headers['location']}"


def when(address: str, *, done: int = 0, workers: tuple[RunningService, ...] = ()) -> dict[str, Any]:
    """The job once it has ended, or once so many of its items are done."""
    deadline = time.monotonic() + LONGEST
    while True:
        status: dict[str, Any] = httpx.get(address, timeout=10).json()
        if "finished_at" in status or (done and status["done"] >= done):
            return status
        assert time.monotonic() < deadline, [status, *(w.log.read_text()[-1500:] for w in workers)]
        time.sleep(0.05)


def test_a_killed_worker_loses_and_doubles_nothing(
    tmp_path: Path, settings: dict[str, str], service: RunningService
) -> None:
    example = httpx.get(f"{service.url}/v1/calculators/booking/assessment").json()["examples"][0]["given"]
    address = begun(service, "booking.assessment", [{"id": f"i{n}", "given": example} for n in range(100)])
    one, other = workers = (worker(tmp_path / "one", settings), worker(tmp_path / "other", settings))
    try:
        before = when(address, done=20, workers=workers)
        one.kill()
        assert before["done"] < 100, "the job was to be left in its middle"
        status = when(address, workers=workers)
    finally:
        ended = other.stop()
    assert (status["state"], status["answered"], status["failed"]) == ("succeeded", 100, 0)
    assert [r["id"] for r in all_results(address)] == [f"i{n}" for n in range(100)]
    assert len(httpx.get(f"{service.url}/v1/events?kind=job.done", timeout=10).json()["events"]) == 1
    assert ended == 0


def test_a_chunk_goes_to_none_but_who_has_the_plugin(
    tmp_path: Path, settings: dict[str, str], service: RunningService
) -> None:
    """As in an upgrade where half the machines have the new plugin: its job waits for those, others go on."""
    plain = worker(tmp_path / "one", settings)
    try:
        waiting = begun(service, "hostile.harm", [{"id": "a", "given": {"harm": "printing"}}])
        example = httpx.get(f"{service.url}/v1/calculators/electrical/service").json()["examples"][0]["given"]
        light = when(begun(service, "electrical.service", [{"id": "b", "given": example}]), workers=(plain,))
        assert light["state"] == "succeeded"
        assert httpx.get(waiting, timeout=10).json()["state"] == "queued"
        able = worker(tmp_path / "other", settings, environment=hostile_environment(tmp_path / "site of the other"))
        try:
            assert when(waiting, workers=(plain, able))["state"] == "succeeded"
        finally:
            able.stop()
    finally:
        plain.stop()


def test_a_database_that_restarts_under_load_loses_and_doubles_nothing(tmp_path: Path) -> None:
    """The service, two workers and callers go on by themselves: the queue is connected to again, and no item is lost."""
    server = Postgres()
    settings = {"log_level": "warning", "database_url": server.new_database(), "workers": "1", "job_workers": "0"}
    for name in ("service", "one", "other"):
        (tmp_path / name).mkdir()
    workers: list[RunningService] = []
    try:
        with running(tmp_path / "service", settings) as service:
            example = httpx.get(f"{service.url}/v1/calculators/electrical/feeder").json()["examples"][0]["given"]
            feeder = [{"id": f"i{n}", "given": example} for n in range(16_000)]
            keep = ["/outcome"]
            addresses = [begun(service, "electrical.feeder", feeder[n : n + 8000], keep) for n in (0, 8000)]
            workers += [worker(tmp_path / name, settings) for name in ("one", "other")]
            done = when(addresses[0], done=200, workers=tuple(workers))["done"]
            assert done < 8000, "it was to be restarted in the middle"
            server.stop()
            reply = httpx.get(addresses[0], timeout=30)
            assert (reply.status_code, reply.json()["type"]) == (503, "/problems/store-unavailable")
            time.sleep(2)  # long enough for every process to notice
            assert [w.process.poll() for w in workers] == [None, None]
            server.start()
            deadline = time.monotonic() + 30
            while httpx.get(addresses[0], timeout=30).status_code != 200:
                assert time.monotonic() < deadline
                time.sleep(0.1)
            addresses.append(begun(service, "electrical.feeder", feeder[:500], keep))
            for address, first, last in zip(addresses, (0, 8000, 0), (8000, 16_000, 500), strict=True):
                status = when(address, workers=tuple(workers))
                assert (status["state"], status["answered"], status["failed"]) == ("succeeded", last - first, 0)
                lines = httpx.get(f"{address}/results", headers={"accept": "application/x-ndjson"}, timeout=60).text
                assert [json.loads(line)["id"] for line in lines.splitlines()] == [f"i{n}" for n in range(first, last)]
            ended = httpx.get(f"{service.url}/v1/events?kind=job.done", timeout=10).json()["events"]
            assert sorted(e["subject"] for e in ended) == sorted(a.rpartition("/")[2] for a in addresses)
    finally:
        for one in workers:
            one.stop()
        server.remove()


def test_a_worker_serves_its_numbers(tmp_path: Path, settings: dict[str, str], service: RunningService) -> None:
    port = free_port()
    counting = RunningService(tmp_path / "one", settings, command=("work", "--metrics", f"127.0.0.1:{port}"))
    try:
        example = httpx.get(f"{service.url}/v1/calculators/electrical/service").json()["examples"][0]["given"]
        items = [{"id": "good", "given": example}, {"id": "bad", "given": {}}]
        when(begun(service, "electrical.service", items), workers=(counting,))
        page = httpx.get(f"http://127.0.0.1:{port}/metrics", timeout=10).text
        for outcome in (
            httpx.post(f"{service.url}/v1/calculators/electrical/service", json=example).json()["outcome"],
            "failed",
        ):
            named = f'calculator="electrical.service",outcome="{outcome}",tenant="local"'
            assert f"coldwright_job_items_total{{{named}}} 1.0" in page
    finally:
        counting.stop()


def test_without_a_queue_it_says_what_it_needs(tmp_path: Path) -> None:
    alone = RunningService(tmp_path, {"database_url": "sqlite:///x.sqlite3"}, command=("work",))
    assert alone.process.wait(60) == 2
    assert "coldwright[scale]" in alone.log.read_text()


def test_a_service_that_works_on_no_job_needs_a_queue(tmp_path: Path) -> None:
    idle = RunningService(tmp_path, {"database_url": "sqlite:///x.sqlite3", "job_workers": "0"})
    assert idle.process.wait(60) == 2
    assert "COLDWRIGHT_JOB_WORKERS=0" in idle.log.read_text()
