"""How many requests a key and a tenant may send in a minute, counted by `limits`.

On PostgreSQL all processes of the service count in one table, so that three replicas share one quota. On SQLite, where one
process serves, it counts in memory; so it does while PostgreSQL does not answer, since calculators go on without it.
"""

import time
from collections.abc import Awaitable, Callable

from msgspec import Struct

from coldwright.service.http.callers import Caller
from coldwright.service.http.problems import ProblemRaised
from coldwright.service.settings import Settings
from coldwright.store import Database, StoreFull, StoreUnavailable

REST_SECONDS = 3.0
"""A store that did not answer is not asked to count again for so long: each attempt takes its time."""

Ask = Callable[..., Awaitable["Spent"]]
"""Runs what blocks on the store in a thread; raises `TimeoutError` where that takes too long."""


class Spent(Struct, frozen=True):
    """What is left, as headers (IETF draft `ratelimit-headers`)."""

    headers: dict[str, str]
    text: str = ""
    """What was more than may be sent; empty where there was something left."""
    seconds: int = 0
    """Until there is something left again."""

    def check(self) -> None:
        """Raise the problem of one request too many.

        It is made here: kept as a value, it would hold whoever raises it, and that request with its body, until the
        collector of cycles comes by.
        """
        if self.text:
            raise ProblemRaised("too-many-requests", self.text, retry_after=self.seconds)


class Rates:
    """The quotas of a minute that are set: one or two."""

    def __init__(self, settings: Settings, database: Database) -> None:
        from limits import RateLimitItemPerMinute  # a tenth of a second that a service without quotas need not spend
        from limits.storage import MemoryStorage
        from limits.strategies import FixedWindowRateLimiter

        from coldwright.service.http.shared_windows import SharedWindows

        self._quotas = [
            (RateLimitItemPerMinute(most, namespace=name), name, who)
            for name, who, most in (
                ("minute", "key", settings.requests_per_minute),
                ("tenant", "tenant", settings.tenant_requests_per_minute),
            )
            if most
        ]
        self._here = FixedWindowRateLimiter(MemoryStorage())
        self._shared = None if database.is_sqlite else FixedWindowRateLimiter(SharedWindows(database))
        self._rests_until = 0.0

    async def spend(self, ask: Ask, caller: Caller) -> Spent:
        """Count one request."""
        if self._shared is not None and time.monotonic() >= self._rests_until:
            try:
                return await ask(self.spent, caller, True)
            except (StoreUnavailable, StoreFull, TimeoutError):
                self._rests_until = time.monotonic() + REST_SECONDS
        return self.spent(caller, False)

    def spent(self, caller: Caller, shared: bool) -> Spent:
        """The same, counted in the database or here; may block. What a key has no right to is not taken from its tenant."""
        limiter = self._shared if shared and self._shared is not None else self._here
        policies, rests = [], []
        for item, name, who in self._quotas:
            spender = caller.id if who == "key" else caller.tenant
            good = limiter.hit(item, spender)
            ends_at, left = limiter.get_window_stats(item, spender)
            seconds = max(0, round(ends_at - time.time()))
            policies.append(f'"{name}";q={item.amount};w=60')
            rests.append(f'"{name}";r={max(0, left)};t={seconds}')
            if not good:
                text = f"This {who} may send {item.amount} requests a minute."
                return Spent(_headers(policies, rests), text, seconds)
        return Spent(_headers(policies, rests))


def has_rates(settings: Settings) -> bool:
    """Whether a quota of the minute is set."""
    return bool(settings.requests_per_minute or settings.tenant_requests_per_minute)


def _headers(policies: list[str], rests: list[str]) -> dict[str, str]:
    return {"RateLimit-Policy": ", ".join(policies), "RateLimit": ", ".join(rests)}
