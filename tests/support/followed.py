"""`answer_of` of the published checks and of the properties: no answer is handed over before it was followed by hand."""

from collections.abc import Callable
from typing import Any

import pytest
from borne_out import not_borne_out
from by_hand import unlike

Json = dict[str, Any]


class UnlikeError(AssertionError):
    """An answer whose words or working say what its numbers do not."""


@pytest.fixture(scope="session")
def answer_of(answer_of: Callable[..., Json]) -> Callable[..., Json]:
    """Its working comes to what it says, and each figure of its sentences comes from its numbers."""

    def ask(calculator: Any, given: Json, *args: Any, **more: Any) -> Json:
        answer = answer_of(calculator, given, *args, **more)
        if str(getattr(calculator, "id", calculator)).startswith("booking."):
            return answer  # a plan's working is that of many answers, one after the other
        wrong = unlike(answer.get("working", []))
        if not more and not args:
            wrong += not_borne_out(answer)
        if wrong:
            raise UnlikeError("; ".join(wrong))
        return answer

    return ask
