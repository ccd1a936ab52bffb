"""Connections: who goes when there are too many, who has waited too long, and what comes over one."""

import contextlib
import socket
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any, BinaryIO, cast

import httpx
import msgspec
import pytest
from running import RunningService, running

from coldwright.registry import Registry
from coldwright.service.http.connections import Connections

SERVICE = "/v1/calculators/electrical/service"


class Line:
    """What a connection is to those who count it."""

    def __init__(self) -> None:
        self.open, self.unsent = True, 0

    def abort(self) -> None:
        self.open = False

    def get_write_buffer_size(self) -> int:
        return self.unsent


class Room:
    """Connections with a clock that the test turns."""

    def __init__(self, most: int = 3) -> None:
        self.now = 0.0
        self.lines: dict[Any, Any] = {}
        self.connections = Connections(most, 75.0, 15.0, 60.0, lambda: self.now)

    def come(self, number: int) -> None:
        self.now += 1
        self.lines[number] = Line()
        self.connections.opened(("peer", number), cast(Any, self.lines[number]))

    def open(self) -> list[int]:
        return [number for number, line in self.lines.items() if line.open]


def test_the_one_longest_without_a_request_goes_for_the_newcomer() -> None:
    room = Room()
    for number in (1, 2, 3):
        room.come(number)
    room.now += 1
    room.connections.begin(("peer", 1))
    room.connections.end(("peer", 1))
    room.come(4)
    assert room.open() == [1, 3, 4]
    assert len(room.connections) == 3


def test_a_request_under_way_is_never_closed_for_another() -> None:
    room = Room(2)
    for number in (1, 2):
        room.come(number)
        room.connections.begin(("peer", number))
    room.come(3)
    assert room.open() == [1, 2]
    room.connections.end(("peer", 1))
    room.come(4)
    assert room.open() == [2, 4]


def test_an_answer_that_is_read_slowly_is_no_reason_to_keep_others_out() -> None:
    """Anybody may ask for the document without a key, and take it drop by drop."""
    room = Room(3)
    for number in (1, 2, 3):
        room.come(number)
        room.connections.begin(("peer", number))
    for number in (2, 1):
        room.connections.full(("peer", number))
    room.come(4)
    assert room.open() == [1, 3, 4]
    room.connections.begin(("peer", 4))
    room.come(5)
    assert room.open() == [3, 4, 5]
    room.connections.begin(("peer", 5))
    room.come(6)
    assert room.open() == [3, 4, 5]


def test_a_request_whose_body_does_not_come_is_no_reason_to_keep_others_out() -> None:
    room = Room(2)
    for number in (1, 2):
        room.come(number)
        room.connections.begin(("peer", number))
        room.connections.receive(("peer", number))
        room.connections.heard(("peer", number))
    room.now += 50
    room.connections.sweep()
    assert room.open() == [1, 2]
    room.connections.received(("peer", 1))
    room.come(3)
    assert room.open() == [1, 3]


def test_of_two_requests_on_one_connection_both_count() -> None:
    room = Room(1)
    room.come(1)
    room.connections.begin(("peer", 1))
    room.connections.begin(("peer", 1))
    room.connections.end(("peer", 1))
    room.now += 1000
    room.connections.sweep()
    assert room.open() == [1]


def test_whoever_sends_nothing_is_closed_in_time() -> None:
    room = Room()
    room.come(1)
    room.now += 74
    room.connections.sweep()
    assert room.open() == [1]
    room.now += 2
    room.connections.sweep()
    assert room.open() == []


def test_an_answer_that_is_left_unread_is_given_up_and_one_that_is_read_slowly_is_not() -> None:
    room = Room()
    for number in (1, 2):
        room.come(number)
        room.connections.begin(("peer", number))
        room.connections.full(("peer", number))
    room.now += 50
    room.connections.emptied(("peer", 2))
    room.connections.full(("peer", 2))
    room.connections.sweep()
    assert room.open() == [1, 2]
    room.now += 20
    room.connections.sweep()
    assert room.open() == [2]


def test_a_head_that_never_ends_is_closed_sooner_and_dripping_does_not_help() -> None:
    room = Room()
    room.come(1)
    for _ in range(16):
        room.connections.heard(("peer", 1))
        room.connections.sweep()
        room.now += 1
    room.connections.sweep()
    assert room.open() == []


