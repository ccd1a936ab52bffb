"""Holds that have lapsed: they hold nothing from that instant on; here their bookings become quotes for good."""

from datetime import UTC, datetime

from msgspec.structs import replace
from sqlalchemy import select, update

from coldwright.store.bookings.checks import want_checks
from coldwright.store.bookings.keep import as_head, facts_of, row_of
from coldwright.store.bookings.life import write_move
from coldwright.store.bookings.stock import give_back
from coldwright.store.conditions import tag_of
from coldwright.store.database import Database
from coldwright.store.events import add_event
from coldwright.store.schema import booking_heads

AT_A_TIME = 100


def lapse_holds(database: Database) -> int:
    """Make quotes of holds that have lapsed, of all tenants; returns how many."""
    h, now = booking_heads.c, datetime.now(UTC)
    lapsed = (h.state == "held", h.held_until.is_not(None), h.held_until <= now)
    with database.reading() as connection:
        if connection.execute(select(h.reference).where(*lapsed).limit(1)).first() is None:
            return 0
    with database.writing() as connection:
        rows = connection.execute(select(booking_heads).where(*lapsed).limit(AT_A_TIME).with_for_update()).all()
        for row in rows:
            before = as_head(row)
            head = replace(
                before,
                stored_state="quote",
                wished="quote",
                held_until=None,
                changes=before.changes + 1,
                etag=tag_of(before.reference, before.changes + 1, "lapsed"),
                updated_at=now,
            )
            here = (h.tenant == row.tenant, h.reference == head.reference)
            connection.execute(update(booking_heads).where(*here).values(**row_of(head)))
            give_back(connection, row.tenant, head.reference)
            want_checks(connection, row.tenant, head.fleet)
            write_move(connection, row.tenant, head, "lapse", "The hold lapsed.", "")
            add_event(
                connection, row.tenant, "booking.state", head.reference, facts_of(head) | {"reason": "The hold lapsed."}
            )
        return len(rows)
