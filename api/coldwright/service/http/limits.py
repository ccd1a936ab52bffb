"""How much one key and all keys together may ask at a time, and in a minute."""

import time
from collections.abc import Callable

from coldwright.service.http.problems import ProblemRaised
from coldwright.service.settings import Settings

WINDOW = 60.0


class Limits:
    """Counts requests under way and in the running minute. Lives in one event loop, so it needs no lock."""

    def __init__(self, settings: Settings, clock: Callable[[], float] = time.monotonic) -> None:
        self._settings, self._clock = settings, clock
        self._total = 0
        self._under_way: dict[str, int] = {}
        self._spent: dict[str, tuple[float, int]] = {}

    def arrive(self) -> None:
        """Count a request in, before anything is known of it; raises a problem when it is one too many of all."""
        if self._total >= self._settings.total_concurrency:
            raise ProblemRaised("overloaded", f"{self._total} requests are under way.", retry_after=1)
        self._total += 1

    def depart(self) -> None:
        """Count it out."""
        self._total -= 1

    def enter(self, caller: str) -> None:
        """Count it against its key; raises a problem when it is one too many for that. Pair with `leave`."""
        mine = self._under_way.get(caller, 0)
        if mine >= self._settings.concurrency:
            raise ProblemRaised("overloaded", f"{mine} requests of this key are under way.", retry_after=1)
        self._spend(caller)
        self._under_way[caller] = mine + 1

    def leave(self, caller: str) -> None:
        """Count it out."""
        left = self._under_way[caller] - 1
        if left:
            self._under_way[caller] = left
        else:
            del self._under_way[caller]

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
