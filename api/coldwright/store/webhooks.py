"""Addresses that events are sent to: kept with their secrets, and with what is still on its way to each."""

import base64
import secrets
from collections import Counter
from collections.abc import Iterable, Mapping
from datetime import UTC, datetime, timedelta
from typing import Any

import msgspec
from msgspec import Struct
from sqlalchemy import Connection, Row, delete, func, insert, select, update

from coldwright.store.conditions import Condition, Done, judge, tag_of
from coldwright.store.database import Database
from coldwright.store.events import Event
from coldwright.store.locking import hold
from coldwright.store.schema import deliveries, events, webhooks

OLD_SECRET_FOR = timedelta(days=1)
"""How long the secret before still signs beside the new one."""
CLAIMED_FOR = timedelta(seconds=60)
"""A delivery that was taken up and not settled by then is taken up again: its process died."""
QUEUED_AT_A_TIME = 500
KEPT_FOR = timedelta(days=30)
MOST = 50
"""Webhooks of a tenant: every event is written once for each, and meanwhile no other tenant's is."""


class TooMany(Exception):  # noqa: N818
    """The tenant has as many as it may."""


class Secret(Struct, frozen=True):
    """Bytes that sign, and until when."""

    value: str
    until: datetime | None = None


class Webhook(Struct, frozen=True):
    """An address that events are sent to."""

    id: str
    url: str
    kinds: tuple[str, ...]
    """Kinds of event that are sent; none: all."""
    state: str
    """`enabled`, or `disabled` since the receiver said that it is gone."""
    why: str
    secrets: tuple[Secret, ...]
    etag: str
    created_at: datetime

    def signing(self, now: datetime) -> tuple[str, ...]:
        """The secrets that sign now, the newest first."""
        return tuple(s.value for s in self.secrets if s.until is None or s.until > now)


class Delivery(Struct, frozen=True):
    """An event on its way."""

    tenant: str
    webhook: Webhook
    event: Event
    attempts: int
    happened_at: datetime


class Sent(Struct, frozen=True):
    """What became of an event's delivery."""

    number: int
    kind: str
    state: str
    attempts: int
    said: str
    next_at: datetime


def new_secret() -> str:
    """A secret as receivers keep it: `whsec_` and 32 random bytes in base64."""
    return f"whsec_{base64.b64encode(secrets.token_bytes(32)).decode()}"


def put_webhook(
    database: Database, tenant: str, id_: str, url: str, kinds: tuple[str, ...], condition: Condition
) -> tuple[Webhook, Done]:
    """Keep an address; a new one begins with what happens from now on. Raises `Changed`, `Unconditional` or `TooMany`."""
    w, e = webhooks.c, events.c
    with database.writing() as connection:
        hold(connection, tenant, f"webhook:{id_}")
        before = _found(connection, tenant, id_)
        same = before is not None and (before.url, before.kinds, before.state) == (url, kinds, "enabled")
        done = judge(condition, before.etag if before else None, same=same)
        if done == "unchanged" and before is not None:
            return before, done
        now = datetime.now(UTC)
        values = {"url": url, "kinds": ",".join(kinds), "state": "enabled", "why": ""}
        values["etag"] = tag_of(id_, url, ",".join(kinds), now.isoformat())
        if before is None:
            hold(connection, tenant, "webhooks")
            if int(connection.scalar(select(func.count()).where(w.tenant == tenant)) or 0) >= MOST:
                raise TooMany(f"There are {MOST} webhooks already: each event goes to every one of them.")
            newest = connection.scalar(select(func.max(e.number)).where(e.tenant == tenant)) or 0
            first = msgspec.json.encode([Secret(new_secret())])
            row = {"tenant": tenant, "id": id_, "secrets": first, "queued_to": newest, "created_at": now}
            connection.execute(insert(webhooks).values(**row, **values))
        else:
            connection.execute(update(webhooks).where(w.tenant == tenant, w.id == id_).values(**values))
        return _here(connection, tenant, id_), done


def rotate_secret(database: Database, tenant: str, id_: str) -> Webhook | None:
    """Give an address a new secret; the one before still signs for a day, so that the receiver can change over."""
    w, now = webhooks.c, datetime.now(UTC)
    with database.writing() as connection:
        hold(connection, tenant, f"webhook:{id_}")
        before = _found(connection, tenant, id_)
        if before is None:
            return None
        old = [
            Secret(s.value, s.until or now + OLD_SECRET_FOR) for s in before.secrets if s.until is None or s.until > now
        ]
        kept = msgspec.json.encode([Secret(new_secret()), *old[:2]])
        connection.execute(update(webhooks).where(w.tenant == tenant, w.id == id_).values(secrets=kept))
        return _here(connection, tenant, id_)


