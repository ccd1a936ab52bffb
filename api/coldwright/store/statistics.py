"""What SQLite knows of the sizes of its tables, by which it chooses among indexes. PostgreSQL sees to that by itself."""

from coldwright.store.database import Database

ROWS = 20_000
"""Of an index that are looked at: enough to see which filters find few, and quickly done in a large store."""


def look_at_sizes(database: Database) -> None:
    """Look again; connections know of it when they are opened the next time (`pool_recycle`)."""
    if not database.is_sqlite:
        return
    with database.writing() as connection:
        connection.exec_driver_sql(f"PRAGMA analysis_limit = {ROWS}")
        connection.exec_driver_sql("ANALYZE")
