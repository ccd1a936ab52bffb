"""The digest is the identity of a question: however it is spelt, it is the same."""

from typing import Any

import msgspec
import pytest

from coldwright.contract import Example, evaluation
from coldwright.contract.evaluation import digest
from coldwright.contract.reading import read
from coldwright.registry import Registry

QUESTIONS = [(s.calculator, e) for s in Registry().served.values() for e in s.calculator.examples]


@pytest.mark.parametrize(("calculator", "example"), QUESTIONS, ids=[f"{c.id}-{e.name}" for c, e in QUESTIONS])
def test_defaults_that_are_sent_and_defaults_that_are_not_are_one_question(calculator: Any, example: Example) -> None:
    """With every default written out, members in another order and whole numbers as fractions."""
    sent = dict(example.given)
    short = read(calculator.given, msgspec.json.encode(sent))
    whole = read(calculator.given, msgspec.json.encode(short))
    turned = read(calculator.given, msgspec.json.encode(dict(reversed(sent.items()))))
    assert digest(calculator, short) == digest(calculator, whole) == digest(calculator, turned)


def test_every_default_of_ours_is_written_as_the_reader_makes_it(registry: Registry) -> None:
    """A whole number in the code (`Length(10, "m")`) would have to be read once more for each digest."""
    kinds: dict[str, Any] = {id_: served.calculator.given for id_, served in registry.served.items()}
    again = [id_ for id_, kind in kinds.items() if not evaluation._as_read(kind)]
    assert again == []
