"""How much one key, one tenant and all together may ask at a time.

One tenant alone may use nearly everything. Where others ask too, it may have its share of the places, and those that are
kept free let whoever has fewer come in at once.
"""

from coldwright.service.http.problems import ProblemRaised
from coldwright.service.settings import Settings

KEPT_FREE = 8
"""One place in so many is kept for tenants that have fewer than their share."""


class Limits:
    """Counts requests under way. Lives in one event loop, so it needs no lock."""

    def __init__(self, settings: Settings) -> None:
        self._settings = settings
        self._total = 0
        self._under_way: dict[str, int] = {}
        self._of_tenants: dict[str, int] = {}

    def arrive(self) -> None:
        """Count a request in, before anything is known of it; raises a problem when it is one too many of all."""
        if self._total >= self._settings.total_concurrency:
            raise ProblemRaised("overloaded", f"{self._total} requests are under way.", retry_after=1)
        self._total += 1

    def depart(self) -> None:
        """Count it out."""
        self._total -= 1

    def enter(self, caller: str, tenant: str) -> None:
        """Count it against its key and tenant; raises a problem when it is one too many for either. Pair with `leave`."""
        mine = self._under_way.get(caller, 0)
        if mine >= self._settings.concurrency:
            raise ProblemRaised("overloaded", f"{mine} requests of this key are under way.", retry_after=1)
        ours = self._of_tenants.get(tenant, 0)
        if ours >= self.share_of(tenant):
            raise ProblemRaised("overloaded", f"{ours} requests of this tenant are under way.", retry_after=1)
        self._under_way[caller] = mine + 1
        self._of_tenants[tenant] = ours + 1

    def leave(self, caller: str, tenant: str) -> None:
        """Count it out."""
        _less(self._under_way, caller)
        _less(self._of_tenants, tenant)

    def share_of(self, tenant: str) -> int:
        """Requests that a tenant may have under way now: its own limit, and an equal part of what is not kept free."""
        asking = len(self._of_tenants.keys() | {tenant})
        total = self._settings.total_concurrency
        share = max(1, (total - total // KEPT_FREE) // asking)
        own = self._settings.tenant_concurrency
        return min(own, share) if own else share


def _less(counts: dict[str, int], name: str) -> None:
    counts[name] -= 1
    if not counts[name]:
        del counts[name]
