"""Bookings: orders with revisions, their assessments, and the stock that they hold."""

from collections.abc import Mapping
from datetime import UTC, datetime
from itertools import accumulate
from typing import Any

from msgspec import Struct
from sqlalchemy import Connection, Select, and_, delete, insert, or_, select, update

from coldwright.store.conditions import Condition, Done, judge, tag_of
from coldwright.store.database import Database
from coldwright.store.locking import hold
from coldwright.store.records import Record, insert_record
from coldwright.store.schema import allocations, bookings, records


class Period(Struct, frozen=True):
    """First and last day, both included, as ISO dates: they sort as they are."""

    first: str
    last: str


class Booking(Struct, frozen=True):
    """One revision of an order."""

    reference: str
    revision: int
    document: bytes
    etag: str
    digest: str
    outcome: str
    period: Period
    site: str
    fleet: str
    created_at: datetime


class Wanted(Struct, frozen=True):
    """A revision to be kept: the order as it came, and what was assessed of it."""

    document: bytes
    assessment: Record
    period: Period
    site: str
    fleet: str
    held: Mapping[str, int]
    """Machine types and accessories that it takes from the fleet, with how many."""
    stock: Mapping[str, int]
    """What the fleet has of each in all. An item that is not among them is not counted."""


class StockTaken(Exception):  # noqa: N818
    """Another order took what this one was assessed with: assess it again."""


def held_by_others(connection: Connection, tenant: str, fleet: str, period: Period, reference: str) -> dict[str, int]:
    """What the other orders hold of a fleet on the worst day of a period, for each item."""
    held = allocations.c
    query = select(held.item, held.count, held.period_from, held.period_to).where(
        held.tenant == tenant,
        held.fleet == fleet,
        held.reference != reference,
        held.period_from <= period.last,
        held.period_to >= period.first,
    )
    changes: dict[str, list[tuple[str, int, int]]] = {}
    for item, count, first, last in connection.execute(query):
        out = (max(first, period.first), 0, count)
        back = (last, 1, -count)  # after what goes out on that day: the last day counts in
        changes.setdefault(item, []).extend((out, back))
    return {item: max(accumulate(count for _, _, count in sorted(rows))) for item, rows in changes.items()}


def taken(database: Database, tenant: str, fleet: str, period: Period, reference: str) -> dict[str, int]:
    """The same, in a transaction of its own."""
    with database.reading() as connection:
        return held_by_others(connection, tenant, fleet, period, reference)


def present(database: Database, tenant: str, reference: str) -> Booking | None:
    """The newest revision."""
    with database.reading() as connection:
        return _newest(connection, tenant, reference)


def judge_booking(
    database: Database, tenant: str, reference: str, document: bytes, condition: Condition
) -> tuple[Booking | None, Done]:
    """What keeping this order would come to, before it is assessed. Raises `Changed` or `Unconditional`."""
    found = present(database, tenant, reference)
    return found, judge(condition, found.etag if found else None, same=found is not None and found.document == document)


def put_booking(
    database: Database, tenant: str, reference: str, wanted: Wanted, condition: Condition
) -> tuple[Booking, Done]:
    """Keep a revision and take its stock, all or nothing.

    Raises `Changed`, `Unconditional`, or `StockTaken` when what it takes is no longer free.
    """
    with database.writing() as connection:
        hold(connection, tenant, f"booking:{reference}")
        found = _newest(connection, tenant, reference)
        done = judge(
            condition, found.etag if found else None, same=found is not None and found.document == wanted.document
        )
        if done == "unchanged" and found is not None:
            return found, done
        connection.execute(
            delete(allocations).where(allocations.c.tenant == tenant, allocations.c.reference == reference)
        )
        if wanted.held:
            _take_stock(connection, tenant, reference, wanted)
        insert_record(connection, tenant, wanted.assessment)
        return _insert(connection, tenant, reference, wanted, found), done