def test_a_long_answer_that_is_still_being_read_is_not_cut_off() -> None:
    room = Room()
    room.come(1)
    for left in range(300, 0, -1):
        room.lines[1].unsent = left
        room.now += 1
        room.connections.sweep()
    assert room.open() == [1]
    room.now += 80
    room.connections.sweep()
    room.now += 80
    room.connections.sweep()
    assert room.open() == []


@pytest.fixture(scope="module")
def service(tmp_path_factory: pytest.TempPathFactory) -> Iterator[RunningService]:
    settings = {"engine": "inline", "connections": "20", "head_seconds": "2", "body_seconds": "2", "log_level": "info"}
    with running(tmp_path_factory.mktemp("service"), settings) as started:
        yield started


@pytest.fixture(scope="module")
def question(registry: Registry) -> bytes:
    """A request with its body."""
    body = msgspec.json.encode(dict(registry.lookup("electrical.service").examples[0].given))
    return head(len(body)) + body


def head(length: int, more: str = "") -> bytes:
    lines = f"POST {SERVICE} HTTP/1.1\r\nHost: localhost\r\nContent-Type: application/json\r\n{more}"
    return f"{lines}Content-Length: {length}\r\n\r\n".encode()


def connected(service: RunningService) -> socket.socket:
    return socket.create_connection(("127.0.0.1", service.port), timeout=20)


def answer(connection: socket.socket) -> tuple[int, bytes]:
    """Status and body of the next answer, where nothing follows it at once."""
    return next_answer(connection.makefile("rb"))


def next_answer(stream: BinaryIO) -> tuple[int, bytes]:
    """The same of one after another."""
    status = int(stream.readline().split()[1])
    length = 0
    while (line := stream.readline()) not in (b"\r\n", b""):
        if line.lower().startswith(b"content-length:"):
            length = int(line.split(b":")[1])
    return status, stream.read(length)


def closed_within(connection: socket.socket, seconds: float) -> bool:
    connection.settimeout(seconds)
    try:
        return connection.recv(1) == b""
    except ConnectionError:
        return True
    except TimeoutError:
        return False


def test_a_body_under_an_offered_upgrade_is_taken(service: RunningService, question: bytes) -> None:
    """RFC 9110, 7.8: a server may ignore `Upgrade`. Java's own client and `curl --http2` offer it with a first request."""
    offer = b"Connection: Upgrade, HTTP2-Settings\r\nUpgrade: h2c\r\nHTTP2-Settings: AAEAAEAAAAIAAAABAAMAAABkAAQBAAAAAAUAAEAA\r\n"
    offered = question.replace(b"Host: localhost\r\n", b"Host: localhost\r\n" + offer)
    with connected(service) as connection:
        for request in (offered, question, offered):
            connection.sendall(request)
            status, body = answer(connection)
            assert status == 200
            assert msgspec.json.decode(body)["calculator"]["id"] == "electrical.service"
    assert "Unsupported upgrade" not in service.log.read_text()


@pytest.mark.parametrize(
    "path", ["/v1/fleets/..", "/v1/../v1/fleets/x", "/..", "//", "/v1/fleets/\\..", "/v1/fleets/%", "*"]
)
def test_paths_that_climb_lead_nowhere(service: RunningService, path: str) -> None:
    """Clients tidy such paths before they send them; an attacker's does not."""
    with connected(service) as connection:
        connection.sendall(f"GET {path} HTTP/1.1\r\nHost: localhost\r\n\r\n".encode())
        status, body = answer(connection)
        assert (status, msgspec.json.decode(body)["type"]) == (404, "/problems/not-found")


def post(*more: bytes, body: bytes = b"{}", path: str = SERVICE, kind: bytes = b"application/json") -> bytes:
    lines = [f"POST {path} HTTP/1.1".encode(), b"Host: localhost", b"Content-Type: " + kind, *more, b"", body]
    return b"\r\n".join(lines)


def get(path: bytes, *more: bytes) -> bytes:
    return b"\r\n".join([b"GET " + path + b" HTTP/1.1", *(more or (b"Host: localhost",)), b"", b""])


