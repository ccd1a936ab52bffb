"""The one way from a route to its handler: trace, caller, scope, limits, problems, log and metrics."""

import logging
import time
from collections.abc import Awaitable, Callable
from typing import Any

import structlog
from litestar import Response
from litestar.exceptions import HTTPException
from litestar.types import HTTPScope, Receive

from coldwright.service.authentication import Authenticator, secret_in
from coldwright.service.callers import NOBODY, Caller
from coldwright.service.endpoint import Asked, Endpoint
from coldwright.service.incoming import Headers, header_in, headers_of
from coldwright.service.parameters import check_path, check_query
from coldwright.service.problems import ProblemRaised, as_problem
from coldwright.service.state import Services
from coldwright.service.tracing import trace_id
from coldwright.store import StoreFull, StoreUnavailable

log = structlog.get_logger("coldwright.request")

Answering = Awaitable[Response[Any]]
Handle = Callable[[HTTPScope, Receive], Answering]


def guarded(endpoint: Endpoint, services: Services, authenticator: Authenticator) -> Handle:
    """The handler that Litestar calls."""
    public = endpoint.scope == "public"  # health and this service's own pages are answered in any weather
    named = any(p.place == "path" for p in endpoint.parameters)
    limits, request_log = services.limits, log.bind()

    def answer(scope: HTTPScope, headers: Headers, receive: Receive, caller: Caller, trace: str) -> Answering:
        if named:
            check_path(endpoint, scope)
        if scope["query_string"]:
            check_query(endpoint, scope)
        return endpoint.handler(Asked(scope, headers, receive, endpoint, services, caller, trace))

    async def handle(scope: HTTPScope, receive: Receive) -> Response[Any]:
        began = time.perf_counter()
        headers = headers_of(scope)
        traceparent = header_in(headers, b"traceparent")
        span = None
        if services.telemetry is not None:
            span = services.telemetry.begin(endpoint.operation_id, endpoint.method, endpoint.path, traceparent)
        trace = span.trace_id if span else trace_id(traceparent)
        caller, problem = NOBODY, ""
        try:
            if public:
                response = await answer(scope, headers, receive, caller, trace)
            else:
                limits.arrive()
                try:
                    secret = secret_in(headers)
                    known = authenticator.remembered(secret)
                    caller = await services.stored(authenticator.find, secret) if known is None else known
                    if endpoint.scope not in caller.scopes:
                        raise ProblemRaised("scope-missing", f"This address needs the scope `{endpoint.scope}`.")
                    limits.enter(caller.id)
                    try:
                        response = await answer(scope, headers, receive, caller, trace)
                    finally:
                        limits.leave(caller.id)
                finally:
                    limits.depart()
        except Exception as error:
            raised = problem_of(error, services, trace)
            problem = raised.kind.slug
            services.metrics.refusals.labels(problem).inc()
            response = raised.response(trace)
        if caller is not NOBODY:
            response.headers.update(limits.headers(caller.id))
        services.metrics.count_request(endpoint.operation_id, response.status_code or 200)
        if span is not None:
            span.end(response.status_code or 200, problem, caller.tenant)
        if not public and request_log.is_enabled_for(logging.INFO):
            request_log.info(
                "request",
                operation=endpoint.operation_id,
                status=response.status_code,
                milliseconds=round((time.perf_counter() - began) * 1000, 2),
                trace_id=trace,
                tenant=caller.tenant,
                caller=caller.id,
                **({"problem": problem} if problem else {}),
            )
        return response

    return handle


def problem_of(error: Exception, services: Services, trace: str) -> ProblemRaised:
    """The problem that any error comes to; what nobody foresaw is logged with its traceback and told without."""
    if problem := as_problem(error):
        if problem.kind.status == 500:
            log.error("calculator_defect", detail=problem.detail, trace_id=trace)
        return problem
    if isinstance(error, StoreUnavailable):
        services.metrics.store_errors.labels("unavailable").inc()
        log.error("store_unavailable", detail=str(error)[:500], trace_id=trace)
        return ProblemRaised("store-unavailable", "The store does not answer now. Send it again.", retry_after=2)
    if isinstance(error, StoreFull):
        services.metrics.store_errors.labels("full").inc()
        log.error("store_full", detail=str(error)[:500], trace_id=trace)
        return ProblemRaised("store-full", "The store can keep no more; nothing was kept.", retry_after=30)
    if isinstance(error, HTTPException):
        return from_http(error)
    log.error("internal_error", trace_id=trace, exc_info=error)
    return ProblemRaised("internal-error", "This is a fault of the service; the log has it under this trace id.")


_BY_STATUS = {
    404: "not-found",
    405: "method-not-allowed",
    413: "too-large",
    415: "media-type-not-taken",
    400: "not-json",
}


def from_http(error: HTTPException) -> ProblemRaised:
    """An error that the framework itself raised."""
    slug = _BY_STATUS.get(error.status_code, "internal-error" if error.status_code >= 500 else "not-json")
    return ProblemRaised(slug, error.detail if error.status_code == 400 else "", headers=dict(error.headers or {}))
