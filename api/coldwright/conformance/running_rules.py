"""Rules that are checked by running a calculator: pure, finite, honest, the same in every unit."""

import contextlib
import math
import random
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import msgspec
from msgspec import Struct

from coldwright.conformance.faults import Fault
from coldwright.conformance.inputs import answered, examples, respelt, variations
from coldwright.conformance.purity import global_state, watching
from coldwright.contract import Calculator, Defect, FieldError, Refused
from coldwright.contract.answer import Answer, to_json
from coldwright.contract.evaluation import Lookup, hold_to_schema
from coldwright.contract.quantities import every_kind
from coldwright.contract.walk import fields_of, parts, plain

TRIES = 60
REPEATED = 12
"""Inputs that are answered again, in other orders and from several threads."""


def check_running(calculator: Calculator[Any, Any], lookup: Lookup, tries: int = TRIES) -> Iterator[Fault]:
    """Every rule that needs an evaluation."""
    package = calculator.function.__module__.partition(".")[0]
    try:
        starts = examples(calculator)
    except Refused as refused:
        yield Fault("example", calculator.id, f"an example does not fit its schema: {refused}")
        return
    answers = []
    for number, given in enumerate(starts):
        try:
            answers.append(answered(calculator, given, lookup))
        except (Refused, Defect) as error:
            yield Fault("example", calculator.id, f"example {calculator.examples[number].name!r} does not run: {error}")
    if len(answers) < len(starts) or not starts:
        return
    yield from _cautions(calculator, answers)
    yield from _citations(calculator, answers)
    before = global_state(package)
    inputs = [*starts, *variations(calculator, tries)]
    yield from _generated(calculator, inputs, lookup)
    yield from _pure(calculator, inputs[:REPEATED], lookup)
    after = global_state(package)
    if changed := sorted(name for name in before.keys() & after.keys() if before[name] != after[name]):
        yield Fault("global_state", calculator.id, f"answering changes {', '.join(changed)}")
    yield from _same_in_every_unit(calculator, starts, lookup)


def _bytes(calculator: Calculator[Any, Any], given: Struct, lookup: Lookup) -> bytes:
    try:
        return to_json(answered(calculator, given, lookup))
    except Refused as refused:
        return msgspec.json.encode(refused.errors)
    except Defect as defect:
        return str(defect).encode()


def _cautions(calculator: Calculator[Any, Any], answers: list[Answer]) -> Iterator[Fault]:
    for hazard in calculator.hazards:
        if not all(any(c.hazard == hazard for c in a.cautions) for a in answers):
            text = f"it speaks of the hazard {hazard!r} and an example has no caution of it"
            yield Fault("no_caution", calculator.id, text)


def _citations(calculator: Calculator[Any, Any], answers: list[Answer]) -> Iterator[Fault]:
    known = {r.id for r in calculator.references}
    for answer in answers:
        notes: list[Any] = [*answer.findings, *answer.assumptions, *answer.cautions]
        own = [n for n in notes if n.calculator is msgspec.UNSET]
        if unknown := {i for n in own for i in n.references} - known:
            text = f"notes cite what the calculator does not list: {sorted(unknown)}"
            yield Fault("no_reference", calculator.id, text)
            return


def _generated(calculator: Calculator[Any, Any], inputs: list[Struct], lookup: Lookup) -> Iterator[Fault]:
    """Each kind of fault is reported once, with the first input that showed it."""
    seen: set[str] = set()
    for given in inputs:
        for rule, text in _faults_of(calculator, given, lookup):
            if (kind := rule if rule != "bare_refusal" else text) not in seen:
                seen.add(kind)
                yield Fault(rule, calculator.id, text)


def _faults_of(calculator: Calculator[Any, Any], given: Struct, lookup: Lookup) -> Iterator[tuple[str, str]]:
    try:
        answer = answered(calculator, given, lookup)
        hold_to_schema(calculator.results, answer.results)
    except Refused as refused:
        for error in refused.errors:
            if problem := _unhelpful(calculator, error):
                yield "bare_refusal", f"{error.pointer} {error.detail!r}: {problem}"
    except Defect as defect:
        rule = "not_finite" if "finite" in str(defect) else "exception"
        yield rule, f"{defect} for {_shown(given)}"
    except msgspec.ValidationError as error:
        yield "breaks_schema", f"its results break its own schema: {error} for {_shown(given)}"


