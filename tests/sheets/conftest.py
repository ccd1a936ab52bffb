"""Answers to lay out: those of the calculators' own examples."""

from collections.abc import Iterator
from typing import Any

import pytest

from coldwright.registry import Registry
from coldwright.sheets import Sources, sources_of

Answer = dict[str, Any]


@pytest.fixture(scope="session")
def sources(registry: Registry) -> Sources:
    """Every source."""
    return sources_of(registry)


@pytest.fixture(scope="session")
def example_answers(registry: Registry, answer_of: Any) -> dict[str, Answer]:
    """The first example of every calculator, answered."""

    def answered() -> Iterator[tuple[str, Answer]]:
        for id_, served in registry.served.items():
            yield id_, answer_of(id_, served.calculator.examples[0].given)

    return dict(answered())
