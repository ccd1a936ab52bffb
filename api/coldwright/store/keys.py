"""API keys: random, shown once, kept only as a hash."""

import hashlib
import secrets
from collections.abc import Mapping
from datetime import UTC, datetime, timedelta
from typing import Any, Literal

from msgspec import Struct
from msgspec.structs import replace
from sqlalchemy import ColumnElement, Connection, Row, func, insert, select, update

from coldwright.store.database import Database
from coldwright.store.locking import hold
from coldwright.store.schema import api_keys

PREFIX = "cwk_"


class Key(Struct, frozen=True):
    """What is kept of a key."""

    id: str
    tenant: str
    name: str
    scopes: tuple[str, ...]
    units: str
    person: str
    """Who uses it; empty for one that nobody in particular uses."""
    roles: tuple[str, ...]
    """What that person is qualified for, the usual one first."""
    created_at: datetime
    revoked_at: datetime | None
    expires_at: datetime | None = None
    """The moment at which it ends by itself; nothing for one that holds until it is revoked."""
    last_used_at: datetime | None = None
    """To within a minute; nothing for one that was never used."""

    @property
    def state(self) -> Literal["in_force", "expired", "revoked"]:
        """Whether it is taken now."""
        if self.revoked_at is not None:
            return "revoked"
        return "expired" if self.expires_at is not None and self.expires_at <= datetime.now(UTC) else "in_force"


def hashed(secret: str) -> bytes:
    """A key is 256 random bits, so a plain hash is enough: there is nothing to guess."""
    return hashlib.sha256(secret.encode()).digest()


def create_key(
    database: Database,
    tenant: str,
    scopes: tuple[str, ...],
    name: str = "",
    units: str = "metric",
    *,
    person: str = "",
    roles: tuple[str, ...] = (),
    expires_at: datetime | None = None,
) -> tuple[Key, str]:
    """Make a key; the secret is returned once and can't be read again."""
    key = Key(_new_id(), tenant, name, scopes, units, person, roles, datetime.now(UTC), None, expires_at)
    with database.writing() as connection:
        return key, _insert(connection, key)


def list_keys(database: Database, tenant: str | None = None) -> list[Key]:
    """Every key, of one tenant or of all, revoked ones too, oldest first."""
    query = select(api_keys).order_by(api_keys.c.created_at, api_keys.c.id)
    with database.reading() as connection:
        rows = connection.execute(query if tenant is None else query.where(api_keys.c.tenant == tenant))
        return [_key(row) for row in rows]


def persons_of(database: Database, tenant: str) -> list[str]:
    """Everybody of a tenant who has or had a key of their own."""
    query = select(api_keys.c.person).where(api_keys.c.tenant == tenant, api_keys.c.person != "").distinct()
    with database.reading() as connection:
        return [row.person for row in connection.execute(query)]


def get_key(database: Database, key_id: str, tenant: str | None = None) -> Key | None:
    """The key of that id, of one tenant or of any."""
    with database.reading() as connection:
        row = connection.execute(select(api_keys).where(*_named(key_id, tenant))).first()
    return None if row is None else _key(row)


def revoke_key(database: Database, key_id: str, tenant: str | None = None) -> bool:
    """Whether there was such a key that was not yet revoked."""
    with database.writing() as connection:
        done = connection.execute(
            update(api_keys)
            .where(*_named(key_id, tenant), api_keys.c.revoked_at.is_(None))
            .values(revoked_at=datetime.now(UTC))
        )
    return done.rowcount == 1


def rotate_key(
    database: Database, key_id: str, grace: timedelta, tenant: str | None = None
) -> tuple[Key, str, Key] | None:
    """Make a key like another, which ends by itself after `grace`: the new one, its secret, and the old one.

    The new one lasts as long as the old was made to last. Nothing where there is no such key in force.
    """
    now = datetime.now(UTC)
    with database.writing() as connection:
        hold(connection, "", f"key {key_id}")
        row = connection.execute(select(api_keys).where(*_named(key_id, tenant))).first()
        if row is None or (old := _key(row)).state != "in_force":
            return None
        lasts = None if old.expires_at is None else now + (old.expires_at - old.created_at)
        ends = now + grace if old.expires_at is None else min(now + grace, old.expires_at)
        connection.execute(update(api_keys).where(api_keys.c.id == key_id).values(expires_at=ends))
        new = replace(old, id=_new_id(), created_at=now, expires_at=lasts, last_used_at=None)
        return new, _insert(connection, new), replace(old, expires_at=ends)


def note_uses(database: Database, used: Mapping[str, datetime]) -> None:
    """Keep when keys were used last, where that is later than what is kept."""
    with database.writing() as connection:
        for key_id, moment in sorted(used.items()):
            earlier = api_keys.c.last_used_at.is_(None) | (api_keys.c.last_used_at < moment)
            connection.execute(update(api_keys).where(api_keys.c.id == key_id, earlier).values(last_used_at=moment))


def find_key(database: Database, secret: str) -> Key | None:
    """The key of that secret, if it is in force. The look-up is by hash, so its time says nothing about the secret."""
    with database.reading() as connection:
        row = connection.execute(
            select(api_keys).where(api_keys.c.hash == hashed(secret), api_keys.c.revoked_at.is_(None))
        ).first()
    return None if row is None or (key := _key(row)).state != "in_force" else key


def any_key(database: Database) -> bool:
    """Whether a key was ever made: from then on every request needs one."""
    with database.reading() as connection:
        return bool(connection.scalar(select(func.count()).select_from(api_keys)))


def _new_id() -> str:
    return secrets.token_hex(8)


def _named(key_id: str, tenant: str | None) -> list[ColumnElement[bool]]:
    return [api_keys.c.id == key_id, *([] if tenant is None else [api_keys.c.tenant == tenant])]


def _insert(connection: Connection, key: Key) -> str:
    """Keep a key under a new secret, which is returned."""
    secret = PREFIX + secrets.token_urlsafe(32)
    connection.execute(
        insert(api_keys).values(
            id=key.id,
            tenant=key.tenant,
            name=key.name,
            hash=hashed(secret),
            scopes=" ".join(key.scopes),
            units=key.units,
            person=key.person,
            roles=" ".join(key.roles),
            created_at=key.created_at,
            revoked_at=None,
            expires_at=key.expires_at,
            last_used_at=None,
        )
    )
    return secret


def _key(row: Row[Any]) -> Key:
    r = row._mapping
    return Key(
        r["id"],
        r["tenant"],
        r["name"],
        tuple(r["scopes"].split()),
        r["units"],
        r["person"],
        tuple(r["roles"].split()),
        r["created_at"],
        r["revoked_at"],
        r["expires_at"],
        r["last_used_at"],
    )
