"""Two tenants on one service: a crowd of one's requests, and the other's, one after the other. For a test and a bench."""

import asyncio
import statistics
import time
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import httpx

from coldwright.store import Database, upgrade
from coldwright.store.keys import create_key


@dataclass
class Heard:
    """Seconds to each answer, by status."""

    seconds: dict[int, list[float]] = field(default_factory=dict)
    unexplained: int = 0
    """Refusals without `Retry-After`."""

    def add(self, reply: httpx.Response, seconds: float) -> None:
        """One answer."""
        self.seconds.setdefault(reply.status_code, []).append(seconds)
        if reply.status_code in (429, 503) and "retry-after" not in reply.headers:
            self.unexplained += 1

    def within(self, share: float, status: int = 200) -> float:
        """Time within which this share of the answers came."""
        times = sorted(self.seconds.get(status, [0.0]))
        return times[min(len(times) - 1, int(share * len(times)))]


def two_tenants(folder: Path) -> tuple[str, list[dict[str, str]], dict[str, str]]:
    """A store with two keys of one tenant and one of another: its address, and the headers of each."""
    url = f"sqlite:///{folder}/store.sqlite3"
    database = Database(url)
    upgrade(database)
    secrets = [create_key(database, tenant, ("calculate",))[1] for tenant in ("crowd", "crowd", "alone")]
    database.close()
    first, second, alone = ({"authorization": f"Bearer {secret}"} for secret in secrets)
    return url, [first, second], alone


async def beside(
    url: str, address: str, given: Any, crowd: list[dict[str, str]], alone: dict[str, str], size: int, count: int
) -> tuple[Heard, Heard, Heard]:
    """What the one tenant hears alone; what it hears beside a crowd of `size`; and what the crowd hears."""
    quiet, loud, many, done = Heard(), Heard(), Heard(), asyncio.Event()
    limits = httpx.Limits(max_connections=size + 2)
    async with httpx.AsyncClient(base_url=url, timeout=60, limits=limits) as client:

        async def ask(headers: dict[str, str], heard: Heard) -> None:
            began = time.perf_counter()
            heard.add(await client.post(address, json=given, headers=headers), time.perf_counter() - began)

        async def one_of_the_crowd(number: int) -> None:
            while not done.is_set():
                await ask(crowd[number % len(crowd)], many)

        for heard in (Heard(), quiet):  # the first round only warms what is used
            for _ in range(count):
                await ask(alone, heard)
        tasks = [asyncio.create_task(one_of_the_crowd(n)) for n in range(size)]
        await asyncio.sleep(1.0 + 10 * statistics.median(quiet.seconds[200]))
        for _ in range(count):
            await ask(alone, loud)
        done.set()
        await asyncio.gather(*tasks)
    return quiet, loud, many
