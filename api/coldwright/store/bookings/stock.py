"""What is free of a fleet: counted by day, from what bookings hold and from machines that are out of service."""

from collections.abc import Iterable, Mapping
from datetime import UTC, date, datetime, timedelta
from itertools import accumulate
from typing import Any

from msgspec import Struct
from sqlalchemy import Connection, and_, delete, exists, func, insert, or_, select, update

from coldwright.store.bookings.booking import HOLDING, Head, Period, State, StockTaken, Taking
from coldwright.store.database import Database
from coldwright.store.locking import hold
from coldwright.store.schema import allocations, assignments, booking_heads, fleet_machines

NO_END = "9999-12-31"


class Holding(Struct, frozen=True):
    """Some of one item, kept from others from a first to a last day."""

    item: str
    count: int
    first: str
    last: str
    reference: str
    """The booking that holds it; empty: a machine out of service."""
    serial: str = ""


def later(day: str, days: int) -> str:
    """The ISO date so many days later, never past the last that there is."""
    try:
        return (date.fromisoformat(day) + timedelta(days=days)).isoformat()
    except OverflowError:
        return NO_END


def today() -> str:
    """The day it is, in UTC."""
    return datetime.now(UTC).date().isoformat()


def holdings(
    connection: Connection, tenant: str, fleet: str, period: Period, *, but: str = "", before: str = ""
) -> list[Holding]:
    """What is held of a fleet in a period: by bookings other than `but` (with less `precedence` than `before`, where
    one is given), and by machines out of service. A hold that lapsed holds nothing; what is on hire and late stays out.
    """
    c, now, day = allocations.c, datetime.now(UTC), today()
    late = [c.out == 1] if period.first <= day else []
    query = select(c.item, c["count"].label("taken"), c.period_from, c.blocked_to, c.out, c.reference).where(
        c.tenant == tenant,
        c.fleet == fleet,
        c.period_from <= period.last,
        or_(c.blocked_to >= period.first, *late),
        or_(c.until.is_(None), c.until > now),
    )
    if but:
        query = query.where(c.reference != but)
    if before:
        query = query.where(c.precedence < before)
    found = [
        Holding(r.item, r.taken, r.period_from, max(r.blocked_to, day) if r.out else r.blocked_to, r.reference)
        for r in connection.execute(query)
    ]
    return found + out_of_service(connection, tenant, fleet, period)


def out_of_service(connection: Connection, tenant: str, fleet: str, period: Period) -> list[Holding]:
    """Machines of a fleet that are out of service in a period."""
    m = fleet_machines.c
    query = select(m.serial, m.type, m.since, m.until).where(
        m.tenant == tenant,
        m.fleet == fleet,
        m.state == "out_of_service",
        m.since <= period.last,
        or_(m.until == "", m.until >= period.first),
    )
    return [
        Holding(f"machine:{r.type}", 1, r.since, r.until or NO_END, "", r.serial) for r in connection.execute(query)
    ]


def worst(held: Iterable[Holding], period: Period, turnaround: Mapping[str, int] | None = None) -> dict[str, int]:
    """The most that is held of each item on any day of a period, which lasts longer by an item's turnaround."""
    changes: dict[str, list[tuple[str, int, int]]] = {}
    for h in held:
        end = later(period.last, (turnaround or {}).get(h.item, 0))
        if h.first > end or h.last < period.first:
            continue
        back = (min(h.last, end), 1, -h.count)  # after what goes out on that day: the last day counts in
        changes.setdefault(h.item, []).extend(((max(h.first, period.first), 0, h.count), back))
    return {item: max(accumulate(count for _, _, count in sorted(rows))) for item, rows in changes.items()}


def taken(
    database: Database,
    tenant: str,
    fleet: str,
    period: Period,
    reference: str,
    turnaround: Mapping[str, int] | None = None,
    before: str = "",
) -> dict[str, int]:
    """What others than `reference` hold of a fleet on the worst day of a period, for each item."""
    with database.reading() as connection:
        return held_by_others(connection, tenant, fleet, period, reference, turnaround, before)


