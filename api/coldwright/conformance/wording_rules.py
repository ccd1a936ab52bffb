"""Sentences: what they say in US units, where US units are asked for."""

import re
from collections.abc import Iterator
from typing import Any

import msgspec
from packaging.specifiers import SpecifierSet

from coldwright.conformance.faults import Fault
from coldwright.contract import Calculator, Plugin, Refused
from coldwright.contract.answer import in_units
from coldwright.contract.evaluation import Lookup, evaluate
from coldwright.contract.quantities import every_kind
from coldwright.contract.reading import convert

BEFORE_SENTENCES = "1.1"
"""The last version of the contract in which a sentence was plain text."""


def _said() -> re.Pattern[str]:
    """A number with a unit that US answers do not have; one that has the US figure beside it in brackets says both."""
    metric = sorted({k.metric_unit for k in every_kind() if k.metric_unit != k.us_unit} - {"Mohm"}, key=len)
    return re.compile(rf"\d ({'|'.join(map(re.escape, reversed(metric)))})(?![\w/²³]|\.\w)(?! \()")


def held_to_sentences(plugin: Plugin) -> bool:
    """Whether it was written for a contract that has sentences with quantities in them."""
    return not SpecifierSet(plugin.contract).contains(BEFORE_SENTENCES)


def check_sentences(calculator: Calculator[Any, Any], lookup: Lookup) -> Iterator[Fault]:
    """Own notes of the examples, in US units: no metric figure stands in them alone."""
    told: set[tuple[str, str]] = set()
    metric_figure = _said()
    for example in calculator.examples:
        try:
            answer = in_units(evaluate(calculator, convert(calculator.given, example.given), lookup=lookup), "us")
        except Refused:
            continue
        names = sorted(_names_in(msgspec.to_builtins(answer.results)), key=len, reverse=True)
        notes: list[Any] = [*answer.findings, *answer.assumptions]
        for note in notes:
            if note.calculator is not msgspec.UNSET:
                continue
            for member in ("statement", "why", "do"):
                text = getattr(note, member, "")
                for name in names:
                    text = text.replace(name, "")
                found = metric_figure.search(text)
                if found and (note.code, member) not in told:
                    told.add((note.code, member))
                    text = f"{member} of {note.code!r} says {found[0]!r} where US units are asked for: give it by `say`"
                    yield Fault("metric_in_us", calculator.id, text)


def _names_in(value: Any) -> set[str]:
    """Texts with a number among the results: an item is called the same in every answer."""
    if isinstance(value, dict):
        return {name for v in value.values() for name in _names_in(v)}
    if isinstance(value, list | tuple):
        return {name for v in value for name in _names_in(v)}
    return {value} if isinstance(value, str) and any(map(str.isdigit, value)) else set()
