"""Fleets, start-ups, records and keys: kept as sent, changed only by who has seen the present state, apart by tenant."""

import threading
from collections.abc import Callable
from typing import Any

import pytest

from coldwright.store import Database
from coldwright.store.conditions import Changed, Condition, Unconditional
from coldwright.store.fleets import get_fleet, list_fleets, put_fleet
from coldwright.store.keys import any_key, create_key, find_key, list_keys, revoke_key
from coldwright.store.observations import (
    Arriving,
    TooManyObservations,
    add_observations,
    last_sequence,
    list_observations,
)
from coldwright.store.records import Record, get_record, put_record
from coldwright.store.startups import NoSuchStartup, get_startup, put_startup
from coldwright.store.verdicts import NewVerdict, keep_verdict, list_verdicts

ANY = Condition()
ONE, TWO = b'{"one":1}', b'{"two":2}'


@pytest.mark.parametrize("put", [put_fleet, put_startup], ids=["fleet", "startup"])
def test_conditions(database: Database, put: Callable[..., Any]) -> None:
    first, done = put(database, "acme", "a", ONE, ANY)
    assert (first.document, done) == (ONE, "created")
    assert put(database, "acme", "a", ONE, ANY) == (first, "unchanged")
    assert put(database, "acme", "a", ONE, Condition(("old",))) == (first, "unchanged")
    with pytest.raises(Unconditional):
        put(database, "acme", "a", TWO, ANY)
    with pytest.raises(Changed):
        put(database, "acme", "a", TWO, Condition(("old",)))
    with pytest.raises(Changed):
        put(database, "acme", "a", ONE, Condition(only_new=True))
    with pytest.raises(Changed):
        put(database, "acme", "b", ONE, Condition(("*",)))
    second, done = put(database, "acme", "a", TWO, Condition((first.etag,)))
    assert (second.document, done) == (TWO, "changed")
    assert second.etag != first.etag
    third, done = put(database, "acme", "a", ONE, Condition(("*",)))
    assert (third.document, done) == (ONE, "changed")


