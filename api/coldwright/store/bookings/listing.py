"""Lists of bookings: by period, state, what they hold, where they are, and what the caller wrote on them."""

from datetime import UTC, datetime
from typing import Any, Literal

from msgspec import Struct
from sqlalchemy import Connection, Select, and_, case, or_, select

from coldwright.store.bookings.booking import Booking, Head
from coldwright.store.bookings.keep import as_booking, as_head
from coldwright.store.bookings.stock import serials_of
from coldwright.store.database import Database
from coldwright.store.schema import allocations, assignments, booking_heads, booking_labels, bookings, records
from coldwright.store.startups import OfBooking, starts_of_booking

Sort = Literal["period", "updated", "reference", "worst"]


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
    h = booking_heads.c
    columns = [h[name] for name in _ORDER[wanted.sort]]
    query = _listed(select(booking_heads), tenant, wanted)
    if after:
        query = query.where(_beyond(_ORDER[wanted.sort], after))
    query = query.order_by(*(c.desc() if c.name == "severity" else c for c in columns))
    with database.reading() as connection:
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


def _typed(name: str, text: str) -> Any:
    return datetime.fromisoformat(text) if name == "updated_at" else int(text) if name == "severity" else text


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
    query = _listed(select(h.reference, h.period_from, records.c.given, records.c.digest), tenant, wanted)
    if after is not None:
        query = query.where(_beyond(("period_from", "reference"), after))
    query = query.join(bookings, and_(b.tenant == h.tenant, b.reference == h.reference, b.revision == _shown()))
    query = query.join(records, and_(records.c.tenant == b.tenant, records.c.digest == b.digest))
    with database.reading() as connection:
        rows = connection.execute(query.order_by(h.period_from, h.reference).limit(size))
        return [Assessed(r.reference, r.given, r.digest, (r.period_from, r.reference)) for r in rows]


def references_of(connection: Connection, tenant: str, wanted: Filter) -> list[str]:
    """References of every booking of a selection, inside a transaction."""
    query = _listed(select(booking_heads.c.reference), tenant, wanted)
    return list(connection.scalars(query))


def _shown() -> Any:
    h = booking_heads.c
    return case((h.standing > 0, h.standing), else_=h.revision)


def _listed(query: "Select[Any]", tenant: str, wanted: Filter) -> "Select[Any]":
    h, now = booking_heads.c, datetime.now(UTC)
    query = query.where(h.tenant == tenant)
    lapsed = and_(h.state == "held", h.held_until.is_not(None), h.held_until <= now)
    conditions: list[tuple[bool, Any]] = [
        (bool(wanted.first), h.period_to >= wanted.first),
        (bool(wanted.last), h.period_from <= wanted.last),
        (bool(wanted.site), _named(tenant, "site_folded", wanted.site)),
        (bool(wanted.customer), _named(tenant, "customer_folded", wanted.customer)),
        (bool(wanted.outcome), h.outcome == wanted.outcome),
        (wanted.state == "quote", or_(h.state == "quote", lapsed)),
        (wanted.state == "held", and_(h.state == "held", ~lapsed)),
        (wanted.state not in ("", "quote", "held"), h.state == wanted.state),
        (wanted.standing is True, h.standing == h.revision),
        (wanted.standing is False, h.standing != h.revision),
        (wanted.holds is True, h.severity == 0),
        (wanted.holds is False, h.severity > 0),
        (bool(wanted.fleet), h.fleet == wanted.fleet),
        (
            bool(wanted.machine_type),
            _holds(tenant, allocations, allocations.c.item == f"machine:{wanted.machine_type}"),
        ),
        (bool(wanted.serial), _holds(tenant, assignments, assignments.c.serial == wanted.serial)),
        (bool(wanted.label[0]), _labelled(tenant, *wanted.label)),
        (wanted.updated_since is not None, h.updated_at >= (wanted.updated_since or now)),
    ]
    return query.where(*(condition for wants, condition in conditions if wants))


def _holds(tenant: str, table: Any, condition: Any) -> Any:
    """Among what another table says of bookings, found by its index: few of many, so that it does not grow with all."""
    return booking_heads.c.reference.in_(select(table.c.reference).where(table.c.tenant == tenant, condition))


def _named(tenant: str, column: str, part: str) -> Any:
    """Part of a folded name, sought in the index of that name, which is a tenth of the rows."""
    other = booking_heads.alias()
    return _holds(tenant, other, other.c[column].contains(part.casefold(), autoescape=True))


def _labelled(tenant: str, name: str, value: str) -> Any:
    return _holds(tenant, booking_labels, and_(booking_labels.c.name == name, booking_labels.c.value == value))


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
