"""A program: imports plugins, each in a process of its own, and writes what it learnt to the file it began with as output.

Reads msgpack `[sys.path, seconds, [entry, ...]]` from its input. Writes a frame for each entry as it is done: four bytes
of length, then msgpack `[number, report or nil, what it printed]`; nil where its process ended without a report. What a
plugin leaves running ends with its process, and all of them end with whoever started this.
"""

import gc
import os
import selectors
import signal
import struct
import sys
import time
from typing import Any

import msgspec

from coldwright.processes.groups import die_with_parent, end_group, lead_group
from coldwright.registry.entry import Entry
from coldwright.registry.reporting import report
from coldwright.registry.strangers import AT_ONCE, MOST_OUTPUT

LARGEST_REPORT = 16 * 1024 * 1024
LOOK_EVERY = 0.002
"""Seconds within which the end of a process is seen."""


class _Reading:
    """The process that reads one entry, with the pipes to it."""

    def __init__(self, number: int, entry: Entry, seconds: float) -> None:
        self.number, self.until = number, time.monotonic() + seconds
        self.body, self.output = bytearray(), bytearray()
        report, report_to = os.pipe()
        printed, out = os.pipe()
        self.pid = os.fork()
        if not self.pid:
            _report_and_end(entry, report_to, out)
        lead_group(self.pid)
        os.close(report_to)
        os.close(out)
        self.pipes = {report: self.body, printed: self.output}
        self._report_pipe = report

    def take(self, pipe: int) -> bool:
        """Read what is there; whether there may be more. What is too long is read and forgotten."""
        chunk = os.read(pipe, 65536)
        into = self.pipes[pipe]
        into += chunk[: (LARGEST_REPORT if pipe == self._report_pipe else MOST_OUTPUT) - len(into)]
        return bool(chunk)

    def ended(self) -> bool:
        """Whether its process is gone; one that has reported, or takes too long, is ended."""
        if time.monotonic() > self.until:
            end_group(self.pid)
        try:
            return os.waitpid(self.pid, os.WNOHANG)[0] != 0
        except ChildProcessError:
            return True


def _report_and_end(entry: Entry, report_to: int, out: int) -> None:
    """In the child: nothing of the plugin runs before it has a group of its own, and an output of its own."""
    lead_group()
    die_with_parent()
    for signal_ in (signal.SIGINT, signal.SIGTERM):
        signal.signal(signal_, signal.SIG_DFL)
    os.dup2(os.open(os.devnull, os.O_RDONLY), 0)
    os.dup2(out, 1)
    os.dup2(out, 2)
    try:
        body = msgspec.msgpack.encode(report(entry))
        sys.stdout.flush()
        sys.stderr.flush()
        with open(report_to, "wb", closefd=False) as pipe:
            pipe.write(body)
    finally:
        os._exit(0)


def main() -> None:
    """Read every entry that was asked for, a few at a time."""
    answer = os.dup(1)
    os.dup2(2, 1)
    die_with_parent()
    path, seconds, entries = msgspec.msgpack.decode(sys.stdin.buffer.read(), type=tuple[list[str], float, list[Entry]])
    sys.path[:] = path
    gc.freeze()  # the processes to come share what is there already
    waiting = list(enumerate(entries))[::-1]
    watched = selectors.DefaultSelector()
    under_way: list[_Reading] = []
    while waiting or under_way:
        while waiting and len(under_way) < AT_ONCE:
            reading = _Reading(*waiting.pop(), seconds)
            under_way.append(reading)
            for pipe in reading.pipes:
                watched.register(pipe, selectors.EVENT_READ, reading)
        for key, _ in watched.select(LOOK_EVERY):
            if not key.data.take(key.fd):
                watched.unregister(key.fd)
        for reading in [r for r in under_way if r.ended()]:
            under_way.remove(reading)
            _finish(reading, watched, answer)


def _finish(reading: _Reading, watched: selectors.BaseSelector, answer: int) -> None:
    """End what the plugin left running, read what is left in the pipes, and pass it on."""
    end_group(reading.pid)
    for pipe in reading.pipes:
        os.set_blocking(pipe, False)
        try:
            while reading.take(pipe):
                pass
        except BlockingIOError:
            pass
        if pipe in watched.get_map():
            watched.unregister(pipe)
        os.close(pipe)
    body: Any = msgspec.Raw(bytes(reading.body)) if reading.body else None
    try:
        frame = msgspec.msgpack.encode([reading.number, body, bytes(reading.output)])
    except msgspec.MsgspecError:
        frame = msgspec.msgpack.encode([reading.number, None, bytes(reading.output)])
    with open(answer, "wb", closefd=False) as out:
        out.write(struct.pack("!I", len(frame)) + frame)


if __name__ == "__main__":
    main()
