"""Nothing that was acknowledged is lost: not by a kill at any moment, not by a store that goes away, not by a full disk."""

import contextlib
import random
import resource
import sqlite3
import subprocess
import time
from collections.abc import Iterator
from functools import partial
from pathlib import Path

import httpx
import pytest
from litestar.testing import TestClient
from postgres import Postgres, new_database
from running import RunningService, running
from sqlalchemy import event
from startup_histories import CONFIGURATION, seen
from writers import SERVICE, Examples, Kept, Writers, lost

from coldwright.service.app import create_app
from coldwright.service.settings import Settings


def has_orders(kept: Kept) -> bool:
    return kept.orders > 0


def killed_again_and_again(folder: Path, url: str, rounds: int, **more: str) -> None:
    rng = random.Random(rounds)
    settings = {"database_url": url, "log_level": "warning"} | more
    of_rounds: list[Kept] = []
    service = RunningService(folder, settings).wait_ready()
    try:
        examples = Examples(service.url)
        for number in range(rounds):
            kept = Kept()
            of_rounds.append(kept)
            with Writers(service.url, examples, kept, f"r{number}") as writers:
                if number % 3 == 1:  # an order takes a while, in a worker most of all, which has to load first
                    writers.wait_until(partial(has_orders, kept))
                time.sleep(rng.uniform(0.05, 0.8))
                service.kill()
            assert writers.faults == []
            if url.startswith("sqlite"):
                with contextlib.closing(sqlite3.connect(folder / "store.sqlite3")) as connection:
                    assert connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)
            service = RunningService(folder, settings).wait_ready()
            assert lost(service.url, kept) == []
        for kept in of_rounds:
            assert lost(service.url, kept) == []
        assert sum(map(len, of_rounds)) > 10 * rounds
        assert sum(kept.orders for kept in of_rounds) >= rounds // 3
    finally:
        service.kill()


def test_a_kill_loses_nothing(tmp_path: Path, empty_url: str) -> None:
    """What is answered in line is kept by the same way: the nightly test has workers."""
    killed_again_and_again(tmp_path, empty_url, 5, engine="inline")


@pytest.mark.nightly
def test_two_hundred_kills_lose_nothing(tmp_path: Path, empty_url: str) -> None:
    killed_again_and_again(tmp_path, empty_url, 200, workers="1")


@pytest.fixture
def own_postgres() -> Iterator[Postgres]:
    """A server of this test's own, to be stopped."""
    server = Postgres()
    yield server
    server.remove()


@pytest.mark.postgres
def test_a_database_that_stops_and_starts_is_waited_out(tmp_path: Path, own_postgres: Postgres) -> None:
    url = own_postgres.new_database()
    with running(tmp_path, {"database_url": url, "engine": "inline"}) as service:
        examples, kept = Examples(service.url), Kept()
        with Writers(service.url, examples, kept, "w", patient=True) as writers:
            writers.wait_until(lambda: len(kept) > 0)
            before = len(kept)
            own_postgres.stop()
            deadline = time.monotonic() + 20
            while (ready := httpx.get(f"{service.url}/health/ready", timeout=20)).status_code != 503:
                assert time.monotonic() < deadline  # what was well a moment ago is not looked at again at once
            assert ready.json()["reasons"] == ["the store does not answer"]
            assert httpx.get(f"{service.url}/health/live", timeout=5).status_code == 200
            calculated = httpx.post(f"{service.url}{SERVICE}", json=examples.service, timeout=20)
            assert calculated.status_code == 200, "a calculator needs no store"
            own_postgres.start()
            deadline = time.monotonic() + 20
            while httpx.get(f"{service.url}/health/ready", timeout=20).status_code != 200:
                assert time.monotonic() < deadline
            recovered = len(kept)
            time.sleep(1.5)
        assert writers.faults == []
        assert writers.refused
        for reply in writers.refused:
            assert reply.json()["type"] == "/problems/store-unavailable"
            assert int(reply.headers["retry-after"]) >= 1
        assert before > 0
        assert len(kept) > recovered
        assert lost(service.url, kept) == []


