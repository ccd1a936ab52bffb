"""One case of a rule about what cannot be, contradicts itself, or asks for a look."""

from dataclasses import dataclass
from typing import Final

from coldwright.contract.sentences import Words
from coldwright_basis.instants import show
from coldwright_basis.once import once
from coldwright_readiness.startup.evidence.record import Record

MOST_CASES: Final = 200
"""Of one rule so many cases are listed; the number of the others is said."""


@dataclass(frozen=True)
class Case:
    """One case of a rule. `forbids`: nothing is started until it is cured or settled."""

    rule: str
    records: tuple[Record, ...]
    said: Words
    """What is wrong; with quantities in it, so that an answer in other units says them in those."""
    forbids: bool = False
    settled: bool = False

    @once
    def statement(self) -> str:
        """The same as plain text."""
        return self.said if isinstance(self.said, str) else self.said.text()

    @once
    def ids(self) -> tuple[str, ...]:
        """Ids of its records, sorted."""
        return tuple(sorted({r.id for r in self.records}))


def case_of(rule: str, *records: Record, statement: Words, forbids: bool = False) -> Case:
    """A case of one record or more."""
    return Case(rule, records, statement, forbids)


def when(record: Record) -> str:
    """When it was seen, to read."""
    return show(record.at)
