"""Machines of a fleet by serial number, and whether they are in service."""

from datetime import UTC, datetime
from typing import Any, Literal

from msgspec import Struct
from sqlalchemy import Connection, Row, delete, insert, or_, select, update

from coldwright.store.bookings.checks import want_checks
from coldwright.store.bookings.keep import as_head, assign_anew
from coldwright.store.bookings.stock import count_of_serials, today
from coldwright.store.conditions import Condition, Done, judge, tag_of
from coldwright.store.database import Database
from coldwright.store.events import add_event
from coldwright.store.locking import hold
from coldwright.store.schema import assignments, booking_heads, fleet_machines

MachineState = Literal["in_service", "out_of_service"]


class Machine(Struct, frozen=True):
    """One machine of a fleet."""

    serial: str
    type: str
    state: MachineState
    note: str = ""
    since: str = ""
    """First day out of service."""
    until: str = ""
    """Last day out of service; empty: not known."""
    etag: str = ""
    updated_at: datetime | None = None


class TooManyMachines(Exception):  # noqa: N818
    """The fleet counts fewer machines of this type than it would then name by serial number."""


def put_machine(
    database: Database, tenant: str, fleet: str, machine: Machine, counted: int, condition: Condition
) -> tuple[Machine, Done]:
    """Keep what is known of a machine; bookings of the fleet are looked at again where its state changed.

    Unlike a document of many fields it needs no `If-Match`: whoever finds a machine broken says so at once.
    `counted` is how many of its type the fleet has. Raises `Changed` or `TooManyMachines`.
    """
    m = fleet_machines.c
    here = (m.tenant == tenant, m.fleet == fleet, m.serial == machine.serial)
    with database.writing() as connection:
        hold(connection, tenant, f"stock:{fleet}")
        before = _found(connection, tenant, fleet, machine.serial)
        same = before is not None and _content(before) == _content(machine)
        unconditional = not condition.if_match and not condition.only_new
        judged = Condition(("*",)) if unconditional and before is not None else condition
        done = judge(judged, before.etag if before else None, same=same)
        if done == "unchanged" and before is not None:
            return before, done
        others = count_of_serials(connection, tenant, fleet, machine.type)
        if (before is None or before.type != machine.type) and others >= counted:
            raise TooManyMachines(str(others))
        now = datetime.now(UTC)
        values = {
            "type": machine.type,
            "state": machine.state,
            "note": machine.note,
            "since": machine.since,
            "until": machine.until,
            "etag": tag_of(fleet, *_content(machine), now.isoformat()),
            "updated_at": now,
        }
        if before is None:
            connection.execute(
                insert(fleet_machines).values(tenant=tenant, fleet=fleet, serial=machine.serial, **values)
            )
        else:
            connection.execute(update(fleet_machines).where(*here).values(**values))
        if before is not None:
            _assign_others(connection, tenant, fleet, machine.serial)
        want_checks(connection, tenant, fleet)
        if (before.state if before else "in_service") != machine.state:
            facts = {"fleet": fleet, "serial": machine.serial, "type": machine.type, "state": machine.state}
            add_event(connection, tenant, "machine.state", machine.serial, facts)
        kept = _found(connection, tenant, fleet, machine.serial)
        assert kept is not None  # noqa: S101 - written above, in this transaction
        return kept, done


def _assign_others(connection: Connection, tenant: str, fleet: str, serial: str) -> None:
    """Confirmed bookings that were to have this machine get another where it will not do any more, and say so.

    One that is on hire keeps it: it stands there, and the check of its booking reports it.
    """
    a, h = assignments.c, booking_heads.c
    query = (
        select(booking_heads)
        .join(assignments, (a.tenant == h.tenant) & (a.reference == h.reference))
        .where(
            h.tenant == tenant, a.fleet == fleet, a.serial == serial, h.state == "confirmed", a.blocked_to >= today()
        )
        .order_by(h.created_at, h.reference)
    )
    for head in [as_head(row) for row in connection.execute(query).all()]:
        assign_anew(connection, tenant, head)


def out_with(
    database: Database, tenant: str, fleet: str, reference: str, first: str, last: str
) -> list[tuple[str, str]]:
    """Serial number and note of the machines assigned to a booking that are out of service in a period."""
    a, m = assignments.c, fleet_machines.c
    query = (
        select(m.serial, m.note)
        .join(assignments, (a.tenant == m.tenant) & (a.fleet == m.fleet) & (a.serial == m.serial))
        .where(
            a.tenant == tenant,
            a.fleet == fleet,
            a.reference == reference,
            m.state == "out_of_service",
            m.since <= last,
            or_(m.until == "", m.until >= first),
        )
        .order_by(m.serial)
    )
    with database.reading() as connection:
        return [(row.serial, row.note) for row in connection.execute(query)]


def _content(machine: Machine) -> tuple[str, ...]:
    return (machine.serial, machine.type, machine.state, machine.note, machine.since, machine.until)


def delete_machine(database: Database, tenant: str, fleet: str, serial: str) -> bool:
    """Forget a machine; returns whether there was one. What it is assigned to is looked at again."""
    m = fleet_machines.c
    with database.writing() as connection:
        hold(connection, tenant, f"stock:{fleet}")
        here = (m.tenant == tenant, m.fleet == fleet, m.serial == serial)
        if not connection.execute(delete(fleet_machines).where(*here)).rowcount:
            return False
        _assign_others(connection, tenant, fleet, serial)
        want_checks(connection, tenant, fleet)
        return True


def get_machine(database: Database, tenant: str, fleet: str, serial: str) -> Machine | None:
    """What is known of a machine."""
    with database.reading() as connection:
        return _found(connection, tenant, fleet, serial)


def list_machines(database: Database, tenant: str, fleet: str, after: str, size: int) -> list[Machine]:
    """Machines of a fleet by serial number, `size` of them beginning after `after`."""
    m = fleet_machines.c
    query = select(fleet_machines).where(m.tenant == tenant, m.fleet == fleet, m.serial > after)
    with database.reading() as connection:
        return [_machine(row) for row in connection.execute(query.order_by(m.serial).limit(size))]


def bookings_of(database: Database, tenant: str, fleet: str, serial: str) -> list[str]:
    """References of the bookings that a machine is assigned to."""
    a = assignments.c
    query = select(a.reference).where(a.tenant == tenant, a.fleet == fleet, a.serial == serial, a.blocked_to >= today())
    with database.reading() as connection:
        return [row.reference for row in connection.execute(query.order_by(a.period_from, a.reference))]


def _found(connection: Connection, tenant: str, fleet: str, serial: str) -> Machine | None:
    m = fleet_machines.c
    query = select(fleet_machines).where(m.tenant == tenant, m.fleet == fleet, m.serial == serial)
    row = connection.execute(query).first()
    return None if row is None else _machine(row)


def _machine(row: Row[Any]) -> Machine:
    r = row._mapping
    return Machine(r["serial"], r["type"], r["state"], r["note"], r["since"], r["until"], r["etag"], r["updated_at"])
