"""A worker process: reads questions from a pipe, answers them, holds itself to a memory limit.

Bytes go over the pipe, never pickles: a question is msgpack `[calculator id, JSON of the input, units]`, an answer is
msgpack `[kind, ...]` as `_reply` writes it. The first message, empty, says that the worker is ready.
"""

import contextlib
import os
import resource
import signal
import sys
from multiprocessing.connection import Connection
from typing import Any

import msgspec

from coldwright.contract import Load, Refused
from coldwright.contract.reading import convert, read
from coldwright.engine.evaluate import evaluate_here
from coldwright.engine.outcome import Failure
from coldwright.registry import Registry

GRACE = 2.0
"""Seconds after which a worker that nobody ended ends itself: the service may be gone."""
LARGEST_ANSWER = 16 * 1024 * 1024

_registry: Registry | None = None


def preload() -> None:
    """The plugins, loaded once in the fork server for all workers."""
    global _registry  # noqa: PLW0603 - the one thing that forked workers share
    if _registry is None:
        _registry = Registry()


def warm_up() -> None:
    """Answer an example of every heavy calculator of ours: what is loaded or built at first use is there from then on."""
    if _registry is None:
        raise RuntimeError("the worker was not loaded")
    for served in list(_registry.served.values()):
        calculator = served.calculator
        if served.first_party and calculator.load is Load.HEAVY and calculator.examples:
            with contextlib.suppress(Refused, Failure):
                evaluate_here(_registry, served, convert(calculator.given, calculator.examples[0].given), "metric")


def serve(connection: Connection, memory_limit: int, seconds: float, warm: bool) -> None:
    """Answer until the pipe closes. No answer takes longer than `seconds`, whatever became of who asked."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    signal.signal(signal.SIGTERM, signal.SIG_IGN)  # the service finishes what is in flight, then closes the pipe
    signal.signal(signal.SIGALRM, signal.SIG_DFL)
    os.dup2(2, 1)  # what a calculator prints goes to the log, not into anybody's answer
    sys.stdout = sys.stderr
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    if memory_limit:
        resource.setrlimit(resource.RLIMIT_AS, (memory_limit, memory_limit))
    preload()
    if warm:
        warm_up()
    try:
        connection.send_bytes(b"")
        while True:
            question = connection.recv_bytes()
            signal.setitimer(signal.ITIMER_REAL, seconds + GRACE)  # the kernel keeps it, even in an endless loop in C
            answer = _encoded_reply(question)
            signal.setitimer(signal.ITIMER_REAL, 0)
            connection.send_bytes(answer)
    except (EOFError, OSError):
        return


def _encoded_reply(question: bytes) -> bytes:
    try:
        return msgspec.msgpack.encode(_reply(question))
    except MemoryError:
        return msgspec.msgpack.encode(["failed", "calculator-defect", "it asked for more memory than it may have"])


def _reply(question: bytes) -> list[Any]:
    if _registry is None:
        raise RuntimeError("the worker was not loaded")
    calculator_id, body, units = msgspec.msgpack.decode(question)
    try:
        served = _registry.find(calculator_id)
        if served is None:
            return ["failed", "calculator-defect", f"the worker process did not load {calculator_id}"]
        evaluated = evaluate_here(_registry, served, read(served.calculator.given, body), units)
    except Refused as refused:
        return ["refused", msgspec.to_builtins(refused.errors)]
    except Failure as failure:
        return ["failed", failure.slug, _words(failure)]
    except (KeyboardInterrupt, GeneratorExit):
        raise
    except BaseException as error:
        return ["failed", "calculator-defect", f"{type(error).__name__}: {_words(error)}"]
    if len(evaluated.body) > LARGEST_ANSWER:
        return [
            "failed",
            "calculator-defect",
            f"its answer has {len(evaluated.body)} bytes; {LARGEST_ANSWER} may be sent",
        ]
    return ["answered", evaluated.body, evaluated.digest, evaluated.outcome]


def _words(error: BaseException) -> str:
    """What it says; a stranger's error may fail at that too."""
    try:
        return str(error)[:2000]
    except Exception:
        return "it can't be put in words"
