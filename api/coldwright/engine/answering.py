"""What a question comes to where it is answered: a reply of plain values that can go over a pipe, whatever happens."""

from collections.abc import Sequence
from typing import Any

import msgspec

from coldwright.contract import Malformed, Refused
from coldwright.contract.answer import Units
from coldwright.contract.reading import read
from coldwright.engine.evaluate import evaluate_here
from coldwright.engine.outcome import Failure
from coldwright.registry import Registry, Served

LARGEST_ANSWER = 16 * 1024 * 1024
ABSENT = "absent"
"""First word of the reply of a process that has not loaded the calculator."""


def reply_to(registry: Registry, served: Served, body: bytes, units: Units) -> list[Any]:
    """`["answered", ...]`, `["refused", ...]`, `["malformed", ...]` or `["failed", slug, text]`."""
    try:
        evaluated = evaluate_here(registry, served, read(served.local.given, body), units)
    except Refused as refused:
        return ["refused", msgspec.to_builtins(refused.errors)]
    except Malformed as malformed:
        return ["malformed", malformed.code, malformed.detail]
    except Failure as failure:
        return ["failed", failure.slug, words(failure)]
    except (KeyboardInterrupt, GeneratorExit):
        raise
    except BaseException as error:
        return ["failed", "calculator-defect", f"{type(error).__name__}: {words(error)}"]
    if len(evaluated.body) > LARGEST_ANSWER:
        text = f"its answer has {len(evaluated.body)} bytes; {LARGEST_ANSWER} may be sent"
        return ["failed", "calculator-defect", text]
    return ["answered", evaluated.body, evaluated.digest, evaluated.outcome]


def absent(calculator_id: str, reasons: Sequence[str]) -> list[Any]:
    """The reply of a process that has not loaded the calculator."""
    text = f"the worker process did not load {calculator_id}. {'; '.join(reasons)}"
    return [ABSENT, "calculator-defect", text.strip()]


def words(error: BaseException) -> str:
    """What it says; a stranger's error may fail at that too."""
    try:
        return str(error)[:2000]
    except Exception:
        return "it can't be put in words"
