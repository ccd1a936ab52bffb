"""Brings the database to the schema of this release, with alembic and nothing but the files of this package.

Alembic is imported where there is something to migrate: a start with a database that is up to date need not wait for it.
"""

from functools import cache
from importlib.resources import as_file, files
from importlib.util import find_spec
from typing import Literal

import sqlalchemy

from coldwright.store.database import Database

LONGEST_SECONDS = 3600.0
"""For a migration, and for waiting while another service makes it."""


def upgrade(database: Database, revision: str = "head") -> None:
    """Apply every migration that is not applied yet; does nothing on a database that is up to date."""
    if revision != "head" or not is_current(database):
        _run(database, "upgrade", revision)
    if revision == "head" and has_queue(database):
        _lay_out_queue(database)


def has_queue(database: Database) -> bool:
    """Whether jobs can go through the queue engine: PostgreSQL, and the extra `scale` is installed."""
    return not database.is_sqlite and find_spec("procrastinate") is not None


def _lay_out_queue(database: Database) -> None:
    """The engine's own tables, beside ours. The extra may be installed later than the rest: so they are no numbered step."""
    with database.writing(LONGEST_SECONDS) as connection:
        connection.exec_driver_sql("SELECT pg_advisory_xact_lock(1129270085)")
        if not sqlalchemy.inspect(connection).has_table("procrastinate_jobs"):
            from procrastinate.schema import SchemaManager

            driver = connection.connection.driver_connection
            assert driver is not None  # noqa: S101
            driver.execute(SchemaManager.get_schema())


def downgrade(database: Database, revision: str) -> None:
    """Take migrations back, to `revision` or to `base`: what only later ones can hold is lost."""
    _run(database, "downgrade", revision)


def _run(database: Database, step: Literal["upgrade", "downgrade"], revision: str) -> None:
    from alembic import command
    from alembic.config import Config

    with as_file(files("coldwright.store") / "migrations") as folder:
        config = Config()
        config.set_main_option("script_location", str(folder).replace("%", "%%"))
        with database.writing(LONGEST_SECONDS) as connection:
            if not database.is_sqlite:  # two services that start at once wait for each other
                connection.exec_driver_sql("SELECT pg_advisory_xact_lock(1129270085)")
            config.attributes["connection"] = connection
            (command.upgrade if step == "upgrade" else command.downgrade)(config, revision)


@cache
def head() -> str:
    """Revision of the schema of this release: migrations are one line, so it is that of the last file."""
    names = (file.name for file in (files("coldwright.store") / "migrations" / "versions").iterdir())
    return max(name.partition("_")[0] for name in names if name[:1].isdigit())


def is_current(database: Database) -> bool:
    """Whether the database has the schema of this release."""
    with database.reading() as connection:
        if not sqlalchemy.inspect(connection).has_table("alembic_version"):
            return False
        found = connection.execute(sqlalchemy.text("SELECT version_num FROM alembic_version")).scalars().all()
    return list(found) == [head()]
