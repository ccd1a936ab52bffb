"""`answer_of` of the published checks and of the properties: no answer is handed over before it was followed by hand."""

from collections.abc import Callable
from typing import Any

import hypothesis
import pytest
from borne_out import not_borne_out
from by_hand import unlike
from limits_said import contradicting, not_meant

from coldwright.contract import Refused

Json = dict[str, Any]
Answers = Callable[..., Json]


class UnlikeError(AssertionError):
    """An answer whose words or working say what its numbers do not."""


def _with(answer_of: Answers, *wrong_in: Callable[[str, Json], list[str]]) -> Answers:
    def ask(calculator: Any, given: Json, *args: Any, **more: Any) -> Json:
        name = str(getattr(calculator, "id", calculator))
        try:
            answer = answer_of(calculator, given, *args, **more)
        except Refused as refused:
            wrong = list(contradicting(refused)) if name.startswith((*READ_BY_CASE, "booking.")) else []
            if wrong := wrong + list(not_meant(lambda changed: answer_of(calculator, changed), name, given, refused)):
                raise UnlikeError("; ".join(wrong)) from None
            raise
        if name.startswith("booking.") or args or more:
            return answer  # a plan's working is that of many answers; in other units the lines keep their own
        if wrong := [text for look in wrong_in for text in look(name, answer)]:
            raise UnlikeError("; ".join(wrong))
        return answer

    return ask


def _working(_: str, answer: Json) -> list[str]:
    return unlike(answer.get("working", []))


READ_BY_CASE = ("electrical.", "hydronic.", "refrigeration.", "site.")
"""Families of which each sentence has its figures in the answer, or a constant of a published rule in it."""


def _words_of_cases(name: str, answer: Json) -> list[str]:
    """Of answers that a test asks for by name; those that chance asks for are too many to be read."""
    named = name.startswith(READ_BY_CASE) and not hypothesis.currently_in_test_context()
    return list(not_borne_out(answer)) if named else []


@pytest.fixture(scope="session", name="answer_of")
def followed(answer_of: Answers) -> Answers:
    """Its working comes to what it says, and each figure of its sentences from its numbers."""
    return _with(answer_of, _working, _words_of_cases)


@pytest.fixture(scope="session", name="answer_of")
def followed_to_the_word(answer_of: Answers) -> Answers:
    """And each figure of its sentences comes from its numbers."""
    return _with(answer_of, _working, lambda _, answer: list(not_borne_out(answer)))


@pytest.fixture(scope="session")
def to_the_word(answer_of: Answers) -> Answers:
    """Where findings are looked for, each figure of their sentences as well."""
    return _with(answer_of, lambda _, answer: list(not_borne_out(answer)))
