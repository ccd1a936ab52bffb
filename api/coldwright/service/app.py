"""The service: registry, engine, store and routes, put together."""

import contextlib
import re
from collections.abc import AsyncIterator
from typing import Any

import msgspec
import structlog
from litestar import HttpMethod, Litestar, Request, Response, asgi, route
from litestar.config.app import AppConfig
from litestar.datastructures import State
from litestar.enums import ScopeType
from litestar.exceptions import HTTPException, MethodNotAllowedException, NotFoundException
from litestar.types import HTTPScope, Receive, Scope, Send

from coldwright.engine import Engine
from coldwright.registry import Registry
from coldwright.service.authentication import Authenticator
from coldwright.service.endpoint import Endpoint
from coldwright.service.guard import Answering, Handle, guarded, problem_of
from coldwright.service.jobs_runner import JobsRunner
from coldwright.service.openapi.document import build_document
from coldwright.service.replies import JsonBytes
from coldwright.service.resources import (
    bookings,
    calculators,
    catalogue,
    exploration,
    fleets,
    jobs,
    operation,
    records,
)
from coldwright.service.settings import Settings
from coldwright.service.startups import resource as startups
from coldwright.service.state import Services
from coldwright.service.tracing import trace_id
from coldwright.store import Database, upgrade

log = structlog.get_logger("coldwright.service")

TAGS = {
    "electrical": "Supply, cable, generator, fault current, readings.",
    "hydronic": "Loop, fill, antifreeze, air, surge, drain-down.",
    "refrigeration": "Load, capacity, selection, circuit readings, cycle, safety of refrigerants.",
    "readiness": "Order of work, may it start, proof of cooling, shutdown, handover.",
    "site": "Lift, ground, placement, sound, transport, weather.",
    "booking": "The whole plan from an order, and what a change of it changes.",
    "plans": "Orders and fleets that are kept, with their revisions.",
    "startups": "One machine's start on site: observations in, verdict out.",
    "exploration": "Many questions in one request: worksheets, sweeps, limits, jobs.",
    "records": "Answers that are kept, to be computed again and compared.",
    "catalogue": "Calculators, sources, data tables, plugins, problems.",
    "operation": "Health, metrics, this document.",
}


def all_endpoints(registry: Registry) -> list[Endpoint]:
    """Every address of the service."""
    found = [e for resource in (calculators, fleets, bookings, startups) for e in resource.endpoints(registry)]
    return found + [e for resource in (exploration, jobs, records, catalogue, operation) for e in resource.endpoints()]


def document_of(registry: Registry, endpoints: list[Endpoint] | None = None) -> dict[str, Any]:
    """The OpenAPI document of these calculators; `endpoints` where they are made already."""
    tags = TAGS | {
        s.calculator.family: "From another plugin." for s in registry.served.values() if s.calculator.family not in TAGS
    }
    return build_document(endpoints or all_endpoints(registry), tags)


def create_app(settings: Settings, registry: Registry | None = None, engine: Engine | None = None) -> Litestar:
    """The application. Opens the store at start, so that importing and building cost no disk."""
    registry = registry or Registry(denied=[n.strip() for n in settings.plugins_denied.split(",") if n.strip()])
    engine = engine or Engine(
        registry,
        "inline" if settings.engine == "inline" else "workers",
        size=settings.workers,
        seconds=settings.evaluation_seconds,
        memory_limit=settings.worker_memory_mib * 1024 * 1024,
        rest=settings.rest_seconds,
    )
    database = Database(settings.database_url)
    services = Services(settings, registry, engine, database)
    endpoints = all_endpoints(registry)
    services.documents["v1"] = msgspec.json.encode(document_of(registry, endpoints))
    authenticator = Authenticator(settings, database)

    @contextlib.asynccontextmanager
    async def lifespan(_app: Litestar) -> AsyncIterator[None]:
        for found in registry.found:
            if found.state == "set_aside":
                log.warning(
                    "plugin_set_aside",
                    plugin=found.entry_point,
                    stage=found.stage,
                    reason=found.reason,
                    remedy=found.remedy,
                )
        await services.stored(upgrade, database)
        await engine.start()
        runner = JobsRunner(services)
        services.new_job = runner.wake
        runner.start()
        try:
            yield
        finally:
            await runner.stop()
            services.close()

    def on_http_error(request: "Request[Any, Any, Any]", error: HTTPException) -> Response[Any]:
        raised = problem_of(error, services, trace := trace_id(request.headers.get("traceparent")))
        services.metrics.refusals.labels(raised.kind.slug).inc()
        return raised.response(trace)

    def on_error(request: "Request[Any, Any, Any]", error: Exception) -> Response[Any]:
        trace = trace_id(request.headers.get("traceparent"))
        return problem_of(error, services, trace).response(trace)

    return Litestar.from_config(
        AppConfig(
            state=State({"services": services}),
            route_handlers=_routes(endpoints, services, authenticator),
            lifespan=[lifespan],
            exception_handlers={HTTPException: on_http_error, Exception: on_error},
            openapi_config=None,
            debug=False,
        )
    )


def _routes(endpoints: list[Endpoint], services: Services, authenticator: Authenticator) -> list[Any]:
    """One Litestar handler a path: with several, its own answer to OPTIONS would name the methods of one of them."""
    by_path: dict[str, dict[str, Handle]] = {}
    for endpoint in endpoints:
        path = re.sub(r"\{(\w+)\}", r"{\1:str}", endpoint.path)
        by_path.setdefault(path, {})[endpoint.method] = guarded(endpoint, services, authenticator)
    return [_route(path, handlers) for path, handlers in by_path.items()]


def _route(path: str, handlers: dict[str, Handle]) -> Any:
    methods = sorted([*handlers, "OPTIONS"])
    allowed = {"Allow": ", ".join(methods)}

    def answer(scope: HTTPScope, receive: Receive) -> Answering:
        return handlers.get(scope["method"], without)(scope, receive)

    async def without(scope: HTTPScope, _receive: Receive) -> Response[Any]:
        if scope["method"] == "OPTIONS":
            return Response(b"", status_code=204, headers=allowed)
        raise MethodNotAllowedException(headers=allowed)

    async def directly(scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] == ScopeType.WEBSOCKET:
            raise NotFoundException
        response = await answer(scope, receive)
        if isinstance(response, JsonBytes):
            await response.send(send)
        else:
            await response.to_asgi_response(None, Request(scope, receive, send))(scope, receive, send)

    async def through_signature(request: "Request[Any, Any, Any]") -> Response[Any]:
        return await answer(request.scope, request.receive)

    if "{" in path:  # the framework hands no parameters of the path to its low-level handlers
        return route(path, http_method=[HttpMethod(m) for m in methods], status_code=200)(through_signature)
    return asgi(path, copy_scope=False, opt={"methods": methods})(directly)
