"""Judges, in the background, every start on which something arrived or whose verdict has run out.

What other rules concluded, before the service was upgraded, is concluded once more where nothing else is to be done.

So the events report a stop though nobody asks: a phone sends and falls silent, or nothing is read again in time. What
is due stands in the store, so a service that dies loses nothing. Several services find the same, and the first notes it.
"""

import asyncio
import contextlib
import time

import structlog

from coldwright.engine.turns import asking_tenant
from coldwright.service.startups.asking import rules_of
from coldwright.service.startups.verdict import verdict_now
from coldwright.service.state import Services
from coldwright.store import StoreFull, StoreUnavailable
from coldwright.store.startups import concluded_otherwise, due_startups, get_startup

log = structlog.get_logger("coldwright.startups")
LOOK_EVERY = 1.0
AT_A_TIME = 20
PUT_OFF_FOR = 60.0
"""Seconds until a start that could not be judged is tried again."""
REST = 2.0
"""Seconds between two looks at one start: a phone that sends every second, or a full disk, must not keep the workers busy."""


def watcher_of(services: Services) -> "Watcher | None":
    """The watcher of a service; none where nobody judges starts."""
    return None if services.registry.role("start") is None else Watcher(services)


class Watcher:
    """One a service process."""

    def __init__(self, services: Services) -> None:
        self._services = services
        self._task: asyncio.Task[None] | None = None
        self._put_off: dict[tuple[str, str], float] = {}
        self._catches_up = True
        """Until everything that other rules concluded was looked at once: of two services of two versions, which run side by
        side for a while, neither then undoes what the other says."""

    def start(self) -> None:
        """Begin to look."""
        self._task = asyncio.get_running_loop().create_task(self._run(), name="starts")

    async def stop(self) -> None:
        """Stop at once; what was under way is looked at again."""
        if self._task is not None:
            self._task.cancel()
            with contextlib.suppress(asyncio.CancelledError):
                await self._task

    async def _run(self) -> None:
        while not self._services.stopping:
            more = False
            try:
                more = await self._look()
            except (StoreUnavailable, StoreFull) as error:
                log.warning("starts_wait_for_store", detail=str(error)[:200])
            except Exception:
                log.exception("starts_not_looked_at")
            if not more:
                await asyncio.sleep(LOOK_EVERY)

    async def _look(self) -> bool:
        services, now = self._services, time.monotonic()
        self._put_off = {which: until for which, until in self._put_off.items() if until > now}
        size = AT_A_TIME + len(self._put_off)
        due = await services.stored(due_startups, services.database, services.now(), size)
        todo = [which for which in due if which not in self._put_off]
        if not todo and self._catches_up:
            rules = rules_of(services.registry)
            older = await services.stored(concluded_otherwise, services.database, rules, size)
            todo = [which for which in older if which not in self._put_off]
            self._catches_up = bool(older)
        for which in todo:
            await self._one(*which)
        return len(todo) >= AT_A_TIME

    async def _one(self, tenant: str, startup_id: str) -> None:
        services = self._services
        asking_tenant.set(tenant)  # its turn at the workers, not everybody's
        startup = await services.stored(get_startup, services.database, tenant, startup_id)
        if startup is None:
            return
        try:
            await verdict_now(services, tenant, startup, "metric")
        except (StoreUnavailable, StoreFull):
            raise
        except Exception as error:  # too busy, the calculator rests, or it refuses what was kept: the others come first
            log.warning("start_put_off", tenant=tenant, startup=startup_id, reason=repr(error)[:300])
            self._put_off[tenant, startup_id] = time.monotonic() + PUT_OFF_FOR
        else:
            self._put_off[tenant, startup_id] = time.monotonic() + REST
