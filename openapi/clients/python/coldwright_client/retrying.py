"""Asks again where that can do no harm, and no sooner than the service wants."""

import random
import time
import uuid
from collections.abc import Callable
from datetime import UTC, datetime
from email.utils import parsedate_to_datetime

import httpx

BUSY = (429, 503)
"""Refused before anything was done: these say when to come back."""
UNKNOWN = (502, 504)
"""It may have been done."""
_ONCE = ("/v1/keys", "/rotate", "/replay")
"""Posts to these do something anew each time."""


class Retrying(httpx.BaseTransport):
    """Sends a request up to `attempts` times; a pause longer than `longest_pause` seconds is left to the caller.

    A job that is made without an `Idempotency-Key` gets one, so that asking again makes no second job.
    """

    def __init__(
        self,
        inner: httpx.BaseTransport | None = None,
        *,
        attempts: int = 5,
        longest_pause: float = 60.0,
        sleep: Callable[[float], None] = time.sleep,
    ) -> None:
        self._inner = inner or httpx.HTTPTransport()
        self._attempts, self._longest, self._sleep = attempts, longest_pause, sleep

    def handle_request(self, request: httpx.Request) -> httpx.Response:
        """The last answer that there was; raises what the connection raised where it was the last attempt."""
        if request.method == "POST" and request.url.path == "/v1/jobs":
            request.headers.setdefault("Idempotency-Key", uuid.uuid4().hex)
        for attempt in range(1, self._attempts + 1):
            last = attempt == self._attempts
            try:
                response = self._inner.handle_request(request)
            except httpx.TransportError:
                if last or not repeatable(request):
                    raise
                pause = _growing(attempt)
            else:
                again = response.status_code in BUSY or (response.status_code in UNKNOWN and repeatable(request))
                wanted = asked_pause(response.headers.get("Retry-After"))
                pause = _growing(attempt) if wanted is None else wanted
                if last or not again or pause > self._longest:
                    return response
                response.close()
            self._sleep(pause)
        raise ValueError("There must be one attempt at least.")

    def close(self) -> None:
        """Close the connections."""
        self._inner.close()


def repeatable(request: httpx.Request) -> bool:
    """Whether sending it twice comes to the same as once."""
    return request.method != "POST" or not request.url.path.endswith(_ONCE)


def asked_pause(text: str | None) -> float | None:
    """Seconds of a `Retry-After`, as a number or a date (RFC 9110, 10.2.3); nothing where it has neither."""
    if text is None:
        return None
    if text.strip().isascii() and text.strip().isdigit():
        return float(text)
    try:
        return max(0.0, (parsedate_to_datetime(text) - datetime.now(UTC)).total_seconds())
    except (TypeError, ValueError):
        return None


def _growing(attempt: int) -> float:
    """Half a second, one, two, and so on, with some chance, so that many clients do not come back together."""
    return 0.5 * 2 ** (attempt - 1) * random.uniform(0.8, 1.2)  # noqa: S311
