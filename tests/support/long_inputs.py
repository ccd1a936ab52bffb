"""Inputs in which any list of a type stands, made from its fields alone where no example has one."""

import copy
import re
import typing
from collections.abc import Iterator, Sequence
from datetime import date, datetime
from enum import StrEnum
from typing import Any

from msgspec import Meta, Struct

from coldwright.contract.fields import TEXT_PATTERN
from coldwright.contract.quantities import Quantity
from coldwright.contract.walk import FieldFacts, fields_of, metas, plain, structs_in

Samples = dict[type[Struct], list[Any]]
Step = tuple[type[Struct], FieldFacts]
Way = tuple[Step, ...]
"""From an input down to a list: each struct with the field that is gone on to; the last field is the list."""
WORDS = ("spare", "2027-06-01T08:00:00Z", "2027-06-01", "08:00", "EUR", "a" * 24, "a" * 64, "3", "/site", "x.y")
"""One of them is of any form that a field may ask for."""
KINDS = {bool: False, date: "2027-06-01", datetime: "2027-06-01T08:00:00Z", dict: {}}


def is_list(annotation: Any) -> bool:
    return typing.get_origin(plain(annotation)) in (tuple, list)


def entry_of(annotation: Any) -> Any:
    """The type of the entries of a list."""
    return typing.get_args(plain(annotation))[0]


def fits(struct: type[Struct], value: Any) -> bool:
    """Whether an object has the members of this struct."""
    if not isinstance(value, dict):
        return False
    facts, tag = fields_of(struct), struct.__struct_config__.tag_field
    if tag and value.get(tag) != struct.__struct_config__.tag:
        return False
    wanted, known = {f.wire_name for f in facts if f.required}, {f.wire_name for f in facts}
    return wanted <= value.keys() <= known | {tag or ""}


def ways(given: type[Struct]) -> Iterator[Way]:
    """A shortest way to each list that can stand anywhere in an input."""
    seen: set[type[Struct]] = {given}
    queue: list[tuple[type[Struct], Way]] = [(given, ())]
    while queue:
        struct, way = queue.pop(0)
        for facts in fields_of(struct):
            further = (*way, (struct, facts))
            if is_list(facts.annotation):
                yield further
            for inner in structs_in(facts.annotation):
                if inner not in seen and not issubclass(inner, Quantity):
                    seen.add(inner)
                    queue.append((inner, further))


def led(annotation: Any, there: Any, way: Way, known: Samples) -> Any:
    """What stands there with the list at the end of the way in it; what is missing on the way is made."""
    if is_list(annotation):
        first, *rest = there or [None]
        return [led(entry_of(annotation), first, way, known), *rest]
    (struct, facts), *further = way
    value = copy.deepcopy(there) if fits(struct, there) else made_struct(struct, known)
    inside = value.get(facts.wire_name)
    if further:
        value[facts.wire_name] = led(facts.annotation, inside, tuple(further), known)
    elif not inside:
        value[facts.wire_name] = [made(entry_of(facts.annotation), known)]
    return value


def made(annotation: Any, known: Samples) -> Any:
    """A value that the type takes: an example's where one has it, else a plain one with what must be there."""
    core, found = plain(annotation), list(metas(annotation))
    origin, arguments = typing.get_origin(core), typing.get_args(core)
    if shown := next((m.examples[0] for m in found if m.examples), None):
        return shown
    if isinstance(core, type) and issubclass(core, Struct):
        return made_struct(core, known)
    if isinstance(core, type) and issubclass(core, StrEnum):
        return next(iter(core)).value
    if origin is typing.Literal:
        return arguments[0]
    if is_list(core):
        return [made(arguments[0], known) for _ in range(max([m.min_length or 0 for m in found], default=0))]
    if origin not in (None, dict):  # a union
        return made(arguments[0], known)
    if core in (int, float):
        return _number(found)
    if core is str:
        patterns = [m.pattern for m in found if m.pattern and m.pattern != TEXT_PATTERN]
        return next(word for word in WORDS if all(re.search(p, word) for p in patterns))
    return KINDS.get(origin or core, "spare")


def made_struct(struct: type[Struct], known: Samples) -> dict[str, Any]:
    """The fullest that an example has, else one with what it must have."""
    if struct in known:
        first: dict[str, Any] = copy.deepcopy(known[struct][0])
        return first
    config = struct.__struct_config__
    value: dict[str, Any] = {config.tag_field: config.tag} if config.tag_field else {}
    one_of_each = {group[0] for group in getattr(struct, "one_needed", ())}
    for facts in fields_of(struct):
        if facts.required or facts.wire_name in one_of_each:
            value[facts.wire_name] = _quantity(facts) if facts.quantity else made(facts.annotation, known)
    return value


def _quantity(facts: FieldFacts) -> dict[str, Any]:
    within = facts.about.within
    if facts.quantity is None or within is None:
        return {"value": 1, "unit": facts.quantity.metric_unit if facts.quantity else ""}
    low = within.low if within.low is not None else within.above or 0.0
    high = within.high if within.high is not None else within.below if within.below is not None else low + 2.0
    return {"value": (low + high) / 2, "unit": within.unit}


def _number(found: Sequence[Meta]) -> float:
    low = next((m.ge if m.ge is not None else m.gt for m in found if (m.ge, m.gt) != (None, None)), None)
    high = next((m.le if m.le is not None else m.lt for m in found if (m.le, m.lt) != (None, None)), None)
    if low is not None and low > 0:
        return low
    return 1 if high is None or high >= 1 else high / 2
