"""An address of the API, declared once: its route, its scope, its limits and its part of the OpenAPI document."""

import re
from collections.abc import Awaitable, Callable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, Literal

import msgspec
from litestar import Request, Response
from litestar.datastructures import State

from coldwright.contract import Example
from coldwright.service.http.callers import Caller
from coldwright.service.http.visit import visit_of
from coldwright.service.state import Services

KeyScope = Literal["public", "calculate", "book", "field", "fleet", "admin"]
Method = Literal["GET", "PUT", "POST", "DELETE"]


class Asked(Request[Caller, Any, State]):
    """One request, as a handler sees it: the framework's own, with what the guard found out about it."""

    @property
    def endpoint(self) -> "Endpoint":
        """The address that was asked."""
        found: Endpoint = self.route_handler.opt["endpoint"]
        return found

    @property
    def services(self) -> Services:
        """What all handlers share."""
        found: Services = self.app.state.services
        return found

    @property
    def caller(self) -> Caller:
        """Who asks."""
        return visit_of(self.scope).caller

    @property
    def trace_id(self) -> str:
        """Id of the request in the log and in problems."""
        return visit_of(self.scope).trace_id

    def has_path(self, name: str) -> bool:
        """Whether the path has a parameter of this name."""
        return name in self.path_params

    def path(self, name: str) -> str:
        """A parameter of the path."""
        return str(self.path_params[name])

    def query(self, name: str) -> str | None:
        """A parameter of the query, if it was sent."""
        value = self.query_params.get(name)
        return None if value is None else str(value)

    def header(self, name: str) -> str | None:
        """A header, if it was sent; the first of several."""
        return self.headers.get(name)


BINARY = "application/octet-stream"
Handler = Callable[[Asked], Awaitable[Response[Any]]]


@dataclass(frozen=True)
class Parameter:
    """A parameter of the path, the query or the header."""

    name: str
    place: Literal["path", "query", "header"]
    description: str
    schema: Mapping[str, Any]
    required: bool = False
    example: Any = None


@dataclass(frozen=True)
class Reply:
    """A response that is not a problem: a type, or a media type of text."""

    description: str
    content: type | str | None = None
    """A struct type, the name of a component, or nothing."""
    media_type: str = "application/json"
    other_media_types: tuple[str, ...] = ()
    other_types: Mapping[str, type] = field(default_factory=dict)
    """Media types of another struct each."""
    headers: Mapping[str, str] = field(default_factory=dict)


HAS_IT = Reply("You have it already.")
"""304: the `ETag` that the request names is that of the present state."""


@dataclass(frozen=True)
class Endpoint:
    """Declared once; the routes, the guard and the document all read it."""

    method: Method
    path: str
    """As in OpenAPI: `/v1/fleets/{id}`."""
    operation_id: str
    summary: str
    tag: str
    scope: KeyScope
    handler: Handler
    replies: Mapping[int, Reply]
    description: str = ""
    parameters: tuple[Parameter, ...] = ()
    body: type | str | None = None
    """A struct type, the name of one of `components`, or nothing."""
    body_needed: bool = True
    """False where a request without a body asks for all that is usual."""
    body_media_types: tuple[str, ...] = ("application/json",)
    unlisted_media_types: tuple[str, ...] = ()
    """Taken as well; in the document as `x-also-takes`, since makers of clients refuse a body that lists them."""
    streamed: tuple[str, ...] = ()
    """Of these media types the ones whose bodies the handler reads piece by piece, up to `COLDWRIGHT_LARGEST_UPLOAD` bytes."""
    examples: tuple[Example, ...] = ()
    problems: tuple[str, ...] = ()
    """Slugs beside those that every address can answer with."""
    large_body: bool = False
    form: bool = False
    """Whether a form on a page of ours is sent there: it takes the session of a person, and shows that it is ours."""
    open_query: bool = False
    """Whether its query may have more than is declared: others send people there, with what they please."""
    log_name: str = ""
    documented: bool = True
    components: Mapping[str, Any] = field(default_factory=dict)
    """Schemas that are named here and made elsewhere: those of a third party's types, which are not loaded here."""
    deprecated: bool = False

    @property
    def tagged(self) -> bool:
        """Whether its answers carry an `ETag`."""
        return 304 in self.replies or any(p.name == "If-Match" for p in self.parameters)

    @cached_property
    def negotiated(self) -> bool:
        """Whether the form of its answers depends on `Accept`."""
        return any(reply.other_media_types for reply in self.replies.values())

    @cached_property
    def query_parameters(self) -> dict[str, Parameter]:
        """Parameters of its query by name."""
        return {p.name: p for p in self.parameters if p.place == "query"}

    @cached_property
    def named_by_pattern(self) -> tuple[tuple[str, re.Pattern[str]], ...]:
        """Parameters of its path, with the form that each name must have."""
        named = ((p.name, p.schema.get("pattern")) for p in self.parameters if p.place == "path")
        return tuple((name, re.compile(pattern)) for name, pattern in named if pattern is not None)

    @cached_property
    def names_what_is_needed(self) -> bool:
        """Whether a body without members is all that is needed, or is refused with the members that are."""
        if not self.body_needed or not isinstance(self.body, type):
            return not self.body_needed
        return any(field.required for field in msgspec.structs.fields(self.body))

    @property
    def takes_body(self) -> bool:
        """Whether a body belongs to it."""
        return self.body is not None or self.body_media_types != ("application/json",)


UNITS = Parameter(
    "units",
    "query",
    "System of units of the results; the numbers are the same. Default: that of the key, else metric.",
    {"type": "string", "enum": ["metric", "us"]},
)
DETAILS = Parameter(
    "details",
    "query",
    "`all`: the page with everything, the values taken by default included. Else what is summed up in a line is folded away.",
    {"type": "string", "enum": ["all"]},
)
