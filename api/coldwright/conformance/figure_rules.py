"""Figures in sentences: each is one of the numbers of the answer, so that words and numbers cannot part.

A figure that stands only in a sentence is checked by nobody: a program reads the results, a check compares the results.
Here each quantity of a sentence must be found, to a millionth, among the numbers of the answer (results, input, working,
values of assumptions). It may be the sum or the difference of two of them, or a round part or multiple of one (0.9 of
it, 1.5 times it), and a round number of the method itself (0.6 m/s, 300 m) needs no source in the answer. Everything
else belongs into the results or the working (`notes.show`).
"""

from collections.abc import Iterator
from typing import Any

import msgspec
from msgspec import Struct

from coldwright.contract.answer import Answer
from coldwright.contract.quantities import Quantity, kind_of_unit
from coldwright.contract.sentences import Sentence

CLOSE = 1e-6
"""Part of a figure by which it may miss a number of the answer: working shows what was rounded to twelve digits."""
DIGITS_OF_A_LIMIT, DIGITS_OF_A_PART = 3, 2
"""Significant digits of a round number."""
_SMALLEST_FACTOR, _GREATEST_FACTOR = 0.05, 20.0
_ALIASES = {"K": ("delta_K", 1.0), "1": ("1", 1.0), "%": ("1", 0.01)}
"""What the working writes otherwise: kelvins there are differences."""
Numbers = dict[str, set[float]]
"""What an answer holds, in SI, by dimension."""


def unfounded(answer: Answer, given: Struct) -> Iterator[tuple[str, str, Quantity]]:
    """Code of a note, its member, and a figure there that the answer does not hold. Own notes alone."""
    numbers: Numbers = {}
    for value in (given, answer.results, *(a.value for a in answer.assumptions)):
        _gather(value, numbers)
    for line in answer.working:
        dimension, number = _in_si(line.value, line.unit)
        numbers.setdefault(dimension, set()).add(number)
    notes: list[Any] = [*answer.findings, *answer.assumptions]
    for note in notes:
        if note.calculator is msgspec.UNSET:
            for member, figure in _unfounded_in(note.said, numbers):
                yield note.code, member, figure


def _unfounded_in(said: dict[str, Sentence], numbers: Numbers) -> list[tuple[str, Quantity]]:
    """A figure may rest on another of the same note, which itself stands on the answer: a value, a limit, the excess."""
    left = [(member, figure) for member, sentence in said.items() for figure in figures(sentence)]
    numbers = {dimension: set(there) for dimension, there in numbers.items()}
    while standing := [figure for _, figure in left if founded(figure, numbers)]:
        for figure in standing:
            numbers.setdefault(_dimension(figure), set()).add(figure.si)
        left = [(member, figure) for member, figure in left if figure not in standing]
    return left


def _in_si(number: float, unit: str) -> tuple[str, float]:
    """Dimension and SI number of a line of the working, whose unit is plain text."""
    kind = kind_of_unit(unit)
    if unit in _ALIASES or kind is None:
        dimension, scale = _ALIASES.get(unit, (unit, 1.0))
        return dimension, number * scale
    figure = kind(number, unit)
    return _dimension(figure), figure.si


def figures(sentence: Sentence) -> Iterator[Quantity]:
    """The quantities of a sentence."""
    for value in sentence.values.values():
        for item in value if isinstance(value, list | tuple) else (value,):
            if isinstance(item, Quantity):
                yield item


def founded(figure: Quantity, numbers: Numbers) -> bool:
    """Whether the numbers of an answer bear it out."""
    if any(_round(figure.to(unit), DIGITS_OF_A_LIMIT) for unit in figure.units):
        return True
    wanted, dimension = figure.si, _dimension(figure)
    there = numbers.get(dimension, set())
    if any(_close(wanted, n) or _part(wanted, n) for n in there):
        return True
    if dimension == "delta_K":
        there = there | numbers.get("K", set())
    if any(_close(abs(wanted), abs(a - b), max(abs(a), abs(b))) for a in there for b in there):
        return True
    moved = numbers.get("delta_K", set()) if dimension == "K" else there
    return any(_close(wanted, a + sign * b, max(abs(a), abs(b))) for a in there for b in moved for sign in (1, -1))


def _dimension(figure: Quantity) -> str:
    return "delta_K" if figure.kind == "temperature_difference" else figure.si_unit


def _gather(value: Any, numbers: Numbers) -> None:
    if isinstance(value, Quantity):
        numbers.setdefault(_dimension(value), set()).add(value.si)
    elif isinstance(value, Struct):
        for name in value.__struct_fields__:
            _gather(getattr(value, name), numbers)
    elif isinstance(value, list | tuple):
        for item in value:
            _gather(item, numbers)
    elif isinstance(value, dict):
        for item in value.values():
            _gather(item, numbers)


def _close(a: float, b: float, size: float = 0.0) -> bool:
    return abs(a - b) <= CLOSE * max(abs(a), 1e-3 * size)


def _round(number: float, digits: int) -> bool:
    return _close(number, float(f"{number:.{digits}g}"))


def _part(wanted: float, number: float) -> bool:
    if not number or not wanted:
        return False
    factor = abs(wanted / number)
    return _SMALLEST_FACTOR <= factor <= _GREATEST_FACTOR and (
        _round(factor, DIGITS_OF_A_PART) or _round(1 / factor, DIGITS_OF_A_PART)
    )
