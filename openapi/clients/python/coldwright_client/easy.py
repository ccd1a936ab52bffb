"""What makes the generated functions short to use: a client that retries, answers or an exception, lists without pages."""

from collections.abc import Callable, Iterator
from typing import Any, TypeVar

import httpx
from coldwright_client.client import AuthenticatedClient, Client
from coldwright_client.models import Problem
from coldwright_client.retrying import Retrying
from coldwright_client.types import Response

T = TypeVar("T")


class Failed(Exception):  # noqa: N818
    """The service answered with a problem, or with something that the document does not have."""

    def __init__(self, status: int, problem: Problem | None) -> None:
        self.status, self.problem = status, problem
        super().__init__(f"{status}: {problem.title}: {problem.detail}" if problem else str(status))


def connect(
    url: str,
    key: str | None = None,
    *,
    seconds: float = 60.0,
    attempts: int = 5,
    longest_pause: float = 60.0,
    transport: httpx.BaseTransport | None = None,
) -> Client | AuthenticatedClient:
    """A client that asks again where that can do no harm; without a key on the service's own machine."""
    retrying = Retrying(transport, attempts=attempts, longest_pause=longest_pause)
    common: dict[str, Any] = {"base_url": url, "timeout": httpx.Timeout(seconds), "httpx_args": {"transport": retrying}}
    return Client(**common) if key is None else AuthenticatedClient(token=key, **common)


def answer(response: Response[T | Problem]) -> T:
    """What was answered; raises `Failed` for a problem."""
    parsed = response.parsed
    if isinstance(parsed, Problem):
        raise Failed(int(response.status_code), parsed)
    if parsed is None:
        raise Failed(int(response.status_code), None)
    return parsed


def every(ask: Callable[..., Response[Any]], entries: str, *place: str, **filters: Any) -> Iterator[Any]:
    """Every entry of a list, page after page: `every(list_bookings.sync_detailed, "bookings", client=client)`."""
    while True:
        page = answer(ask(*place, **filters))
        yield from getattr(page, entries)
        if not page.next_page_token:
            return
        filters["page_token"] = page.next_page_token
