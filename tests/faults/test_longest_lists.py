"""No list whose published maximum cannot be answered in the time limit: each list of each example, as long as it may be."""

import contextlib
import copy
import signal
import typing
from collections.abc import Iterator
from typing import Any

import msgspec
import pytest

from coldwright.contract import Refused
from coldwright.contract.reading import read
from coldwright.contract.walk import fields_of, metas, plain, structs_in
from coldwright.engine.evaluate import evaluate_here
from coldwright.registry import Registry
from coldwright.service.settings import Settings

Path = tuple[str | int, ...]
NAMES = ("id", "name", "type", "item", "machine_id", "serial")


def lists(annotation: Any, value: Any, path: Path = ()) -> Iterator[tuple[Path, int]]:
    """Lists inside a value, with how long they may be."""
    if isinstance(value, dict):
        for struct in structs_in(annotation):
            for facts in fields_of(struct):
                if facts.wire_name in value:
                    yield from lists(facts.annotation, value[facts.wire_name], (*path, facts.wire_name))
    elif isinstance(value, list) and value:
        most = [meta.max_length for meta in metas(annotation) if meta.max_length]
        if most:
            yield path, most[-1]
        for inner in [a for a in typing.get_args(plain(annotation)) if a is not Ellipsis][:1]:
            yield from lists(inner, value[0], (*path, 0))


def lengthened(given: dict[str, Any], path: Path, most: int) -> bytes:
    """The input with its list repeated to its longest, each entry under a name of its own."""
    longer = copy.deepcopy(given)
    place: Any = longer
    for step in path:
        place = place[step]
    entries = copy.deepcopy(place)
    while len(place) < most:
        entry = copy.deepcopy(entries[len(place) % len(entries)])
        for name in NAMES:
            if isinstance(entry, dict) and isinstance(entry.get(name), str):
                entry[name] = f"{entry[name][:60]}-{len(place)}"
        place.append(entry)
    return msgspec.json.encode(longer)


@pytest.mark.parametrize("name", sorted(Registry().served))
def test_the_longest_lists_are_answered_or_refused_in_time(registry: Registry, name: str) -> None:
    served = registry.served[name]

    def too_slow(_signal: int, _frame: object) -> None:
        raise AssertionError("it was not answered in the time that an evaluation may take")

    before = signal.signal(signal.SIGALRM, too_slow)
    try:
        for example in served.calculator.examples:
            given = msgspec.json.decode(msgspec.json.encode(dict(example.given)))
            for path, most in lists(served.local.given, given):
                body = lengthened(given, path, most)
                signal.setitimer(signal.ITIMER_REAL, Settings().evaluation_seconds)
                with contextlib.suppress(Refused):
                    answered = evaluate_here(registry, served, read(served.local.given, body), "metric")
                    assert msgspec.json.decode(answered.body)["outcome"] == answered.outcome
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0)
        signal.signal(signal.SIGALRM, before)
