"""Schedules: when open bookings are looked at again by the clock, or because a forecast was put."""

from datetime import UTC, datetime, time, timedelta
from typing import Any

import msgspec
from msgspec import Struct
from sqlalchemy import Connection, Row, delete, func, insert, select, update

from coldwright.store.bookings.checks import want_checks_of
from coldwright.store.bookings.listing import Filter, references_of
from coldwright.store.conditions import Condition, Done, judge, tag_of
from coldwright.store.database import Database
from coldwright.store.events import add_event
from coldwright.store.locking import hold
from coldwright.store.schema import schedules

MOST = 100
"""Schedules of a tenant: all that go with a forecast run in the transaction that keeps it."""


class TooManySchedules(Exception):  # noqa: N818
    """The tenant has as many as it may."""


class Plan(Struct, frozen=True, omit_defaults=True):
    """What a schedule says."""

    daily_at: str = ""
    """Time of the day in UTC, `05:30`; empty: not by the clock."""
    forecast: str = ""
    """Whenever this forecast is put; empty: not with one."""
    site: str = ""
    fleet: str = ""
    state: str = ""
    machine_type: str = ""

    @property
    def filter(self) -> Filter:
        """The bookings that it is for."""
        return Filter(site=self.site, fleet=self.fleet, state=self.state, machine_type=self.machine_type)


class Schedule(Struct, frozen=True):
    """A schedule, and when it ran."""

    id: str
    plan: Plan
    etag: str
    next_at: datetime | None
    last_at: datetime | None
    last_count: int
    created_at: datetime


def put_schedule(
    database: Database, tenant: str, schedule: str, plan: Plan, condition: Condition
) -> tuple[Schedule, Done]:
    """Keep it; needs no condition. Raises `Changed` or `TooManySchedules`."""
    c = schedules.c
    with database.writing() as connection:
        hold(connection, tenant, f"schedule:{schedule}")
        before = _found(connection, tenant, schedule)
        unconditional = not condition.if_match and not condition.only_new
        judged = Condition(("*",)) if unconditional and before is not None else condition
        done = judge(judged, before.etag if before else None, same=before is not None and before.plan == plan)
        if done == "unchanged" and before is not None:
            return before, done
        if before is None:
            hold(connection, tenant, "schedules")
            if int(connection.scalar(select(func.count()).where(c.tenant == tenant)) or 0) >= MOST:
                raise TooManySchedules(f"There are {MOST} schedules already.")
        now, document = datetime.now(UTC), msgspec.json.encode(plan)
        values = {
            "document": document,
            "etag": tag_of(schedule, document, now.isoformat()),
            "forecast": plan.forecast,
            "next_at": next_run(plan, now),
        }
        here = (c.tenant == tenant, c.id == schedule)
        if not connection.execute(update(schedules).where(*here).values(**values)).rowcount:
            first = {"last_at": None, "last_count": 0, "created_at": now}
            connection.execute(insert(schedules).values(tenant=tenant, id=schedule, **values, **first))
        kept = _found(connection, tenant, schedule)
        assert kept is not None  # noqa: S101 - written above, in this transaction
        return kept, done


def next_run(plan: Plan, now: datetime) -> datetime | None:
    """The next time of the day after `now`."""
    if not plan.daily_at:
        return None
    at = datetime.combine(now.date(), time.fromisoformat(plan.daily_at), UTC)
    return at if at > now else at + timedelta(days=1)


def delete_schedule(database: Database, tenant: str, schedule: str) -> bool:
    """Forget it; returns whether it was there."""
    c = schedules.c
    with database.writing() as connection:
        return bool(connection.execute(delete(schedules).where(c.tenant == tenant, c.id == schedule)).rowcount)


def get_schedule(database: Database, tenant: str, schedule: str) -> Schedule | None:
    """The schedule."""
    with database.reading() as connection:
        return _found(connection, tenant, schedule)


def list_schedules(database: Database, tenant: str, after: str, size: int) -> list[Schedule]:
    """Schedules by id."""
    c = schedules.c
    query = select(schedules).where(c.tenant == tenant, c.id > after).order_by(c.id).limit(size)
    with database.reading() as connection:
        return [_schedule(row) for row in connection.execute(query)]


def run_due(database: Database, now: datetime) -> int:
    """Run what is due by the clock, once however many services look; returns how many ran.

    What was missed while no service was up runs once.
    """
    c, ran = schedules.c, 0
    with database.reading() as connection:
        due = connection.execute(select(schedules).where(c.next_at <= now).order_by(c.next_at).limit(100)).all()
    for row in due:
        schedule = _schedule(row)
        with database.writing() as connection:
            here = (c.tenant == row.tenant, c.id == row.id, c.next_at == row.next_at)
            later = update(schedules).where(*here).values(next_at=next_run(schedule.plan, now))
            if connection.execute(later).rowcount:
                _run(connection, row.tenant, schedule, now)
                ran += 1
    return ran


def run_with_forecast(connection: Connection, tenant: str, forecast: str) -> None:
    """Run those that go with a forecast, inside the transaction that keeps it."""
    c = schedules.c
    for row in connection.execute(select(schedules).where(c.tenant == tenant, c.forecast == forecast)).all():
        _run(connection, tenant, _schedule(row), datetime.now(UTC))


def _run(connection: Connection, tenant: str, schedule: Schedule, now: datetime) -> None:
    references = references_of(connection, tenant, schedule.plan.filter)
    count = want_checks_of(connection, tenant, references)
    c = schedules.c
    here = (c.tenant == tenant, c.id == schedule.id)
    connection.execute(update(schedules).where(*here).values(last_at=now, last_count=count))
    add_event(connection, tenant, "schedule.ran", schedule.id, {"schedule": schedule.id, "bookings": count})


def _found(connection: Connection, tenant: str, schedule: str) -> Schedule | None:
    c = schedules.c
    row = connection.execute(select(schedules).where(c.tenant == tenant, c.id == schedule)).first()
    return None if row is None else _schedule(row)


def _schedule(row: Row[Any]) -> Schedule:
    r = row._mapping
    plan = msgspec.json.decode(r["document"], type=Plan)
    return Schedule(r["id"], plan, r["etag"], r["next_at"], r["last_at"], r["last_count"], r["created_at"])
