"""The one guard of every address: trace, caller, scope, limits, problems, log and metrics.

It stands outside the framework's application, so that it sees addresses that are not there too, and every route asks it
again, once the address is known, before its handler runs.
"""

import time
from collections.abc import Callable
from typing import Any

import structlog
from litestar import Request, Response
from litestar.datastructures import Headers, MutableScopeHeaders
from litestar.enums import ScopeType
from litestar.exceptions import HTTPException
from litestar.types import ASGIApp, Receive, Scope, Send

from coldwright.engine.turns import asking_tenant
from coldwright.service.http.authentication import Authenticator, secret_in
from coldwright.service.http.body import is_streamed, raw_body
from coldwright.service.http.callers import Caller
from coldwright.service.http.endpoint import Asked, Endpoint
from coldwright.service.http.hosts import AllowedHosts
from coldwright.service.http.origins import Origins
from coldwright.service.http.outgoing import Outgoing, add_vary
from coldwright.service.http.parameters import check_path, check_query
from coldwright.service.http.problems import ProblemRaised, as_problem
from coldwright.service.http.sessions import COOKIE, check_form, session_of
from coldwright.service.http.targets import in_origin_form
from coldwright.service.http.tracing import new_span_id, request_id, trace_id, traceparent_of
from coldwright.service.http.visit import Visit, begin_visit, visit_of
from coldwright.service.state import Services
from coldwright.store import StoreFull, StoreUnavailable

log = structlog.get_logger("coldwright.request")


SHOWN = ("text/html", "image/svg+xml")
OF_PAGES = {
    "Content-Security-Policy": (
        "default-src 'none'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; form-action 'none'; "
        "frame-ancestors 'none'"
    ),
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "no-referrer",
}
"""What a browser may do with a page or a drawing, where its address does not say otherwise: show it, and nothing else."""


PageOfProblem = Callable[["Request[Any, Any, Any]", ProblemRaised], Response[bytes] | None]
"""A problem as a page, for people; nothing for programs."""


