"""Migrations: up, down, up again, and never another schema than that of the code."""

import threading

import pytest
import sqlalchemy
from alembic.autogenerate import compare_metadata
from alembic.runtime.migration import MigrationContext

from coldwright.store import Database, StoreUnavailable, is_current, upgrade
from coldwright.store.migrate import downgrade
from coldwright.store.schema import metadata


def tables(database: Database) -> set[str]:
    return set(sqlalchemy.inspect(database.engine).get_table_names())


def test_the_migrations_make_the_schema_of_the_code(database: Database) -> None:
    with database.reading() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        assert compare_metadata(context, metadata) == []
    assert is_current(database)


def test_down_and_up_again(database: Database) -> None:
    assert tables(database) == {*metadata.tables, "alembic_version"}
    downgrade(database, "base")
    assert tables(database) == {"alembic_version"}
    assert not is_current(database)
    upgrade(database)
    assert tables(database) == {*metadata.tables, "alembic_version"}
    assert is_current(database)


def test_an_empty_database_is_not_current(empty_url: str) -> None:
    database = Database(empty_url)
    assert not is_current(database)
    database.close()


def test_again_changes_nothing(database: Database) -> None:
    upgrade(database)
    assert is_current(database)


def test_services_that_start_at_once_wait_for_each_other(empty_url: str) -> None:
    errors: list[BaseException] = []

    def start() -> None:
        database = Database(empty_url)
        try:
            upgrade(database)
            assert is_current(database)
        except BaseException as error:
            errors.append(error)
        finally:
            database.close()

    threads = [threading.Thread(target=start) for _ in range(5)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert errors == []


def test_a_server_that_is_not_there_is_unavailable() -> None:
    database = Database("postgresql://nobody@127.0.0.1:9/none")
    assert not database.answers()
    with pytest.raises(StoreUnavailable):
        is_current(database)
    database.close()