def delete_webhook(database: Database, tenant: str, id_: str) -> bool:
    """Forget an address and what is on its way to it; returns whether there was one."""
    w, d = webhooks.c, deliveries.c
    with database.writing() as connection:
        hold(connection, tenant, f"webhook:{id_}")
        connection.execute(delete(deliveries).where(d.tenant == tenant, d.webhook == id_))
        return bool(connection.execute(delete(webhooks).where(w.tenant == tenant, w.id == id_)).rowcount)


def disable_webhook(database: Database, tenant: str, id_: str, why: str) -> None:
    """Send nothing more to an address until it is put again."""
    w = webhooks.c
    with database.writing() as connection:
        here = (w.tenant == tenant, w.id == id_)
        connection.execute(update(webhooks).where(*here).values(state="disabled", why=why[:500]))


def get_webhook(database: Database, tenant: str, id_: str) -> Webhook | None:
    """An address."""
    with database.reading() as connection:
        return _found(connection, tenant, id_)


def list_webhooks(database: Database, tenant: str) -> list[Webhook]:
    """Every address of a tenant, by id."""
    query = select(webhooks).where(webhooks.c.tenant == tenant).order_by(webhooks.c.id)
    with database.reading() as connection:
        return [_webhook(row) for row in connection.execute(query)]


def list_deliveries(database: Database, tenant: str, id_: str, state: str, size: int) -> list[Sent]:
    """What became of an address's events, the newest first."""
    d, e = deliveries.c, events.c
    query = (
        select(d.number, e.kind, d.state, d.attempts, d.said, d.next_at)
        .join(events, (e.tenant == d.tenant) & (e.number == d.number))
        .where(d.tenant == tenant, d.webhook == id_)
        .order_by(d.number.desc())
        .limit(size)
    )
    if state:
        query = query.where(d.state == state)
    with database.reading() as connection:
        return [Sent(*row) for row in connection.execute(query)]


def send_again(database: Database, tenant: str, id_: str, after: int) -> int:
    """Send an address's events again, those after a number; returns how many were on their way or done before."""
    w, d = webhooks.c, deliveries.c
    with database.writing() as connection:
        hold(connection, tenant, f"webhook:{id_}")
        gone = connection.execute(delete(deliveries).where(d.tenant == tenant, d.webhook == id_, d.number > after))
        here = (w.tenant == tenant, w.id == id_, w.queued_to > after)
        connection.execute(update(webhooks).where(*here).values(queued_to=after))
        return gone.rowcount


def queue_events(database: Database) -> int:
    """Put what has happened on its way to every enabled address of every tenant; returns how much."""
    w, e = webhooks.c, events.c
    newest = select(func.max(e.number)).where(e.tenant == w.tenant).scalar_subquery()
    waiting = select(w.tenant, w.id).where(w.state == "enabled", w.queued_to < newest)
    with database.reading() as connection:
        found = connection.execute(waiting).all()
    return sum(_queue(database, row.tenant, row.id) for row in found)


def _queue(database: Database, tenant: str, id_: str) -> int:
    w, e, now = webhooks.c, events.c, datetime.now(UTC)
    with database.writing() as connection:
        hold(connection, tenant, f"webhook:{id_}")
        here = (w.tenant == tenant, w.id == id_)
        row = connection.execute(select(w.queued_to, w.kinds).where(*here)).first()
        if row is None:
            return 0
        query = select(e.number, e.kind, e.happened_at).where(e.tenant == tenant, e.number > row.queued_to)
        new = connection.execute(query.order_by(e.number).limit(QUEUED_AT_A_TIME)).all()
        if not new:
            return 0
        kinds = [k for k in row.kinds.split(",") if k]
        wanted = [
            {
                "tenant": tenant,
                "webhook": id_,
                "number": event.number,
                "state": "waiting",
                "attempts": 0,
                "said": "",
                "next_at": now,
                "happened_at": event.happened_at,
            }
            for event in new
            if not kinds or event.kind in kinds
        ]
        if wanted:
            connection.execute(insert(deliveries), wanted)
        connection.execute(update(webhooks).where(*here).values(queued_to=new[-1].number))
        return len(wanted)


