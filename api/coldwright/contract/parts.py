"""Parts that anybody's calculator adds to a plan: what they take of it, and what they may put into it.

A calculator that says `joins="booking"` is asked once the plan of an order is drawn. The fields of its input name what
it takes: `order`, or a member of the plan's results (`machines`, `supply`, `cable`, `loop`, `fill`, `site`,
`arrival_plan`, ...). What the plan does not have is left out; where it is required, the part is not asked. Its findings
count in the outcome, and never take one away; `pick_list` and `open_questions` among its results join those of the plan
under its id; all else that it answers is its block.
"""

from typing import Annotated, Any, Literal

from msgspec import Struct

from coldwright.contract.fields import Results, about

Join = Literal["", "booking"]


class Taken(Struct, frozen=True, kw_only=True):
    """Base of what a part takes of a plan, below the top: members that it does not name are passed over."""


class PartLine(Results, frozen=True, kw_only=True):
    """A line that a part puts on the pick list."""

    item: Annotated[str, about("What to load.")]
    kind: Annotated[str, about("What kind of thing it is.")] = "other"
    count: Annotated[int, about("How many.", low=1, high=100000)]
    reason: Annotated[str, about("Why.")]


class PartQuestion(Results, frozen=True, kw_only=True):
    """A question that a part leaves open."""

    field: Annotated[str, about("JSON pointer of the field of the order, or of the part's own, that would answer it.")]
    assumed: Annotated[str, about("What was assumed.")]
    effect: Annotated[str, about("What it moves.")]
    who: Annotated[
        Literal["customer", "site_electrician", "site_mechanic", "hire_company", "crane_company", "maker"],
        about("Who can answer."),
    ]
    decides: Annotated[bool, about("Whether the answer could turn the outcome.")] = False


class JoinedPart(Results, frozen=True, kw_only=True):
    """What a part answered."""

    calculator: Annotated[str, about("Its id.")]
    version: Annotated[str, about("Its version.")]
    plugin: Annotated[str, about("Distribution that it came from.")]
    plugin_version: Annotated[str, about("Version of that distribution.")]
    title: Annotated[str, about("What it is about.")]
    digest: Annotated[str, about("SHA-256 of what it was asked.")]
    outcome: Annotated[Literal["acceptable", "conditional", "unacceptable"], about("What its findings come to.")]
    block: Annotated[dict[str, Any], about("Its results, as its own schema says.")]
