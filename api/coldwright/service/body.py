"""Bodies: read raw, held to media type and length, decoded by the contract's own reader."""

import asyncio
from typing import TypeVar

from coldwright.contract.reading import read
from coldwright.service.endpoint import Asked
from coldwright.service.problems import ProblemRaised

S = TypeVar("S")
LONG = 100_000
"""Bytes above which reading would hold up everybody else."""


def sent_media_type(asked: Asked) -> str:
    """The media type of the body, without its parameters; empty where none was named."""
    return (asked.header("content-type") or "").partition(";")[0].strip().lower()


async def raw_body(asked: Asked) -> bytes:
    """The bytes of the body; raises a problem for another media type or too many bytes."""
    sent = sent_media_type(asked)
    taken = asked.endpoint.body_media_types
    if sent not in taken:
        raise ProblemRaised("media-type-not-taken", f"Sent was {sent or 'none'}; taken is {' or '.join(taken)}.")
    settings = asked.services.settings
    limit = settings.largest_batch_body if asked.endpoint.large_body else settings.largest_body
    length = asked.header("content-length") or "0"
    if length.isdigit() and int(length) > limit:
        raise ProblemRaised("too-large", f"The body has {length} bytes; {limit} are taken here.")
    body = b""
    while True:  # whether or not its length was told, never more than the limit is held
        message = await asked.receive()
        if message["type"] != "http.request":
            raise ProblemRaised("not-json", "The connection was closed before the body was whole.")
        body = body + message["body"] if body else message["body"]
        if len(body) > limit:
            raise ProblemRaised("too-large", f"The body has {len(body)} bytes or more; {limit} are taken here.")
        if not message["more_body"]:
            return body


async def read_body(asked: Asked, expected: type[S]) -> S:
    """The body as `expected`; raises `Malformed` or `Refused`."""
    body = await raw_body(asked)
    if len(body) > LONG:
        return await asyncio.to_thread(read, expected, body)
    return read(expected, body)
