"""Whose turn it is: what waits is taken from each tenant in turn, by its weight.

Start-time fair queueing (Goyal, Vin and Cheng 1996; from memory). Each question has a start in a time that turns alone move
on: that of the one before it of the same tenant and a turn's length (1 by weight), or now, whichever is later. The earliest
start goes first. So whoever waits all the while is served round by round, and a tenant that asks seldom is next when it
comes: a turn that it did not use is neither saved up nor waited for.
"""

from collections import deque
from collections.abc import Mapping
from contextvars import ContextVar
from typing import Generic, Protocol, TypeVar

W = TypeVar("W")

asking_tenant: ContextVar[str] = ContextVar("asking_tenant", default="")
"""The tenant for whom the present request or job runs: set where a caller is known, read where work waits its turn."""


class Signal(Protocol):
    """What wakes whoever waits: an event of threads, or one of the loop."""

    def set(self) -> None:
        """Wake it."""


class Ticket(Generic[W]):
    """One question that waits."""

    def __init__(self, tenant: str, called: Signal) -> None:
        self.tenant, self.called = tenant, called
        self.worker: W | None = None
        self.pushed_out = False


MOST_KNOWN = 1000
"""Tenants whose last turn is known before those are forgotten whose turn is over."""


class Turns(Generic[W]):
    """Weighted turns of tenants, first come first served within each. Needs its owner's lock."""

    def __init__(self, longest: int, weights: Mapping[str, int] | None = None) -> None:
        self._longest, self._weights = longest, dict(weights or {})
        self._lines: dict[str, deque[Ticket[W]]] = {}
        self._starts: dict[str, float] = {}
        """Of each that waits: when its next turn starts."""
        self._ends: dict[str, float] = {}
        """When the last turn of each ends."""
        self._now = 0.0
        self._count = 0

    def __len__(self) -> int:
        return self._count

    def ahead_of(self, tenant: str) -> int:
        """Questions that would be taken before one more of this tenant."""
        mine = len(self._lines.get(tenant, ()))
        start = self._start(tenant) + mine / self._weight(tenant)
        before = 0
        for other, line in self._lines.items():
            turns = (start - self._starts[other]) * self._weight(other)
            if other != tenant and turns >= 0:
                before += min(len(line), int(turns) + 1)
        return mine + before

    def join(self, tenant: str, called: Signal) -> Ticket[W] | None:
        """A place in line; nothing where all places are taken and no tenant has more of them than this one.

        Where another has more, its latest question gives up its place: a full line is shared, not owned.
        """
        if self._count >= self._longest:
            greedy = max(self._lines, key=lambda t: len(self._lines[t]) / self._weight(t))
            mine = (len(self._lines.get(tenant, ())) + 1) / self._weight(tenant)
            if greedy == tenant or len(self._lines[greedy]) / self._weight(greedy) <= mine:
                return None
            last = self._lines[greedy][-1]
            self.leave(last)
            last.pushed_out = True
            last.called.set()
        ticket: Ticket[W] = Ticket(tenant, called)
        self._starts[tenant] = self._start(tenant)
        self._lines.setdefault(tenant, deque()).append(ticket)
        self._count += 1
        return ticket

    def leave(self, ticket: Ticket[W]) -> None:
        """Give up a place; does nothing where it was given up before."""
        line = self._lines.get(ticket.tenant)
        if line is not None and ticket in line:
            line.remove(ticket)
            self._count -= 1
            if not line:
                self._no_more_of(ticket.tenant)

    def next(self) -> Ticket[W] | None:
        """Who is to be served now; nothing where nobody waits."""
        if not self._lines:
            return None
        tenant = min(self._starts, key=self._starts.__getitem__)
        line = self._lines[tenant]
        ticket = line.popleft()
        self._count -= 1
        self._now = self._starts[tenant]
        self._ends[tenant] = self._starts[tenant] = self._now + 1 / self._weight(tenant)
        if not line:
            self._no_more_of(tenant)
        return ticket

    def drain(self) -> None:
        """Send everybody away."""
        while (ticket := self.next()) is not None:
            ticket.called.set()

    def _start(self, tenant: str) -> float:
        """When the next turn of a tenant starts."""
        waiting = self._starts.get(tenant)
        return max(self._ends.get(tenant, 0.0), self._now) if waiting is None else waiting

    def _no_more_of(self, tenant: str) -> None:
        del self._lines[tenant], self._starts[tenant]
        if len(self._ends) > MOST_KNOWN:
            self._ends = {known: end for known, end in self._ends.items() if end > self._now}

    def _weight(self, tenant: str) -> int:
        return self._weights.get(tenant, 1)
