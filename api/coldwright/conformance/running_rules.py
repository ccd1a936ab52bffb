"""Rules that are checked by running a calculator: pure, finite, honest, the same in every unit."""

import contextlib
import math
import random
import sys
from collections.abc import Callable, Iterator
from types import FrameType
from typing import Any

import msgspec
from msgspec import Struct

from coldwright.conformance.faults import Fault
from coldwright.conformance.inputs import examples, respelt, variations
from coldwright.contract import Calculator, Defect, Refused
from coldwright.contract.answer import Answer, to_json
from coldwright.contract.evaluation import Lookup, evaluate, hold_to_schema

TRIES = 60
FORBIDDEN = {
    "time": {"time", "time_ns", "monotonic", "monotonic_ns", "perf_counter", "perf_counter_ns", "localtime", "gmtime"},
    "posix": {"urandom", "getenv", "system", "open", "unlink", "mkdir", "rename"},
    "_random": {"random", "getrandbits", "seed"},
    "datetime": {"now", "utcnow", "today"},
    "_socket": {"connect", "bind", "getaddrinfo"},
    "_io": {"open"},
}


def check_running(calculator: Calculator[Any, Any], lookup: Lookup, tries: int = TRIES) -> Iterator[Fault]:
    """Every rule that needs an evaluation."""
    try:
        starts = examples(calculator)
    except Refused as refused:
        yield Fault("example", calculator.id, f"an example does not fit its schema: {refused}")
        return
    answers = []
    for number, given in enumerate(starts):
        try:
            answers.append(_answer(calculator, given, lookup))
        except (Refused, Defect) as error:
            yield Fault("example", calculator.id, f"example {calculator.examples[number].name!r} does not run: {error}")
    if len(answers) < len(starts) or not starts:
        return
    yield from _cautions(calculator, answers)
    yield from _citations(calculator, answers)
    inputs = [*starts, *variations(calculator, tries)]
    yield from _generated(calculator, inputs, lookup)
    yield from _pure(calculator, inputs, lookup)
    yield from _same_in_every_unit(calculator, starts, lookup)


def _answer(calculator: Calculator[Any, Any], given: Struct, lookup: Lookup) -> Answer:
    answer = evaluate(calculator, given, lookup=lookup)
    to_json(answer)
    return answer


def _bytes(calculator: Calculator[Any, Any], given: Struct, lookup: Lookup) -> bytes:
    try:
        return to_json(evaluate(calculator, given, lookup=lookup))
    except Refused as refused:
        return msgspec.json.encode(refused.errors)
    except Defect as defect:
        return str(defect).encode()


def _cautions(calculator: Calculator[Any, Any], answers: list[Answer]) -> Iterator[Fault]:
    for hazard in calculator.hazards:
        if not all(any(c.hazard == hazard for c in a.cautions) for a in answers):
            yield Fault(
                "no_caution", calculator.id, f"it speaks of the hazard {hazard!r} and an example has no caution of it"
            )


def _citations(calculator: Calculator[Any, Any], answers: list[Answer]) -> Iterator[Fault]:
    known = {r.id for r in calculator.references}
    for answer in answers:
        notes: list[Any] = [*answer.findings, *answer.assumptions, *answer.cautions]
        own = [n for n in notes if n.calculator is msgspec.UNSET]
        if unknown := {i for n in own for i in n.references} - known:
            yield Fault(
                "no_reference", calculator.id, f"notes cite what the calculator does not list: {sorted(unknown)}"
            )
            return


def _generated(calculator: Calculator[Any, Any], inputs: list[Struct], lookup: Lookup) -> Iterator[Fault]:
    seen: set[str] = set()
    for given in inputs:
        try:
            answer = evaluate(calculator, given, lookup=lookup)
            to_json(answer)
            hold_to_schema(calculator.results, answer.results)
        except Refused as refused:
            for error in refused.errors:
                if (problem := _unhelpful(error)) and problem not in seen:
                    seen.add(problem)
                    yield Fault("bare_refusal", calculator.id, f"{error.detail!r}: {problem}")
        except Defect as defect:
            rule = "not_finite" if "finite" in str(defect) else "exception"
            if rule not in seen:
                seen.add(rule)
                yield Fault(rule, calculator.id, f"{defect} for {_shown(given)}")
        except msgspec.ValidationError as error:
            if "schema" not in seen:
                seen.add("schema")
                yield Fault(
                    "breaks_schema", calculator.id, f"its results break its own schema: {error} for {_shown(given)}"
                )


