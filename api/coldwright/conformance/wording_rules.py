"""Sentences: their figures follow the units that are asked for, and are numbers of the answer."""

import re
from collections.abc import Iterator
from typing import Any

import msgspec
from msgspec import Struct
from packaging.specifiers import SpecifierSet

from coldwright.conformance.faults import Fault
from coldwright.conformance.figure_rules import unfounded
from coldwright.conformance.inputs import answered, examples, variations
from coldwright.contract import Calculator, Defect, Plugin, Refused
from coldwright.contract.answer import Answer, in_units
from coldwright.contract.evaluation import Lookup
from coldwright.contract.quantities import every_kind

NAMES = {"item", "name", "id", "type", "said"}
"""Members of results that hold what a thing is called, which is the same in every answer; and templates of sentences."""
TRIES = 40
"""Inputs beside the examples."""
BEFORE_SENTENCES = "1.1"
"""The last version of the contract in which a sentence was plain text."""


def _said() -> re.Pattern[str]:
    """A number with a unit that US answers do not have; with the US figure beside it, in brackets or before them, it may stand.

    So may the name of a class: a cable is of the `90 degC class` in US codes too.
    """
    metric = sorted({k.metric_unit for k in every_kind() if k.metric_unit != k.us_unit} - {"Mohm"}, key=len)
    return re.compile(rf"\d ({'|'.join(map(re.escape, reversed(metric)))})(?![\w/²³]|\.\w)(?! \(|\)| class\b)")


def held_to_sentences(plugin: Plugin) -> bool:
    """Whether it was written for a contract that has sentences with quantities in them."""
    return not SpecifierSet(plugin.contract).contains(BEFORE_SENTENCES)


def check_sentences(calculator: Calculator[Any, Any], lookup: Lookup, tries: int = TRIES) -> Iterator[Fault]:
    """Own notes of the examples and of inputs like them: figures follow the units asked for, and the answer holds them."""
    found: dict[tuple[str, str, str], Fault] = {}
    metric_figure = _said()
    try:
        starts = examples(calculator)
    except Refused:
        return  # `running_rules` says which does not fit, and below which does not run
    for given in (*starts, *variations(calculator, tries)):
        try:
            answer = answered(calculator, given, lookup)
        except (Refused, Defect):
            continue
        for rule, code, member, text in (
            *_figures_from_nowhere(answer, given),
            *_metric_in_us(answer, given, metric_figure),
        ):
            found.setdefault((rule, code, member), Fault(rule, calculator.id, f"{member} of {code!r} says {text}"))
    yield from found.values()


def _figures_from_nowhere(answer: Answer, given: Struct) -> Iterator[tuple[str, str, str, str]]:
    for code, member, figure in unfounded(answer, given):
        yield "figure", code, member, f"{figure}, which stands nowhere else in the answer: show it in the working"


def _metric_in_us(answer: Answer, given: Struct, metric_figure: re.Pattern[str]) -> Iterator[tuple[str, str, str, str]]:
    us = in_units(answer, "us")
    results = msgspec.to_builtins(us.results)
    sent = _names_in(msgspec.to_builtins(given))
    for where, text in _texts_in(results, "/results"):
        if text not in sent and not text.startswith("<") and (said := metric_figure.search(text)):
            yield (
                "metric_in_us",
                where,
                "text",
                f"{said[0]!r} where US units are asked for: give it by `spoken` and `say`",
            )
    names = sorted(_names_in(results), key=len, reverse=True)
    notes: list[Any] = [*us.findings, *us.assumptions, *us.cautions]
    for note in notes:
        if note.calculator is not msgspec.UNSET:
            continue
        for member in ("statement", "why", "do"):
            text = getattr(note, member, "")
            for name in names:
                text = text.replace(name, "")
            if said := metric_figure.search(text):
                yield "metric_in_us", note.code, member, f"{said[0]!r} where US units are asked for: give it by `say`"


def _texts_in(value: Any, where: str) -> Iterator[tuple[str, str]]:
    """Texts of results with their places; members of a list have one place."""
    if isinstance(value, dict):
        for name, member in value.items():
            if name not in NAMES:
                yield from _texts_in(member, f"{where}/{name}")
    elif isinstance(value, list | tuple):
        for member in value:
            yield from _texts_in(member, f"{where}/-")
    elif isinstance(value, str):
        yield where, value


def _names_in(value: Any) -> set[str]:
    """Texts with a number among the results: an item is called the same in every answer."""
    if isinstance(value, dict):
        return {name for v in value.values() for name in _names_in(v)}
    if isinstance(value, list | tuple):
        return {name for v in value for name in _names_in(v)}
    return {value} if isinstance(value, str) and any(map(str.isdigit, value)) else set()