def _unhelpful(calculator: Calculator[Any, Any], error: FieldError) -> str:
    if not error.pointer.startswith("#/"):
        return "the refusal names no field"
    if not _is_field(calculator.given, error.pointer[2:].split("/")):
        return "the refusal names a field that the input does not have"
    if error.code in ("missing", "unknown_field"):
        return ""
    if error.allowed is msgspec.UNSET and error.why is msgspec.UNSET and len(error.detail.split()) < 5:
        return "the refusal gives neither the range nor why"
    return ""


def _is_field(annotation: Any, steps: list[str]) -> bool:
    """Whether a pointer leads somewhere in the schema."""
    core = plain(annotation)
    if not steps:
        return True
    if isinstance(core, type) and issubclass(core, Struct):
        inner = {f.wire_name: f.annotation for f in fields_of(core)}
        step = steps[0].replace("~1", "/").replace("~0", "~")
        return step == core.__struct_config__.tag_field or (step in inner and _is_field(inner[step], steps[1:]))
    inside = list(parts(core))
    through = steps[1:] if steps[0].isdigit() or getattr(core, "__origin__", None) is dict else steps
    return any(_is_field(part, through) for part in inside)


def _pure(calculator: Calculator[Any, Any], inputs: list[Struct], lookup: Lookup) -> Iterator[Fault]:
    """The same bytes at any time, after any others, beside any others; no clock, no chance, no file, no socket."""
    before = [_bytes(calculator, g, lookup) for g in inputs]
    after = [_bytes(calculator, g, lookup) for g in reversed(inputs)][::-1]
    if before != after:
        yield Fault("impure", calculator.id, "the same input had another answer after other inputs")
    else:
        with ThreadPoolExecutor(4) as threads:
            beside = list(threads.map(lambda g: _bytes(calculator, g, lookup), inputs * 2))
        if beside != before * 2:
            yield Fault("impure", calculator.id, "the same input had another answer when asked from several threads")
    called: set[str] = set()
    for given in inputs:
        with contextlib.suppress(Refused, Defect), watching(called):
            answered(calculator, given, lookup)
    if called:
        text = f"it calls {', '.join(sorted(called))}: an answer may rest on its input alone"
        yield Fault("impure", calculator.id, text)


def _same_in_every_unit(calculator: Calculator[Any, Any], starts: list[Struct], lookup: Lookup) -> Iterator[Fault]:
    draw = random.Random(7)  # noqa: S311 - repeatable, not secret
    for given in starts:
        for _ in range(3):
            try:
                one = answered(calculator, given, lookup)
                two = answered(calculator, respelt(given, draw), lookup)
            except (Refused, Defect) as error:
                yield Fault("units", calculator.id, f"the same input in other units is not answered: {error}")
                return
            place = _unlike(msgspec.to_builtins(one.results), msgspec.to_builtins(two.results), "/results")
            if place is None and one.outcome != two.outcome:
                place = "/outcome"
            if place is not None:
                yield Fault("units", calculator.id, f"the same input in other units has another answer at {place}")
                return


def _unlike(one: Any, two: Any, place: str) -> str | None:
    """Where two results differ by more than rounding. A quantity is the same in whatever unit it is given."""
    if (same := _same_quantity(one, two)) is not None:
        return None if same else place
    if isinstance(one, dict) and isinstance(two, dict) and one.keys() == two.keys():
        return next((p for k in one if (p := _unlike(one[k], two[k], f"{place}/{k}")) is not None), None)
    if isinstance(one, list | tuple) and isinstance(two, list | tuple) and len(one) == len(two):
        pairs = enumerate(zip(one, two, strict=True))
        return next((p for i, (a, b) in pairs if (p := _unlike(a, b, f"{place}/{i}")) is not None), None)
    if isinstance(one, float | int) and isinstance(two, float | int) and not isinstance(one, bool):
        return None if math.isclose(one, two, rel_tol=1e-6, abs_tol=1e-6) else place
    return None if one == two or (isinstance(one, str) and isinstance(two, str) and " " in one) else place


def _same_quantity(one: Any, two: Any) -> bool | None:
    """Whether two quantities are the same; nothing where they are no quantities of one kind."""
    if not all(isinstance(q, dict) and q.keys() == {"value", "unit"} for q in (one, two)):
        return None
    kinds = [k for k in every_kind() if {one["unit"], two["unit"]} <= k.units.keys()]
    numbers = [kind(two["value"], two["unit"]).to(one["unit"]) for kind in kinds]
    return any(math.isclose(one["value"], n, rel_tol=1e-6, abs_tol=1e-6) for n in numbers) if numbers else None


def _shown(given: Struct) -> str:
    return msgspec.json.encode(given).decode()[:600]