CHUNKED, TWO = b"Transfer-Encoding: chunked", b"Content-Length: 2"
FORM = b"application/x-www-form-urlencoded"
HOSTILE = {
    "chunks": (post(CHUNKED, body=b"1\r\n{\r\n1;a=b\r\n}\r\n0\r\nX-Trailer: a\r\n\r\n"), 422),
    "a chunk of less than nothing": (post(CHUNKED, body=b"-5\r\nabc"), 400),
    "chunks of gzip": (post(b"Transfer-Encoding: gzip, chunked", body=b"0\r\n\r\n"), 400),
    "more chunks than are taken": (post(CHUNKED, body=b"200000\r\n" + b" " * 0x200000 + b"\r\n0\r\n\r\n"), 413),
    "two lengths": (post(TWO, b"Content-Length: 5", body=b"{}   "), 400),
    "the same length twice": (post(TWO, TWO), 422),
    "a length below nothing": (post(b"Content-Length: -2"), 400),
    "a length of twenty digits": (post(b"Content-Length: " + b"9" * 20), 413),
    "a length of thousands of digits": (post(b"Content-Length: " + b"9" * 5_000), 400),
    "a large body that waits for leave": (post(b"Expect: 100-continue", b"Content-Length: 999999999", body=b""), 413),
    "an expectation nobody knows": (post(b"Expect: 200-perhaps", TWO), 422),
    "gzip": (post(b"Content-Encoding: gzip", TWO, body=b"\x1f\x8b"), 415),
    "deflate": (post(b"Content-Encoding: deflate", TWO, body=b"x\x9c"), 415),
    "bytes as a media type": (post(TWO, kind=b"\xff\xfe"), 415),
    "two media types": (post(b"Content-Type: text/plain", TWO), 422),
    "a form from half an address": (post(b"Origin: http://[::1", TWO, path="/orders/new", kind=FORM, body=b"a="), 403),
    "a form of bytes": (post(TWO, path="/orders/new", kind=FORM, body=b"a\xff"), 400),
    "HTTP/2": (b"PRI * HTTP/2.0\r\n\r\nSM\r\n\r\n\0\0\0\4\0\0\0\0\0", 421),
    "TLS": (b"\x16\x03\x01\x00\xa5\x01\x00\x00\xa1\x03\x03\r\n\r\n", 400),
    "another method": (b"A" * 10_000 + b" /v1/calculators HTTP/1.1\r\nHost: localhost\r\n\r\n", 405),
    "a tunnel": (b"CONNECT example.com:443 HTTP/1.1\r\nHost: localhost\r\n\r\n", 404),
    "no host": (get(b"/v1/calculators", b"Accept: */*"), 400),
    "two hosts": (get(b"/v1/calculators", b"Host: localhost", b"Host: localhost"), 400),
    "NUL in a header": (get(b"/v1/calculators", b"Host: localhost", b"X-A: a\0b"), 400),
    "bytes in headers": (
        get(b"/v1/calculators", b"Host: localhost", b"Accept: \xff", b"X-Request-Id: \xff", b"If-None-Match: \xff"),
        200,
    ),
    "a key of bytes": (get(b"/v1/calculators", b"Host: localhost", b"Authorization: Bearer \xff\xfe"), 401),
    "two keys": (get(b"/v1/calculators", b"Host: localhost", b"X-API-Key: a", b"X-API-Key: b"), 401),
    "six thousand likings": (get(b"/v1/calculators", b"Host: localhost", b"Accept: " + b"a/b;q=0.5," * 5_000), 200),
    "a thousand headers": (get(b"/v1/calculators", b"Host: localhost", *[b"X-%d: 1" % n for n in range(1_000)]), 200),
    "NUL in a path": (get(b"/v1/fleets/a\0b"), 400),
    "an escaped NUL in a path": (get(b"/v1/fleets/a%00b"), 404),
    "an escaped break in a path": (get(b"/v1/fleets/a%0d%0aX-A:b"), 404),
    "half a surrogate pair in a path": (get(b"/v1/fleets/%ed%a0%80"), 404),
    "half an escape in a path": (get(b"/v1/fleets/%zz%2"), 404),
    "a climbing path in escapes": (get(b"/v1/fleets/%2e%2e%2f%2e%2e"), 404),
    # below the 16 kB up to which a head may come in pieces: a longer one is answered by how the network cut it
    "a path of slashes": (get(b"/" * 15_000), 404),
    "a deep path": (get(b"/a" * 7_500), 404),
    "an escaped NUL in a query": (get(b"/v1/bookings?site=%00"), 422),
    "a query of signs": (get(b"/v1/bookings?" + b"a&" * 7_500), 422),
    "a parameter twice": (get(b"/v1/bookings?page_size=1&page_size=2"), 422),
    "a number of thousands of digits": (get(b"/v1/bookings?page_size=" + b"9" * 5_000), 422),
}


