"""Bad bodies at every address of the running service: no fault of its own, no hang, no growth."""

import random
import socket
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import httpx
import pytest
from badness import bad_body
from running import RunningService, running

LONGEST = 10.0
SLOW_ENOUGH_TO_TELL = 2.0


@pytest.fixture(scope="module")
def service(tmp_path_factory: pytest.TempPathFactory) -> Iterator[RunningService]:
    with running(tmp_path_factory.mktemp("fuzz"), {"engine": "inline", "log_level": "error"}) as ready:
        yield ready


def addresses(client: httpx.Client) -> list[tuple[str, str, Any]]:
    """Every operation that takes a body, with a good one."""
    found = []
    names = {"{id}": "fuzz", "{reference}": "fuzz", "{digest}": "0" * 64}
    for path, item in client.get("/openapi/v1.json").json()["paths"].items():
        for method, operation in item.items():
            content = operation.get("requestBody", {}).get("content", {}).get("application/json", {})
            for example in list(content.get("examples", {}).values())[:1]:
                address = path
                for name, value in names.items():
                    address = address.replace(name, value)
                found.append((method.upper(), address, example["value"]))
    return found


def memory(service: RunningService) -> float:
    """Resident memory in MiB."""
    status = Path(f"/proc/{service.process.pid}/status").read_text()
    return int(status.split("VmRSS:")[1].split()[0]) / 1024


def fuzzed(service: RunningService, count: int) -> None:
    rng = random.Random(count)
    slow: list[tuple[float, str, int]] = []
    with httpx.Client(base_url=service.url, timeout=LONGEST) as client:
        known = addresses(client)
        assert len(known) >= 30
        for method, address, given in known:  # what is loaded at first use is loaded now
            client.request(method, address, json=given, timeout=60)
        measured: list[float] = []
        for number in range(count):
            method, address, given = rng.choice(known)
            body = bad_body(number, given)
            began = time.monotonic()
            reply = client.request(method, address, content=body, headers={"content-type": "application/json"})
            took = time.monotonic() - began
            assert reply.status_code < 500, (number, method, address, body[:2000], reply.text[:1000])
            if reply.status_code >= 400:
                assert reply.headers["content-type"] == "application/problem+json"
                assert reply.json()["detail"]
            if took > SLOW_ENOUGH_TO_TELL:
                slow.append((round(took, 1), address, number))
            if number >= count // 2 and number % max(1, count // 20) == 0:
                measured.append(memory(service))
    assert len(slow) <= count / 500, slow
    assert max(measured) <= measured[0] * 1.05, measured
    assert service.process.poll() is None


def test_thousands_of_bad_bodies(service: RunningService) -> None:
    fuzzed(service, 3_000)


@pytest.mark.nightly
def test_a_hundred_thousand_bad_bodies(service: RunningService) -> None:
    fuzzed(service, 100_000)


BAD_REQUESTS = [
    b"GET\r\n\r\n",
    b"GET / HTTP/9.9\r\n\r\n",
    b"\x00" * 1000,
    b"POST /v1/worksheets HTTP/1.1\r\nHost: a\r\nContent-Length: -5\r\n\r\n",
    b"POST /v1/worksheets HTTP/1.1\r\nHost: a\r\nContent-Length: 99999999999\r\nContent-Type: application/json\r\n\r\n",
    b"POST /v1/worksheets HTTP/1.1\r\nHost: a\r\nTransfer-Encoding: chunked\r\n\r\nZZ\r\n",
    b"GET /" + b"a" * 100_000 + b" HTTP/1.1\r\nHost: a\r\n\r\n",
    b"GET / HTTP/1.1\r\n" + b"X: y\r\n" * 20_000 + b"\r\n",
    b"GET /v1/fleets/%ff%fe%00 HTTP/1.1\r\nHost: a\r\n\r\n",
    b"GET /v1/fleets?page_token=%ff%00&page_size=%2b1 HTTP/1.1\r\nHost: a\r\n\r\n",
    b"GET /v1/../../etc/passwd HTTP/1.1\r\nHost: a\r\n\r\n",
]


@pytest.mark.parametrize("number", range(len(BAD_REQUESTS)))
def test_what_is_hardly_http_ends_a_connection_and_no_more(service: RunningService, number: int) -> None:
    with socket.create_connection(("127.0.0.1", service.port), timeout=5) as connection:
        connection.settimeout(1.0)
        reply = b""
        try:
            connection.sendall(BAD_REQUESTS[number])
            while piece := connection.recv(65536):
                reply += piece
        except (TimeoutError, ConnectionError):
            pass  # it waits for the rest, or has hung up: both are its right
    assert b" 500 " not in reply.split(b"\r\n", 1)[0]
    assert httpx.get(f"{service.url}/health/live", timeout=5).status_code == 200
