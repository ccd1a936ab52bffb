"""Responses that handlers return."""

import hashlib
from typing import Any

import msgspec
from litestar import Response

from coldwright.contract.answer import Units
from coldwright.service.http.endpoint import Asked

encode = msgspec.json.Encoder().encode


def json_reply(content: Any, status: int = 200, headers: dict[str, str] | None = None) -> Response[bytes]:
    """A struct, or bytes that are JSON already."""
    body = content if isinstance(content, bytes) else encode(content)
    return Response(body, status_code=status, media_type="application/json", headers=headers)


def etag_of(body: bytes) -> str:
    """A strong entity tag."""
    return f'"{hashlib.sha256(body).hexdigest()[:32]}"'


def has_already(asked: Asked, etag: str) -> bool:
    """Whether `If-None-Match` names this tag; `*` names any; a weak comparison (RFC 9110, 13.1.2)."""
    tags = [tag.strip() for tag in (asked.header("if-none-match") or "").split(",")]
    return "*" in tags or etag.removeprefix("W/") in [tag.removeprefix("W/") for tag in tags]


def cached_reply(asked: Asked, body: bytes, media_type: str = "application/json") -> Response[bytes]:
    """With an ETag; 304 when the caller has it already."""
    etag = etag_of(body)
    if has_already(asked, etag):
        return Response(b"", status_code=304, headers={"ETag": etag}, media_type=media_type)
    return Response(body, status_code=200, media_type=media_type, headers={"ETag": etag})


def wanted_units(asked: Asked) -> Units:
    """The system of units that `?units=` or the key asks for."""
    units = asked.query("units")
    return asked.caller.units if units is None else "us" if units == "us" else "metric"
