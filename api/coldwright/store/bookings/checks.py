"""Which bookings are to be looked at again, since something that their plan rests on has changed.

The wish is written with the change itself, so that a kill between the two loses nothing.
"""

from collections.abc import Sequence
from datetime import UTC, datetime
from typing import Any

from msgspec import Struct
from sqlalchemy import ColumnElement, Connection, or_, select, update

from coldwright.store.bookings.booking import ENDED
from coldwright.store.bookings.stock import today
from coldwright.store.database import Database
from coldwright.store.events import add_event
from coldwright.store.schema import booking_heads

AT_ONCE = 500
"""References in one statement."""


class Due(Struct, frozen=True):
    """A booking to be looked at, and since when."""

    tenant: str
    reference: str
    wanted_at: datetime


def want_checks(connection: Connection, tenant: str, fleet: str, *, but: str = "") -> None:
    """Look again at every open booking of a fleet, inside the transaction of the change."""
    if not fleet:
        return
    h = booking_heads.c
    here = _open().where(h.tenant == tenant, h.fleet == fleet, h.reference != but)
    connection.execute(here.values(check_wanted=datetime.now(UTC)))


def want_checks_of_other_versions(database: Database, rests_on: str) -> int:
    """Look again at every open booking whose assessment rests on other versions or tables; returns how many."""
    h = booking_heads.c
    with database.writing() as connection:
        here = _open().where(h.calculator_version != rests_on)
        return connection.execute(here.values(check_wanted=datetime.now(UTC), calculator_version=rests_on)).rowcount


def want_checks_of(connection: Connection, tenant: str, references: Sequence[str]) -> int:
    """Look again at those of these bookings that are open, inside the transaction of the change; returns how many."""
    h, now, count = booking_heads.c, datetime.now(UTC), 0
    for start in range(0, len(references), AT_ONCE):
        here = _open().where(h.tenant == tenant, h.reference.in_(references[start : start + AT_ONCE]))
        count += connection.execute(here.values(check_wanted=now)).rowcount
    return count


def open_bookings() -> tuple[ColumnElement[bool], ...]:
    """Conditions of a booking that is not over."""
    h = booking_heads.c
    return h.state.not_in(ENDED), or_(h.period_to >= today(), h.state == "on_hire")


def _open() -> Any:
    return update(booking_heads).where(*open_bookings())


def waiting_for_checks(database: Database, tenant: str) -> frozenset[str]:
    """References of the bookings that are to be looked at and were not yet: what is marked on them may be old."""
    h = booking_heads.c
    with database.reading() as connection:
        found = connection.execute(select(h.reference).where(h.tenant == tenant, h.check_wanted.is_not(None)))
        return frozenset(found.scalars())


def due_checks(database: Database, size: int) -> list[Due]:
    """Bookings of all tenants that are to be looked at, those first that wait longest."""
    h = booking_heads.c
    query = select(h.tenant, h.reference, h.check_wanted).where(h.check_wanted.is_not(None))
    with database.reading() as connection:
        rows = connection.execute(query.order_by(h.check_wanted, h.tenant, h.reference).limit(size))
        return [Due(r.tenant, r.reference, r.check_wanted) for r in rows]


def put_off(database: Database, due: Due) -> None:
    """Look at it after the others: it could not be looked at now."""
    h = booking_heads.c
    here = (h.tenant == due.tenant, h.reference == due.reference, h.check_wanted == due.wanted_at)
    with database.writing() as connection:
        connection.execute(update(booking_heads).where(*here).values(check_wanted=datetime.now(UTC)))


def settle_check(database: Database, due: Due, severity: int, why: str) -> bool:
    """Keep what a check found, with an event where it turned; returns whether it did.

    Two services may look at one booking: both find the same, and the second finds nothing to keep. What was wished for
    again meanwhile stays wished for.
    """
    h = booking_heads.c
    here = (h.tenant == due.tenant, h.reference == due.reference)
    with database.writing() as connection:
        row = connection.execute(select(h.severity, h.why, h.state).where(*here).with_for_update()).first()
        if row is None:
            return False
        done = (*here, h.check_wanted == due.wanted_at)
        connection.execute(update(booking_heads).where(*done).values(check_wanted=None))
        if row.state in ENDED or (row.severity, row.why) == (severity, why):
            return False
        connection.execute(update(booking_heads).where(*here).values(severity=severity, why=why))
        body = {"reference": due.reference, "state": row.state, "severity": severity, "why": why}
        kind = "booking.holds_again" if severity == 0 else "booking.no_longer_holds"
        add_event(connection, due.tenant, kind, due.reference, body)
        return True
