"""More requests than the service can carry, on loopback, bounded in number and time; and what became of them."""

import asyncio
import json
import time
from dataclasses import dataclass, field
from pathlib import Path

import httpx

PATH = "/v1/calculators/booking/assessment"
CONNECTIONS = 150
MOST = 20_000
"""Requests that are sent at most, whatever the machine can carry."""


@dataclass
class Load:
    """What was sent, and seconds to each answer by status."""

    carried: float
    """Answers per second that the service can give, measured before."""
    offered: float = 0.0
    seconds: dict[int, list[float]] = field(default_factory=dict)
    health: list[float] = field(default_factory=list)
    unexplained: list[str] = field(default_factory=list)

    def slowest(self, status: int, share: float = 1.0) -> float:
        """Time within which this share of the answers of a status came."""
        times = sorted(self.seconds.get(status, [0.0]))
        return times[min(len(times) - 1, int(share * len(times)))]

    def lines(self) -> list[str]:
        """For people."""
        told = [f"carries {self.carried:.1f}/s, was offered {self.offered:.1f}/s"]
        for status, times in sorted(self.seconds.items()):
            told.append(
                f"{status}: {len(times)} answers, median {self.slowest(status, 0.5):.3f} s, "
                f"95 % within {self.slowest(status, 0.95):.3f} s, slowest {self.slowest(status):.3f} s"
            )
        told.append(f"health beside it: slowest of {len(self.health)} {max(self.health):.3f} s")
        return told


async def overload(url: str, seconds: float = 8.0, times: float = 4.0) -> Load:
    """Measure what it carries, then send `times` as much over many connections, for so many seconds."""
    with httpx.Client(base_url=url, timeout=60) as client:
        given = client.get(PATH).json()["examples"][0]["given"]
        for _ in range(4):
            client.post(PATH, json=given).raise_for_status()
    host, port = url.removeprefix("http://").split(":")
    body = json.dumps(given).encode()
    head = (
        f"POST {PATH} HTTP/1.1\r\nHost: {host}\r\nContent-Type: application/json\r\nContent-Length: {len(body)}\r\n\r\n"
    )
    measured = Load(0.0)
    await _clients(4, int(port), head.encode() + body, 3.0, 0.0, measured)
    load = Load(len(measured.seconds[200]) / 3.0)
    done = asyncio.Event()
    watching = asyncio.create_task(_watch(int(port), load, done))
    pause = CONNECTIONS / (load.carried * times)
    await _clients(CONNECTIONS, int(port), head.encode() + body, seconds, pause, load)
    done.set()
    await watching
    load.offered = sum(map(len, load.seconds.values())) / seconds
    return load


def refused_milliseconds(log: Path) -> list[float]:
    """What each refusal took by the service's own log, from the end of its head to the end of its answer, in order."""
    lines = (json.loads(line) for line in log.read_text().splitlines() if line.startswith("{"))
    return sorted(line["milliseconds"] for line in lines if line.get("problem") in ("overloaded", "too-many-requests"))


async def _clients(count: int, port: int, request: bytes, seconds: float, pause: float, load: Load) -> None:
    """Clients that each send a request every `pause` seconds, or as soon as the last one is answered."""
    began = time.monotonic()

    async def client(number: int) -> None:
        reader, writer = await asyncio.open_connection("127.0.0.1", port)
        moment = began + pause * number / count
        while (now := time.monotonic()) < began + seconds and sum(map(len, load.seconds.values())) < MOST:
            if moment > now:
                await asyncio.sleep(moment - now)
            moment += pause
            sent = time.monotonic()
            status, headers = await _ask(reader, writer, request)
            load.seconds.setdefault(status, []).append(time.monotonic() - sent)
            if status == 503 and b"retry-after: " not in headers:
                load.unexplained.append(headers.decode())
        writer.close()

    await asyncio.gather(*(client(n) for n in range(count)))


async def _ask(reader: asyncio.StreamReader, writer: asyncio.StreamWriter, request: bytes) -> tuple[int, bytes]:
    writer.write(request)
    headers = (await reader.readuntil(b"\r\n\r\n")).lower()
    await reader.readexactly(int(headers.split(b"content-length: ")[1].split(b"\r\n")[0]))
    return int(headers.split(b" ", 2)[1]), headers


async def _watch(port: int, load: Load, done: asyncio.Event) -> None:
    reader, writer = await asyncio.open_connection("127.0.0.1", port)
    while not done.is_set():
        began = time.monotonic()
        status, _ = await _ask(reader, writer, b"GET /health/live HTTP/1.1\r\nHost: x\r\n\r\n")
        load.health.append(time.monotonic() - began if status == 200 else 60.0)
        await asyncio.sleep(0.1)
    writer.close()
