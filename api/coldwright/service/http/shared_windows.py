"""Windows of time in the database, as `limits` asks for them: it has no storage of SQL itself."""

import time

from limits.storage import Storage

from coldwright.store import Database, StoreFull, StoreUnavailable
from coldwright.store.windows import Window, add, forget_all, window


class SharedWindows(Storage):
    """Windows in the database, as `limits` asks for them."""

    def __init__(self, database: Database) -> None:
        super().__init__()
        self._database = database
        self._seen: dict[str, Window] = {}
        """As they were when they were added to last: what is left is answered without asking again."""

    @property
    def base_exceptions(self) -> type[Exception] | tuple[type[Exception], ...]:
        """What it raises when it can't count."""
        return StoreUnavailable, StoreFull

    def incr(self, key: str, expiry: int, amount: int = 1) -> int:
        """Add to a window of so many seconds, or begin a new one."""
        if len(self._seen) > 10_000:
            self._seen.clear()
        self._seen[key] = added = add(self._database, key, amount, expiry, time.time())
        return added.count

    def get(self, key: str) -> int:
        """What was counted in the running window."""
        return self._window(key).count

    def get_expiry(self, key: str) -> float:
        """When the running window ends, in seconds since 1970."""
        return self._window(key).ends_at

    def check(self) -> bool:
        """Whether the database answers."""
        return self._database.answers()

    def reset(self) -> int | None:
        """Forget every window."""
        self._seen.clear()
        return forget_all(self._database)

    def clear(self, key: str) -> None:
        """Forget a window."""
        self._seen.pop(key, None)
        forget_all(self._database, key)

    def _window(self, key: str) -> Window:
        now = time.time()
        found = self._seen.get(key) or window(self._database, key)
        return found if found is not None and found.ends_at > now else Window(0, now)
