"""Fixtures that every folder of tests shares."""

import os
from collections.abc import Callable
from typing import Any

import hypothesis
import msgspec
import pytest

from coldwright.contract.answer import in_units, to_json
from coldwright.contract.evaluation import evaluate
from coldwright.contract.reading import read
from coldwright.registry import Registry

hypothesis.settings.register_profile(
    "ordinary",
    max_examples=50,
    deadline=None,
    derandomize=True,
    suppress_health_check=[hypothesis.HealthCheck.too_slow],
)
hypothesis.settings.register_profile("nightly", parent=hypothesis.settings.get_profile("ordinary"), max_examples=2000)
hypothesis.settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "ordinary"))

Answer = dict[str, Any]
AnswerOf = Callable[..., Answer]


@pytest.fixture(scope="session")
def registry() -> Registry:
    """Every installed plugin."""
    return Registry()


@pytest.fixture(scope="session")
def answer_of(registry: Registry) -> AnswerOf:
    """`answer_of("electrical.service", {...})`: the answer as JSON, by the same way as a request; may raise Refused."""

    def ask(calculator_id: str, given: dict[str, Any], units: str = "metric") -> Answer:
        calculator = registry.lookup(calculator_id)
        struct = read(calculator.given, msgspec.json.encode(given))
        answer = evaluate(calculator, struct, lookup=registry.lookup)
        decoded: Answer = msgspec.json.decode(to_json(in_units(answer, units)))
        return decoded

    return ask