def _take_stock(connection: Connection, tenant: str, reference: str, wanted: Wanted) -> None:
    hold(connection, tenant, f"stock:{wanted.fleet}")
    others = held_by_others(connection, tenant, wanted.fleet, wanted.period, reference)
    for item, count in wanted.held.items():
        if item in wanted.stock and count > wanted.stock[item] - others.get(item, 0):
            raise StockTaken(item)
    rows = [
        {
            "tenant": tenant,
            "reference": reference,
            "fleet": wanted.fleet,
            "item": item,
            "count": count,
            "period_from": wanted.period.first,
            "period_to": wanted.period.last,
        }
        for item, count in wanted.held.items()
    ]
    connection.execute(insert(allocations), rows)


def _insert(connection: Connection, tenant: str, reference: str, wanted: Wanted, found: Booking | None) -> Booking:
    revision = found.revision + 1 if found else 1
    booking = Booking(
        reference,
        revision,
        wanted.document,
        tag_of(reference, revision, wanted.document),
        wanted.assessment.digest,
        wanted.assessment.outcome,
        wanted.period,
        wanted.site,
        wanted.fleet,
        datetime.now(UTC),
    )
    here = and_(bookings.c.tenant == tenant, bookings.c.reference == reference)
    connection.execute(update(bookings).where(here).values(current=0))
    connection.execute(
        insert(bookings).values(
            tenant=tenant,
            reference=reference,
            revision=revision,
            document=booking.document,
            etag=booking.etag,
            digest=booking.digest,
            outcome=booking.outcome,
            period_from=booking.period.first,
            period_to=booking.period.last,
            site=booking.site,
            fleet=booking.fleet,
            current=1,
            created_at=booking.created_at,
        )
    )
    return booking


def get_booking(database: Database, tenant: str, reference: str, revision: int | None = None) -> Booking | None:
    """A revision of an order, the newest if none is named."""
    with database.reading() as connection:
        return _newest(connection, tenant, reference, revision)


class Filter(Struct, frozen=True):
    """Which bookings a list holds."""

    first: str = ""
    last: str = ""
    site: str = ""
    outcome: str = ""


def list_bookings(database: Database, tenant: str, wanted: Filter, after: tuple[str, str], size: int) -> list[Booking]:
    """Newest revisions by first day and reference, `size` of them beginning after `after`."""
    query = _listed(select(bookings), tenant, wanted)
    if after != ("", ""):
        first, reference = after
        query = query.where(
            or_(
                bookings.c.period_from > first,
                and_(bookings.c.period_from == first, bookings.c.reference > reference),
            )
        )
    with database.reading() as connection:
        return [_booking(row) for row in connection.execute(query.limit(size))]


def list_assessed(database: Database, tenant: str, wanted: Filter, size: int) -> list[tuple[str, bytes]]:
    """References and the inputs that were assessed of the newest revisions, in the same order."""
    query = _listed(select(bookings.c.reference, records.c.given), tenant, wanted)
    query = query.join(records, and_(records.c.tenant == bookings.c.tenant, records.c.digest == bookings.c.digest))
    with database.reading() as connection:
        return [(row.reference, row.given) for row in connection.execute(query.limit(size))]


def _listed(query: "Select[Any]", tenant: str, wanted: Filter) -> "Select[Any]":
    query = query.where(bookings.c.tenant == tenant, bookings.c.current == 1)
    if wanted.first:
        query = query.where(bookings.c.period_to >= wanted.first)
    if wanted.last:
        query = query.where(bookings.c.period_from <= wanted.last)
    if wanted.site:
        query = query.where(bookings.c.site == wanted.site)
    if wanted.outcome:
        query = query.where(bookings.c.outcome == wanted.outcome)
    return query.order_by(bookings.c.period_from, bookings.c.reference)


def _newest(connection: Connection, tenant: str, reference: str, revision: int | None = None) -> Booking | None:
    query = select(bookings).where(bookings.c.tenant == tenant, bookings.c.reference == reference)
    query = query.where(bookings.c.revision == revision) if revision else query.where(bookings.c.current == 1)
    row = connection.execute(query).first()
    return None if row is None else _booking(row)


def _booking(row: object) -> Booking:
    r = row._mapping  # type: ignore[attr-defined]
    return Booking(
        r["reference"],
        r["revision"],
        r["document"],
        r["etag"],
        r["digest"],
        r["outcome"],
        Period(r["period_from"], r["period_to"]),
        r["site"],
        r["fleet"],
        r["created_at"],
    )
