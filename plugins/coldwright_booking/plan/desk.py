"""Asks the other calculators, remembers their answers, and keeps what each said for the plan that is chosen."""

from typing import Generic, NamedTuple, TypeVar

import msgspec
from msgspec import Struct

from coldwright.contract import Ask, Calculator, Notes, Refused

G = TypeVar("G", bound=Struct)
R = TypeVar("R", bound=Struct)
_spelt = msgspec.msgpack.Encoder().encode
"""Of a question, to find it again; nobody reads it, and numbers are quicker to write as they are than as text."""


class Asked(NamedTuple, Generic[G, R]):
    """A question to a calculator, and what it said."""

    calculator: str
    given: G
    results: R
    notes: Notes


class Unanswered(Exception):  # noqa: N818 - it is an answer, not a fault
    """A calculator that refuses what the plan asks it: the plan lies outside its method."""

    def __init__(self, calculator: str, refused: Refused) -> None:
        self.calculator, self.refused = calculator, refused
        super().__init__(calculator)

    @property
    def reason(self) -> str:
        """What it refuses, in one line."""
        return "; ".join(f"`{e.pointer.removeprefix('#')}`: {e.detail}" for e in self.refused.errors[:3])


class Desk:
    """One for each assessment. The same question is asked once: rounds differ in few of them."""

    def __init__(self, ask: Ask) -> None:
        self._ask = ask
        self._answers: dict[tuple[str, bytes], Asked[Struct, Struct] | Unanswered] = {}

    def ask(self, calculator: Calculator[G, R], given: G) -> Asked[G, R]:
        """Results and notes, apart from the notes of the assessment; raises `Unanswered`."""
        key = (calculator.id, _spelt(given))
        known = self._answers.get(key)
        if known is None:
            try:
                results, notes = self._ask.apart(calculator, given)
                known = Asked(calculator.id, given, results, notes)
            except Refused as refused:
                known = Unanswered(calculator.id, refused)
            self._answers[key] = known
        if isinstance(known, Unanswered):
            raise known
        return known  # type: ignore[return-value]

    def try_ask(self, calculator: Calculator[G, R], given: G) -> Asked[G, R] | Unanswered:
        """The same, with a refusal handed back."""
        try:
            return self.ask(calculator, given)
        except Unanswered as refused:
            return refused
