"""Lists of bookings: by period, state, what they hold, where they are, and what the caller wrote on them."""

from datetime import UTC, datetime
from itertools import chain, product
from typing import Any, Literal

from msgspec import Struct
from sqlalchemy import Connection, Select, and_, case, exists, or_, select, union_all

from coldwright.store.bookings.booking import Booking, Head
from coldwright.store.bookings.finding import Branch, Found, any_of, in_state, lasting_until
from coldwright.store.bookings.keep import as_booking, as_head
from coldwright.store.bookings.names import only_named
from coldwright.store.bookings.stock import serials_of
from coldwright.store.database import Database
from coldwright.store.schema import allocations, assignments, booking_heads, booking_labels, bookings, records
from coldwright.store.startups import OfBooking, starts_of_booking

Sort = Literal["period", "updated", "reference", "worst"]
LONGEST_SEVERITY = 3
"""Digits, and a sign."""


class Filter(Struct, frozen=True):
    """Which bookings a list holds; what is empty asks nothing."""

    first: str = ""
    last: str = ""
    site: str = ""
    """Part of the site's name, in any case of letters; the same for `customer`."""
    customer: str = ""
    outcome: str = ""
    state: str = ""
    standing: bool | None = None
    holds: bool | None = None
    fleet: str = ""
    machine_type: str = ""
    serial: str = ""
    label: tuple[str, str] = ("", "")
    updated_since: datetime | None = None
    sort: Sort = "period"


_ORDER: dict[Sort, tuple[str, ...]] = {
    "period": ("period_from", "reference"),
    "updated": ("updated_at", "reference"),
    "reference": ("reference",),
    "worst": ("severity", "period_from", "reference"),
}
"""Columns that a list is sorted by; `severity` falls, the others rise."""


def list_bookings(database: Database, tenant: str, wanted: Filter, after: tuple[str, ...], size: int) -> list[Head]:
    """Bookings in the order of `wanted.sort`, `size` of them beginning after the key `after` (see `key_of`)."""
    names = _ORDER[wanted.sort]
    with database.reading() as connection:
        found, branches = _found(connection, tenant, wanted), _branches(wanted)
        if after:
            found.conditions.append(_beyond(names, after))
        if wanted.sort != "period" or found.few is not None:  # the indexes of branches are in the order of the period
            found.conditions += map(any_of, branches)
            branches = []
        query: Any
        if found.few is not None:
            query = select(found.one_by_one())
        else:
            parts = [select(booking_heads).where(*found.conditions, *chain(*some)) for some in product(*branches)]
            query = parts[0] if len(parts) == 1 else union_all(*parts)
        columns = [query.selected_columns[name] for name in names]
        query = query.order_by(*(c.desc() if c.name == "severity" else c for c in columns))
        return [as_head(row) for row in connection.execute(query.limit(size))]


def key_of(head: Head, sort: Sort) -> tuple[str, ...]:
    """Where a booking stands in a list: what the next page begins after."""
    texts = {
        "period_from": head.period.first,
        "updated_at": head.updated_at.astimezone(UTC).isoformat(),
        "reference": head.reference,
        "severity": str(head.severity),
    }
    return tuple(texts[name] for name in _ORDER[sort])


def _beyond(names: tuple[str, ...], after: tuple[str, ...]) -> Any:
    values = {n: _typed(n, text) for n, text in zip(names, after, strict=True)}
    terms = []
    for place, name in enumerate(names):
        column = booking_heads.c[name]
        further = column < values[name] if name == "severity" else column > values[name]
        terms.append(and_(*(booking_heads.c[n] == values[n] for n in names[:place]), further))
    return or_(*terms)


def is_key(key: tuple[str, ...], sort: Sort) -> bool:
    """Whether a list can go on after it: a token may have been edited since it was made."""
    try:
        for name, text in zip(_ORDER[sort], key, strict=True):
            _typed(name, text)
    except (ValueError, OverflowError):
        return False
    return True


def _typed(name: str, text: str) -> Any:
    if name == "updated_at":
        return datetime.fromisoformat(text).astimezone(UTC)
    if name == "severity" and len(text) > LONGEST_SEVERITY:
        raise ValueError(text)
    return int(text) if name == "severity" else text


class Assessed(Struct, frozen=True):
    """What of a kept order is assessed again."""

    reference: str
    given: bytes
    """The input that was assessed."""
    digest: str
    """Of what came of it."""
    place: tuple[str, str]
    """Where it stands in the list."""


