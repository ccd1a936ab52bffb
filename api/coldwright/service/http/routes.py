"""From declared addresses to the framework's ordinary route handlers."""

import re
from collections.abc import Awaitable, Callable, Iterable
from typing import Any

from litestar import HttpMethod, Response, route
from litestar.handlers import HTTPRouteHandler

from coldwright.service.http.body import largest_sent
from coldwright.service.http.endpoint import Asked, Endpoint
from coldwright.service.settings import Settings

Admit = Callable[[Asked], Awaitable[None]]
"""Lets a request through or raises a problem: the guard's. (The framework's own guards get a copy of the whole route each
time, a twelfth of the processor time of the smallest calculation.)"""


def route_handlers(endpoints: Iterable[Endpoint], settings: Settings, admit: Admit) -> list[HTTPRouteHandler]:
    """One handler for each address and method, and one for each address that answers `OPTIONS`."""
    methods: dict[str, list[str]] = {}
    handlers = []
    for endpoint in endpoints:
        path = re.sub(r"\{(\w+)\}", r"{\1:str}", endpoint.path)
        taken: list[str] = ["GET", "HEAD"] if endpoint.method == "GET" else [endpoint.method]
        methods.setdefault(path, ["OPTIONS"]).extend(taken)
        handlers.append(_handler(path, taken, endpoint, settings, admit))
    # first, because the framework adds an answer to OPTIONS of its own to the first handler of a path, for that alone
    return [_options(path, sorted(taken)) for path, taken in methods.items()] + handlers


def _handler(path: str, methods: list[str], endpoint: Endpoint, settings: Settings, admit: Admit) -> HTTPRouteHandler:
    async def handle(request: Asked) -> Response[Any]:
        await admit(request)
        return await endpoint.handler(request)

    return route(
        path,
        http_method=[HttpMethod(m) for m in methods],
        status_code=200,
        opt={"endpoint": endpoint},
        request_max_body_size=largest_sent(endpoint, settings),
    )(handle)


def _options(path: str, methods: list[str]) -> HTTPRouteHandler:
    async def handle() -> None: ...

    allowed = {"Allow": ", ".join(methods)}
    return route(path, http_method=HttpMethod.OPTIONS, status_code=204, response_headers=allowed)(handle)
