"""What a handover comes to."""

from typing import Annotated, Literal

from msgspec import UNSET, Meta, UnsetType

from coldwright.contract import Results, about
from coldwright_readiness.handover.given import Party, Requirement, Value

RowResult = Literal["pass", "fail", "not_done"]
Overall = Literal["pass", "pass_with_exceptions", "incomplete", "fail"]


class HandoverRow(Results, frozen=True, kw_only=True):
    """One line, judged."""

    id: Annotated[str, about("Name of the line.")]
    required: Annotated[Requirement, about("What was asked.")]
    measured: Annotated[Value, Meta(description="What was found.")] | UnsetType = UNSET
    result: Annotated[RowResult, about("`not_done` where nothing was found: it never passes.")]


class HandoverCounts(Results, frozen=True, kw_only=True, rename={"passed": "pass"}):
    """How many lines came to what."""

    passed: Annotated[int, about("Lines that pass.")]
    fail: Annotated[int, about("Lines that fail.")]
    not_done: Annotated[int, about("Lines that were not done.")]


class HandoverResults(Results, frozen=True, kw_only=True):
    """The record, judged."""

    overall: Annotated[Overall, about("What it comes to.")]
    rows: Annotated[tuple[HandoverRow, ...], about("The lines in the order given.")]
    counts: Annotated[HandoverCounts, about("How many came to what.")]
    signatures_missing: Annotated[tuple[Party, ...], about("Parties that have not signed.")]
    record_hash: Annotated[str, about("SHA-256 over items, signatures and exceptions as sent: 64 hex digits.")]
