"""Targets of requests, brought into the one form that addresses have (RFC 9112, 3.2)."""

from urllib.parse import unquote

from litestar.types import Scope

_SCHEMES = (b"http://", b"https://")


def in_origin_form(scope: Scope) -> None:
    """Make `GET http://host/path`, as sent through a proxy, the `GET /path` of that host: changes the scope.

    RFC 9112, 3.2.2: a server takes it, and believes its host rather than the header `Host`.
    """
    target = scope["raw_path"]
    if not target[:8].lower().startswith(_SCHEMES):
        return
    authority, _, path = target.partition(b"//")[2].partition(b"/")
    scope["raw_path"] = b"/" + path
    scope["path"] = unquote(scope["raw_path"].decode("ascii"))
    others = [(name, value) for name, value in scope["headers"] if name != b"host"]
    scope["headers"] = [*others, (b"host", authority)]
