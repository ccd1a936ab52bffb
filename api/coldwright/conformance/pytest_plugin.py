"""Loaded by pytest wherever coldwright is installed: fixtures for authors of plugins. Imports nothing until asked."""

import sys
from collections.abc import Callable
from typing import Any

import pytest


@pytest.fixture(scope="session")
def answer_of() -> Callable[..., dict[str, Any]]:
    """`answer_of(calculator, {...}, units="metric")`: its answer as JSON, by the way of a request; may raise `Refused`.

    `calculator` is a calculator, or the id of an installed one.
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

    def ask(calculator: "Calculator[Any, Any] | str", given: dict[str, Any], units: Units = "metric") -> dict[str, Any]:
        asked = lookup(calculator) if isinstance(calculator, str) else calculator
        answer = evaluate(asked, read(asked.given, msgspec.json.encode(given)), lookup=lookup)
        decoded: dict[str, Any] = msgspec.json.decode(to_json(in_units(answer, units)))
        return decoded

    return ask
