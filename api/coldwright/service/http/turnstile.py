"""Lets requests onto the event loop one after the other, from each tenant in turn.

What is answered in line takes the loop for itself. Without this, a tenant with a hundred requests under way has a hundred
places before another's one; with it, each request waits for one of every other tenant at most.
"""

import asyncio

from coldwright.engine.turns import Turns


class Turnstile:
    """One request for each round of the loop. Whoever comes while nobody waits goes straight through."""

    def __init__(self, longest: int, weights: dict[str, int] | None = None) -> None:
        self._turns: Turns[None] = Turns(longest, weights)
        self._free = True

    async def enter(self, tenant: str) -> None:
        """Wait for this tenant's turn."""
        loop = asyncio.get_running_loop()
        if self._free:
            self._free = False
            loop.call_soon(self._next, loop)
            return
        called = asyncio.Event()
        ticket = self._turns.join(tenant, called)
        if ticket is None:  # more are under way than may be: whoever counts them has refused this one already
            return
        try:
            await called.wait()
        finally:
            self._turns.leave(ticket)

    def _next(self, loop: asyncio.AbstractEventLoop) -> None:
        ticket = self._turns.next()
        if ticket is None:
            self._free = True
            return
        ticket.called.set()
        loop.call_soon(self._next, loop)
