"""Ends the sessions of worker processes when the service is gone, however that came about.

A worker sees its pipe close, unless it is in the middle of a calculation that never looks; and what a calculator has
started does not see it at all. So a small process of its own, this program, keeps the list and outlives the service by a
moment. It reads lines `+session` and `-session`; when its input ends, so has the service.
"""

import contextlib
import signal
import subprocess
import sys
import threading
from pathlib import Path

if __name__ == "__main__":
    sys.path[:0] = [str(Path(__file__).parents[2])]

from coldwright.processes.groups import end_session


class Guardian:
    """The service's hold on it. Started with the first worker; started anew where somebody killed it."""

    def __init__(self) -> None:
        self._process: subprocess.Popen[bytes] | None = None
        self._sessions: set[int] = set()
        self._lock = threading.Lock()
        self._closed = False

    def watch(self, session: int) -> None:
        """Have a session ended with the service."""
        with self._lock:
            if not self._closed:
                self._sessions.add(session)
                self._write(f"+{session}\n")

    def end(self, session: int) -> None:
        """End a session now, and forget it."""
        end_session(session)
        with self._lock:
            self._sessions.discard(session)
            if not self._closed:
                self._write(f"-{session}\n")

    def close(self) -> None:
        """End every session, and then the guardian."""
        with self._lock:
            self._closed = True
            if self._process is not None and self._process.stdin is not None:
                with contextlib.suppress(OSError):
                    self._process.stdin.close()
                self._process.wait()
            self._process = None

    def _write(self, line: str) -> None:
        if self._process is None or self._process.poll() is not None:
            self._process = _started()
            line = "".join(f"+{session}\n" for session in self._sessions)
        if self._process.stdin is not None:
            with contextlib.suppress(BrokenPipeError):  # it was killed just now: the next line starts another
                self._process.stdin.write(line.encode())
                self._process.stdin.flush()


def _started() -> subprocess.Popen[bytes]:
    return subprocess.Popen(  # noqa: S603 - our own interpreter and program
        [sys.executable, "-S", "-E", __file__], stdin=subprocess.PIPE, start_new_session=True
    )


def main() -> None:
    """Keep the list until there is nobody left to keep it for."""
    for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
        signal.signal(number, signal.SIG_IGN)
    sessions: set[int] = set()
    for line in sys.stdin.buffer:
        sign, session = line[:1], int(line[1:])
        (sessions.add if sign == b"+" else sessions.discard)(session)
    for session in sessions:
        end_session(session)


if __name__ == "__main__":
    main()
