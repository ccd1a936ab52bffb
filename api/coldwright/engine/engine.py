"""Where a calculation runs: light first-party ones in line, the rest in worker processes."""

import asyncio
from concurrent.futures import ThreadPoolExecutor
from typing import Literal

from msgspec import Struct

from coldwright.contract import Load
from coldwright.contract.answer import Units
from coldwright.engine import worker as worker_module
from coldwright.engine.evaluate import evaluate_here
from coldwright.engine.outcome import Evaluated, NoFreeWorker
from coldwright.engine.workers import Crew, _context
from coldwright.registry import FIRST_PARTY, Registry, Served

LARGEST_IN_LINE = 100_000
"""Bytes of an input above which even a light calculator would hold up the event loop."""

EngineKind = Literal["workers", "inline"]


class Engine:
    """Evaluates served calculators. `inline` keeps everything in this process: for the command line and for tests."""

    def __init__(
        self,
        registry: Registry,
        kind: EngineKind = "workers",
        *,
        size: int = 2,
        seconds: float = 10.0,
        memory_limit: int = 2 * 1024**3,
        longest_queue: int = 64,
        rest: float = 30.0,
    ) -> None:
        self._registry, self._kind, self._seconds = registry, kind, seconds
        self._crews: dict[str, Crew] = {}
        self._threads: dict[str, ThreadPoolExecutor] = {}
        self._under_way: dict[str, int] = {}
        if kind == "workers":
            _context.set_forkserver_preload([f"{worker_module.__package__}.preloaded"])
            distributions = {FIRST_PARTY} | {s.distribution for s in registry.served.values()}
            for name in distributions:
                own = name == FIRST_PARTY
                self._crews[name] = Crew(
                    size if own else 1,
                    seconds=seconds,
                    memory_limit=0 if own else memory_limit,
                    longest_queue=longest_queue if own else 16,
                    own=own,
                    rest=rest,
                )
                self._threads[name] = ThreadPoolExecutor(self._crews[name].most_at_once, thread_name_prefix="crew")
                self._under_way[name] = 0

    def runs_in_line(self, served: Served, length: int = 0) -> bool:
        """Whether this calculator is answered in this process: a light one of ours, for an input of ordinary length."""
        light = served.first_party and served.calculator.load is Load.LIGHT and length <= LARGEST_IN_LINE
        return self._kind == "inline" or light

    async def evaluate(self, served: Served, given: Struct, body: bytes, units: Units) -> Evaluated:
        """Answer. `given` is `body`, read. Raises `Refused` or a `Failure`."""
        if self.runs_in_line(served, len(body)):
            return evaluate_here(self._registry, served, given, units)
        name = served.distribution
        crew, loop = self._crews[name], asyncio.get_running_loop()
        if self._under_way[name] >= crew.most_at_once:
            raise NoFreeWorker("Every worker is busy and the queue is full.", 1.0)
        if (wait := crew.expected_wait) > self._seconds / 2:  # better told now than after it has waited
            raise NoFreeWorker(f"It would wait for about {wait:.0f} s.", wait)
        self._under_way[name] += 1
        try:
            return await loop.run_in_executor(self._threads[name], crew.ask, served.name, body, units)
        finally:
            self._under_way[name] -= 1

    def evaluate_now(self, served: Served, given: Struct, body: bytes, units: Units) -> Evaluated:
        """The same, for callers that may block."""
        if self.runs_in_line(served, len(body)):
            return evaluate_here(self._registry, served, given, units)
        return self._crews[served.distribution].ask(served.name, body, units)

    async def start(self) -> None:
        """Start the first-party workers in the background, so that the first question finds them loaded."""
        if self._kind == "workers":
            self._crews[FIRST_PARTY].warm()

    def stop(self) -> None:
        """End all workers."""
        for crew in self._crews.values():
            crew.close()
        for threads in self._threads.values():
            threads.shutdown(wait=True, cancel_futures=True)