def _unhelpful(error: Any) -> str:
    if not error.pointer.startswith("#/"):
        return "the refusal names no field"
    if error.code in ("missing", "unknown_field"):
        return ""
    if error.allowed is msgspec.UNSET and error.why is msgspec.UNSET and len(error.detail.split()) < 5:
        return "the refusal tells neither the range nor why"
    return ""


def _pure(calculator: Calculator[Any, Any], inputs: list[Struct], lookup: Lookup) -> Iterator[Fault]:
    """The same bytes at any time, after any others; no clock, no chance, no file, no socket."""
    some = inputs[:12]
    before = [_bytes(calculator, g, lookup) for g in some]
    after = [_bytes(calculator, g, lookup) for g in reversed(some)][::-1]
    if before != after:
        yield Fault("impure", calculator.id, "the same input had another answer after other inputs")
    called: set[str] = set()
    for given in some:
        with contextlib.suppress(Refused, Defect), _watching(called):
            evaluate(calculator, given, lookup=lookup)
    if called:
        yield Fault(
            "impure", calculator.id, f"it calls {', '.join(sorted(called))}: an answer may rest on its input alone"
        )


class _watching(contextlib.AbstractContextManager[None]):  # noqa: N801
    """Notes calls of built-in functions that have no place in a calculation."""

    def __init__(self, called: set[str]) -> None:
        self._called = called
        self._before: Callable[..., Any] | None = None

    def __enter__(self) -> None:
        self._before = sys.getprofile()
        sys.setprofile(self._event)

    def __exit__(self, *_error: object) -> None:
        sys.setprofile(self._before)

    def _event(self, frame: FrameType, event: str, argument: Any) -> None:
        if event != "c_call" or _imports(frame):
            return
        name = getattr(argument, "__name__", "")
        owner = getattr(argument, "__self__", None)
        module = getattr(argument, "__module__", None) or getattr(type(owner), "__module__", "") or ""
        if isinstance(owner, type):
            module = owner.__module__
        if name in FORBIDDEN.get(module, ()) or (module == "random" and name in FORBIDDEN["_random"]):
            self._called.add(f"{module.lstrip('_')}.{name}")


def _imports(frame: FrameType | None) -> bool:
    """Whether this is inside an import: first use of a library reads its files, and may."""
    while frame is not None:
        if frame.f_code.co_filename.startswith("<frozen importlib"):
            return True
        frame = frame.f_back
    return False


def _same_in_every_unit(calculator: Calculator[Any, Any], starts: list[Struct], lookup: Lookup) -> Iterator[Fault]:
    draw = random.Random(7)  # noqa: S311
    for given in starts:
        for _ in range(3):
            other = respelt(given, draw)
            try:
                one = msgspec.to_builtins(evaluate(calculator, given, lookup=lookup).results)
                two = msgspec.to_builtins(evaluate(calculator, other, lookup=lookup).results)
            except (Refused, Defect) as error:
                yield Fault("units", calculator.id, f"the same input in other units is not answered: {error}")
                return
            if (place := _unlike(one, two, "")) is not None:
                yield Fault("units", calculator.id, f"the same input in other units has another result at {place}")
                return


def _unlike(one: Any, two: Any, place: str) -> str | None:
    """Where two results differ by more than rounding."""
    if isinstance(one, dict) and isinstance(two, dict) and one.keys() == two.keys():
        return next((p for k in one if (p := _unlike(one[k], two[k], f"{place}/{k}")) is not None), None)
    if isinstance(one, list | tuple) and isinstance(two, list | tuple) and len(one) == len(two):
        pairs = enumerate(zip(one, two, strict=True))
        return next((p for i, (a, b) in pairs if (p := _unlike(a, b, f"{place}/{i}")) is not None), None)
    if isinstance(one, float | int) and isinstance(two, float | int) and not isinstance(one, bool):
        return None if math.isclose(one, two, rel_tol=1e-6, abs_tol=1e-6) else place
    return None if one == two or isinstance(one, str) else place


def _shown(given: Struct) -> str:
    return msgspec.json.encode(given).decode()[:600]
