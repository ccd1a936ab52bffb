"""The working of every calculator of ours comes to its values: its examples, and inputs like them, followed by hand."""

from typing import Any

import msgspec
import pytest
from by_hand import unlike

from coldwright.conformance.inputs import examples, variations
from coldwright.contract import Refused
from coldwright.contract.answer import to_json
from coldwright.contract.evaluation import evaluate
from coldwright.registry import Registry

REGISTRY = Registry()
CALCULATORS = sorted(i for i, s in REGISTRY.served.items() if s.first_party and not i.startswith("booking."))
TRIES = 15


@pytest.mark.parametrize("calculator_id", CALCULATORS)
def test_its_working_comes_to_its_values(calculator_id: str) -> None:
    calculator: Any = REGISTRY.lookup(calculator_id)
    for given in (*examples(calculator), *variations(calculator, TRIES)):
        try:
            answer = evaluate(calculator, given, lookup=REGISTRY.lookup)
        except Refused:
            continue
        assert unlike(msgspec.json.decode(to_json(answer)).get("working", [])) == []