def claim_deliveries(
    database: Database, size: int, each: int, of_tenant: int, busy: Mapping[tuple[str, str], int]
) -> list[Delivery]:
    """Take up to `size` of what is due, with what is under way at most `each` for one address and `of_tenant` for one tenant.

    `busy` counts what is under way by tenant and address: so a slow receiver holds up nobody else's events.
    """
    d, w, e, now = deliveries.c, webhooks.c, events.c, datetime.now(UTC)
    rank = func.row_number().over(partition_by=(d.tenant, d.webhook), order_by=(d.next_at, d.number)).label("rank")
    waiting = select(d.tenant, d.webhook, d.number, d.next_at, rank).where(d.state == "waiting", d.next_at <= now)
    due = waiting.subquery()
    query = select(due.c.tenant, due.c.webhook, due.c.number).where(due.c.rank <= each).order_by(due.c.next_at)
    with database.reading() as connection:
        first = _within(connection.execute(query).all(), size, each, of_tenant, busy)
    if not first:
        return []
    claimed = []
    with database.writing() as connection:
        for row in first:
            here = (d.tenant == row.tenant, d.webhook == row.webhook, d.number == row.number)
            still = (*here, d.state == "waiting", d.next_at <= now)
            if not connection.execute(update(deliveries).where(*still).values(next_at=now + CLAIMED_FOR)).rowcount:
                continue  # another process was quicker
            to = connection.execute(select(webhooks).where(w.tenant == row.tenant, w.id == row.webhook)).first()
            event = connection.execute(select(events).where(e.tenant == row.tenant, e.number == row.number)).first()
            if to is None or event is None or to.state != "enabled":
                connection.execute(update(deliveries).where(*here).values(state="dead", said="It is disabled or gone."))
                continue
            attempts = int(connection.scalar(select(d.attempts).where(*here)) or 0)
            sent = Event(event.number, event.kind, event.subject, event.body, event.happened_at)
            claimed.append(Delivery(row.tenant, _webhook(to), sent, attempts, event.happened_at))
    return claimed


def _within(
    rows: Iterable[Any], size: int, each: int, of_tenant: int, busy: Mapping[tuple[str, str], int]
) -> list[Any]:
    to_one, to_tenant, taken = Counter(busy), Counter[str](), list[Any]()
    for (tenant, _), count in busy.items():
        to_tenant[tenant] += count
    for row in rows:
        address = (row.tenant, row.webhook)
        if len(taken) < size and to_one[address] < each and to_tenant[row.tenant] < of_tenant:
            to_one[address] += 1
            to_tenant[row.tenant] += 1
            taken.append(row)
    return taken


def settle_delivery(database: Database, delivery: Delivery, state: str, said: str, next_at: datetime) -> None:
    """Keep what an attempt came to."""
    d = deliveries.c
    here = (d.tenant == delivery.tenant, d.webhook == delivery.webhook.id, d.number == delivery.event.number)
    changed = {"state": state, "said": said[:500], "next_at": next_at, "attempts": delivery.attempts + 1}
    with database.writing() as connection:
        connection.execute(update(deliveries).where(*here).values(**changed))


def forget_deliveries(database: Database) -> None:
    """Delete what was sent or given up long ago."""
    d = deliveries.c
    with database.writing() as connection:
        old = (d.state != "waiting", d.happened_at < datetime.now(UTC) - KEPT_FOR)
        connection.execute(delete(deliveries).where(*old))


def _found(connection: Connection, tenant: str, id_: str) -> Webhook | None:
    query = select(webhooks).where(webhooks.c.tenant == tenant, webhooks.c.id == id_)
    row = connection.execute(query).first()
    return None if row is None else _webhook(row)


def _here(connection: Connection, tenant: str, id_: str) -> Webhook:
    found = _found(connection, tenant, id_)
    if found is None:
        raise LookupError(id_)
    return found


def _webhook(row: Row[Any]) -> Webhook:
    r = row._mapping
    kinds = tuple(k for k in r["kinds"].split(",") if k)
    known = msgspec.json.decode(r["secrets"], type=tuple[Secret, ...])
    return Webhook(r["id"], r["url"], kinds, r["state"], r["why"], known, r["etag"], r["created_at"])
