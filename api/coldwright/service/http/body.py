"""Bodies: read whole by the framework, restricted in media type and length, decoded by the contract's own reader."""

import asyncio
import time
from collections.abc import AsyncIterator
from typing import TypeVar

from litestar.exceptions import HTTPException, InternalServerException

from coldwright.contract.reading import read
from coldwright.service.http.endpoint import Asked, Endpoint
from coldwright.service.http.intake import LONG
from coldwright.service.http.problems import ProblemRaised
from coldwright.service.http.visit import Visit, visit_of
from coldwright.service.settings import Settings

S = TypeVar("S")
JSON, NOTHING = "application/json", b"{}"
"""Where nothing is sent, an object without members is read: a refusal then names each that is needed."""
MOST_VALUES = 500_000
"""Commas and brackets of a body: each value takes a hundred bytes of memory, though `[],` has but three, and while they are
made nothing else of this process runs: a fifth of a second at the most for so many."""


def largest_body(endpoint: Endpoint, settings: Settings) -> int:
    """Bytes that an address takes."""
    return settings.largest_batch_body if endpoint.large_body else settings.largest_body


def largest_sent(endpoint: Endpoint, settings: Settings) -> int:
    """Bytes that may come over the wire for an address; of those that are not streamed fewer are taken."""
    usual = largest_body(endpoint, settings)
    return max(usual, settings.largest_upload) if endpoint.streamed else usual


def sent_media_type(asked: Asked) -> str:
    """The media type of the body, without its parameters; empty where none was named."""
    return (asked.header("content-type") or "").partition(";")[0].strip().lower()


def is_streamed(asked: Asked) -> bool:
    """Whether the handler reads this body piece by piece."""
    return sent_media_type(asked) in asked.endpoint.streamed


async def pieces(asked: Asked) -> AsyncIterator[bytes]:
    """The body as it comes. Raises a problem where there are too many bytes, or the next takes too long, or all do."""
    settings = asked.services.settings
    limit, length = settings.largest_upload, asked.content_length
    if length is not None and length > limit:
        raise ProblemRaised("too-large", f"The body has {length} bytes; {limit} are taken here.")
    stream, began = asked.stream(), time.monotonic()
    while True:
        try:
            async with asyncio.timeout(settings.body_seconds):
                piece = await anext(stream)
        except StopAsyncIteration:
            return
        except TimeoutError:
            raise _too_slow(f"For {settings.body_seconds:g} s nothing came of the body.") from None
        except InternalServerException:
            raise _broken_off() from None
        except HTTPException as error:
            raise _too_long(error, limit) from None
        if time.monotonic() - began > settings.upload_seconds:
            raise _too_slow(f"The body was not whole within {settings.upload_seconds:g} s.")
        yield piece


async def raw_body(asked: Asked) -> bytes:
    """The bytes of the body, read once however often asked for.

    Raises a problem for another media type, too many bytes or values, or a body that takes too long to arrive.
    """
    visit = visit_of(asked.scope)
    if visit.body is None:
        visit.body = await _arrived(asked, visit)
    return visit.body


async def _arrived(asked: Asked, visit: Visit) -> bytes:
    sent, taken = sent_media_type(asked), (*asked.endpoint.body_media_types, *asked.endpoint.unlisted_media_types)
    if not sent and _nothing_sent(asked):
        if asked.endpoint.names_what_is_needed and JSON in taken:
            return NOTHING
        raise ProblemRaised("media-type-not-taken", f"Nothing was sent; a body of {' or '.join(taken)} is needed here.")
    if sent not in taken:
        raise ProblemRaised("media-type-not-taken", f"Sent was {sent or 'none'}; taken is {' or '.join(taken)}.")
    if coding := encoding_of(asked):
        raise ProblemRaised("media-type-not-taken", f"The body is sent as {coding[:40]}; it is taken as it is only.")
    settings = asked.services.settings
    limit = largest_body(asked.endpoint, settings)
    length = asked.content_length
    if length is not None and length > limit:
        raise ProblemRaised("too-large", f"The body has {length} bytes; {limit} are taken here.")
    asked.services.intake.hold(visit, limit if length is None else length)
    try:
        async with asyncio.timeout(settings.body_seconds):
            body = await _whole(asked, limit) if asked.endpoint.streamed else await asked.body()
    except TimeoutError:
        raise _too_slow(f"The body was not whole within {settings.body_seconds:g} s.") from None
    except InternalServerException:
        raise _broken_off() from None
    except HTTPException as error:
        raise _too_long(error, limit) from None
    if len(body) > LONG and (values := await asked.services.apart(_values, body)) > MOST_VALUES:
        raise ProblemRaised("too-large", f"The body has about {values} values; {MOST_VALUES} are taken.")
    return body or (b"" if asked.endpoint.body_needed else NOTHING)


def _values(body: bytes) -> int:
    return body.count(b",") + body.count(b"[") + body.count(b"{")


async def _whole(asked: Asked, limit: int) -> bytes:
    """All of a body for which the framework's own limit is that of longer ones."""
    found, length = [], 0
    async for piece in asked.stream():
        length += len(piece)
        if length > limit:
            raise ProblemRaised("too-large", f"The body has more than the {limit} bytes that are taken here.")
        found.append(piece)
    return b"".join(found)


def encoding_of(asked: Asked) -> str:
    """How the body is packed (`Content-Encoding`); empty where it is not."""
    coding = (asked.header("content-encoding") or "").strip().lower()
    return "" if coding == "identity" else coding


def _too_slow(text: str) -> ProblemRaised:
    return ProblemRaised("too-slow", text, headers={"Connection": "close"})


def _broken_off() -> ProblemRaised:
    return ProblemRaised("not-json", "The connection was closed before the body was whole.")


def _too_long(error: HTTPException, limit: int) -> Exception:
    if error.status_code != 413:
        return error
    return ProblemRaised("too-large", f"The body has more than the {limit} bytes that are taken here.")


async def is_long(asked: Asked) -> bool:
    """Whether the body is so long that whatever looks at all of it would hold up everybody else."""
    return len(await raw_body(asked)) > LONG


def _nothing_sent(asked: Asked) -> bool:
    return not asked.content_length and not asked.header("transfer-encoding")


async def read_body(asked: Asked, expected: type[S]) -> S:
    """The body as `expected`; raises `Malformed` or `Refused`."""
    return await decoded(asked, await raw_body(asked), expected)


async def decoded(asked: Asked, body: bytes, expected: type[S]) -> S:
    """Bytes as `expected`, apart from the event loop where they are many; raises `Malformed` or `Refused`."""
    if len(body) > LONG:
        return await asked.services.apart(read, expected, body, long=True)
    return read(expected, body)
