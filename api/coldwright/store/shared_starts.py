"""What starts of one source or loop say against each other: a row for each start and name that it shares with others.

The names stand in the configuration of a start; what it says is noted with the newest verdict on it. Where that changes, the
other starts of the name are judged anew.
"""

from collections.abc import Mapping, Sequence
from datetime import datetime

from msgspec import Struct
from sqlalchemy import Connection, delete, insert, or_, select, update

from coldwright.store.database import Database
from coldwright.store.schema import shared_starts, startups

NOTHING = b"[]"
_c = shared_starts.c


class Shared(Struct, frozen=True):
    """What another start says."""

    startup: str
    bodies: bytes
    """JSON of the records, as the verdict takes them."""


def note_names(connection: Connection, tenant: str, startup_id: str, names: Sequence[str], now: datetime) -> None:
    """Keep under which names a start stands, in the transaction that keeps its configuration."""
    here = (_c.tenant == tenant) & (_c.startup == startup_id)
    known = set(connection.execute(select(_c.name).where(here)).scalars())
    if gone := known - set(names):
        _judge_others(connection, tenant, startup_id, gone, now)
        connection.execute(delete(shared_starts).where(here, _c.name.in_(gone)))
    for name in sorted(set(names) - known):
        connection.execute(insert(shared_starts).values(tenant=tenant, startup=startup_id, name=name, bodies=NOTHING))


def note_shared(connection: Connection, tenant: str, startup_id: str, said: Mapping[str, bytes], now: datetime) -> None:
    """Keep what the newest verdict on a start says under each of its names; where that is new the others are judged anew."""
    rows = connection.execute(select(_c.name, _c.bodies).where(_c.tenant == tenant, _c.startup == startup_id))
    for name, before in [(row.name, row.bodies) for row in rows]:
        bodies = said.get(name, NOTHING)
        if bodies != before:
            mine = (_c.tenant == tenant) & (_c.startup == startup_id) & (_c.name == name)
            connection.execute(update(shared_starts).where(mine).values(bodies=bodies))
            _judge_others(connection, tenant, startup_id, {name}, now)


def _judge_others(connection: Connection, tenant: str, startup_id: str, names: set[str], now: datetime) -> None:
    others = select(_c.startup).where(_c.tenant == tenant, _c.name.in_(names), _c.startup != startup_id)
    concerned = (startups.c.tenant == tenant) & startups.c.id.in_(others)
    connection.execute(update(startups).where(concerned).values(state_of=-1, changed_at=now))


def said_by_others(database: Database, tenant: str, startup_id: str) -> list[Shared]:
    """What every other start of one of its names says, by their ids."""
    names = select(_c.name).where(_c.tenant == tenant, _c.startup == startup_id)
    query = select(_c.startup, _c.bodies).where(_c.tenant == tenant, _c.startup != startup_id, _c.name.in_(names))
    with database.reading() as connection:
        return [Shared(r.startup, r.bodies) for r in connection.execute(query.order_by(_c.startup, _c.name))]


def unjudged_others(database: Database, tenant: str, startup_id: str, rests_on: str) -> list[str]:
    """Those of them on which something arrived since their newest verdict, or on which other rules gave it."""
    names = select(_c.name).where(_c.tenant == tenant, _c.startup == startup_id)
    others = select(_c.startup).where(_c.tenant == tenant, _c.startup != startup_id, _c.name.in_(names))
    query = select(startups.c.id).where(
        startups.c.tenant == tenant,
        startups.c.id.in_(others),
        or_(startups.c.state_of == -1, startups.c.rests_on != rests_on),
    )
    with database.reading() as connection:
        return list(connection.execute(query.order_by(startups.c.id)).scalars())
