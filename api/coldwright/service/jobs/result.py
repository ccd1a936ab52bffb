"""What came of an item of a job, as it is sent."""

from typing import Annotated, Any

import msgspec
from msgspec import UNSET, Meta, Struct, UnsetType

from coldwright.bulk.facts import facts_in
from coldwright.bulk.keeping import Keep, PlanChange
from coldwright.service.http.problems import Problem, ProblemRaised, refused_input
from coldwright.store.jobs import Item

_change = msgspec.json.Decoder(PlanChange)


class JobResult(Struct, frozen=True, kw_only=True):
    """What came of an item."""

    id: Annotated[str, Meta(description="Your name for it, or the reference of the order.")]
    status: Annotated[int, Meta(ge=200, le=599, description="HTTP status that it would have had alone.")]
    outcome: Annotated[str, Meta(description="Outcome of the answer, where it was not kept whole.")] | UnsetType = UNSET
    answer: Annotated[Any, Meta(description="The answer, where there is one.")] = UNSET
    kept: Annotated[
        Any, Meta(description="What stood at each pointer of `keep`; one that led nowhere is left out.")
    ] = UNSET
    change: (
        Annotated[PlanChange, Meta(description="With `keep: changes`: what is not as in the kept plan.")] | UnsetType
    ) = UNSET
    problem: Annotated[Any, Meta(description="The problem, where there is no answer.")] = UNSET


def result_of(item: Item, keep: Keep, public_url: str) -> JobResult:
    """What came of an item, as it is sent."""
    if item.status != 200:
        return JobResult(id=item.name, status=item.status, problem=_problem(item, public_url))
    if keep == "answers":
        return JobResult(id=item.name, status=200, answer=msgspec.Raw(item.body))
    if keep == "changes":
        return JobResult(id=item.name, status=200, outcome=item.outcome, change=_change.decode(item.body))
    return JobResult(id=item.name, status=200, outcome=item.outcome, kept=msgspec.Raw(item.body))


def _problem(item: Item, public_url: str) -> Problem:
    facts = facts_in(item.body)
    raised = refused_input(facts.errors) if facts.errors else ProblemRaised(facts.slug, facts.detail)
    return raised.problem(public_url=public_url)
