"""Counts of requests in windows of time, which all processes on one database share.

They may be lost when the database crashes: on PostgreSQL the table is not logged, so that a count waits for no disk.
"""

from msgspec import Struct
from sqlalchemy import case, delete, select
from sqlalchemy.dialects import postgresql, sqlite

from coldwright.store.database import Database
from coldwright.store.schema import rate_windows


class Window(Struct, frozen=True):
    """What was counted, and when the window ends, in seconds since 1970."""

    count: int
    ends_at: float


def add(database: Database, name: str, amount: int, seconds: float, now: float) -> Window:
    """Add to the running window of this name, or begin one that ends in so many seconds."""
    fresh = {"name": name, "count": amount, "ends_at": now + seconds}
    insert = sqlite.insert if database.is_sqlite else postgresql.insert
    kept, sent = rate_windows.c, insert(rate_windows).values(fresh)
    over = kept.ends_at <= now
    counted = sent.on_conflict_do_update(
        index_elements=["name"],
        set_={
            "count": case((over, sent.excluded.count), else_=kept.count + sent.excluded.count),
            "ends_at": case((over, sent.excluded.ends_at), else_=kept.ends_at),
        },
    ).returning(kept.count, kept.ends_at)
    with database.writing() as connection:
        row = connection.execute(counted).one()
    return Window(*row)


def window(database: Database, name: str) -> Window | None:
    """The window of this name as it was counted last."""
    with database.reading() as connection:
        row = connection.execute(select(rate_windows.c.count, rate_windows.c.ends_at).filter_by(name=name)).first()
    return None if row is None else Window(*row)


def forget_all(database: Database, name: str | None = None) -> int:
    """Forget every window, or the one of this name; how many there were."""
    gone = delete(rate_windows)
    with database.writing() as connection:
        return connection.execute(gone if name is None else gone.where(rate_windows.c.name == name)).rowcount
