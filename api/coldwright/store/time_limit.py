"""Cuts connections whose database has stopped answering: the caller learns of a hang, which frees its thread.

The database's own limits (`statement_timeout` and its kin) hold while it works. One that is stopped, or a host that is gone
behind a live network, keeps none of them; and the driver waits for ever. So whoever uses a connection hands it in here
with a moment, and past that moment its socket is shut, which the driver sees at once.
"""

import contextlib
import os
import socket
import threading
import time
from collections.abc import Iterator
from typing import Any


class TimeLimit:
    """One thread for all connections of a database; started with the first."""

    def __init__(self) -> None:
        self._changed = threading.Condition()
        self._until: dict[int, tuple[float, Any]] = {}
        self._numbers = iter(range(2**62))
        self._thread: threading.Thread | None = None
        self._closed = False

    @contextlib.contextmanager
    def over(self, connection: Any, seconds: float) -> Iterator[None]:
        """While this lasts, a psycopg connection is cut after so many seconds."""
        number = next(self._numbers)
        with self._changed:
            self._until[number] = (time.monotonic() + seconds, connection)
            if self._thread is None:
                self._thread = threading.Thread(target=self._run, name="store-time-limit", daemon=True)
                self._thread.start()
            self._changed.notify()
        try:
            yield
        finally:
            with self._changed:
                self._until.pop(number, None)

    def close(self) -> None:
        """End the thread."""
        with self._changed:
            self._closed = True
            self._changed.notify()
        if self._thread is not None:
            self._thread.join(2)

    def _run(self) -> None:
        with self._changed:
            while not self._closed:
                now = time.monotonic()
                for number in [n for n, (until, _) in self._until.items() if until <= now]:
                    _shut(self._until.pop(number)[1])
                soonest = min((until for until, _ in self._until.values()), default=None)
                self._changed.wait(None if soonest is None else max(0.01, soonest - now))


def _shut(connection: Any) -> None:
    """Shut the socket under the driver, which keeps its own hold of it."""
    with contextlib.suppress(Exception), socket.socket(fileno=os.dup(connection.fileno())) as own:
        own.shutdown(socket.SHUT_RDWR)  # it may have been closed just now
