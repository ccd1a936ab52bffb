"""A worker process: reads questions from a pipe, answers them, holds itself to a memory limit.

Bytes go over the pipe, never pickles: a question is msgpack `[what, calculator id, body, units]`, an answer is msgpack
`[kind, ...]` as `answering` writes it. To `evaluate_many` the body is a list of inputs: each is answered by a message of its
own, so that whoever asked knows at which one a process died, and an empty message ends them. To `evaluate_gathered` they
come several in a message: quicker, but what had been gathered goes with a process that dies. The first message, empty, says
that the worker is ready. A worker of a third party imports its plugins here, and nowhere else are they imported while
serving.
"""

import contextlib
import os
import resource
import signal
import sys
import time
from collections.abc import Iterator, Sequence
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any, Literal

import msgspec

from coldwright.contract import Refused
from coldwright.contract.answer import Units
from coldwright.contract.page import Occasion
from coldwright.contract.reading import convert
from coldwright.engine.answering import absent, reply_to, words
from coldwright.engine.evaluate import evaluate_here
from coldwright.engine.kept_units import kept_in_units
from coldwright.engine.outcome import Failure
from coldwright.engine.pages import page_of
from coldwright.registry import Entry, Registry
from coldwright.registry.loading import SetAside

What = Literal["evaluate", "evaluate_many", "evaluate_gathered", "in_units", "page"]
"""`evaluate`: the body is an input; `in_units`: it is a kept answer, to be spelt in other units."""
MANY_SECONDS = 1.0
"""After this long no further one of many inputs is begun: what is left is asked again, by whoever's turn it is then."""
GATHERED_SECONDS = 0.01
"""So long answers are gathered: a message costs as much as a fifth of the lightest calculation."""
SESSION_TRIES, SESSION_PAUSE = 20, 0.11
"""How often a session tries to give way, and seconds between."""
GRACE = 2.0
"""Seconds after which a worker that nobody ended ends itself: the service may be gone."""

_registry: Registry | None = None
_missing: dict[str, str] = {}


def preload() -> None:
    """Our plugins, loaded once in the fork server for all workers."""
    global _registry  # noqa: PLW0603 - the one thing that forked workers share
    if _registry is None:
        _registry = Registry.of_ours()


def warm_up(*, strangers: bool = False) -> None:
    """Answer the first example of each calculator that a plugin names for it in `warms`: of ours, or of the strangers here.

    What these build at first use is there from then on. A calculator that nobody asks costs no time and no memory.
    """
    if _registry is None:
        raise RuntimeError("the worker was not loaded")
    for served in _registry.warming():
        if served.first_party != strangers and served.local.examples:
            calculator = served.local
            with contextlib.suppress(Refused, Failure):
                evaluate_here(_registry, served, convert(calculator.given, calculator.examples[0].given), "metric")


def serve(
    connection: Connection,
    output: Connection,
    entries: Sequence[Entry],
    memory_limit: int,
    seconds: float,
    nice: int = 0,
) -> None:
    """Answer until the pipe closes. No answer takes longer than `seconds`, whatever became of who asked.

    It leads a session, so that it can be ended with all that its calculators started; what they print goes into
    `output`, never into anybody's answer. `entries` are the plugins of third parties that it is for. `nice` lowers its
    priority: others of this machine go first.
    """
    os.setsid()
    _give_way(nice)
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    signal.signal(signal.SIGTERM, signal.SIG_IGN)  # the service finishes what is in flight, then closes the pipe
    signal.signal(signal.SIGALRM, signal.SIG_DFL)
    os.dup2(output.fileno(), 1)
    os.dup2(output.fileno(), 2)
    output.close()
    sys.stdout = sys.stderr
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    if memory_limit:
        resource.setrlimit(resource.RLIMIT_AS, (memory_limit, memory_limit))
    try:
        connection.recv_bytes()  # the service has noted this process down, to end it whatever becomes of itself
        _load(entries)
        warm_up(strangers=bool(entries))
        connection.send_bytes(b"")
        while True:
            for answer in _replies(connection.recv_bytes(), seconds):
                connection.send_bytes(answer)
    except (EOFError, OSError):
        return


def _give_way(nice: int) -> None:
    """Let others of this machine go first.

    Linux may share the processor among sessions before it looks at processes (`sched_autogroup_enabled`). The niceness of a
    process counts only within its session then, and a worker is alone in its own: the session has to give way as well.
    """
    os.nice(nice)
    for _ in range(SESSION_TRIES if nice else 0):
        try:
            Path("/proc/self/autogroup").write_text(str(nice), "ascii")
        except BlockingIOError:  # of all users but root the kernel takes one change in a tenth of a second
            time.sleep(SESSION_PAUSE)
        except OSError:  # another system, or sessions are not grouped
            return
        else:
            return


def _load(entries: Sequence[Entry]) -> None:
    preload()
    if _registry is None:
        raise RuntimeError("the worker was not loaded")
    for entry in entries:
        try:
            _registry.take_in([entry])
        except SetAside as aside:
            _missing[entry.distribution] = aside.reason


def _replies(question: bytes, seconds: float) -> Iterator[bytes]:
    try:
        what, calculator_id, body, units = msgspec.msgpack.decode(question)
    except MemoryError:
        yield msgspec.msgpack.encode(_TOO_MUCH)
        return
    if what not in ("evaluate_many", "evaluate_gathered"):
        yield _encoded_reply(what, calculator_id, body, units, seconds)
        return
    now = time.monotonic()
    until, gathered = now + MANY_SECONDS, list[msgspec.Raw]()
    send_at = now + GATHERED_SECONDS
    for one in body:
        reply = _encoded_reply("evaluate", calculator_id, one, units, seconds)
        now = time.monotonic()
        if what == "evaluate_many":
            yield reply
        else:
            gathered.append(msgspec.Raw(reply))
            if now >= send_at:
                yield msgspec.msgpack.encode(gathered)
                gathered, send_at = [], now + GATHERED_SECONDS
        if now >= until:
            break
    if gathered:
        yield msgspec.msgpack.encode(gathered)
    yield b""


_TOO_MUCH = ["failed", "calculator-defect", "it asked for more memory than it may have"]


def _encoded_reply(what: What, calculator_id: str, body: bytes, units: Units, seconds: float) -> bytes:
    signal.setitimer(signal.ITIMER_REAL, seconds + GRACE)  # the kernel keeps it, even in an endless loop in C
    try:
        return msgspec.msgpack.encode(_reply(what, calculator_id, body, units))
    except MemoryError:
        return msgspec.msgpack.encode(_TOO_MUCH)
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0)


def _reply(what: What, calculator_id: str, body: bytes, units: Units) -> list[Any]:
    if _registry is None:
        raise RuntimeError("the worker was not loaded")
    served = _registry.find(calculator_id)
    if served is None:
        return absent(calculator_id, list(_missing.values()))
    if what == "evaluate":
        return reply_to(_registry, served, body, units)
    try:
        if what == "in_units":
            return ["respelt", kept_in_units(served.local, body, units)]
        answer, occasion = msgspec.json.decode(body, type=tuple[msgspec.Raw, Occasion])
        return ["page", msgspec.json.encode(page_of(served.local, bytes(answer), occasion))]
    except Failure as failure:
        return ["failed", failure.slug, words(failure)]
    except (KeyboardInterrupt, GeneratorExit):
        raise
    except BaseException as error:
        return ["failed", "calculator-defect", f"{type(error).__name__}: {words(error)}"]
