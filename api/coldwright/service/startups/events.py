"""The stream of verdict changes."""

import asyncio
import contextlib
from collections.abc import AsyncIterator
from datetime import datetime
from typing import Any

import structlog
from litestar import Response

from coldwright.engine import Failure
from coldwright.service.http.endpoint import Asked
from coldwright.service.http.problems import ProblemRaised
from coldwright.service.http.replies import encode, wanted_units
from coldwright.service.http.streams import Lasting, event_stream
from coldwright.service.http.visit import visit_of
from coldwright.service.startups.audit import keep_sent
from coldwright.service.startups.reply import moved_on, zone_of
from coldwright.service.startups.site_time import results_for
from coldwright.service.startups.verdict import Verdict, find_startup, verdict_now
from coldwright.store import StoreUnavailable
from coldwright.store.observations import last_sequence
from coldwright.store.startups import Startup

log = structlog.get_logger("coldwright.startups")

LOOK_EVERY = 2.0


_wakers: dict[tuple[str, str], set[asyncio.Event]] = {}


def notify(asked: Asked) -> None:
    """Wake the streams of this start-up in this process; those of others look every two seconds anyway."""
    for event in _wakers.get((asked.caller.tenant, asked.path("id")), ()):
        event.set()


async def stream(asked: Asked) -> Response[Any]:
    """Open a stream of changes."""
    startup = await find_startup(asked.services, asked.caller.tenant, asked.path("id"))
    if moved := await moved_on(asked, startup):
        return moved
    zone_of(asked)
    return event_stream(asked, _changes(asked, startup))


class Watch:
    """What has changed of one start-up since it was looked at last."""

    def __init__(self, asked: Asked, startup_id: str, last: str) -> None:
        self._asked, self._id, self._last = asked, startup_id, last
        self._seen: tuple[datetime | None, int] = (None, -1)
        self._until: datetime | None = None

    async def look(self) -> bytes | None:
        """The event to send, where the verdict says something else than before.

        Nothing is judged anew until something has arrived, the configuration was changed, or the verdict of before has
        run out.
        """
        services, tenant = self._asked.services, self._asked.caller.tenant
        startup = await find_startup(services, tenant, self._id)
        seen = (startup.changed_at, await services.stored(last_sequence, services.database, tenant, self._id))
        if seen == self._seen and (self._until is None or services.now() < self._until):
            return None
        verdict = await verdict_now(services, tenant, startup, wanted_units(self._asked))
        self._seen, self._until = seen, verdict.valid_until
        if verdict.meaning == self._last:
            return None
        await keep_sent(self._asked, startup, verdict)
        self._last = verdict.meaning
        return _event(startup, verdict, self._asked.query("tz") or "")


async def _changes(asked: Asked, startup: Startup) -> AsyncIterator[bytes]:
    """Events `verdict`, one for each change; the id of an event is what the verdict says, so that none comes twice."""
    services, tenant = asked.services, asked.caller.tenant
    waker = asyncio.Event()
    _wakers.setdefault((tenant, startup.id), set()).add(waker)
    secret, lasting = visit_of(asked.scope).secret, Lasting(asked)
    watch = Watch(asked, startup.id, asked.header("last-event-id") or "")
    try:
        while lasting.goes_on:
            try:
                await services.caller_of(secret)  # a key that was revoked hears no more
                event = await watch.look()
            except (StoreUnavailable, Failure, ProblemRaised) as error:
                log.warning("stream_ended", startup=startup.id, reason=str(error)[:500], trace_id=asked.trace_id)
                return  # the listener comes back by itself, and gets the reason then
            if text := lasting.said(event):
                yield text
            with contextlib.suppress(TimeoutError):
                async with asyncio.timeout(LOOK_EVERY):
                    await waker.wait()
            waker.clear()
    finally:
        _wakers[tenant, startup.id].discard(waker)
        if not _wakers[tenant, startup.id]:
            del _wakers[tenant, startup.id]


def _event(startup: Startup, verdict: Verdict, zone: str) -> bytes:
    data = {
        "id": startup.id,
        "evaluated_at": verdict.evaluated_at,
        "observation_count": verdict.observation_count,
        "results": results_for(verdict.results, zone, verdict.evaluated_at),
    }
    return b"event: verdict\nid: " + verdict.meaning.encode() + b"\ndata: " + encode(data) + b"\n\n"
