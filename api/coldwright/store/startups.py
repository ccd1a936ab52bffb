"""Start-ups: one machine on one site, with every configuration that it had."""

import hashlib
from datetime import UTC, datetime
from typing import Any

from msgspec import Struct
from sqlalchemy import ColumnElement, Connection, func, insert, or_, select, update

from coldwright.store.conditions import Condition, Done, judge, tag_of
from coldwright.store.database import Database
from coldwright.store.events import add_event
from coldwright.store.locking import hold
from coldwright.store.schema import configurations, startups
from coldwright.store.shared_starts import note_names, note_shared

ENDED = "ended"
"""The state of a start that is over: its machine may have a new one."""
NOTHING_LOOSENED = b"[]"
NEVER = -1
"""In place of a number of observations: the state is not that of the present document."""


class Startup(Struct, frozen=True):
    """The start-up itself."""

    id: str
    document: bytes
    etag: str
    created_at: datetime
    booking: str = ""
    machine: str = ""
    """Folded: see `machine_key`."""
    state: str = ""
    """What the newest verdict said; empty before the first."""
    state_of: int = NEVER
    """On how many observations that rested."""
    carries: bytes = b""
    """JSON of the records that go along into the next start of the machine; empty before the first verdict."""
    changed_at: datetime | None = None
    """When the document changed last, or anything arrived that its verdict rests on."""
    state_until: datetime | None = None
    """Until when it says so though nothing arrives; nothing where that is for ever."""
    stops: str = ""
    """What that verdict stopped, and why; empty where it stopped nothing."""
    rests_on: str = ""
    """What stands for the rules by which all that was concluded; empty where that is not known."""

    def concluded_by(self, rests_on: str) -> bool:
        """Whether what was concluded is that of the present document and records, by these rules."""
        return self.state_of != NEVER and self.rests_on == rests_on


class Change(Struct, frozen=True):
    """What is kept beside a document: what the list asks for, and who changed the configuration and why."""

    booking: str = ""
    machine: str = ""
    configuration: bytes = b""
    loosened: bytes = NOTHING_LOOSENED
    person: str = ""
    reason: str = ""
    caller: str = ""
    changed_at: datetime | None = None
    names: tuple[str, ...] = ()
    """Names that it shares with other starts: of its source and its loop."""


class KeptConfiguration(Struct, frozen=True):
    """A configuration that a start-up had from `changed_at` on."""

    version: int
    document: bytes
    digest: str
    loosened: bytes
    person: str
    reason: str
    caller: str
    changed_at: datetime


class Wanted(Struct, frozen=True):
    """Which start-ups a list is to hold; what is empty is not asked for."""

    booking: str = ""
    machine: str = ""


class NoSuchStartup(LookupError):  # noqa: N818
    """There is none of that id."""


def machine_key(name: str) -> str:
    """One spelling for a machine: two phones write its name in capitals or not."""
    return " ".join(name.casefold().split())[:200]


def digest_of(configuration: bytes) -> str:
    """SHA-256 of a configuration."""
    return hashlib.sha256(configuration).hexdigest()


def put_startup(
    database: Database,
    tenant: str,
    startup_id: str,
    document: bytes,
    condition: Condition,
    change: Change = Change(),  # noqa: B008 - frozen
) -> tuple[Startup, Done]:
    """Make or change a start-up. Raises `Changed` or `Unconditional`."""
    now = change.changed_at or datetime.now(UTC)
    with database.writing() as connection:
        hold(connection, tenant, f"startup:{startup_id}")
        found = startup_in(connection, tenant, startup_id)
        done = judge(condition, found.etag if found else None, same=found is not None and found.document == document)
        if done == "unchanged" and found is not None:
            return found, done
        machine = machine_key(change.machine)
        etag = tag_of(startup_id, document)
        values = {
            "document": document,
            "etag": etag,
            "booking": change.booking,
            "machine": machine,
            "changed_at": now,
            "state_of": NEVER,
        }
        if found is None:
            connection.execute(
                insert(startups).values(
                    tenant=tenant, id=startup_id, created_at=now, state="", stops="", carries=b"", rests_on="", **values
                )
            )
        else:
            connection.execute(update(startups).where(*_of(tenant, startup_id)).values(**values))
        _keep_configuration(connection, tenant, startup_id, change, now)
        note_names(connection, tenant, startup_id, change.names, now)
        _look_again_after(connection, tenant, {machine, found.machine if found else ""}, now)
        created = found.created_at if found else now
        state, stops = (found.state, found.stops) if found else ("", "")
        return Startup(
            startup_id, document, etag, created, change.booking, machine, state, NEVER, b"", now, None, stops
        ), done


def _look_again_after(connection: Connection, tenant: str, machines: set[str], now: datetime) -> None:
    """What the starts of a machine take along may be something else now."""
    connection.execute(
        update(startups)
        .where(startups.c.tenant == tenant, startups.c.machine.in_(machines - {""}))
        .values(state_of=NEVER, changed_at=now)
    )