def list_assessed(
    database: Database, tenant: str, wanted: Filter, size: int, after: tuple[str, str] | None = None
) -> list[Assessed]:
    """Of the revisions shown what was assessed, by the first day and the reference, beginning after a place."""
    b, h = bookings.c, booking_heads.c
    with database.reading() as connection:
        columns = (h.reference, h.period_from, records.c.given, records.c.digest)
        query = _listed(connection, select(*columns), tenant, wanted)
        if after is not None:
            query = query.where(_beyond(("period_from", "reference"), after))
        query = query.join(bookings, and_(b.tenant == h.tenant, b.reference == h.reference, b.revision == _shown()))
        query = query.join(records, and_(records.c.tenant == b.tenant, records.c.digest == b.digest))
        rows = connection.execute(query.order_by(h.period_from, h.reference).limit(size))
        return [Assessed(r.reference, r.given, r.digest, (r.period_from, r.reference)) for r in rows]


def references_of(connection: Connection, tenant: str, wanted: Filter) -> list[str]:
    """References of every booking of a selection, inside a transaction."""
    query = _listed(connection, select(booking_heads.c.reference), tenant, wanted)
    return list(connection.scalars(query))


def _shown() -> Any:
    h = booking_heads.c
    return case((h.standing > 0, h.standing), else_=h.revision)


def _listed(connection: Connection, query: "Select[Any]", tenant: str, wanted: Filter) -> "Select[Any]":
    found = _found(connection, tenant, wanted)
    return query.where(*found.all_conditions(), *map(any_of, _branches(wanted)))


def _branches(wanted: Filter) -> list[list[Branch]]:
    """Of each filter that several ranges of an index answer: those ranges."""
    branches = []
    if wanted.first:
        branches.append(lasting_until(wanted.first))
    if wanted.state:
        branches.append(in_state(wanted.state, datetime.now(UTC)))
    return branches


def _found(connection: Connection, tenant: str, wanted: Filter) -> Found:
    h = booking_heads.c
    conditions: list[tuple[bool, Any]] = [
        (True, h.tenant == tenant),
        (bool(wanted.last), h.period_from <= wanted.last),
        (bool(wanted.outcome), h.outcome == wanted.outcome),
        (wanted.standing is True, h.standing == h.revision),
        (wanted.standing is False, h.standing != h.revision),
        (wanted.holds is True, h.severity == 0),
        (wanted.holds is False, h.severity > 0),
        (bool(wanted.fleet), h.fleet == wanted.fleet),
    ]
    found = Found(connection, [condition for wants, condition in conditions if wants])
    if wanted.site:
        only_named(found, tenant, "site_folded", wanted.site)
    if wanted.customer:
        only_named(found, tenant, "customer_folded", wanted.customer)
    if wanted.machine_type:
        _only_beside(found, tenant, allocations, allocations.c.item == f"machine:{wanted.machine_type}")
    if wanted.serial:
        _only_beside(found, tenant, assignments, assignments.c.serial == wanted.serial)
    if wanted.label[0]:
        c, (name, value) = booking_labels.c, wanted.label
        _only_beside(found, tenant, booking_labels, and_(c.name == name, c.value == value))
    if wanted.updated_since is not None:
        since = h.updated_at >= wanted.updated_since
        found.conditions.append(since)
        if wanted.sort != "updated":
            found.among(select(h.reference).where(h.tenant == tenant, since), since)
    return found


def _only_beside(found: Found, tenant: str, table: Any, condition: Any) -> None:
    """Only bookings of which another table says something."""
    t = table.c
    references = select(t.reference).where(t.tenant == tenant, condition)
    found.among(references, exists().where(t.tenant == tenant, t.reference == booking_heads.c.reference, condition))


def revisions_of(database: Database, tenant: str, reference: str) -> list[Booking]:
    """Every revision of an order, the newest first."""
    c = bookings.c
    query = select(bookings).where(c.tenant == tenant, c.reference == reference).order_by(c.revision.desc())
    with database.reading() as connection:
        return [as_booking(row) for row in connection.execute(query)]


class Beside(Struct, frozen=True):
    """What is kept beside a booking's order."""

    labels: dict[str, str]
    serials: list[tuple[str, str]]
    starts: list[OfBooking] = []
    """The newest, by their id."""


MOST_STARTS = 100


def beside(database: Database, tenant: str, reference: str) -> Beside:
    """The caller's own fields, the machines assigned and their starts."""
    c = booking_labels.c
    with database.reading() as connection:
        rows = connection.execute(
            select(c.name, c.value).where(c.tenant == tenant, c.reference == reference).order_by(c.name)
        )
        return Beside(
            {r.name: r.value for r in rows},
            serials_of(connection, tenant, reference),
            starts_of_booking(connection, tenant, reference, MOST_STARTS),
        )
