"""A batch with items that kill, a plugin that rests, a worker that is killed: the innocent get their answers."""

import contextlib
import json
import os
import signal
import time
from pathlib import Path
from typing import Any

import httpx
import pytest
from hostile import hostile_environment
from job_results import all_results
from postgres import new_database
from running import RunningService, running

from coldwright.service.jobs.driving import NICE

Item = dict[str, Any]


def job_ended(service: RunningService, calculator: str, items: list[Item]) -> tuple[dict[str, Any], list[Item]]:
    reply = httpx.post(f"{service.url}/v1/jobs", json={"calculator": calculator, "items": items}, timeout=30)
    assert reply.status_code == 202, reply.text
    address = f"{service.url}{reply.headers['location']}"
    deadline = time.monotonic() + 240
    while "finished_at" not in (status := httpx.get(address, timeout=10).json()):
        assert time.monotonic() < deadline, f"{status}\n{service.log.read_text()[-2000:]}"
        time.sleep(0.1)
    return status, all_results(address)


def test_items_that_kill_cost_themselves_alone(tmp_path: Path) -> None:
    """Two of them make the calculator rest again and again: what is innocent waits, and is answered."""
    harms = ["printing"] * 40
    harms[3] = harms[21] = "exit"
    items = [{"id": f"i{n}", "given": {"harm": harm}} for n, harm in enumerate(harms)]
    with running(tmp_path, {"rest_seconds": "1"}, environment=hostile_environment(tmp_path / "site")) as service:
        status, results = job_ended(service, "hostile.harm", items)
        assert (status["state"], status["answered"], status["failed"]) == ("succeeded_with_failures", 38, 2)
        assert [r["id"] for r in results] == [f"i{n}" for n in range(40)]
        failed = {r["id"]: r for r in results if r["status"] != 200}
        assert failed.keys() == {"i3", "i21"}
        assert {r["problem"]["type"] for r in failed.values()} == {"/problems/calculator-died"}
        live = httpx.post(f"{service.url}/v1/calculators/hostile/harm", json={"harm": "printing"}, timeout=30)
        assert live.status_code == 200, "what dies in a batch rests in batches, not for those who wait"


def way(process: int) -> tuple[int, int]:
    """Niceness of a process, and of its session where the system shares processors by sessions; gone: 0."""
    try:
        own = int(Path(f"/proc/{process}/stat").read_text("ascii").rpartition(")")[2].split()[16])
    except OSError:
        return 0, 0
    try:
        return own, int(Path(f"/proc/{process}/autogroup").read_text("ascii").split()[-1])
    except OSError:
        return own, own


def test_workers_killed_in_their_chunks_lose_nothing(tmp_path: Path) -> None:
    """They give way to live requests while they work, as processes and as sessions."""
    with running(tmp_path, {"log_level": "warning"}) as service:
        example = httpx.get(f"{service.url}/v1/calculators/hydronic/loop").json()["examples"][0]["given"]
        before = set(service.processes())
        items = [{"id": f"i{n}", "given": example} for n in range(1500)]
        body = {"calculator": "hydronic.loop", "items": items, "keep": ["/outcome"]}
        address = f"{service.url}{httpx.post(f'{service.url}/v1/jobs', json=body, timeout=30).headers['location']}"
        deadline = time.monotonic() + 240
        while not httpx.get(address, timeout=10).json()["done"]:
            assert time.monotonic() < deadline
            time.sleep(0.02)
        assert (NICE, NICE) in {way(process) for process in set(service.processes()) - before}
        assert {way(process)[0] for process in before} == {0}
        for process in set(service.processes()) - before:
            with contextlib.suppress(ProcessLookupError):
                os.kill(process, signal.SIGKILL)
        while "finished_at" not in (status := httpx.get(address, timeout=10).json()):
            assert time.monotonic() < deadline, service.log.read_text()[-2000:]
            time.sleep(0.1)
        assert (status["state"], status["answered"]) == ("succeeded", 1500)
        lines = httpx.get(
            f"{address}/results", headers={"accept": "application/x-ndjson"}, timeout=30
        ).text.splitlines()
        assert [json.loads(line)["id"] for line in lines] == [f"i{n}" for n in range(1500)]


@pytest.mark.postgres
def test_two_processes_share_a_job_and_one_of_them_dies(tmp_path: Path) -> None:
    settings = {"log_level": "warning", "database_url": new_database(), "workers": "1"}
    for name in ("one", "other"):
        (tmp_path / name).mkdir()
    with running(tmp_path / "one", settings) as one, running(tmp_path / "other", settings) as other:
        example = httpx.get(f"{one.url}/v1/calculators/booking/assessment").json()["examples"][0]["given"]
        items = [{"id": f"i{n}", "given": example} for n in range(300)]
        reply = httpx.post(f"{one.url}/v1/jobs", json={"calculator": "booking.assessment", "items": items}, timeout=60)
        address = f"{other.url}{reply.headers['location']}"
        deadline = time.monotonic() + 240

        def done_by(service: RunningService) -> bool:
            return "coldwright_job_items_total{" in httpx.get(f"{service.url}/metrics", timeout=10).text

        while not (done_by(one) and done_by(other)):
            assert time.monotonic() < deadline, "one of them does nothing"
            time.sleep(0.05)
        before = httpx.get(address, timeout=10).json()
        one.kill()
        assert before["done"] < 300, "the job was to be left in its middle"
        while "finished_at" not in (status := httpx.get(address, timeout=10).json()):
            assert time.monotonic() < deadline, other.log.read_text()[-2000:]
            time.sleep(0.1)
        assert (status["state"], status["answered"], status["failed"]) == ("succeeded", 300, 0)
        assert [r["id"] for r in all_results(address)] == [f"i{n}" for n in range(300)]
        events = httpx.get(f"{other.url}/v1/events?kind=job.done", timeout=10).json()["events"]
        assert len(events) == 1
