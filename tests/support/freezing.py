"""Bodies made to be slow, connections made to be many, and what others notice of them."""

import asyncio
import contextlib
import statistics
import time
from collections.abc import AsyncIterator, Callable, Sequence
from dataclasses import dataclass, field

JSON, CSV, LINES = "application/json", "text/csv", "application/x-ndjson"
FORM = "application/x-www-form-urlencoded"
Body = Callable[[int], bytes]


def _members(size: int) -> bytes:
    return b"{" + b",".join(b'"n%d":1' % n for n in range(min(80_000, size // 10))) + b"}"


def _worksheet(inside: bytes) -> bytes:
    return b'{"items":[{"id":"a","calculator":"electrical.service","given":{"x":' + inside + b"}}]}"


def _items(size: int, more: bytes = b"", count: int = 1_000) -> bytes:
    """Good items, each with as many members of its input as there is room for, and for all together may be."""
    members = min(size // count // 16, 480_000 // count - 4)
    inputs = b",".join(b'"member%d":12345' % n for n in range(members))
    one = b'{"id":"i%d","calculator":"electrical.service","given":{' + inputs + b"}}"
    if more:
        one = one.replace(b'"calculator":"electrical.service",', b"")
    return b'{"items":[' + b",".join(one % n for n in range(count)) + b"]" + more + b"}"


def _given(inside: bytes) -> bytes:
    """Of a sweep, and nearly of a limit."""
    return (
        b'{"calculator":"electrical.service","given":{"voltage":{"value":1,"unit":"V"},"x":' + inside + b"},"
        b'"vary":[{"pointer":"/voltage","range":{"from":1,"to":9,"count":100}}],"keep":["/results"]}'
    )


def _limit(inside: bytes) -> bytes:
    whole = (
        _given(inside).replace(b'"vary":[', b'"vary":').replace(b'],"keep":["/results"]', b',"until":{"finding":"x"}')
    )
    return whole.replace(b'"range":{"from":1,"to":9,"count":100}', b'"from":1,"to":9')


BODIES: dict[str, tuple[str, Body]] = {
    "escapes": (JSON, lambda size: b'{"' + b'\\"' * (size // 2) + b"["),
    "escapes_closed": (JSON, lambda size: b'{"' + b"\\\\" * (size // 2) + b'":[' + b"[" * 200),
    "brackets": (JSON, lambda size: b"[" * size),
    "lists": (JSON, lambda size: b'{"machines":[' + b",".join([b"[]"] * (size // 3)) + b"]}"),
    "numbers": (JSON, lambda size: _worksheet(b"[" + b",".join([b"1"] * (size // 2)) + b"]")),
    "colons": (JSON, lambda size: _worksheet(b"[" + b",".join([b'"\\u003a"'] * (size // 9)) + b"]")),
    "references": (
        JSON,
        lambda size: _worksheet(b"[" + b",".join([b'{"from":"a","pointer":"/x"}'] * (size // 28)) + b"]"),
    ),
    "members": (JSON, _members),
    "digits": (JSON, lambda size: b'{"value":' + b"9" * min(900_000, size) + b"}"),
    "deep": (JSON, lambda size: _worksheet(b'{"a":' * 900 + b'"' + b"x" * size + b'"' + b"}" * 900)),
    "observations": (
        JSON,
        lambda size: b'{"observations":[' + b",".join([b'{"id":[[]]}'] * min(5_000, size // 12)) + b"]}",
    ),
    "long_items": (JSON, _items),
    "items_of_a_job": (JSON, lambda size: _items(size, b',"calculator":"electrical.service"', 9_000)),
    "wrong_observations": (
        JSON,
        lambda size: (
            b'{"observations":['
            + b",".join(
                [b'{"kind":"unit_level",' + b",".join(b'"n%d":1' % n for n in range(60)) + b"}"]
                * min(5_000, size // 550)
            )
            + b"]}"
        ),
    ),
    "long_given": (JSON, lambda size: _given(b"[" + b",".join([b"1"] * (size // 3)) + b"]")),
    "long_given_of_a_limit": (JSON, lambda size: _limit(b"[" + b",".join([b"1"] * (size // 3)) + b"]")),
    "repeated_member": (JSON, lambda size: _items(size).replace(b'"member1":', b'"member0":', 1)),
    "spaces": (JSON, lambda size: b" " * size + b"{}"),
    "empty_lines": (LINES, lambda size: b"\n" * size),
    "short_lines": (LINES, lambda size: b"{}\n" * (size // 3)),
    "long_line": (LINES, lambda size: b'{"machine_types":[' + b",".join([b"[]"] * (size // 3)) + b"]}\n"),
    "headings": (CSV, lambda size: ",".join(f"c{n}" for n in range(size // 8)).encode()),
    "steps": (CSV, lambda size: b"row," + b"a." * 50_000 + b"\r\n" + b"machine,1\r\n" * (size // 11)),
    "members_of_a_form": (FORM, lambda size: b"/a=1&" * (size // 5) + b"/a=1"),
    "signs_alone": (FORM, lambda size: b"&" * size),
    "escaped_text": (FORM, lambda size: b"/note=" + b"%41" * (size // 3)),
    "long_names": (FORM, lambda size: b"&".join(b"/" + b"a" * (size // 4_000) + b"%d=1" % n for n in range(3_900))),
    "deep_names": (FORM, lambda size: b"/a" * (size // 2) + b"=1"),
    "deep_list": (FORM, lambda size: b"add=" + b"/a" * (size // 2)),
    "far_places": (
        FORM,
        lambda size: b"&".join(b"/machines/%d/type=x" % (9**20 + n) for n in range(min(4_900, size // 45))),
    ),
    "far_place": (
        FORM,
        lambda size: b"/parts/" + b"9" * min(size, 100_000) + b"/name=x&/loads/" + b"9" * 5_000 + b"=1",
    ),
    "digits_of_a_form": (FORM, lambda size: b"/power_factor=" + b"9" * size + b"&/voltage/value=" + b"9" * 4_000),
    "rows": (CSV, lambda size: b"row,type,count\r\n" + b"machine,[1],1\r\n" * (size // 15)),
}
ADDRESSES: dict[str, tuple[str, int]] = {
    "POST /v1/calculators/electrical/service": (JSON, 1_000_000),
    "POST /v1/calculators/booking/assessment": (JSON, 1_000_000),
    "POST /v1/worksheets": (JSON, 16_000_000),
    "POST /v1/sweeps": (JSON, 1_000_000),
    "POST /v1/jobs": (JSON, 16_000_000),
    "POST /v1/limits": (JSON, 1_000_000),
    "PUT /v1/fleets/frozen": (JSON, 16_000_000),
    "PUT /v1/fleets/frozen/machines/one": (JSON, 1_000_000),
    "PUT /v1/fleets/table": (CSV, 16_000_000),
    "PUT /v1/bookings/frozen": (JSON, 16_000_000),
    "POST /v1/bookings/import": (LINES, 16_000_000),
    "POST /v1/bookings/frozen/hold": (JSON, 1_000_000),
    "PUT /v1/startups/frozen": (JSON, 1_000_000),
    "POST /v1/keys": (JSON, 1_000_000),
    "PUT /v1/webhooks/frozen": (JSON, 1_000_000),
    "POST /v1/startups/frozen/observations": (JSON, 16_000_000),
    "PUT /v1/forecasts/frozen": (JSON, 16_000_000),
    "PUT /v1/schedules/frozen": (JSON, 1_000_000),
    "POST /sign-in": (FORM, 1_000_000),
    "POST /sign-in/again": (FORM, 1_000_000),
    "POST /sign-out": (FORM, 1_000_000),
    "POST /orders/new": (FORM, 1_000_000),
    "POST /bench/electrical/service": (FORM, 1_000_000),
    "POST /v1/bookings/answered/answers": (FORM, 1_000_000),
    "POST /v1/startups/frozen/form": (FORM, 1_000_000),
}
"""Every kind of address that takes a body, with its media type and bytes taken."""
LIKE_ANOTHER = {
    "POST /v1/keys/{id}/rotate": "POST /v1/keys",
    "POST /v1/webhooks/{id}/replay": "PUT /v1/webhooks/frozen",
} | {
    f"POST /v1/bookings/{{reference}}/{door}": "POST /v1/bookings/frozen/hold"
    for door in ("confirm", "deliver", "return", "cancel")
}
"""Addresses whose body is read by the same lines as another's."""


AT_HOME = {
    "long_items": "worksheets",
    "repeated_member": "worksheets",
    "items_of_a_job": "jobs",
    "wrong_observations": "observations",
    "observations": "observations",
    "long_given": "sweeps",
    "long_given_of_a_limit": "limits",
}
"""Bodies that only one address reads to their end: others refuse them at their first member, as they refuse others."""


def kinds_for(address: str) -> list[str]:
    """The kinds of bodies that an address is attacked with."""
    taken, _ = ADDRESSES[address]
    return [
        kind for kind, (media_type, _) in BODIES.items() if media_type == taken and AT_HOME.get(kind, "") in address
    ]


@dataclass
class Noticed:
    """Seconds that health and a light calculation took beside an attack."""

    health: list[float] = field(default_factory=list)
    light: list[float] = field(default_factory=list)

    @property
    def median(self) -> float:
        """Of the slower of the two."""
        return max(statistics.median(self.health), statistics.median(self.light))

    @property
    def worst(self) -> float:
        """Of both."""
        return max(self.health + self.light)


def request(line: str, body: bytes = b"", media_type: str = JSON, length: int | None = None) -> bytes:
    """A request as it goes over the wire."""
    told = len(body) if length is None else length
    more = f"Content-Type: {media_type}\r\nContent-Length: {told}\r\n" if told else ""
    origin = "Origin: http://localhost\r\n" if media_type == FORM else ""
    return f"{line} HTTP/1.1\r\nHost: localhost\r\n{origin}{more}\r\n".encode() + body


async def status_of(port: int, sent: bytes, seconds: float = 120.0) -> int:
    """The status of the answer to a request on a connection of its own; 0 where the connection was closed."""
    try:
        async with asyncio.timeout(seconds):
            reader, writer = await asyncio.open_connection("127.0.0.1", port)
            try:
                writer.write(sent)
                head = await reader.readuntil(b"\r\n")
                return int(head.split()[1])
            finally:
                writer.transport.abort()  # what a refused body has left to be sent would keep it open
    except (OSError, asyncio.IncompleteReadError):
        return 0


@contextlib.asynccontextmanager
async def noticing(port: int, light: bytes) -> AsyncIterator[Noticed]:
    """Ask for health and a light calculation all the while, each on a new connection."""
    noticed, done = Noticed(), asyncio.Event()

    async def ask(sent: bytes, seconds: list[float]) -> None:
        while not done.is_set() or not seconds:
            began = time.monotonic()
            status = await status_of(port, sent)
            seconds.append(time.monotonic() - began if status == 200 else 120.0)
            await asyncio.sleep(0.02)

    watching = [
        asyncio.create_task(ask(request("GET /health/live"), noticed.health)),
        asyncio.create_task(ask(light, noticed.light)),
    ]
    try:
        yield noticed
    finally:
        done.set()
        await asyncio.gather(*watching)


async def attacked(port: int, light: bytes, address: str, bodies: Sequence[bytes]) -> tuple[list[int], Noticed]:
    """These bodies at once, and what was noticed."""
    async with noticing(port, light) as noticed:
        statuses = await asyncio.gather(
            *(status_of(port, request(address, body, ADDRESSES[address][0])) for body in bodies)
        )
    return list(statuses), noticed


@contextlib.asynccontextmanager
async def many_connections(port: int, beginnings: Sequence[bytes]) -> AsyncIterator[None]:
    """Connections that send a beginning and say no more."""
    writers = []
    for beginning in beginnings:
        with contextlib.suppress(OSError):
            _, writer = await asyncio.open_connection("127.0.0.1", port)
            writer.write(beginning)
            writers.append(writer)
    try:
        yield
    finally:
        for writer in writers:
            writer.transport.abort()
