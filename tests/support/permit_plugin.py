"""A stranger's part of a start: nobody starts without the site's own permit. Its rule is invented."""

SOURCE = '''
from typing import Annotated

from coldwright.contract import (
    Caution, Example, Given, Notes, Plugin, Reference, Results, StartBlock, StartFact, StartRecord, Taken, about, calculator,
    finding,
)
from msgspec import UNSET, UnsetType

RULE = Reference(id="permit_rule", title="Rule of this site (invented)", provenance="common_practice")
NAME = "permit.to_operate"
CARE = Caution(code="permit_care", hazard="general", statement="A permit makes nothing safe by itself.")


class OwnFact(Taken, frozen=True, kw_only=True):
    """How a fact stands."""

    status: Annotated[str, about("How it stands.", max_length=20)]
    by: Annotated[tuple[str, ...], about("Records.", max_length=1000)] = ()
    expires_at: Annotated[str, about("When it ends.", max_length=40)] | UnsetType = UNSET


class PermitGiven(Given, frozen=True, kw_only=True):
    """What was recorded for parts."""

    own_facts: Annotated[dict[str, OwnFact], about("By name.", max_length=6000)]


class PermitResults(Results, frozen=True, kw_only=True):
    """Whether there is a permit."""

    permitted: Annotated[bool, about("Whether a permit holds.")]
    facts: Annotated[tuple[StartFact, ...], about("The permit.")]
    blocks: Annotated[tuple[StartBlock, ...], about("What it forbids.")]


HAS = {"own_facts": {NAME: {"status": "established", "by": ["p"]}}}


@calculator(
    "permit.start", version="1.0.0", title="Permit of the site", references=(RULE,), joins="start",
    findings=(finding("number_noted", "note", "A permit is on record."),),
    examples=(Example("has", "Invented.", HAS), Example("lacks", "Invented.", {"own_facts": {}})),
)
def permit(given: PermitGiven, notes: Notes) -> PermitResults:
    """Nobody starts a machine here without the permit of the day."""
    fact = given.own_facts.get(NAME)
    notes.caution(CARE)
    if fact is not None and fact.status == "failed" and "crash" in fact.by:
        raise RuntimeError("no rule for this")
    status = "missing" if fact is None else fact.status
    known = StartFact(
        name="permit", status=status, by=() if fact is None else fact.by,
        expires_at=UNSET if fact is None else fact.expires_at,
    )
    if status == "established":
        notes.note("number_noted", "A permit is on record.", field="/own_facts")
        return PermitResults(permitted=True, facts=(known,), blocks=())
    block = StartBlock(
        code="no_permit", statement="The site's permit to operate is not on record, or it has ended.", fact="permit",
        do="Ask the site's office for the permit of the day, and record it.", short="Get the site's permit, record it",
        cleared_by="the site's permit office", because=known.by,
        record=(StartRecord(kind="own_fact", data={"name": NAME, "holds": True}),),
    )
    return PermitResults(permitted=False, facts=(known,), blocks=(block,))


plugin = Plugin(name="permit", title="Permits", contract=">=1.3,<2", calculators=(permit,))
'''
