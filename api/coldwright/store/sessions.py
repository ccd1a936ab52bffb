"""Sessions of people who signed in: a random token in a cookie, kept only as a hash.

With a key: it ends with the key. Through an identity provider: with the token in which that vouched for them.
"""

import secrets
from datetime import UTC, datetime, timedelta

import msgspec
from msgspec import Struct
from sqlalchemy import delete, insert, select

from coldwright.store.database import Database
from coldwright.store.keys import Key, find_key, get_key, hashed
from coldwright.store.schema import sessions

PREFIX = "cws_"
LASTS = timedelta(hours=12)
"""A working day: who comes back the next one signs in again."""


class Holder(Struct, frozen=True):
    """Somebody for whom an identity provider vouches."""

    tenant: str
    id: str
    person: str
    scopes: tuple[str, ...]
    roles: tuple[str, ...] = ()


def open_session(database: Database, secret: str) -> tuple[Key, str] | None:
    """Begin a session with a key in force: the key and the token, which can't be read again. Nothing for another secret."""
    key = find_key(database, secret)
    return None if key is None else (key, _begin(database, key_id=key.id))


def open_session_of(database: Database, holder: Holder, until: datetime) -> str:
    """Begin a session of somebody for whom a provider vouches until then: its token, which can't be read again."""
    return _begin(database, holder=msgspec.json.encode(holder).decode(), until=until)


def _begin(database: Database, key_id: str = "", holder: str = "", until: datetime | None = None) -> str:
    token, now = PREFIX + secrets.token_urlsafe(32), datetime.now(UTC)
    ends = now + LASTS if until is None else min(until, now + LASTS)
    row = {"hash": hashed(token), "key_id": key_id, "holder": holder, "created_at": now, "expires_at": ends}
    with database.writing() as connection:
        connection.execute(delete(sessions).where(sessions.c.expires_at < now))
        connection.execute(insert(sessions).values(**row))
    return token


def whose_session(database: Database, token: str) -> Key | Holder | None:
    """The key that a session was begun with, as long as both are in force; or whom a provider vouched for."""
    with database.reading() as connection:
        row = connection.execute(select(sessions).where(sessions.c.hash == hashed(token))).first()
    if row is None or row.expires_at <= datetime.now(UTC):
        return None
    if row.holder:
        return msgspec.json.decode(row.holder, type=Holder)
    key = get_key(database, row.key_id)
    return key if key is not None and key.state == "in_force" else None


def end_session(database: Database, token: str) -> None:
    """End it; one that is ended already stays so."""
    with database.writing() as connection:
        connection.execute(delete(sessions).where(sessions.c.hash == hashed(token)))
