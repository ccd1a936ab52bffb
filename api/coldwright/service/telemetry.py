"""OpenTelemetry traces, for those who set `COLDWRIGHT_TELEMETRY`: one span a request, sent as the `OTEL_` variables say.

A span says what was asked, how it ended and for whom; never what was sent or answered.
"""

from typing import Any

from coldwright import __version__
from coldwright.service.settings import SettingError


class Telemetry:
    """Makes spans and sees them off."""

    def __init__(self, exporter: Any = None) -> None:
        try:
            from opentelemetry.exporter.otlp.proto.http.trace_exporter import OTLPSpanExporter
            from opentelemetry.sdk.resources import Resource
            from opentelemetry.sdk.trace import TracerProvider
            from opentelemetry.sdk.trace.export import BatchSpanProcessor, SimpleSpanProcessor
            from opentelemetry.trace import SpanKind
            from opentelemetry.trace.propagation.tracecontext import TraceContextTextMapPropagator
        except ImportError as error:
            raise SettingError(f"COLDWRIGHT_TELEMETRY needs `pip install coldwright[telemetry]`: {error}") from error
        resource = Resource.create({"service.name": "coldwright", "service.version": __version__})
        self._provider = TracerProvider(resource=resource)
        processor = BatchSpanProcessor(OTLPSpanExporter()) if exporter is None else SimpleSpanProcessor(exporter)
        self._provider.add_span_processor(processor)
        self._tracer = self._provider.get_tracer("coldwright", __version__)
        self._propagator = TraceContextTextMapPropagator()
        self._kind = SpanKind.SERVER

    def begin(self, operation: str, method: str, route: str, traceparent: str | None) -> "RequestSpan":
        """The span of a request, below that of whoever called us."""
        parent = self._propagator.extract({"traceparent": traceparent} if traceparent else {})
        attributes = {"http.request.method": method, "http.route": route, "coldwright.operation": operation}
        return RequestSpan(self._tracer.start_span(operation, parent, self._kind, attributes))

    def close(self) -> None:
        """Send what waits."""
        self._provider.shutdown()


class RequestSpan:
    """A span under way."""

    def __init__(self, span: Any) -> None:
        self._span = span
        self.trace_id = format(span.get_span_context().trace_id, "032x")

    def end(self, status: int, problem: str, tenant: str) -> None:
        """End it with what came of the request."""
        self._span.set_attribute("http.response.status_code", status)
        if problem:
            self._span.set_attribute("coldwright.problem", problem)
        if tenant:
            self._span.set_attribute("coldwright.tenant", tenant)
        if status >= 500:
            from opentelemetry.trace import StatusCode

            self._span.set_status(StatusCode.ERROR)
        self._span.end()
