"""A worker process: reads questions from a pipe, answers them, holds itself to a memory limit.

Bytes go over the pipe, never pickles: a question is msgpack `[calculator id, JSON of the input, units]`, an answer is
msgpack `[kind, ...]` as `_reply` writes it.
"""

import os
import resource
import signal
import sys
from multiprocessing.connection import Connection
from typing import Any

import msgspec

from coldwright.contract import Refused
from coldwright.contract.reading import read
from coldwright.engine.evaluate import evaluate_here
from coldwright.engine.outcome import Failure
from coldwright.registry import Registry

LARGEST_ANSWER = 16 * 1024 * 1024

_registry: Registry | None = None


def preload() -> None:
    """What every worker needs, loaded once in the fork server: plugins, and the slow import of CoolProp."""
    global _registry  # noqa: PLW0603 - the one thing that forked workers share
    if _registry is None:
        _registry = Registry()


def serve(connection: Connection, memory_limit: int) -> None:
    """Answer until the pipe closes."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    signal.signal(signal.SIGTERM, signal.SIG_DFL)
    os.dup2(2, 1)  # what a calculator prints goes to the log, not into anybody's answer
    sys.stdout = sys.stderr
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    if memory_limit:
        resource.setrlimit(resource.RLIMIT_AS, (memory_limit, memory_limit))
    preload()
    while True:
        try:
            question = connection.recv_bytes()
        except (EOFError, OSError):
            return
        try:
            answer = msgspec.msgpack.encode(_reply(question))
        except MemoryError:
            answer = msgspec.msgpack.encode(
                ["failed", "calculator-defect", "it asked for more memory than it may have"]
            )
        connection.send_bytes(answer)


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
        return ["failed", failure.slug, str(failure)[:2000]]
    except (KeyboardInterrupt, GeneratorExit):
        raise
    except BaseException as error:
        return ["failed", "calculator-defect", f"{type(error).__name__}: {error}"[:2000]]
    if len(evaluated.body) > LARGEST_ANSWER:
        return [
            "failed",
            "calculator-defect",
            f"its answer has {len(evaluated.body)} bytes; {LARGEST_ANSWER} may be sent",
        ]
    return ["answered", evaluated.body, evaluated.digest, evaluated.outcome]
