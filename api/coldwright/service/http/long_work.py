"""What the service itself works on for long, such as reading a long body: one at a time, of each tenant in turn."""

import asyncio
from collections.abc import Callable, Mapping
from concurrent.futures import ThreadPoolExecutor
from typing import TypeVar

from coldwright.engine.turns import Turns, asking_tenant

T = TypeVar("T")


class LongWork:
    """A thread with a line before it.

    Reading a long body takes this process for itself, call by call of the decoder. Two at once would leave the event loop
    half as many moments between, and be done no sooner.
    """

    def __init__(self, longest: int, weights: Mapping[str, int] | None = None) -> None:
        """`longest`: more than can wait, since requests under way are bounded."""
        self._thread = ThreadPoolExecutor(1, thread_name_prefix="long")
        self._turns: Turns[None] = Turns(longest, weights)
        self._is_busy = False

    async def do(self, work: Callable[[], T]) -> T:
        """Wait for this tenant's turn, then for the work."""
        if self._is_busy:
            await self._wait()
        self._is_busy = True
        try:
            return await asyncio.get_running_loop().run_in_executor(self._thread, work)
        finally:
            self._let_next()

    async def _wait(self) -> None:
        called = asyncio.Event()
        ticket = self._turns.join(asking_tenant.get(), called)
        if ticket is None:
            return  # it waits in the line of the thread, without its turn
        try:
            await called.wait()
        except asyncio.CancelledError:
            if called.is_set():
                self._let_next()
            self._turns.leave(ticket)
            raise

    def _let_next(self) -> None:
        ticket = self._turns.next()
        self._is_busy = ticket is not None
        if ticket is not None:
            ticket.called.set()

    def close(self) -> None:
        """Let what is worked on come to its end, and nothing after it."""
        self._thread.shutdown(wait=True, cancel_futures=True)
