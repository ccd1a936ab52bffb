"""Answers of the examples as they were last released: a number that moves without a version is found."""

import math
from collections.abc import Iterator, Mapping
from typing import Any

import msgspec
from msgspec import Struct

from coldwright.conformance.faults import Fault
from coldwright.conformance.inputs import answered, examples
from coldwright.contract import Calculator, Defect, Plugin, Refused
from coldwright.contract.answer import to_json
from coldwright.contract.evaluation import Lookup
from coldwright.contract.ranges import SLACK


class KeptAnswers(Struct, frozen=True):
    """What one calculator answered to its examples."""

    version: str
    asks: dict[str, str]
    """Versions of the calculators that it asks: where theirs moved, its numbers may."""
    answers: dict[str, Any]
    """By name of the example: outcome, results, and codes of findings; or the pointers that were refused."""


Kept = Mapping[str, KeptAnswers]


def kept_answers(plugin: Plugin, lookup: Lookup) -> dict[str, KeptAnswers]:
    """What to keep beside the plugin at each release."""
    return {c.pinned: _of(c, lookup) for c in plugin.calculators}


def _of(calculator: Calculator[Any, Any], lookup: Lookup) -> KeptAnswers:
    return KeptAnswers(
        version=calculator.version,
        asks={name: lookup(name).version for name in calculator.uses},
        answers={
            example.name: _answer(calculator, given, lookup)
            for example, given in zip(calculator.examples, examples(calculator), strict=True)
        },
    )


def _answer(calculator: Calculator[Any, Any], given: Struct, lookup: Lookup) -> Any:
    try:
        answer = msgspec.json.decode(to_json(answered(calculator, given, lookup)))
    except Refused as refused:
        return {"refused": [e.pointer for e in refused.errors]}
    codes = [f"{f['severity']} {f['code']}" for f in answer["findings"] if "calculator" not in f]
    return {"outcome": answer["outcome"], "results": answer["results"], "findings": codes}


def check_answers(plugin: Plugin, lookup: Lookup, kept: Kept) -> Iterator[Fault]:
    """Answers against those that were kept: another number needs another version."""
    for calculator in plugin.calculators:
        before = kept.get(calculator.pinned)
        if before is None or before.version != calculator.version:
            continue
        try:
            now = _of(calculator, lookup)
        except (Refused, Defect, LookupError):
            continue  # another rule says that its examples do not run
        if now.asks != before.asks:
            continue
        for name in before.answers.keys() & now.answers.keys():
            if (place := _moved(before.answers[name], now.answers[name], "")) is not None:
                text = f"{place} of the example {name!r} is another than it was, and the version is still {now.version}"
                yield Fault("answer_changed", calculator.id, text)
                break


def _moved(before: Any, now: Any, place: str) -> str | None:
    """Where two answers part; None where they are the same."""
    if isinstance(before, dict) and isinstance(now, dict) and before.keys() == now.keys():
        return next((p for k in before if (p := _moved(before[k], now[k], f"{place}/{k}")) is not None), None)
    if isinstance(before, list) and isinstance(now, list) and len(before) == len(now):
        pairs = enumerate(zip(before, now, strict=True))
        return next((p for i, (a, b) in pairs if (p := _moved(a, b, f"{place}/{i}")) is not None), None)
    numbers = (int, float)
    if isinstance(before, numbers) and isinstance(now, numbers) and not isinstance(before, bool):
        return None if math.isclose(before, now, rel_tol=SLACK, abs_tol=1e-12) else place
    return None if before == now else place
