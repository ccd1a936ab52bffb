"""What an answer rests on beside its question: versions of calculators, of their plugins, and tables, all the way down."""

import hashlib
from collections.abc import Iterable

from coldwright.registry.discovery import Registry, Served


def rests_on(registry: Registry, roots: Iterable[Served]) -> str:
    """A short text that changes when anything does that the answers of `roots` rest on."""
    seen: dict[str, str] = {}
    waiting = list(roots)
    while waiting:
        served = waiting.pop()
        if served.name in seen:
            continue
        calculator = served.calculator
        tables = "".join(table.digest for table in calculator.tables)
        seen[served.name] = f"{calculator.version} {registry.origin(served.name)} {tables}"
        waiting += [asked for name in calculator.uses if (asked := registry.find(name)) is not None]
    text = "\n".join(f"{name} {said}" for name, said in sorted(seen.items()))
    return hashlib.sha256(text.encode()).hexdigest()[:32]
