"""What nobody has told: the field, what was assumed, what it moves, who can answer."""

from typing import Annotated, Literal

from coldwright.contract import Quantity, Results, about

Who = Literal["customer", "site_electrician", "site_mechanic", "hire_company", "crane_company", "maker"]


class OpenQuestion(Results, frozen=True, kw_only=True):
    """A question that the order leaves open."""

    field: Annotated[str, about("JSON pointer of the field that would answer it.")]
    assumed: Annotated[str, about("What was assumed.")]
    effect: Annotated[str, about("What it moves in this plan.")]
    who: Annotated[Who, about("Who can answer.")]
    decides: Annotated[bool, about("Whether the answer could turn the outcome.")]


class Questions:
    """Collects the open questions, each field once."""

    def __init__(self) -> None:
        self._open: dict[str, OpenQuestion] = {}

    def ask(self, field: str, assumed: object, effect: str, who: Who, *, decides: bool = False) -> None:
        """Note a question."""
        shown = both(assumed) if isinstance(assumed, Quantity) else str(assumed)
        question = OpenQuestion(field=field, assumed=shown, effect=effect, who=who, decides=decides)
        self._open.setdefault(field, question)

    def listed(self) -> tuple[OpenQuestion, ...]:
        """Those that could turn the outcome first."""
        return tuple(sorted(self._open.values(), key=lambda q: not q.decides))


def both(quantity: Quantity) -> str:
    """A quantity in metric and US units, for text."""
    metric = quantity.as_unit(quantity.metric_unit)
    us = quantity.as_unit(quantity.us_unit)
    return str(metric) if metric.unit == us.unit else f"{metric} ({us})"  # type: ignore[attr-defined]
