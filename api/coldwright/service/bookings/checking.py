"""Looks again, in the background, at bookings whose fleet, stock or rules have changed, and lets holds lapse.

What is to be looked at is written in the store with the change itself, so a service that dies loses nothing. Several
services may look at one booking: they find the same, and only the first keeps it.
"""

import asyncio
import contextlib
import time
from datetime import UTC, datetime, timedelta
from math import inf

import structlog

from coldwright.engine.turns import asking_tenant
from coldwright.registry import Served
from coldwright.service.bookings.assessing import rules_of
from coldwright.service.bookings.recheck import standing_of
from coldwright.service.state import Services
from coldwright.store import StoreFull, StoreUnavailable
from coldwright.store.bookings import present
from coldwright.store.bookings.checks import Due, due_checks, put_off, settle_check, want_checks_of_other_versions
from coldwright.store.bookings.lapse import lapse_holds
from coldwright.store.events import forget_events
from coldwright.store.schedules import run_due
from coldwright.store.statistics import look_at_sizes

log = structlog.get_logger("coldwright.bookings")
LOOK_EVERY = 1.0
AT_A_TIME = 20
SIZES_EVERY = 3600.0
EVENTS_KEPT_FOR = timedelta(days=90)


def checker_of(services: Services) -> "Checker | None":
    """The checker of a service; none where nobody assesses orders."""
    served = services.registry.role("booking")
    return None if served is None else Checker(services, served)


class Checker:
    """One a service process."""

    def __init__(self, services: Services, served: Served) -> None:
        self._services, self._served = services, served
        self._task: asyncio.Task[None] | None = None
        self._sized = -inf

    def start(self) -> None:
        """Begin to look."""
        self._task = asyncio.get_running_loop().create_task(self._run(), name="booking checks")

    async def stop(self) -> None:
        """Stop at once; what was under way is looked at again."""
        if self._task is not None:
            self._task.cancel()
            with contextlib.suppress(asyncio.CancelledError):
                await self._task

    async def _run(self) -> None:
        services, first = self._services, True
        while not services.stopping:
            more = False
            try:
                if first:
                    now = rules_of(services.registry, self._served)
                    await services.stored(want_checks_of_other_versions, services.database, now)
                    await services.stored(forget_events, services.database, datetime.now(UTC) - EVENTS_KEPT_FOR)
                    first = False
                if time.monotonic() - self._sized > SIZES_EVERY:
                    await services.stored(look_at_sizes, services.database)
                    self._sized = time.monotonic()
                await services.stored(lapse_holds, services.database)
                await services.stored(run_due, services.database, datetime.now(UTC))
                more = await self._look()
            except (StoreUnavailable, StoreFull) as error:
                log.warning("checks_wait_for_store", detail=str(error)[:200])
            except Exception:  # of one booking; the others must not wait for it
                log.exception("checks_failed")
            if not more:
                await asyncio.sleep(LOOK_EVERY)

    async def _look(self) -> bool:
        services = self._services
        due = await services.stored(due_checks, services.database, AT_A_TIME)
        for one in due:
            await self._one(one)
        return len(due) == AT_A_TIME

    async def _one(self, due: Due) -> None:
        services = self._services
        asking_tenant.set(due.tenant)  # its turn at the workers, not everybody's
        head = await services.stored(present, services.database, due.tenant, due.reference)
        if head is None:
            return
        try:
            standing = await standing_of(services, self._served, due.tenant, head)
        except (StoreUnavailable, StoreFull):
            raise
        except Exception as error:  # too busy, the calculator rests, or a fault in one order: the others come first
            log.warning("check_put_off", tenant=due.tenant, reference=due.reference, reason=repr(error)[:300])
            await services.stored(put_off, services.database, due)
            await asyncio.sleep(LOOK_EVERY)
            return
        await services.stored(settle_check, services.database, due, standing.severity, standing.why)
