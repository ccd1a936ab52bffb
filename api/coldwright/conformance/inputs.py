"""Inputs to try a calculator with: its examples, variations of them that its schema allows, and what it answers."""

import random
from collections.abc import Iterator
from typing import Any, Literal, get_args, get_origin

import msgspec
from msgspec import UNSET, Struct

from coldwright.contract import Calculator, Defect, Quantity
from coldwright.contract.answer import Answer, to_json
from coldwright.contract.evaluation import Lookup, evaluate
from coldwright.contract.reading import convert
from coldwright.contract.refusal import Refused
from coldwright.contract.walk import FieldFacts, fields_of, metas, plain


def examples(calculator: Calculator[Any, Any]) -> list[Struct]:
    """The examples as inputs; raises `Refused` for one that its own schema refuses."""
    return [convert(calculator.given, msgspec.to_builtins(dict(e.given))) for e in calculator.examples]


def answered(calculator: Calculator[Any, Any], given: Struct, lookup: Lookup) -> Answer:
    """An answer, encoded once to see that it can be. Raises `Refused` or `Defect`, whatever the calculator raises."""
    try:
        answer = evaluate(calculator, given, lookup=lookup)
        to_json(answer)
    except (Refused, Defect, KeyboardInterrupt):
        raise
    except BaseException as error:
        raise Defect(f"{calculator.id}: {type(error).__name__}: {error}") from error
    return answer


def variations(calculator: Calculator[Any, Any], count: int, seed: int = 1) -> Iterator[Struct]:
    """Examples with a few fields moved within their ranges, to their ends too. Always the same for the same seed."""
    draw = random.Random(seed)  # noqa: S311 - repeatable, not secret
    try:
        starts = examples(calculator)
    except Refused:
        return
    for _ in range(count if starts else 0):
        changed = draw.choice(starts)
        for _ in range(draw.randint(1, 4)):
            changed = _moved(changed, draw)
        try:
            yield convert(calculator.given, msgspec.to_builtins(changed))
        except Refused:
            continue


def respelt(struct: Struct, draw: random.Random) -> Struct:
    """The same input with every quantity in another unit of its kind."""
    changed = {}
    for facts in fields_of(type(struct)):
        value = getattr(struct, facts.name)
        changed[facts.name] = _respelt_value(value, draw)
    return msgspec.structs.replace(struct, **changed)


def _respelt_value(value: Any, draw: random.Random) -> Any:
    if isinstance(value, Quantity):
        unit = draw.choice(list(value.units))
        return type(value)(value.to(unit), unit)
    if isinstance(value, Struct):
        return respelt(value, draw)
    if isinstance(value, tuple | list):
        return tuple(_respelt_value(v, draw) for v in value)
    return value


def _moved(struct: Struct, draw: random.Random) -> Struct:
    facts = draw.choice(fields_of(type(struct)))
    value = getattr(struct, facts.name)
    if isinstance(value, Struct) and not isinstance(value, Quantity):
        return msgspec.structs.replace(struct, **{facts.name: _moved(value, draw)})
    if isinstance(value, tuple) and value:
        index = draw.randrange(len(value))
        item = _moved(value[index], draw) if _is_part(value[index]) else value[index]
        return msgspec.structs.replace(struct, **{facts.name: (*value[:index], item, *value[index + 1 :])})
    return msgspec.structs.replace(struct, **{facts.name: _another(facts, value, draw)})


def _is_part(value: Any) -> bool:
    return isinstance(value, Struct) and not isinstance(value, Quantity)


def _another(facts: FieldFacts, value: Any, draw: random.Random) -> Any:
    """Another value that the field allows; the same one where nothing simple is known of it."""
    core = plain(facts.annotation)
    if value is not UNSET and facts.default is UNSET and draw.random() < 0.2:
        return UNSET
    if get_origin(core) is Literal:
        return draw.choice(get_args(core))
    if core is bool:
        return draw.random() < 0.5
    if facts.quantity is not None and (within := facts.about.within) is not None:
        low = within.low if within.low is not None else within.above
        high = within.high if within.high is not None else within.below
        if low is not None and high is not None:
            number = _between(low, high, value.to(within.unit) if isinstance(value, Quantity) else None, draw)
            return facts.quantity(number, within.unit)
    if core in (int, float):
        low, high = _bounds(facts)
        if low is not None and high is not None:
            number = _between(low, high, value if isinstance(value, int | float) else None, draw)
            return round(number) if core is int else number
    return value


def _bounds(facts: FieldFacts) -> tuple[float | None, float | None]:
    low = high = None
    for meta in metas(facts.annotation):
        low = meta.ge if meta.ge is not None else meta.gt if meta.gt is not None else low
        high = meta.le if meta.le is not None else meta.lt if meta.lt is not None else high
    return low, high


def _between(low: float, high: float, now: float | None, draw: random.Random) -> float:
    how = draw.random()
    if how < 0.1:
        return low
    if how < 0.2:
        return high
    if now is not None and how < 0.75:
        return min(high, max(low, now * draw.uniform(0.5, 2.0)))
    return draw.uniform(low, high)
