"""Responses that handlers return."""

import hashlib
from typing import Any

import msgspec
from litestar import Response
from litestar.types import Send

from coldwright.contract.answer import Units
from coldwright.service.endpoint import Asked

encode = msgspec.json.Encoder().encode


class JsonBytes(Response[bytes]):
    """JSON that is encoded already, and can be sent as it is.

    The framework's own way allows for cookies, background tasks and encoders, and takes as long as a small calculation.
    """

    __slots__ = ()
    status_code: int

    def __init__(self, content: bytes, status_code: int = 200, headers: dict[str, str] | None = None) -> None:
        self.content, self.status_code, self.headers = content, status_code, headers or {}
        self.media_type, self.encoding = "application/json", "utf-8"
        self.cookies, self.background, self.response_type_encoders = [], None, {}

    async def send(self, send: Send) -> None:
        """Send it."""
        headers = [(b"content-type", b"application/json"), (b"content-length", b"%d" % len(self.content))]
        headers += [(name.lower().encode("latin-1"), text.encode("latin-1")) for name, text in self.headers.items()]
        await send({"type": "http.response.start", "status": self.status_code, "headers": headers})
        await send({"type": "http.response.body", "body": self.content, "more_body": False})


def json_reply(content: Any, status: int = 200, headers: dict[str, str] | None = None) -> Response[bytes]:
    """A struct, or bytes that are JSON already."""
    return JsonBytes(content if isinstance(content, bytes) else encode(content), status, headers)


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
    return asked.caller.units if units is None else "us" if units == "us" else "metric"
