"""Has strangers' plugins imported by a child process, and hears from it what they are. None of their code runs here."""

import contextlib
import os
import struct
import subprocess
import sys
from collections.abc import Iterator, Sequence

import msgspec

from coldwright.processes.groups import end_session
from coldwright.registry.entry import Entry
from coldwright.registry.reported import Report

IMPORT_SECONDS = 10.0
"""Longest time that reading one plugin may take."""
AT_ONCE = 4
"""Plugins that are read at one time."""
MOST_OUTPUT = 4096
"""Bytes of what a plugin prints that are kept."""


def reports_of(entries: Sequence[Entry], sent: bytes, seconds: float = IMPORT_SECONDS) -> list[Report]:
    """What became of each entry, in order, as a child sent it (`sent_of`).

    One that ends the very process that reads the others is read alone.
    """
    found = dict(_frames(sent, seconds))
    if len(entries) == 1:
        return [found.get(0, _ended())]
    return [
        found.get(number) or reports_of([entry], sent_of([entry], seconds), seconds)[0]
        for number, entry in enumerate(entries)
    ]


def sent_of(entries: Sequence[Entry], seconds: float = IMPORT_SECONDS) -> bytes:
    """All that a child sends about these entries, undecoded: types must be prepared by one thread at a time.

    Without those that the child died before sending. Blocks; may be called in a thread.
    """
    if not entries:
        return b""
    child = subprocess.Popen(
        [sys.executable, "-m", "coldwright.registry.child"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        start_new_session=True,
        env=os.environ | {"PYTHONPATH": os.pathsep.join(p for p in sys.path if p)},
    )
    question = msgspec.msgpack.encode([sys.path, seconds, entries])
    longest = 30.0 + seconds * (len(entries) + AT_ONCE) / AT_ONCE
    try:
        with contextlib.suppress(subprocess.TimeoutExpired):
            sent, _ = child.communicate(question, timeout=longest)
            return sent
        return b""
    finally:
        child.kill()
        child.wait()
        end_session(child.pid)
        for pipe in (child.stdin, child.stdout):
            if pipe is not None:
                pipe.close()


def _frames(sent: bytes, seconds: float) -> Iterator[tuple[int, Report]]:
    at = 0
    while len(sent) >= at + 4:
        (length,) = struct.unpack_from("!I", sent, at)
        frame = sent[at + 4 : at + 4 + length]
        at += 4 + length
        if len(frame) == length:
            number, body, output = msgspec.msgpack.decode(frame, type=tuple[int, msgspec.Raw, bytes])
            yield number, _report(bytes(body), output, seconds)


def _report(body: bytes, output: bytes, seconds: float) -> Report:
    text = output.decode("utf-8", "replace") + (" ... (cut short)" if len(output) >= MOST_OUTPUT else "")
    try:
        report = msgspec.msgpack.decode(body, type=Report | None)
    except msgspec.MsgspecError as error:
        reason = f"what it reports of itself can't be read: {error}"
        report = Report(stage="manifest", reason=reason, remedy="Build it with `coldwright.contract` alone.")
    return msgspec.structs.replace(report or _ended(seconds), output=text)


def _ended(seconds: float = IMPORT_SECONDS) -> Report:
    return Report(
        stage="import",
        reason=f"its import ended the process, or took longer than {seconds:g} s",
        remedy="Let the import define calculators and do nothing else.",
    )
