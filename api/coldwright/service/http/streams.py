"""Streams of server-sent events: how many a key may have open, and how long each lasts."""

import time
from collections.abc import AsyncIterator

from litestar.response import Stream

from coldwright.service.http.endpoint import Asked
from coldwright.service.http.problems import ProblemRaised

MEDIA_TYPE = "text/event-stream"
STREAM_SECONDS = 3_600
HEARTBEAT = 15.0
"""Seconds of silence after which a line says that the stream is still there."""
SHARE_OF_CONNECTIONS = 2
"""One connection in so many may be a stream."""
STILL_HERE = b": still here\n\n"
COMES_BACK = b"retry: 3000\n\n"
"""A listener whose stream ended comes back after three seconds."""


def event_stream(asked: Asked, events: AsyncIterator[bytes]) -> Stream:
    """The answer that sends these as they come; raises a problem where the key or its tenant has too many open."""
    most = asked.services.connections.most // SHARE_OF_CONNECTIONS
    if text := asked.services.streams.refusal(asked.caller.id, asked.caller.tenant, most):
        raise ProblemRaised("overloaded", text, retry_after=5)
    headers = {"Cache-Control": "no-store", "X-Accel-Buffering": "no"}
    return Stream(_counted(asked, events), status_code=200, media_type=MEDIA_TYPE, headers=headers)


async def _counted(asked: Asked, events: AsyncIterator[bytes]) -> AsyncIterator[bytes]:
    streams, caller = asked.services.streams, asked.caller
    streams.opened(caller.id, caller.tenant)
    try:
        yield COMES_BACK
        async for event in events:
            yield event
    finally:
        streams.closed(caller.id, caller.tenant)


class Lasting:
    """Whether a stream goes on, and when it has to say that it is there."""

    def __init__(self, asked: Asked) -> None:
        self._services = asked.services
        self._began = self._spoke = time.monotonic()

    @property
    def goes_on(self) -> bool:
        """Until its time is over, or the service stops."""
        return time.monotonic() - self._began < STREAM_SECONDS and not self._services.stopping

    def said(self, event: bytes | None) -> bytes | None:
        """What to send: the event; or, where there is none and it was silent for long, that it is still there."""
        if event is None and time.monotonic() - self._spoke <= HEARTBEAT:
            return None
        self._spoke = time.monotonic()
        return event or STILL_HERE
