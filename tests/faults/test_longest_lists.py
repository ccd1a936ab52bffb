"""No list whose published maximum cannot be answered in the time limit: each list of each example, as long as it may be."""

import contextlib
import copy
import signal
import typing
from collections.abc import Iterator
from typing import Any

import msgspec
import pytest
from long_inputs import Samples, Way, fits, led, ways
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


def lengthened(given: dict[str, Any], path: Path, most: int) -> Iterator[bytes]:
    """The input with its list at its longest, each entry under a name of its own.

    Once its entries are repeated, once they lead from the first to the last: a curve is refused when it does not rise.
    """
    longer = copy.deepcopy(given)
    place: Any = longer
    for step in path:
        place = place[step]
    entries = copy.deepcopy(place)
    first, last = (entries[0], entries[-1]) if len(entries) > 1 else (between(entries[0], 0, 0.5), entries[0])
    for made in (
        [entries[number % len(entries)] for number in range(most)],
        [between(first, last, number / max(1, most - 1)) for number in range(most)],
    ):
        place[:] = [entry if number < len(entries) else named(entry, number) for number, entry in enumerate(made)]
        yield msgspec.json.encode(longer)


def named(entry: Any, number: int) -> Any:
    if not isinstance(entry, dict):
        return entry
    return entry | {n: f"{entry[n][:60]}-{number}" for n in NAMES if isinstance(entry.get(n), str)}


def between(first: Any, last: Any, share: float) -> Any:
    """A value on the way from one to another, number by number."""
    if isinstance(first, dict):
        return {n: between(v, last.get(n, v) if isinstance(last, dict) else last, share) for n, v in first.items()}
    if isinstance(first, bool) or not isinstance(first, int | float) or not isinstance(last, int | float):
        return first
    return first + (last - first) * share


@contextlib.contextmanager
def in_time() -> Iterator[None]:
    """Fail what takes longer than an evaluation may, by the processor: the machine may do something else meanwhile."""

    def too_slow(_signal: int, _frame: object) -> None:
        raise AssertionError("it was not answered in the time that an evaluation may take")

    before = signal.signal(signal.SIGPROF, too_slow)
    signal.setitimer(signal.ITIMER_PROF, Settings().evaluation_seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
        signal.signal(signal.SIGPROF, before)


def any_answered(registry: Registry, served: Served, bodies: Iterator[bytes]) -> bool:
    """Whether one of them is answered in time, up to that; the others are refused in time."""
    return any(answered(registry, served, body) for body in bodies)


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
            any_answered(registry, served, lengthened(given, path, most))


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


@pytest.mark.nightly
@pytest.mark.parametrize("name", sorted(Registry().served))
def test_the_longest_lists_that_no_example_has_are_too(registry: Registry, name: str) -> None:
    """Each list of the input's type that no example of it has: put into it with the way to it."""
    served, known = registry.served[name], samples(registry)
    given, examples = served.local.given, list(examples_of(served))
    own = {name_of(path) for example in examples for path, _ in lists(given, example)}
    tried, refused = 0, []
    for way in ways(given):
        if tuple(facts.wire_name for _, facts in way) in own:
            continue
        good = [
            any_answered(registry, served, bodies)
            for example in examples
            for bodies in at_its_longest(given, example, way, known)
        ]
        tried += len(good)
        if good and not any(good):
            refused.append("/".join(facts.wire_name for _, facts in way))
    print(f"{name}: {tried} tried, refused with every example: {refused}")


def name_of(path: Path) -> tuple[str, ...]:
    return tuple(step for step in path if isinstance(step, str))


def at_its_longest(given: type[Struct], example: dict[str, Any], way: Way, known: Samples) -> Iterator[Iterator[bytes]]:
    """An input with the list at the end of a way as long as it may be, and those right inside of it."""
    whole = led(given, example, way, known)
    wanted = tuple(facts.wire_name for _, facts in way)
    for path, most in lists(given, whole):
        if name_of(path) == wanted:
            yield lengthened(whole, path, most)
