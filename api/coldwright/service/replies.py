"""Responses that handlers return."""

import hashlib
from typing import Any

import msgspec
from litestar import Response

from coldwright.contract import Allowed, FieldError, field_error
from coldwright.contract.answer import Units
from coldwright.service.endpoint import Asked
from coldwright.service.problems import ProblemRaised

encode = msgspec.json.Encoder().encode


def json_reply(content: Any, status: int = 200, headers: dict[str, str] | None = None) -> Response[bytes]:
    """A struct, or bytes that are JSON already."""
    body = content if isinstance(content, bytes) else encode(content)
    return Response(body, media_type="application/json", status_code=status, headers=headers or {})


def etag_of(body: bytes) -> str:
    """A strong entity tag."""
    return f'"{hashlib.sha256(body).hexdigest()[:32]}"'


def cached_reply(asked: Asked, body: bytes, media_type: str = "application/json") -> Response[bytes]:
    """With an ETag; 304 when the caller has it already."""
    etag = etag_of(body)
    if etag in [tag.strip().removeprefix("W/") for tag in (asked.header("if-none-match") or "").split(",")]:
        return Response(b"", status_code=304, headers={"ETag": etag}, media_type=media_type)
    return Response(body, status_code=200, media_type=media_type, headers={"ETag": etag})


def wanted_units(asked: Asked) -> Units:
    """The system of units that `?units=` or the key asks for."""
    units = asked.query("units")
    if units is None:
        return asked.caller.units
    if units == "metric":
        return "metric"
    if units == "us":
        return "us"
    raise ProblemRaised(
        "refused-input", "`units` is `metric` or `us`.", errors=(query_error("units", units, ("metric", "us")),)
    )


def query_error(name: str, value: str, one_of: tuple[str, ...] = (), detail: str = "") -> FieldError:
    """The error entry for a parameter of the query; its pointer begins with `#/query`."""
    return field_error(
        f"/query/{name}",
        detail or f"This is not one of the words taken here: {', '.join(one_of)}.",
        code="not_allowed",
        value=value[:100],
        allowed=Allowed(one_of=one_of) if one_of else msgspec.UNSET,
    )
