"""Processes that run a stranger's code: they and what they start are ended together."""

import contextlib
import ctypes
import os
import signal
import sys
from pathlib import Path

_PR_SET_PDEATHSIG = 1
"""From `linux/prctl.h`; see prctl(2)."""


def die_with_parent() -> None:
    """Have the kernel kill this process when its parent ends, however that comes about. Linux only."""
    if not sys.platform.startswith("linux"):
        return
    parent = os.getppid()
    ctypes.CDLL(None, use_errno=True).prctl(_PR_SET_PDEATHSIG, signal.SIGKILL, 0, 0, 0)
    if os.getppid() != parent:  # it ended before the kernel knew
        os._exit(1)


def lead_group(pid: int = 0) -> None:
    """Make this process (or a child just forked: both do it, as either may come first) the leader of a group."""
    with contextlib.suppress(ProcessLookupError, PermissionError):
        os.setpgid(pid, pid)


def end_group(leader: int) -> None:
    """Kill every process of a group: its leader, and all that it started and that did not leave the group."""
    with contextlib.suppress(ProcessLookupError, PermissionError):
        os.killpg(leader, signal.SIGKILL)


def end_session(leader: int) -> None:
    """Kill every process of a session: also those that made groups of their own, and outlived the leader."""
    for _ in range(10):  # one that is just forking is seen in the next round
        members = [pid for pid in _processes() if _session(pid) == leader]
        for pid in members:
            with contextlib.suppress(ProcessLookupError, PermissionError):
                os.kill(pid, signal.SIGKILL)
        if not members:
            return


def _processes() -> list[int]:
    return [int(entry.name) for entry in Path("/proc").iterdir() if entry.name.isdigit()]


def _session(pid: int) -> int:
    """The session of a living process; 0 of one that is gone or waits to be buried."""
    try:
        state, _, _, session = (Path("/proc") / str(pid) / "stat").read_bytes().rpartition(b")")[2].split()[:4]
    except (OSError, ValueError):
        return 0
    return 0 if state in (b"Z", b"X") else int(session)
