"""Health, metrics, and the published document with its page."""

from typing import Annotated

from litestar import Response
from msgspec import Meta, Struct

from coldwright import __version__
from coldwright.service.http.endpoint import HAS_IT, Asked, Endpoint, Reply
from coldwright.service.http.problems import ProblemRaised
from coldwright.service.http.replies import cached_reply, json_reply
from coldwright.service.jobs.driving import look_at_backlog
from coldwright.service.people.shell import policy, see


class Live(Struct, frozen=True):
    """The process runs."""

    status: Annotated[str, Meta(description="`live`.")]
    version: Annotated[str, Meta(description="Version of the service.")]


class Ready(Struct, frozen=True):
    """Whether requests can be served now."""

    status: Annotated[str, Meta(description="`ready` or `not_ready`.")]
    reasons: Annotated[tuple[str, ...], Meta(description="Why not.")]


async def _live(_asked: Asked) -> Response[bytes]:
    return json_reply(Live("live", __version__))


async def _ready(asked: Asked) -> Response[bytes]:
    registry, engine, settings = asked.services.registry, asked.services.engine, asked.services.settings
    required = settings.required_plugins.split(",")
    reasons = [f"plugin {name} is not served: {why}" for name in required if name and (why := registry.why(name))]
    if asked.services.stopping:
        reasons.append("the service is stopping")
    reasons += [f"the workers of {name} are starting" for name in engine.waits_for(settings.worker_start_seconds)]
    if trouble := await asked.services.store_trouble():
        reasons.append(trouble)
    if reasons:
        return json_reply(Ready("not_ready", tuple(reasons)), 503, {"Retry-After": "2"})
    return json_reply(Ready("ready", ()))


async def _metrics(asked: Asked) -> Response[bytes]:
    await look_at_backlog(asked.services)
    return Response(asked.services.metrics.page(), status_code=200, media_type="text/plain; version=0.0.4")


async def _document(asked: Asked) -> Response[bytes]:
    return cached_reply(asked, await asked.services.apart(asked.services.published.document), "application/json")


async def _page(asked: Asked) -> Response[bytes]:
    reply = cached_reply(asked, await asked.services.apart(asked.services.published.page), "text/html")
    reply.headers.update({name: text for name, text in policy().items() if name == "Content-Security-Policy"})
    return reply


async def _nothing(asked: Asked) -> Response[bytes]:
    if (asked.header("accept") or "").startswith("text/html"):
        return see("/yard")
    raise ProblemRaised("not-found", "See /openapi/v1.json or, to read, /openapi/v1.html.")


def endpoints() -> list[Endpoint]:
    """The addresses of this resource."""
    return [
        Endpoint(
            "GET",
            "/health/live",
            "getLive",
            "Does the process run",
            "operation",
            "public",
            _live,
            {200: Reply("It runs.", Live)},
        ),
        Endpoint(
            "GET",
            "/health/ready",
            "getReady",
            "Can requests be served",
            "operation",
            "public",
            _ready,
            {200: Reply("They can.", Ready), 503: Reply("They can't; the body says why.", Ready)},
        ),
        Endpoint(
            "GET",
            "/metrics",
            "getMetrics",
            "Numbers for Prometheus",
            "operation",
            "public",
            _metrics,
            {200: Reply("Text exposition format.", str, "text/plain")},
        ),
        Endpoint(
            "GET",
            "/openapi/v1.json",
            "getDocument",
            "This document",
            "operation",
            "public",
            _document,
            {200: Reply("OpenAPI 3.1.", dict), 304: HAS_IT},
        ),
        Endpoint(
            "GET",
            "/openapi/v1.html",
            "getDocumentPage",
            "This document, to read",
            "operation",
            "public",
            _page,
            {
                200: Reply("A page of this service alone, which loads nothing from elsewhere.", str, "text/html"),
                304: HAS_IT,
            },
        ),
        Endpoint("GET", "/", "getRoot", "Where to begin", "operation", "public", _nothing, {}, documented=False),
    ]
