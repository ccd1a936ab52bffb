"""Faults in the schemas of a plugin that would else show themselves with its first caller.

Each is reported with the file, the field and the remedy. They are looked for in the process that imports the plugin.
"""

import inspect
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple, get_args

from msgspec import Struct

from coldwright.contract import Calculator, Plugin
from coldwright.contract.fields import Within
from coldwright.contract.parts import Join
from coldwright.contract.quantities import UNIT_TEXT, Kind, Quantity
from coldwright.contract.ranges import holds
from coldwright.contract.walk import FieldFacts, all_structs, fields_of, metas, plain, quantity_in
from coldwright.registry.rules import ID

MOST_LISTED = 20


class LoadFault(NamedTuple):
    """One of them."""

    calculator: str
    text: str
    """Where and what."""
    cure: str


def faults_of(plugin: Plugin) -> list[LoadFault]:
    """Every fault of units, ranges and references; at most twenty."""
    found: list[LoadFault] = []
    for calculator in plugin.calculators:
        for fault in _of_calculator(calculator):
            if fault not in found:
                found.append(fault)
            if len(found) == MOST_LISTED:
                return found
    return found


def _of_calculator(calculator: Calculator[Any, Any]) -> Iterator[LoadFault]:
    known = {r.id for r in calculator.references}
    yield from _of_joining(calculator)
    for struct in all_structs(calculator.given, calculator.results):
        if struct.__module__.partition(".")[0] != "coldwright":
            if issubclass(struct, Quantity):
                for text, cure in _of_kind(struct):
                    yield LoadFault(calculator.id, f"{_place(struct, 'declared')}: {text}", cure)
                continue
            for facts in fields_of(struct):
                for text, cure in _of_words(facts, calculator):
                    yield LoadFault(calculator.id, f"{_place(struct, facts.name)}: {text}", cure)
                for text, cure in _of_field(facts, known):
                    yield LoadFault(calculator.id, f"{_place(struct, facts.name)}: {text}", cure)


def _of_joining(calculator: Calculator[Any, Any]) -> Iterator[LoadFault]:
    """What it says of itself as a part: with a word mistyped it would never be asked, and nobody would know."""
    wholes = get_args(Join)
    if calculator.joins not in wholes:
        cure = f"Write one of {', '.join(map(repr, filter(None, wholes)))}, or leave it out."
        yield LoadFault(calculator.id, f"joins={calculator.joins!r} is nothing that can be joined", cure)
    given: Any = calculator.given
    for facts in fields_of(given):
        other = facts.about.block_of
        if other and not calculator.joins:
            yield LoadFault(
                calculator.id,
                f"{_place(given, facts.name)}: it takes a block and joins nothing",
                "Say what it joins.",
            )
        elif other and (not ID.fullmatch(other) or other == calculator.id):
            text = f"{_place(given, facts.name)}: {other!r} is no other calculator"
            yield LoadFault(calculator.id, text, "Write `family.name` of another part.")


def _of_field(facts: FieldFacts, known: set[str]) -> Iterator[tuple[str, str]]:
    within = facts.about.within
    kind = facts.quantity or quantity_in(facts.annotation)
    if within is not None:
        yield from _of_range(within, kind)
    if facts.about.us and (kind is None or facts.about.us not in kind.units):
        yield (f"us={facts.about.us!r} is no unit of {_called(kind)}", _choose(kind))
    if unknown := [r for r in facts.about.references if r not in known]:
        yield (
            f"it cites {', '.join(map(repr, unknown))}, which its calculator does not list",
            "Put the reference into `references=` of the calculator.",
        )
    if within is not None and kind is not None and within.unit in kind.units and isinstance(facts.default, Quantity):
        number = facts.default.to(within.unit)
        if not holds(within, number):
            yield (f"the default {facts.default} is out of its own range", "Move the default or the range.")


