"""What the guard finds out about a request on its way in, kept with the request until it is answered."""

from collections.abc import Mapping
from typing import Any

from litestar.types import Scope

from coldwright.service.http.callers import NOBODY, Caller

_KEY = "coldwright.visit"


class Visit:
    """One request under way."""

    __slots__ = (
        "body",
        "caller",
        "entered",
        "held_bytes",
        "negotiated",
        "operation",
        "problem",
        "public",
        "rates",
        "request_id",
        "secret",
        "span",
        "span_id",
        "status",
        "trace_id",
    )

    def __init__(self, trace_id: str, span_id: str, request_id: str) -> None:
        self.trace_id, self.span_id, self.request_id = trace_id, span_id, request_id
        self.caller: Caller = NOBODY
        self.secret: str | None = None
        """The key, the token or the session that the caller came with."""
        self.operation = "unknown"
        """Operation of the address; an address that is not there has none."""
        self.public = False
        self.entered = False
        """Whether it counts among the requests under way."""
        self.body: bytes | None = None
        """The body, once it has come."""
        self.held_bytes = 0
        """Bytes of a long body that are held for it."""
        self.negotiated = False
        """Whether the form of the answer depends on `Accept`."""
        self.rates: Mapping[str, str] = {}
        """What is left of the quotas of the minute, as headers."""
        self.status, self.problem = 0, ""
        self.span: Any = None


def begin_visit(scope: Scope, trace_id: str, span_id: str, request_id: str) -> Visit:
    """The record of a request that has just come."""
    visit = Visit(trace_id, span_id, request_id)
    scope.setdefault("state", {})[_KEY] = visit
    return visit


def visit_of(scope: Scope) -> Visit:
    """The record of a request under way."""
    visit: Visit = scope["state"][_KEY]
    return visit