@pytest.mark.postgres
def test_two_services_on_one_database(tmp_path: Path) -> None:
    """The same guarantees, also when one of them is killed."""
    settings = {"database_url": new_database(), "engine": "inline", "log_level": "warning"}
    with running(tmp_path, settings) as first:
        second = RunningService(tmp_path, settings).wait_ready()
        examples, kept = Examples(first.url), Kept()
        with Writers(first.url, examples, kept, "one") as ones, Writers(second.url, examples, kept, "two") as twos:
            time.sleep(2)
            second.kill()
        assert ones.faults == twos.faults == []
        assert lost(first.url, kept) == []


def _names(kept: Kept) -> set[str]:
    return {a.rsplit("/", 1)[1].partition("-")[0] for a in list(kept.tags)}


def test_a_full_disk_is_told_and_reading_goes_on(tmp_path: Path) -> None:
    """SQLite itself is told how many pages it may have."""
    app = create_app(Settings(database_url=f"sqlite:///{tmp_path}/store.sqlite3", engine="inline"))
    engine = app.state.services.database.engine

    with TestClient(app, raise_server_exceptions=False) as client:
        address = "/v1/startups/north"
        assert client.put(address, json={"configuration": CONFIGURATION}).status_code == 201
        engine.dispose()
        pages: list[int] = []

        @event.listens_for(engine, "connect")
        def limit(connection: sqlite3.Connection, _record: object) -> None:
            present = connection.execute("PRAGMA page_count").fetchone()[0]
            pages.append(present)
            connection.execute(f"PRAGMA max_page_count = {max(present, pages[0] + 5)}")

        kept: list[str] = []
        for number in range(200):
            batch = [seen("unit_level", "07:00", f"{number}-{n}-{'x' * 150}", ok=True) for n in range(5)]
            reply = client.post(f"{address}/observations", json={"observations": batch})
            if reply.status_code != 200:
                break
            kept += [o["id"] for o in batch]
        assert reply.status_code == 503
        assert reply.json()["type"] == "/problems/store-full"
        assert int(reply.headers["retry-after"]) >= 1
        there = client.get(f"{address}/observations?page_size=1000").json()["observations"]
        assert [o["observation"]["id"] for o in there] == kept
        verdict = client.get(address)
        assert verdict.status_code == 200
        assert verdict.json()["observation_count"] == len(kept)
        ready = client.get("/health/ready")
        assert ready.status_code == 503
        assert ready.json()["reasons"] == ["the store can keep no more: its disk is full"]
        assert client.get("/health/live").status_code == 200


def test_a_disk_that_takes_no_more_from_a_running_service(tmp_path: Path) -> None:
    """The kernel refuses the service every byte beyond a limit; when there is room again it writes on, with no restart."""
    with running(tmp_path, {"engine": "inline"}) as service:
        address = f"{service.url}/v1/startups/north"
        assert httpx.put(address, json={"configuration": CONFIGURATION}, timeout=20).status_code == 201
        present = max(f.stat().st_size for f in tmp_path.glob("coldwright.sqlite3*"))
        _limit_files(service.process, present + 64 * 1024)
        kept = 0
        for number in range(500):
            batch = [seen("unit_level", "07:00", f"{number}-{n}-{'x' * 150}", ok=True) for n in range(20)]
            reply = httpx.post(f"{address}/observations", json={"observations": batch}, timeout=20)
            if reply.status_code != 200:
                break
            kept += len(batch)
        assert reply.status_code == 503, reply.text
        assert reply.json()["type"] == "/problems/store-full"
        assert httpx.get(address, timeout=20).json()["observation_count"] == kept
        ready = httpx.get(f"{service.url}/health/ready", timeout=5)
        assert ready.status_code == 503
        assert ready.json()["reasons"] == ["the store can keep no more: its disk is full"]
        _limit_files(service.process, resource.RLIM_INFINITY)
        again = httpx.post(f"{address}/observations", json={"observations": batch}, timeout=20)
        assert again.json()["kept"] == len(batch)
        assert httpx.get(address, timeout=20).json()["observation_count"] == kept + len(batch)
        assert httpx.get(f"{service.url}/health/ready", timeout=5).status_code == 200


def _limit_files(process: subprocess.Popen[bytes], size: int) -> None:
    resource.prlimit(process.pid, resource.RLIMIT_FSIZE, (size, resource.RLIM_INFINITY))