@pytest.mark.parametrize("attack", HOSTILE)
def test_odd_requests_have_an_answer_that_blames_them(service: RunningService, attack: str) -> None:
    sent, expected = HOSTILE[attack]
    with connected(service) as connection:
        connection.sendall(sent)
        assert answer(connection)[0] == expected


WHOLE = [
    ("http://localhost/v1/calculators", "localhost", 200),
    ("HTTPS://127.0.0.1:443/v1/calculators", "evil.example", 200),
    ("http://localhost/v1/bookings?page_size=x", "localhost", 422),
    ("http://localhost/v1/fleets/a%20b", "localhost", 404),
    ("http://localhost/nowhere", "localhost", 404),
    ("http://evil.example/v1/calculators", "localhost", 421),
    ("http://localhost:80@evil.example/v1/calculators", "localhost", 421),
    ("http:///v1/calculators", "localhost", 421),
    ("http://evil.example/health/live", "evil.example", 200),
]


@pytest.mark.parametrize(("target", "header", "expected"), WHOLE)
def test_a_target_may_name_its_host_and_is_believed_over_the_header(
    service: RunningService, target: str, header: str, expected: int
) -> None:
    """RFC 9112, 3.2.2: a server takes the absolute form, and passes over the header `Host` then."""
    with connected(service) as connection:
        connection.sendall(f"GET {target} HTTP/1.1\r\nHost: {header}\r\n\r\n".encode())
        assert answer(connection)[0] == expected


def test_a_body_is_taken_under_a_target_that_names_its_host(service: RunningService, question: bytes) -> None:
    with connected(service) as connection:
        connection.sendall(question.replace(b"POST /", b"POST http://localhost/", 1))
        assert answer(connection)[0] == 200


def test_requests_that_follow_each_other_without_waiting_are_all_answered(
    service: RunningService, question: bytes
) -> None:
    with connected(service) as connection:
        connection.sendall(question * 3)
        stream = connection.makefile("rb")
        assert [next_answer(stream)[0] for _ in range(3)] == [200, 200, 200]


def test_a_body_that_does_not_come_is_told_so_and_the_connection_closed(service: RunningService) -> None:
    with connected(service) as connection:
        connection.sendall(head(500) + b"{")
        status, body = answer(connection)
        assert (status, msgspec.json.decode(body)["type"]) == (408, "/problems/too-slow")
        assert closed_within(connection, 5)


def test_a_head_that_does_not_end_is_closed(service: RunningService) -> None:
    with connected(service) as connection:
        connection.sendall(b"GET /health/live HTTP/1.1\r\nHost: loc")
        began = time.monotonic()
        assert closed_within(connection, 10)
        assert time.monotonic() - began > 1


def test_idle_connections_keep_nobody_out(service: RunningService, question: bytes) -> None:
    """Sixty that say nothing or leave their body out, with places for twenty: one that speaks is answered."""
    with contextlib.ExitStack() as stack:
        idle = [stack.enter_context(connected(service)) for _ in range(60)]
        for connection in idle[::2]:
            with contextlib.suppress(ConnectionError):
                connection.sendall(question[:-1])
        with connected(service) as connection:
            connection.sendall(question)
            assert answer(connection)[0] == 200
        assert sum(closed_within(c, 0.05) for c in idle) >= 40


def test_a_long_answer_to_whoever_does_not_read_is_given_up(tmp_path: Path, registry: Registry) -> None:
    settings = {"engine": "inline", "idle_seconds": "2", "send_seconds": "2"}
    with running(tmp_path, settings) as service, socket.socket() as connection:
        connection.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4096)
        connection.connect(("127.0.0.1", service.port))
        ask = b"GET /openapi/v1.json HTTP/1.1\r\nHost: localhost\r\n\r\n"
        connection.sendall(ask * 20)  # more than the system keeps for a connection
        time.sleep(7)
        received = 0
        with contextlib.suppress(ConnectionError):
            connection.settimeout(5)
            while chunk := connection.recv(65536):
                received += len(chunk)
        assert received < 19 * len(httpx.get(f"{service.url}/openapi/v1.json").content)
