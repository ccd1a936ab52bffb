"""What a request brings, read from the connection itself: the framework's own objects are made only where needed."""

from typing import Any

from litestar import Request
from litestar.datastructures import MultiDict
from litestar.types import HTTPScope

Headers = dict[bytes, bytes]


def headers_of(scope: HTTPScope) -> Headers:
    """The headers by their name in lower case, as servers hand them over; the first of several of one name."""
    return dict(reversed(list(scope["headers"])))


def header_in(headers: Headers, name: bytes) -> str | None:
    """A header, if it was sent."""
    value = headers.get(name)
    return None if value is None else value.decode("latin-1")


def queries(scope: HTTPScope) -> MultiDict[Any]:
    """The parameters of the query."""
    return Request[Any, Any, Any](scope).query_params