def _of_range(within: Within, kind: type[Quantity] | None) -> Iterator[tuple[str, str]]:
    if kind is None:
        yield (
            f"unit={within.unit!r} stands at something that is no quantity",
            "Take `unit` out, or make it a quantity.",
        )
    elif within.unit not in kind.units:
        yield (f"unit={within.unit!r} is no unit of {_called(kind)}", _choose(kind))
    bounds = [b for b in (within.low, within.high, within.above, within.below) if b is not None]
    if not all(isinstance(b, int | float) and abs(b) < float("inf") for b in bounds):
        yield ("a bound is no finite number", "Write each bound as a number in the unit beside it.")
        return
    low = max((b for b in (within.low, within.above) if b is not None), default=float("-inf"))
    high = min((b for b in (within.high, within.below) if b is not None), default=float("inf"))
    if low > high or (low == high and (within.above is not None or within.below is not None)):
        yield (f"nothing lies between {low:g} and {high:g} {within.unit}", "Turn the bounds round.")


def _of_kind(kind: type[Quantity]) -> Iterator[tuple[str, str]]:
    """Of a quantity of the plugin's own: spellings, factors and range fit each other."""
    own = kind.declared
    if not isinstance(own, Kind):
        yield ("`declared` is no `Kind`", "Write `declared: ClassVar = Kind({...})`.")
        return
    (unit,) = (f for f in fields_of(kind) if f.name == "unit")
    spelt = set(get_args(plain(unit.annotation)))
    if spelt != set(own.factors):
        yield (
            f"its unit takes {', '.join(sorted(map(str, spelt))) or 'any text'}, its factors are of {', '.join(own.factors)}",
            "Give the same spellings to `Literal` and to `Kind`.",
        )
    if wrong := [u for u in own.factors if not (isinstance(u, str) and UNIT_TEXT.fullmatch(u))]:
        yield (f"{wrong[0]!r} is no spelling of a unit", "Use letters, digits and . / % ^ -, 30 at most.")
    if wrong := [u for u, f in own.factors.items() if not (isinstance(f, int | float) and 0 < f < float("inf"))]:
        yield (f"the factor of {wrong[0]} is no finite number above 0", "See `coldwright plugins factors`.")
    if not own.base:
        yield ("no unit has the factor 1", "Give the factor 1 to the unit that the others are multiplied into.")
    if own.us and own.us not in own.factors:
        yield (f"us={own.us!r} is none of its units", f"Write one of {', '.join(own.factors)}.")
    if own.low is not None and own.high is not None and own.low > own.high:
        yield (f"nothing lies between {own.low:g} and {own.high:g} {own.base}", "Turn the bounds round.")


def _of_words(facts: FieldFacts, calculator: Calculator[Any, Any]) -> Iterator[tuple[str, str]]:
    """Words of a table that the calculator does not list: its digest would not move with them."""
    tables = {t.id for t in calculator.tables}
    listed = [extra for meta in metas(facts.annotation) if (extra := (meta.extra or {}).get("words")) is not None]
    for words in listed:
        if words.table not in tables:
            text = f"its words are of the table {words.table}, which its calculator does not list"
            yield (text, "Put the table into `tables=` of the calculator.")


def _called(kind: type[Quantity] | None) -> str:
    return "anything here" if kind is None else kind.__name__


def _choose(kind: type[Quantity] | None) -> str:
    return "Take it out: only a quantity has a unit." if kind is None else f"Write one of {', '.join(kind.units)}."


def _place(struct: type[Struct], field: str) -> str:
    """`package/module.py:41, Struct.field`: file and line where they can be found."""
    try:
        lines, first = inspect.getsourcelines(struct)
        line = next((n for n, text in enumerate(lines, first) if text.lstrip().startswith(f"{field}:")), first)
        file = Path(inspect.getsourcefile(struct) or "")
    except (OSError, TypeError):
        return f"{struct.__module__}.{struct.__name__}.{field}"
    inside = struct.__module__.count(".") + (2 if file.name == "__init__.py" else 1)
    return f"{'/'.join(file.parts[-inside:])}:{line}, {struct.__name__}.{field}"
