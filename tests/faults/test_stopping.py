"""Stops and kills: what is in flight is finished in time, and no process is left behind."""

import contextlib
import os
import signal
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import httpx
import pytest
from hostile import HARM, hostile_environment
from running import RunningService
from startup_histories import CONFIGURATION

START = "/v1/calculators/readiness/startup"


@pytest.fixture
def start(tmp_path: Path) -> Iterator[Callable[..., RunningService]]:
    """Starts services, and sees to it that none outlives the test."""
    started: list[RunningService] = []
    environment = hostile_environment(tmp_path / "installed")

    def begin(**settings: str) -> RunningService:
        service = RunningService(tmp_path, {"rest_seconds": "0"} | settings, environment=environment)
        started.append(service)
        return service.wait_ready()

    yield begin
    for service in started:
        for pid in service.processes():
            with contextlib.suppress(ProcessLookupError):  # it may end by itself meanwhile
                os.kill(pid, signal.SIGKILL)
        service.process.wait(10)


class Asking(threading.Thread):
    """A request under way in a thread."""

    def __init__(self, url: str, given: dict[str, Any]) -> None:
        super().__init__()
        self.url, self.given = url, given
        self.reply: httpx.Response | None = None
        self.start()

    def run(self) -> None:
        try:
            self.reply = httpx.post(self.url, json=self.given, timeout=60)
        except httpx.TransportError:
            self.reply = None


def use_a_worker(service: RunningService) -> None:
    example = httpx.get(f"{service.url}{START}", timeout=5).json()["examples"][0]["given"]
    assert httpx.post(f"{service.url}{START}", json=example, timeout=60).status_code == 200
    assert len(service.processes()) >= 3  # itself, the fork server, a worker


def test_a_stop_leaves_no_process_behind(start: Callable[..., RunningService]) -> None:
    service = start()
    use_a_worker(service)
    began = time.monotonic()
    assert service.stop() == 0
    assert time.monotonic() - began < 5
    assert service.wait_gone(30) == []


@pytest.mark.parametrize("everybody", [False, True], ids=["service", "whole-group"])
def test_a_stop_finishes_what_is_in_flight(start: Callable[..., RunningService], everybody: bool) -> None:
    service = start()
    assert httpx.post(f"{service.url}{HARM}", json={"harm": "none"}, timeout=60).status_code == 200
    asking = Asking(f"{service.url}{HARM}", {"harm": "delay"})
    time.sleep(0.4)
    if everybody:  # as a supervisor does that signals every process of the unit
        os.killpg(service.process.pid, signal.SIGTERM)
    else:
        service.process.send_signal(signal.SIGTERM)
    asking.join(20)
    assert asking.reply is not None
    assert asking.reply.status_code == 200
    assert asking.reply.json()["results"]["text"] == "late"
    assert service.process.wait(20) == 0
    assert service.wait_gone(30) == []


def test_what_takes_longer_than_the_deadline_does_not_hold_up_the_stop(start: Callable[..., RunningService]) -> None:
    service = start(shutdown_seconds="1", evaluation_seconds="60")
    assert httpx.post(f"{service.url}{HARM}", json={"harm": "none"}, timeout=60).status_code == 200
    asking = Asking(f"{service.url}{HARM}", {"harm": "endless_loop_in_c"})
    time.sleep(0.4)
    began = time.monotonic()
    service.process.send_signal(signal.SIGTERM)
    service.process.wait(20)
    assert time.monotonic() - began < 8
    asking.join(5)
    assert not asking.is_alive()
    assert service.wait_gone(30) == []


def test_a_kill_leaves_no_idle_worker(start: Callable[..., RunningService]) -> None:
    service = start()
    use_a_worker(service)
    service.kill()
    assert service.wait_gone(30) == []


def test_a_kill_leaves_no_worker_that_hangs(start: Callable[..., RunningService]) -> None:
    """Not even one in a loop that never comes back to the interpreter: it ends a little after its time limit."""
    service = start(evaluation_seconds="2")
    assert httpx.post(f"{service.url}{HARM}", json={"harm": "none"}, timeout=60).status_code == 200
    asking = Asking(f"{service.url}{HARM}", {"harm": "endless_loop_in_c"})
    time.sleep(0.5)
    service.kill()
    assert service.processes() != []
    assert service.wait_gone(30) == []
    asking.join(5)


@pytest.mark.parametrize("harm", ["children", "children_and_endless_loop"])
@pytest.mark.parametrize("end", ["kill", "stop"])
def test_what_a_plugin_has_started_ends_with_the_service(
    start: Callable[..., RunningService], harm: str, end: str
) -> None:
    service = start(evaluation_seconds="60", shutdown_seconds="1")
    asking = Asking(f"{service.url}{HARM}", {"harm": harm})
    deadline = time.monotonic() + 20
    while sum(b"sleep" in name for name in commands(service)) < 4 and time.monotonic() < deadline:
        time.sleep(0.1)
    assert sum(b"sleep" in name for name in commands(service)) >= 4, "two by itself, and a shell with two more"
    service.kill() if end == "kill" else service.stop()
    assert service.wait_gone(30) == []
    asking.join(5)


def test_what_a_plugin_has_started_ends_with_its_worker(start: Callable[..., RunningService]) -> None:
    service = start()
    assert httpx.post(f"{service.url}{HARM}", json={"harm": "children"}, timeout=60).status_code == 200
    assert any(b"sleep" in name for name in commands(service))
    assert httpx.post(f"{service.url}{HARM}", json={"harm": "exit"}, timeout=60).status_code == 503
    deadline = time.monotonic() + 5
    while any(b"sleep" in name for name in commands(service)) and time.monotonic() < deadline:
        time.sleep(0.05)
    assert not any(b"sleep" in name for name in commands(service))


def commands(service: RunningService) -> list[bytes]:
    """Command lines of the service and all that it started."""
    found = []
    for pid in service.processes():
        with contextlib.suppress(OSError):
            found.append(Path(f"/proc/{pid}/cmdline").read_bytes())
    return found


def test_a_stop_ends_event_streams(start: Callable[..., RunningService]) -> None:
    service = start()
    address = f"{service.url}/v1/startups/north"
    assert httpx.put(address, json={"configuration": CONFIGURATION}, timeout=60).status_code == 201
    began = 0.0
    with httpx.stream("GET", f"{address}/events", timeout=30) as stream:
        assert stream.status_code == 200
        for line in stream.iter_lines():
            if line.startswith("data:"):
                began = time.monotonic()
                service.process.send_signal(signal.SIGTERM)
    assert began
    assert time.monotonic() - began < 5
    assert service.process.wait(10) == 0
    assert service.wait_gone(30) == []


def test_a_stop_before_it_is_ready_is_a_stop(start: Callable[..., RunningService], tmp_path: Path) -> None:
    service = RunningService(tmp_path)
    time.sleep(1.0)
    assert service.stop() in (0, -signal.SIGTERM)
    assert service.wait_gone(30) == []