class Guard:
    """`around` makes the middleware outside of all routes; every route awaits `admit` first."""

    def __init__(
        self,
        services: Services,
        authenticator: Authenticator,
        hosts: AllowedHosts,
        origins: Origins | None,
        page_of: PageOfProblem,
    ) -> None:
        self._services, self._authenticator, self._hosts, self._origins = services, authenticator, hosts, origins
        self._page_of = page_of
        self._writes_log = services.settings.log_level in ("debug", "info")

    def around(self, app: ASGIApp) -> ASGIApp:
        """The application with the guard outside."""

        async def guarded(scope: Scope, receive: Receive, send: Send) -> None:
            if scope["type"] != ScopeType.HTTP:
                await app(scope, receive, send)
                return
            began = time.perf_counter()
            in_origin_form(scope)
            headers = Headers.from_scope(scope)
            trace = trace_id(headers.get("traceparent"))
            visit = begin_visit(scope, trace, new_span_id(), request_id(headers.get("x-request-id"), trace))
            peer = scope.get("client")

            def add_headers(status: int, headers: MutableScopeHeaders) -> None:
                self._leave(visit)  # an event stream goes on for an hour, and is no work
                visit.status = status
                self._add_headers(visit, headers)

            outgoing = Outgoing(send, headers, add_headers)

            connections = self._services.connections
            connections.begin(peer)
            refused = self._turned_away(scope["path"], scope["method"], headers)
            try:
                await (self._problem_alone(refused) if refused else app)(scope, receive, outgoing)
            finally:
                connections.end(peer)
                self._leave(visit)
                self._services.intake.release(visit)
                self._record(visit, time.perf_counter() - began)

        return guarded

    def _turned_away(self, path: str, method: str, headers: Headers) -> ProblemRaised | None:
        """The problem of a request that names a host which this service is not, or comes from an origin that may not call."""
        if not (path.startswith("/health/") or self._hosts.allows(headers.get("host"))):
            text = "COLDWRIGHT_ALLOWED_HOSTS lists the names under which this service answers."
            return ProblemRaised("host-not-allowed", text)
        if self._origins is not None and (text := self._origins.refusal(method, headers)):
            return ProblemRaised("origin-not-allowed", text)
        return None

    def _problem_alone(self, raised: ProblemRaised) -> ASGIApp:
        """An application whose one answer is this problem."""

        async def answer(scope: Scope, receive: Receive, send: Send) -> None:
            request: Request[Any, Any, Any] = Request(scope, receive, send)
            response = self.problem(request, raised)
            await response.to_asgi_response(None, request)(scope, receive, send)

        return answer

    async def admit(self, asked: Asked) -> None:
        """Let a request through to its handler, or raise a problem."""
        endpoint, visit, services = asked.endpoint, visit_of(asked.scope), self._services
        visit.operation, visit.public = endpoint.operation_id, endpoint.scope == "public"
        if services.telemetry is not None:
            traceparent = asked.header("traceparent")
            visit.span = services.telemetry.begin(endpoint.operation_id, endpoint.method, endpoint.path, traceparent)
            visit.trace_id = visit.span.trace_id
        visit.negotiated = endpoint.negotiated
        if not visit.public:  # health and this service's own pages are always answered, even under overload
            await self._enter(asked, endpoint, visit)
        check_path(asked)
        check_query(asked)

    def problem(self, request: "Request[Any, Any, Any]", error: Exception) -> Response[bytes]:
        """What the framework answers with when anything was raised."""
        visit = visit_of(request.scope)
        raised = problem_of(error, self._services, visit.trace_id)
        visit.problem = raised.kind.slug
        self._services.metrics.refusals.labels(raised.kind.slug).inc()
        page = self._page_of(request, raised)
        return page or raised.response(visit.trace_id, self._services.settings.public_url)

    async def _enter(self, asked: Asked, endpoint: Endpoint, visit: Visit) -> None:
        """Find the caller, then take the body, then count the request: a body that never ends takes nobody's place."""
        limits = self._services.limits
        session_ended = False
        limits.arrive()
        try:
            visit.caller = await self._caller(asked, endpoint)
        except ProblemRaised:
            if not (endpoint.form and asked.cookies.get(COOKIE)):
                raise
            session_ended = True  # whose session ended while they wrote does not lose what they wrote
        finally:
            limits.depart()
        asking_tenant.set(visit.caller.tenant)
        if endpoint.takes_body and not is_streamed(asked):
            await self._take_body(asked)
        if session_ended:
            visit.caller = await self._caller(asked, endpoint)
            asking_tenant.set(visit.caller.tenant)
        if endpoint.form:
            await check_form(asked)
        limits.arrive()
        try:
            limits.enter(visit.caller.id, visit.caller.tenant)
            visit.entered = True
        finally:
            if not visit.entered:
                limits.depart()
        if self._services.rates is not None:
            spent = await self._services.rates.spend(self._services.keys, visit.caller)
            visit.rates = spent.headers
            spent.check()
        await self._services.turnstile.enter(visit.caller.tenant)

    async def _take_body(self, asked: Asked) -> None:
        connections, peer = self._services.connections, asked.scope.get("client")
        connections.receive(peer)
        try:
            await raw_body(asked)
        finally:
            connections.received(peer)

    async def _caller(self, asked: Asked, endpoint: Endpoint) -> Caller:
        visit = visit_of(asked.scope)
        visit.secret = secret_in(asked.headers)
        if visit.secret is None and self._authenticator.keys_needed:
            visit.secret = session_of(asked, endpoint)
        caller = await self._authenticator.caller(visit.secret)
        if endpoint.scope not in caller.scopes:
            raise ProblemRaised("scope-missing", f"This address needs the scope `{endpoint.scope}`.")
        return caller

    def _leave(self, visit: Visit) -> None:
        if visit.entered:
            visit.entered = False
            self._services.limits.leave(visit.caller.id, visit.caller.tenant)
            self._services.limits.depart()

    def _add_headers(self, visit: Visit, headers: MutableScopeHeaders) -> None:
        headers.add("X-Request-Id", visit.request_id)
        headers.add("traceparent", traceparent_of(visit.trace_id, visit.span_id))
        headers.add("X-Content-Type-Options", "nosniff")
        if headers.get("content-type", "").startswith(SHOWN):
            for name, text in OF_PAGES.items():
                headers.setdefault(name, text)
        if visit.negotiated:
            add_vary(headers, ["Accept"])
        for name, text in visit.rates.items():
            headers.add(name, text)

    def _record(self, visit: Visit, seconds: float) -> None:
        self._services.metrics.count_request(visit.operation, visit.status)
        if visit.span is not None:
            visit.span.end(visit.status, visit.problem, visit.caller.tenant)
        if self._writes_log and not visit.public:
            log.info(
                "request",
                operation=visit.operation,
                status=visit.status,
                milliseconds=round(seconds * 1000, 2),
                trace_id=visit.trace_id,
                tenant=visit.caller.tenant,
                caller=visit.caller.id,
                **({"problem": visit.problem} if visit.problem else {}),
                **({"request_id": visit.request_id} if visit.request_id != visit.trace_id else {}),
            )


def problem_of(error: Exception, services: Services, trace: str) -> ProblemRaised:
    """The problem that any error comes to; of what nobody foresaw the traceback is logged and never sent."""
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
