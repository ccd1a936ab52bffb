"""Loaded by pytest wherever coldwright is installed: fixtures for authors of plugins. Imports nothing until asked."""

import sys
from collections.abc import Callable
from typing import Any

import pytest


@pytest.fixture(scope="session")
def answer_of() -> Callable[..., dict[str, Any]]:
    """`answer_of(calculator, {...}, units="metric")`: its answer as JSON, by the way of a request; may raise `Refused`.

    `calculator` is a calculator, or the id of an installed one. Of an installed one it is the answer of the service to the
    last digit of its `digest`.
    """
    import msgspec

    from coldwright.contract import Calculator, Plugin
    from coldwright.contract.answer import Units, in_units, to_json
    from coldwright.contract.evaluation import evaluate
    from coldwright.contract.reading import read
    from coldwright.registry import Registry

    registry = Registry().take_all_in()

    def lookup(name: str) -> "Calculator[Any, Any]":
        """An installed one; else one of the plugins that are imported here and not installed yet."""
        if registry.find(name) is not None:
            return registry.lookup(name)
        here = (p for m in list(sys.modules.values()) if isinstance(p := getattr(m, "plugin", None), Plugin))
        found = [c for p in here for c in p.calculators if name in (c.id, c.pinned)]
        return max(found, key=lambda c: c.major) if found else registry.lookup(name)

    def origin(name: str) -> str:
        """The distribution of an installed one, with its version; one that is only imported has none yet."""
        return registry.origin(name) if registry.find(name) is not None else ""

    def ask(calculator: "Calculator[Any, Any] | str", given: dict[str, Any], units: Units = "metric") -> dict[str, Any]:
        asked = lookup(calculator) if isinstance(calculator, str) else calculator
        served = registry.find(asked.pinned)
        installed = served if served is not None and served.local is asked else None
        answer = evaluate(
            asked,
            read(asked.given, msgspec.json.encode(given)),
            plugin=installed.distribution if installed else "",
            plugin_version=installed.distribution_version if installed else "",
            lookup=lookup,
            origin=origin,
        )
        decoded: dict[str, Any] = msgspec.json.decode(to_json(in_units(answer, units)))
        return decoded

    return ask
