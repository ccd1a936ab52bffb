"""Brings the database to the schema of this release, with alembic and nothing but the files of this package."""

from collections.abc import Callable
from functools import cache
from importlib.resources import as_file, files

from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory

from coldwright.store.database import Database

LONGEST_SECONDS = 3600.0
"""For a migration, and for waiting while another service makes it."""


def _config(scripts: str) -> Config:
    config = Config()
    config.set_main_option("script_location", scripts)
    return config


def upgrade(database: Database, revision: str = "head") -> None:
    """Apply every migration that is not applied yet; does nothing on a database that is up to date."""
    _run(database, command.upgrade, revision)


def downgrade(database: Database, revision: str) -> None:
    """Take migrations back, to `revision` or to `base`: what only later ones can hold is lost."""
    _run(database, command.downgrade, revision)


def _run(database: Database, step: Callable[[Config, str], None], revision: str) -> None:
    with as_file(files("coldwright.store") / "migrations") as folder:
        config = _config(str(folder).replace("%", "%%"))
        with database.writing(LONGEST_SECONDS) as connection:
            if not database.is_sqlite:  # two services that start at once wait for each other
                connection.exec_driver_sql("SELECT pg_advisory_xact_lock(1129270085)")
            config.attributes["connection"] = connection
            step(config, revision)


@cache
def head() -> str:
    """Revision of the schema of this release."""
    with as_file(files("coldwright.store") / "migrations") as folder:
        return str(ScriptDirectory.from_config(_config(str(folder).replace("%", "%%"))).get_current_head())


def is_current(database: Database) -> bool:
    """Whether the database has the schema of this release."""
    with database.reading() as connection:
        return MigrationContext.configure(connection).get_current_revision() == head()
