"""Whose turn it is: what waits is taken from each tenant in turn, by its weight."""

from collections import OrderedDict, deque
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


class Turns(Generic[W]):
    """Weighted round-robin over tenants, first come first served within each. Needs its owner's lock."""

    def __init__(self, longest: int, weights: Mapping[str, int] | None = None) -> None:
        self._longest, self._weights = longest, dict(weights or {})
        self._lines: OrderedDict[str, deque[Ticket[W]]] = OrderedDict()
        self._served_in_turn = 0
        self._count = 0

    def __len__(self) -> int:
        return self._count

    def ahead_of(self, tenant: str) -> int:
        """Questions that would be taken before one more of this tenant."""
        mine = len(self._lines.get(tenant, ()))
        rounds = mine // self._weight(tenant) + 1
        others = sum(min(len(q), rounds * self._weight(t)) for t, q in self._lines.items() if t != tenant)
        return mine + others

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
                self._end_turn(ticket.tenant)

    def next(self) -> Ticket[W] | None:
        """Who is to be served now; nothing where nobody waits."""
        if not self._lines:
            return None
        tenant, line = next(iter(self._lines.items()))
        ticket = line.popleft()
        self._count -= 1
        self._served_in_turn += 1
        if not line:
            self._end_turn(tenant)
        elif self._served_in_turn >= self._weight(tenant):
            self._lines.move_to_end(tenant)
            self._served_in_turn = 0
        return ticket

    def drain(self) -> None:
        """Send everybody away."""
        while (ticket := self.next()) is not None:
            ticket.called.set()

    def _end_turn(self, tenant: str) -> None:
        if next(iter(self._lines)) == tenant:
            self._served_in_turn = 0
        del self._lines[tenant]

    def _weight(self, tenant: str) -> int:
        return self._weights.get(tenant, 1)
