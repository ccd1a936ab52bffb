"""The way out of every answer: headers that all of them have, and packing of those that are worth it."""

import asyncio
import zlib
from collections.abc import Callable, Iterable
from functools import lru_cache

from litestar.datastructures import Headers, MutableScopeHeaders
from litestar.types import Message, Send

WORTH_PACKING = 1000
"""Bytes of a body from which it is sent as gzip to whoever takes that."""
PACKED_IN_LINE = 32_000
"""Bytes up to which packing holds up the event loop less than handing it to a thread: about 0.3 ms."""
LEVEL = 4
_PACKED = ("application/json", "application/problem+json", "text/", "image/svg+xml")


AddHeaders = Callable[[int, MutableScopeHeaders], None]


class Outgoing:
    """Sends one answer. The head waits for the first piece of the body, which says whether it is worth packing."""

    def __init__(self, send: Send, asked: Headers, add_headers: AddHeaders) -> None:
        self._send, self._add_headers = send, add_headers
        self._gzip, self._known_tags = takes_gzip(asked.get("accept-encoding")), asked.get("if-none-match", "")
        self._head: Message | None = None

    async def __call__(self, message: Message) -> None:
        """As the framework calls it."""
        if message["type"] == "http.response.start":
            headers = MutableScopeHeaders.from_message(message)
            self._add_headers(message["status"], headers)
            if message["status"] == 304 and (weak := f"W/{headers.get('ETag', '')}") in self._known_tags:
                headers["ETag"] = weak  # as it was sent with the packed answer
            self._head = message
            return
        if self._head is not None and message["type"] == "http.response.body":
            head, self._head = self._head, None
            headers = MutableScopeHeaders.from_message(head)
            body = message["body"]
            if len(body) >= WORTH_PACKING and not message.get("more_body") and is_packed(headers):
                add_vary(headers, ["Accept-Encoding"])
                if self._gzip:
                    message["body"] = packed = await pack(body)
                    headers["Content-Encoding"] = "gzip"
                    headers["Content-Length"] = str(len(packed))
                    if (etag := headers.get("ETag", "")) and not etag.startswith("W/"):
                        headers["ETag"] = f"W/{etag}"  # other bytes, the same state
            await self._send(head)
        await self._send(message)


@lru_cache(maxsize=256)
def takes_gzip(accepted: str | None) -> bool:
    """Whether an `Accept-Encoding` header takes gzip (RFC 9110, 12.5.3)."""
    wanted: dict[str, bool] = {}
    for part in (accepted or "").lower().split(","):
        name, _, weight = part.partition(";")
        wanted[name.strip()] = weight.replace(" ", "").rstrip("0.") != "q="
    return wanted.get("gzip", wanted.get("*", False))


def is_packed(headers: Headers | MutableScopeHeaders) -> bool:
    """Whether bodies of this kind grow smaller, and are not packed already."""
    return "content-encoding" not in headers and headers.get("content-type", "").startswith(_PACKED)


async def pack(body: bytes) -> bytes:
    """The body as gzip; a long one in a thread, so that nobody waits for it."""
    if len(body) <= PACKED_IN_LINE:
        return gzip(body)
    return await asyncio.to_thread(gzip, body)


def gzip(body: bytes) -> bytes:
    """RFC 1952, without a time stamp: the same body gives the same bytes."""
    return zlib.compress(body, LEVEL, wbits=31)


def add_vary(headers: MutableScopeHeaders, names: Iterable[str]) -> None:
    """Name more headers of the request on which the answer depends."""
    if "Vary" not in headers:
        headers.add("Vary", ", ".join(names))
        return
    present = [name.strip() for name in headers["Vary"].split(",") if name.strip()]
    headers["Vary"] = ", ".join(dict.fromkeys([*present, *names]))
