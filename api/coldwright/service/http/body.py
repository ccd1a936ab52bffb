"""Bodies: read whole by the framework, restricted in media type and length, decoded by the contract's own reader."""

import asyncio
from typing import TypeVar

from litestar.exceptions import HTTPException, InternalServerException

from coldwright.contract.reading import read
from coldwright.service.http.endpoint import Asked, Endpoint
from coldwright.service.http.problems import ProblemRaised
from coldwright.service.settings import Settings

S = TypeVar("S")
LONG = 100_000
"""Bytes above which reading would hold up everybody else."""


def largest_body(endpoint: Endpoint, settings: Settings) -> int:
    """Bytes that an address takes."""
    return settings.largest_batch_body if endpoint.large_body else settings.largest_body


def sent_media_type(asked: Asked) -> str:
    """The media type of the body, without its parameters; empty where none was named."""
    return (asked.header("content-type") or "").partition(";")[0].strip().lower()


async def raw_body(asked: Asked) -> bytes:
    """The bytes of the body; raises a problem for another media type or too many bytes."""
    sent, taken = sent_media_type(asked), asked.endpoint.body_media_types
    if sent not in taken:
        raise ProblemRaised("media-type-not-taken", f"Sent was {sent or 'none'}; taken is {' or '.join(taken)}.")
    try:
        return await asked.body()
    except InternalServerException:
        raise ProblemRaised("not-json", "The connection was closed before the body was whole.") from None
    except HTTPException as error:
        if error.status_code != 413:
            raise
        limit = largest_body(asked.endpoint, asked.services.settings)
        raise ProblemRaised("too-large", f"The body has more than the {limit} bytes that are taken here.") from None


async def read_body(asked: Asked, expected: type[S]) -> S:
    """The body as `expected`; raises `Malformed` or `Refused`."""
    body = await raw_body(asked)
    if len(body) > LONG:
        return await asyncio.to_thread(read, expected, body)
    return read(expected, body)
