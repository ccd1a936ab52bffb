"""How much a tenant may keep: looked at twice a minute, since to look is to go through all that it keeps."""

import time
from collections.abc import Awaitable, Callable

from coldwright.service.http.problems import ProblemRaised
from coldwright.service.settings import Settings
from coldwright.store import Database
from coldwright.store.usage import kept_bytes

MIB = 1024 * 1024
LOOK_EVERY = 30.0


class Kept:
    """What each tenant kept when that was looked at last."""

    def __init__(self, settings: Settings, database: Database, stored: Callable[..., Awaitable[int]]) -> None:
        self._most = settings.tenant_storage_mib * MIB
        self._database, self._stored = database, stored
        self._seen: dict[str, tuple[float, int]] = {}

    async def refuse_more(self, tenant: str, coming: int = 0) -> None:
        """Raise a problem where a tenant keeps as much as it may, or would with the bytes that are coming."""
        if not self._most:
            return
        at, kept = self._seen.get(tenant, (float("-inf"), 0))
        if time.monotonic() - at > LOOK_EVERY:
            kept = await self._stored(kept_bytes, self._database, tenant)
            if len(self._seen) > 10_000:
                self._seen.clear()
            self._seen[tenant] = (time.monotonic(), kept)
        if coming:
            at, _ = self._seen[tenant]
            kept += coming
            self._seen[tenant] = (at, kept)  # until it is looked at anew
        if kept >= self._most:
            text = f"This tenant keeps {kept / MIB:.1f} MiB; it may keep {self._most // MIB} MiB."
            raise ProblemRaised("storage-used", text)
