"""An answer speaks the words of its practice: ground where it is nec, earth where it is iec, never both."""

import re
from collections.abc import Iterator
from string import Formatter
from typing import Any, get_args

import msgspec
import pytest

from coldwright.conformance.inputs import examples, variations
from coldwright.contract import Refused
from coldwright.contract.evaluation import evaluate
from coldwright.registry import Registry
from coldwright_basis.trade_words import WORDS, Thing, in_words_of, word

REGISTRY = Registry()
CALCULATORS = sorted(i for i in REGISTRY.served if i.startswith("electrical."))
OF_THE_OTHER = {
    "nec": re.compile(r"\b(un)?earth(ed|ing|s)?\b|\blorr(y|ies)\b|\bhired?\b", re.IGNORECASE),
    "iec": re.compile(r"\b(un)?ground(ed|ing|s)?\b|\btrucks?\b|\brent(al|ed)\b|\bforklifts?\b", re.IGNORECASE),
}
TRIES = 30


def texts(value: Any) -> Iterator[str]:
    """What a person reads of an answer: sentences, not codes, names or fields."""
    if isinstance(value, dict):
        for name, item in value.items():
            if name not in ("code", "field", "references", "said", "given", "calculator"):
                yield from texts(item)
    elif isinstance(value, list):
        for item in value:
            yield from texts(item)
    elif isinstance(value, str):
        yield re.sub(r"`[^`]*`", "", value)


@pytest.mark.parametrize("practice", ["nec", "iec"])
@pytest.mark.parametrize("calculator_id", CALCULATORS)
def test_no_word_of_the_other_trade_is_said(calculator_id: str, practice: str) -> None:
    calculator = REGISTRY.lookup(calculator_id)
    answered = 0
    for given in (*examples(calculator), *variations(calculator, TRIES)):
        try:
            asked = msgspec.structs.replace(given, practice=practice)
            answer = evaluate(calculator, asked, lookup=REGISTRY.lookup)
        except Refused:
            continue
        answered += 1
        told = [
            msgspec.to_builtins(part) for part in (answer.findings, answer.assumptions, answer.cautions, answer.working)
        ]
        assert [
            t for t in texts([*told, msgspec.to_builtins(answer.results)]) if OF_THE_OTHER[practice].search(t)
        ] == []
    assert answered


def test_every_thing_has_a_word_in_both_trades() -> None:
    assert set(get_args(Thing)) == WORDS.keys()
    assert all(words.keys() == {"nec", "iec"} and all(words.values()) for words in WORDS.values())
    assert (word("lorry", "nec"), word("lorry", "iec")) == ("truck", "lorry")


def test_a_text_gets_the_words_of_the_practice() -> None:
    text = "Connect the {protective_conductor}, then look for {earth_fault}s."
    assert in_words_of("nec", text) == "Connect the equipment ground, then look for ground faults."
    assert in_words_of("iec", text) == "Connect the protective conductor, then look for earth faults."
    assert {name for _, name, _, _ in Formatter().parse(text) if name} <= WORDS.keys()


def test_a_place_that_is_no_thing_is_no_text() -> None:
    with pytest.raises(KeyError):
        in_words_of("nec", "the {moon}")
