"""Hears what worker processes print: whose it is, a bounded part of it, and how much more there was."""

import contextlib
import os
import selectors
import socket
import sys
import threading
import time
from collections.abc import Callable
from multiprocessing.connection import Connection

Report = Callable[[str, str], None]
"""Called with a distribution and a line that it printed."""

KEPT = 16 * 1024
"""Bytes of one distribution that are passed on within a window; the rest is counted."""
WINDOW = 60.0
LONGEST_LINE = 2000
PAUSE = 0.05
"""Seconds between two looks at a pipe whose distribution has said its share: so the printer waits, and not the service."""


class Output:
    """One thread that reads the pipes of all workers."""

    def __init__(self, report: Report | None = None) -> None:
        self._report = report or _to_standard_error
        self._wake: socket.socket | None = None
        self._new: list[_Pipe] = []
        self._resting: list[_Pipe] = []
        self._shares: dict[str, _Share] = {}
        self._thread: threading.Thread | None = None
        self._lock = threading.Lock()
        self._closed = False

    def watch(self, distribution: str, connection: Connection) -> None:
        """Read this pipe until it ends."""
        with self._lock:
            share = self._shares.setdefault(distribution, _Share(distribution, self._report))
            self._new.append(_Pipe(connection, share))
            if self._wake is None:
                self._wake, waked = socket.socketpair()
                self._thread = threading.Thread(target=self._run, args=(waked,), name="worker-output", daemon=True)
                self._thread.start()
            self._wake.send(b".")

    def close(self) -> None:
        """Stop reading."""
        self._closed = True
        if self._wake is not None and self._thread is not None:
            with contextlib.suppress(OSError):
                self._wake.send(b".")
            self._thread.join(2)
            self._wake.close()

    def _run(self, waked: socket.socket) -> None:
        with waked, selectors.DefaultSelector() as watched:
            watched.register(waked, selectors.EVENT_READ)
            while not self._closed:
                for key, _ in watched.select(PAUSE if self._resting else None):
                    if isinstance(key.data, _Pipe):
                        self._read(key.data, watched)
                    else:
                        waked.recv(4096)
                with self._lock:
                    come, self._new, self._resting = self._new + self._resting, [], []
                for pipe in come:
                    watched.register(pipe.connection.fileno(), selectors.EVENT_READ, pipe)
            for key in list(watched.get_map().values()):
                if isinstance(key.data, _Pipe):
                    key.data.connection.close()
        for share in self._shares.values():
            share.finish()

    def _read(self, pipe: "_Pipe", watched: selectors.BaseSelector) -> None:
        try:
            chunk = os.read(pipe.connection.fileno(), 65536)
        except OSError:
            chunk = b""
        pipe.share.take(chunk, pipe)
        if not chunk or pipe.share.spent:
            watched.unregister(pipe.connection.fileno())
        if not chunk:
            pipe.connection.close()
        elif pipe.share.spent:
            self._resting.append(pipe)


class _Pipe:
    """The reading end of a worker's output, with the line that is not ended yet."""

    def __init__(self, connection: Connection, share: "_Share") -> None:
        self.connection, self.share, self.rest = connection, share, b""


class _Share:
    """What one distribution may still say."""

    def __init__(self, distribution: str, report: Report) -> None:
        self._distribution, self._report = distribution, report
        self._began, self._left, self._dropped = time.monotonic(), KEPT, 0

    @property
    def spent(self) -> bool:
        """Whether it has said its share for now."""
        return self._left <= 0

    def take(self, chunk: bytes, pipe: _Pipe) -> None:
        """Pass on what is within the share, line by line."""
        if time.monotonic() - self._began > WINDOW:
            self.finish()
            self._began, self._left = time.monotonic(), KEPT
        kept = chunk[: max(0, self._left)]
        self._left -= len(kept)
        self._dropped += len(chunk) - len(kept)
        *lines, pipe.rest = (pipe.rest + kept).split(b"\n")
        if len(pipe.rest) > LONGEST_LINE or not chunk or self.spent:
            lines, pipe.rest = [*lines, pipe.rest], b""
        for line in lines:
            if line.strip():
                self._report(self._distribution, line[:LONGEST_LINE].decode("utf-8", "replace"))

    def finish(self) -> None:
        """Say how much was left out."""
        if self._dropped:
            self._report(self._distribution, f"({self._dropped} bytes more were printed and left out)")
            self._dropped = 0


def _to_standard_error(distribution: str, line: str) -> None:
    print(f"{distribution}: {line}", file=sys.stderr)  # noqa: T201 - where no log is kept
