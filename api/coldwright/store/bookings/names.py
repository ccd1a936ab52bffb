"""Finding bookings by a part of the name of their site or customer, however many there are.

A part of a name is the beginning of one of its endings, and beginnings are found by the order of an index. That does the
same on both databases, for parts of any length, and needs no extension of either.
"""

from typing import Any, Literal

from sqlalchemy import Connection, select
from sqlalchemy.dialects import postgresql, sqlite

from coldwright.store.bookings.finding import Found
from coldwright.store.schema import booking_heads, name_endings

LONGEST = 40
"""Letters of an ending that are kept; of a longer part the rest is compared with what was found."""
LAST = "\U0010ffff"

Named = Literal["site_folded", "customer_folded"]


def keep_names(connection: Connection, tenant: str, *names: str) -> None:
    """Keep the endings of folded names, inside the transaction that uses them."""
    e = name_endings.c
    new = {
        (name[start : start + LONGEST], name)
        for name in names
        if name and not connection.scalar(_whole(tenant, name))
        for start in range(len(name))
    }
    if new:
        dialect = postgresql if connection.dialect.name == "postgresql" else sqlite
        rows = [{e.tenant.name: tenant, e.ending.name: ending, e.name.name: name} for ending, name in sorted(new)]
        connection.execute(dialect.insert(name_endings).on_conflict_do_nothing(), rows)


def _whole(tenant: str, name: str) -> Any:
    e = name_endings.c
    return select(e.tenant).where(e.tenant == tenant, e.ending == name[:LONGEST], e.name == name)


def only_named(found: Found, tenant: str, column: Named, part: str) -> None:
    """Only bookings in whose name `part` stands, in any case of letters."""
    e, h, folded = name_endings.c, booking_heads.c, part.casefold()
    begins = folded[:LONGEST]
    references = (
        select(h.reference)
        .select_from(name_endings)
        .join(booking_heads, (h.tenant == e.tenant) & (h[column] == e.name))
        .where(e.tenant == tenant, e.ending >= begins, e.ending < begins + LAST)
    )
    if folded != begins:
        references = references.where(e.name.contains(folded, autoescape=True))
    found.among(references, h[column].contains(folded, autoescape=True))
