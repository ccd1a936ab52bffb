"""Migrations: up, down, up again, and never another schema than that of the code."""

import datetime
import threading
from importlib.resources import files

import pytest
import sqlalchemy
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory

from coldwright.store import Database, StoreUnavailable, is_current, upgrade
from coldwright.store.bookings import Period, get_booking, present, taken
from coldwright.store.migrate import downgrade, head
from coldwright.store.records import get_record
from coldwright.store.schema import metadata

OF_THE_QUEUE = "procrastinate_"
"""How the tables begin that the queue of jobs makes for itself, on PostgreSQL."""


def is_of_the_store(name: str | None, *_: object) -> bool:
    return not (name or "").startswith(OF_THE_QUEUE)


def tables(database: Database) -> set[str]:
    return set(filter(is_of_the_store, sqlalchemy.inspect(database.engine).get_table_names()))


def test_the_migrations_make_the_schema_of_the_code(database: Database) -> None:
    with database.reading() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True, "include_name": is_of_the_store})
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


def test_the_last_file_is_the_one_head_that_alembic_finds() -> None:
    config = Config()
    config.set_main_option("script_location", str(files("coldwright.store") / "migrations"))
    assert ScriptDirectory.from_config(config).get_heads() == [head()]


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


def test_bookings_of_the_first_release_keep_what_they_held(empty_url: str) -> None:
    """Two bookings as the first release kept them, one of them unacceptable: revisions, state and stock come along."""
    database = Database(empty_url)
    upgrade(database, "0001")
    row = {
        "tenant": "acme",
        "document": b"{}",
        "digest": "d" * 64,
        "period_from": "2027-06-01",
        "period_to": "2027-06-14",
        "site": "hall",
        "fleet": "yard",
        "created_at": datetime.datetime(2026, 10, 1, tzinfo=datetime.UTC),
    }
    names = [*row, "reference", "revision", "etag", "outcome", "current"]
    statement = sqlalchemy.text(
        f"INSERT INTO bookings ({', '.join(names)}) VALUES ({', '.join(f':{n}' for n in names)})"
    )
    with database.writing() as connection:
        for reference, revision, outcome, current in (
            ("r1", 1, "conditional", 0),
            ("r1", 2, "acceptable", 1),
            ("r2", 1, "unacceptable", 1),
        ):
            values = {"reference": reference, "revision": revision, "etag": f"{reference}-{revision}"}
            connection.execute(statement, row | values | {"outcome": outcome, "current": current})
        connection.execute(
            sqlalchemy.text(
                "INSERT INTO allocations (tenant, reference, fleet, item, count, period_from, period_to) "
                "VALUES ('acme', 'r1', 'yard', 'machine:middle', 2, '2027-06-01', '2027-06-14')"
            )
        )
    upgrade(database)
    assert is_current(database)
    first, second = (present(database, "acme", reference) for reference in ("r1", "r2"))
    assert first is not None
    assert second is not None
    assert (first.stored_state, first.standing, first.revision, first.etag) == ("held", 2, 2, "r1-2")
    assert (second.stored_state, second.standing, second.revision) == ("quote", 0, 1)
    assert get_booking(database, "acme", "r1", 1) is not None
    june = Period("2027-06-10", "2027-06-20")
    assert taken(database, "acme", "yard", june, "") == {"machine:middle": 2}
    database.close()


def test_kept_answers_are_compressed_and_come_back_as_they_were(empty_url: str) -> None:
    database = Database(empty_url)
    upgrade(database, "0022")
    answer = b'{"value":12.5,"unit":"kW"},' * 400
    made = datetime.datetime(2026, 10, 1, tzinfo=datetime.UTC)
    row = {"calculator": "c", "version": "1", "outcome": "ok", "given": b"{}", "answer": answer, "created_at": made}
    keys = [(tenant, f"{number:064d}") for tenant in ("acme", "Other", "b-2") for number in range(70)]
    names = ["tenant", "digest", *row]
    insert = sqlalchemy.text(f"INSERT INTO records ({', '.join(names)}) VALUES ({', '.join(f':{n}' for n in names)})")
    kept = sqlalchemy.text("SELECT tenant, digest, given, answer FROM records ORDER BY tenant, digest")
    with database.writing() as connection:
        connection.execute(insert, [row | {"tenant": tenant, "digest": digest} for tenant, digest in keys])
    with database.reading() as connection:
        before = [tuple(map(bytes_or_text, r)) for r in connection.execute(kept)]
    upgrade(database)
    for tenant, digest in keys:
        record = get_record(database, tenant, digest)
        assert record is not None
        assert (record.given, record.answer) == (b"{}", answer)
    with database.reading() as connection:
        assert max(len(r.answer) for r in connection.execute(kept)) < len(answer) / 20
    downgrade(database, "0022")
    with database.reading() as connection:
        assert [tuple(map(bytes_or_text, r)) for r in connection.execute(kept)] == before
    database.close()


def bytes_or_text(value: object) -> object:
    """A database may hand over bytes in a wrapper of its own."""
    return value if isinstance(value, str) else bytes(value)  # type: ignore[call-overload]