def held_by_others(
    connection: Connection,
    tenant: str,
    fleet: str,
    period: Period,
    reference: str,
    turnaround: Mapping[str, int] | None = None,
    before: str = "",
) -> dict[str, int]:
    """The same inside a transaction."""
    longest = Period(period.first, later(period.last, max((turnaround or {}).values(), default=0)))
    found = holdings(connection, tenant, fleet, longest, but=reference, before=before)
    return worst(found, period, turnaround)


def precedence_of(state: State, created_at: datetime, reference: str) -> str:
    """Who keeps its stock when there is too little: on hire, confirmed, held, then whoever was first."""
    return f"{9 - HOLDING.index(state)} {created_at.astimezone(UTC).isoformat()} {reference}"


def take(connection: Connection, tenant: str, head: Head, taking: Taking, state: State) -> None:
    """Hold what a plan takes, in place of what its booking held; raises `StockTaken` where it is no longer free.

    What is on hire is on its site whatever becomes of the plan: it stays held until it is returned.
    """
    out = {r.item: int(r.taken) for r in held_by(connection, tenant, head.reference)} if state == "on_hire" else {}
    connection.execute(
        delete(allocations).where(allocations.c.tenant == tenant, allocations.c.reference == head.reference)
    )
    held = {item: max(out.get(item, 0), taking.held.get(item, 0)) for item in [*out, *taking.held]}
    if not held:
        return
    hold(connection, tenant, f"stock:{head.fleet}")
    others = held_by_others(connection, tenant, head.fleet, head.period, head.reference, taking.turnaround)
    for item, count in held.items():
        if count > out.get(item, 0) and item in taking.stock and count > taking.stock[item] - others.get(item, 0):
            raise StockTaken(item)
    first = min(head.period.first, today()) if state == "on_hire" else head.period.first  # it may have left early
    connection.execute(
        insert(allocations),
        [
            {
                "tenant": tenant,
                "reference": head.reference,
                "fleet": head.fleet,
                "item": item,
                "count": count,
                "period_from": first,
                "period_to": head.period.last,
                "blocked_to": later(head.period.last, taking.turnaround.get(item, 0)),
                "out": int(state == "on_hire"),
                "precedence": precedence_of(state, head.created_at, head.reference),
                "until": head.held_until if state == "held" else None,
            }
            for item, count in held.items()
        ],
    )


def give_back(connection: Connection, tenant: str, reference: str) -> None:
    """Let go of all that a booking holds, serial numbers too."""
    for table in (allocations, assignments):
        connection.execute(delete(table).where(table.c.tenant == tenant, table.c.reference == reference))


def held_by(connection: Connection, tenant: str, reference: str) -> list[Any]:
    """The rows that a booking holds; `taken` is their count."""
    c = allocations.c
    query = select(allocations, c["count"].label("taken")).where(c.tenant == tenant, c.reference == reference)
    return list(connection.execute(query))


def keep(connection: Connection, tenant: str, reference: str, **changed: Any) -> None:
    """Change the rows that a booking holds, as a whole."""
    c = allocations.c
    connection.execute(update(allocations).where(c.tenant == tenant, c.reference == reference).values(**changed))


def shorten(connection: Connection, tenant: str, reference: str, last: str) -> None:
    """A hire that came back on its `last` day: kept from others for the days of turnaround after it."""
    c, blocked_to = allocations.c, dict[str, str]()
    for row in held_by(connection, tenant, reference):
        days = (date.fromisoformat(row.blocked_to) - date.fromisoformat(row.period_to)).days
        blocked_to[row.item] = later(last, days)
        here = and_(c.tenant == tenant, c.reference == reference, c.item == row.item)
        changed = {"period_to": last, "blocked_to": blocked_to[row.item], "out": 0}
        connection.execute(update(allocations).where(here).values(**changed))
    a = assignments.c
    for row in connection.execute(select(assignments).where(a.tenant == tenant, a.reference == reference)).all():
        here = and_(a.tenant == tenant, a.reference == reference, a.serial == row.serial)
        kept = blocked_to.get(f"machine:{row.type}", last)
        connection.execute(
            update(assignments).where(here).values(blocked_to=kept, period_from=min(row.period_from, last))
        )


