"""Loaded by pytest wherever coldwright is installed: fixtures for authors of plugins. Imports nothing until asked."""

from collections.abc import Callable
from typing import Any

import pytest


@pytest.fixture(scope="session")
def answer_of() -> Callable[..., dict[str, Any]]:
    """`answer_of(calculator, {...}, units="metric")`: its answer as JSON, by the way of a request; may raise `Refused`.

    `calculator` is a calculator, or the id of an installed one.
    """
    import msgspec

    from coldwright.contract import Calculator
    from coldwright.contract.answer import Units, in_units, to_json
    from coldwright.contract.evaluation import evaluate
    from coldwright.contract.reading import read
    from coldwright.registry import Registry

    registry = Registry().take_all_in()

    def ask(calculator: "Calculator[Any, Any] | str", given: dict[str, Any], units: Units = "metric") -> dict[str, Any]:
        asked = registry.lookup(calculator) if isinstance(calculator, str) else calculator
        answer = evaluate(asked, read(asked.given, msgspec.json.encode(given)), lookup=registry.lookup)
        decoded: dict[str, Any] = msgspec.json.decode(to_json(in_units(answer, units)))
        return decoded

    return ask
