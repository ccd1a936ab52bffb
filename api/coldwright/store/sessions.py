"""Sessions of people who signed in with a key: a random token in a cookie, kept only as a hash, ended with its key."""

import secrets
from datetime import UTC, datetime, timedelta

from sqlalchemy import delete, insert, select

from coldwright.store.database import Database
from coldwright.store.keys import Key, find_key, get_key, hashed
from coldwright.store.schema import sessions

PREFIX = "cws_"
LASTS = timedelta(hours=12)
"""A working day: who comes back the next one signs in again."""


def open_session(database: Database, secret: str) -> tuple[Key, str] | None:
    """Begin a session with a key in force: the key and the token, which can't be read again. Nothing for another secret."""
    key = find_key(database, secret)
    if key is None:
        return None
    token, now = PREFIX + secrets.token_urlsafe(32), datetime.now(UTC)
    with database.writing() as connection:
        connection.execute(delete(sessions).where(sessions.c.expires_at < now))
        row = {"hash": hashed(token), "key_id": key.id, "created_at": now, "expires_at": now + LASTS}
        connection.execute(insert(sessions).values(**row))
    return key, token


def key_of_session(database: Database, token: str) -> Key | None:
    """The key that a session was begun with, as long as both are in force."""
    with database.reading() as connection:
        row = connection.execute(select(sessions).where(sessions.c.hash == hashed(token))).first()
    if row is None or row.expires_at <= datetime.now(UTC):
        return None
    key = get_key(database, row.key_id)
    return key if key is not None and key.state == "in_force" else None


def end_session(database: Database, token: str) -> None:
    """End it; one that is ended already stays so."""
    with database.writing() as connection:
        connection.execute(delete(sessions).where(sessions.c.hash == hashed(token)))
