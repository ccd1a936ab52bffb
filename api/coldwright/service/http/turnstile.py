"""Lets requests onto the event loop a few at a time, from each tenant in turn.

What is answered in line takes the loop for itself. Without this, a tenant with a hundred requests under way has a hundred
places before another's one; with it, another's waits for one round.
"""

import asyncio

from coldwright.engine.turns import Turns

IN_A_ROUND = 8
"""Requests for each round of the loop: with one, asking the system what has come takes a sixth of a light calculation."""


class Turnstile:
    """So many requests for each round of the loop. Whoever comes while places are left goes straight through."""

    def __init__(self, longest: int, weights: dict[str, int] | None = None) -> None:
        self._turns: Turns[None] = Turns(longest, weights)
        self._places = IN_A_ROUND

    async def enter(self, tenant: str) -> None:
        """Wait for this tenant's turn."""
        loop = asyncio.get_running_loop()
        if self._places == IN_A_ROUND:
            loop.call_soon(self._next_round, loop)
        if self._places:
            self._places -= 1
            return
        called = asyncio.Event()
        ticket = self._turns.join(tenant, called)
        if ticket is None:  # more are under way than may be: whoever counts them has refused this one already
            return
        try:
            await called.wait()
        finally:
            self._turns.leave(ticket)

    def _next_round(self, loop: asyncio.AbstractEventLoop) -> None:
        self._places = IN_A_ROUND
        while self._places and (ticket := self._turns.next()) is not None:
            self._places -= 1
            ticket.called.set()
        if self._places < IN_A_ROUND:
            loop.call_soon(self._next_round, loop)
