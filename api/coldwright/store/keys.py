"""API keys: random, shown once, kept only as a hash."""

import hashlib
import secrets
from datetime import UTC, datetime

from msgspec import Struct
from sqlalchemy import func, insert, select, update

from coldwright.store.database import Database
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
) -> tuple[Key, str]:
    """Make a key; the secret is returned once and can't be read again."""
    secret = PREFIX + secrets.token_urlsafe(32)
    key = Key(secrets.token_hex(8), tenant, name, scopes, units, person, roles, datetime.now(UTC), None)
    with database.writing() as connection:
        connection.execute(
            insert(api_keys).values(
                id=key.id,
                tenant=tenant,
                name=name,
                hash=hashed(secret),
                scopes=" ".join(scopes),
                units=units,
                person=person,
                roles=" ".join(roles),
                created_at=key.created_at,
                revoked_at=None,
            )
        )
    return key, secret


def list_keys(database: Database) -> list[Key]:
    """Every key, revoked ones too, oldest first."""
    with database.reading() as connection:
        return [_key(row) for row in connection.execute(select(api_keys).order_by(api_keys.c.created_at))]


def revoke_key(database: Database, key_id: str) -> bool:
    """Whether there was such a key that was not yet revoked."""
    with database.writing() as connection:
        done = connection.execute(
            update(api_keys)
            .where(api_keys.c.id == key_id, api_keys.c.revoked_at.is_(None))
            .values(revoked_at=datetime.now(UTC))
        )
    return done.rowcount == 1


def find_key(database: Database, secret: str) -> Key | None:
    """The key of that secret, unless revoked. The look-up is by hash, so its time tells nothing of the secret."""
    with database.reading() as connection:
        row = connection.execute(
            select(api_keys).where(api_keys.c.hash == hashed(secret), api_keys.c.revoked_at.is_(None))
        ).first()
    return None if row is None else _key(row)


def any_key(database: Database) -> bool:
    """Whether a key was ever made: from then on every request needs one."""
    with database.reading() as connection:
        return bool(connection.scalar(select(func.count()).select_from(api_keys)))


def _key(row: object) -> Key:
    r = row._mapping  # type: ignore[attr-defined]
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
    )
