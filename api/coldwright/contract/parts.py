"""Parts that anybody's calculator adds to a plan or to a start: what they take of it, and what they may put into it.

A calculator that says `joins="booking"` is asked once the plan of an order is drawn. The fields of its input name what
it takes: `order`, or a member of the plan's results (`machines`, `supply`, `cable`, `loop`, `fill`, `site`,
`arrival_plan`, ...). What the plan does not have is left out; where it is required, the part is not asked. Its findings
count in the outcome, and never take one away; `pick_list` and `open_questions` among its results join those of the plan
under its id; all else that it answers is its block. A line that names an item of the fleet is compared with what the
plan leaves of it. Where a part that takes more than the order stops the plan, the next combination of machines is tried.

A calculator that says `joins="start"` is asked with every verdict on a start, and takes of it likewise: `configuration`,
`observations`, `evaluated_at`, or members of the verdict (`status`, `facts`, `own_facts`, ...). `facts` and `blocks` among
its results stand among those of the start under its id. A block forbids the start until it is gone; it stops no machine
that runs.

A part that takes another one's block names it: `about(..., block_of="acme.footprint")`. Parts are asked by need, then by id.
"""

from typing import Annotated, Any, Literal

from msgspec import UNSET, Meta, Struct, UnsetType
from msgspec.structs import asdict

from coldwright.contract.fields import TEXT_PATTERN, Given, Results, Text, about
from coldwright.contract.notes import Finding, Severity

Join = Literal["", "booking", "start"]
INSTANT = Meta(extra_json_schema={"format": "date-time"})
Whole = Annotated[int, Meta(ge=-(2**53) + 1, le=2**53 - 1)]
LONGEST = 20_000
Saying = Annotated[str, Meta(max_length=2000)]


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


class StartRecord(Given, frozen=True, kw_only=True):
    """A record that would settle something: what is known is filled in, a reading is left out."""

    kind: Annotated[str, about("Its kind; `own_fact` for a fact that only a part reads.", max_length=60)]
    data: Annotated[dict[str, bool | Whole | Saying], about("Its data, as far as they are known.", max_length=20)]


class StartFact(Given, frozen=True, kw_only=True):
    """A fact that a part adds to a start."""

    name: Annotated[str, about("Its name, a word of the part's own.", pattern="^[a-z][a-z0-9_]{0,59}$")]
    status: Annotated[Literal["established", "missing", "stale", "failed", "contradicted"], about("How it stands.")]
    by: Annotated[tuple[Text, ...], about("Observations that decide it.", max_length=100)] = ()
    expires_at: Annotated[str, about("When it gets too old, RFC 3339.", max_length=40), INSTANT] | UnsetType = UNSET


class StartBlock(Given, frozen=True, kw_only=True):
    """Something that forbids a start."""

    code: Annotated[str, about("Stable word of the part's own.", pattern="^[a-z][a-z0-9_]{0,59}$")]
    statement: Annotated[str, about("What is not yet so.", min_length=1, max_length=500)]
    do: Annotated[str, about("What to do about it.", min_length=1, max_length=500)]
    short: Annotated[str, about("The same for a small screen.", min_length=1, max_length=60)]
    cleared_by: Annotated[str, about("Who may clear it.", min_length=1, max_length=200)]
    fact: Annotated[str, about("The part's fact behind it; empty for none.", max_length=60)] = ""
    because: Annotated[tuple[Text, ...], about("Observations behind it.", max_length=100)] = ()
    record: Annotated[tuple[StartRecord, ...], about("Observations that would settle it.", max_length=10)] = ()


class JoinedToStart(Given, frozen=True, kw_only=True):
    """What a part adds to a start."""

    calculator: Annotated[str, about("Its id.", max_length=120)]
    title: Annotated[str, about("What it is about.", max_length=200)]
    facts: Annotated[tuple[StartFact, ...], about("Its facts.", max_length=50)] = ()
    blocks: Annotated[tuple[StartBlock, ...], about("Its blocks.", max_length=50)] = ()


class ChangedLine(Given, frozen=True, kw_only=True):
    """A line that a part put on a pick list."""

    item: Annotated[str, about("What.", max_length=500)]
    kind: Annotated[str, about("What kind of thing it is.", max_length=100)]
    count: Annotated[int, about("How many.", low=0, high=100000)]
    reason: Annotated[str, about("Why.", max_length=2000)]


class CountedType(Given, frozen=True, kw_only=True):
    """A type of the fleet and how many of it."""

    type: Annotated[str, about("A type of the fleet.", min_length=1, max_length=100)]
    count: Annotated[int, about("How many.", low=1, high=1000)]


class RuledOut(Given, frozen=True, kw_only=True):
    """Machines that are not to be taken together."""

    machines: Annotated[tuple[CountedType, ...], about("Which, and how many.", min_length=1, max_length=40)]
    why: Annotated[str, about("The reason.", min_length=1, max_length=1000, pattern=TEXT_PATTERN)]

    @property
    def counts(self) -> dict[str, int]:
        """By type."""
        return {name: sum(m.count for m in self.machines if m.type == name) for name in {m.type for m in self.machines}}

    def __str__(self) -> str:
        return " + ".join(f"{m.count} x {m.type}" for m in self.machines)


class PartFinding(Given, frozen=True, kw_only=True, omit_defaults=True):
    """A finding of a part, as it stands in the plan: in words alone, which are not put into other units any more."""

    code: Annotated[str, about("Stable word.", max_length=200)]
    severity: Annotated[Severity, about("`stop` makes the outcome unacceptable, `check` conditional.")]
    statement: Annotated[str, about("What was found, with the numbers.", max_length=LONGEST)]
    why: Annotated[str, about("Why it matters.", max_length=LONGEST)] = ""
    resolve: Annotated[str, about("What would free it.", max_length=LONGEST)] = ""
    field: Annotated[str, about("JSON pointer of the field that decides it.", max_length=2000)] | UnsetType = UNSET
    rule: Annotated[str, about("Id of the numbered rule behind it.", max_length=200)] | UnsetType = UNSET
    references: Annotated[tuple[Text, ...], about("Ids of references.", max_length=100)] = ()
    calculator: Annotated[str, about("Id of the calculator that says so.", max_length=120)] | UnsetType = UNSET
    do: Annotated[str, about("What to do about it.", max_length=LONGEST)] = ""
    cleared_by: Annotated[str, about("Who may say that it is done.", max_length=LONGEST)] = ""

    @property
    def finding(self) -> Finding:
        """As an answer has it."""
        return Finding(**asdict(self))


class JoinedToPlan(Given, frozen=True, kw_only=True):
    """What parts put into one of two plans that are compared."""

    findings: Annotated[tuple[PartFinding, ...], about("Their findings.", max_length=2000)] = ()
    pick_list: Annotated[tuple[ChangedLine, ...], about("Their lines.", max_length=2000)] = ()
    open_questions: Annotated[tuple[Saying, ...], about("Fields that they ask for.", max_length=2000)] = ()
    ruled_out: Annotated[tuple[RuledOut, ...], about("Combinations that they stopped.", max_length=20)] = ()


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
