"""A store that hangs costs what is kept, and nothing else; writers of one file wait for each other."""

import contextlib
import os
import signal
import statistics
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest
from postgres import Postgres
from running import running
from writers import SERVICE

from coldwright.store import Database, upgrade
from coldwright.store.keys import create_key


class Stoppable(Postgres):
    """A server whose every process can be held still: it answers nothing, and no connection of it breaks."""

    def processes(self) -> list[int]:
        postmaster = int((self.folder / "postmaster.pid").read_text().split()[0])
        found = [postmaster]
        for stat in Path("/proc").glob("[0-9]*/stat"):
            with contextlib.suppress(OSError):
                pid, parent = int(stat.parent.name), int(stat.read_text().rpartition(")")[2].split()[1])
                found += [pid] if parent == postmaster else []
        return found

    def hold_still(self) -> None:
        for pid in self.processes():
            os.kill(pid, signal.SIGSTOP)

    def let_go(self) -> None:
        for pid in self.processes():
            os.kill(pid, signal.SIGCONT)


@pytest.fixture
def server() -> Iterator[Stoppable]:
    server = Stoppable()
    yield server
    server.let_go()
    server.remove()


@pytest.mark.postgres
def test_a_database_that_hangs_costs_kept_things_only(tmp_path: Path, server: Stoppable) -> None:
    url = server.new_database()
    database = Database(url)
    upgrade(database)
    _, secret = create_key(database, "acme", ("calculate", "fleet"))
    database.close()
    headers = {"authorization": f"Bearer {secret}"}
    settings = {"database_url": url, "engine": "inline", "require_keys": "1"}
    with running(tmp_path, settings) as service:
        example = httpx.get(f"{service.url}{SERVICE}", headers=headers, timeout=20).json()["examples"][0]["given"]
        assert httpx.get(f"{service.url}/v1/fleets", headers=headers, timeout=20).status_code == 200
        server.hold_still()
        time.sleep(2.5)  # the key is not remembered any more without asking
        kept: list[tuple[float, httpx.Response]] = []

        def read_what_is_kept() -> None:
            began = time.monotonic()
            reply = httpx.get(f"{service.url}/v1/fleets", headers=headers, timeout=60)
            kept.append((time.monotonic() - began, reply))

        reading = [threading.Thread(target=read_what_is_kept) for _ in range(20)]
        for thread in reading:
            thread.start()
        taken = []
        for _ in range(20):
            began = time.monotonic()
            reply = httpx.post(f"{service.url}{SERVICE}", json=example, headers=headers, timeout=30)
            assert reply.status_code == 200, reply.text
            taken.append(time.monotonic() - began)
            assert httpx.get(f"{service.url}/health/live", timeout=5).status_code == 200
            time.sleep(0.2)
        assert statistics.median(taken) < 0.5
        assert max(taken) < 2.5, "the time to find out that the table of keys does not answer, on a busy machine"
        began = time.monotonic()
        ready = httpx.get(f"{service.url}/health/ready", timeout=20)
        assert time.monotonic() - began < 4.0
        assert ready.status_code == 503
        assert ready.json()["reasons"] == ["the store does not answer"]
        for thread in reading:
            thread.join()
        for seconds, reply in kept:
            assert seconds < 30
            assert reply.status_code == 503
            assert reply.json()["type"] == "/problems/store-unavailable"
            assert int(reply.headers["retry-after"]) >= 1
        server.let_go()
        deadline = time.monotonic() + 20
        while httpx.get(f"{service.url}/health/ready", timeout=20).status_code != 200:
            assert time.monotonic() < deadline
            time.sleep(0.1)
        # a connection that could not be made just before is not tried again for a moment: that is a 503 with its Retry-After
        while httpx.get(f"{service.url}/v1/fleets", headers=headers, timeout=20).status_code != 200:
            assert time.monotonic() < deadline
            time.sleep(0.1)


def test_writers_of_one_file_wait_for_each_other(tmp_path: Path) -> None:
    """Two services, each with twelve writers at once: none is turned away."""
    url = f"sqlite:///{tmp_path}/store.sqlite3"
    database = Database(url)
    upgrade(database)
    program = Path(__file__).parents[1] / "support" / "waiting_writers.py"
    services = [
        subprocess.Popen([sys.executable, str(program), url, name, "12", "8"], stdout=subprocess.PIPE, text=True)
        for name in ("one", "two")
    ]
    told = [service.communicate(timeout=120)[0] for service in services]
    assert told == ["", ""]
    with database.reading() as connection:
        assert connection.exec_driver_sql("SELECT count(*) FROM bookings").scalar() == 2 * 12 * 8
    database.close()
