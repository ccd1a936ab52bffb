"""How a page of a list is found in about the same time among any number of bookings.

A list is read in the order of an index until a page is full. Where what is asked for is rare, or lies at the end, that would
go through all that came before; so a filter either has an index in the order of the list, or gives the few that it means.
"""

from collections.abc import Iterable
from datetime import date, datetime
from typing import Any

from sqlalchemy import ColumnElement, Connection, Select, and_, false, or_, select

from coldwright.store.bookings.booking import Period
from coldwright.store.schema import booking_heads

FEW = 2000
"""Bookings up to which those that were found are looked at one by one. Where a filter finds more, a page of the list is
sooner found by going through it."""
LENGTHS = (30, 120, 480)
"""Days up to which a hire is of length class 0, 1 and 2; longer ones are 3. What lasts until a day began within so many days
before it, so that hires of each class are read from there on, not from the first that there ever was."""

Branch = tuple[ColumnElement[bool], ...]


class Found:
    """What narrows a list: conditions to go through it with, and the few that it can be, where a filter gave them."""

    def __init__(self, connection: Connection, conditions: list[Any]) -> None:
        self._connection = connection
        self.conditions = conditions
        self.few: frozenset[str] | None = None

    def among(self, references: "Select[Any]", otherwise: Any) -> None:
        """Only bookings whose references are found, where those are few; else only those of a condition."""
        found = list(self._connection.scalars(references.limit(FEW + 1)))
        if len(found) > FEW:
            self.conditions.append(otherwise)
        else:
            self.few = frozenset(found) if self.few is None else self.few.intersection(found)

    def all_conditions(self) -> list[Any]:
        """Those and the few, for a query that reads everything that is found."""
        return self.conditions if self.few is None else [*self.conditions, self._of_few()]

    def _of_few(self) -> Any:
        return booking_heads.c.reference.in_(sorted(self.few)) if self.few else false()

    def one_by_one(self) -> Any:
        """The few heads as a table of their own.

        Its limit cuts nothing off: it keeps the database from going through the whole list to have them in its order.
        """
        return select(booking_heads).where(*self.all_conditions()).limit(FEW + 1).cte("few")


def length_class(period: Period) -> int:
    """Of a hire; see `LENGTHS`."""
    days = (date.fromisoformat(period.last) - date.fromisoformat(period.first)).days
    return next((n for n, most in enumerate(LENGTHS) if days <= most), len(LENGTHS))


def lasting_until(day: str) -> list[Branch]:
    """Hires that last until a day or longer, by length class: each is read in the order of the list."""
    h = booking_heads.c
    end = date.fromisoformat(day)
    branches: list[Branch] = [(h.length_class == len(LENGTHS), h.period_to >= day)]
    for number, most in enumerate(LENGTHS):
        earliest = date.fromordinal(max(1, end.toordinal() - most)).isoformat()
        branches.append((h.length_class == number, h.period_from >= earliest, h.period_to >= day))
    return branches


def in_state(state: str, now: datetime) -> list[Branch]:
    """A hold that has lapsed is a quote already, also before that is kept."""
    h = booking_heads.c
    lapsed = and_(h.state == "held", h.held_until.is_not(None), h.held_until <= now)
    if state == "quote":
        return [(h.state == "quote",), (lapsed,)]
    return [(h.state == state, ~lapsed)] if state == "held" else [(h.state == state,)]


def any_of(branches: Iterable[Branch]) -> Any:
    """One condition of several branches."""
    return or_(*(and_(*branch) for branch in branches))