@pytest.mark.parametrize("put", [put_fleet, put_startup], ids=["fleet", "startup"])
def test_of_many_that_make_the_same_thing_one_makes_it(database: Database, put: Callable[..., Any]) -> None:
    done: list[str] = []
    errors: list[type[BaseException]] = []

    def make(number: int) -> None:
        try:
            done.append(put(database, "acme", "a", b"%d" % number, Condition(only_new=True))[1])
        except Exception as error:
            errors.append(type(error))

    threads = [threading.Thread(target=make, args=(n,)) for n in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert done == ["created"]
    assert errors == [Changed] * 7


def test_every_version_of_a_fleet_stays(database: Database) -> None:
    first, _ = put_fleet(database, "acme", "a", ONE, ANY)
    put_fleet(database, "acme", "a", TWO, Condition((first.etag,)))
    for version, document in ((1, ONE), (2, TWO), (None, TWO)):
        found = get_fleet(database, "acme", "a", version)
        assert found is not None
        assert found.document == document
    assert get_fleet(database, "acme", "a", 3) is None
    assert get_fleet(database, "other", "a") is None


def test_fleets_are_listed_in_pages(database: Database) -> None:
    for name in ("c", "a", "b"):
        put_fleet(database, "acme", name, ONE, ANY)
    put_fleet(database, "other", "z", ONE, ANY)
    assert list_fleets(database, "acme", "", 2) == [("a", 1), ("b", 1)]
    assert list_fleets(database, "acme", "b", 2) == [("c", 1)]


def test_observations_are_kept_once_by_id_and_content(database: Database) -> None:
    put_startup(database, "acme", "s", ONE, ANY)
    batch = [Arriving("o1", b"1"), Arriving("o2", b"2"), Arriving("o1", b"1"), Arriving("o1", b"other")]
    assert add_observations(database, "acme", "s", batch, 100) == [True, True, False, True]
    assert add_observations(database, "acme", "s", batch, 100) == [False] * 4
    assert add_observations(database, "acme", "s", [], 100) == []
    kept = list_observations(database, "acme", "s")
    assert [(o.sequence, o.id, o.body) for o in kept] == [(1, "o1", b"1"), (2, "o2", b"2"), (3, "o1", b"other")]
    assert last_sequence(database, "acme", "s") == 3
    assert [o.sequence for o in list_observations(database, "acme", "s", 1, 1)] == [2]


def test_a_batch_over_the_limit_is_not_kept_in_part(database: Database) -> None:
    put_startup(database, "acme", "s", ONE, ANY)
    add_observations(database, "acme", "s", [Arriving("o1", b"1")], 2)
    with pytest.raises(TooManyObservations):
        add_observations(database, "acme", "s", [Arriving("o2", b"2"), Arriving("o3", b"3")], 2)
    assert last_sequence(database, "acme", "s") == 1


def test_observations_need_a_startup_of_this_tenant(database: Database) -> None:
    put_startup(database, "acme", "s", ONE, ANY)
    for tenant, name in (("acme", "t"), ("other", "s")):
        with pytest.raises(NoSuchStartup):
            add_observations(database, tenant, name, [Arriving("o1", b"1")], 100)
        assert get_startup(database, tenant, name) is None


def test_two_phones_at_once(database: Database) -> None:
    put_startup(database, "acme", "s", ONE, ANY)
    new: list[bool] = []

    def send() -> None:
        for start in range(0, 40, 4):
            batch = [Arriving(f"o{n}", b"%d" % n) for n in range(start, start + 4)]
            new.extend(add_observations(database, "acme", "s", batch, 100))

    threads = [threading.Thread(target=send) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sum(new) == 40
    assert len(new) == 160
    kept = list_observations(database, "acme", "s")
    assert sorted(o.id for o in kept) == sorted(f"o{n}" for n in range(40))
    assert [o.sequence for o in kept] == list(range(1, 41))


def test_a_verdict_is_kept_when_it_says_something_new_to_the_caller(database: Database) -> None:
    for meaning, caller in (("m1", "ann"), ("m1", "ann"), ("m1", "bo"), ("m2", "ann"), ("m1", "ann")):
        keep_verdict(database, "acme", "s", NewVerdict(3, "ready", meaning, meaning.encode()), caller)
    told = list_verdicts(database, "acme", "s", 0, 10)
    assert [(v.sequence, v.meaning, v.caller) for v in told] == [
        (1, "m1", "ann"),
        (2, "m1", "bo"),
        (3, "m2", "ann"),
        (4, "m1", "ann"),
    ]
    assert list_verdicts(database, "other", "s", 0, 10) == []


def test_the_first_record_of_a_digest_stays(database: Database) -> None:
    record = Record("d" * 64, "site.lift", "1.0.0", "acceptable", b"given", b"answer")
    put_record(database, "acme", record)
    put_record(database, "acme", Record("d" * 64, "site.lift", "1.0.0", "acceptable", b"given", b"later"))
    found = get_record(database, "acme", record.digest)
    assert found is not None
    assert (found.given, found.answer) == (b"given", b"answer")
    assert get_record(database, "other", record.digest) is None


def test_a_key_is_kept_as_a_hash_alone(database: Database) -> None:
    assert not any_key(database)
    key, secret = create_key(database, "acme", ("book", "field"), "of the yard", "us")
    assert find_key(database, secret) == key
    assert (key.tenant, key.scopes, key.units) == ("acme", ("book", "field"), "us")
    assert find_key(database, secret[:-1] + ("a" if secret[-1] != "a" else "b")) is None
    with database.engine.connect() as connection:
        row = connection.exec_driver_sql("SELECT * FROM api_keys").one()
    assert secret not in str(tuple(bytes(v) if isinstance(v, memoryview) else v for v in row))
    assert revoke_key(database, key.id)
    assert not revoke_key(database, key.id)
    assert find_key(database, secret) is None
    assert [k.id for k in list_keys(database)] == [key.id]
    assert any_key(database)


def test_two_keys_share_nothing(database: Database) -> None:
    secrets = {create_key(database, "acme", ("book",))[1] for _ in range(20)}
    assert len(secrets) == 20
    assert all(len(s) >= 40 for s in secrets)


def test_what_a_database_does_not_take_changes_nothing(database: Database) -> None:
    """An error in the middle of a transaction takes the whole of it back."""
    put_fleet(database, "acme", "a", ONE, ANY)
    with pytest.raises(ZeroDivisionError), database.writing() as connection:  # noqa: PT012
        connection.exec_driver_sql("DELETE FROM fleets")
        raise ZeroDivisionError
    assert get_fleet(database, "acme", "a") is not None
