"""Take what was given, else the usual value, and write that down."""

from typing import TypeVar

from msgspec import UnsetType

from coldwright.contract import Basis, Notes
from coldwright.contract.sentences import Words

T = TypeVar("T")


def given_or_usual(
    given: T | UnsetType,
    usual: T,
    notes: Notes,
    code: str,
    statement: Words,
    *,
    basis: Basis = "common_practice",
    references: tuple[str, ...] = (),
) -> T:
    """`given` where there is one; else `usual`, with an assumption `code` that says so in `statement`."""
    if not isinstance(given, UnsetType):
        return given
    notes.assume(code, statement, value=usual, basis=basis, references=references)
    return usual
