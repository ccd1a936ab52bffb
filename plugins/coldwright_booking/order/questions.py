"""What is not given: the field, what was assumed, what it affects, who can answer."""

from collections.abc import Iterable
from typing import Annotated, Literal

from msgspec import UNSET, UnsetType

from coldwright.contract import Quantity, Results, Said, about, say, spoken
from coldwright.contract.sentences import Words

Who = Literal["customer", "site_electrician", "site_mechanic", "hire_company", "crane_company", "maker"]


class OpenQuestion(Results, frozen=True, kw_only=True):
    """A question that the order leaves open."""

    field: Annotated[str, about("JSON pointer of the field that would answer it.")]
    assumed: Annotated[str, about("What was assumed.")]
    effect: Annotated[str, about("What the answer affects in this plan.")]
    who: Annotated[Who, about("Who can answer.")]
    decides: Annotated[bool, about("Whether the answer could turn the outcome.")]
    calculator: (
        Annotated[str, about("Id of the part of another plugin that asks; absent for the plan's own.")] | UnsetType
    ) = UNSET
    said: Said = UNSET


class Questions:
    """Collects open questions, each field once."""

    def __init__(self, known: Iterable[OpenQuestion] = ()) -> None:
        self._open: dict[str, OpenQuestion] = {q.field: q for q in known}

    def ask(self, field: str, assumed: Words | Quantity, effect: Words, who: Who, *, decides: bool = False) -> None:
        """Note a question."""
        shown = say("{value}", value=assumed) if isinstance(assumed, Quantity) else assumed
        question = OpenQuestion(field=field, who=who, decides=decides, **spoken(assumed=shown, effect=effect))
        self._open.setdefault(field, question)

    def listed(self) -> tuple[OpenQuestion, ...]:
        """Those that could turn the outcome first."""
        return tuple(sorted(self._open.values(), key=lambda q: not q.decides))
