"""Sends events to webhooks in the background: what is due, again and again with growing pauses, for three days.

What this process writes is looked for at once. What others write, and what is to be tried again, is found by looking now
and then: on any database, with no connection kept for it.
"""

import asyncio
import contextlib
from collections import Counter
from datetime import UTC, datetime, timedelta

import structlog

from coldwright.service.events.sending import NotSent, send
from coldwright.service.state import Services
from coldwright.store import StoreFull, StoreUnavailable
from coldwright.store.webhooks import (
    Delivery,
    claim_deliveries,
    disable_webhook,
    forget_deliveries,
    queue_events,
    settle_delivery,
)

log = structlog.get_logger("coldwright.webhooks")
LOOK_EVERY = 0.5
SOON = 0.05
"""Seconds from an event of this process to a look, which then finds all that was written meanwhile."""
AT_ONCE, FOR_TENANT, FOR_ONE = 64, 8, 2
"""Calls under way: of a process, for one tenant, to one address. A slow receiver takes its own share and no more."""
PAUSES = (5, 30, 120, 600, 1_800, 3_600, 10_800, 21_600, 43_200)
"""Seconds before the next attempt; the last one is repeated."""
GIVEN_UP_AFTER = timedelta(days=3)
FORGET_EVERY = timedelta(hours=6)


class WebhookRunner:
    """One a service process; several share the work by taking it up one by one."""

    def __init__(self, services: Services) -> None:
        self._services = services
        self._task: asyncio.Task[None] | None = None
        self._changed = asyncio.Event()
        self._soon: asyncio.TimerHandle | None = None
        self._under_way: dict[asyncio.Task[None], Delivery] = {}
        self._forgot = datetime.min.replace(tzinfo=UTC)

    def start(self) -> None:
        """Begin to send."""
        loop = asyncio.get_running_loop()
        self._services.database.on_event = lambda: loop.call_soon_threadsafe(self._look_soon)
        self._task = loop.create_task(self._run(), name="webhooks")

    async def stop(self) -> None:
        """Stop at once; what was under way is sent again, under the same id."""
        self._services.database.on_event = lambda: None
        for task in (self._task, *self._under_way):
            if task is not None:
                task.cancel()
                with contextlib.suppress(asyncio.CancelledError):
                    await task

    def _look_soon(self) -> None:
        """Something was written."""
        if self._soon is None:
            self._soon = asyncio.get_running_loop().call_later(SOON, self._look_now)

    def _look_now(self) -> None:
        self._soon = None
        self._changed.set()

    async def _run(self) -> None:
        while not self._services.stopping:
            sent = 0
            self._changed.clear()
            try:
                sent = await self._round()
            except (StoreUnavailable, StoreFull) as error:
                log.warning("webhooks_wait_for_store", detail=str(error)[:200])
            except Exception:  # of one round; the next is another
                log.exception("webhooks_failed")
            if not sent:
                with contextlib.suppress(TimeoutError):
                    async with asyncio.timeout(LOOK_EVERY):  # `wait_for` may swallow the end that `stop` asks for
                        await self._changed.wait()

    async def _round(self) -> int:
        services, now = self._services, datetime.now(UTC)
        if now - self._forgot > FORGET_EVERY:
            await services.stored(forget_deliveries, services.database)
            self._forgot = now
        await services.stored(queue_events, services.database)
        room = AT_ONCE - len(self._under_way)
        if room <= 0:
            return 0
        busy = Counter((d.tenant, d.webhook.id) for d in self._under_way.values())
        due = await services.stored(claim_deliveries, services.database, room, FOR_ONE, FOR_TENANT, busy)
        for delivery in due:
            task = asyncio.get_running_loop().create_task(self._one(delivery), name="webhook call")
            self._under_way[task] = delivery
            task.add_done_callback(self._ended)
        return len(due)

    def _ended(self, task: asyncio.Task[None]) -> None:
        """Nobody waits for a call, so that a slow one keeps no other waiting; what went wrong is logged here."""
        self._under_way.pop(task, None)
        self._changed.set()
        if not task.cancelled() and (error := task.exception()) is not None:
            log.error("webhook_failed", error=repr(error)[:300])

    async def _one(self, delivery: Delivery) -> None:
        services, now = self._services, datetime.now(UTC)
        try:
            status = await send(delivery, now, private=services.settings.webhooks_private)
        except NotSent as error:
            await self._not_sent(delivery, error, now)
            return
        await services.stored(settle_delivery, services.database, delivery, "sent", f"{status}", now)

    async def _not_sent(self, delivery: Delivery, error: NotSent, now: datetime) -> None:
        services = self._services
        if error.gone:
            await services.stored(disable_webhook, services.database, delivery.tenant, delivery.webhook.id, str(error))
        pause = timedelta(seconds=PAUSES[min(delivery.attempts, len(PAUSES) - 1)])
        dead = error.gone or now + pause > delivery.happened_at + GIVEN_UP_AFTER
        state = "dead" if dead else "waiting"
        log.info("webhook_not_taken", webhook=delivery.webhook.id, tenant=delivery.tenant, why=str(error)[:200])
        await services.stored(settle_delivery, services.database, delivery, state, str(error), now + pause)