def _keep_configuration(connection: Connection, tenant: str, startup_id: str, change: Change, now: datetime) -> None:
    here = (configurations.c.tenant == tenant) & (configurations.c.startup == startup_id)
    newest = connection.execute(
        select(configurations.c.version, configurations.c.document)
        .where(here)
        .order_by(configurations.c.version.desc())
        .limit(1)
    ).first()
    if newest is not None and newest.document == change.configuration and change.loosened == NOTHING_LOOSENED:
        return
    connection.execute(
        insert(configurations).values(
            tenant=tenant,
            startup=startup_id,
            version=(newest.version if newest else 0) + 1,
            document=change.configuration,
            digest=digest_of(change.configuration),
            loosened=change.loosened,
            person=change.person,
            reason=change.reason,
            caller=change.caller,
            changed_at=now,
        )
    )


def get_startup(database: Database, tenant: str, startup_id: str) -> Startup | None:
    """The start-up of that id."""
    with database.reading() as connection:
        return startup_in(connection, tenant, startup_id)


def list_startups(database: Database, tenant: str, wanted: Wanted, after: str, size: int) -> list[Startup]:
    """Start-ups by their id, beginning after `after`."""
    query = select(startups).where(startups.c.tenant == tenant, startups.c.id > after)
    if wanted.booking:
        query = query.where(startups.c.booking == wanted.booking)
    if wanted.machine:
        query = query.where(startups.c.machine == machine_key(wanted.machine))
    with database.reading() as connection:
        return [_startup(row) for row in connection.execute(query.order_by(startups.c.id).limit(size))]


class Noted(Struct, frozen=True):
    """What the newest verdict on a start-up said."""

    state: str
    of: int
    until: datetime | None
    carries: bytes
    rests_on: str
    """What stands for the rules by which it was concluded."""
    stops: str = ""
    """Canonical text of what is stopped and why: another text is another stop."""
    compressors: tuple[str, ...] = ()
    """Those to be stopped."""
    said: dict[str, bytes] = {}
    """Shared name -> JSON of the records that speak against the other starts of it."""


def noted_of(startup: Startup) -> Noted:
    """What was noted with a start-up when it was read."""
    return Noted(startup.state, startup.state_of, startup.state_until, startup.carries, startup.rests_on, startup.stops)


def note_state(database: Database, tenant: str, startup: Startup, noted: Noted) -> None:
    """Keep what a verdict said, unless something has changed since the start-up was read; report what is new in it."""
    with database.writing() as connection:
        hold(connection, tenant, f"startup:{startup.id}")
        before = startup_in(connection, tenant, startup.id)
        if before is None or before.changed_at != startup.changed_at:
            return
        connection.execute(
            update(startups)
            .where(*_of(tenant, startup.id))
            .values(
                state=noted.state,
                state_of=noted.of,
                state_until=noted.until,
                carries=noted.carries,
                rests_on=noted.rests_on,
                stops=noted.stops,
            )
        )
        note_shared(connection, tenant, startup.id, noted.said, datetime.now(UTC))
        _report_what_is_new(connection, tenant, before, noted)


def _report_what_is_new(connection: Connection, tenant: str, before: Startup, noted: Noted) -> None:
    """Last in the transaction: an event makes the tenant's other writers wait."""
    body: dict[str, Any] = {"startup": before.id, "status": noted.state}
    if before.booking:
        body["reference"] = before.booking
    if noted.compressors:
        body["compressors"] = noted.compressors
    if noted.state != before.state:
        was = {"was": before.state} if before.state else {}
        add_event(connection, tenant, "startup.status", before.id, body | was)
    if noted.stops and noted.stops != before.stops:
        add_event(connection, tenant, "startup.stop_now", before.id, body)


def due_startups(database: Database, now: datetime, size: int) -> list[tuple[str, str]]:
    """Tenant and id of starts whose noted state does not hold any more, those that changed first before the others."""
    c = startups.c
    query = select(c.tenant, c.id).where(or_(c.state_of == NEVER, c.state_until <= now))
    with database.reading() as connection:
        rows = connection.execute(query.order_by(c.changed_at, c.tenant, c.id).limit(size))
        return [(row.tenant, row.id) for row in rows]


def concluded_otherwise(database: Database, rests_on: str, size: int) -> list[tuple[str, str]]:
    """Tenant and id of starts of which other rules concluded what is noted, those that changed last before the others."""
    c = startups.c
    query = select(c.tenant, c.id).where(c.state_of != NEVER, c.rests_on != rests_on)
    with database.reading() as connection:
        rows = connection.execute(query.order_by(c.changed_at.desc(), c.tenant, c.id).limit(size))
        return [(row.tenant, row.id) for row in rows]


class OfBooking(Struct, frozen=True):
    """A start of a booking."""

    id: str
    document: bytes
    state: str
    """As noted last; empty before the first verdict."""


