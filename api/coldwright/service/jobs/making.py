"""Jobs whose items are kept as they come: of a body that is read as lines, or of a selection that is read in pages."""

import contextlib
import secrets
import time
from collections.abc import Sequence

from coldwright.bulk.cutting import BYTES, Cutting
from coldwright.bulk.facts import Facts
from coldwright.bulk.keeping import NO_ANSWER
from coldwright.bulk.needs import needs_of
from coldwright.contract import field_error
from coldwright.contract.answer import Units
from coldwright.registry import Served
from coldwright.service.http.endpoint import Asked
from coldwright.service.http.problems import ProblemRaised
from coldwright.service.jobs.idempotency import wrong_key
from coldwright.store import StoreFull, StoreUnavailable
from coldwright.store.jobs import Item, Job, KeyReused, TooManyJobs, staging
from coldwright.store.jobs.job import Head

JOBS_RETRY_SECONDS = 10
"""After this long a job may have ended."""
KEPT_AT_A_TIME = 1000
"""Items, or fewer where they are long."""
KEEP_EVERY = 60.0
"""Seconds after which what has come slowly is kept too, so that its job is seen to go on."""
REPEATED = Facts("refused-input", errors=(field_error("/id", "Another item has this id already.", code="repeated"),))


class Making:
    """One job that is being received. `leave` it whatever comes of it."""

    def __init__(self, asked: Asked, calculator: str, served: Served, units: Units, keep: bytes) -> None:
        self._services, self._tenant = asked.services, asked.caller.tenant
        self._head = Head(secrets.token_hex(12), calculator, units, needs_of(asked.services.registry, served), keep)
        self._cutting = Cutting(served.calculator.load)
        self._waiting: list[Item] = []
        self._waiting_bytes = 0
        self._failed = 0
        self._whole = False
        self._kept_at = time.monotonic()
        self.count = 0
        """Items so far."""

    async def begin(self, key: str | None) -> None:
        """Raises a problem where the tenant may have no more jobs, unless the key has made this one already."""
        services, most = self._services, self._services.settings.tenant_jobs
        if key and most and await services.stored(staging.find_made, services.database, self._tenant, key):
            most = 0
        try:
            await services.stored(staging.begin_receiving, services.database, self._tenant, self._head, most)
        except TooManyJobs as error:
            raise ProblemRaised("too-many-jobs", str(error), retry_after=JOBS_RETRY_SECONDS) from None

    async def take(self, items: Sequence[Item]) -> None:
        """Keep more items, once there are enough. Raises a problem for too many, in number or in what they take."""
        most = self._services.settings.job_items
        self.count += len(items)
        if self.count > most:
            raise ProblemRaised("too-large", f"A job has at most {most} items here. Send the others as another job.")
        for item in items:
            self._cutting.add(len(item.given))
            self._waiting_bytes += len(item.given) + len(item.body)
            self._failed += bool(item.status)
        self._waiting += items
        late = time.monotonic() - self._kept_at > KEEP_EVERY
        if len(self._waiting) >= KEPT_AT_A_TIME or self._waiting_bytes >= BYTES or late:
            await self._keep()

    async def complete(self, key: str | None, fingerprint: str, *, named_once: bool = False) -> tuple[Job, bool]:
        """Let it begin, or find what the same key made before; whether it is new. Raises a problem for a key of another."""
        await self._keep()
        services = self._services
        if not named_once:
            self._failed += await services.stored(self._fail_repeated)
        sizes = self._cutting.sizes()
        try:
            job, is_new = await services.stored(
                staging.complete, services.database, self._tenant, self._head, sizes, self._failed, key, fingerprint
            )
        except KeyReused:
            raise wrong_key("This key was used for another request.", "repeated") from None
        self._whole = is_new
        return job, is_new

    def _fail_repeated(self) -> int:
        """Items whose name an earlier one has already."""
        database, job_id = self._services.database, self._head.id
        return staging.fail_repeated(database, self._tenant, job_id, REPEATED.status, REPEATED.encoded(), NO_ANSWER)

    async def leave(self) -> None:
        """Where it did not become whole, leave nothing of it."""
        if not self._whole:
            with contextlib.suppress(StoreUnavailable, StoreFull):  # it is found later, since nothing more comes of it
                await self._services.stored(staging.give_up, self._services.database, self._tenant, self._head.id)

    async def _keep(self) -> None:
        if not self._waiting:
            return
        services = self._services
        await services.kept.refuse_more(self._tenant, self._waiting_bytes)
        items, self._waiting, self._waiting_bytes = self._waiting, [], 0
        self._kept_at = time.monotonic()
        await services.stored(staging.add_items, services.database, self._tenant, self._head.id, items)