def give_up_what_is_out(connection: Connection, tenant: str, head: Head) -> None:
    """Let go of serial numbers that a booking was to have and that have not come back from another one's hire."""
    a, other, h = assignments.c, assignments.alias(), booking_heads.c
    out = (
        select(other.c.serial)
        .join(booking_heads, (h.tenant == other.c.tenant) & (h.reference == other.c.reference))
        .where(
            other.c.tenant == tenant,
            other.c.fleet == head.fleet,
            other.c.reference != head.reference,
            h.state == "on_hire",
        )
    )
    connection.execute(delete(assignments).where(a.tenant == tenant, a.reference == head.reference, a.serial.in_(out)))


def assign(connection: Connection, tenant: str, head: Head) -> tuple[str, ...]:
    """Serial numbers for the machines that a booking holds: those it has as far as they will do, then free ones.

    A type with fewer machines by serial number than are wanted gets what there is. What is on hire keeps those that went
    out, be they broken meanwhile: they stand on the site.
    """
    a, m = assignments.c, fleet_machines.c
    rows = [r for r in held_by(connection, tenant, head.reference) if r.item.startswith("machine:")]
    mine = {serial: kind for kind, serial in serials_of(connection, tenant, head.reference)}
    connection.execute(delete(assignments).where(a.tenant == tenant, a.reference == head.reference))
    chosen: list[dict[str, Any]] = []
    for row in rows:
        kind, period = row.item.removeprefix("machine:"), Period(row.period_from, row.blocked_to)
        out = {h.serial for h in out_of_service(connection, tenant, head.fleet, period)}
        busy = _serials_away(tenant, head.fleet, period)
        there = select(m.serial).where(m.tenant == tenant, m.fleet == head.fleet, m.type == kind, m.serial.not_in(busy))
        free = {r.serial for r in connection.execute(there) if r.serial not in out}
        if head.stored_state == "on_hire":
            free |= {serial for serial, its in mine.items() if its == kind}
        found = sorted(free, key=lambda s: (s not in mine, s))
        chosen += [
            {
                "tenant": tenant,
                "reference": head.reference,
                "fleet": head.fleet,
                "serial": serial,
                "type": kind,
                "period_from": period.first,
                "blocked_to": period.last,
            }
            for serial in found[: row.taken]
        ]
    if chosen:
        connection.execute(insert(assignments), chosen)
    return tuple(sorted(c["serial"] for c in chosen))


def _serials_away(tenant: str, fleet: str, period: Period) -> Any:
    """Serial numbers that other bookings have in a period; what is on hire and late is away today too."""
    a, h = assignments.c, booking_heads.c
    late = exists().where(h.tenant == a.tenant, h.reference == a.reference, h.state == "on_hire")
    until = a.blocked_to >= period.first if period.first > today() else or_(a.blocked_to >= period.first, late)
    return select(a.serial).where(a.tenant == tenant, a.fleet == fleet, a.period_from <= period.last, until)


def serials_of(connection: Connection, tenant: str, reference: str) -> list[tuple[str, str]]:
    """Type and serial number of the machines that a booking was assigned."""
    a = assignments.c
    query = select(a.type, a.serial).where(a.tenant == tenant, a.reference == reference)
    return [(r.type, r.serial) for r in connection.execute(query.order_by(a.type, a.serial))]


def count_of_serials(connection: Connection, tenant: str, fleet: str, kind: str) -> int:
    """How many machines of a type a fleet names by serial number."""
    m = fleet_machines.c
    query = select(func.count()).where(m.tenant == tenant, m.fleet == fleet, m.type == kind)
    return int(connection.scalar(query) or 0)