def starts_of_booking(connection: Connection, tenant: str, reference: str, most: int) -> list[OfBooking]:
    """The newest starts of a booking, by their id."""
    c = startups.c
    query = select(c.id, c.document, c.state).where(c.tenant == tenant, c.booking == reference)
    rows = connection.execute(query.order_by(c.created_at.desc(), c.id).limit(most))
    return sorted((OfBooking(r.id, r.document, r.state) for r in rows), key=lambda one: one.id)


def list_configurations(
    database: Database, tenant: str, startup_id: str, after: int = 0, size: int | None = None
) -> list[KeptConfiguration]:
    """Every configuration of a start-up, in order, beginning after the version `after`."""
    query = (
        select(configurations)
        .where(
            configurations.c.tenant == tenant,
            configurations.c.startup == startup_id,
            configurations.c.version > after,
        )
        .order_by(configurations.c.version)
    )
    with database.reading() as connection:
        return [_configuration(row) for row in connection.execute(query.limit(size) if size else query)]


def loosened_since(
    database: Database, tenant: str, startup_id: str, until: datetime | None = None
) -> list[tuple[datetime, bytes]]:
    """When a start-up that was open already was loosened or made another, and in what; up to `until`, that included."""
    c = configurations.c
    query = select(c.changed_at, c.loosened).where(
        c.tenant == tenant, c.startup == startup_id, c.version > 1, c.loosened != NOTHING_LOOSENED
    )
    if until is not None:
        query = query.where(c.changed_at <= until)
    with database.reading() as connection:
        return [(row.changed_at, row.loosened) for row in connection.execute(query.order_by(c.version))]


def configuration_at(database: Database, tenant: str, startup_id: str, moment: datetime) -> KeptConfiguration | None:
    """The configuration that was in force at a moment; nothing before the start-up was opened."""
    query = (
        select(configurations)
        .where(
            configurations.c.tenant == tenant,
            configurations.c.startup == startup_id,
            configurations.c.changed_at <= moment,
        )
        .order_by(configurations.c.version.desc())
        .limit(1)
    )
    with database.reading() as connection:
        row = connection.execute(query).first()
        return None if row is None else _configuration(row)


def startup_in(connection: Connection, tenant: str, startup_id: str) -> Startup | None:
    """The start-up of that id, inside a transaction."""
    row = connection.execute(select(startups).where(*_of(tenant, startup_id))).first()
    return None if row is None else _startup(row)


def starts_before(database: Database, tenant: str, startup: Startup) -> list[Startup]:
    """Starts of the same machine that were opened before this one, the oldest first."""
    return _of_machine(database, tenant, startup, startups.c.created_at < startup.created_at)[::-1]


def start_before(database: Database, tenant: str, startup: Startup) -> Startup | None:
    """The newest of them: what it leaves is what all of them leave."""
    before = _of_machine(database, tenant, startup, startups.c.created_at < startup.created_at, 1)
    return before[0] if before else None


def newest_of_machines(database: Database, tenant: str) -> dict[str, datetime]:
    """When the newest start of each machine was opened."""
    query = (
        select(startups.c.machine, func.max(startups.c.created_at).label("newest"))
        .where(startups.c.tenant == tenant, startups.c.machine != "")
        .group_by(startups.c.machine)
    )
    with database.reading() as connection:
        return {row.machine: row.newest for row in connection.execute(query)}


def start_after(database: Database, tenant: str, startup: Startup) -> Startup | None:
    """The newest start of the same machine, where it is newer than this: it is the one that counts."""
    after = _of_machine(database, tenant, startup, startups.c.created_at > startup.created_at, 1)
    return after[0] if after else None


def _of_machine(
    database: Database, tenant: str, startup: Startup, when: ColumnElement[bool], most: int | None = None
) -> list[Startup]:
    """The newest first."""
    if not startup.machine:
        return []
    query = select(startups).where(startups.c.tenant == tenant, startups.c.machine == startup.machine, when)
    query = query.order_by(startups.c.created_at.desc(), startups.c.id.desc())
    with database.reading() as connection:
        return [_startup(row) for row in connection.execute(query.limit(most) if most else query)]


def _of(tenant: str, startup_id: str) -> tuple[Any, Any]:
    return startups.c.tenant == tenant, startups.c.id == startup_id


def _startup(row: Any) -> Startup:
    return Startup(
        row.id,
        row.document,
        row.etag,
        row.created_at,
        row.booking,
        row.machine,
        row.state,
        row.state_of,
        row.carries,
        row.changed_at,
        row.state_until,
        row.stops,
        row.rests_on,
    )


def _configuration(row: Any) -> KeptConfiguration:
    return KeptConfiguration(
        row.version,
        row.document,
        row.digest,
        row.loosened,
        row.person,
        row.reason,
        row.caller,
        row.changed_at,
    )
