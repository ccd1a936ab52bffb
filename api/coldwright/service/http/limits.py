"""How much one key, one tenant and all together may ask at a time, and a key in a minute.

One tenant alone may use nearly everything. Where others ask too, it may have its share of the places, and those that are
kept free let whoever has fewer come in at once.
"""

import time
from collections.abc import Callable

from coldwright.service.http.problems import ProblemRaised
from coldwright.service.settings import Settings

WINDOW = 60.0
KEPT_FREE = 8
"""One place in so many is kept for tenants that have fewer than their share."""


class Limits:
    """Counts requests under way and in the running minute. Lives in one event loop, so it needs no lock."""

    def __init__(self, settings: Settings, clock: Callable[[], float] = time.monotonic) -> None:
        self._settings, self._clock = settings, clock
        self._total = 0
        self._under_way: dict[str, int] = {}
        self._of_tenants: dict[str, int] = {}
        self._spent: dict[str, tuple[float, int]] = {}

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
        self._spend(caller)
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

    def headers(self, caller: str) -> dict[str, str]:
        """Rate-limit headers (IETF draft `ratelimit-headers`); none when there is no quota."""
        quota = self._settings.requests_per_minute
        if not quota:
            return {}
        began, count = self._spent.get(caller, (self._clock(), 0))
        left = max(0, round(began + WINDOW - self._clock()))
        return {
            "RateLimit-Policy": f'"minute";q={quota};w=60',
            "RateLimit": f'"minute";r={max(0, quota - count)};t={left}',
        }

    def _spend(self, caller: str) -> None:
        quota = self._settings.requests_per_minute
        if not quota:
            return
        now = self._clock()
        began, count = self._spent.get(caller, (now, 0))
        if now - began >= WINDOW:
            began, count = now, 0
        if count >= quota:
            raise ProblemRaised(
                "too-many-requests", f"This key may send {quota} requests a minute.", retry_after=began + WINDOW - now
            )
        self._spent[caller] = (began, count + 1)
        if len(self._spent) > 10_000:  # keys that were last seen long ago
            self._spent = {k: v for k, v in self._spent.items() if now - v[0] < WINDOW}


def _less(counts: dict[str, int], name: str) -> None:
    counts[name] -= 1
    if not counts[name]:
        del counts[name]
