"""No list whose published maximum cannot be answered in the time limit: each list of each example, as long as it may be."""

import contextlib
import copy
import signal
import typing
from collections.abc import Iterator
from typing import Any

import msgspec
import pytest
from msgspec import Struct

from coldwright.contract import Refused
from coldwright.contract.reading import read
from coldwright.contract.walk import fields_of, metas, plain, structs_in
from coldwright.engine.evaluate import evaluate_here
from coldwright.registry import Registry, Served
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


@contextlib.contextmanager
def in_time() -> Iterator[None]:
    """Fail what takes longer than an evaluation may."""

    def too_slow(_signal: int, _frame: object) -> None:
        raise AssertionError("it was not answered in the time that an evaluation may take")

    before = signal.signal(signal.SIGALRM, too_slow)
    signal.setitimer(signal.ITIMER_REAL, Settings().evaluation_seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0)
        signal.signal(signal.SIGALRM, before)


def answered(registry: Registry, served: Served, body: bytes) -> bool:
    """Whether it is answered in time; else it is refused in time."""
    with in_time():
        try:
            found = evaluate_here(registry, served, read(served.local.given, body), "metric")
        except Refused:
            return False
    assert msgspec.json.decode(found.body)["outcome"] == found.outcome
    return True


def examples_of(served: Served) -> Iterator[dict[str, Any]]:
    for example in served.calculator.examples:
        yield msgspec.json.decode(msgspec.json.encode(dict(example.given)))


@pytest.mark.parametrize("name", sorted(Registry().served))
def test_the_longest_lists_are_answered_or_refused_in_time(registry: Registry, name: str) -> None:
    served = registry.served[name]
    for given in examples_of(served):
        for path, most in lists(served.local.given, given):
            answered(registry, served, lengthened(given, path, most))


Samples = dict[type[Struct], list[Any]]


def fits(struct: type[Struct], value: dict[str, Any]) -> bool:
    facts, tag = fields_of(struct), struct.__struct_config__.tag_field
    if tag and value.get(tag) != struct.__struct_config__.tag:
        return False
    wanted, known = {f.wire_name for f in facts if f.required}, {f.wire_name for f in facts}
    return wanted <= value.keys() <= known | {tag or ""}


def sampled(annotation: Any, value: Any, found: Samples) -> None:
    """Note every struct inside a value under its type, the fullest first."""
    if isinstance(value, list):
        for inner in [a for a in typing.get_args(plain(annotation)) if a is not Ellipsis][:1]:
            for entry in value:
                sampled(inner, entry, found)
    elif isinstance(value, dict):
        for struct in [s for s in structs_in(annotation) if fits(s, value)]:
            found.setdefault(struct, []).append(value)
            for facts in fields_of(struct):
                if facts.wire_name in value:
                    sampled(facts.annotation, value[facts.wire_name], found)


def samples(registry: Registry) -> Samples:
    found: Samples = {}
    for served in registry.served.values():
        for given in examples_of(served):
            sampled(served.local.given, given, found)
    for values in found.values():
        values.sort(key=lambda value: -len(msgspec.json.encode(value)))
    return found


def filled(annotation: Any, value: Any, known: Samples, deep: int = 0) -> Any:
    """The value with every field that has a sample: of its own where it has one, else what another example has there."""
    if isinstance(value, list):
        for inner in [a for a in typing.get_args(plain(annotation)) if a is not Ellipsis][:1]:
            return [filled(inner, entry, known, deep) for entry in value]
    if not isinstance(value, dict) or deep > 6:
        return value
    more = dict(value)
    for struct in [s for s in structs_in(annotation) if fits(s, value)][:1]:
        for facts in fields_of(struct):
            own = more.get(facts.wire_name)
            if own is None and facts.holds_structs:
                one = next((known[s][0] for s in structs_in(facts.annotation) if s in known), None)
                is_list = typing.get_origin(plain(facts.annotation)) in (tuple, list)
                own = None if one is None else [one] if is_list else one
            if own is not None:
                more[facts.wire_name] = filled(facts.annotation, own, known, deep + 1)
    return more


@pytest.mark.nightly
@pytest.mark.parametrize("name", sorted(Registry().served))
def test_the_longest_lists_that_no_example_has_are_too(registry: Registry, name: str) -> None:
    """Each list that one example lacks and another has, put into it: by itself, with the way to it."""
    served, known = registry.served[name], samples(registry)
    tried, good = 0, 0
    for given in examples_of(served):
        whole = filled(served.local.given, given, known)
        own = {path for path, _ in lists(served.local.given, given)}
        for path, most in lists(served.local.given, whole):
            if path not in own:
                tried += 1
                good += answered(registry, served, lengthened(put(given, whole, path), path, most))
    print(f"{name}: {good} of {tried} lists answered, the others refused")


def put(given: dict[str, Any], whole: dict[str, Any], path: Path) -> dict[str, Any]:
    """An input with one list of a fuller one, and what stands on the way to it."""
    changed = copy.deepcopy(given)
    place: Any = changed
    full: Any = whole
    for step in path[:-1]:
        full = full[step]
        if isinstance(place, list):
            if len(place) <= int(step):
                place.append(copy.deepcopy(full))
        elif step not in place:
            place[step] = copy.deepcopy(full)
        place = place[step]
    place[path[-1]] = copy.deepcopy(full[path[-1]])
    return changed
