"""Threads with a line before them in which each tenant has its turn: for what must not be done on the event loop."""

import asyncio
from collections.abc import Callable, Mapping
from concurrent.futures import ThreadPoolExecutor
from typing import TypeVar

from coldwright.engine.turns import Turns, asking_tenant

T = TypeVar("T")


class NoPlace(Exception):  # noqa: N818
    """The line is full, and no tenant has more places in it than this one."""


class InTurn:
    """So many threads. Whoever comes while one is free goes straight through."""

    def __init__(self, name: str, threads: int, longest: int, weights: Mapping[str, int] | None = None) -> None:
        """`longest`: how many may wait."""
        self._threads = ThreadPoolExecutor(threads, thread_name_prefix=name)
        self._free = threads
        self._turns: Turns[None] = Turns(longest, weights)

    async def do(self, work: Callable[[], T]) -> T:
        """Wait for this tenant's turn, then for the work. Raises `NoPlace`."""
        if self._free:
            self._free -= 1
        else:
            await self._called()
        try:
            return await asyncio.get_running_loop().run_in_executor(self._threads, work)
        finally:
            self._let_next()

    async def _called(self) -> None:
        called = asyncio.Event()
        ticket = self._turns.join(asking_tenant.get(), called)
        if ticket is None:
            raise NoPlace
        try:
            await called.wait()
        except asyncio.CancelledError:
            if called.is_set() and not ticket.pushed_out:
                self._let_next()
            self._turns.leave(ticket)
            raise
        if ticket.pushed_out:
            raise NoPlace

    def _let_next(self) -> None:
        ticket = self._turns.next()
        if ticket is None:
            self._free += 1
        else:
            ticket.called.set()

    def close(self, *, drop: bool) -> None:
        """Let what is worked on come to its end; `drop`: and nothing after it."""
        self._threads.shutdown(wait=True, cancel_futures=drop)
