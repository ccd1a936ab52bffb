"""A server for one container: each connection to its Unix socket is a worker process of the plugins installed there.

It is what the service's own fork server is for plugins beside it. The messages are those of `engine.worker`, framed as
`multiprocessing.connection` frames them: four bytes of length, big-endian, then so many bytes. The first one is
`registry.remote.Hello`. On `report` one message comes back, and the connection ends; on `work` an empty message asks the
worker to load, an empty one says that it has, and questions and answers follow until the service closes the connection.
"""

import contextlib
import gc
import os
import signal
import socket
import stat
from importlib.metadata import entry_points
from multiprocessing.connection import Connection
from pathlib import Path
from types import FrameType

import msgspec

from coldwright.contract import ENTRY_POINT_GROUP
from coldwright.engine import worker
from coldwright.processes.groups import end_session
from coldwright.registry.entry import Entry, entry_of
from coldwright.registry.remote import PROTOCOL, Hello, Reporting
from coldwright.registry.strangers import reports_of, sent_of

MOST_CHILDREN = 16
"""Connections at one time: further ones wait."""
HELLO_SECONDS = 10


class NotASocketError(Exception):
    """Something else stands where the socket is to be."""


def strangers_here() -> list[Entry]:
    """Plugins of third parties that are installed here."""
    entries = {entry_of(p): None for p in entry_points(group=ENTRY_POINT_GROUP)}
    return sorted((e for e in entries if not e.first_party), key=lambda e: (e.distribution, e.name))


class Apart:
    """The socket, and the processes of its connections."""

    def __init__(self, path: str, memory_limit: int, seconds: float) -> None:
        self._memory_limit, self._seconds = memory_limit, seconds
        self._children: set[int] = set()
        there = Path(path)
        if there.exists() or there.is_symlink():
            if not stat.S_ISSOCK(there.lstat().st_mode):
                raise NotASocketError(f"{path} is there and is no socket")
            there.unlink()
        self._socket = socket.socket(socket.AF_UNIX, socket.SOCK_STREAM)
        before = os.umask(0o117)  # for its user and group alone
        try:
            self._socket.bind(path)
        finally:
            os.umask(before)
        self._socket.listen(64)

    def serve(self) -> int:
        """Answer until a stop signal. The plugins' code runs in children alone."""
        worker.preload()
        gc.freeze()
        signal.signal(signal.SIGTERM, self._end)
        signal.signal(signal.SIGINT, self._end)
        while True:
            self._reap(wait=len(self._children) >= MOST_CHILDREN)
            self._socket.settimeout(1.0)
            try:
                line, _ = self._socket.accept()
            except TimeoutError:
                continue
            line.settimeout(None)
            pid = os.fork()
            if not pid:
                self._work_and_end(line)
            self._children.add(pid)
            line.close()

    def _work_and_end(self, line: socket.socket) -> None:
        """In the child."""
        status = 1
        try:
            for number in (signal.SIGTERM, signal.SIGINT, signal.SIGALRM):
                signal.signal(number, signal.SIG_DFL)
            self._socket.close()
            signal.alarm(HELLO_SECONDS)
            with Connection(line.detach()) as connection:
                hello = msgspec.msgpack.decode(connection.recv_bytes(4096), type=Hello)
                signal.alarm(0)
                if hello.protocol == PROTOCOL and hello.what == "report":
                    connection.send_bytes(msgspec.msgpack.encode(_reported()))
                elif hello.protocol == PROTOCOL:
                    own = Connection(os.dup(2), readable=False)
                    worker.serve(connection, own, strangers_here(), self._memory_limit, self._seconds)
            status = 0
        except (OSError, EOFError, msgspec.MsgspecError):
            pass
        finally:
            os._exit(status)

    def _reap(self, *, wait: bool) -> None:
        while self._children:
            with contextlib.suppress(ChildProcessError):
                pid, _ = os.waitpid(-1, 0 if wait else os.WNOHANG)
                if not pid:
                    return
                self._children.discard(pid)
                end_session(pid)  # and what it had started
                wait = False
                continue
            self._children.clear()

    def _end(self, _signal: int, _frame: FrameType | None) -> None:
        for pid in self._children:
            with contextlib.suppress(ProcessLookupError):
                os.kill(pid, signal.SIGKILL)
            end_session(pid)
        os._exit(0)


def _reported() -> list[Reporting]:
    entries = strangers_here()
    reports = reports_of(entries, sent_of(entries))
    return [
        Reporting(entry.name, entry.distribution_version, report)
        for entry, report in zip(entries, reports, strict=True)
    ]
